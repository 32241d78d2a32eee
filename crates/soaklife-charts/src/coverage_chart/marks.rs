//! The marks by which methods are told apart: by shape, and filled or hollow.

use crate::canvas::{Canvas, Point, stroke};
use crate::svg::ChartError;
use crate::theme;

/// The mark of a method.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Disc,
    Ring,
    Diamond,
    Square,
}

impl Mark {
    /// The mark of the method at that place; from the fifth on they are told apart by the key's order alone.
    pub(super) fn of(place: usize) -> Self {
        match place % 4 {
            0 => Self::Disc,
            1 => Self::Ring,
            2 => Self::Diamond,
            _ => Self::Square,
        }
    }

    pub(super) fn draw(self, canvas: &mut Canvas<'_>, (x, y): Point) -> Result<(), ChartError> {
        const R: f64 = theme::MARK + 0.4;
        let line = stroke(theme::FITTED, theme::LINE);
        match self {
            Self::Disc => canvas.circle((x, y), R, theme::FITTED, line),
            Self::Ring => canvas.circle((x, y), R, theme::PAPER, line),
            Self::Diamond => {
                let r = R + 0.8;
                canvas.polygon(&[(x, y - r), (x + r, y), (x, y + r), (x - r, y)], theme::FITTED)
            }
            Self::Square => {
                let corners =
                    [(x - R, y - R), (x + R, y - R), (x + R, y + R), (x - R, y + R), (x - R, y - R)];
                canvas.polygon(&corners, theme::PAPER)?;
                canvas.path(&corners, line)
            }
        }
    }
}

/// How far beside its claim the mark of a method stands, so that none hides another.
pub(super) fn beside(place: usize, count: usize) -> f64 {
    const APART: f64 = 7.0;
    let apart = (18.0 / count.max(1) as f64).min(APART);
    (place as f64 - (count.max(1) - 1) as f64 / 2.0) * apart
}
