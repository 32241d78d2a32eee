//! The forecast of one pit: standing level and next reading at any date, time to inlet, chance by date.

// First, because the documentation lists the methods of a forecast in the order of these modules.
mod making;

mod crossing;
mod error;
mod household;
mod level;
pub mod next_reading;
mod question;
mod standing;

pub use crossing::Crossing;
pub use error::ForecastError;
pub use household::IfUse;
pub use next_reading::{Advice, Because, NextReading, Prospect};
pub use question::{Method, Question, QuestionError};

use crate::date::{date_after, years_between};
use crate::history::{CloseToInlet, FoundAtInlet, HandCheck, ReadingUse};
use crate::pit::Pit;
use crate::quantity::{Length, as_inches};
use crate::reading::Reading;
use crate::trend::absorption::{Explanation, moment_from};
use crate::trend::axis::{Against, Axis};
use crate::trend::line::LineTrend;
use crate::trend::rank::RankTrend;
use jiff::civil::Date;
use standing::Standing;
use std::fmt;

/// Fewest used readings for [`Basis::Readings`]; below it the answer rests on few readings.
const ENOUGH_READINGS: usize = 5;

/// What the readings of one pit say about its future.
///
/// Years count from the day of the forecast, negative before it; probabilities lie in 0–1. A classical trend
/// knows neither bottom nor inlet, so a quantile of the level may lie beyond either.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::band::Coverage;
/// use soaklife::forecast::{Crossing, Forecast, Question};
/// use soaklife::history::History;
/// use soaklife::pit::Pit;
/// use soaklife::quantity::inches;
/// use soaklife::reading::Reading;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// let readings = depths
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let history = History::new(pit).with_readings(readings);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let median = forecast.years_to_inlet(0.5).ok_or("not within sixty years")?;
/// assert!((15.0..30.0).contains(&median));
/// assert!(forecast.chance_by(10.0) < 0.1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    question: Question,
    pit: Pit,
    axis: Axis,
    readings: Vec<ReadingUse>,
    latest: Option<Reading>,
    hand_check: Option<HandCheck>,
    load_ratio: Option<f64>,
    standing: Standing,
    found_at_inlet: Option<FoundAtInlet>,
    close_to_inlet: Option<CloseToInlet>,
    /// The chance of standing at the threshold or above today.
    chance_now: f64,
}

/// What a forecast rests on.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// use soaklife::forecast::Basis;
/// assert_eq!(forecast.basis(), Basis::Readings);
/// assert_eq!(Basis::FewReadings.to_string(), "few readings");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Basis {
    /// Five usable readings or more.
    Readings,
    /// Fewer than that.
    FewReadings,
    /// No reading: what is typical of pits of this age, depth and use.
    TypicalExperience,
    /// Readings that found the liquid at the inlet: the pit has reached it.
    AtInlet,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Readings => "readings",
            Self::FewReadings => "few readings",
            Self::TypicalExperience => "typical experience",
            Self::AtInlet => "at inlet",
        })
    }
}

