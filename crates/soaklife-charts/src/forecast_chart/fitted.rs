//! What is fitted: the level and its bands, with their names where there is room for them.

use super::frame::Frame;
use crate::canvas::{Align, Canvas, Lettering, Point, lettering, stroke};
use crate::svg::ChartError;
use crate::theme;
use soaklife::Coverage;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::history::Verdict;
use soaklife::quantity::as_inches;

/// Widest band first, as it is drawn.
pub(super) const COVERAGES: [Coverage; 3] = [Coverage::NINETY_FIVE, Coverage::EIGHTY, Coverage::HALF];
/// Their names, in the same order.
pub(super) const NAMES: [&str; 3] = ["95 %", "80 %", "50 %"];
const STEPS: u32 = 96;
/// Height of a strip that holds a name.
const STRIP: f64 = theme::SMALL_SIZE;
/// A name keeps so far from the inlet, where the bar of the crossing lies.
const CLEAR_OF_INLET: f64 = 5.0;
/// And so far from the line of the pit bottom.
const CLEAR_OF_BOTTOM: f64 = 2.0;
/// And so far from the line of the action freeboard, with its bar and its name.
const CLEAR_OF_ACTION: f64 = 12.0;

/// The fitted level and its bands, from the first reading that counts, or from today, to the right edge.
#[derive(Debug)]
pub(super) struct Fitted {
    samples: Vec<Sample>,
    names: Option<[Name; 3]>,
}

#[derive(Debug, Clone, Copy)]
struct Sample {
    years: f64,
    /// Height above the bottom, inches.
    level: f64,
    /// Lower and upper edges of the bands, inches, widest first.
    bands: [(f64, f64); 3],
}

/// The name of a band and where it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Name {
    text: &'static str,
    at: Point,
}

#[derive(Debug, Clone, Copy)]
enum Side {
    Lower,
    Upper,
}

impl Fitted {
    /// Nothing where the pit stands at its inlet and nothing is fitted.
    pub(super) fn of(frame: &Frame, forecast: &Forecast) -> Option<Self> {
        if matches!(forecast.crossing(Coverage::EIGHTY), Crossing::AlreadyAtInlet { .. }) {
            return None;
        }
        let samples = years_drawn(frame, forecast)
            .filter_map(|years| {
                let edges = |coverage: Coverage| {
                    let band = forecast.level_band(years, coverage)?;
                    Some((as_inches(band.lower), as_inches(band.upper)))
                };
                let [widest, middle, narrowest] = COVERAGES.map(edges);
                let level = as_inches(forecast.level(years));
                Some(Sample { years, level, bands: [widest?, middle?, narrowest?] })
            })
            .collect();
        let fitted = Self { samples, names: None };
        Some(Self { names: fitted.place_names(frame, forecast), ..fitted })
    }

    /// Whether every band bears its name, so that no key is needed.
    pub(super) fn is_named(&self) -> bool {
        self.names.is_some()
    }

    /// The bands of the standing level, cut at inlet and bottom: all of them, or that of 80 % alone.
    pub(super) fn draw_bands(
        &self,
        canvas: &mut Canvas<'_>,
        frame: &Frame,
        all: bool,
    ) -> Result<(), ChartError> {
        let is_drawn = |band: usize| all || COVERAGES[band] == Coverage::EIGHTY;
        for (band, fill) in theme::BANDS.into_iter().enumerate().filter(|(band, _)| is_drawn(*band)) {
            let edge = |sample: &Sample, side| frame.within_pit(sample.years, sample.edge(band, side));
            let upper = self.samples.iter().map(|sample| edge(sample, Side::Upper));
            let lower = self.samples.iter().rev().map(|sample| edge(sample, Side::Lower));
            let outline: Vec<Point> = upper.chain(lower).collect();
            if outline.len() > 2 {
                canvas.polygon(&outline, fill)?;
            }
        }
        Ok(())
    }

    /// The fitted level, as far as it stays in the pit.
    pub(super) fn level(&self, frame: &Frame) -> Vec<Point> {
        let inside = |sample: &Sample| (0.0..=frame.inlet_in).contains(&sample.level);
        let first = self.samples.iter().position(inside).unwrap_or(0);
        let last = self.samples.iter().rposition(inside).unwrap_or(0);
        // One step beyond, kept at the edge, so that the line meets the inlet.
        let drawn = self.samples.iter().take(last + 2).skip(first.saturating_sub(1));
        drawn.map(|sample| frame.within_pit(sample.years, sample.level)).collect()
    }

