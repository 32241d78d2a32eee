//! The ground below, the grid, the lines that mean something, and the scales at the sides.

use super::Subject;
use super::frame::Frame;
use crate::canvas::{Align, Canvas, Point, dashed, lettering, stroke};
use crate::scale::{round_step, tick_text, ticks, year_ticks};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::quantity::{Length, Units, as_inches};
use soaklife::wording::length;

/// Most ticks between inlet and bottom.
const MOST_TICKS: usize = 8;
/// Room that the label of a year takes.
const YEAR_ROOM: f64 = 30.0;
/// From the middle of a tick down to the baseline of its number.
const HALF_A_DIGIT: f64 = 2.7;

/// The ground under the pit bottom.
pub(super) fn ground(canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
    canvas.rectangle((frame.left, frame.y.at(0.0)), (frame.right, frame.bottom), theme::GROUND)
}

/// Years and days of events, within the pit: the space above the inlet is for words.
pub(super) fn grid(canvas: &mut Canvas<'_>, frame: &Frame, as_of: Date) -> Result<(), ChartError> {
    let (inlet, bottom) = (frame.y.at(frame.inlet_in), frame.y.at(0.0));
    for (years, _) in year_ticks(as_of, &frame.x, YEAR_ROOM) {
        let x = frame.x.at(years);
        canvas.line((x, inlet), (x, bottom), stroke(theme::GRID, theme::HAIRLINE))?;
    }
    for label in &frame.labels {
        canvas.line((label.at, inlet), (label.at, bottom), dashed(theme::QUIET_INK, theme::FINE, 3.0))?;
    }
    Ok(())
}

/// Inlet, bottom, action freeboard and the day of the forecast.
pub(super) fn lines(canvas: &mut Canvas<'_>, frame: &Frame, subject: &Subject<'_>) -> Result<(), ChartError> {
    let today = frame.x.at(0.0);
    let (inlet, bottom) = (frame.y.at(frame.inlet_in), frame.y.at(0.0));
    canvas.line((today, inlet), (today, frame.bottom), dashed(theme::INK, theme::HAIRLINE, 1.5))?;
    canvas.line((frame.left, inlet), (frame.right, inlet), stroke(theme::INK, theme::HEAVY))?;
    canvas.line((frame.left, bottom), (frame.right, bottom), stroke(theme::INK, theme::LINE))?;
    let small = lettering(theme::SMALL_SIZE, theme::INK);
    canvas.text("inlet invert", (frame.left + 4.0, inlet - 3.5), small)?;
    // Where the line of today stands at the left, its name does too.
    let (x, align) = if frame.today_is_at_the_left() {
        (frame.right - 4.0, Align::End)
    } else {
        (frame.left + 4.0, Align::Start)
    };
    canvas.text("pit bottom", (x, bottom + 8.5), small.aligned(align))?;
    canvas.text("today", (today + 3.0, bottom + 8.5), small)?;
    if as_inches(subject.action_freeboard) > 0.0 {
        let y = frame.y.at(frame.threshold_in);
        canvas.line((frame.left, y), (frame.right, y), dashed(theme::INK, theme::LINE, 3.0))?;
    }
    Ok(())
}

/// Freeboard at the left, depth below the rim at the right, calendar years below.
pub(super) fn scales(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    subject: &Subject<'_>,
) -> Result<(), ChartError> {
    depths(canvas, frame, as_inches(subject.pit.inlet_depth()))?;
    years(canvas, frame, subject.as_of)
}

