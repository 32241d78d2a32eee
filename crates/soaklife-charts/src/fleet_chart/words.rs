//! The words of the fleet chart: title, key, caption, and its description for those who cannot see it.

use super::FleetChart;
use super::layout::Layout;
use super::years::draw_range;
use crate::canvas::{Canvas, Lettering, lettering};
use crate::caption;
use crate::svg::ChartError;
use crate::theme::{self, EDGE};
use soaklife::fleet::{Candidate, Reached, SOON_YEARS, YearBudget};
use soaklife::wording::fleet::{amount_number, count_number, expected_amount, expected_number};
use soaklife::wording::{chance, counted, with_noun};

const CAUTION: &str = "First failures only, under an error that all pits share. Estimates, no warranty: licensed practitioners decide.";

/// What tick, bar and whisker mean: one of each beside its name.
pub(super) fn key(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let name = lettering(theme::SMALL_SIZE, theme::INK);
    let (mut x, baseline) = (EDGE + 4.0, layout.key);
    let middle = baseline - 2.7;
    draw_range(canvas, x + 4.0, 4.0, [middle + 6.0, middle + 3.5, middle, middle - 3.5, middle - 6.0])?;
    x += 16.0;
    canvas.text("tick: median · bar: range with 80 % confidence · whisker: with 95 %", (x, baseline), name)
}

/// The lines below: the answer, what is drawn, and the caution.
pub(super) fn caption(chart: &FleetChart<'_>) -> Vec<(String, Lettering)> {
    let strong = lettering(theme::TEXT_SIZE, theme::INK).bold();
    let small = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let mut texts = vec![(answer(chart), strong)];
    if let Some(first) = chart.years.first() {
        texts.push((
            format!("{} is what is left of the year. Costs at the prices of each year.", first.calendar_year),
            small,
        ));
    }
    texts.push((CAUTION.to_owned(), small));
    caption::broken(texts, theme::WIDTH - 8.0)
}

fn answer(chart: &FleetChart<'_>) -> String {
    let Some(last) = chart.years.last() else { return "There is nothing to budget for.".to_owned() };
    let sum = |of: fn(&YearBudget) -> f64| chart.years.iter().map(of).sum::<f64>();
    let (count, money) = (sum(|year| year.count.expected), sum(|year| year.money.expected));
    format!(
        "Expected by the end of {}: {} of {} to replace, for {}.",
        last.calendar_year,
        expected_number(count),
        counted(chart.pits as usize, "pit"),
        expected_amount(money, count, &chart.currency)
    )
}

/// Every year and every pit, for those who cannot see the marks.
pub(super) fn description(chart: &FleetChart<'_>) -> String {
    let year = |year: &YearBudget| {
        format!(
            "{}: {}, {} {} to {}.",
            year.calendar_year,
            with_noun(
                &format!("{} to {}", count_number(year.count.p10), count_number(year.count.p90)),
                "pit"
            ),
            chart.currency,
            amount_number(year.money.p10),
            amount_number(year.money.p90)
        )
    };
    let pit = |pit: &&Candidate| match pit.urgency.reached {
        Reached::NotYet => {
            format!("{}: {} within {SOON_YEARS:.0} years.", pit.id, chance(pit.urgency.soon()))
        }
        there => format!("{}: {}.", pit.id, there.in_words()),
    };
    let mut told = vec![answer(chart)];
    if !chart.years.is_empty() {
        told.push("With 80 % confidence:".to_owned());
    }
    told.extend(chart.years.iter().map(year));
    told.extend(chart.urgent.iter().map(pit));
    told.push(CAUTION.to_owned());
    told.join(" ")
}
