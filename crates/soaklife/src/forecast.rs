//! The forecast of one pit: standing level and next reading at any date, time to inlet, chance by date.

pub mod next_reading;
mod question;

pub use next_reading::{Advice, Because, NextReading, Prospect};
pub use question::{Method, Question, QuestionError};

use crate::band::{Band, BandKind, Coverage};
use crate::date::{PartialDate, date_after, years_between};
use crate::history::{HandCheck, History, ReadingUse, Verdict};
use crate::pit::Pit;
use crate::quantity::{Length, as_inches, inches};
use crate::reading::Reading;
use crate::trend::absorption::{Absorption, Explanation, Hypotheses, Passage};
use crate::trend::axis::{Against, Axis};
use crate::trend::line::LineTrend;
use crate::trend::rank::RankTrend;
use crate::trend::{CrossingSet, TrendError, TrendPoint};
use crate::whatif::LoadChange;
use jiff::civil::Date;
use std::fmt;
use thiserror::Error;

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
    /// The chance of standing at the threshold or above today.
    chance_now: f64,
}

/// How the level stands and moves.
#[derive(Debug, Clone, PartialEq)]
enum Standing {
    /// The last reading found it at the inlet: there is nothing left to forecast.
    AtInlet {
        since: Reading,
    },
    Absorption(Box<Absorbed>),
    Line(LineTrend),
    Rank(RankTrend),
}

/// The absorption method's answer: the record followed, and when it reaches what was asked for.
#[derive(Debug, Clone, PartialEq)]
struct Absorbed {
    absorption: Absorption,
    passage: Passage,
    /// The last reading, if it found the liquid at the inlet and is likely to be right.
    at_inlet: Option<Reading>,
}

/// Whether and when the level reaches the inlet, or the action freeboard if one was asked for.
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
/// use soaklife::{Coverage, Crossing};
/// assert!(matches!(forecast.crossing(Coverage::EIGHTY), Crossing::Expected { years, .. } if years.round() == 18.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Crossing {
    /// It stands there already, by the last reading.
    AlreadyAtInlet {
        /// The reading that found it there.
        since: Reading,
    },
    /// Expected within the horizon.
    Expected {
        /// Years from the day of the forecast, 0 if the trend already stands there.
        years: f64,
        /// The range for the coverage asked for.
        range: CrossingSet,
    },
    /// The level rises, but does not get there within the horizon.
    NotWithinHorizon {
        /// The horizon, years.
        horizon: f64,
        /// The range for the coverage asked for.
        range: CrossingSet,
    },
    /// The trend is flat or falls.
    NotHeadingThere {
        /// The range for the coverage asked for: the readings may still allow a rise.
        range: CrossingSet,
    },
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
    /// The last reading alone: the pit stands at its inlet.
    AtInlet,
}

/// Why there is no forecast.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let by_line = Question::new(date(2026, 6, 30)).by(soaklife::Method::Line);
/// let nothing_read = Forecast::of(&History::new(pit), &by_line);
/// assert_eq!(nothing_read.map_err(|reason| reason.to_string()), Err("no usable reading, and a line needs at least 3".to_owned()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// Too few usable readings for the method.
    #[error("{}, and {method} needs at least {needed}{}", usable(*.used), set_aside_in_words(*.set_aside))]
    TooFewReadings {
        /// The method asked for.
        method: Method,
        /// Usable readings.
        used: usize,
        /// Readings needed.
        needed: usize,
        /// Readings set aside.
        set_aside: usize,
    },
    /// More usable readings than the method takes.
    #[error("{used} usable readings, and {method} takes at most {most}: ask by another method")]
    TooManyReadings {
        /// The method asked for.
        method: Method,
        /// Usable readings.
        used: usize,
        /// Readings taken at most.
        most: usize,
    },
    /// All usable readings were taken on one day, or at one cumulative load.
    #[error("all usable readings were taken on one day: measure again in another year")]
    NoSpread,
    /// The action freeboard leaves nothing of the pit.
    #[error(
        "an action freeboard of {action_in:.1} in does not fit a pit with {effective_in:.1} in below its inlet"
    )]
    ActionFreeboard {
        /// Action freeboard, inches.
        action_in: f64,
        /// Effective depth, inches.
        effective_in: f64,
    },
    /// A level or load is too large to compute with.
    #[error("the readings or loads are too large to compute with")]
    NotFinite,
}

