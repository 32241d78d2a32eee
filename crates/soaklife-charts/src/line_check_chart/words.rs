//! The words of the check: title, caption, and its description for those who cannot see it.

use super::LineCheckChart;
use super::layout::EDGE;
use crate::canvas::{Canvas, Lettering, lettering};
use crate::caption;
use crate::headline;
use crate::svg::ChartError;
use crate::theme;
use soaklife::quantity::{Units, inches};
use soaklife::wording::{self, counted, with_noun};

const KEY: &str = "Dashed: 80 % of readings should lie between. Band: where 80 % of dots stray by luck alone; few readings cannot show a shape.";
const CAUTION: &str = "A line that fits the past is no promise that the level goes on along it. Never enter or lean into a pit.";

pub(super) fn title(canvas: &mut Canvas<'_>, chart: &LineCheckChart) -> Result<(), ChartError> {
    let told = format!("what the line leaves over · as of {}", chart.as_of);
    headline::write(canvas, &chart.title, &told)
}

/// The lines below: the answer, what is drawn, and the caution.
pub(super) fn caption(chart: &LineCheckChart) -> Vec<(String, Lettering)> {
    let small = |colour| lettering(theme::SMALL_SIZE, colour);
    let texts = [
        (answer(chart), lettering(theme::TEXT_SIZE, theme::INK).bold()),
        (KEY.to_owned(), small(theme::INK)),
        (CAUTION.to_owned(), small(theme::QUIET_INK)),
    ];
    caption::broken(texts, theme::WIDTH - 2.0 * EDGE)
}

/// How far the readings stray, and whether they take turns in doing so.
fn answer(chart: &LineCheckChart) -> String {
    let (changes, steps) = chart.residuals.changes_of_side();
    let by_luck = steps as f64 / 2.0;
    let by_luck = if by_luck.fract() == 0.0 { format!("{by_luck:.0}") } else { format!("{by_luck:.1}") };
    format!(
        "{} scatter by {} about the line and change sides {}; by luck alone they would about {}.",
        counted(chart.residuals.left.len(), "reading"),
        tenths(chart.residuals.scatter_in, chart.units),
        match changes {
            0 => "never".to_owned(),
            1 => "once".to_owned(),
            2 => "twice".to_owned(),
            _ => format!("{changes} times"),
        },
        with_noun(&by_luck, "time"),
    )
}

/// To the tenth: residuals are small, and it is their size that is judged.
fn tenths(length_in: f64, units: Units) -> String {
    format!("{} {}", wording::tenths(units.count(inches(length_in))), units.name())
}

/// Every residual, for those who cannot see the dots.
pub(super) fn description(chart: &LineCheckChart) -> String {
    let told = chart.residuals.left.iter().map(|left| {
        let years = with_noun(&wording::tenths(left.years), "year");
        format!("{years} from the forecast: {}.", tenths(left.over_in, chart.units))
    });
    format!("{} Level above the line: {} {KEY} {CAUTION}", answer(chart), told.collect::<Vec<_>>().join(" "))
}
