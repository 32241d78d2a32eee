//! Where the panels of a page lie, and the scales that all of them share.

use super::panel::PitPanel;
use crate::caption;
use crate::scale::{AxisUnit, Scale, axis_unit, round_step, tick_text, ticks, year_ticks};
use crate::theme;
pub(super) use crate::theme::EDGE;
use jiff::civil::Date;
use soaklife::quantity::Units;

pub(super) const COLUMNS: usize = 4;
pub(super) const PER_PAGE: usize = COLUMNS * 6;
/// Years drawn ahead.
pub(super) const AHEAD: f64 = 20.0;
/// Fewest and most years drawn back.
const BACK: (f64, f64) = (5.0, 21.0);
/// A pit deeper than so many usual ones would leave no room for the others.
const DEEPEST: f64 = 2.0;
/// Room for the numbers at the left of a row.
const NUMBERS: f64 = 22.0;
const GAP: f64 = 10.0;
/// Title and the names of the scales.
const ABOVE: f64 = 30.0;
/// Pit and answer above a plot.
pub(super) const HEADING: f64 = 21.0;
const PLOT: f64 = 58.0;
/// Between a plot and the heading below it.
const BETWEEN_ROWS: f64 = 8.0;
/// Years below the last row.
const YEARS: f64 = 14.0;
const MOST_TICKS: usize = 4;
const YEAR_ROOM: f64 = 24.0;

/// What all panels of all pages share.
#[derive(Debug)]
pub(super) struct Scales {
    /// First year drawn, from the day of the forecast.
    pub(super) first: f64,
    /// Greatest freeboard drawn, inches.
    pub(super) deepest_in: f64,
    /// Whether a pit reaches farther down.
    pub(super) is_cut: bool,
    pub(super) unit: AxisUnit,
}

impl Scales {
    pub(super) fn of(panels: &[PitPanel], units: Units) -> Self {
        let mut depths: Vec<f64> = panels.iter().map(|panel| panel.effective_in).collect();
        depths.sort_by(f64::total_cmp);
        let deepest = depths.last().copied().unwrap_or(1.0);
        let usual = depths.get(depths.len() / 2).copied().unwrap_or(deepest);
        let deepest_in = deepest.min(DEEPEST * usual).max(f64::MIN_POSITIVE);
        let oldest = panels.iter().filter_map(PitPanel::oldest).fold(0.0, f64::min);
        Self {
            // The marks of the oldest readings stand clear of the edge.
            first: -(1.0 - oldest).clamp(BACK.0, BACK.1),
            deepest_in,
            is_cut: deepest > deepest_in,
            unit: axis_unit(units, deepest_in),
        }
    }

    /// Freeboard in inches and as it is written.
    pub(super) fn freeboard_ticks(&self) -> impl Iterator<Item = (f64, String)> {
        let range = self.deepest_in / self.unit.inches;
        let step = round_step(range, MOST_TICKS, self.unit);
        let inches = self.unit.inches;
        ticks(0.0, range, step).into_iter().map(move |tick| (tick * inches, tick_text(tick, step)))
    }

    pub(super) fn year_ticks(&self, as_of: Date, plot: &Plot) -> Vec<(f64, i16)> {
        year_ticks(as_of, &plot.x, YEAR_ROOM)
    }
}

/// The plot of one panel, in points.
#[derive(Debug)]
pub(super) struct Plot {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    /// Years from the day of the forecast → points.
    pub(super) x: Scale,
    /// Freeboard, inches → points.
    pub(super) y: Scale,
}

impl Plot {
    /// The place of a freeboard at a time, kept within the plot.
    pub(super) fn at(&self, years: f64, freeboard_in: f64) -> (f64, f64) {
        let (_, deepest) = self.y.ends();
        (self.x.at(years), self.y.at(freeboard_in.clamp(0.0, deepest)))
    }
}

/// The layout of one page, in points.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(panels: usize, caption_lines: usize) -> Self {
        let rows = panels.div_ceil(COLUMNS);
        let caption = if rows == 0 { ABOVE - 8.0 } else { ABOVE + ROW * rows as f64 - BETWEEN_ROWS + YEARS };
        Self { size: (theme::WIDTH, caption::end(caption, caption_lines).ceil()), caption }
    }

    pub(super) fn plot(&self, place: usize, scales: &Scales) -> Plot {
        let room = theme::WIDTH - 2.0 * EDGE - NUMBERS - GAP * (COLUMNS - 1) as f64;
        let width = room / COLUMNS as f64;
        let left = EDGE + NUMBERS + (place % COLUMNS) as f64 * (width + GAP);
        let top = ABOVE + ROW * (place / COLUMNS) as f64 + HEADING;
        let (right, bottom) = (left + width, top + PLOT);
        Plot {
            left,
            right,
            top,
            bottom,
            x: Scale::new((scales.first, AHEAD), (left, right)),
            y: Scale::new((0.0, scales.deepest_in), (top, bottom)),
        }
    }
}

const ROW: f64 = HEADING + PLOT + BETWEEN_ROWS;
