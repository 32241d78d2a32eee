//! The panel of levels: the looks of the stick, the fitted fall, and the lines that mean something.

use super::course::Course;
use super::layout::{EDGE, Layout};
use crate::canvas::{Align, Canvas, Point, dashed, lettering, stroke};
use crate::scale::{round_step, tick_text, ticks};
use crate::svg::ChartError;
use crate::theme;
use soaklife::quantity::inches;
use soaklife::wording::length;

const MOST_TICKS: usize = 7;
/// From the middle of a tick down to the baseline of its number.
pub(super) const HALF_A_DIGIT: f64 = 2.7;
/// Height that a name takes.
const NAME_ROOM: f64 = 9.5;

pub(super) fn draw(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    ground(canvas, layout, course)?;
    band(canvas, layout, course)?;
    scale(canvas, layout)?;
    lines(canvas, layout, course)?;
    fall(canvas, layout, course)?;
    looks(canvas, layout, course)
}

/// The ground below a bottom that is drawn.
fn ground(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    if !layout.shows(course.bottom_in) {
        return Ok(());
    }
    let y = layout.y.at(course.bottom_in);
    canvas.rectangle((layout.left, y), (layout.right, layout.bottom), theme::GROUND)?;
    canvas.line((layout.left, y), (layout.right, y), stroke(theme::INK, theme::LINE))
}

fn band(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    let place =
        |hours: f64, depth_in: f64| (layout.x.at(hours), layout.depth(depth_in.min(course.bottom_in)));
    let shallow = course.fall.iter().map(|at| place(at.hours, at.range_in.0));
    let deep = course.fall.iter().rev().map(|at| place(at.hours, at.range_in.1));
    let outline: Vec<Point> = shallow.chain(deep).collect();
    if outline.len() > 2 { canvas.polygon(&outline, theme::BANDS[1]) } else { Ok(()) }
}

/// The fitted fall, as far as it stays in the panel.
fn fall(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    let inside = course.fall.iter().filter(|at| layout.shows(at.depth_in));
    let path: Vec<Point> = inside.map(|at| (layout.x.at(at.hours), layout.y.at(at.depth_in))).collect();
    if path.len() > 1 { canvas.path(&path, stroke(theme::FITTED, theme::HEAVY)) } else { Ok(()) }
}

/// Depth below the rim, at the left.
fn scale(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let per_unit = layout.unit.inches;
    let (shallow, deep) = layout.y.ends();
    let step = round_step((deep - shallow) / per_unit, MOST_TICKS, layout.unit);
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End);
    for depth in ticks(shallow / per_unit, deep / per_unit, step).into_iter().filter(|depth| *depth >= 0.0) {
        let y = layout.y.at(depth * per_unit);
        canvas.line((layout.left, y), (layout.right, y), stroke(theme::GRID, theme::HAIRLINE))?;
        canvas.line((layout.left - 3.0, y), (layout.left, y), edge)?;
        canvas.text(&tick_text(depth, step), (layout.left - 5.0, y + HALF_A_DIGIT), number)?;
    }
    canvas.line((layout.left, layout.top), (layout.left, layout.bottom), edge)?;
    canvas.line((layout.left, layout.bottom), (layout.right, layout.bottom), edge)?;
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    canvas.text(&format!("below rim, {}", layout.unit.name), (EDGE, layout.top - 5.0), quiet)
}

/// Inlet and start; an inlet too far off the scale is told at the edge that it lies beyond.
fn lines(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    // A pit that was dry at the start has its bottom for a line.
    let start = course.start_in.filter(|start| *start < course.bottom_in);
    if let Some(y) = start.map(|start| layout.y.at(start)) {
        canvas.line((layout.left, y), (layout.right, y), dashed(theme::INK, theme::HAIRLINE, 3.0))?;
    }
    if layout.shows(course.inlet_in) {
        let y = layout.y.at(course.inlet_in);
        canvas.line((layout.left, y), (layout.right, y), stroke(theme::INK, theme::HEAVY))?;
    } else {
        let depth = length(inches(course.inlet_in), layout.units);
        let told = format!("inlet invert {depth} below rim, above this scale");
        let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK).aligned(Align::End);
        canvas.text(&told, (layout.right, layout.top - 5.0), quiet)?;
    }
    names(canvas, layout, course, start)
}

/// The names of the lines, each on the side where it has room; the start's below its line, where the fall comes last.
fn names(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    course: &Course,
    start: Option<f64>,
) -> Result<(), ChartError> {
    let small = lettering(theme::SMALL_SIZE, theme::INK);
    let shown = |depth: f64| layout.shows(depth).then(|| layout.y.at(depth));
    let (inlet, bottom) = (shown(course.inlet_in), shown(course.bottom_in));
    let wanted = [
        ("inlet invert", inlet.map(|y| [y - 3.5, y + 9.0])),
        ("pit bottom", bottom.map(|y| [y + 8.5, y + 8.5])),
        ("level at the start", start.map(|start| layout.y.at(start)).map(|y| [y + 9.0, y - 3.5])),
    ];
    let crosses = |at: f64, line: Option<f64>| line.is_some_and(|y| (at - 7.0..at + 2.0).contains(&y));
    let mut taken: Vec<f64> = Vec::new();
    for (name, places) in wanted {
        let is_free = |at: &f64| {
            (layout.top + 3.0..layout.bottom - 1.0).contains(at)
                && taken.iter().all(|other| (at - other).abs() >= NAME_ROOM)
                && !crosses(*at, inlet)
                && !crosses(*at, bottom)
        };
        if let Some(at) = places.into_iter().flatten().find(is_free) {
            taken.push(at);
            canvas.text(name, (beside_looks(layout, course, small.width(name)), at), small)?;
        }
    }
    Ok(())
}

/// Where a name of that width begins: in the longest pause between looks, inside the panel.
fn beside_looks(layout: &Layout, course: &Course, width: f64) -> f64 {
    let pauses = course.seen.iter().zip(course.seen.iter().skip(1));
    let longest = pauses.max_by(|a, b| (a.1.hours - a.0.hours).total_cmp(&(b.1.hours - b.0.hours)));
    let from = longest.map_or(layout.left, |(before, _)| layout.x.at(before.hours));
    (from + 8.0).min(layout.right - width - 4.0)
}

/// The looks, joined by a thin line where nothing is fitted through them.
fn looks(canvas: &mut Canvas<'_>, layout: &Layout, course: &Course) -> Result<(), ChartError> {
    let levels: Vec<(f64, f64)> = course.levels().collect();
    let place = |(hours, depth_in): (f64, f64)| (layout.x.at(hours), layout.y.at(depth_in));
    for (from, to) in levels.iter().zip(levels.iter().skip(1)) {
        if !(course.is_fitted(from.0) && course.is_fitted(to.0)) {
            canvas.line(place(*from), place(*to), stroke(theme::QUIET_INK, theme::HAIRLINE))?;
        }
    }
    levels.iter().try_for_each(|look| {
        let (x, y) = place(*look);
        if look.1 >= course.bottom_in {
            let r = theme::MARK + 0.3;
            // A dry mark stands on the bottom.
            let corners = [(x - r, y - 2.0 * r), (x + r, y - 2.0 * r), (x, y)];
            return canvas.polygon(&corners, theme::INK);
        }
        canvas.circle((x, y), theme::MARK + 0.5, theme::INK, stroke(theme::PAPER, theme::HAIRLINE))
    })
}
