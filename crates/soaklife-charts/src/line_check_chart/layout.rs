//! Where the two panels lie: side by side, on one scale of inches.

use super::residuals::Residuals;
use crate::caption;
use crate::scale::{AxisUnit, Scale, axis_unit, decimal_step};
use crate::theme;
pub(super) use crate::theme::EDGE;
use soaklife::quantity::Units;

const NUMBERS: f64 = 34.0;
const BETWEEN: f64 = 16.0;
const RIGHT: f64 = 8.0;
/// Width of the panel of quantiles.
const QUANTILES: f64 = 160.0;
const ABOVE: f64 = 34.0;
const HEIGHT: f64 = 140.0;
/// Numbers and names of the scales below.
const BELOW: f64 = 26.0;
const MOST_TICKS: f64 = 7.0;
/// Space beyond the outermost mark as a share of the scale.
const SPACE: f64 = 0.08;
/// Residuals smaller than this all lie on the line, inches.
const LEAST_IN: f64 = 0.05;

/// The layout of one chart, in points.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    pub(super) top: f64,
    pub(super) bottom: f64,
    /// Inches above the line → points.
    pub(super) y: Scale,
    pub(super) unit: AxisUnit,
    /// Step of the scale, in its unit.
    pub(super) step: f64,
    /// Years from the day of the forecast → points.
    pub(super) years: Scale,
    /// Standard normal quantiles → points.
    pub(super) quantiles: Scale,
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(residuals: &Residuals, units: Units, caption_lines: usize) -> Self {
        let ordered = residuals.ordered();
        let luck = ordered.iter().flat_map(|one| [one.luck_in.0, one.luck_in.1]);
        let over = residuals.left.iter().map(|left| left.over_in);
        let most = luck.chain(over).map(f64::abs).fold(LEAST_IN, f64::max) * (1.0 + SPACE);
        let oldest = residuals.left.iter().map(|left| left.years).fold(f64::INFINITY, f64::min);
        let newest = residuals.left.iter().map(|left| left.years).fold(f64::NEG_INFINITY, f64::max);
        let margin = ((newest - oldest) * 0.05).max(0.1);
        let outermost =
            ordered.iter().map(|one| one.quantile.abs()).fold(1.0, f64::max) * (1.0 + 2.0 * SPACE);
        let (top, bottom) = (ABOVE, ABOVE + HEIGHT);
        let right = theme::WIDTH - RIGHT;
        let middle = right - QUANTILES;
        let unit = axis_unit(units, 2.0 * most);
        let caption = bottom + BELOW;
        Self {
            size: (theme::WIDTH, caption::end(caption, caption_lines).ceil()),
            top,
            bottom,
            y: Scale::new((-most, most), (bottom, top)),
            unit,
            step: decimal_step(2.0 * most / unit.inches, MOST_TICKS),
            years: Scale::new((oldest - margin, newest + margin), (NUMBERS, middle - BETWEEN)),
            quantiles: Scale::new((-outermost, outermost), (middle, right)),
            caption,
        }
    }
}

/// Left and right end of a scale in points.
pub(super) fn sides(scale: &Scale) -> (f64, f64) {
    let (from, to) = scale.ends();
    (scale.at(from), scale.at(to))
}
