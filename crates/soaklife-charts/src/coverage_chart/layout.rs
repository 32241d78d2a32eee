//! Where the panels lie: two in a row.

use super::claims;
use crate::caption;
use crate::scale::Scale;
use crate::theme;
use crate::theme::EDGE;

const COLUMNS: usize = 2;
/// Room for the numbers at the left of a panel.
const NUMBERS: f64 = 22.0;
const BETWEEN: f64 = 14.0;
/// Title, and the name of the scale of shares.
const TOP: f64 = 32.0;
const HEADING: f64 = 13.0;
const PLOT: f64 = 118.0;
/// Numbers below a panel and the gap to the next.
const BELOW: f64 = 22.0;
/// The name of the scale of claims, and the key.
const KEY: f64 = 26.0;

#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    /// Baseline of the name of the scale of shares.
    pub(super) shares_name: f64,
    /// Baselines of the name of the scale of claims and of the key.
    pub(super) claims_name: f64,
    pub(super) key: f64,
}

/// One panel.
#[derive(Debug)]
pub(super) struct Panel {
    pub(super) left: f64,
    pub(super) right: f64,
    /// Baseline of its heading.
    pub(super) heading: f64,
    pub(super) x: Scale,
    pub(super) y: Scale,
}

impl Layout {
    pub(super) fn of(panels: usize, caption_lines: usize) -> Self {
        let rows = panels.div_ceil(COLUMNS).max(1) as f64;
        let bottom = TOP + rows * (HEADING + PLOT + BELOW);
        let height = caption::end(bottom + KEY, caption_lines);
        Self {
            size: (theme::WIDTH, height),
            shares_name: TOP - 4.0,
            claims_name: bottom + 3.0,
            key: bottom + 18.0,
        }
    }

    pub(super) fn panel(&self, place: usize) -> Panel {
        let (column, row) = ((place % COLUMNS) as f64, (place / COLUMNS) as f64);
        let width = (theme::WIDTH - 2.0 * EDGE - BETWEEN) / COLUMNS as f64;
        let left = EDGE + column * (width + BETWEEN) + NUMBERS;
        let right = EDGE + column * (width + BETWEEN) + width;
        let top = TOP + row * (HEADING + PLOT + BELOW) + HEADING;
        let y = Scale::new((0.0, 1.0), (top + PLOT, top));
        Panel { left, right, heading: top - 5.0, x: claims(left, right), y }
    }
}
