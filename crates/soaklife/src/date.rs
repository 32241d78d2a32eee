//! Calendar dates as people know them: to the day, or only to the month or the year.

use jiff::civil::Date;
use thiserror::Error;

/// Days in a year on the time axis of every trend (the Julian year of astronomy and statistics).
///
/// ```
/// use jiff::civil::date;
/// use soaklife::date::{DAYS_PER_YEAR, years_between};
/// assert_eq!(years_between(date(2024, 1, 1), date(2025, 1, 1)), 366.0 / DAYS_PER_YEAR);
/// ```
pub const DAYS_PER_YEAR: f64 = 365.25;

/// A date known to the day, the month or the year (ISO 8601 calendar date, complete or reduced).
///
/// A reduced date stands for the middle of its span; [`PartialDate::standard_deviation_years`] is the
/// uncertainty that comes with it.
///
/// ```
/// use soaklife::date::PartialDate;
/// let spring: PartialDate = "2026-05".parse()?;
/// assert_eq!(spring.middle().to_string(), "2026-05-16");
/// assert_eq!(spring.to_string(), "2026-05");
/// # Ok::<(), soaklife::date::DateError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartialDate {
    first: Date,
    last: Date,
    /// The number of its middle day: every trend asks for it, of every reading.
    middle: i32,
}

/// Why a text is not a date.
///
/// ```
/// # use soaklife::date::PartialDate;
/// use soaklife::date::DateError;
/// assert!(matches!("5/14/2026".parse::<PartialDate>(), Err(DateError::Form { .. })));
/// assert!(matches!("2025-02-30".parse::<PartialDate>(), Err(DateError::NoSuchDay { .. })));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DateError {
    /// Not of the form 2026-05-14, 2026-05 or 2026.
    #[error("{found:?} is not a date of the form 2026-05-14, 2026-05 or 2026")]
    Form {
        /// The text that was read.
        found: String,
    },
    /// Of the right form, but the calendar has no such day.
    #[error("the calendar has no {found}")]
    NoSuchDay {
        /// The text that was read.
        found: String,
    },
}

impl PartialDate {
    /// A date known to the day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::day(date(2026, 5, 14)).to_string(), "2026-05-14");
    /// ```
    #[must_use]
    #[inline]
    pub fn day(date: Date) -> Self {
        Self { first: date, last: date, middle: day_number(date) }
    }

