//! Bands: a range of levels that says how often it should hold and what it is a range for.

use crate::quantity::Length;
use thiserror::Error;

/// How often a range should hold: strictly between 0 and 1.
///
/// ```
/// use soaklife::band::Coverage;
/// assert_eq!(Coverage::new(0.8)?.value(), 0.8);
/// assert!(Coverage::new(80.0).is_err());
/// # Ok::<(), soaklife::band::CoverageError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Coverage(f64);

/// Why a number is not a coverage.
///
/// ```
/// # use soaklife::band::Coverage;
/// assert_eq!(Coverage::new(80.0).map_err(|error| error.found), Err(80.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a coverage lies between 0 and 1, as in 0.8 for 80 %, not {found}")]
pub struct CoverageError {
    /// The number given.
    pub found: f64,
}

impl Coverage {
    /// 50 %.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert_eq!(Coverage::HALF.value(), 0.5);
    /// ```
    pub const HALF: Self = Self(0.5);
    /// 80 %, the range told in words.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert_eq!(Coverage::EIGHTY.value(), 0.8);
    /// ```
    pub const EIGHTY: Self = Self(0.8);
    /// 90 %.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert_eq!(Coverage::NINETY.value(), 0.9);
    /// ```
    pub const NINETY: Self = Self(0.9);
    /// 95 %.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert_eq!(Coverage::NINETY_FIVE.value(), 0.95);
    /// ```
    pub const NINETY_FIVE: Self = Self(0.95);

    /// A coverage from a share.
    ///
    /// # Errors
    /// [`CoverageError`] unless the share lies strictly between 0 and 1.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert!(Coverage::new(0.8).is_ok() && Coverage::new(1.0).is_err());
    /// ```
    pub fn new(share: f64) -> Result<Self, CoverageError> {
        if share > 0.0 && share < 1.0 { Ok(Self(share)) } else { Err(CoverageError { found: share }) }
    }

    /// The share.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert_eq!(Coverage::new(0.99)?.value(), 0.99);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }

    /// Probability below the central range of this coverage: (1 − coverage)/2.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert!((Coverage::EIGHTY.lower_tail() - 0.1).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn lower_tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// Probability below the upper end of the central range: (1 + coverage)/2.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// assert!((Coverage::EIGHTY.upper_tail() - 0.9).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn upper_tail(self) -> f64 {
        (1.0 + self.0) / 2.0
    }
}

/// A range of levels above the pit bottom.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # use soaklife::band::Coverage;
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let band = forecast.level_band(5.0, Coverage::EIGHTY).ok_or("no band")?;
/// assert!(band.lower < forecast.level(5.0) && forecast.level(5.0) < band.upper);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end, height above the bottom. A fitted line knows no bottom: the end may lie below it.
    pub lower: Length,
    /// Upper end, height above the bottom. A fitted line knows no inlet: the end may lie above it.
    pub upper: Length,
    /// How often it should hold.
    pub coverage: Coverage,
    /// What it is a range for.
    pub kind: BandKind,
}

/// What a band is a range for.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # use soaklife::band::Coverage;
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// use soaklife::band::BandKind;
/// let of_level = forecast.level_band(5.0, Coverage::EIGHTY).ok_or("no band")?;
/// let of_reading = forecast.reading_band(5.0, Coverage::EIGHTY).ok_or("no band")?;
/// assert_eq!((of_level.kind, of_reading.kind), (BandKind::Confidence, BandKind::Prediction));
/// assert!(of_reading.upper > of_level.upper);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BandKind {
    /// The standing level.
    Confidence,
    /// The next stick reading: wider by the scatter of single readings.
    Prediction,
}
