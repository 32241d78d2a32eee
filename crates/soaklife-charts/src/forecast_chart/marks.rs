//! What was measured, and what happened meanwhile.

use super::Subject;
use super::frame::{Frame, ROW};
use crate::canvas::{Canvas, lettering, stroke};
use crate::font::{self, Weight};
use crate::scale::Scale;
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::History;
use soaklife::date::years_between;
use soaklife::history::{EventKind, Verdict};
use soaklife::quantity::as_inches;
use soaklife::reading::Observation;

/// More rows of labels than this would crowd out the plot.
const MOST_ROWS: usize = 5;

/// Room that the name of an axis takes of the width of the plot.
const AXIS_NAME_ROOM: f64 = 16.0;

const LABEL_GAP: f64 = 6.0;

/// An event or a change of load.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Happening {
    pub(super) years: f64,
    pub(super) label: String,
}

/// A label with its place above the plot.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub(super) at: f64,
    pub(super) start: f64,
    pub(super) row: usize,
    pub(super) label: String,
}

/// Events and changes of load up to the day of the forecast, oldest first; those of one day share a label.
pub(super) fn happenings(history: &History, as_of: Date) -> Vec<Happening> {
    let events =
        history.events().iter().map(|event| (event.date.middle(), event_label(event.kind).to_owned()));
    let steps = history.load().map_or(&[][..], |load| load.steps());
    let changes = steps
        .iter()
        .zip(steps.iter().skip(1))
        .filter(|(before, after)| is_worth_a_word(before.ratio, after.ratio))
        .map(|(before, after)| {
            (after.from, format!("load {:.0} to {:.0} %", before.ratio * 100.0, after.ratio * 100.0))
        });
    let mut dated: Vec<(Date, String)> = events.chain(changes).filter(|(date, _)| *date <= as_of).collect();
    dated.sort_by_key(|(date, _)| *date);
    dated.dedup_by(|(date, label), (kept_date, kept)| {
        let same_day = date == kept_date;
        if same_day {
            kept.push_str(", ");
            kept.push_str(label);
        }
        same_day
    });
    dated.into_iter().map(|(date, label)| Happening { years: years_between(as_of, date), label }).collect()
}

/// A meter wanders by a few percent from year to year; that is no change of household.
fn is_worth_a_word(before: f64, after: f64) -> bool {
    (after - before).abs() >= 0.05
}

fn event_label(kind: EventKind) -> &'static str {
    match kind {
        EventKind::PumpedOut => "pumped out",
        EventKind::PipeRepaired => "pipe repaired",
        EventKind::RestStarted => "rest started",
        EventKind::RestEnded => "rest ended",
        EventKind::Rehabilitated => "rehabilitated",
        EventKind::PitAdded => "second pit",
        EventKind::DatumChanged => "rim changed",
        EventKind::Replaced => "replaced",
        _ => "event",
    }
}

/// Places labels in as few rows as hold them without touching; what no row can hold stays a tick.
///
/// Later labels go below earlier ones, so that no tick crosses a label.
pub(super) fn place_labels(happenings: &[Happening], x: &Scale) -> Vec<Placed> {
    let (first, _) = x.ends();
    // Between the names of the two axes, which stand in the lowest row.
    let (left_edge, right_edge) = (x.at(first) + AXIS_NAME_ROOM, x.at(x.ends().1) - AXIS_NAME_ROOM);
    let mut row_starts: Vec<f64> = Vec::new();
    let mut placed: Vec<Placed> = Vec::new();
    for happening in happenings.iter().rev().filter(|happening| happening.years >= first) {
        let at = x.at(happening.years);
        let width = font::width(&happening.label, theme::SMALL_SIZE, Weight::Regular);
        let start = (at + 2.0).min(right_edge - width).max(left_edge);
        let end = start + width + LABEL_GAP;
        let crossed = |row: usize| placed.iter().any(|later| later.row > row && later.at < end);
        let fits = |(row, row_start): (usize, &f64)| end <= *row_start && !crossed(row);
        let row = row_starts.iter().enumerate().position(fits).unwrap_or(row_starts.len());
        let label = if row < MOST_ROWS { happening.label.clone() } else { String::new() };
        let row = row.min(MOST_ROWS - 1);
        match row_starts.get_mut(row) {
            Some(row_start) => *row_start = row_start.min(start.min(at)),
            None => row_starts.push(start.min(at)),
        }
        placed.push(Placed { at, start, row, label });
    }
    placed
}

/// Ticks and labels of what happened, above the plot.
pub(super) fn happened(canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
    let lowest = frame.top - 5.0;
    for label in &frame.labels {
        let baseline = lowest - label.row as f64 * ROW;
        let from = if label.label.is_empty() { frame.top - 4.0 } else { baseline - 5.0 };
        canvas.line(
            (label.at, from),
            (label.at, frame.top + 5.0),
            stroke(theme::QUIET_INK, theme::HAIRLINE),
        )?;
        canvas.text(&label.label, (label.start, baseline), lettering(theme::SMALL_SIZE, theme::INK))?;
    }
    Ok(())
}

/// Every reading with the mark that says what it is.
pub(super) fn readings(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    subject: &Subject<'_>,
) -> Result<(), ChartError> {
    for taken in &subject.readings {
        let x = frame.x.at(subject.years_of(taken.reading.date().middle()));
        let kind = match taken.reading.observation() {
            Observation::Dry => Mark::Dry,
            _ if taken.reading.stands_at_inlet(&subject.pit) => Mark::AtInlet,
            _ if matches!(taken.verdict, Verdict::SetAside(_)) => Mark::SetAside,
            _ => Mark::Used,
        };
        // A dry mark stands on the bottom.
        let lift = if kind == Mark::Dry { theme::MARK + 0.6 } else { 0.0 };
        let y = frame.y.at(as_inches(taken.reading.level(&subject.pit))) - lift;
        mark(canvas, kind, (x, y))?;
    }
    Ok(())
}

/// The marks of readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Used,
    SetAside,
    Dry,
    AtInlet,
}

impl Mark {
    pub(super) const ALL: [Self; 4] = [Self::Used, Self::SetAside, Self::Dry, Self::AtInlet];

    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Used => "reading",
            Self::SetAside => "set aside",
            Self::Dry => "dry",
            Self::AtInlet => "at inlet",
        }
    }
}

pub(super) fn mark(canvas: &mut Canvas<'_>, mark: Mark, (x, y): (f64, f64)) -> Result<(), ChartError> {
    let edge = stroke(theme::INK, theme::LINE);
    let r = theme::MARK + 0.6;
    match mark {
        Mark::Used => canvas.circle((x, y), theme::MARK, theme::INK, edge),
        Mark::SetAside => canvas.circle((x, y), theme::MARK, theme::PAPER, edge),
        Mark::Dry => canvas.polygon(&[(x - r, y - r), (x + r, y - r), (x, y + r)], theme::INK),
        Mark::AtInlet => canvas.polygon(&[(x - r, y + r), (x + r, y + r), (x, y - r)], theme::INK),
    }
}

/// Whether a mark is among those drawn.
pub(super) fn is_drawn(subject: &Subject<'_>, mark: Mark) -> bool {
    subject.readings.iter().any(|taken| {
        let dry = taken.reading.observation() == Observation::Dry;
        let at_inlet = taken.reading.stands_at_inlet(&subject.pit);
        let aside = matches!(taken.verdict, Verdict::SetAside(_));
        match mark {
            Mark::Dry => dry,
            Mark::AtInlet => at_inlet,
            Mark::SetAside => aside && !dry && !at_inlet,
            Mark::Used => !aside,
        }
    })
}
