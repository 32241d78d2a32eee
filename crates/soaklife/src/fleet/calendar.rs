//! The calendar years that a budget looks ahead: what is left of this one, and whole ones after it.

use crate::date::years_between;
use jiff::civil::Date;
use thiserror::Error;

/// The most whole years ahead: a forecast does not see farther.
const MOST_YEARS: u8 = 50;

/// What is left of the calendar year of a day, and so many whole calendar years after it.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::YearsAhead;
/// let years = YearsAhead::new(date(2026, 6, 30), 10)?;
/// assert_eq!((years.len(), years.calendar_year(0), years.calendar_year(10)), (11, 2026, 2036));
/// # Ok::<(), soaklife::fleet::YearsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct YearsAhead {
    as_of: Date,
    ends: Vec<f64>,
}

/// Why there are no such years.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{YearsAhead, YearsError};
/// assert_eq!(YearsAhead::new(date(2026, 6, 30), 0), Err(YearsError::Number { found: 0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum YearsError {
    /// None, or more than a forecast sees.
    #[error("a budget looks 1 to {MOST_YEARS} whole years ahead, not {found}")]
    Number {
        /// Years asked for.
        found: u8,
    },
    /// The calendar ends before.
    #[error("the calendar ends with the year 9999")]
    Calendar,
}

impl YearsAhead {
    /// The rest of the year of `as_of`, and `whole` calendar years after it.
    ///
    /// # Errors
    /// [`YearsError`] unless `whole` lies in 1–50 and the last year is in the calendar.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::YearsAhead;
    /// assert!(YearsAhead::new(date(2026, 6, 30), 51).is_err());
    /// ```
    pub fn new(as_of: Date, whole: u8) -> Result<Self, YearsError> {
        if !(1..=MOST_YEARS).contains(&whole) {
            return Err(YearsError::Number { found: whole });
        }
        let end_of = |year: i16| Date::new(year, 1, 1).map(|day| years_between(as_of, day));
        let following = (1..=i16::from(whole) + 1).map(|ahead| end_of(as_of.year().saturating_add(ahead)));
        let ends = following.collect::<Result<Vec<f64>, _>>().map_err(|_| YearsError::Calendar)?;
        Ok(Self { as_of, ends })
    }

    /// The day from which it looks ahead.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::YearsAhead;
    /// assert_eq!(YearsAhead::new(date(2026, 6, 30), 10)?.as_of(), date(2026, 6, 30));
    /// # Ok::<(), soaklife::fleet::YearsError>(())
    /// ```
    #[must_use]
    pub fn as_of(&self) -> Date {
        self.as_of
    }

    /// How many there are, with the rest of this year.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::YearsAhead;
    /// assert_eq!(YearsAhead::new(date(2026, 6, 30), 1)?.len(), 2);
    /// # Ok::<(), soaklife::fleet::YearsError>(())
    /// ```
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "there are always two or more")]
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// The end of each year, in years from the day of the budget.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::YearsAhead;
    /// let years = YearsAhead::new(date(2026, 6, 30), 3)?;
    /// assert!(years.ends()[0] > 0.5 && years.ends()[0] < 0.51);
    /// # Ok::<(), soaklife::fleet::YearsError>(())
    /// ```
    #[must_use]
    pub fn ends(&self) -> &[f64] {
        &self.ends
    }

    /// The calendar year at a place, from 0 for the present one on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::YearsAhead;
    /// assert_eq!(YearsAhead::new(date(2026, 6, 30), 3)?.calendar_year(1), 2027);
    /// # Ok::<(), soaklife::fleet::YearsError>(())
    /// ```
    #[must_use]
    pub fn calendar_year(&self, place: usize) -> i16 {
        let ahead = place.min(self.ends.len().saturating_sub(1));
        self.as_of.year().saturating_add(i16::try_from(ahead).unwrap_or(i16::MAX))
    }

    /// How long the year at a place still is, and how far its middle lies ahead, years.
    pub(crate) fn length_and_middle(&self, place: usize) -> (f64, f64) {
        let end = self.ends.get(place).copied().unwrap_or_default();
        let begin =
            place.checked_sub(1).and_then(|before| self.ends.get(before)).copied().unwrap_or_default();
        (end - begin, f64::midpoint(begin, end))
    }
}
