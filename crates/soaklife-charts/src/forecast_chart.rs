//! The forecast chart: what was measured, what is fitted, when the inlet is reached, and how sure that is.

mod axes;
mod fitted;
mod frame;
mod marks;
mod words;

use crate::canvas::Canvas;
use crate::svg::{ChartError, Description, Svg};
use crate::theme;
use frame::Frame;
use jiff::civil::Date;
use marks::Happening;
use soaklife::history::ReadingUse;
use soaklife::quantity::{Length, Units};
use soaklife::{Coverage, Forecast, History, Pit};

/// The forecast chart of one pit.
///
/// Filled marks are readings that count, hollow ones were set aside; dry and at-inlet readings have marks of their own.
/// Bands are for the standing level; they end at the inlet and at the pit bottom, beyond which a level means nothing.
/// The bar on the inlet line is the range of the crossing.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::inches;
/// use soaklife::{Forecast, History, Pit, Question, Reading};
/// use soaklife_charts::ForecastChart;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let readings = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let history = History::new(pit).with_readings(readings);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let svg = ForecastChart::new(&forecast, &history).titled("12 Mill Race Lane").svg()?;
/// assert!(svg.as_str().contains("inlet invert"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct ForecastChart<'a> {
    subject: Subject<'a>,
    title: String,
    units: Units,
    coverage: Coverage,
}

/// What is drawn.
#[derive(Debug, Clone)]
struct Subject<'a> {
    pit: Pit,
    as_of: Date,
    readings: Vec<ReadingUse>,
    happenings: Vec<Happening>,
    action_freeboard: Length,
    outlook: Outlook<'a>,
}

/// The forecast, or why there is none.
#[derive(Debug, Clone)]
enum Outlook<'a> {
    Forecast(&'a Forecast),
    None { reason: String },
}

impl<'a> ForecastChart<'a> {
    /// The chart of a forecast and the history it was made from.
    #[must_use]
    pub fn new(forecast: &'a Forecast, history: &History) -> Self {
        let as_of = forecast.question().as_of();
        Self::of(Subject {
            pit: *forecast.pit(),
            as_of,
            readings: forecast.readings().to_vec(),
            happenings: marks::happenings(history, as_of),
            action_freeboard: forecast.question().action_freeboard(),
            outlook: Outlook::Forecast(forecast),
        })
    }

    /// The chart of a pit of which no forecast can be made; the caption says why.
    #[must_use]
    pub fn of_readings(history: &History, as_of: Date, reason: &str) -> Self {
        Self::of(Subject {
            pit: *history.pit(),
            as_of,
            readings: history.readings_for_a_line(as_of),
            happenings: marks::happenings(history, as_of),
            action_freeboard: Length::default(),
            outlook: Outlook::None { reason: reason.to_owned() },
        })
    }

    fn of(subject: Subject<'a>) -> Self {
        Self { subject, title: String::new(), units: Units::Us, coverage: Coverage::EIGHTY }
    }

    /// The same with a title, usually the name of the pit.
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same in other units.
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// The same with another coverage of the crossing and of the range told in the caption.
    #[must_use]
    pub fn covering(self, coverage: Coverage) -> Self {
        Self { coverage, ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the drawing library refuses.
    pub fn svg(&self) -> Result<Svg, ChartError> {
        let words = words::Words::of(&self.subject, self.units, self.coverage);
        let frame = Frame::lay_out(&self.subject, &words, self.units, self.coverage);
        let mut drawn = String::new();
        let mut canvas = Canvas::new(&mut drawn, frame.size);
        canvas.rectangle((0.0, 0.0), frame.size, theme::PAPER)?;
        axes::ground(&mut canvas, &frame)?;
        axes::grid(&mut canvas, &frame, self.subject.as_of)?;
        if let Outlook::Forecast(forecast) = self.subject.outlook {
            fitted::bands(&mut canvas, &frame, forecast)?;
            fitted::line(&mut canvas, &frame, forecast)?;
        }
        axes::lines(&mut canvas, &frame, &self.subject)?;
        marks::happened(&mut canvas, &frame)?;
        marks::readings(&mut canvas, &frame, &self.subject)?;
        if let Outlook::Forecast(forecast) = self.subject.outlook {
            fitted::crossing(&mut canvas, &frame, forecast, self.coverage)?;
        }
        axes::scales(&mut canvas, &frame, &self.subject, self.units)?;
        words.title(&mut canvas, &frame, &self.title, self.subject.as_of)?;
        words.key_and_caption(&mut canvas, &frame)?;
        canvas.finish()?;
        let title = if self.title.is_empty() { "Seepage pit".to_owned() } else { self.title.clone() };
        let about = Description {
            size: frame.size,
            title: format!("{title}: forecast as of {}", self.subject.as_of),
            description: words.description(),
        };
        Ok(Svg::assemble(&drawn, &about))
    }
}

impl Subject<'_> {
    fn years_of(&self, date: Date) -> f64 {
        soaklife::date::years_between(self.as_of, date)
    }
}

#[cfg(test)]
mod tests;