    pub(super) fn draw_level(&self, canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
        let path = self.level(frame);
        if path.len() > 1 { canvas.path(&path, stroke(theme::FITTED, theme::HEAVY)) } else { Ok(()) }
    }

    pub(super) fn draw_names(&self, canvas: &mut Canvas<'_>) -> Result<(), ChartError> {
        self.names.iter().flatten().try_for_each(|name| canvas.text(name.text, name.at, name_style()))
    }

    /// A place for every name in the strip of its band that the next narrower one leaves free; all or none.
    fn place_names(&self, frame: &Frame, forecast: &Forecast) -> Option<[Name; 3]> {
        let of_readings = forecast.readings().iter().map(|taken| forecast.years_of(&taken.reading));
        let clear_from = of_readings.fold(0.0, f64::max);
        let place = |band: usize, text: &'static str| {
            let at = |side| self.place_in_strip(frame, (band, side), text, clear_from);
            Some(Name { text, at: at(Side::Lower).or_else(|| at(Side::Upper))? })
        };
        let [widest, middle, narrowest] = NAMES;
        Some([place(0, widest)?, place(1, middle)?, place(2, narrowest)?])
    }

    /// The rightmost place in one strip of a band where a text fits.
    fn place_in_strip(
        &self,
        frame: &Frame,
        (band, side): (usize, Side),
        text: &str,
        clear_from: f64,
    ) -> Option<Point> {
        let spacing = match self.samples.as_slice() {
            [first, second, ..] => frame.x.distance(first.years, second.years),
            _ => return None,
        };
        let count = ((name_style().width(text) + 6.0) / spacing).ceil().clamp(1.0, 1.0e3) as usize + 1;
        self.samples.windows(count).rev().find_map(|window| {
            let (first, last) = window.first().zip(window.last())?;
            let strip = window.iter().map(|sample| sample.strip(frame, band, side));
            let (top, bottom) =
                strip.fold((f64::MIN, f64::MAX), |all, one| (all.0.max(one.0), all.1.min(one.1)));
            let top = top.max(frame.y.at(frame.inlet_in) + CLEAR_OF_INLET);
            let bottom = bottom.min(frame.y.at(0.0) - CLEAR_OF_BOTTOM);
            let middle = f64::midpoint(top, bottom);
            let fits = first.years > clear_from && bottom - top >= STRIP && is_clear_of_action(frame, middle);
            fits.then(|| (frame.x.at(last.years) - 3.0, middle + 0.36 * theme::SMALL_SIZE))
        })
    }
}

impl Sample {
    /// The edge of a band; beyond the narrowest band lies the level.
    fn edge(&self, band: usize, side: Side) -> f64 {
        match (self.bands.get(band), side) {
            (Some((lower, _)), Side::Lower) => *lower,
            (Some((_, upper)), Side::Upper) => *upper,
            (None, _) => self.level,
        }
    }

    /// Top and bottom, in points, of what a band shows beyond the next narrower one.
    fn strip(&self, frame: &Frame, band: usize, side: Side) -> (f64, f64) {
        let y = |band| frame.within_pit(self.years, self.edge(band, side)).1;
        match side {
            Side::Lower => (y(band + 1), y(band)),
            Side::Upper => (y(band), y(band + 1)),
        }
    }
}

fn name_style() -> Lettering {
    lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::End)
}

fn is_clear_of_action(frame: &Frame, middle: f64) -> bool {
    if frame.threshold_in >= frame.inlet_in {
        return true;
    }
    let action = frame.y.at(frame.threshold_in);
    (middle - action).abs() > CLEAR_OF_ACTION + theme::SMALL_SIZE / 2.0
}

fn years_drawn(frame: &Frame, forecast: &Forecast) -> impl Iterator<Item = f64> {
    let used = forecast.readings().iter().filter(|taken| matches!(taken.verdict, Verdict::Used { .. }));
    let oldest = used.map(|taken| forecast.years_of(&taken.reading)).fold(0.0, f64::min);
    // A filter follows the record to today; only a fitted line runs back through it.
    let runs_back = forecast.level_band(oldest, Coverage::EIGHTY).is_some();
    let first = if runs_back { oldest } else { 0.0 };
    let last = frame.x.ends().1.min(forecast.question().horizon_years());
    (0..=STEPS).map(move |step| first + (last - first) * f64::from(step) / f64::from(STEPS))
}
