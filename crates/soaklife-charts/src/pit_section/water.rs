//! What moves: the liquid then and now, the freeboard, and the range of today's standing level.

use super::Subject;
use super::layout::Layout;
use crate::canvas::{Canvas, dashed, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::quantity::as_inches;
use soaklife::reading::Observation;

/// Length and half width of the head of an arrow.
const HEAD: (f64, f64) = (5.0, 2.2);
/// Half the width of the marks at the ends of a range.
const CAP: f64 = 3.0;

/// The liquid of the last reading.
pub(super) fn draw(canvas: &mut Canvas<'_>, layout: &Layout, subject: &Subject) -> Result<(), ChartError> {
    let Some(last) = subject.last else { return Ok(()) };
    let surface = layout.level(as_inches(last.level(&subject.pit)));
    let bottom = layout.y.at(layout.bottom_in);
    if surface < bottom {
        canvas.rectangle((layout.wall.0, surface), (layout.wall.1, bottom), theme::BANDS[2])?;
    }
    Ok(())
}

/// The lines of both levels, the arrow of the freeboard and the bracket of today, over the wall.
pub(super) fn measured(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    subject: &Subject,
) -> Result<(), ChartError> {
    let (left, right) = layout.wall;
    let surface = |reading: soaklife::Reading| layout.level(as_inches(reading.level(&subject.pit)));
    if let Some(first) = subject.first {
        let y = surface(first);
        canvas.line((left, y), (right, y), dashed(theme::INK, theme::LINE, 3.0))?;
    }
    if let Some(last) = subject.last {
        let y = surface(last);
        canvas.line((left, y), (right, y), stroke(theme::INK, theme::LINE))?;
        if last.observation() != Observation::Dry {
            surface_mark(canvas, (f64::midpoint(left, right), y))?;
        }
        freeboard(canvas, layout, y)?;
    }
    if let Some(today) = subject.today {
        let inside = |level_in: f64| {
            layout.y.at((layout.bottom_in - level_in).clamp(layout.inlet_in, layout.bottom_in))
        };
        let (upper, lower) = (inside(as_inches(today.upper)), inside(as_inches(today.lower)));
        let (x, line) = (layout.bracket, stroke(theme::FITTED, theme::HEAVY));
        let bracket = [(x - CAP, upper), (x, upper), (x, lower), (x - CAP, lower)];
        canvas.path(&bracket, line)?;
    }
    Ok(())
}

/// The triangle that stands on a free surface in drawings.
fn surface_mark(canvas: &mut Canvas<'_>, (x, y): (f64, f64)) -> Result<(), ChartError> {
    canvas.polygon(&[(x - 3.5, y - 6.0), (x + 3.5, y - 6.0), (x, y)], theme::INK)
}

/// Between the inlet and a surface below it: an arrow at both ends, or a plain line where there is no room for heads.
fn freeboard(canvas: &mut Canvas<'_>, layout: &Layout, surface: f64) -> Result<(), ChartError> {
    let (x, inlet) = (layout.arrow, layout.y.at(layout.inlet_in));
    if surface <= inlet {
        return Ok(());
    }
    let fine = stroke(theme::INK, theme::HAIRLINE);
    canvas.line((x, inlet), (x, surface), stroke(theme::INK, theme::LINE))?;
    // From the wall out, so that the arrow meets what it measures.
    [inlet, surface]
        .into_iter()
        .try_for_each(|y| canvas.line((layout.wall.1, y), (x + HEAD.1 + 1.0, y), fine))?;
    if surface - inlet < 2.0 * HEAD.0 + 1.0 {
        return Ok(());
    }
    [(inlet, 1.0), (surface, -1.0)].into_iter().try_for_each(|(tip, inward)| {
        let back = tip + inward * HEAD.0;
        canvas.polygon(&[(x, tip), (x - HEAD.1, back), (x + HEAD.1, back)], theme::INK)
    })
}
