//! The lines below a figure: texts broken to its width, each set in its own way.

use crate::canvas::{Canvas, Lettering};
use crate::font;
use crate::svg::ChartError;

pub(crate) const LINE_HEIGHT: f64 = 11.0;
/// Below the last line.
const FOOT: f64 = 6.0;

/// Where a figure ends whose last lines, so many, begin below a place.
pub(crate) fn end(above: f64, lines: usize) -> f64 {
    above + LINE_HEIGHT * lines as f64 + FOOT
}

/// Texts as lines no wider than the room.
pub(crate) fn broken<T: AsRef<str>>(
    texts: impl IntoIterator<Item = (T, Lettering)>,
    room: f64,
) -> Vec<(String, Lettering)> {
    let lines = |(text, style): (T, Lettering)| {
        let lines = font::lines(text.as_ref(), room, style.size, style.weight);
        lines.into_iter().map(move |line| (line, style))
    };
    texts.into_iter().flat_map(lines).collect()
}

/// Writes the lines below a place.
pub(crate) fn write(
    canvas: &mut Canvas<'_>,
    (left, above): (f64, f64),
    lines: &[(String, Lettering)],
) -> Result<(), ChartError> {
    let mut baseline = above;
    for (line, style) in lines {
        baseline += LINE_HEIGHT;
        canvas.text(line, (left, baseline), *style)?;
    }
    Ok(())
}
