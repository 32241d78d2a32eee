//! The bundled font, and how wide a text is in it.

use ab_glyph::{Font as _, FontRef};

/// The families named in every drawing: the bundled one, and what a viewer without it may take instead.
pub(crate) const FAMILIES: &str = "Open Sans, sans-serif";

/// The bundled family.
pub(crate) const FAMILY: &str = "Open Sans";

pub(crate) const REGULAR: &[u8] = include_bytes!("../assets/OpenSans-Regular.ttf");
pub(crate) const BOLD: &[u8] = include_bytes!("../assets/OpenSans-Bold.ttf");

/// Weight of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    Bold,
}

/// Width of a text in points at a size in points.
pub(crate) fn width(text: &str, size: f64, weight: Weight) -> f64 {
    let bytes = if weight == Weight::Bold { BOLD } else { REGULAR };
    let Ok(font) = FontRef::try_from_slice(bytes) else {
        return text.chars().count() as f64 * size * 0.6;
    };
    // The size of a font is that of its em; ab_glyph scales by its height.
    let em = f64::from(font.units_per_em().unwrap_or(1000.0));
    let per_unit = size / em;
    let units: f32 = text.chars().map(|character| font.h_advance_unscaled(font.glyph_id(character))).sum();
    f64::from(units) * per_unit
}

/// The text cut to a width, with an ellipsis where it was cut.
pub(crate) fn fitted(text: &str, room: f64, size: f64, weight: Weight) -> String {
    if width(text, size, weight) <= room {
        return text.to_owned();
    }
    let mut cut: String = text.to_owned();
    while cut.pop().is_some() {
        let shortened = format!("{}…", cut.trim_end());
        if width(&shortened, size, weight) <= room {
            return shortened;
        }
    }
    String::new()
}

/// The text broken at spaces into lines of a width.
pub(crate) fn lines(text: &str, room: f64, size: f64, weight: Weight) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, weight) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fitted(word, room, size, weight)),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font() {
        // Open Sans: 2048 units an em; "H" advances 1511 units in Regular (its hmtx table).
        assert!((width("H", 2048.0, Weight::Regular) - 1511.0).abs() < 1e-3);
        assert!(width("inlet invert", 8.0, Weight::Bold) > width("inlet invert", 8.0, Weight::Regular));
    }

    #[test]
    fn text_is_cut_and_broken_to_fit() {
        let long = "a pit with a name so long that no chart could ever hold it in one line";
        let cut = fitted(long, 100.0, 8.0, Weight::Regular);
        assert!(cut.ends_with('…') && width(&cut, 8.0, Weight::Regular) <= 100.0);
        let broken = lines(long, 100.0, 8.0, Weight::Regular);
        assert!(broken.len() > 1 && broken.iter().all(|line| width(line, 8.0, Weight::Regular) <= 100.0));
        assert_eq!(broken.join(" "), long);
    }
}
