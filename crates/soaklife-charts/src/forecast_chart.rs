//! The forecast chart: what was measured, what is fitted, when the inlet is reached, and how sure that is.

mod axes;
mod crossing;
mod events;
mod fitted;
mod frame;
mod marks;
mod what_if;
mod words;

use crate::canvas::{Canvas, Point, figure};
use crate::headline;
use crate::svg::{ChartError, Description, Svg, refuse_undrawable_depth};
use events::Happening;
use fitted::Fitted;
use frame::Frame;
use jiff::civil::Date;
use soaklife::history::ReadingUse;
use soaklife::quantity::{Length, Units};
use soaklife::whatif::Alternative;
use soaklife::{Coverage, Forecast, History, Pit};
use what_if::Beside;

/// The forecast chart of one pit.
///
/// Filled marks are readings that count, hollow ones were set aside; dry and at-inlet readings have marks of their own.
/// Bands are for the standing level; they end at the inlet and at the pit bottom, beyond which a level means nothing.
/// They bear their names where there is room, else the key does. The bar on the line to be reached is the range of the
/// crossing, the ring its estimate; an arrow is a range that goes on.
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
#[doc = "\n# As drawn\n"]
#[doc = include_str!("../gallery/forecast.svg")]
#[derive(Debug, Clone)]
pub struct ForecastChart<'a> {
    subject: Subject<'a>,
    title: String,
    units: Units,
    coverage: Coverage,
    is_bare: bool,
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
    beside: Option<Beside<'a>>,
}

/// The forecast, or why there is none.
#[derive(Debug, Clone)]
enum Outlook<'a> {
    Forecast(&'a Forecast),
    None { reason: String },
}