/// The two scales of depth go by the same step, so that one can be read against the other.
fn depths(canvas: &mut Canvas<'_>, frame: &Frame, inlet_depth_in: f64) -> Result<(), ChartError> {
    let per_unit = frame.unit.inches;
    let (_, highest_in) = frame.y.ends();
    let step = round_step(frame.inlet_in / per_unit, MOST_TICKS, frame.unit);
    let number = lettering(theme::SMALL_SIZE, theme::INK);
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    canvas.line((frame.left, frame.top), (frame.left, frame.bottom), edge)?;
    canvas.line((frame.right, frame.top), (frame.right, frame.bottom), edge)?;
    for freeboard in ticks(0.0, frame.inlet_in / per_unit, step) {
        let y = frame.y.at(frame.inlet_in - freeboard * per_unit);
        canvas.line((frame.left - 3.0, y), (frame.left, y), edge)?;
        let at = (frame.left - 5.0, y + HALF_A_DIGIT);
        canvas.text(&tick_text(freeboard, step), at, number.aligned(Align::End))?;
    }
    let rim_in = frame.inlet_in + inlet_depth_in;
    let shallowest = (rim_in - highest_in).max(0.0) / per_unit;
    for depth in ticks(shallowest, rim_in / per_unit, step) {
        let y = frame.y.at(rim_in - depth * per_unit);
        canvas.line((frame.right, y), (frame.right + 3.0, y), edge)?;
        canvas.text(&tick_text(depth, step), (frame.right + 5.0, y + HALF_A_DIGIT), number)?;
    }
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let name = frame.unit.name;
    canvas.text(&format!("freeboard, {name}"), (4.0, frame.top - 5.0), quiet)?;
    let right = frame.size.0 - 4.0;
    canvas.text(&format!("below rim, {name}"), (right, frame.top - 5.0), quiet.aligned(Align::End))
}

fn years(canvas: &mut Canvas<'_>, frame: &Frame, as_of: Date) -> Result<(), ChartError> {
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    canvas.line((frame.left, frame.bottom), (frame.right, frame.bottom), edge)?;
    let number = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::Middle);
    for (years, year) in year_ticks(as_of, &frame.x, YEAR_ROOM) {
        let x = frame.x.at(years);
        canvas.line((x, frame.bottom), (x, frame.bottom + 3.0), edge)?;
        // A label at the very edge would reach over the side.
        let half = number.width("2000") / 2.0;
        let x = x.clamp(frame.left + half - 8.0, frame.right - half + 8.0);
        canvas.text(&year.to_string(), (x, frame.bottom + 10.5), number)?;
    }
    Ok(())
}

/// Names the action freeboard where nothing that is drawn comes near, if there is such a place beside its line.
pub(super) fn action_name(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    action_freeboard: Length,
    units: Units,
    drawn: &[Point],
) -> Result<(), ChartError> {
    const STRIDE: f64 = 6.0;
    if as_inches(action_freeboard) <= 0.0 {
        return Ok(());
    }
    let text = format!("action freeboard, {}", length(action_freeboard, units));
    let style = lettering(theme::SMALL_SIZE, theme::INK);
    let width = style.width(&text);
    let (left, right, y) = (frame.left + 4.0, frame.right - 4.0 - width, frame.y.at(frame.threshold_in));
    let (below, above) = (y + 9.0, y - 3.5);
    let touches = |(x, baseline): Point, other: &Point| {
        (x - 5.0..=x + width + 5.0).contains(&other.0) && (baseline - 9.0..=baseline + 4.0).contains(&other.1)
    };
    let (inlet, bottom) = (frame.y.at(frame.inlet_in), frame.y.at(0.0));
    let has_room = |at: &Point| (inlet + 8.0..=bottom - 2.0).contains(&at.1);
    // At the left, or as near to it as nothing is in the way.
    let strides = ((right - left) / STRIDE).max(0.0) as u32;
    let along = |baseline| (1..=strides).map(move |count| (left + STRIDE * f64::from(count), baseline));
    let at_left = [(left, below), (left, above)].into_iter();
    let places = || at_left.clone().chain(along(below)).chain(along(above)).filter(has_room);
    let free = places().find(|at| !drawn.iter().any(|other| touches(*at, other)));
    match free.or_else(|| places().next()) {
        Some(at) => canvas.text(&text, at, style),
        None => Ok(()),
    }
}
