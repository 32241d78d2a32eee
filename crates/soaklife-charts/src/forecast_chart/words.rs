//! The words of the chart: title, key, caption, and its description for those who cannot see it.

use super::events::Happening;
use super::fitted::NAMES;
use super::frame::{Frame, ROW};
use super::marks::{self, Entry};
use super::what_if::Beside;
use super::{Outlook, Subject};
use crate::canvas::{Canvas, Lettering, lettering};
use crate::caption::{self, LINE_HEIGHT};
use crate::svg::ChartError;
use crate::theme::{self, EDGE};
use soaklife::Coverage;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::Units;
use soaklife::whatif::Effect;
use soaklife::wording::household::{assumed, either_end};
use soaklife::wording::month;
use soaklife::wording::sentence::{crossing, sentences, so_far};

const CAUTION: &str = "An estimate from readings, no warranty and no substitute for an inspection: local code and licensed \
                       practitioners decide. Never enter or lean into a pit.";
/// The same, short enough for one line.
const SHORT_CAUTION: &str = "An estimate; no warranty, no substitute for inspection: local code and licensed \
                             practitioners decide. Never enter or lean into a pit.";

/// What is said around the plot.
#[derive(Debug)]
pub(super) struct Words {
    caption: Vec<(String, Lettering)>,
    key: Vec<Entry>,
    has_bands: bool,
    description: String,
    is_bare: bool,
}

impl Words {
    pub(super) fn of(subject: &Subject<'_>, units: Units, coverage: Coverage) -> Self {
        let (answer, basis, all) = match &subject.outlook {
            Outlook::Forecast(forecast) => told(forecast, coverage, units),
            Outlook::None { reason } => {
                let answer = format!("No forecast: {reason}.");
                (answer.clone(), String::new(), answer)
            }
        };
        let has_bands = match subject.outlook {
            Outlook::Forecast(forecast) => {
                !matches!(forecast.crossing(coverage), Crossing::AlreadyAtInlet { .. })
            }
            Outlook::None { .. } => false,
        };
        let key = marks::key(subject);
        let description = description(&all, &key, has_bands, &subject.happenings);
        let small = |colour| lettering(theme::SMALL_SIZE, colour);
        let other = subject.beside.as_ref().map(|beside| told_beside(beside, coverage, units));
        let answer =
            if other.is_some() { format!("Today's use: {}", uncapitalised(&answer)) } else { answer };
        let other = other.unwrap_or_default();
        let household = match subject.outlook {
            Outlook::Forecast(forecast) if other.is_empty() => assumed(forecast, units),
            _ => String::new(),
        };
        let household = if household.is_empty() { household } else { format!("Household: {household}") };
        let description =
            if household.is_empty() { description } else { format!("{description} {household}") };
        let description = if other.is_empty() { description } else { format!("{description} {other}") };
        let strong = lettering(theme::TEXT_SIZE, theme::INK).bold();
        let texts = [
            (answer.as_str(), strong),
            (other.as_str(), strong),
            (basis.as_str(), small(theme::INK)),
            (household.as_str(), small(theme::INK)),
            (SHORT_CAUTION, small(theme::QUIET_INK)),
        ];
        let caption = caption::broken(texts, theme::WIDTH - 2.0 * EDGE);
        Self { caption, key, has_bands, description, is_bare: false }
    }

    /// The same for a page that says what title and caption would.
    pub(super) fn bare(self) -> Self {
        Self { caption: Vec::new(), is_bare: true, ..self }
    }

    pub(super) fn is_bare(&self) -> bool {
        self.is_bare
    }

    /// Width of the figure.
    pub(super) fn width(&self) -> f64 {
        if self.is_bare { theme::PAGE_CHART_WIDTH } else { theme::WIDTH }
    }

    /// Height of key and caption.
    pub(super) fn room(&self) -> f64 {
        self.key_room() + LINE_HEIGHT * self.caption.len() as f64
    }

    fn key_room(&self) -> f64 {
        let rows = [self.has_marks_row(), self.has_bands].into_iter().filter(|has| *has).count();
        match if self.is_bare { rows } else { rows.min(1) } {
            0 => 3.0,
            rows => rows as f64 * ROW + 5.0,
        }
    }

    fn has_marks_row(&self) -> bool {
        !self.key.is_empty()
    }

