//! The ground below, the grid, the lines that mean something, and the scales at the sides.

use super::Subject;
use super::frame::Frame;
use crate::canvas::{Align, Canvas, dashed, lettering, stroke};
use crate::scale::{round_ticks, year_ticks};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::quantity::{Units, as_inches};
use soaklife::wording::length;

const MOST_TICKS: usize = 7;
/// Room that the label of a year takes.
const YEAR_ROOM: f64 = 30.0;

/// The ground under the pit bottom.
pub(super) fn ground(canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
    canvas.rectangle((frame.left, frame.y.at(0.0)), (frame.right, frame.bottom), theme::GROUND)
}

pub(super) fn grid(canvas: &mut Canvas<'_>, frame: &Frame, as_of: Date) -> Result<(), ChartError> {
    for (years, _) in year_ticks(as_of, &frame.x, YEAR_ROOM) {
        let x = frame.x.at(years);
        canvas.line((x, frame.top), (x, frame.y.at(0.0)), stroke(theme::GRID, theme::HAIRLINE))?;
    }
    Ok(())
}

/// Inlet, bottom, action freeboard and the day of the forecast.
pub(super) fn lines(canvas: &mut Canvas<'_>, frame: &Frame, subject: &Subject<'_>) -> Result<(), ChartError> {
    let across = |y: f64| ((frame.left, y), (frame.right, y));
    let today = frame.x.at(0.0);
    canvas.line((today, frame.top), (today, frame.bottom), dashed(theme::QUIET_INK, theme::HAIRLINE, 1.5))?;
    let (inlet, bottom) = (frame.y.at(frame.inlet_in), frame.y.at(0.0));
    let (from, to) = across(inlet);
    canvas.line(from, to, stroke(theme::INK, theme::HEAVY))?;
    let (from, to) = across(bottom);
    canvas.line(from, to, stroke(theme::INK, theme::LINE))?;
    let small = lettering(theme::SMALL_SIZE, theme::INK);
    canvas.text("inlet invert", (frame.inlet_name_start(), inlet - 3.5), small)?;
    // Where the line of today stands at the left, its name does too.
    let (x, align) = if frame.today_is_at_the_left() {
        (frame.right - 4.0, Align::End)
    } else {
        (frame.left + 4.0, Align::Start)
    };
    canvas.text("pit bottom", (x, bottom + 8.5), small.aligned(align))?;
    canvas.text("today", (today + 3.0, bottom + 8.5), lettering(theme::SMALL_SIZE, theme::QUIET_INK))?;
    if as_inches(subject.action_freeboard) > 0.0 {
        let (from, to) = across(frame.y.at(frame.threshold_in));
        canvas.line(from, to, dashed(theme::INK, theme::LINE, 3.0))?;
    }
    Ok(())
}

/// Freeboard at the left, depth below the rim at the right, calendar years below.
pub(super) fn scales(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    subject: &Subject<'_>,
    units: Units,
) -> Result<(), ChartError> {
    let per_unit = frame.unit.inches;
    let inlet_depth_in = as_inches(subject.pit.inlet_depth());
    let (lowest, _) = frame.y.ends();
    let number = lettering(theme::SMALL_SIZE, theme::INK);
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    canvas.line((frame.left, frame.top), (frame.left, frame.bottom), edge)?;
    canvas.line((frame.right, frame.top), (frame.right, frame.bottom), edge)?;

    let deepest = frame.inlet_in / per_unit;
    for freeboard in round_ticks(0.0, deepest, MOST_TICKS, frame.unit) {
        let y = frame.y.at(frame.inlet_in - freeboard * per_unit);
        canvas.line((frame.left - 3.0, y), (frame.left, y), edge)?;
        canvas.text(&tick_text(freeboard), (frame.left - 5.0, y + 2.7), number.aligned(Align::End))?;
    }
    let shallowest = (inlet_depth_in - (frame.y.ends().1 - frame.inlet_in)).max(0.0) / per_unit;
    let floor = (inlet_depth_in + frame.inlet_in - lowest.min(0.0)) / per_unit;
    for depth in round_ticks(shallowest, floor, MOST_TICKS, frame.unit) {
        let y = frame.y.at(frame.inlet_in + inlet_depth_in - depth * per_unit);
        canvas.line((frame.right, y), (frame.right + 3.0, y), edge)?;
        canvas.text(&tick_text(depth), (frame.right + 5.0, y + 2.7), number)?;
    }
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    let name = frame.unit.name;
    canvas.text(&format!("freeboard, {name}"), (4.0, frame.top - 5.0), quiet)?;
    let right = theme::WIDTH - 4.0;
    canvas.text(&format!("below rim, {name}"), (right, frame.top - 5.0), quiet.aligned(Align::End))?;
    years(canvas, frame, subject.as_of)?;
    action_name(canvas, frame, subject, units)
}

fn tick_text(value: f64) -> String {
    if value.fract().abs() < 1e-9 { format!("{value:.0}") } else { format!("{value:.1}") }
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

fn action_name(
    canvas: &mut Canvas<'_>,
    frame: &Frame,
    subject: &Subject<'_>,
    units: Units,
) -> Result<(), ChartError> {
    if as_inches(subject.action_freeboard) <= 0.0 {
        return Ok(());
    }
    let text = format!("action freeboard, {}", length(subject.action_freeboard, units));
    let at = (frame.left + 4.0, frame.y.at(frame.threshold_in) + 9.0);
    canvas.text(&text, at, lettering(theme::SMALL_SIZE, theme::INK))
}
