//! A stick reading: what was found, when, and in what condition the pit was.

use crate::date::PartialDate;
use crate::pit::Pit;
use crate::quantity::{Length, as_inches, inches};
use thiserror::Error;

/// Half of the finest mark to which a stick is read, inches.
const HALF_A_MARK_IN: f64 = 0.05;
/// A stick finds no liquid lower than this above the bottom, inches.
pub(crate) const DRY_UNTIL_IN: f64 = 1.0;

/// What one look into the pit found on one date.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::pit::Pit;
/// use soaklife::quantity::{as_inches, inches};
/// use soaklife::reading::Reading;
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
/// assert_eq!(as_inches(reading.level(&pit)).round(), 120.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    date: PartialDate,
    observation: Observation,
    condition: Condition,
}

/// What the stick found.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::pit::Pit;
/// # use soaklife::quantity::inches;
/// # use soaklife::reading::{Observation, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
/// assert!(matches!(reading.observation(), Observation::Liquid { .. }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Observation {
    /// Liquid standing this far above the pit bottom.
    Liquid {
        /// Height above the bottom.
        level: Length,
    },
    /// Nothing standing: the level lies at or below the bottom.
    Dry,
    /// Liquid at the inlet invert or above: the level is at least that.
    AtInlet,
}

/// How the pit was when the stick went in.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::pit::Pit;
/// # use soaklife::quantity::inches;
/// # use soaklife::reading::{Condition, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
/// assert_eq!(reading.condition(), Condition::Normal);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Condition {
    /// Days of normal use.
    #[default]
    Normal,
    /// Rain enough to raise the level.
    AfterRain,
    /// Nobody at home for days.
    Vacant,
    /// Pumped out shortly before: the level is below where it will come to stand.
    AfterPumping,
    /// Whoever took the reading doubted it.
    Suspect,
}

/// Why a reading cannot belong to its pit.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::pit::Pit;
/// # use soaklife::quantity::inches;
/// # use soaklife::reading::{Reading, ReadingError};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let too_deep = Reading::at_depth(&pit, date(2026, 5, 14), inches(230.0));
/// assert!(matches!(too_deep, Err(ReadingError::BelowBottom { .. })));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ReadingError {
    /// The liquid would stand below the bottom, or the depth is not a number.
    #[error("a level of {level_in} in lies below the pit bottom")]
    BelowBottom {
        /// Height above the bottom, inches.
        level_in: f64,
    },
    /// The liquid would stand above the rim.
    #[error("a level of {level_in} in lies above the rim, {rim_in} in above the bottom")]
    AboveRim {
        /// Height above the bottom, inches.
        level_in: f64,
        /// Height of the rim above the bottom, inches.
        rim_in: f64,
    },
}