fn usable(used: usize) -> String {
    match used {
        0 => "no usable reading".to_owned(),
        1 => "1 usable reading".to_owned(),
        _ => format!("{used} usable readings"),
    }
}

fn set_aside_in_words(set_aside: usize) -> String {
    if set_aside == 0 { String::new() } else { format!(" ({set_aside} set aside)") }
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
    /// Forecasts one pit.
    ///
    /// # Errors
    /// [`ForecastError`], in words that can be shown to the owner.
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
    pub fn of(history: &History, question: &Question) -> Result<Self, ForecastError> {
        Self::by_experience(history, question, &Hypotheses::default())
    }

    /// The same with a population prior of one's own; only [`Method::Absorption`] asks it.
    ///
    /// # Errors
    /// As [`Forecast::of`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// use soaklife::prior::PopulationPrior;
    /// use soaklife::trend::absorption::Hypotheses;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2016, 5, 1));
    /// let busy = Hypotheses::new(PopulationPrior { typical_load_ratio: 0.9, ..PopulationPrior::default() })?;
    /// let question = Question::new(date(2026, 6, 30));
    /// let (usual, busy) = (Forecast::of(&history, &question)?, Forecast::by_experience(&history, &question, &busy)?);
    /// assert!(busy.chance_by(20.0) > usual.chance_by(20.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn by_experience(
        history: &History,
        question: &Question,
        experience: &Hypotheses,
    ) -> Result<Self, ForecastError> {
        let pit = *history.pit();
        refuse_unfit_action_freeboard(&pit, question)?;
        let as_of = question.as_of();
        let axis = Axis::new(history, question.against(), as_of);
        let for_a_line = history.readings_for_a_line(as_of);
        let hand_check = HandCheck::of_used(&pit, &for_a_line);
        let latest = history.latest_standing(as_of);
        let at_inlet = latest.filter(|reading| reading.stands_at_inlet(&pit));
        let (standing, readings) = match (question.method(), at_inlet) {
            (Method::Absorption, _) => {
                let (absorbed, readings) = Absorbed::follow(history, question, at_inlet, experience)?;
                (Standing::Absorption(Box::new(absorbed)), readings)
            }
            (_, Some(since)) => (Standing::AtInlet { since }, for_a_line),
            (method @ Method::Line, None) => {
                let trend =
                    |points: &[TrendPoint]| LineTrend::fit_among_many(points, experience.usual_tails());
                (Standing::Line(fit(&pit, &axis, &for_a_line, method, trend)?), for_a_line)
            }
            (method @ Method::Rank, None) => {
                (Standing::Rank(fit(&pit, &axis, &for_a_line, method, RankTrend::fit)?), for_a_line)
            }
        };
        let mut forecast = Self {
            question: *question,
            pit,
            axis,
            hand_check,
            readings,
            latest,
            load_ratio: history.load().map(|load| load.ratio_at(as_of)),
            standing,
            chance_now: 1.0,
        };
        forecast.chance_now = forecast.chance_at(0.0);
        Ok(forecast)
    }

    /// The same record and method under another load to come, of this ratio; by the absorption method the level follows
    /// it by each of these shares, each as likely as another.
    pub(crate) fn under(
        &self,
        change: &LoadChange,
        ratio: f64,
        followed: &[f64],
    ) -> Result<Self, ForecastError> {
        let mut changed = self.clone();
        changed.load_ratio = Some(ratio);
        if let Standing::Absorption(absorbed) = &mut changed.standing {
            let absorption = absorbed.absorption.under(change, followed);
            absorbed.passage =
                absorption.reaches(as_inches(self.threshold())).ok_or(ForecastError::NotFinite)?;
            absorbed.absorption = absorption;
        } else {
            changed.axis = self.axis.under(change);
        }
        Ok(changed)
    }

    /// Whether anything ahead differs from the load as it is forecast.
    pub(crate) fn is_changed(&self) -> bool {
        match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.is_changed(),
            Standing::AtInlet { .. } | Standing::Line(_) | Standing::Rank(_) => self.axis.is_changed(),
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
            _ if self.at_inlet_since().is_some() => Basis::AtInlet,
            Standing::Absorption(_) if self.readings_used() == 0 => Basis::TypicalExperience,
            _ if self.readings_used() < ENOUGH_READINGS => Basis::FewReadings,
            _ => Basis::Readings,
        }
    }

    /// Rise in a year at the present load; nothing if the pit stands at its inlet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// let pace = as_inches(forecast.pace_per_year().ok_or("at the inlet")?);
    /// assert!((pace - 3.1).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_per_year(&self) -> Option<Length> {
        let slope = match &self.standing {
            Standing::AtInlet { .. } => return None,
            Standing::Absorption(absorbed) => {
                return absorbed.absorption.pace_in(0.5).filter(|_| absorbed.at_inlet.is_none()).map(inches);
            }
            Standing::Line(line) => line.slope(),
            Standing::Rank(rank) => rank.slope(),
        };
        Some(inches(slope * self.axis.pace()))
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

    /// Rise in a year that a share `probability` lies below, by the absorption method; a line has one pace only.
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
    /// assert!(forecast.pace_quantile(0.1) < forecast.pace_quantile(0.9));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_quantile(&self, probability: f64) -> Option<Length> {
        match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.pace_in(probability).map(inches),
            Standing::AtInlet { .. } | Standing::Line(_) | Standing::Rank(_) => None,
        }
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

    /// Fitted standing level above the bottom, `years` from the day of the forecast.
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
    /// assert!(forecast.level(1.0) > forecast.level(0.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, years: f64) -> Length {
        let x = self.axis.at_years(years);
        match &self.standing {
            Standing::AtInlet { .. } => self.pit.effective_depth(),
            Standing::Absorption(absorbed) => inches(absorbed.level_in(years, 0.5)),
            Standing::Line(line) => inches(line.level(x)),
            Standing::Rank(rank) => inches(rank.level(x)),
        }
    }

    /// Quantile of the standing level; nothing where the method has none at that probability.
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
    /// assert!(forecast.level_quantile(1.0, 0.9) > forecast.level_quantile(1.0, 0.1));
    /// assert_eq!(forecast.level_quantile(1.0, 1.0), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantile(&self, years: f64, probability: f64) -> Option<Length> {
        if !(probability > 0.0 && probability < 1.0) {
            return None;
        }
        let x = self.axis.at_years(years);
        match &self.standing {
            Standing::AtInlet { .. } => Some(self.pit.effective_depth()),
            Standing::Absorption(_) if years < 0.0 => None,
            Standing::Absorption(absorbed) => Some(inches(absorbed.level_in(years, probability))),
            Standing::Line(line) => finite_level(line.level_quantile(x, probability)),
            Standing::Rank(rank) => rank.level_quantile(x, probability).and_then(finite_level),
        }
    }

    /// Several quantiles of the standing level at one moment, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [low, high] = forecast.level_quantiles(1.0, [0.1, 0.9]);
    /// assert_eq!((low, high), (forecast.level_quantile(1.0, 0.1), forecast.level_quantile(1.0, 0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantiles<const N: usize>(
        &self,
        years: f64,
        probabilities: [f64; N],
    ) -> [Option<Length>; N] {
        let at_once = match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.levels_in(years, probabilities),
            Standing::Line(line) if probabilities.iter().all(|&p| p > 0.0 && p < 1.0) => {
                Some(line.level_quantiles(self.axis.at_years(years), probabilities))
            }
            Standing::AtInlet { .. } | Standing::Line(_) | Standing::Rank(_) => None,
        };
        match at_once {
            Some(levels) => levels.map(finite_level),
            None => probabilities.map(|probability| self.level_quantile(years, probability)),
        }
    }

    /// Quantile of the freeboard: what is left is less than this with the given probability.
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
    /// let median = as_inches(forecast.freeboard_quantile(0.0, 0.5).ok_or("none")?);
    /// assert!((median - 56.5).abs() < 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn freeboard_quantile(&self, years: f64, probability: f64) -> Option<Length> {
        Some(self.pit.freeboard(self.level_quantile(years, 1.0 - probability)?))
    }

    /// Several quantiles of the freeboard at one moment, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [low, high] = forecast.freeboard_quantiles(1.0, [0.1, 0.9]);
    /// assert_eq!((low, high), (forecast.freeboard_quantile(1.0, 0.1), forecast.freeboard_quantile(1.0, 0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn freeboard_quantiles<const N: usize>(
        &self,
        years: f64,
        probabilities: [f64; N],
    ) -> [Option<Length>; N] {
        let levels = self.level_quantiles(years, probabilities.map(|probability| 1.0 - probability));
        levels.map(|level| Some(self.pit.freeboard(level?)))
    }

    /// Central range of the standing level.
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
    /// use soaklife::Coverage;
    /// let near = forecast.level_band(1.0, Coverage::EIGHTY).ok_or("none")?;
    /// let far = forecast.level_band(10.0, Coverage::EIGHTY).ok_or("none")?;
    /// assert!(far.upper - far.lower > near.upper - near.lower);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_band(&self, years: f64, coverage: Coverage) -> Option<Band> {
        let [lower, upper] = self.level_quantiles(years, [coverage.lower_tail(), coverage.upper_tail()]);
        Some(Band { lower: lower?, upper: upper?, coverage, kind: BandKind::Confidence })
    }

    /// Central range of the next stick reading; only a line has one.
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
    /// use soaklife::Coverage;
    /// let next = forecast.reading_band(1.0, Coverage::EIGHTY).ok_or("none")?;
    /// assert!(next.lower < forecast.level(1.0) && forecast.level(1.0) < next.upper);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reading_band(&self, years: f64, coverage: Coverage) -> Option<Band> {
        let lower = inches(self.reading_quantile_in(years, coverage.lower_tail())?);
        let upper = inches(self.reading_quantile_in(years, coverage.upper_tail())?);
        Some(Band { lower, upper, coverage, kind: BandKind::Prediction })
    }

    /// Whether and when the level reaches the inlet, or the action freeboard.
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
    /// use soaklife::{Coverage, Crossing};
    /// assert!(matches!(forecast.crossing(Coverage::EIGHTY), Crossing::Expected { .. }));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing(&self, coverage: Coverage) -> Crossing {
        if let Some(since) = self.at_inlet_since() {
            return Crossing::AlreadyAtInlet { since };
        }
        let range = self.crossing_set(coverage);
        // A mixture of hypotheses always holds some that rise.
        let rising = matches!(self.standing, Standing::Absorption(_))
            || self.pace_per_year().is_some_and(|pace| as_inches(pace) > 0.0);
        let horizon = self.question.horizon_years();
        match self.trend_years() {
            Some(years) if years <= horizon => Crossing::Expected { years, range },
            Some(_) | None if rising => Crossing::NotWithinHorizon { horizon, range },
            _ => Crossing::NotHeadingThere { range },
        }
    }

    /// The confidence set of the time to the inlet, or to the action freeboard.
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
    /// use soaklife::{Coverage, trend::CrossingSet};
    /// let set = forecast.crossing_set(Coverage::EIGHTY);
    /// assert!(matches!(set, CrossingSet::Between { earliest, latest } if earliest > 15.0 && latest < 21.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing_set(&self, coverage: Coverage) -> CrossingSet {
        // Under another load the set is found on the axis itself, and its ends are told in years after that.
        let is_changed = self.axis.is_changed();
        let (threshold, pace) = (self.threshold_in(), if is_changed { 1.0 } else { self.axis.pace() });
        let set = match &self.standing {
            Standing::AtInlet { .. } => CrossingSet::Between { earliest: 0.0, latest: 0.0 },
            Standing::Absorption(absorbed) => absorbed.passage.range(coverage),
            Standing::Line(line) => line.crossing(threshold, coverage, pace),
            Standing::Rank(rank) => rank.crossing(threshold, coverage, pace),
        };
        if is_changed { self.in_years(set) } else { set }
    }

    /// A set on the axis, in years; an end that is never reached is open.
    fn in_years(&self, set: CrossingSet) -> CrossingSet {
        match set {
            CrossingSet::Between { earliest, latest } => {
                let (earliest, latest) = (self.axis.years_to(earliest), self.axis.years_to(latest));
                if latest.is_finite() {
                    CrossingSet::Between { earliest, latest }
                } else {
                    CrossingSet::NotBefore { earliest }
                }
            }
            CrossingSet::NotBefore { earliest } => {
                CrossingSet::NotBefore { earliest: self.axis.years_to(earliest) }
            }
            CrossingSet::Never | CrossingSet::Unbounded => set,
        }
    }

    /// Years until the trend itself gets there, however far; 0 if it stands there, nothing if it never does.
    fn trend_years(&self) -> Option<f64> {
        if let Standing::Absorption(absorbed) = &self.standing {
            return absorbed.passage.years(0.5);
        }
        let threshold = self.threshold_in();
        if as_inches(self.level(0.0)) >= threshold {
            return Some(0.0);
        }
        let place = match &self.standing {
            Standing::AtInlet { .. } | Standing::Absorption(_) => Some(0.0),
            Standing::Line(line) => line.place_of(threshold),
            Standing::Rank(rank) => rank.place_of(threshold),
        }?;
        let years = self.axis.years_to(place);
        (years >= 0.0 && years.is_finite()).then_some(years)
    }

    /// Quantile of the years to the inlet, or to the action freeboard; nothing beyond the horizon, or where the
    /// confidence set is one-sided or unbounded.
    ///
    /// The median is the trend's own crossing; other quantiles are the ends of the set of their coverage.
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
    /// assert_eq!(forecast.years_to_inlet(0.5).map(f64::round), Some(18.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_to_inlet(&self, probability: f64) -> Option<f64> {
        let [years] = self.years_to_inlet_at([probability]);
        years
    }

    /// Several quantiles of the years to the inlet, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [early, late] = forecast.years_to_inlet_at([0.1, 0.9]);
    /// assert_eq!((early, late), (forecast.years_to_inlet(0.1), forecast.years_to_inlet(0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_to_inlet_at<const N: usize>(&self, probabilities: [f64; N]) -> [Option<f64>; N] {
        // Two quantiles as far from the median are the ends of one set.
        let mut last = None;
        let mut set_of = |coverage: Coverage| match last {
            Some((known, set)) if known == coverage => set,
            _ => last.insert((coverage, self.crossing_set(coverage))).1,
        };
        let mut years = |probability: f64| match &self.standing {
            Standing::Absorption(absorbed) => absorbed.passage.years(probability),
            _ if probability == 0.5 => self.trend_years(),
            _ => match set_of(coverage_between(probability, 1.0 - probability)?) {
                CrossingSet::Between { earliest, .. } if probability < 0.5 => Some(earliest),
                CrossingSet::Between { latest, .. } => Some(latest),
                _ => None,
            },
        };
        let horizon = self.question.horizon_years();
        probabilities.map(|probability| years(probability).filter(|&years| years <= horizon))
    }

    /// Probability that the level has reached the inlet, or the action freeboard, within so many years.
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
    /// assert!(forecast.chance_by(1.0) < 0.01 && forecast.chance_by(30.0) > 0.99);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_by(&self, years: f64) -> f64 {
        if years.is_nan() || years < 0.0 {
            return 0.0;
        }
        if let Standing::Absorption(absorbed) = &self.standing {
            return absorbed.passage.chance_within(years);
        }
        // "By then" cannot become less likely with time; the chance of being there can: of a falling line, and of one that stood
        // above the goal already, far ahead. It turns once at most.
        self.chance_now.max(self.chance_at(years)).max(self.chance_on_the_way(years))
    }

    /// The chance of being there where it is largest between now and then, if it has a peak on the way.
    fn chance_on_the_way(&self, years: f64) -> f64 {
        let Standing::Line(line) = &self.standing else { return 0.0 };
        let (now, then, threshold) =
            (self.axis.at_years(0.0), self.axis.at_years(years), self.threshold_in());
        let peak = line.likeliest_at_or_above(threshold).filter(|peak| (now..then).contains(peak));
        peak.map_or(0.0, |peak| line.chance_at_or_above(peak, threshold))
    }

    /// The chance of standing at the threshold or above then, by a method that has no first passage.
    fn chance_at(&self, years: f64) -> f64 {
        let (x, threshold) = (self.axis.at_years(years), self.threshold_in());
        match &self.standing {
            Standing::AtInlet { .. } | Standing::Absorption(_) => 1.0,
            Standing::Line(line) => line.chance_at_or_above(x, threshold),
            Standing::Rank(rank) => rank.chance_at_or_above(x, threshold),
        }
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

    fn reading_quantile_in(&self, years: f64, probability: f64) -> Option<f64> {
        match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.reading_in(years, probability),
            Standing::Line(line) => Some(line.reading_quantile(self.axis.at_years(years), probability)),
            Standing::AtInlet { .. } | Standing::Rank(_) => None,
        }
    }

    fn at_inlet_since(&self) -> Option<Reading> {
        match &self.standing {
            Standing::AtInlet { since } => Some(*since),
            Standing::Absorption(absorbed) => absorbed.at_inlet,
            Standing::Line(_) | Standing::Rank(_) => None,
        }
    }

    fn threshold(&self) -> Length {
        self.pit.effective_depth() - self.question.action_freeboard()
    }

    fn threshold_in(&self) -> f64 {
        as_inches(self.threshold())
    }
}

