//! The two panels.

use super::layout::{EDGE, Layout, sides};
use super::residuals::Residuals;
use crate::canvas::{Align, Canvas, Lettering, Point, dashed, lettering, stroke};
use crate::scale::{Scale, tick_text, ticks, year_ticks};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;

/// Room that the label of a year takes.
const YEAR_ROOM: f64 = 28.0;
/// From the middle of a tick down to the baseline of its number.
const HALF_A_DIGIT: f64 = 2.7;
const NUMBER_BELOW: f64 = 11.0;
const NAME_BELOW: f64 = 21.5;

/// Residuals at their dates, with the lines that 80 % should keep to.
pub(super) fn by_date(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    residuals: &Residuals,
    as_of: Date,
) -> Result<(), ChartError> {
    let (left, right) = sides(&layout.years);
    frame(canvas, layout, &layout.years)?;
    for value in heights(layout) {
        let y = layout.y.at(value * layout.unit.inches);
        let text = tick_text(value, layout.step);
        let text = if value > 0.0 { format!("+{text}") } else { text.replace('-', "−") };
        canvas.text(&text, (left - 5.0, y + HALF_A_DIGIT), number().aligned(Align::End))?;
    }
    for (years, year) in year_ticks(as_of, &layout.years, YEAR_ROOM) {
        let x = layout.years.at(years);
        canvas.line(
            (x, layout.bottom),
            (x, layout.bottom + 3.0),
            stroke(theme::QUIET_INK, theme::HAIRLINE),
        )?;
        let at = (x, layout.bottom + NUMBER_BELOW);
        canvas.text(&year.to_string(), at, number().aligned(Align::Middle))?;
    }
    for usual in [-1.0, 1.0].map(|side| layout.y.at(side * residuals.usual_in())) {
        canvas.line((left, usual), (right, usual), dashed(theme::FITTED, theme::LINE, 3.0))?;
    }
    let zero = layout.y.at(0.0);
    canvas.line((left, zero), (right, zero), stroke(theme::FITTED, theme::HEAVY))?;
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    canvas.text(&format!("above the line, {}", layout.unit.name), (EDGE, layout.top - 5.0), quiet)?;
    let middle = f64::midpoint(left, right);
    canvas.text("read in", (middle, layout.bottom + NAME_BELOW), quiet.aligned(Align::Middle))?;
    let marks = residuals.left.iter().map(|one| (layout.years.at(one.years), layout.y.at(one.over_in)));
    dots(canvas, marks)
}

/// Residuals in order at the quantiles of normal ones, with the line and the band of luck.
pub(super) fn by_quantile(
    canvas: &mut Canvas<'_>,
    layout: &Layout,
    residuals: &Residuals,
) -> Result<(), ChartError> {
    let ordered = residuals.ordered();
    let (left, right) = sides(&layout.quantiles);
    let x = |quantile: f64| layout.quantiles.at(quantile);
    let high = ordered.iter().map(|one| (x(one.quantile), layout.y.at(one.luck_in.1)));
    let low = ordered.iter().rev().map(|one| (x(one.quantile), layout.y.at(one.luck_in.0)));
    let outline: Vec<Point> = high.chain(low).collect();
    if outline.len() > 2 {
        canvas.polygon(&outline, theme::BANDS[1])?;
    }
    frame(canvas, layout, &layout.quantiles)?;
    for quantile in ticks(layout.quantiles.ends().0, layout.quantiles.ends().1, 1.0) {
        let at = (x(quantile), layout.bottom + NUMBER_BELOW);
        canvas.line(
            (at.0, layout.bottom),
            (at.0, layout.bottom + 3.0),
            stroke(theme::QUIET_INK, theme::HAIRLINE),
        )?;
        let text = tick_text(quantile, 1.0).replace('-', "−");
        canvas.text(&text, at, number().aligned(Align::Middle))?;
    }
    let quiet = lettering(theme::SMALL_SIZE, theme::QUIET_INK);
    canvas.text("in order, against normal ones", (left, layout.top - 5.0), quiet)?;
    let at = (f64::midpoint(left, right), layout.bottom + NAME_BELOW);
    canvas.text("standard deviations", at, quiet.aligned(Align::Middle))?;
    if let (Some(first), Some(last)) = (ordered.first(), ordered.last()) {
        let on_line = |quantile: f64| (x(quantile), layout.y.at(quantile * residuals.scatter_in));
        canvas.line(on_line(first.quantile), on_line(last.quantile), stroke(theme::FITTED, theme::HEAVY))?;
    }
    dots(canvas, ordered.iter().map(|one| (x(one.quantile), layout.y.at(one.over_in))))
}

/// Grid and edges of a panel.
fn frame(canvas: &mut Canvas<'_>, layout: &Layout, across: &Scale) -> Result<(), ChartError> {
    let (left, right) = sides(across);
    for value in heights(layout) {
        let y = layout.y.at(value * layout.unit.inches);
        canvas.line((left, y), (right, y), stroke(theme::GRID, theme::HAIRLINE))?;
    }
    let edge = stroke(theme::QUIET_INK, theme::HAIRLINE);
    canvas.line((left, layout.top), (left, layout.bottom), edge)?;
    canvas.line((left, layout.bottom), (right, layout.bottom), edge)
}

/// The ticks of the common scale, in its unit.
fn heights(layout: &Layout) -> Vec<f64> {
    let (low, high) = layout.y.ends();
    ticks(low / layout.unit.inches, high / layout.unit.inches, layout.step)
}

fn dots(canvas: &mut Canvas<'_>, places: impl Iterator<Item = Point>) -> Result<(), ChartError> {
    let edge = stroke(theme::PAPER, theme::HAIRLINE);
    places.into_iter().try_for_each(|at| canvas.circle(at, theme::MARK + 0.5, theme::INK, edge))
}

fn number() -> Lettering {
    lettering(theme::SMALL_SIZE, theme::INK)
}
