//! A canvas in points with its origin at the top left, over the SVG backend of plotters.
//!
//! The backend knows whole pixels only, so it is given tenths of a point.

use crate::font::{self, Weight};
use crate::svg::{ChartError, Description, Svg, is_allowed, refused};
use crate::theme::{self, Colour};
use plotters::backend::{DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color as _, FontStyle, IntoFont as _, RGBColor, ShapeStyle, TextStyle};

const UNITS_PER_POINT: f64 = 10.0;
/// The backend divides the size of a text by this before it writes the font size.
const BACKEND_FONT_SHRINK: f64 = 1.24;
/// The backend lifts a text by half an x-height; this share of the size puts its baseline back.
const BASELINE_LIFT: f64 = 0.26;

/// A place in points.
pub(crate) type Point = (f64, f64);

/// A stroke.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stroke {
    pub(crate) colour: Colour,
    pub(crate) width: f64,
    /// Length of the dashes and of the gaps between them.
    pub(crate) dash: Option<f64>,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lettering {
    pub(crate) size: f64,
    pub(crate) weight: Weight,
    pub(crate) colour: Colour,
    pub(crate) align: Align,
}

/// Which end of a text lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Align {
    Start,
    Middle,
    End,
}

pub(crate) fn stroke(colour: Colour, width: f64) -> Stroke {
    Stroke { colour, width, dash: None }
}

pub(crate) fn dashed(colour: Colour, width: f64, dash: f64) -> Stroke {
    Stroke { colour, width, dash: Some(dash) }
}

pub(crate) fn lettering(size: f64, colour: Colour) -> Lettering {
    Lettering { size, weight: Weight::Regular, colour, align: Align::Start }
}

impl Lettering {
    pub(crate) fn aligned(self, align: Align) -> Self {
        Self { align, ..self }
    }

    pub(crate) fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }

    pub(crate) fn width(self, text: &str) -> f64 {
        font::width(text, self.size, self.weight)
    }
}

/// Draws a figure on paper of its size.
pub(crate) fn figure(
    about: Description,
    draw: impl FnOnce(&mut Canvas<'_>) -> Result<(), ChartError>,
) -> Result<Svg, ChartError> {
    let mut drawn = String::new();
    let mut canvas = Canvas::new(&mut drawn, about.size);
    canvas.rectangle((0.0, 0.0), about.size, theme::PAPER)?;
    draw(&mut canvas)?;
    canvas.finish()?;
    Ok(Svg::assemble(&drawn, about))
}

/// The canvas.
pub(crate) struct Canvas<'s> {
    backend: SVGBackend<'s>,
}

/// A line or a fill as the backend asks for it.
fn style((red, green, blue): Colour, width: f64) -> ShapeStyle {
    ShapeStyle {
        color: RGBColor(red, green, blue).to_rgba(),
        filled: width == 0.0,
        stroke_width: units(width).unsigned_abs(),
    }
}

fn units(points: f64) -> i32 {
    // Far outside the page is as good as farther still.
    (points * UNITS_PER_POINT).round().clamp(-1.0e6, 1.0e6) as i32
}

fn place((x, y): Point) -> (i32, i32) {
    (units(x), units(y))
}

impl<'s> Canvas<'s> {
    /// A canvas of that size in points, drawing into `text`.
    fn new(text: &'s mut String, size: (f64, f64)) -> Self {
        let size = (units(size.0).unsigned_abs(), units(size.1).unsigned_abs());
        Self { backend: SVGBackend::with_string(text, size) }
    }

    /// Finishes the drawing.
    fn finish(mut self) -> Result<(), ChartError> {
        self.backend.present().map_err(refused)
    }

    pub(crate) fn line(&mut self, from: Point, to: Point, stroke: Stroke) -> Result<(), ChartError> {
        self.path(&[from, to], stroke)
    }

