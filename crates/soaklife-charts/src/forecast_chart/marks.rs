//! What was measured: every reading with the mark that says what it is.

use super::Subject;
use super::frame::Frame;
use crate::canvas::{Canvas, Point, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Pit;
use soaklife::history::{ReadingUse, Reason, Verdict};
use soaklife::quantity::as_inches;
use soaklife::reading::Observation;

/// The mark of a reading: its shape says what was found, a hollow one was set aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Mark {
    shape: Shape,
    hollow: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Liquid,
    Dry,
    AtInlet,
}

impl Mark {
    fn of(pit: &Pit, taken: &ReadingUse) -> Self {
        let shape = match taken.reading.observation() {
            Observation::Dry => Shape::Dry,
            _ if taken.reading.stands_at_inlet(pit) => Shape::AtInlet,
            _ => Shape::Liquid,
        };
        // Dry and at the inlet are bounds: no line can use them, but nobody has set them aside.
        let hollow = match taken.verdict {
            Verdict::SetAside(Reason::Dry | Reason::AtInlet) | Verdict::Used { .. } => false,
            Verdict::SetAside(_) => true,
        };
        Self { shape, hollow }
    }

    fn draw(self, canvas: &mut Canvas<'_>, (x, y): (f64, f64)) -> Result<(), ChartError> {
        let fill = if self.hollow { theme::PAPER } else { theme::INK };
        let corners = |up: f64| {
            let r = theme::MARK + 0.3;
            [(x - r, y + up * r), (x + r, y + up * r), (x, y - up * r)]
        };
        match self.shape {
            Shape::Liquid if self.hollow => {
                canvas.circle((x, y), theme::MARK, fill, stroke(theme::INK, theme::LINE))
            }
            // A rim of paper tells crowded marks apart.
            Shape::Liquid => {
                canvas.circle((x, y), theme::MARK + 0.5, fill, stroke(theme::PAPER, theme::HAIRLINE))
            }
            Shape::Dry => triangle(canvas, corners(-1.0), fill),
            Shape::AtInlet => triangle(canvas, corners(1.0), fill),
        }
    }
}

fn triangle(
    canvas: &mut Canvas<'_>,
    corners: [(f64, f64); 3],
    fill: theme::Colour,
) -> Result<(), ChartError> {
    canvas.polygon(&corners, fill)?;
    let [first, second, _] = corners;
    let outline: Vec<(f64, f64)> = corners.into_iter().chain([first, second]).collect();
    canvas.path(&outline, stroke(theme::INK, theme::LINE * 0.8))
}

/// Draws every reading, those that count over those set aside.
pub(super) fn draw(canvas: &mut Canvas<'_>, frame: &Frame, subject: &Subject<'_>) -> Result<(), ChartError> {
    let marked = || subject.readings.iter().map(|taken| (taken, Mark::of(&subject.pit, taken)));
    let (hollow, filled) = (marked().filter(|one| one.1.hollow), marked().filter(|one| !one.1.hollow));
    for (taken, mark) in hollow.chain(filled) {
        let (x, y) = place(frame, subject, taken);
        // A dry mark stands on the bottom.
        let lift = if mark.shape == Shape::Dry { theme::MARK + 0.8 } else { 0.0 };
        mark.draw(canvas, (x, y - lift))?;
    }
    Ok(())
}

/// Where a reading lies.
pub(super) fn place(frame: &Frame, subject: &Subject<'_>, taken: &ReadingUse) -> Point {
    let years = subject.years_of(taken.reading.date().middle());
    (frame.x.at(years), frame.y.at(as_inches(taken.reading.level(&subject.pit))))
}

/// An entry of the key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Entry {
    mark: Mark,
    pub(super) name: &'static str,
}

impl Entry {
    pub(super) fn draw(self, canvas: &mut Canvas<'_>, at: (f64, f64)) -> Result<(), ChartError> {
        self.mark.draw(canvas, at)
    }
}

/// The entries of the key: what is drawn and nothing else.
pub(super) fn key(subject: &Subject<'_>) -> Vec<Entry> {
    let drawn: Vec<Mark> = subject.readings.iter().map(|taken| Mark::of(&subject.pit, taken)).collect();
    let entries = [
        ("reading", Shape::Liquid, false, drawn.contains(&Mark { shape: Shape::Liquid, hollow: false })),
        ("set aside", Shape::Liquid, true, drawn.iter().any(|mark| mark.hollow)),
        ("dry", Shape::Dry, false, drawn.iter().any(|mark| mark.shape == Shape::Dry)),
        ("at inlet", Shape::AtInlet, false, drawn.iter().any(|mark| mark.shape == Shape::AtInlet)),
    ];
    let shown = entries.into_iter().filter(|entry| entry.3);
    shown.map(|(name, shape, hollow, _)| Entry { mark: Mark { shape, hollow }, name }).collect()
}
