//! The names at the right: each beside what it names, or led to it where they would crowd.

use super::Subject;
use super::layout::Layout;
use crate::canvas::{Canvas, lettering, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Reading;
use soaklife::quantity::{Length, Units, as_inches};
use soaklife::reading::Observation;
use soaklife::wording::{length, length_number};

const ROW: f64 = 9.0;
const GAP: f64 = 3.0;
/// From the middle of a line of text down to its baseline.
const HALF_A_DIGIT: f64 = 2.7;

/// One name of one or two lines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    pub(super) rows: Vec<String>,
    /// What it names, inches below the rim.
    depth_in: f64,
    of: Named,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Named {
    /// Something of the pit, or a level.
    Line,
    Freeboard,
    Today,
}

impl Label {
    /// Room that it takes with the gap below.
    pub(super) fn height(&self) -> f64 {
        self.rows.len() as f64 * ROW + GAP
    }
}

/// Every name, from the rim down.
pub(super) fn labels(subject: &Subject, units: Units) -> Vec<Label> {
    let (inlet, bottom) = (subject.pit.inlet_depth(), subject.pit.bottom_depth());
    let line = |depth: Length, rows: Vec<String>| Label { rows, depth_in: as_inches(depth), of: Named::Line };
    let mut labels = vec![
        line(Length::default(), vec!["rim".to_owned()]),
        line(inlet, vec!["inlet invert".to_owned(), length(inlet, units)]),
        line(bottom, vec!["pit bottom".to_owned(), length(bottom, units)]),
    ];
    let depth = |reading: Reading| bottom - reading.level(&subject.pit);
    for (name, reading) in [("first", subject.first), ("last", subject.last)] {
        let Some(reading) = reading else { continue };
        labels
            .push(line(depth(reading), vec![name_of(name, reading), found(reading, depth(reading), units)]));
    }
    if let Some(last) = subject.last.filter(|last| !last.stands_at_inlet(&subject.pit)) {
        let freeboard = depth(last) - inlet;
        labels.push(Label {
            rows: vec!["freeboard".to_owned(), length(freeboard, units)],
            depth_in: as_inches(inlet + freeboard / 2.0),
            of: Named::Freeboard,
        });
    }
    if let Some(today) = subject.today {
        let below_rim = |level: Length| (bottom - level).max(inlet).min(bottom);
        let (upper, lower) = (below_rim(today.upper), below_rim(today.lower));
        labels.push(Label {
            rows: vec!["today, 80 %".to_owned(), between(upper, lower, bottom, units)],
            depth_in: as_inches((upper + lower) / 2.0),
            of: Named::Today,
        });
    }
    labels.sort_by(|a, b| a.depth_in.total_cmp(&b.depth_in));
    labels
}

fn name_of(name: &str, reading: Reading) -> String {
    format!("{name} {}", reading.date())
}

fn found(reading: Reading, depth: Length, units: Units) -> String {
    match reading.observation() {
        Observation::Dry => "dry".to_owned(),
        Observation::AtInlet => "at the inlet".to_owned(),
        _ => length(depth, units),
    }
}

/// Depths from one to another, as far as they can be told apart.
fn between(upper: Length, lower: Length, bottom: Length, units: Units) -> String {
    let number = |depth| length_number(depth, units, units == Units::Us);
    match (number(upper), number(lower)) {
        (upper, lower) if upper != lower => format!("{upper}–{lower} {}", units.name()),
        (upper, _) if upper == number(bottom) => "dry".to_owned(),
        (upper, _) => format!("{upper} {}", units.name()),
    }
}

pub(super) fn draw(canvas: &mut Canvas<'_>, layout: &Layout, labels: &[Label]) -> Result<(), ChartError> {
    let middles = spread(layout, labels);
    for (label, middle) in labels.iter().zip(middles) {
        lead(canvas, layout, label, middle)?;
        let first = middle - (label.rows.len() as f64 - 1.0) / 2.0 * ROW + HALF_A_DIGIT;
        let colour = if label.of == Named::Today { theme::FITTED } else { theme::INK };
        let style = lettering(theme::SMALL_SIZE, colour);
        let style = if label.of == Named::Freeboard { style.bold() } else { style };
        for (row, text) in label.rows.iter().enumerate() {
            canvas.text(text, (layout.names, first + row as f64 * ROW), style)?;
        }
    }
    Ok(())
}

/// The middles of the names: pushed down where they crowd, and up again from the lower end.
pub(super) fn spread(layout: &Layout, labels: &[Label]) -> Vec<f64> {
    let (top, bottom) = layout.names_within;
    let mut from = top;
    let mut tops: Vec<f64> = labels
        .iter()
        .map(|label| {
            let wanted = wanted(layout, label) - (label.height() - GAP) / 2.0;
            let at = wanted.max(from);
            from = at + label.height();
            at
        })
        .collect();
    let mut until = bottom;
    for (at, label) in tops.iter_mut().zip(labels).rev() {
        *at = at.min(until - label.height() + GAP);
        until = *at - GAP;
    }
    tops.iter().zip(labels).map(|(at, label)| at + (label.height() - GAP) / 2.0).collect()
}

/// Points of what is named; a level that reaches into the riser is drawn at the cover.
fn wanted(layout: &Layout, label: &Label) -> f64 {
    let highest = if label.depth_in > 0.0 { layout.cover_in } else { 0.0 };
    layout.y.at(label.depth_in.max(highest))
}

/// A thin line from what is named to its name.
fn lead(canvas: &mut Canvas<'_>, layout: &Layout, label: &Label, middle: f64) -> Result<(), ChartError> {
    let y = wanted(layout, label);
    let (from, colour) = match label.of {
        Named::Line if label.depth_in <= 0.0 => (layout.ground.1, theme::QUIET_INK),
        Named::Line => (layout.wall.1, theme::QUIET_INK),
        Named::Freeboard => (layout.arrow, theme::QUIET_INK),
        Named::Today => (layout.bracket, theme::FITTED),
    };
    let turn = layout.bracket + 2.0;
    let path = [(from, y), (turn, y), (layout.names - 2.0, middle)];
    canvas.path(&path, stroke(colour, theme::FINE))
}