    pub(super) fn caption(&self, canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
        caption::write(canvas, (EDGE, frame.key_top + self.key_room() - 3.0), &self.caption)
    }

    /// The marks that are drawn, and the bands unless they bear their names themselves, in one row.
    pub(super) fn key(
        &self,
        canvas: &mut Canvas<'_>,
        frame: &Frame,
        beside: Option<&Beside<'_>>,
        bands_are_named: bool,
    ) -> Result<(), ChartError> {
        let name = lettering(theme::SMALL_SIZE, theme::INK);
        let baseline = frame.key_top + ROW - 1.0;
        let mut x = frame.left;
        for entry in &self.key {
            entry.draw(canvas, (x + 3.0, baseline - 2.7))?;
            canvas.text(entry.name, (x + 9.0, baseline), name)?;
            x += 9.0 + name.width(entry.name) + 12.0;
        }
        if let Some(beside) = beside {
            return beside.key(canvas, frame, x);
        }
        if !self.has_bands {
            return Ok(());
        }
        // A narrow figure has no room for marks and bands in one row.
        let (mut x, baseline) =
            if self.is_bare && self.has_marks_row() { (frame.left, baseline + ROW) } else { (x, baseline) };
        let bands = "bands: range of the standing level, up to the inlet";
        canvas.text(bands, (x, baseline), name)?;
        x += name.width(bands) + 6.0;
        let keyed = theme::BANDS.into_iter().zip(NAMES).rev().filter(|_| !bands_are_named);
        for (fill, percent) in keyed {
            canvas.rectangle((x, baseline - 6.5), (x + 11.0, baseline + 1.0), fill)?;
            canvas.text(percent, (x + 13.0, baseline), name)?;
            x += 13.0 + name.width(percent) + 7.0;
        }
        Ok(())
    }

    pub(super) fn description(&self) -> &str {
        &self.description
    }
}

/// The answer, what it rests on, and both in the order in which they are told without a picture.
fn told(forecast: &Forecast, coverage: Coverage, units: Units) -> (String, String, String) {
    let all = sentences(forecast, coverage, units);
    let answer = crossing(forecast, coverage, units);
    let basis = so_far(forecast, units);
    // The answer comes first here, so that it must name what it speaks of.
    if let Some(rest) = answer.strip_prefix("It ") {
        return (format!("The level {rest}"), basis, all);
    }
    // Where there is nothing to forecast, the first sentence is the answer.
    match answer.split_once(". ") {
        Some((first, rest)) if basis.is_empty() => (format!("{first}."), rest.to_owned(), all),
        _ => (answer, basis, all),
    }
}

/// The other future in one caption.
fn told_beside(beside: &Beside<'_>, coverage: Coverage, units: Units) -> String {
    let effect = beside.other.effect();
    if effect != Effect::Changes {
        return format!("What if {}: {effect}.", beside.what);
    }
    if !beside.is_drawn() {
        return format!(
            "What if {}: no other use gives a forecast until the level has been read lower.",
            beside.what
        );
    }
    let (stays, follows) = (beside.other.level_stays(), beside.other.level_follows());
    // A method that knows no step of the level has no ends.
    let answer = if stays == follows {
        crossing(beside.other.forecast(), coverage, units)
    } else {
        either_end(stays, follows, units)
    };
    format!("What if {}: {}", beside.what, uncapitalised(&answer))
}

/// The beginning of a sentence that goes on from a colon.
fn uncapitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

fn description(told: &str, key: &[Entry], has_bands: bool, happenings: &[Happening]) -> String {
    let marks: Vec<&str> = key.iter().map(|entry| entry.name).collect();
    let shown = if marks.is_empty() { "no reading".to_owned() } else { marks.join(", ") };
    let bands = if has_bands {
        " Bands are for the standing level up to the inlet, with 50, 80 and 95 % confidence."
    } else {
        ""
    };
    let happened: Vec<String> = happenings
        .iter()
        .map(|happening| format!("{} in {}", happening.label, month(happening.date)))
        .collect();
    let happened =
        if happened.is_empty() { String::new() } else { format!(" Events: {}.", happened.join("; ")) };
    format!("{told} Marks: {shown}.{bands}{happened} {CAUTION}")
}
