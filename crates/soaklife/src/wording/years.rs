//! Years ahead, and the calendar years in which they end, rounded by one rule.
//!
//! The early end of a range is rounded down, its late end up, a median to the nearest: to whole years, and to whole months what lies
//! within a year. The calendar has the year, or the month, of the moment itself, not that of the
//! rounded number: so the two never lie two years apart. A range with both ends is told as a range; of one that is open only its
//! early end is told, as the chance that it is.

use super::{month, with_noun};
use crate::band::Coverage;
use crate::date::date_after;
use crate::trend::CrossingSet;
use jiff::civil::Date;

/// Up to here months are told, years.
const MONTHS_UNTIL: f64 = 1.0;
const MONTHS_A_YEAR: f64 = 12.0;

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Months,
    Years,
}

impl Unit {
    /// The unit of what lies so many years ahead.
    fn until(years: f64) -> Self {
        if years < MONTHS_UNTIL { Self::Months } else { Self::Years }
    }

    fn count(self, years: f64) -> f64 {
        // No moment ahead lies in the past, and none of it is "-0".
        let years = years.max(0.0);
        if self == Self::Months { years * MONTHS_A_YEAR } else { years }
    }

    fn noun(self) -> &'static str {
        if self == Self::Months { "month" } else { "year" }
    }

    fn told(self, number: f64) -> String {
        with_noun(&format!("{number:.0}"), self.noun())
    }

    /// Month or year of a moment.
    fn of_calendar(self, as_of: Date, years: f64) -> String {
        match (self, date_after(as_of, years.max(0.0))) {
            (Self::Months, Some(date)) => month(date),
            _ => year_after(as_of, years.max(0.0)),
        }
    }
}

/// So many years in words, a median: "about 6 years", "about 8 months".
///
/// ```
/// use soaklife::wording::about_years;
/// assert_eq!([33.2, 5.87, 0.67].map(about_years), ["about 33 years", "about 6 years", "about 8 months"]);
/// ```
#[must_use]
pub fn about_years(years: f64) -> String {
    let unit = Unit::until(years);
    match unit.count(years).round() {
        none if none < 1.0 => "less than a month".to_owned(),
        number => format!("about {}", unit.told(number)),
    }
}

/// A range of years, rounded outward: "4 to 10 years", "within 3 years" where it begins at once, "now" where it is over.
///
/// ```
/// use soaklife::wording::years_range;
/// assert_eq!(years_range(4.2, 9.6), "4 to 10 years");
/// assert_eq!([years_range(0.0, 2.6), years_range(0.4, 0.9)], ["within 3 years", "4 to 11 months"]);
/// assert_eq!(years_range(0.4, 2.6), "4 months to 3 years");
/// ```
#[must_use]
pub fn years_range(earliest: f64, latest: f64) -> String {
    if latest <= 0.0 {
        return "now".to_owned();
    }
    let (unit, high) = (Unit::until(earliest), years_up(latest));
    match unit.count(earliest).floor() {
        none if none < 1.0 => format!("within {high}"),
        low if unit.told(low) == high => high,
        low if unit == Unit::until(latest) => format!("{low:.0} to {high}"),
        low => format!("{} to {high}", unit.told(low)),
    }
}

/// Up to the early end of a range that is open: "within 16 years", "within 9 months".
///
/// ```
/// use soaklife::wording::within_years;
/// assert_eq!([16.9, 0.8, 0.01].map(within_years), ["within 16 years", "within 9 months", "within a month"]);
/// ```
#[must_use]
pub fn within_years(earliest: f64) -> String {
    format!("within {}", years_down(earliest))
}

/// An early end alone, rounded down: "16 years", "9 months", "a month" for less.
///
/// ```
/// use soaklife::wording::years_down;
/// assert_eq!([16.9, 0.8, 0.01].map(years_down), ["16 years", "9 months", "a month"]);
/// ```
#[must_use]
pub fn years_down(earliest: f64) -> String {
    let unit = Unit::until(earliest);
    match unit.count(earliest).floor() {
        none if none < 1.0 => "a month".to_owned(),
        number => unit.told(number),
    }
}

/// When a median lies: "about 2031 (in 5 years)".
///
/// ```
/// use jiff::civil::date;
/// use soaklife::wording::about_when;
/// assert_eq!(about_when(date(2026, 6, 30), 4.9), "about 2031 (in 5 years)");
/// assert_eq!(about_when(date(2026, 6, 30), 0.8), "about April 2027 (in 10 months)");
/// ```
#[must_use]
pub fn about_when(as_of: Date, years: f64) -> String {
    let unit = Unit::until(years);
    match unit.count(years).round() {
        none if none < 1.0 => "within a month".to_owned(),
        number => format!("about {} (in {})", unit.of_calendar(as_of, years), unit.told(number)),
    }
}

