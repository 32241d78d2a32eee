//! What was added and how far the tank rose, and the hours below them all.

use super::course::{Course, Seen};
use super::layout::{EDGE, Layout, Panel};
use super::level::HALF_A_DIGIT;
use crate::canvas::{Align, Canvas, Point, lettering, stroke};
use crate::scale::{axis_unit, tick_text, ticks};
use crate::svg::ChartError;
use crate::theme;
use soaklife::quantity::Units;

/// Room that an hour's number takes.
const HOUR_ROOM: f64 = 22.0;
const HOUR_STEPS: [f64; 12] = [0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 96.0, 240.0, 1000.0];

pub(super) fn draw(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    let unit = axis_unit(layout.units, 0.0);
    if let Some(panel) = &layout.added {
        let name = match layout.units {
            Units::Us => "gallons added",
            Units::Si => "litres added",
        };
        series(canvas, layout, panel, name, places(layout, panel, course, |seen| seen.added))?;
    }
    if let Some(panel) = &layout.tank {
        let name = format!("rise in the tank, {}", unit.name);
        let rise = |seen: &Seen| Some(seen.tank_in? / unit.inches);
        series(canvas, layout, panel, &name, places(layout, panel, course, rise))?;
    }
    hours(canvas, layout, course)
}

fn places(
    layout: &Layout,
    panel: &Panel,
    course: &Course,
    value: impl Fn(&Seen) -> Option<f64>,
) -> Vec<Point> {
    let place = |seen: &Seen| Some((layout.x.at(seen.hours), panel.y.at(value(seen)?)));
    course.seen.iter().filter_map(place).collect()
}

/// A panel with its scale, and a line from look to look.
fn series(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    panel: &Panel,
    name: &str,
    places: Vec<Point>,
) -> Result<(), ChartError> {
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End);
    let (low, high) = panel.y.ends();
    for value in ticks(low, high, panel.step) {
        let y = panel.y.at(value);
        canvas.line((layout.left, y), (layout.right, y), stroke(theme::GRID, theme::HAIRLINE))?;
        canvas.line((layout.left - 3.0, y), (layout.left, y), edge)?;
        canvas.text(&tick_text(value, panel.step), (layout.left - 5.0, y + HALF_A_DIGIT), number)?;
    }
    canvas.line((layout.left, panel.top), (layout.left, panel.bottom), edge)?;
    canvas.line((layout.left, panel.bottom), (layout.right, panel.bottom), edge)?;
    canvas.text(name, (EDGE, panel.top - 6.5), lettering(theme::SMALL_SIZE, theme::QUIET_INK))?;
    if places.len() > 1 {
        canvas.path(&places, stroke(theme::INK, theme::LINE))?;
    }
    places
        .iter()
        .try_for_each(|at| canvas.circle(*at, theme::MARK - 0.6, theme::INK, stroke(theme::INK, theme::FINE)))
}

/// The hours under the lowest panel, with a fine line through all.
fn hours(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    let per_hour = layout.x.distance(0.0, 1.0);
    let step = HOUR_STEPS.into_iter().find(|step| step * per_hour >= HOUR_ROOM).unwrap_or(course.end());
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::Middle);
    for hour in ticks(0.0, layout.x.ends().1, step) {
        let x = layout.x.at(hour);
        canvas.line((x, layout.lowest), (x, layout.lowest + 3.0), edge)?;
        // A number at the very edge would reach over the side.
        let half = number.width(&hour_text(hour, step)) / 2.0;
        let at = (x.min(theme::WIDTH - EDGE - half), layout.lowest + 11.0);
        canvas.text(&hour_text(hour, step), at, number)?;
    }
    Ok(())
}

fn hour_text(hour: f64, step: f64) -> String {
    match step {
        step if step < 0.5 => format!("{hour:.2}"),
        step if step < 1.0 => format!("{hour:.1}"),
        _ => format!("{hour:.0}"),
    }
}
