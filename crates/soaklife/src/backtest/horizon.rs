//! How far ahead a reading was predicted.

use super::origin::LaterReading;
use std::fmt;

/// Which later reading is compared with its prediction, which is always made for the day it was really taken.
///
/// ```
/// # use soaklife::backtest::Horizon;
/// assert_eq!(Horizon::ALL.map(Horizon::name), ["next", "1y", "2y", "5y"]);
/// assert_eq!(Horizon::FiveYears.to_string(), "about 5 years on");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Horizon {
    /// The next one, whenever it was taken.
    NextReading,
    /// The one nearest to a year on, half a year to a year and a half.
    OneYear,
    /// The one nearest to two years on, a year and a half to two and a half.
    TwoYears,
    /// The one nearest to five years on, four to six.
    FiveYears,
}

impl Horizon {
    /// Every horizon, the nearest first.
    ///
    /// ```
    /// # use soaklife::backtest::Horizon;
    /// assert_eq!(Horizon::ALL[0], Horizon::NextReading);
    /// ```
    pub const ALL: [Self; 4] = [Self::NextReading, Self::OneYear, Self::TwoYears, Self::FiveYears];

    /// The name used in tables.
    ///
    /// ```
    /// # use soaklife::backtest::Horizon;
    /// assert_eq!(Horizon::TwoYears.name(), "2y");
    /// ```
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::NextReading => "next",
            Self::OneYear => "1y",
            Self::TwoYears => "2y",
            Self::FiveYears => "5y",
        }
    }

    /// The reading meant, of those after an origin in order of time; the earlier of two as near.
    pub(super) fn of(self, later: &[LaterReading]) -> Option<LaterReading> {
        let (years, reach) = match self {
            Self::NextReading => return later.first().copied(),
            Self::OneYear => (1.0, 0.5),
            Self::TwoYears => (2.0, 0.5),
            Self::FiveYears => (5.0, 1.0),
        };
        let off = |reading: &&LaterReading| (reading.years - years).abs();
        let near = later.iter().filter(|reading| off(reading) <= reach);
        near.min_by(|a, b| off(a).total_cmp(&off(b))).copied()
    }
}

impl fmt::Display for Horizon {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NextReading => "next reading",
            Self::OneYear => "about 1 year on",
            Self::TwoYears => "about 2 years on",
            Self::FiveYears => "about 5 years on",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_reading_within_reach_is_meant() {
        let later = |years: &[f64]| -> Vec<LaterReading> {
            years.iter().map(|&years| LaterReading { years, level_in: 0.0 }).collect()
        };
        let meant = |horizon: Horizon, years: &[f64]| horizon.of(&later(years)).map(|reading| reading.years);
        let yearly = [0.4, 0.9, 1.25, 4.5, 5.5];
        assert_eq!(
            Horizon::ALL.map(|horizon| meant(horizon, &yearly)),
            [Some(0.4), Some(0.9), None, Some(4.5)]
        );
        assert_eq!(meant(Horizon::TwoYears, &[1.5]), Some(1.5));
        assert_eq!(meant(Horizon::NextReading, &[]), None);
    }
}