/// When a range lies: "between 2029 and 2035 (in 3 to 9 years)".
///
/// ```
/// use jiff::civil::date;
/// use soaklife::wording::between_when;
/// assert_eq!(between_when(date(2026, 6, 30), 3.4, 8.7), "between 2029 and 2035 (in 3 to 9 years)");
/// assert_eq!(between_when(date(2026, 6, 30), 0.0, 2.6), "between now and 2029 (within 3 years)");
/// assert_eq!(between_when(date(2026, 6, 30), 0.4, 2.6), "between November 2026 and 2029 (in 4 months to 3 years)");
/// ```
#[must_use]
pub fn between_when(as_of: Date, earliest: f64, latest: f64) -> String {
    let unit = Unit::until(earliest);
    let (from, to) = (unit.of_calendar(as_of, earliest), Unit::until(latest).of_calendar(as_of, latest));
    let range = years_range(earliest, latest);
    match unit.count(earliest).floor() {
        none if none < 1.0 => format!("between now and {to} ({range})"),
        _ if from == to => format!("within {to} (in {range})"),
        _ => format!("between {from} and {to} (in {range})"),
    }
}

/// Up to the early end of a range that is open, by the calendar: "before 2043 (within 16 years)".
///
/// ```
/// use jiff::civil::date;
/// use soaklife::wording::before_when;
/// assert_eq!(before_when(date(2026, 6, 30), 16.9), "before 2043 (within 16 years)");
/// ```
#[must_use]
pub fn before_when(as_of: Date, earliest: f64) -> String {
    match before(as_of, earliest) {
        within if within.starts_with("within") => within,
        before => format!("{before} ({})", within_years(earliest)),
    }
}

/// The same by the calendar alone: "before 2043".
///
/// ```
/// use jiff::civil::date;
/// use soaklife::wording::before;
/// let told = [16.9, 0.8, 0.01].map(|years| before(date(2026, 6, 30), years));
/// assert_eq!(told, ["before 2043", "before April 2027", "within a month"]);
/// ```
#[must_use]
pub fn before(as_of: Date, earliest: f64) -> String {
    let unit = Unit::until(earliest);
    match unit.count(earliest).floor() {
        none if none < 1.0 => within_years(earliest),
        _ => format!("before {}", unit.of_calendar(as_of, earliest)),
    }
}

/// Up to a late end, by the calendar: "by 2035 (within 9 years)".
///
/// ```
/// use jiff::civil::date;
/// use soaklife::wording::by_when;
/// assert_eq!(by_when(date(2026, 6, 30), 8.7), "by 2035 (within 9 years)");
/// ```
#[must_use]
pub fn by_when(as_of: Date, latest: f64) -> String {
    format!("by {} (within {})", Unit::until(latest).of_calendar(as_of, latest), years_up(latest))
}

/// A late end alone, rounded up: "9 years", "11 months".
///
/// ```
/// use soaklife::wording::years_up;
/// assert_eq!([8.1, 0.9, 0.0].map(years_up), ["9 years", "11 months", "1 month"]);
/// ```
#[must_use]
pub fn years_up(latest: f64) -> String {
    let unit = Unit::until(latest);
    unit.told(unit.count(latest).ceil().max(1.0))
}

/// A range of years in a list: "3 to 9 years"; of one that is open, or whose late end no forecast sees, how likely what lies before
/// its early end is: "1 in 10 within 9 years". Empty where the pit is there, or the readings leave all open.
///
/// ```
/// use soaklife::trend::CrossingSet;
/// use soaklife::wording::range_in_list;
/// use soaklife::Coverage;
/// let told = |range| range_in_list(range, Coverage::EIGHTY, 60.0);
/// assert_eq!(told(CrossingSet::Between { earliest: 3.4, latest: 8.7 }), "3 to 9 years");
/// assert_eq!(told(CrossingSet::NotBefore { earliest: 9.7 }), "1 in 10 within 9 years");
/// ```
#[must_use]
pub fn range_in_list(range: CrossingSet, coverage: Coverage, horizon: f64) -> String {
    let tail = in_so_many(coverage.lower_tail());
    match range {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => String::new(),
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } if earliest > horizon => {
            format!("under {tail} in {}", Unit::Years.told(horizon))
        }
        CrossingSet::Between { earliest, latest } if latest <= horizon => years_range(earliest, latest),
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } => {
            format!("{tail} {}", within_years(earliest))
        }
        CrossingSet::Never => "never at this pace".to_owned(),
        CrossingSet::Unbounded => String::new(),
    }
}

/// A chance as so many in ten, four, twenty, forty or a hundred: "8 chances in 10", "1 chance in 20".
///
/// ```
/// use soaklife::wording::chances_in;
/// assert_eq!([0.8, 0.1, 0.05].map(chances_in), ["8 chances in 10", "1 chance in 10", "1 chance in 20"]);
/// ```
#[must_use]
pub fn chances_in(chance: f64) -> String {
    let (number, of) = odds(chance);
    format!("{} in {of}", with_noun(&number, "chance"))
}

/// The same where there is little room: "8 in 10".
///
/// ```
/// assert_eq!([0.25, 0.025].map(soaklife::wording::in_so_many), ["1 in 4", "1 in 40"]);
/// ```
#[must_use]
pub fn in_so_many(chance: f64) -> String {
    let (number, of) = odds(chance);
    format!("{number} in {of}")
}

