//! Numbers in words, rounded to what is known: a forecast that says "5.87 years" claims what nobody can know.

pub mod coverage;
mod decimal;
pub mod fleet;
pub mod load_test;
pub mod next_reading;
pub mod sentence;

pub use decimal::add_decimal;

use crate::date::date_after;
use crate::quantity::{Length, Units};
use jiff::civil::Date;

/// A length without its unit: whole inches or centimetres, half ones where asked.
///
/// ```
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording;
/// assert_eq!(wording::length_number(inches(15.4), Units::Us, true), "15.5");
/// ```
#[must_use]
pub fn length_number(length: Length, units: Units, halves: bool) -> String {
    let value = units.count(length);
    let rounded = if halves { (value * 2.0).round() / 2.0 } else { value.round() };
    let whole = rounded.fract() == 0.0;
    if whole { format!("{:.0}", rounded + 0.0) } else { format!("{rounded:.1}") }
}

/// A length with its unit.
///
/// ```
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording;
/// assert_eq!(wording::length(inches(15.4), Units::Si), "39 cm");
/// ```
#[must_use]
pub fn length(length: Length, units: Units) -> String {
    format!("{} {}", length_number(length, units, units == Units::Us), units.name())
}

/// A rise in a year: one decimal below ten, none above.
///
/// ```
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording;
/// assert_eq!(wording::pace(inches(3.04), Units::Us), "3.0 inches a year");
/// ```
#[must_use]
pub fn pace(rise: Length, units: Units) -> String {
    format!("{} {} a year", pace_number(rise, units), units.name_in_full())
}

/// The number alone, without its sign: to the tenth below 10, whole above.
fn pace_number(rise: Length, units: Units) -> String {
    let value = units.count(rise);
    let number = if value.abs() < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") };
    number.trim_start_matches('-').to_owned()
}

/// A chance: whole percents, never 0 or 100.
///
/// ```
/// # use soaklife::wording;
/// assert_eq!([0.0, 0.43].map(wording::chance), ["under 1 %", "43 %"]);
/// ```
#[must_use]
pub fn chance(chance: f64) -> String {
    match chance * 100.0 {
        percent if percent < 1.0 => "under 1 %".to_owned(),
        percent if percent > 99.0 => "over 99 %".to_owned(),
        percent => format!("{percent:.0} %"),
    }
}

/// The step to which a range of years of this width is rounded.
fn step(width: f64) -> f64 {
    match width {
        width if width < 1.5 => 0.5,
        width if width < 20.0 => 1.0,
        _ => 5.0,
    }
}

/// So many years, in words, as precise as a range of that width allows: "about 6 years", "about 8 months".
///
/// ```
/// use soaklife::wording::about_years;
/// assert_eq!(about_years(33.2, 4.0), "about 33 years");
/// assert_eq!(about_years(33.2, 30.0), "about 35 years");
/// ```
#[must_use]
pub fn about_years(years: f64, width: f64) -> String {
    match years {
        years if years < 1.0 / 12.0 => "less than a month".to_owned(),
        years if years < 1.5 => {
            let months = (years * 12.0).round();
            if months == 1.0 { "about a month".to_owned() } else { format!("about {months:.0} months") }
        }
        years => {
            let step = if years < 10.0 { 1.0 } else { step(width).max(1.0) };
            format!("about {:.0} years", (years / step).round() * step)
        }
    }
}

/// A range of years, rounded outward to a step that suits its width, below ten years to whole ones: "4 to 10 years".
///
/// ```
/// assert_eq!(soaklife::wording::years_range(4.2, 9.6), "4 to 10 years");
/// ```
#[must_use]
pub fn years_range(earliest: f64, latest: f64) -> String {
    let step = step(latest - earliest);
    // Two years and none are not the same to whoever must act, however late the range ends.
    let fine = if earliest < 10.0 { step.min(1.0) } else { step };
    let (low, high) = ((earliest / fine).floor() * fine, (latest / step).ceil() * step);
    if high <= 0.0 {
        return "now".to_owned();
    }
    format!("{} to {} years", half(low), half(high))
}

fn half(value: f64) -> String {
    if value.fract() == 0.0 { format!("{value:.0}") } else { format!("{value:.1}") }
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

/// A month of the calendar: "May 2027".
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::wording;
/// assert_eq!(wording::month(date(2027, 5, 14)), "May 2027");
/// ```
#[must_use]
pub fn month(date: Date) -> String {
    date.strftime("%B %Y").to_string()
}

/// One thing or several: "1 reading", "3 readings", "10,000 readings".
///
/// ```
/// # use soaklife::wording::counted;
/// let told = [1, 3, 10_000].map(|count| counted(count, "reading"));
/// assert_eq!(told, ["1 reading", "3 readings", "10,000 readings"]);
/// ```
#[must_use]
pub fn counted(count: usize, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{} {one}s", fleet::grouped(count as f64)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::inches;

    #[test]
    fn years_are_never_more_precise_than_known() {
        assert_eq!(about_years(5.87, 6.0), "about 6 years");
        assert_eq!(about_years(0.02, 0.1), "less than a month");
        assert_eq!(about_years(0.67, 1.0), "about 8 months");
        assert_eq!(about_years(1.2, 1.0), "about 14 months");
        assert_eq!(about_years(33.0, 25.0), "about 35 years");
        assert_eq!(years_range(4.2, 9.6), "4 to 10 years");
        assert_eq!(years_range(4.7, 5.4), "4.5 to 5.5 years");
        assert_eq!(years_range(12.0, 41.0), "10 to 45 years");
        assert_eq!(years_range(2.5, 24.0), "2 to 25 years");
        assert_eq!(years_range(0.0, 0.0), "now");
    }

    #[test]
    fn chances_are_never_certain() {
        assert_eq!(
            [0.0, 0.004, 0.5, 0.996, 1.0].map(chance),
            ["under 1 %", "under 1 %", "50 %", "over 99 %", "over 99 %"]
        );
    }

    #[test]
    fn lengths_are_told_to_the_half_inch() {
        assert_eq!(length(inches(15.4), Units::Us), "15.5 in");
        assert_eq!(length(inches(15.4), Units::Si), "39 cm");
        assert_eq!(pace(inches(3.04), Units::Us), "3.0 inches a year");
        assert_eq!(length_number(inches(-0.2), Units::Us, false), "0");
    }
}