impl Absorbed {
    fn follow(
        history: &History,
        question: &Question,
        at_inlet: Option<Reading>,
        experience: &Hypotheses,
    ) -> Result<(Self, Vec<ReadingUse>), ForecastError> {
        let (absorption, readings) = Absorption::follow_with_verdicts(history, question.as_of(), experience);
        let threshold = history.pit().effective_depth() - question.action_freeboard();
        let passage = absorption.reaches(as_inches(threshold)).ok_or(ForecastError::NotFinite)?;
        absorption.level_in(0.0, 0.5).ok_or(ForecastError::NotFinite)?;
        let is_right =
            |taken: &ReadingUse| Some(taken.reading) == at_inlet && taken.verdict.weight().is_some();
        let at_inlet = at_inlet.filter(|_| readings.iter().any(is_right));
        Ok((Self { absorption, passage, at_inlet }, readings))
    }

    fn level_in(&self, years: f64, probability: f64) -> f64 {
        // That there is a level today was checked when the record was followed.
        self.absorption.level_in(years.max(0.0), probability).unwrap_or_default()
    }
}

/// A share so near 0 or 1 that no level of a line is a number is no quantile.
fn finite_level(level_in: f64) -> Option<Length> {
    level_in.is_finite().then(|| inches(level_in))
}

