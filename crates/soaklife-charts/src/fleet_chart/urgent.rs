//! The pits to see first: a line for the 80 % range of the time at which each reaches its inlet, a tick for the
//! median.

use super::layout::{EDGE, Layout, NAMES, ROW};
use crate::canvas::{Align, Canvas, lettering, stroke};
use crate::rung;
use crate::scale::{Scale, year_ticks};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::fleet::Candidate;
use soaklife::wording::sentence::goal_of_many;

/// Between the names and today.
const GAP: f64 = 6.0;

/// The list shows this far ahead at least and at most, years.
const NEAREST_END: f64 = 10.0;
const FARTHEST_END: f64 = 30.0;

pub(super) fn draw(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    as_of: Date,
    pits: &[&Candidate],
) -> Result<(), ChartError> {
    let time = time(pits);
    let bold = lettering(theme::TEXT_SIZE, theme::INK).bold();
    let goal = goal_of_many(pits.iter().any(|pit| pit.urgency.acts_early));
    let heading = format!("Whom to see first: when the {goal} is reached, 80 % range and median");
    canvas.text(&heading, (EDGE, layout.list_heading), bold)?;
    let bottom = layout.list + ROW * pits.len() as f64;
    frame(canvas, &time, as_of, layout.list, bottom)?;
    pits.iter().enumerate().try_for_each(|(place, pit)| {
        let y = layout.list + (place as f64 + 0.5) * ROW;
        rung::name(canvas, pit, EDGE, NAMES - GAP, y)?;
        rung::range(canvas, &time, &pit.urgency, y)
    })
}

/// From today to the latest end of a range, within reason.
pub(super) fn time(pits: &[&Candidate]) -> Scale {
    let end = |pit: &&Candidate| pit.urgency.years[2].unwrap_or(FARTHEST_END);
    let latest = pits.iter().map(end).fold(NEAREST_END, f64::max).min(FARTHEST_END);
    Scale::new((0.0, latest), (EDGE + NAMES, theme::WIDTH - EDGE - 6.0))
}

fn frame(
    canvas: &mut Canvas<'_>,
    time: &Scale,
    as_of: Date,
    top: f64,
    bottom: f64,
) -> Result<(), ChartError> {
    const LABEL_ROOM: f64 = 27.0;
    let number = lettering(theme::SMALL_SIZE, theme::INK);
    let today = time.at(0.0);
    canvas.line((today, top), (today, bottom), stroke(theme::QUIET_INK, theme::HAIRLINE))?;
    for (years, label) in year_ticks(as_of, time, LABEL_ROOM) {
        let x = time.at(years);
        canvas.line((x, top), (x, bottom), stroke(theme::GRID, theme::HAIRLINE))?;
        // Beside the edge a label would reach out of the page.
        let half = number.width(&label.to_string()) / 2.0;
        let at = (x.min(theme::WIDTH - EDGE - half), bottom + 10.0);
        canvas.text(&label.to_string(), at, number.aligned(Align::Middle))?;
    }
    Ok(())
}
