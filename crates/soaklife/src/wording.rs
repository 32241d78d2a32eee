//! Numbers in words, rounded to what is known: a forecast that says "5.87 years" claims what nobody can know.

pub mod coverage;
mod decimal;
pub mod fleet;
pub mod household;
mod inlet;
pub mod load_test;
mod moving;
pub mod next_reading;
mod noun;
pub mod sentence;
mod years;

pub use decimal::add_decimal;
pub use noun::{counted, with_noun};
pub use years::{
    about_when, about_years, before, before_when, between_when, by_when, chances_in, in_so_many,
    range_in_list, within_years, year_after, years_down, years_range, years_up,
};

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

/// A length as a sentence has it, with the unit in full: "1 inch", "15.5 inches", "39 cm".
///
/// ```
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording;
/// assert_eq!([1.0, 15.4].map(|length| wording::length_in_full(inches(length), Units::Us)), ["1 inch", "15.5 inches"]);
/// ```
#[must_use]
pub fn length_in_full(length: Length, units: Units) -> String {
    match units {
        Units::Us => with_noun(&length_number(length, units, true), "inch"),
        Units::Si => self::length(length, units),
    }
}

/// A rise in a year, without its sign: one decimal below ten, none above, "less than 0.1 inches a year" for next to nothing.
///
/// ```
/// # use soaklife::quantity::{Units, inches};
/// # use soaklife::wording;
/// assert_eq!(wording::pace(inches(3.04), Units::Us), "3.0 inches a year");
/// assert_eq!(wording::pace(inches(-0.02), Units::Us), "less than 0.1 inches a year");
/// ```
#[must_use]
pub fn pace(rise: Length, units: Units) -> String {
    let number = match pace_number(rise, units) {
        none if none == "0.0" => "less than 0.1".to_owned(),
        number => number,
    };
    format!("{number} {} a year", units.name_in_full())
}

/// The number alone, without its sign: to the tenth below 10, whole above.
fn pace_number(rise: Length, units: Units) -> String {
    let value = units.count(rise).abs();
    if value < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// A number to the tenth, with its sign, never "-0.0".
///
/// ```
/// # use soaklife::wording;
/// assert_eq!([-0.04, -1.26, 3.0].map(wording::tenths), ["0.0", "-1.3", "3.0"]);
/// ```
#[must_use]
pub fn tenths(value: f64) -> String {
    let mut text = Vec::new();
    add_decimal(value, 1, &mut text);
    String::from_utf8(text).unwrap_or_default()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::inches;

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
        assert_eq!(length_in_full(inches(0.9), Units::Us), "1 inch");
    }

    #[test]
    fn a_pace_of_nothing_has_no_sign_and_no_nought() {
        assert_eq!(tenths(-0.01), "0.0");
        assert_eq!(pace(inches(-0.01), Units::Us), "less than 0.1 inches a year");
    }
}