impl Reading {
    /// A reading of liquid standing `level` above the bottom of `pit`.
    ///
    /// # Errors
    /// [`ReadingError::BelowBottom`] for a negative level or one that is not a number;
    /// [`ReadingError::AboveRim`] for a level above the rim.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// let reading = Reading::at_level(&pit, date(2026, 5, 14), inches(120.0))?;
    /// assert_eq!(as_inches(reading.level(&pit)).round(), 120.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn at_level(pit: &Pit, date: impl Into<PartialDate>, level: Length) -> Result<Self, ReadingError> {
        if level.is_nan() || level < Length::default() {
            return Err(ReadingError::BelowBottom { level_in: as_inches(level) });
        }
        if level > pit.bottom_depth() {
            let (level_in, rim_in) = (as_inches(level), as_inches(pit.bottom_depth()));
            return Err(ReadingError::AboveRim { level_in, rim_in });
        }
        Ok(Self::new(date, Observation::Liquid { level }))
    }

    /// A reading of liquid found `depth` below the rim of `pit`.
    ///
    /// # Errors
    /// As [`Reading::at_level`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_eq!(as_inches(reading.level(&pit)).round(), 120.0); // 210 less 90
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn at_depth(pit: &Pit, date: impl Into<PartialDate>, depth: Length) -> Result<Self, ReadingError> {
        Self::at_level(pit, date, pit.level_at_depth(depth))
    }

    /// A reading that found no standing liquid.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::reading::{Observation, Reading};
    /// assert_eq!(Reading::dry(date(2026, 5, 14)).observation(), Observation::Dry);
    /// ```
    #[must_use]
    pub fn dry(date: impl Into<PartialDate>) -> Self {
        Self::new(date, Observation::Dry)
    }

    /// A reading that found liquid at the inlet invert.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// assert!(Reading::at_inlet(date(2026, 5, 14)).stands_at_inlet(&pit));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at_inlet(date: impl Into<PartialDate>) -> Self {
        Self::new(date, Observation::AtInlet)
    }

    fn new(date: impl Into<PartialDate>, observation: Observation) -> Self {
        Self { date: date.into(), observation, condition: Condition::Normal }
    }

    /// The same reading, taken in the given condition.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::{Condition, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_eq!(reading.in_condition(Condition::Vacant).condition(), Condition::Vacant);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_condition(self, condition: Condition) -> Self {
        Self { condition, ..self }
    }

    /// When it was taken.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_eq!(reading.date().to_string(), "2026-05-14");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn date(&self) -> PartialDate {
        self.date
    }

    /// What was found.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::{Observation, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_ne!(reading.observation(), Observation::Dry);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn observation(&self) -> Observation {
        self.observation
    }

    /// The condition of the pit.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::{Condition, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_eq!(reading.condition(), Condition::Normal);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn condition(&self) -> Condition {
        self.condition
    }

    /// Height above the bottom: the liquid's, 0 if dry, the inlet's if found at the inlet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// assert_eq!(as_inches(Reading::at_inlet(date(2026, 5, 14)).level(&pit)).round(), 180.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, pit: &Pit) -> Length {
        match self.observation {
            Observation::Liquid { level } => level,
            Observation::Dry => Length::default(),
            Observation::AtInlet => pit.effective_depth(),
        }
    }

    /// Whether the liquid stood at the inlet invert or above it.
    ///
    /// A stick is not read finer than to a tenth of an inch: half of that below the invert is at the invert, so that the units
    /// in which rim, bottom and reading are given do not matter.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert!(!reading.stands_at_inlet(&pit));
    /// assert!(Reading::at_depth(&pit, date(2026, 5, 14), inches(29.0))?.stands_at_inlet(&pit));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn stands_at_inlet(&self, pit: &Pit) -> bool {
        match self.observation {
            Observation::Liquid { level } => level + inches(HALF_A_MARK_IN) >= pit.effective_depth(),
            Observation::Dry => false,
            Observation::AtInlet => true,
        }
    }

    /// Whether the stick came up dry, or with no more than an inch of liquid: no stick tells the two apart.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::Reading;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// assert!(Reading::dry(date(2026, 5, 14)).is_as_good_as_dry());
    /// assert!(Reading::at_level(&pit, date(2026, 5, 14), inches(1.0))?.is_as_good_as_dry());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn is_as_good_as_dry(&self) -> bool {
        match self.observation {
            Observation::Liquid { level } => level <= inches(DRY_UNTIL_IN + HALF_A_MARK_IN),
            Observation::Dry => true,
            Observation::AtInlet => false,
        }
    }

    /// Error variance relative to a reading in normal use, for a line: twice that after rain and in a vacant house.
    ///
    /// Common practice, no source: both move the level by a few inches either way. [`crate::Method::Absorption`] knows that an
    /// empty house can only lower it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::pit::Pit;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::reading::{Condition, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let reading = Reading::at_depth(&pit, date(2026, 5, 14), inches(90.0))?;
    /// assert_eq!(reading.in_condition(Condition::AfterRain).relative_variance(), 2.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn relative_variance(&self) -> f64 {
        match self.condition {
            Condition::AfterRain | Condition::Vacant => 2.0,
            Condition::Normal | Condition::AfterPumping | Condition::Suspect => 1.0,
        }
    }

    /// Order by date, then by what was found, so that the order of rows in a file changes nothing.
    pub(crate) fn chronological(&self, other: &Self) -> std::cmp::Ordering {
        let rank = |reading: &Self| match reading.observation {
            Observation::Dry => f64::NEG_INFINITY,
            Observation::Liquid { level } => level.value,
            Observation::AtInlet => f64::INFINITY,
        };
        self.date
            .middle()
            .cmp(&other.date.middle())
            .then_with(|| self.date.cmp(&other.date))
            .then_with(|| rank(self).total_cmp(&rank(other)))
            .then_with(|| (self.condition as u8).cmp(&(other.condition as u8)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::inches;
    use jiff::civil::date;

    #[test]
    fn a_reading_must_lie_between_bottom_and_rim() {
        let pit = Pit::new(inches(30.0), inches(132.0)).unwrap();
        let day = date(2026, 5, 14);
        assert!(matches!(
            Reading::at_depth(&pit, day, inches(160.0)),
            Err(ReadingError::BelowBottom { level_in }) if (level_in + 28.0).abs() < 1e-9
        ));
        assert!(matches!(Reading::at_depth(&pit, day, inches(-1.0)), Err(ReadingError::AboveRim { .. })));
        assert!(Reading::at_depth(&pit, day, inches(f64::NAN)).is_err());
        assert!(Reading::at_depth(&pit, day, inches(12.0)).unwrap().stands_at_inlet(&pit));
    }
}
