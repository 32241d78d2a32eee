//! One visual language: sizes in points, weights, and a palette that is told apart in grey and by every eye.
//!
//! One hue, slate blue, at several lightnesses for what is fitted; near-black for what was measured; no colour
//! judges.

/// A colour as red, green, blue.
pub(crate) type Colour = (u8, u8, u8);

/// Left and right of everything in a figure, points.
pub(crate) const EDGE: f64 = 4.0;
/// Width of a figure: 6.5 in, the text width of a letter page.
pub(crate) const WIDTH: f64 = 468.0;
/// Width of a figure that stands beside a table.
pub(crate) const HALF_WIDTH: f64 = 234.0;
/// Widths of a chart and of a section that share the text width of a page, 7.5 in, and leave the words to it.
pub(crate) const PAGE_CHART_WIDTH: f64 = 370.0;
pub(crate) const PAGE_SECTION_WIDTH: f64 = 164.0;

pub(crate) const PAPER: Colour = (255, 255, 255);
pub(crate) const INK: Colour = (28, 32, 38);
pub(crate) const QUIET_INK: Colour = (92, 98, 106);
pub(crate) const GRID: Colour = (226, 228, 231);
pub(crate) const GROUND: Colour = (214, 208, 199);
pub(crate) const FITTED: Colour = (24, 62, 104);

/// Fills of the 95, 80 and 50 % bands, lightest first.
pub(crate) const BANDS: [Colour; 3] = [(221, 231, 241), (183, 205, 226), (135, 170, 205)];

pub(crate) const FINE: f64 = 0.3;
pub(crate) const HAIRLINE: f64 = 0.5;
pub(crate) const LINE: f64 = 1.0;
pub(crate) const HEAVY: f64 = 1.6;
pub(crate) const BAR: f64 = 4.0;

pub(crate) const TITLE_SIZE: f64 = 11.0;
pub(crate) const TEXT_SIZE: f64 = 8.5;
pub(crate) const SMALL_SIZE: f64 = 7.5;

/// Radius of a reading's mark.
pub(crate) const MARK: f64 = 2.3;

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio: WCAG 2.1, definitions of the same names.
    fn luminance((red, green, blue): Colour) -> f64 {
        let linear = |channel: u8| match f64::from(channel) / 255.0 {
            channel if channel <= 0.03928 => channel / 12.92,
            channel => ((channel + 0.055) / 1.055).powf(2.4),
        };
        0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    }

    fn contrast(a: Colour, b: Colour) -> f64 {
        let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
        a.max(b) / a.min(b)
    }

    #[test]
    fn text_stands_out_from_what_lies_behind_it() {
        // WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text of this size.
        let grounds = BANDS.into_iter().chain([PAPER, GROUND]);
        for ground in grounds {
            assert!(contrast(INK, ground) >= 4.5, "{ground:?} {}", contrast(INK, ground));
        }
        assert!(contrast(QUIET_INK, PAPER) >= 4.5 && contrast(FITTED, PAPER) >= 4.5);
    }

    #[test]
    fn lines_and_bands_are_told_apart_in_grey() {
        // WCAG 2.1, success criterion 1.4.11: 3 to 1 for what must be seen to understand a graphic.
        assert!(BANDS.into_iter().all(|band| contrast(FITTED, band) >= 3.0));
        // The steps between the bands: our own measure, seen in print.
        let steps = [(PAPER, BANDS[0]), (BANDS[0], BANDS[1]), (BANDS[1], BANDS[2])];
        assert!(steps.into_iter().all(|(lighter, darker)| luminance(lighter) > luminance(darker)));
        assert!(steps.into_iter().all(|(lighter, darker)| contrast(lighter, darker) >= 1.2));
        // Liquid beside ground.
        assert!(contrast(GROUND, BANDS[2]) >= 1.2);
    }
}
