//! The words of the section: title, width, caption, and its description for those who cannot see it.

use super::Subject;
use super::labels::{Label, labels};
use super::layout::{EDGE, Layout, across};
use crate::canvas::{Align, Canvas, Lettering, lettering};
use crate::caption::{self, LINE_HEIGHT};
use crate::font;
use crate::headline;
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::pit::CrossSection;
use soaklife::quantity::{Length, Units, as_centimetres, as_feet};
use soaklife::reading::Observation;
use soaklife::wording::length;

const CAUTION: &str = "Never enter or lean into a pit; keep off its edge and cover.";
/// What a page cannot say for the drawing.
const BARE_NOTES: &str = "To scale, depths below the rim; cover, riser and pipe drawn as usual.";
/// Width of the caption and of a title.
const ROOM: f64 = theme::HALF_WIDTH - 2.0 * EDGE;
const BARE_ROOM: f64 = theme::PAGE_SECTION_WIDTH - 2.0 * EDGE;
const TITLE_LINE: f64 = 13.0;
const MOST_TITLE_LINES: usize = 2;

/// What is said around the drawing.
#[derive(Debug)]
pub(super) struct Words {
    title: String,
    title_lines: Vec<String>,
    as_of: Date,
    width: String,
    caption: Vec<(String, Lettering)>,
    description: String,
    is_bare: bool,
}

impl Words {
    pub(super) fn of(subject: &Subject, title: &str, units: Units, is_bare: bool) -> Self {
        let answer = answer(subject, units);
        let notes = notes(subject);
        let small = |colour| lettering(theme::SMALL_SIZE, colour);
        let strong = lettering(theme::TEXT_SIZE, theme::INK).bold();
        let texts = [
            (answer.as_str(), strong),
            (notes.as_str(), small(theme::INK)),
            (CAUTION, small(theme::QUIET_INK)),
        ];
        let caption = match is_bare {
            true => caption::broken([(BARE_NOTES, small(theme::INK))], BARE_ROOM),
            false => caption::broken(texts, ROOM),
        };
        let width = width(subject, units);
        let named: Vec<String> =
            labels(subject, units).iter().map(|label: &Label| label.rows.join(" ")).collect();
        let description =
            format!("{answer} Drawn to scale: {}; {width}. {notes} {CAUTION}", named.join("; "));
        Self {
            title: title.to_owned(),
            title_lines: if is_bare { Vec::new() } else { title_lines(title) },
            as_of: subject.as_of,
            width,
            caption,
            description,
            is_bare,
        }
    }

    pub(super) fn is_bare(&self) -> bool {
        self.is_bare
    }

    /// Width of the figure.
    pub(super) fn width(&self) -> f64 {
        if self.is_bare { theme::PAGE_SECTION_WIDTH } else { theme::HALF_WIDTH }
    }

    /// Whether the width below the pit is told in so many words that they may reach there.
    pub(super) fn reaches(&self, x: f64) -> bool {
        EDGE + lettering(theme::SMALL_SIZE, theme::INK).width(&self.width) > x - EDGE
    }

    /// Height of the title and the day below it.
    pub(super) fn title_room(&self) -> f64 {
        TITLE_LINE * self.title_lines.len() as f64 + LINE_HEIGHT + 4.0
    }

    pub(super) fn caption_room(&self) -> f64 {
        LINE_HEIGHT * self.caption.len() as f64
    }

    /// The title of the document.
    pub(super) fn heading(&self, as_of: Date) -> String {
        format!("{}: section as of {as_of}", headline::of_a_pit(&self.title))
    }

    pub(super) fn description(&self) -> &str {
        &self.description
    }

    pub(super) fn draw(&self, canvas: &mut Canvas<'_>, layout: &Layout) -> Result<(), ChartError> {
        let mut baseline = 0.0;
        let bold = lettering(theme::TITLE_SIZE, theme::INK).bold();
        for line in &self.title_lines {
            baseline += TITLE_LINE;
            canvas.text(line, (EDGE, baseline), bold)?;
        }
        if !self.is_bare {
            let quiet = lettering(theme::TEXT_SIZE, theme::QUIET_INK);
            canvas.text(&format!("as of {}", self.as_of), (EDGE, baseline + LINE_HEIGHT), quiet)?;
        }
        let small = lettering(theme::SMALL_SIZE, theme::INK).aligned(Align::Middle);
        let half = small.width(&self.width) / 2.0;
        let middle = f64::midpoint(layout.wall.0, layout.wall.1).max(EDGE + half);
        canvas.text(&self.width, (middle, layout.width), small)?;
        caption::write(canvas, (EDGE, layout.caption), &self.caption)
    }
}

/// The title in as many lines as there may be; the last one takes what is left and is cut.
fn title_lines(title: &str) -> Vec<String> {
    let style = lettering(theme::TITLE_SIZE, theme::INK).bold();
    let mut lines = font::lines(title, ROOM, style.size, style.weight);
    if lines.len() > MOST_TITLE_LINES {
        let rest = lines.split_off(MOST_TITLE_LINES - 1).join(" ");
        lines.push(font::fitted(&rest, ROOM, style.size, style.weight));
    }
    lines
}

fn answer(subject: &Subject, units: Units) -> String {
    let Some(last) = subject.last else {
        return "No reading that counts, so no level is drawn.".to_owned();
    };
    if last.stands_at_inlet(&subject.pit) {
        return format!("No freeboard left on {}.", last.date());
    }
    let freeboard = length(subject.pit.freeboard(last.level(&subject.pit)), units);
    match last.observation() {
        Observation::Dry => format!("Dry on {}, with {freeboard} of freeboard.", last.date()),
        _ => format!("{freeboard} of freeboard on {}.", last.date()),
    }
}

/// What the drawing shows beyond what was measured.
fn notes(subject: &Subject) -> String {
    let first = if subject.first.is_some() { "Dashed: first reading that counts. " } else { "" };
    let today = if subject.today.is_some() { "Bracket: today's level, 80 % range. " } else { "" };
    format!("{first}{today}To scale; cover, riser, pipe as usual.")
}

/// How wide the section is.
fn width(subject: &Subject, units: Units) -> String {
    let told = |width: Length| match units {
        Units::Us => format!("{} ft", to_the_tenth(as_feet(width))),
        Units::Si => format!("{} m", to_the_tenth(as_centimetres(width) / 100.0)),
    };
    match (subject.pit.cross_section(), across(subject)) {
        (Some(CrossSection::Rectangular { width, .. }), (length, true)) => {
            format!("{} across, {} the other way", told(length), told(width))
        }
        (_, (diameter, true)) => format!("{} across", told(diameter)),
        (_, (usual, false)) => format!("diameter not known, drawn {} across", told(usual)),
    }
}

/// One decimal unless it is nought.
fn to_the_tenth(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
