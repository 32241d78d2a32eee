//! What stands still: ground, wall, cover, riser, pipe, and the ruler beside them.

use super::layout::{EDGE, GROUND, Layout};
use crate::canvas::{Align, Canvas, lettering, stroke};
use crate::scale::{round_step, tick_text, ticks};
use crate::svg::ChartError;
use crate::theme;

/// Most ticks between rim and bottom.
const MOST_TICKS: usize = 8;
/// From the middle of a tick down to the baseline of its number.
const HALF_A_DIGIT: f64 = 2.7;

/// The ground, with what is hollow in it.
pub(super) fn ground(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let y = |depth_in: f64| layout.y.at(depth_in);
    let (left, right) = layout.wall;
    let below = y(layout.bottom_in) + GROUND;
    canvas.rectangle((layout.ground.0, y(0.0)), (layout.ground.1, below), theme::GROUND)?;
    canvas.rectangle((left, y(layout.cover_in)), (right, y(layout.bottom_in)), theme::PAPER)?;
    canvas.rectangle((layout.riser.0, y(0.0)), (layout.riser.1, y(layout.cover_in)), theme::PAPER)?;
    canvas.rectangle((layout.ground.0, y(layout.pipe_in)), (left, y(layout.inlet_in)), theme::PAPER)
}

/// Wall, cover, riser with its lid, pipe and the line of its invert.
pub(super) fn pit(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let y = |depth_in: f64| layout.y.at(depth_in);
    let (heavy, line, fine) = (
        stroke(theme::INK, theme::HEAVY),
        stroke(theme::INK, theme::LINE),
        stroke(theme::INK, theme::HAIRLINE),
    );
    let ((left, right), (riser_left, riser_right)) = (layout.wall, layout.riser);
    let (rim, cover, bottom) = (y(0.0), y(layout.cover_in), y(layout.bottom_in));
    let left_of_pit = [(riser_left, rim), (riser_left, cover), (left, cover), (left, y(layout.pipe_in))];
    canvas.path(&left_of_pit, heavy)?;
    canvas.line((left, y(layout.inlet_in)), (left, bottom), heavy)?;
    canvas.path(&[(riser_right, rim), (riser_right, cover), (right, cover), (right, bottom)], heavy)?;
    canvas.line((left, bottom), (right, bottom), line)?;
    canvas.line((riser_left - 3.0, rim), (riser_right + 3.0, rim), heavy)?;
    [(layout.ground.0, riser_left), (riser_right, layout.ground.1)]
        .into_iter()
        .try_for_each(|(from, to)| canvas.line((from, rim), (to, rim), fine))?;
    canvas.line((layout.ground.0, y(layout.pipe_in)), (left, y(layout.pipe_in)), line)?;
    canvas.line((layout.ground.0, y(layout.inlet_in)), (right, y(layout.inlet_in)), heavy)
}

/// Depth below the rim, at the left.
pub(super) fn ruler(canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
    let per_unit = layout.unit.inches;
    let deepest = layout.bottom_in / per_unit;
    let room_for = ((layout.y.at(layout.bottom_in) - layout.y.at(0.0)) / 9.0).max(1.0) as usize;
    let step = round_step(deepest, MOST_TICKS.min(room_for), layout.unit);
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End);
    let x = layout.ruler;
    canvas.line((x, layout.y.at(0.0)), (x, layout.y.at(layout.bottom_in)), edge)?;
    for depth in ticks(0.0, deepest, step) {
        let y = layout.y.at(depth * per_unit);
        canvas.line((x - 3.0, y), (x, y), edge)?;
        canvas.text(&tick_text(depth, step), (x - 5.0, y + HALF_A_DIGIT), number)?;
    }
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    canvas.text(&format!("below rim, {}", layout.unit.name), (EDGE, layout.y.at(0.0) - 7.0), quiet)
}