fn odds(chance: f64) -> (String, &'static str) {
    const CLOSE: f64 = 1e-6;
    let is_whole = |of: f64| (chance * of - (chance * of).round()).abs() < CLOSE;
    let (of, told) = [(10.0, "10"), (4.0, "4"), (20.0, "20"), (40.0, "40")]
        .into_iter()
        .find(|(of, _)| is_whole(*of))
        .unwrap_or((100.0, "100"));
    let number = if is_whole(of) { format!("{:.0}", chance * of) } else { format!("{:.1}", chance * of) };
    (number, told)
}

/// The calendar year that lies so many years after a day.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::wording;
/// assert_eq!(wording::year_after(date(2026, 6, 30), 5.0), "2031");
/// ```
#[must_use]
pub fn year_after(day: Date, years: f64) -> String {
    date_after(day, years).map_or("a year beyond the calendar".to_owned(), |date| date.year().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    const AS_OF: Date = date(2026, 6, 30);

    #[test]
    fn an_early_end_is_rounded_down_a_late_one_up_and_a_median_to_the_nearest() {
        assert_eq!(years_range(12.9, 52.1), "12 to 53 years");
        assert_eq!(before_when(AS_OF, 43.2), "before 2069 (within 43 years)");
        assert_eq!(about_when(AS_OF, 27.6), "about 2054 (in 28 years)");
        assert_eq!(by_when(AS_OF, 2.1), "by 2028 (within 3 years)");
        assert_eq!(years_range(3.0, 3.0), "3 years");
        assert_eq!(
            [0.02, 0.7, 1.2].map(about_years),
            ["less than a month", "about 8 months", "about 1 year"]
        );
    }

    #[test]
    fn an_early_end_is_the_same_number_wherever_it_stands() {
        let open = CrossingSet::NotBefore { earliest: 12.9 };
        assert_eq!(range_in_list(open, Coverage::EIGHTY, 60.0), "1 in 10 within 12 years");
        assert!(before_when(AS_OF, 12.9).ends_with("(within 12 years)"));
        assert!(between_when(AS_OF, 12.9, 41.0).ends_with("(in 12 to 41 years)"));
    }

    #[test]
    fn a_range_that_is_open_is_told_as_the_chance_of_its_early_end_alone() {
        for coverage in [0.5, 0.8, 0.95] {
            let coverage = Coverage::new(coverage).unwrap();
            let beyond = CrossingSet::Between { earliest: 9.2, latest: 61.0 };
            for open in [beyond, CrossingSet::NotBefore { earliest: 9.2 }] {
                let told = range_in_list(open, coverage, 60.0);
                assert_eq!(told, format!("{} within 9 years", in_so_many(coverage.lower_tail())));
            }
        }
        assert_eq!(
            range_in_list(CrossingSet::NotBefore { earliest: 70.0 }, Coverage::EIGHTY, 60.0),
            "under 1 in 10 in 60 years"
        );
    }

    /// Both ends within one calendar year are told as that year.
    #[test]
    fn a_range_within_a_year_of_the_calendar_has_that_year_once() {
        assert_eq!(between_when(AS_OF, 4.6, 5.4), "within 2031 (in 4 to 6 years)");
    }

    #[test]
    fn one_year_and_one_month_are_singular() {
        assert_eq!([years_range(0.0, 0.05), years_range(1.0, 1.0)], ["within 1 month", "1 year"]);
        assert_eq!(
            range_in_list(CrossingSet::NotBefore { earliest: 3.0 }, Coverage::EIGHTY, 1.0),
            "under 1 in 10 in 1 year"
        );
    }

    proptest! {
        /// The number beside a calendar year, counted from the day of the forecast, never lies two years from it.
        #[test]
        fn years_from_now_and_calendar_years_never_part(
            (year, month, day) in (1990i16..2100, 1i8..=12, 1i8..=28), early in 1.0..60.0f64, more in 0.0..60.0f64,
        ) {
            let as_of = date(year, month, day);
            let numbers = |text: &str| -> Vec<f64> {
                let pieces = text.split(|letter: char| !letter.is_ascii_digit());
                pieces.filter_map(|piece| piece.parse().ok()).collect()
            };
            let told = between_when(as_of, early, early + more);
            let [from, .., low, high] = numbers(&told)[..] else { return Err(TestCaseError::reject("one year alone")) };
            let to = numbers(&told).into_iter().rev().nth(2).unwrap();
            for (calendar, ahead) in [(from, low), (to, high)] {
                prop_assert!((calendar - f64::from(year) - ahead).abs() < 2.0, "{}", told);
            }
            for told in [about_when(as_of, early), before_when(as_of, early), by_when(as_of, early)] {
                let [calendar, ahead] = numbers(&told)[..] else { panic!("{told}") };
                prop_assert!((calendar - f64::from(year) - ahead).abs() < 2.0, "{}", told);
            }
        }
    }
}
