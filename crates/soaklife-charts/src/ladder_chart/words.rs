//! The words of the ladder: title, scales, caption, and its description for those who cannot see it.

use super::LadderChart;
use super::layout::{EDGE, Layout};
use crate::canvas::{Align, Canvas, Lettering, lettering};
use crate::caption;
use crate::headline;
use crate::svg::ChartError;
use crate::theme;
use soaklife::fleet::{Candidate, SOON_YEARS};
use soaklife::wording::counted;
use soaklife::wording::fleet::grouped;
use soaklife::wording::sentence::goal_of_many;

/// Years of the answer: as far as a plan usually goes.
const PLAN: f64 = 5.0;
const CAUTION: &str = "Estimates from readings, no warranty and no rating: local code and licensed practitioners decide. Never enter a pit.";

/// The title of the document.
pub(super) fn heading(chart: &LadderChart<'_>, from: usize, shown: usize) -> String {
    let title = headline::of_pits(&chart.title);
    format!(
        "{title}: years to the {}, {}, as of {}",
        goal(chart),
        headline::pits_shown(from, shown, chart.pits.len()),
        chart.as_of
    )
}

pub(super) fn title(
    canvas: &mut Canvas<'_>,
    chart: &LadderChart<'_>,
    from: usize,
    shown: usize,
) -> Result<(), ChartError> {
    let pits = headline::pits_shown(from, shown, chart.pits.len());
    headline::write(canvas, &chart.title, &format!("{pits} · as of {}", chart.as_of))
}

pub(super) fn names_of_scales(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let end = quiet.aligned(Align::End);
    let before = layout.time.at(0.0) - 14.0;
    let right = theme::WIDTH - EDGE;
    canvas.text("calendar year", (before, layout.top - 5.0), end)?;
    canvas.text("80 % range, or 1 in 10", (right, layout.top - 5.0), end)?;
    canvas.text("years from today", (before, layout.bottom + 11.0), end)
}

/// The lines below: the answer, what is drawn, and the caution.
pub(super) fn caption(chart: &LadderChart<'_>) -> Vec<(String, Lettering)> {
    let small = |colour| lettering(theme::SMALL_SIZE, colour);
    let strong = lettering(theme::TEXT_SIZE, theme::INK).bold();
    let key = if chart.pits.is_empty() { String::new() } else { key(chart) };
    let texts =
        [(answer(chart), strong), (key, small(theme::INK)), (CAUTION.to_owned(), small(theme::QUIET_INK))];
    caption::broken(texts, theme::WIDTH - 2.0 * EDGE)
}

/// What the levels may reach.
fn goal(chart: &LadderChart<'_>) -> &'static str {
    goal_of_many(chart.pits.iter().any(|pit| pit.urgency.acts_early))
}

fn key(chart: &LadderChart<'_>) -> String {
    format!(
        "Order: chances of being there within {SOON_YEARS:.0} and 5 years. Line: 80 % range of the years to the {}; tick: median; arrow: no late \
         end, so 1 in 10 is the chance of being there before the early end.",
        goal(chart)
    )
}

fn answer(chart: &LadderChart<'_>) -> String {
    if chart.pits.is_empty() {
        return "No pit has a forecast.".to_owned();
    }
    let soon =
        chart.pits.iter().filter(|pit| pit.urgency.years[1].is_some_and(|years| years <= PLAN)).count();
    // Where one pit is all there is, none of it "are".
    let are = if soon == 1 || chart.pits.len() == 1 { "is" } else { "are" };
    format!(
        "{} of {} {are} more likely than not to reach the {} within {PLAN:.0} years.",
        grouped(soon as f64),
        counted(chart.pits.len(), "pit"),
        goal(chart)
    )
}

/// Every pit of the page, for those who cannot see the lines.
pub(super) fn description(chart: &LadderChart<'_>, pits: &[&Candidate]) -> String {
    let pit = |pit: &&Candidate| format!("{}: {}.", pit.id, pit.urgency.range_in_list());
    let listed: Vec<String> = pits.iter().map(pit).collect();
    let listed = if listed.is_empty() {
        String::new()
    } else {
        let goal = goal(chart);
        format!(" Years to the {goal}, 80 % range, or 1 in 10, the most urgent first: {}", listed.join(" "))
    };
    format!("{}{listed} {CAUTION}", answer(chart))
}