/// The coverage between two probabilities, the same from either side whatever their last digit.
fn coverage_between(one: f64, other: f64) -> Option<Coverage> {
    const DIGITS: f64 = 1e12;
    Coverage::new(((one - other).abs() * DIGITS).round() / DIGITS).ok()
}

fn refuse_unfit_action_freeboard(pit: &Pit, question: &Question) -> Result<(), ForecastError> {
    if question.action_freeboard() < pit.effective_depth() {
        return Ok(());
    }
    Err(ForecastError::ActionFreeboard {
        action_in: as_inches(question.action_freeboard()),
        effective_in: as_inches(pit.effective_depth()),
    })
}

fn fit<T>(
    pit: &Pit,
    axis: &Axis,
    readings: &[ReadingUse],
    method: Method,
    trend: impl FnOnce(&[TrendPoint]) -> Result<T, TrendError>,
) -> Result<T, ForecastError> {
    let mut points = Vec::with_capacity(readings.len());
    points.extend(readings.iter().filter_map(|taken| trend_point(pit, axis, taken)));
    let fitted = trend(&points);
    fitted.map_err(|error| match error {
        TrendError::TooFewReadings { used, needed } => {
            ForecastError::TooFewReadings { method, used, needed, set_aside: readings.len() - points.len() }
        }
        TrendError::TooManyReadings { used, most } => ForecastError::TooManyReadings { method, used, most },
        TrendError::NoSpread => ForecastError::NoSpread,
        TrendError::NotFinite { .. } | TrendError::OutOfRange => ForecastError::NotFinite,
    })
}

fn trend_point(pit: &Pit, axis: &Axis, reading: &ReadingUse) -> Option<TrendPoint> {
    let Verdict::Used { weight } = reading.verdict else { return None };
    let date = reading.reading.date();
    let spread = |date: PartialDate| date.standard_deviation_years() * axis.pace_at(date.middle());
    Some(TrendPoint {
        x: axis.at(date.middle()),
        x_standard_deviation: if date.is_exact() { 0.0 } else { spread(date) },
        level_in: as_inches(reading.reading.level(pit)),
        weight,
    })
}
