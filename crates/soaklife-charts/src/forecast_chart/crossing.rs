//! When the level gets there: the range on the line that is to be reached, and the same in words.

use super::frame::Frame;
use crate::canvas::{Align, Canvas, Point, lettering, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Coverage;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::{Units, as_inches};
use soaklife::trend::CrossingSet;
use soaklife::wording::{before, in_so_many, length, with_noun, year_after};

/// Half the height of the marks at the ends of the range.
const CAP: f64 = 4.0;
/// Length of the head of an arrow.
const HEAD: f64 = 9.0;

/// Draws the range as a bar with marks at its ends, the estimate as a ring, and says it in words for every answer.
pub(super) fn crossing(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    forecast: &Forecast,
    coverage: Coverage,
    units: Units,
    is_one_of_two: bool,
) -> Result<(), ChartError> {
    let edge = frame.x.ends().1;
    let y = frame.y.at(frame.threshold_in);
    let range = range(forecast, coverage);
    if let Some(range) = range {
        bar(canvas, frame, range, y)?;
        half(canvas, frame, forecast, y)?;
    }
    if let Crossing::Expected { years, .. } = forecast.crossing(coverage)
        && years < edge
    {
        let at = (frame.x.at(years), y);
        canvas.circle(at, theme::MARK + 0.7, theme::PAPER, stroke(theme::FITTED, theme::HEAVY))?;
    }
    let style = lettering(theme::SMALL_SIZE, theme::FITTED).bold().aligned(Align::Middle);
    let words = words(forecast, coverage, units);
    let words = if is_one_of_two { format!("today: {words}") } else { words };
    let half = style.width(&words) / 2.0;
    // Clear of the name of the inlet at the left, and inside the plot at the right.
    let leftmost = frame.inlet_name_end() + half;
    let rightmost = (frame.right - half - 2.0).max(leftmost);
    let middle = match range {
        Some((earliest, latest)) if earliest < edge => frame.x.at(f64::midpoint(earliest, latest.min(edge))),
        _ => rightmost,
    };
    // Above the inlet line, also where the goal lies below it.
    canvas.text(&words, (middle.clamp(leftmost, rightmost), frame.y.at(frame.inlet_in) - 6.0), style)
}

/// The years in which it may get there, as far as the horizon goes; the late end may be infinite.
pub(super) fn range(forecast: &Forecast, coverage: Coverage) -> Option<(f64, f64)> {
    if let Crossing::AlreadyAtInlet { .. } = forecast.crossing(coverage) {
        return None;
    }
    let (earliest, latest) = match forecast.crossing_set(coverage) {
        CrossingSet::Between { earliest, latest } => (earliest, latest),
        CrossingSet::NotBefore { earliest } => (earliest, f64::INFINITY),
        CrossingSet::Never | CrossingSet::Unbounded => return None,
    };
    (latest > 0.0 && earliest <= forecast.question().horizon_years()).then_some((earliest, latest))
}

/// The years in which it gets there as likely as not, heavier.
fn half(canvas: &mut Canvas<'_>, frame: &Frame, forecast: &Forecast, y: f64) -> Result<(), ChartError> {
    let edge = frame.x.ends().1;
    match range(forecast, Coverage::HALF) {
        Some((earliest, latest)) if earliest < edge => {
            let to = if latest <= edge { frame.x.at(latest) } else { frame.right - HEAD };
            canvas.line((frame.x.at(earliest), y), (to, y), stroke(theme::FITTED, 2.0 * theme::BAR))
        }
        _ => Ok(()),
    }
}

/// Places along the bar of one's range that stand out from its line: its ends, and every stride of the heavy part.
pub(super) fn outstanding(frame: &Frame, forecast: &Forecast, coverage: Coverage) -> Vec<Point> {
    const STRIDE: f64 = 4.0;
    let (edge, y) = (frame.x.ends().1, frame.y.at(frame.threshold_in));
    let ends = |coverage| {
        let (earliest, latest) = range(forecast, coverage).filter(|(earliest, _)| *earliest < edge)?;
        Some((frame.x.at(earliest), frame.x.at(latest.min(edge))))
    };
    let whole = ends(coverage).into_iter().flat_map(|(from, to)| [(from, y), (to, y)]);
    let half = ends(Coverage::HALF).into_iter().flat_map(|(from, to)| {
        let strides = ((to - from) / STRIDE).max(0.0) as u32;
        (0..=strides).map(move |count| (from + STRIDE * f64::from(count), y))
    });
    whole.chain(half).collect()
}

/// A bar from end to end; what lies beyond the right edge is an arrow.
fn bar(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    (earliest, latest): (f64, f64),
    y: f64,
) -> Result<(), ChartError> {
    let edge = frame.x.ends().1;
    let cap = stroke(theme::FITTED, theme::HEAVY);
    let from = if earliest < edge { frame.x.at(earliest) } else { frame.right - 2.0 * HEAD };
    let to = if latest <= edge { frame.x.at(latest) } else { frame.right };
    canvas.line((from, y), (to, y), stroke(theme::FITTED, theme::BAR))?;
    if earliest < edge {
        canvas.line((from, y - CAP), (from, y + CAP), cap)?;
    }
    if latest <= edge {
        return canvas.line((to, y - CAP), (to, y + CAP), cap);
    }
    let half = CAP + 1.0;
    canvas.polygon(&[(to - HEAD, y - half), (to, y), (to - HEAD, y + half)], theme::FITTED)
}

/// The answer in a few words; nothing is made up where the readings leave it open.
pub(super) fn words(forecast: &Forecast, coverage: Coverage, units: Units) -> String {
    if let Crossing::AlreadyAtInlet { .. } = forecast.crossing(coverage) {
        return "no freeboard left".to_owned();
    }
    let horizon = forecast.question().horizon_years();
    let (as_of, tail) = (forecast.question().as_of(), in_so_many(coverage.lower_tail()));
    let when = match forecast.crossing_set(coverage) {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => "reached already".to_owned(),
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } if earliest > horizon => {
            format!("under {tail} in {}", with_noun(&format!("{horizon:.0}"), "year"))
        }
        CrossingSet::Between { earliest, latest } if latest <= horizon => {
            let (from, to) = (year_after(as_of, earliest), year_after(as_of, latest));
            let years = if from == to { from } else { format!("{from}–{to}") };
            format!("{years} ({:.0} %)", coverage.value() * 100.0)
        }
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } => {
            format!("{tail} {}", before(as_of, earliest))
        }
        CrossingSet::Never => format!("under {tail} ever at this pace"),
        CrossingSet::Unbounded => "when, if at all, cannot be told".to_owned(),
    };
    let action = forecast.question().action_freeboard();
    if as_inches(action) > 0.0 { format!("{} of freeboard: {when}", length(action, units)) } else { when }
}
