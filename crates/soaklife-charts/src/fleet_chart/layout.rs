//! Where the panels and the list lie, from top to bottom.

use crate::caption;
use crate::theme;
pub(super) use crate::theme::EDGE;

/// Room for the numbers at the left of a panel.
pub(super) const NUMBERS: f64 = 42.0;
/// Room for the names at the left of the list.
pub(super) const NAMES: f64 = 150.0;
const TITLE: f64 = 22.0;
const HEADING: f64 = 16.0;
const PLOT: f64 = 104.0;
/// Numbers below a panel and the gap to the next.
const BELOW: f64 = 24.0;
const KEY: f64 = 16.0;
pub(super) const ROW: f64 = 12.0;

#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    /// Tops of the plots of counts and of money.
    pub(super) plots: [f64; 2],
    pub(super) plot_height: f64,
    /// Baseline of the key of the panels.
    pub(super) key: f64,
    /// Baseline of the heading of the list, and the top of its first line.
    pub(super) list_heading: f64,
    pub(super) list: f64,
    /// Where the caption begins.
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(has_years: bool, urgent: usize, caption_lines: usize) -> Self {
        let panel = HEADING + PLOT + BELOW;
        let plots = [TITLE + HEADING, TITLE + panel + HEADING];
        let below_panels = if has_years { TITLE + 2.0 * panel + KEY } else { TITLE };
        let list_height = if urgent == 0 { 0.0 } else { HEADING + ROW * urgent as f64 + BELOW };
        let caption = below_panels + list_height;
        Self {
            size: (theme::WIDTH, caption::end(caption, caption_lines)),
            plots,
            plot_height: PLOT,
            key: TITLE + 2.0 * panel + 4.0,
            list_heading: below_panels + HEADING - 3.0,
            list: below_panels + HEADING + 4.0,
            caption,
        }
    }
}
