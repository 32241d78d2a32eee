//! A second fan: the same pit under another use of the house, hatched and dashed where today's is filled and solid.

use super::crossing;
use super::frame::{Frame, ROW};
use crate::canvas::{Align, Canvas, Point, dashed, lettering, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Coverage;
use soaklife::Forecast;
use soaklife::forecast::Crossing;
use soaklife::quantity::{Units, as_inches};
use soaklife::whatif::{Alternative, Effect};

/// Share of the effective depth that is kept above the inlet for both crossings.
pub(super) const ROOM_ABOVE: f64 = 0.25;
const STEPS: u32 = 96;
/// Between two lines of the hatch, points.
const HATCH: f64 = 4.0;
const DASH: f64 = 3.5;
/// The second crossing stands so far above the inlet.
const ABOVE: f64 = 22.0;

/// The other future, and what it is called.
#[derive(Debug, Clone)]
pub(super) struct Beside<'a> {
    pub(super) other: &'a Alternative,
    pub(super) what: String,
}

/// The range of the level and its median, from the day on which the other use begins.
struct Fan {
    upper: Vec<Point>,
    lower: Vec<Point>,
    median: Vec<Point>,
}

impl Beside<'_> {
    /// Whether there is a second fan to draw: something changes, and the pit does not stand at its inlet.
    pub(super) fn is_drawn(&self) -> bool {
        let forecast = self.other.forecast();
        self.other.effect() == Effect::Changes
            && !matches!(forecast.crossing(Coverage::EIGHTY), Crossing::AlreadyAtInlet { .. })
    }

    fn fan(&self, frame: &Frame) -> Option<Fan> {
        let forecast = self.other.forecast();
        let (first, last) = (self.other.span().0, drawn_until(frame, forecast));
        if !self.is_drawn() || first >= last {
            return None;
        }
        let mut fan = Fan { upper: Vec::new(), lower: Vec::new(), median: Vec::new() };
        for step in 0..=STEPS {
            let years = first + (last - first) * f64::from(step) / f64::from(STEPS);
            let band = forecast.level_band(years, Coverage::EIGHTY)?;
            fan.upper.push(frame.within_pit(years, as_inches(band.upper)));
            fan.lower.push(frame.within_pit(years, as_inches(band.lower)));
            fan.median.push(frame.within_pit(years, as_inches(forecast.level(years))));
        }
        Some(fan)
    }

    /// The hatched range and the dashed median, over the fan of today.
    pub(super) fn draw(&self, canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
        let Some(fan) = self.fan(frame) else { return Ok(()) };
        let hatch = stroke(theme::INK, theme::FINE);
        let mut next = f64::MIN;
        for (&upper, &lower) in fan.upper.iter().zip(&fan.lower) {
            if upper.0 >= next && lower.1 - upper.1 > 0.5 {
                canvas.line(upper, lower, hatch)?;
                next = upper.0 + HATCH;
            }
        }
        let edge = stroke(theme::INK, theme::HAIRLINE);
        canvas.path(&fan.upper, edge)?;
        canvas.path(&fan.lower, edge)?;
        canvas.path(&until_inlet(&fan.median, frame), dashed(theme::INK, theme::HEAVY, DASH))
    }

    /// When the level gets there under the other use, above the crossing of today.
    pub(super) fn draw_crossing(
        &self,
        canvas: &mut Canvas<'_>,
        frame: &Frame,
        coverage: Coverage,
        units: Units,
    ) -> Result<(), ChartError> {
        if !self.is_drawn() {
            return Ok(());
        }
        let forecast = self.other.forecast();
        let y = frame.y.at(frame.inlet_in) - ABOVE;
        let edge = frame.x.ends().1;
        let style = lettering(theme::SMALL_SIZE, theme::INK).bold();
        let words = format!("what if: {}", crossing::words(forecast, coverage, units));
        let width = style.width(&words);
        let range = crossing::range(forecast, coverage).filter(|(earliest, _)| *earliest < edge);
        let Some((earliest, latest)) = range else {
            let at = (frame.right - 4.0, y + 2.7);
            return canvas.text(&words, at, style.aligned(Align::End));
        };
        let (from, to) = (frame.x.at(earliest), frame.x.at(latest.min(edge)));
        let line = stroke(theme::INK, theme::HEAVY);
        canvas.line((from, y), (to, y), line)?;
        canvas.line((from, y - 3.0), (from, y + 3.0), line)?;
        if latest <= edge {
            canvas.line((to, y - 3.0), (to, y + 3.0), line)?;
        } else {
            canvas.polygon(&[(to - 7.0, y - 4.0), (to, y), (to - 7.0, y + 4.0)], theme::INK)?;
        }
        if let Crossing::Expected { years, .. } = forecast.crossing(coverage)
            && years < edge
        {
            canvas.circle((frame.x.at(years), y), theme::MARK, theme::PAPER, line)?;
        }
        // Beside the bar where there is room, else above it.
        let (baseline, gap) = (y + 2.7, 7.0);
        let (at, align) = if to + gap + width < frame.right {
            ((to + gap, baseline), Align::Start)
        } else if from - gap - width > frame.left {
            ((from - gap, baseline), Align::End)
        } else {
            ((frame.right - 4.0, y - 6.0), Align::End)
        };
        canvas.text(&words, at, style.aligned(align))
    }

    /// Which fan is which, from `x` on.
    pub(super) fn key(&self, canvas: &mut Canvas<'_>, frame: &Frame, mut x: f64) -> Result<(), ChartError> {
        let name = lettering(theme::SMALL_SIZE, theme::INK);
        let baseline = frame.key_top + ROW - 1.0;
        let (top, bottom, middle) = (baseline - 6.5, baseline + 1.0, baseline - 2.7);
        let begins = "level, median and 80 % range:";
        canvas.text(begins, (x, baseline), name)?;
        x += name.width(begins) + 6.0;
        canvas.rectangle((x, top), (x + 16.0, bottom), theme::BANDS[1])?;
        canvas.line((x, middle), (x + 16.0, middle), stroke(theme::FITTED, theme::HEAVY))?;
        canvas.text(TODAY, (x + 19.0, baseline), name)?;
        x += 19.0 + name.width(TODAY) + 10.0;
        for line in 0..=4 {
            let at = x + HATCH * f64::from(line);
            canvas.line((at, top), (at, bottom), stroke(theme::INK, theme::FINE))?;
        }
        for y in [top, bottom] {
            canvas.line((x, y), (x + 16.0, y), stroke(theme::INK, theme::HAIRLINE))?;
        }
        canvas.line((x, middle), (x + 16.0, middle), dashed(theme::INK, theme::HEAVY, DASH))?;
        canvas.text("what if", (x + 19.0, baseline), name)
    }
}

const TODAY: &str = "today's use";

fn drawn_until(frame: &Frame, forecast: &Forecast) -> f64 {
    frame.x.ends().1.min(forecast.question().horizon_years())
}

/// A median at the inlet says no more: it ends where it meets it, unless it comes down again.
fn until_inlet(median: &[Point], frame: &Frame) -> Vec<Point> {
    let inlet = frame.y.at(frame.inlet_in) + 0.05;
    let last = median.iter().rposition(|point| point.1 > inlet).map_or(0, |last| last + 1);
    median.iter().take(last + 1).copied().collect()
}