impl Forecast {
    /// Whether anything ahead differs from the load as it is forecast.
    pub(crate) fn is_changed(&self) -> bool {
        match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.is_changed(),
            Standing::AtInlet | Standing::Line(_) | Standing::Rank(_) => self.axis.is_changed(),
        }
    }

    /// The load ratio on which what lies ahead is built; nothing where the level is followed against time alone.
    pub(crate) fn ratio_now(&self) -> Option<f64> {
        match &self.standing {
            Standing::Absorption(absorbed) => Some(absorbed.absorption.ratio_now()),
            _ if self.axis.against() == Against::Load => Some(self.axis.pace()),
            _ => None,
        }
    }

    /// The question it answers.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.question().as_of(), date(2026, 6, 30));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn question(&self) -> &Question {
        &self.question
    }

    /// The pit.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(*forecast.pit(), pit);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pit(&self) -> &Pit {
        &self.pit
    }

    /// What the level was really fitted against: time, if the load is unknown.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// use soaklife::trend::axis::Against;
    /// assert_eq!(forecast.against(), Against::Time); // no load was given
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn against(&self) -> Against {
        self.axis.against()
    }

    /// Every reading, oldest first, and what was made of it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert!(forecast.readings().iter().all(|reading| reading.verdict.weight() > Some(0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings(&self) -> &[ReadingUse] {
        &self.readings
    }

    /// How many readings count.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.readings_used(), 6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings_used(&self) -> usize {
        self.readings.iter().filter(|reading| reading.verdict.weight().is_some()).count()
    }

    /// How many readings were set aside.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.readings_set_aside(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn readings_set_aside(&self) -> usize {
        self.readings.len() - self.readings_used()
    }

    /// The last reading that says where the liquid stands.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let latest = forecast.latest().ok_or("no reading")?;
    /// assert_eq!(as_inches(pit.freeboard(latest.level(&pit))).round(), 56.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn latest(&self) -> Option<&Reading> {
        self.latest.as_ref()
    }

    /// Inches left ÷ inches a year, for comparison.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let check = forecast.hand_check().ok_or("one reading")?;
    /// assert_eq!((as_inches(check.left).round(), check.years().map(f64::round)), (56.0, Some(17.0)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn hand_check(&self) -> Option<&HandCheck> {
        self.hand_check.as_ref()
    }

    /// Present load ratio, if known.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.load_ratio(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn load_ratio(&self) -> Option<f64> {
        self.load_ratio
    }

    /// What the forecast rests on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.basis().to_string(), "readings");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn basis(&self) -> Basis {
        match self.standing {
            _ if self.has_reached() => Basis::AtInlet,
            Standing::Absorption(_) if self.readings_used() == 0 => Basis::TypicalExperience,
            _ if self.readings_used() < ENOUGH_READINGS => Basis::FewReadings,
            _ => Basis::Readings,
        }
    }

    /// The fitted line, if that is the method: its slope, scatter and standard errors.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// assert!(forecast.line().is_some_and(|line| line.scatter() < 1.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn line(&self) -> Option<&LineTrend> {
        if let Standing::Line(line) = &self.standing { Some(line) } else { None }
    }

    /// What the absorption method made of the record, if that is the method.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert!(forecast.explanation().is_some_and(|told| told.share_of_readings() > 0.4));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn explanation(&self) -> Option<Explanation> {
        if let Standing::Absorption(absorbed) = &self.standing {
            Some(absorbed.absorption.explanation())
        } else {
            None
        }
    }

    /// The rank trend, if that is the method: its slope and the Mann–Kendall test.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// use soaklife::Method;
    /// let by_rank = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(Method::Rank))?;
    /// assert!(by_rank.rank().is_some_and(|rank| rank.mann_kendall().score() == 15)); // every pair rises
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn rank(&self) -> Option<&RankTrend> {
        if let Standing::Rank(rank) = &self.standing { Some(rank) } else { None }
    }

    /// The day that lies `years` after the day of the forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.date_in(2.0), Some(date(2028, 6, 30)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn date_in(&self, years: f64) -> Option<Date> {
        date_after(self.question.as_of(), years)
    }

    /// Years from the day of the forecast to a reading, negative for the past.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let latest = forecast.latest().ok_or("no reading")?;
    /// assert!((forecast.years_of(latest) + 51.0 / 365.25).abs() < 1e-12); // 51 days ago
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_of(&self, reading: &Reading) -> f64 {
        years_between(self.question.as_of(), reading.date().middle())
    }

    /// What the readings since the last remedy say of the inlet itself; `None` if none of them found the liquid there.
    ///
    /// A pit that has reached its inlet stands there for good, in every number of the forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// use soaklife::history::FoundAtInlet;
    /// let full = Reading::at_inlet(date(2026, 5, 1));
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_readings([full]);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.found_at_inlet(), Some(FoundAtInlet::Reached { since: full }));
    /// assert_eq!((forecast.years_to_inlet(0.05), forecast.chance_by(0.0)), (Some(0.0), 1.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn found_at_inlet(&self) -> Option<FoundAtInlet> {
        self.found_at_inlet
    }

    /// Whether the last reading found the pit so close to its inlet that published rules count it as failed, whatever lies ahead.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// let history = History::new(pit).with_readings([Reading::at_depth(&pit, date(2026, 5, 1), inches(33.0))?]);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert!(forecast.close_to_inlet().is_some_and(|close| close.is_within_six_inches));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn close_to_inlet(&self) -> Option<CloseToInlet> {
        self.close_to_inlet
    }

    /// The first reading of those that say that the pit has reached its inlet.
    fn reached_since(&self) -> Option<Reading> {
        match self.found_at_inlet {
            Some(FoundAtInlet::Reached { since }) => Some(since),
            _ => None,
        }
    }

    fn has_reached(&self) -> bool {
        self.reached_since().is_some()
    }

    /// The first moment from then on for which the method has a law of its own, years ahead.
    pub(crate) fn moment_from(&self, years: f64) -> f64 {
        match &self.standing {
            Standing::Absorption(_) => moment_from(years),
            Standing::AtInlet | Standing::Line(_) | Standing::Rank(_) => years,
        }
    }

    fn threshold(&self) -> Length {
        self.pit.effective_depth() - self.question.action_freeboard()
    }

    fn threshold_in(&self) -> f64 {
        as_inches(self.threshold())
    }
}
