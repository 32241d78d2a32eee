//! What happened meanwhile: events and changes of load, as ticks and labels above the plot.

use super::frame::{Frame, ROW};
use crate::canvas::{Canvas, lettering, stroke};
use crate::font::{self, Weight};
use crate::scale::Scale;
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::History;
use soaklife::date::years_between;
use soaklife::history::EventKind;

/// More rows of labels than this would crowd out the plot.
const MOST_ROWS: usize = 5;
/// Room that the name of an axis takes of the width of the plot.
const AXIS_NAME_ROOM: f64 = 16.0;
const LABEL_GAP: f64 = 6.0;
/// Ticks closer than this share a label, as long as it stays shorter than `MOST_LABEL`.
const NEAR: f64 = 4.0;
const MOST_LABEL: f64 = 150.0;

/// An event or a change of load.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Happening {
    pub(super) date: Date,
    pub(super) years: f64,
    pub(super) label: String,
}

/// A tick and its label above the plot; the label is empty where another one speaks for the tick.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub(super) at: f64,
    pub(super) start: f64,
    pub(super) row: usize,
    pub(super) label: String,
}

/// Events and changes of load up to the day of the forecast, oldest first.
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
    let happening = |(date, label)| Happening { date, years: years_between(as_of, date), label };
    dated.into_iter().map(happening).collect()
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

fn width(label: &str) -> f64 {
    font::width(label, theme::SMALL_SIZE, Weight::Regular)
}

/// Ticks that share one label.
struct Group {
    ticks: Vec<f64>,
    label: String,
}

/// Neighbours too close to be told apart share a label, in the order of their dates.
fn groups(happenings: &[Happening], x: &Scale) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for happening in happenings.iter().filter(|happening| happening.years >= x.ends().0) {
        let at = x.at(happening.years);
        if let Some(group) = groups.last_mut()
            && group.ticks.first().is_some_and(|first| at - first <= NEAR)
        {
            let both = format!("{}, {}", group.label, happening.label);
            if width(&both) <= MOST_LABEL {
                group.ticks.push(at);
                group.label = both;
                continue;
            }
        }
        let label = font::fitted(&happening.label, MOST_LABEL, theme::SMALL_SIZE, Weight::Regular);
        groups.push(Group { ticks: vec![at], label });
    }
    groups
}

/// Places labels in as few rows as hold them without touching; what no row can hold stays a tick.
///
/// Later labels go below earlier ones, so that no tick crosses a label.
pub(super) fn place_labels(happenings: &[Happening], x: &Scale) -> Vec<Placed> {
    let (first, last) = x.ends();
    // Between the names of the two axes, which stand in the lowest row.
    let (left_edge, right_edge) = (x.at(first) + AXIS_NAME_ROOM, x.at(last) - AXIS_NAME_ROOM);
    let mut row_starts: Vec<f64> = Vec::new();
    let mut placed: Vec<Placed> = Vec::new();
    for Group { ticks, label } in groups(happenings, x).into_iter().rev() {
        let Some((&at, others)) = ticks.split_first() else { continue };
        let start = (at + 2.0).min(right_edge - width(&label)).max(left_edge);
        let end = start + width(&label) + LABEL_GAP;
        let crossed = |row: usize| placed.iter().any(|later| later.row > row && later.at < end);
        let fits = |(row, row_start): (usize, &f64)| end <= *row_start && !crossed(row);
        let row = row_starts.iter().enumerate().position(fits).unwrap_or(row_starts.len());
        let label = if row < MOST_ROWS { label } else { String::new() };
        let row = row.min(MOST_ROWS - 1);
        match row_starts.get_mut(row) {
            Some(row_start) => *row_start = row_start.min(start.min(at)),
            None => row_starts.push(start.min(at)),
        }
        placed.push(Placed { at, start, row, label });
        placed.extend(others.iter().map(|&at| Placed { at, start: at, row: 0, label: String::new() }));
    }
    placed
}

/// Ticks and labels, above the plot.
pub(super) fn draw(canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
    let lowest = frame.top - 5.0;
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    for label in &frame.labels {
        let baseline = lowest - label.row as f64 * ROW;
        let from = if label.label.is_empty() { frame.top - 2.0 } else { baseline - 5.0 };
        canvas.line((label.at, from), (label.at, frame.top + 5.0), edge)?;
        canvas.text(&label.label, (label.start, baseline), lettering(theme::SMALL_SIZE, theme::INK))?;
    }
    Ok(())
}
