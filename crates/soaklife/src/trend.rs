//! The fitted standing level: the absorption method, and two classical ways to draw a trend through the readings of a pit.
//!
//! [`absorption`] is the default and stands for itself. [`mod@line`] is least squares with Student-t bands; [`rank`] is the median of pairwise slopes with a
//! distribution-free interval. These two run against time or against cumulative load ([`axis`]).

pub mod absorption;
pub mod axis;
pub mod line;
pub mod rank;

use thiserror::Error;

/// A reading as a trend sees it.
///
/// ```
/// # use soaklife::trend::TrendPoint;
/// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
/// assert_eq!(point(-1.0, 96.0).level_in, 96.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendPoint {
    /// Place on the axis: years, or design-years; 0 on the day of the forecast.
    pub x: f64,
    /// Standard deviation of that place, for a date known only to the month or year; same unit.
    pub x_standard_deviation: f64,
    /// Height above the pit bottom, inches.
    pub level_in: f64,
    /// Relative weight, above zero.
    pub weight: f64,
}

/// Where on the axis a trend may meet a level, with the coverage asked for; never a made-up finite range.
///
/// ```
/// # use soaklife::band::Coverage;
/// # use soaklife::trend::line::LineTrend;
/// # use soaklife::trend::{CrossingSet, TrendPoint};
/// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
/// let falling = LineTrend::fit(&[point(-2.0, 99.0), point(-1.0, 95.5), point(0.0, 92.0)])?;
/// assert_eq!(falling.crossing(120.0, Coverage::EIGHTY, 1.0), CrossingSet::Never);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CrossingSet {
    /// Between two places ahead, in years from the day of the forecast; 0 means "already".
    Between {
        /// Early end, years.
        earliest: f64,
        /// Late end, years.
        latest: f64,
    },
    /// One-sided: not before this place, and perhaps never.
    NotBefore {
        /// Early end, years; infinite where even that lies beyond all that is looked at.
        earliest: f64,
    },
    /// Not at any time ahead: the readings say that the level moves away.
    Never,
    /// The readings exclude no time at all.
    Unbounded,
}

/// Why no trend can be fitted.
///
/// ```
/// # use soaklife::trend::line::LineTrend;
/// # use soaklife::trend::{TrendError, TrendPoint};
/// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
/// assert_eq!(LineTrend::fit(&[point(0.0, 96.0)]), Err(TrendError::TooFewReadings { used: 1, needed: 3 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum TrendError {
    /// Fewer usable readings than the method needs.
    #[error("{used} usable readings, and at least {needed} are needed")]
    TooFewReadings {
        /// Usable readings.
        used: usize,
        /// Readings needed.
        needed: usize,
    },
    /// More usable readings than the method takes.
    #[error("{used} usable readings, and at most {most} are taken")]
    TooManyReadings {
        /// Usable readings.
        used: usize,
        /// Readings taken at most.
        most: usize,
    },
    /// All usable readings stand at one place of the axis.
    #[error("all usable readings stand at the same day or the same cumulative load")]
    NoSpread,
    /// A level, place or weight is not a finite number, or a weight not above zero.
    #[error("reading {index} of the trend is not a usable number")]
    NotFinite {
        /// Place in the list of points, from 0.
        index: usize,
    },
    /// Levels or places so far apart that their squares leave the range of floating-point numbers.
    #[error("the readings lie too far apart to compute with")]
    OutOfRange,
}