    /// A date known to the month.
    ///
    /// # Errors
    /// [`DateError::NoSuchDay`] unless the year is 1–9999 and the month 1–12.
    ///
    /// ```
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::month(2026, 5)?.to_string(), "2026-05");
    /// assert!(PartialDate::month(2026, 13).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn month(year: i16, month: i8) -> Result<Self, DateError> {
        let no_such_day = || DateError::NoSuchDay { found: format!("{year:04}-{month:02}") };
        if year < 1 {
            return Err(no_such_day());
        }
        let first = Date::new(year, month, 1).map_err(|_| no_such_day())?;
        Ok(Self::span(first, first.last_of_month()))
    }

    /// A date known to the year.
    ///
    /// # Errors
    /// [`DateError::NoSuchDay`] unless the year is 1–9999.
    ///
    /// ```
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::year(2026)?.to_string(), "2026");
    /// assert!(PartialDate::year(0).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn year(year: i16) -> Result<Self, DateError> {
        let no_such_day = || DateError::NoSuchDay { found: format!("{year:04}") };
        if year < 1 {
            return Err(no_such_day());
        }
        let first = Date::new(year, 1, 1).map_err(|_| no_such_day())?;
        Ok(Self::span(first, first.last_of_year()))
    }

    fn span(first: Date, last: Date) -> Self {
        let span = Self { first, last, middle: day_number(first) };
        Self { middle: day_number(span.middle()), ..span }
    }

    /// Days from the middle of this date to that of another, negative if the other is earlier.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// let (day, year) = (PartialDate::day(date(2025, 7, 1)), PartialDate::year(2025)?);
    /// assert_eq!(day.days_to(year), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub const fn days_to(self, other: Self) -> i32 {
        other.middle - self.middle
    }

    /// The first day of the span.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::month(2024, 2)?.first(), date(2024, 2, 1));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn first(self) -> Date {
        self.first
    }

    /// The last day of the span.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::month(2024, 2)?.last(), date(2024, 2, 29));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn last(self) -> Date {
        self.last
    }

    /// The middle day of the span, by which the date takes its place on the time axis.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// assert_eq!(PartialDate::year(2025)?.middle(), date(2025, 7, 2));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    #[inline]
    pub fn middle(self) -> Date {
        if self.first == self.last { self.first } else { self.middle_of_span() }
    }

    fn middle_of_span(self) -> Date {
        let half = years_between(self.first, self.last) / 2.0;
        date_after(self.first, half).unwrap_or(self.first)
    }

    /// Whether the date is known to the day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::date::PartialDate;
    /// assert!(PartialDate::day(date(2026, 5, 14)).is_exact() && !PartialDate::year(2026)?.is_exact());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn is_exact(self) -> bool {
        self.first == self.last
    }

    /// Standard deviation of the true date about the middle, in years: span/√12 (uniform), 0 to the day.
    ///
    /// ```
    /// use soaklife::date::PartialDate;
    /// let sometime = PartialDate::year(2020)?;
    /// assert!((sometime.standard_deviation_years() - 0.289).abs() < 0.001);
    /// # Ok::<(), soaklife::date::DateError>(())
    /// ```
    #[must_use]
    pub fn standard_deviation_years(self) -> f64 {
        if self.is_exact() { 0.0 } else { years_between(self.first, self.last) / 12f64.sqrt() }
    }
}

impl From<Date> for PartialDate {
    fn from(date: Date) -> Self {
        Self::day(date)
    }
}

impl std::fmt::Display for PartialDate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (year, month) = (self.first.year(), self.first.month());
        if self.is_exact() {
            write!(f, "{}", self.first)
        } else if self.last.month() == month {
            write!(f, "{year:04}-{month:02}")
        } else {
            write!(f, "{year:04}")
        }
    }
}

impl std::str::FromStr for PartialDate {
    type Err = DateError;

    fn from_str(text: &str) -> Result<Self, DateError> {
        let form = || DateError::Form { found: text.to_owned() };
        let no_such_day = || DateError::NoSuchDay { found: text.to_owned() };
        let bytes = text.as_bytes();
        let number = |from: usize, to: usize| digits(bytes.get(from..to)?);
        let dash = |at: usize| bytes.get(at) == Some(&b'-');
        let year = number(0, 4).ok_or_else(form)?;
        let date = match bytes.len() {
            4 => Self::year(year).map_err(|_| no_such_day()),
            7 if dash(4) => {
                let month = number(5, 7).ok_or_else(form)?;
                Self::month(year, month as i8).map_err(|_| no_such_day())
            }
            10 if dash(4) && dash(7) => {
                let (month, day) = number(5, 7).zip(number(8, 10)).ok_or_else(form)?;
                Date::new(year, month as i8, day as i8).map(Self::day).map_err(|_| no_such_day())
            }
            _ => Err(form()),
        }?;
        if year < 1 { Err(no_such_day()) } else { Ok(date) }
    }
}

/// The number that up to four ASCII digits spell, or nothing if any is not a digit.
fn digits(bytes: &[u8]) -> Option<i16> {
    bytes
        .iter()
        .try_fold(0i16, |number, &byte| byte.is_ascii_digit().then(|| number * 10 + i16::from(byte - b'0')))
}

/// Years from one day to another, negative if `to` is earlier: days / 365.25.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::date::years_between;
/// assert_eq!(years_between(date(2022, 5, 1), date(2026, 5, 1)), 4.0);
/// ```
#[must_use]
#[inline]
pub fn years_between(from: Date, to: Date) -> f64 {
    f64::from(days_between(from, to)) / DAYS_PER_YEAR
}

