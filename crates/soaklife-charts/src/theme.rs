//! One visual language: sizes in points, weights, and a palette that is told apart in grey and by every eye.
//!
//! One hue, slate blue, at several lightnesses for what is fitted; near-black for what was measured; no colour
//! judges.

/// A colour as red, green, blue.
pub(crate) type Colour = (u8, u8, u8);

/// Width of a figure: 6.5 in, the text width of a letter page.
pub(crate) const WIDTH: f64 = 468.0;

pub(crate) const PAPER: Colour = (255, 255, 255);
pub(crate) const INK: Colour = (28, 32, 38);
pub(crate) const QUIET_INK: Colour = (92, 98, 106);
pub(crate) const GRID: Colour = (226, 228, 231);
pub(crate) const GROUND: Colour = (214, 208, 199);
pub(crate) const FITTED: Colour = (24, 62, 104);

/// Fills of the 95, 80 and 50 % bands, lightest first.
pub(crate) const BANDS: [Colour; 3] = [(221, 231, 241), (183, 205, 226), (135, 170, 205)];

pub(crate) const HAIRLINE: f64 = 0.5;
pub(crate) const LINE: f64 = 1.0;
pub(crate) const HEAVY: f64 = 1.6;
pub(crate) const BAR: f64 = 4.0;

pub(crate) const TITLE_SIZE: f64 = 11.0;
pub(crate) const TEXT_SIZE: f64 = 8.5;
pub(crate) const SMALL_SIZE: f64 = 7.5;

/// Radius of a reading's mark.
pub(crate) const MARK: f64 = 2.3;