    pub(crate) fn path(&mut self, points: &[Point], stroke: Stroke) -> Result<(), ChartError> {
        let style = style(stroke.colour, stroke.width);
        let pieces = match stroke.dash {
            Some(dash) => dashes(points, dash),
            None => vec![points.to_vec()],
        };
        pieces.iter().filter(|piece| piece.len() > 1).try_for_each(|piece| {
            self.backend.draw_path(piece.iter().copied().map(place), &style).map_err(refused)
        })
    }

    pub(crate) fn polygon(&mut self, points: &[Point], fill: Colour) -> Result<(), ChartError> {
        let style = style(fill, 0.0);
        self.backend.fill_polygon(points.iter().copied().map(place), &style).map_err(refused)
    }

    pub(crate) fn rectangle(&mut self, from: Point, to: Point, fill: Colour) -> Result<(), ChartError> {
        let style = style(fill, 0.0);
        self.backend.draw_rect(place(from), place(to), &style, true).map_err(refused)
    }

    pub(crate) fn circle(
        &mut self,
        centre: Point,
        radius: f64,
        fill: Colour,
        edge: Stroke,
    ) -> Result<(), ChartError> {
        self.dot(centre, radius, fill)?;
        let around = style(edge.colour, edge.width);
        let radius = units(radius).unsigned_abs();
        self.backend.draw_circle(place(centre), radius, &around, false).map_err(refused)
    }

    /// A circle without an edge.
    pub(crate) fn dot(&mut self, centre: Point, radius: f64, fill: Colour) -> Result<(), ChartError> {
        let inside = style(fill, 0.0);
        self.backend.draw_circle(place(centre), units(radius).unsigned_abs(), &inside, true).map_err(refused)
    }

    /// Sets a text with its baseline at `at`.
    pub(crate) fn text(&mut self, text: &str, at: Point, lettering: Lettering) -> Result<(), ChartError> {
        let text: String = text.chars().filter(|character| is_allowed(*character)).collect();
        if text.trim().is_empty() {
            return Ok(());
        }
        let (red, green, blue) = lettering.colour;
        let colour = RGBColor(red, green, blue);
        let horizontal = match lettering.align {
            Align::Start => HPos::Left,
            Align::Middle => HPos::Center,
            Align::End => HPos::Right,
        };
        let font = (font::FAMILIES, lettering.size * UNITS_PER_POINT * BACKEND_FONT_SHRINK).into_font();
        let font = if lettering.weight == Weight::Bold { font.style(FontStyle::Bold) } else { font };
        let style = TextStyle::from(font).color(&colour).pos(Pos::new(horizontal, VPos::Bottom));
        let at = (at.0, at.1 + lettering.size * BASELINE_LIFT);
        self.backend.draw_text(&text, &style, place(at)).map_err(refused)
    }
}

/// Cuts a path into dashes with gaps of the same length.
fn dashes(points: &[Point], dash: f64) -> Vec<Vec<Point>> {
    const MOST: usize = 4_000;
    let mut pieces = Vec::new();
    let mut piece: Vec<Point> = points.first().copied().into_iter().collect();
    let (mut left, mut drawing) = (dash, true);
    for (&from, &to) in points.iter().zip(points.iter().skip(1)) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = dx.hypot(dy);
        let mut done = 0.0;
        while length - done > left && pieces.len() < MOST {
            done += left;
            let turn = (from.0 + dx * done / length, from.1 + dy * done / length);
            if drawing {
                piece.push(turn);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![turn];
            }
            drawing = !drawing;
            left = dash;
        }
        left -= length - done;
        if drawing {
            piece.push(to);
        }
    }
    pieces.push(piece);
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dashed_line_is_half_gaps() {
        let pieces = dashes(&[(0.0, 0.0), (10.0, 0.0)], 2.0);
        let drawn: Vec<(f64, f64)> =
            pieces.iter().filter(|p| p.len() > 1).map(|p| (p[0].0, p[p.len() - 1].0)).collect();
        assert_eq!(drawn, [(0.0, 2.0), (4.0, 6.0), (8.0, 10.0)]);
    }
}
