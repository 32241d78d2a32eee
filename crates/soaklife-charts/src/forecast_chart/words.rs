//! The words of the chart: title, key, caption, and its description for those who cannot see it.

use super::frame::{Frame, ROW};
use super::marks::{Mark, is_drawn, mark};
use super::{Outlook, Subject};
use crate::canvas::{Align, Canvas, lettering};
use crate::font::{self, Weight};
use crate::svg::ChartError;
use crate::theme;
use jiff::civil::Date;
use soaklife::Coverage;
use soaklife::forecast::Crossing;
use soaklife::quantity::Units;
use soaklife::wording::sentence::sentences;

const CAUTION: &str = "An estimate from readings, no warranty and no substitute for an inspection: local code and licensed \
                       practitioners decide. Never enter or lean into a pit.";
const EDGE: f64 = 4.0;
const LINE_HEIGHT: f64 = 11.0;

/// What is said under the plot, broken into lines.
#[derive(Debug)]
pub(super) struct Words {
    result: Vec<String>,
    caution: Vec<String>,
    marks: Vec<Mark>,
    bands: bool,
}

impl Words {
    pub(super) fn of(subject: &Subject<'_>, units: Units, coverage: Coverage) -> Self {
        let room = theme::WIDTH - 2.0 * EDGE;
        let result = match &subject.outlook {
            Outlook::Forecast(forecast) => sentences(forecast, coverage, units),
            Outlook::None { reason } => format!("No forecast: {reason}."),
        };
        let bands = match subject.outlook {
            Outlook::Forecast(forecast) => {
                !matches!(forecast.crossing(coverage), Crossing::AlreadyAtInlet { .. })
            }
            Outlook::None { .. } => false,
        };
        Self {
            result: font::lines(&result, room, theme::TEXT_SIZE, Weight::Bold),
            caution: font::lines(CAUTION, room, theme::SMALL_SIZE, Weight::Regular),
            marks: Mark::ALL.into_iter().filter(|mark| is_drawn(subject, *mark)).collect(),
            bands,
        }
    }

    /// Height of key and caption.
    pub(super) fn room(&self) -> f64 {
        ROW + 5.0 + LINE_HEIGHT * (self.result.len() + self.caution.len()) as f64
    }

    pub(super) fn title(
        &self,
        canvas: &mut Canvas<'_>,
        frame: &Frame,
        title: &str,
        as_of: Date,
    ) -> Result<(), ChartError> {
        let quiet = lettering(theme::TEXT_SIZE, theme::QUIET_INK).aligned(Align::End);
        let day = format!("as of {as_of}");
        let right = frame.size.0 - EDGE;
        canvas.text(&day, (right, 13.0), quiet)?;
        let room = right - quiet.width(&day) - 10.0 - EDGE;
        let title = font::fitted(title, room, theme::TITLE_SIZE, Weight::Bold);
        canvas.text(&title, (EDGE, 13.0), lettering(theme::TITLE_SIZE, theme::INK).bold())
    }

    pub(super) fn key_and_caption(&self, canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
        self.key(canvas, frame)?;
        let mut baseline = frame.key_top + ROW + 5.0;
        for line in &self.result {
            baseline += LINE_HEIGHT;
            canvas.text(line, (EDGE, baseline - 3.0), lettering(theme::TEXT_SIZE, theme::INK).bold())?;
        }
        for line in &self.caution {
            baseline += LINE_HEIGHT;
            canvas.text(line, (EDGE, baseline - 3.0), lettering(theme::SMALL_SIZE, theme::QUIET_INK))?;
        }
        Ok(())
    }

    /// The marks and bands that are drawn, with their names, in one row.
    fn key(&self, canvas: &mut Canvas<'_>, frame: &Frame) -> Result<(), ChartError> {
        let name = lettering(theme::SMALL_SIZE, theme::INK);
        let baseline = frame.key_top + ROW - 1.0;
        let mut x = frame.left;
        for drawn in &self.marks {
            mark(canvas, *drawn, (x + 3.0, baseline - 2.7))?;
            canvas.text(drawn.name(), (x + 9.0, baseline), name)?;
            x += 9.0 + name.width(drawn.name()) + 12.0;
        }
        if !self.bands {
            return Ok(());
        }
        let bands = "standing level, confidence";
        canvas.text(bands, (x, baseline), name)?;
        x += name.width(bands) + 5.0;
        for (fill, percent) in theme::BANDS.into_iter().zip(["95 %", "80 %", "50 %"]).rev() {
            canvas.rectangle((x, baseline - 6.5), (x + 11.0, baseline + 1.0), fill)?;
            canvas.text(percent, (x + 13.0, baseline), name)?;
            x += 13.0 + name.width(percent) + 7.0;
        }
        Ok(())
    }

    pub(super) fn description(&self) -> String {
        let marks: Vec<&str> = self.marks.iter().map(|mark| mark.name()).collect();
        let bands = if self.bands {
            " Bands are for the standing level, with 50, 80 and 95 % confidence."
        } else {
            ""
        };
        let shown = if marks.is_empty() { "no reading".to_owned() } else { marks.join(", ") };
        format!("{} Marks: {shown}.{bands} {CAUTION}", self.result.join(" "))
    }
}
