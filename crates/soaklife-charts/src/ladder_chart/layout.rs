//! Where the lines of a page lie.

use crate::caption;
use crate::scale::Scale;
use crate::theme;
pub(super) use crate::theme::EDGE;

/// Height of the line of one pit.
pub(super) const ROW: f64 = 12.0;
/// Room of the names at the left.
pub(super) const NAME_ROOM: f64 = 150.0;
const GAP: f64 = 8.0;
/// Room of the range in words at the right, with the arrow before it.
const TOLD_ROOM: f64 = 98.0;
/// Title, names of the scales and the calendar.
const ABOVE: f64 = 42.0;
/// Years ahead below the lines.
const BELOW: f64 = 16.0;

/// The layout of one page, in points.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) size: (f64, f64),
    /// Years from the day of the forecast → points.
    pub(super) time: Scale,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) caption: f64,
}

impl Layout {
    pub(super) fn of(pits: usize, caption_lines: usize, last_year: f64) -> Self {
        let bottom = ABOVE + ROW * pits as f64;
        let caption = if pits == 0 { ABOVE - 20.0 } else { bottom + BELOW };
        Self {
            size: (theme::WIDTH, caption::end(caption, caption_lines).ceil()),
            time: Scale::new((0.0, last_year), (EDGE + NAME_ROOM + GAP, theme::WIDTH - EDGE - TOLD_ROOM)),
            top: ABOVE,
            bottom,
            caption,
        }
    }

    /// The middle of a line.
    pub(super) fn row(&self, place: usize) -> f64 {
        self.top + (place as f64 + 0.5) * ROW
    }
}