/// Days from one day to another, negative if `to` is earlier.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::date::days_between;
/// assert_eq!(days_between(date(2024, 2, 28), date(2024, 3, 1)), 2);
/// ```
#[must_use]
#[inline]
pub fn days_between(from: Date, to: Date) -> i32 {
    day_number(to) - day_number(from)
}

/// Days since a fixed day, by the rule that 400 years have 146,097 days: every reading of every pit asks for it, and the
/// calendar's own way takes several times as long.
///
/// # Source
/// A year that begins with March: Fliegel and Van Flandern (1968), *Communications of the ACM* 11(10), 657. Days before a
/// month as 979/32 of it: Neri and Schneider (2023), *Software: Practice and Experience* 53(4), 937–970.
#[inline]
fn day_number(date: Date) -> i32 {
    let (month, day) = (u32::from(date.month().unsigned_abs()), u32::from(date.day().unsigned_abs()));
    let is_before_march = month < 3;
    let year = (i32::from(date.year()) + 10_000 - i32::from(is_before_march)).unsigned_abs();
    let month = if is_before_march { month + 12 } else { month };
    let century = year / 100;
    let days = 1461 * year / 4 - century + century / 4 + (979 * month - 2919) / 32 + day;
    days as i32
}

/// The day that lies `years` after a date, to the nearest day; nothing if it leaves the years 1–9999.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::date::date_after;
/// assert_eq!(date_after(date(2026, 6, 30), 10.0), Some(date(2036, 6, 30)));
/// assert_eq!(date_after(date(2026, 6, 30), f64::NAN), None);
/// ```
#[must_use]
pub fn date_after(date: Date, years: f64) -> Option<Date> {
    let days = (years * DAYS_PER_YEAR).round();
    if !days.is_finite() || days.abs() > 4.0e6 {
        return None;
    }
    let later = date.checked_add(jiff::Span::new().try_days(days as i64).ok()?).ok()?;
    (later.year() >= 1).then_some(later)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn days_are_counted_as_the_calendar_counts_them(days in prop::array::uniform2(-4_371_000i64..2_932_000)) {
            let epoch = jiff::civil::date(1970, 1, 1);
            let [from, to] = days.map(|days| epoch.checked_add(jiff::Span::new().days(days)).unwrap());
            prop_assert_eq!(i64::from(days_between(from, to)), days[1] - days[0]);
        }
    }
    use jiff::civil::date;

    #[test]
    fn reads_the_three_forms_and_prints_them_back() {
        for text in ["2026-05-14", "2024-02-29", "2026-05", "2026", "0001", "9999-12-31"] {
            assert_eq!(text.parse::<PartialDate>().unwrap().to_string(), text);
        }
    }

    #[test]
    fn refuses_what_is_no_date() {
        for text in
            ["", "5/14/2026", "2026-5-14", "2026-05-14T10:00", "26-05-14", "2026-", "２０２６", "+026"]
        {
            assert!(matches!(text.parse::<PartialDate>(), Err(DateError::Form { .. })), "{text}");
        }
        for text in ["2025-02-30", "2026-13", "2026-00-01", "0000", "0000-01-01"] {
            assert!(matches!(text.parse::<PartialDate>(), Err(DateError::NoSuchDay { .. })), "{text}");
        }
    }

    #[test]
    fn a_year_stands_for_its_middle() {
        assert_eq!(PartialDate::year(2025).unwrap().middle(), date(2025, 7, 2));
    }

    #[test]
    fn the_far_ends_of_the_calendar_do_not_overflow() {
        assert_eq!(date_after(Date::MAX, 1.0), None);
        assert_eq!(date_after(date(1, 1, 1), -1.0), None);
        assert!(years_between(Date::MIN, Date::MAX) > 19_000.0);
    }
}
