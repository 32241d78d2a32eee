//! One pit on a line: its name, and when it reaches its inlet as a range with the median.

use crate::canvas::{Canvas, lettering, stroke};
use crate::font;
use crate::scale::Scale;
use crate::svg::ChartError;
use crate::theme;
use soaklife::fleet::{Candidate, Urgency};
use soaklife::trend::CrossingSet;

/// Between identifier and title.
const GAP: f64 = 6.0;
/// From the middle of a line of text down to its baseline.
const HALF_A_DIGIT: f64 = 2.7;

/// Identifier and title, cut to the room that they have.
pub(crate) fn name(
    canvas: &mut Canvas<'_>,
    pit: &Candidate,
    left: f64,
    room: f64,
    y: f64,
) -> Result<(), ChartError> {
    let id = lettering(theme::SMALL_SIZE, theme::INK);
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let shown = font::fitted(&pit.id, room, id.size, id.weight);
    canvas.text(&shown, (left, y + HALF_A_DIGIT), id)?;
    let after = id.width(&shown) + GAP;
    let title = font::fitted(&pit.title, room - after, quiet.size, quiet.weight);
    canvas.text(&title, (left + after, y + HALF_A_DIGIT), quiet)
}

/// The range from the 10 % to the 90 % point as a line, the median as a tick; an arrow goes on beyond the page.
pub(crate) fn range(
    canvas: &mut Canvas<'_>,
    time: &Scale,
    urgency: &Urgency,
    y: f64,
) -> Result<(), ChartError> {
    let end = time.ends().1;
    let median = urgency.years[1];
    let (early, late) = match urgency.range {
        CrossingSet::Between { earliest, latest } => (Some(earliest), Some(latest)),
        CrossingSet::NotBefore { earliest } => (Some(earliest), None),
        CrossingSet::Never => (None, None),
        // Any time at all.
        CrossingSet::Unbounded => (Some(0.0), None),
    };
    let line = stroke(theme::BANDS[2], theme::BAR);
    let Some(early) = early.filter(|early| *early < end) else {
        return arrow(canvas, time.at(end), y);
    };
    let (from, to) = (time.at(early.max(0.0)), time.at(late.unwrap_or(end).min(end)));
    // At the inlet today: a dot's width, that it be seen.
    canvas.line((from, y), (to.max(from + 1.5), y), line)?;
    if late.is_none_or(|late| late > end) {
        arrow(canvas, time.at(end), y)?;
    }
    match median.filter(|median| *median <= end) {
        Some(median) => {
            let x = time.at(median);
            canvas.line((x, y - 4.0), (x, y + 4.0), stroke(theme::INK, theme::HEAVY))
        }
        None => Ok(()),
    }
}

/// Goes on beyond the page.
fn arrow(canvas: &mut Canvas<'_>, x: f64, y: f64) -> Result<(), ChartError> {
    canvas.polygon(&[(x, y - 3.5), (x + 5.5, y), (x, y + 3.5)], theme::FITTED)
}
