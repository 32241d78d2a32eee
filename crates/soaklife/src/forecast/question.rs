//! What is asked of a forecast: as of when, by which method, how far ahead, down to what freeboard.

use crate::loading::use_ahead::UseAhead;
use crate::quantity::{Length, as_inches};
use crate::trend::axis::Against;
use jiff::civil::Date;
use std::fmt;
use thiserror::Error;

/// Farthest horizon, years: beyond it nothing about a household can be said.
const FARTHEST_HORIZON: f64 = 60.0;

/// How the standing level is fitted.
///
/// ```
/// # use soaklife::forecast::Method;
/// assert_eq!((Method::default(), Method::Rank.to_string()), (Method::Absorption, "a trend by ranks".to_owned()));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Method {
    /// Many simple hypotheses, weighed by the readings ([`crate::trend::absorption`]).
    #[default]
    Absorption,
    /// Least squares ([`crate::trend::line`]).
    Line,
    /// Ranks ([`crate::trend::rank`]).
    Rank,
}

impl Method {
    /// Every method.
    ///
    /// ```
    /// # use soaklife::forecast::Method;
    /// assert_eq!(Method::ALL.map(Method::name), ["absorption", "line", "rank"]);
    /// ```
    pub const ALL: [Self; 3] = [Self::Absorption, Self::Line, Self::Rank];

    /// The name used in commands and tables.
    ///
    /// ```
    /// # use soaklife::forecast::Method;
    /// assert_eq!(Method::Line.name(), "line");
    /// ```
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Absorption => "absorption",
            Self::Line => "line",
            Self::Rank => "rank",
        }
    }
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Absorption => "the absorption method",
            Self::Line => "a line",
            Self::Rank => "a trend by ranks",
        })
    }
}

/// A question to a pit.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::forecast::{Method, Question};
/// use soaklife::quantity::inches;
/// use soaklife::trend::axis::Against;
///
/// let question = Question::new(date(2026, 6, 30))
///     .by(Method::Rank)
///     .against_axis(Against::Time)
///     .down_to(inches(6.0))?
///     .within(30.0)?;
/// assert_eq!(question.horizon_years(), 30.0);
/// # Ok::<(), soaklife::forecast::QuestionError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question {
    as_of: Date,
    method: Method,
    against: Against,
    horizon_years: f64,
    action_freeboard: Length,
    use_ahead: UseAhead,
}

/// Why a question cannot be asked.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::forecast::{Question, QuestionError};
/// # let question = Question::new(date(2026, 6, 30));
/// assert_eq!(question.within(61.0), Err(QuestionError::Horizon { found: 61.0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum QuestionError {
    /// The horizon is not above 0 and at most 60 years.
    #[error("a horizon lies above 0 and at most {FARTHEST_HORIZON} years ahead, not {found}")]
    Horizon {
        /// Years given.
        found: f64,
    },
    /// The action freeboard is negative or not a number.
    #[error("an action freeboard is zero or more, not {found_in} in")]
    ActionFreeboard {
        /// Inches given.
        found_in: f64,
    },
}

impl Question {
    /// How the pit stands on a day, by the default method, down to the inlet, within 60 years.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{Method, Question};
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!((question.method(), question.horizon_years()), (Method::Absorption, 60.0));
    /// ```
    #[must_use]
    pub fn new(as_of: Date) -> Self {
        Self {
            as_of,
            method: Method::default(),
            against: Against::default(),
            horizon_years: FARTHEST_HORIZON,
            action_freeboard: Length::default(),
            use_ahead: UseAhead::default(),
        }
    }

    /// The same, by another method.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{Method, Question};
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.by(Method::Rank).method(), Method::Rank);
    /// ```
    #[must_use]
    pub fn by(self, method: Method) -> Self {
        Self { method, ..self }
    }

    /// The same, fitted against time or cumulative load.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # use soaklife::trend::axis::Against;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.against_axis(Against::Time).against(), Against::Time);
    /// ```
    #[must_use]
    pub fn against_axis(self, against: Against) -> Self {
        Self { against, ..self }
    }

    /// The same, within another horizon, in years.
    ///
    /// # Errors
    /// [`QuestionError::Horizon`] unless it lies above 0 and at most 60.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.within(20.0)?.horizon_years(), 20.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn within(self, horizon_years: f64) -> Result<Self, QuestionError> {
        if horizon_years > 0.0 && horizon_years <= FARTHEST_HORIZON {
            Ok(Self { horizon_years, ..self })
        } else {
            Err(QuestionError::Horizon { found: horizon_years })
        }
    }

    /// The same, down to a freeboard above zero at which one wants to act.
    ///
    /// # Errors
    /// [`QuestionError::ActionFreeboard`] unless it is zero or more and finite.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # use soaklife::quantity::inches;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.down_to(inches(6.0))?.action_freeboard(), inches(6.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn down_to(self, action_freeboard: Length) -> Result<Self, QuestionError> {
        let found_in = as_inches(action_freeboard);
        if found_in >= 0.0 && found_in.is_finite() {
            Ok(Self { action_freeboard, ..self })
        } else {
            Err(QuestionError::ActionFreeboard { found_in })
        }
    }

    /// The same, with another assumption of the household from now on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// use soaklife::loading::use_ahead::UseAhead;
    /// assert_eq!(Question::new(date(2026, 6, 30)).if_use(UseAhead::AsToday).use_ahead(), UseAhead::AsToday);
    /// ```
    #[must_use]
    pub fn if_use(self, use_ahead: UseAhead) -> Self {
        Self { use_ahead, ..self }
    }

    /// What is assumed of the household from now on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// use soaklife::loading::use_ahead::UseAhead;
    /// assert_eq!(Question::new(date(2026, 6, 30)).use_ahead(), UseAhead::Drifts);
    /// ```
    #[must_use]
    pub fn use_ahead(&self) -> UseAhead {
        self.use_ahead
    }

    /// The day of the forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.as_of(), date(2026, 6, 30));
    /// ```
    #[must_use]
    pub fn as_of(&self) -> Date {
        self.as_of
    }

    /// The method.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::{Method, Question};
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.method(), Method::Absorption);
    /// ```
    #[must_use]
    pub fn method(&self) -> Method {
        self.method
    }

    /// Time or cumulative load.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # use soaklife::trend::axis::Against;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.against(), Against::Load);
    /// ```
    #[must_use]
    pub fn against(&self) -> Against {
        self.against
    }

    /// The horizon, years.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.horizon_years(), 60.0);
    /// ```
    #[must_use]
    pub fn horizon_years(&self) -> f64 {
        self.horizon_years
    }

    /// The freeboard at which one wants to act; zero for the inlet itself.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::forecast::Question;
    /// # use soaklife::quantity::inches;
    /// # let question = Question::new(date(2026, 6, 30));
    /// assert_eq!(question.action_freeboard(), inches(0.0));
    /// ```
    #[must_use]
    pub fn action_freeboard(&self) -> Length {
        self.action_freeboard
    }
}
