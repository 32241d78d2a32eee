//! What a figure is called: its first line, and the title of the document.

use crate::canvas::{Align, Canvas, lettering};
use crate::font;
use crate::svg::ChartError;
use crate::theme::{self, EDGE};
use soaklife::wording::counted;
use soaklife::wording::fleet::grouped;

const BASELINE: f64 = 13.0;
/// Between the title and what is told at the other end of its line.
const GAP: f64 = 10.0;

/// Writes the title, and at the right end what is shown and as of when. A title that has no room beside it is cut.
pub(crate) fn write(canvas: &mut Canvas<'_>, title: &str, told: &str) -> Result<(), ChartError> {
    let quiet = lettering(theme::TEXT_SIZE, theme::QUIET_INK).aligned(Align::End);
    let right = theme::WIDTH - EDGE;
    canvas.text(told, (right, BASELINE), quiet)?;
    let style = lettering(theme::TITLE_SIZE, theme::INK).bold();
    let room = right - quiet.width(told) - GAP - EDGE;
    canvas.text(&font::fitted(title, room, style.size, style.weight), (EDGE, BASELINE), style)
}

/// The name of a pit, or what it is where nobody named it.
pub(crate) fn of_a_pit(title: &str) -> &str {
    if title.is_empty() { "Seepage pit" } else { title }
}

/// The name of many pits, or what they are.
pub(crate) fn of_pits(title: &str) -> &str {
    if title.is_empty() { "Seepage pits" } else { title }
}

/// Which of the pits a page shows: "pits 1 to 40 of 63".
pub(crate) fn pits_shown(from: usize, shown: usize, of: usize) -> String {
    let number = |count: usize| grouped(count as f64);
    match shown {
        0 => "no pit".to_owned(),
        _ if shown == of => counted(of, "pit"),
        1 => format!("pit {} of {}", number(from + 1), number(of)),
        _ => format!("pits {} to {} of {}", number(from + 1), number(from + shown), number(of)),
    }
}
