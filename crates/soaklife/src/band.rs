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
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a coverage lies between 0 and 1, as in 0.8 for 80 %, not {found}")]
pub struct CoverageError {
    /// The number given.
    pub found: f64,
}

impl Coverage {
    /// 50 %.
    pub const HALF: Self = Self(0.5);
    /// 80 %, the range told in words.
    pub const EIGHTY: Self = Self(0.8);
    /// 90 %.
    pub const NINETY: Self = Self(0.9);
    /// 95 %.
    pub const NINETY_FIVE: Self = Self(0.95);

    /// A coverage from a share.
    ///
    /// # Errors
    /// [`CoverageError`] unless the share lies strictly between 0 and 1.
    pub fn new(share: f64) -> Result<Self, CoverageError> {
        if share > 0.0 && share < 1.0 { Ok(Self(share)) } else { Err(CoverageError { found: share }) }
    }

    /// The share.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }

    /// Probability below the central range of this coverage: (1 − coverage)/2.
    #[must_use]
    pub fn lower_tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// Probability below the upper end of the central range: (1 + coverage)/2.
    #[must_use]
    pub fn upper_tail(self) -> f64 {
        (1.0 + self.0) / 2.0
    }
}

/// A range of levels above the pit bottom.
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BandKind {
    /// The standing level.
    Confidence,
    /// The next stick reading: wider by the scatter of single readings.
    Prediction,
}