impl<'a> ForecastChart<'a> {
    /// The chart of a forecast and the history it was made from.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # use soaklife_charts::ForecastChart;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let svg = ForecastChart::new(&forecast, &history).svg()?;
    /// assert!(svg.as_str().contains("The level reaches the inlet about 20"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(forecast: &'a Forecast, history: &History) -> Self {
        let as_of = forecast.question().as_of();
        Self::of(Subject {
            pit: *forecast.pit(),
            as_of,
            readings: forecast.readings().to_vec(),
            happenings: events::happenings(history, as_of),
            action_freeboard: forecast.question().action_freeboard(),
            outlook: Outlook::Forecast(forecast),
            beside: None,
        })
    }

    /// The chart of a pit of which no forecast can be made; the caption says why.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// assert!(chart.svg()?.as_str().contains("no reading yet"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of_readings(history: &History, as_of: Date, reason: &str) -> Self {
        Self::of(Subject {
            pit: *history.pit(),
            as_of,
            readings: history.readings_for_a_line(as_of),
            happenings: events::happenings(history, as_of),
            action_freeboard: Length::default(),
            outlook: Outlook::None { reason: reason.to_owned() },
            beside: None,
        })
    }

    fn of(subject: Subject<'a>) -> Self {
        Self { subject, title: String::new(), units: Units::Us, coverage: Coverage::EIGHTY, is_bare: false }
    }

    /// The same with a second fan: the pit under another use of the house, called `what`. Today's fan then shows its 80 %
    /// range alone, filled with a solid median; the other's is hatched with a dashed one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # use soaklife_charts::ForecastChart;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// use soaklife::whatif::{OtherUse, WhatIf};
    /// let empty = WhatIf::of(OtherUse::vacant()).beside(&forecast, None)?;
    /// let svg = ForecastChart::new(&forecast, &history).beside(&empty, "an empty house").svg()?;
    /// assert!(svg.as_str().contains("What if an empty house: "));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn beside(mut self, other: &'a Alternative, what: impl Into<String>) -> Self {
        self.subject.beside = Some(Beside { other, what: what.into() });
        self
    }

    /// The same with a title, usually the name of the pit; what does not fit in a line is cut.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// assert!(chart.titled("12 Mill Race Lane").svg()?.as_str().contains("12 Mill Race Lane"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// The same in other units: inches, and feet from 25 ft, or centimetres and metres.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// use soaklife::quantity::Units;
    /// assert!(chart.in_units(Units::Si).svg()?.as_str().contains("freeboard, cm"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_units(self, units: Units) -> Self {
        Self { units, ..self }
    }

    /// The same with another coverage of the crossing and of the range told in the caption, 80 % unless asked.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};
    /// # use soaklife_charts::ForecastChart;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let chart = ForecastChart::new(&forecast, &history).covering(Coverage::NINETY_FIVE);
    /// assert!(chart.svg()?.as_str().contains("1 in 40 before 20"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn covering(self, coverage: Coverage) -> Self {
        Self { coverage, ..self }
    }

    /// The same without title, day and caption, and narrower: to stand beside a bare [`PitSection`](crate::PitSection) on a page
    /// that says all that, as an [`Exhibit`](crate::Exhibit) does. Its description for those who cannot see it stays.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// assert!(!chart.bare().svg()?.as_str().contains(">as of 2026-06-30"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn bare(self) -> Self {
        Self { is_bare: true, ..self }
    }

    /// Draws it.
    ///
    /// # Errors
    /// [`ChartError::Depth`] for a pit too shallow or too deep to draw, [`ChartError::Drawing`] if the drawing library
    /// refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let svg = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// assert!(svg.as_str().contains("No forecast: no reading yet."));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn svg(&self) -> Result<Svg, ChartError> {
        refuse_undrawable_depth(&self.subject.pit)?;
        let words = words::Words::of(&self.subject, self.units, self.coverage);
        let words = if self.is_bare { words.bare() } else { words };
        let frame = Frame::lay_out(&self.subject, &words, self.units, self.coverage);
        let title = headline::of_a_pit(&self.title);
        let about = Description {
            size: frame.size,
            title: format!("{title}: forecast as of {}", self.subject.as_of),
            description: words.description().to_owned(),
        };
        figure(about, |canvas| {
            self.plot(canvas, &frame, &words)?;
            axes::scales(canvas, &frame, &self.subject)?;
            if !self.is_bare {
                headline::write(canvas, &self.title, &format!("as of {}", self.subject.as_of))?;
            }
            words.caption(canvas, &frame)
        })
    }

    /// The layers of the plot, each over the one before, and the key to them.
    fn plot(&self, canvas: &mut Canvas<'_>, frame: &Frame, words: &words::Words) -> Result<(), ChartError> {
        let forecast = match self.subject.outlook {
            Outlook::Forecast(forecast) => Some(forecast),
            Outlook::None { .. } => None,
        };
        let fitted = forecast.and_then(|forecast| Fitted::of(frame, forecast));
        let beside = self.subject.second_fan();
        axes::ground(canvas, frame)?;
        if let Some(fitted) = &fitted {
            fitted.draw_bands(canvas, frame, beside.is_none())?;
        }
        axes::grid(canvas, frame, self.subject.as_of)?;
        if let Some(fitted) = &fitted {
            fitted.draw_level(canvas, frame)?;
        }
        match (&fitted, beside) {
            (_, Some(beside)) => beside.draw(canvas, frame)?,
            (Some(fitted), None) => fitted.draw_names(canvas)?,
            (None, None) => {}
        }
        axes::lines(canvas, frame, &self.subject)?;
        events::draw(canvas, frame)?;
        marks::draw(canvas, frame, &self.subject)?;
        if let Some(forecast) = forecast {
            crossing::crossing(canvas, frame, forecast, self.coverage, self.units, beside.is_some())?;
        }
        if let Some(beside) = beside {
            beside.draw_crossing(canvas, frame, self.coverage, self.units)?;
        }
        let readings = self.subject.readings.iter().map(|taken| marks::place(frame, &self.subject, taken));
        let level = fitted.iter().flat_map(|fitted| fitted.level(frame));
        let bar = forecast.iter().flat_map(|forecast| crossing::outstanding(frame, forecast, self.coverage));
        let today = (frame.x.at(0.0), frame.y.at(frame.threshold_in));
        let drawn: Vec<Point> = readings.chain(level).chain(bar).chain([today]).collect();
        axes::action_name(canvas, frame, self.subject.action_freeboard, self.units, &drawn)?;
        words.key(canvas, frame, beside, fitted.is_some_and(|fitted| fitted.is_named()))
    }
}

impl Subject<'_> {
    /// The other future, if there is one to draw.
    fn second_fan(&self) -> Option<&Beside<'_>> {
        self.beside.as_ref().filter(|beside| beside.is_drawn())
    }

    fn years_of(&self, date: Date) -> f64 {
        soaklife::date::years_between(self.as_of, date)
    }
}

#[cfg(test)]
mod tests;
