//! One field of a row: the value it holds, or what is wrong with it and the mend.

use crate::problem::{Fault, ProblemKind, quoted};
use jiff::civil::{Date, DateTime};
use soaklife::date::{DateError, PartialDate};

/// A plain finite decimal number.
pub(crate) fn number(name: &str, text: &str) -> Result<f64, Fault> {
    if let Some(value) = short_decimal(text.as_bytes()) {
        return Ok(value);
    }
    let plain =
        text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+' | b'e' | b'E'));
    match text.parse::<f64>() {
        Ok(value) if plain && value.is_finite() => Ok(value),
        Ok(value) if !value.is_finite() => {
            Err(Fault::new(ProblemKind::Number, format!("{name} {} is not a finite number", quoted(text))))
        }
        _ => Err(Fault::new(
            ProblemKind::Number,
            format!("{name} {} is not a number{}", quoted(text), number_mend(text)),
        )),
    }
}

/// A decimal of at most fifteen digits, as nearly all are. None for anything else.
pub(crate) fn short_decimal(text: &[u8]) -> Option<f64> {
    leading_decimal(text).filter(|&(_, length)| length == text.len()).map(|(value, _)| value)
}

/// The decimal of at most fifteen digits that a text begins with, and its length. Digits and power of ten are then exact, and
/// so is the rounding of their quotient.
pub(crate) fn leading_decimal(text: &[u8]) -> Option<(f64, usize)> {
    let (whole, whole_digits) = leading_digits(text, 0);
    let (digits, decimals) = match text.get(whole_digits) {
        Some(b'.') => leading_digits(text.get(whole_digits + 1..)?, whole),
        _ => (whole, 0),
    };
    let has_point = text.get(whole_digits) == Some(&b'.');
    let count = whole_digits + decimals;
    (1..=15).contains(&count).then(|| (digits as f64 / POWERS[decimals], count + usize::from(has_point)))
}

const POWERS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// The decimal that eight characters begin with and its length, all of them looked at together. None if it might go on behind
/// them.
#[inline(always)] // In the loop over readings a call costs as much as the work.
pub(crate) fn decimal_within(text: [u8; 8]) -> Option<(f64, usize)> {
    const HIGH: u64 = 0x8080_8080_8080_8080;
    let values = u64::from_le_bytes(text) ^ 0x3030_3030_3030_3030;
    // 0x76 lifts what is above 9 to the highest bit of its byte.
    let no_digit = (((values & !HIGH) + 0x7676_7676_7676_7676) | values) & HIGH;
    let point = no_digit.trailing_zeros() / 8;
    let has_point = *text.get(point as usize)? == b'.';
    let second = (no_digit & no_digit.wrapping_sub(1)).trailing_zeros() / 8;
    let length = if has_point { second } else { point };
    if point == 0 || length > 7 {
        return None;
    }
    // Without the point, the last digit in the highest byte and zeros before the first.
    let before_point = values & !(u64::MAX << (8 * point));
    let behind_it = values >> (8 * point) >> 8 << (8 * point);
    let count = length - u32::from(has_point);
    let digits = (before_point | behind_it) << (8 * (8 - count));
    // Digits to pairs, pairs to fours, fours to the number.
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    let fours = (pairs & 0x0000_00ff_0000_00ff).wrapping_mul(100 + (1_000_000 << 32));
    let other_fours = (pairs >> 16 & 0x0000_00ff_0000_00ff).wrapping_mul(1 + (10_000 << 32));
    let number = (fours.wrapping_add(other_fours) >> 32) as u32;
    Some((f64::from(number) / POWERS[(count - point) as usize], length as usize))
}

/// A day written in full, as nearly all are; year and month are looked at together.
#[inline(always)] // As above.
pub(crate) fn day_within(text: [u8; 10]) -> Option<Date> {
    const HIGH: u64 = 0x8080_8080_8080_8080;
    let [year_and_month @ .., tens, ones] = text;
    let values = u64::from_le_bytes(year_and_month) ^ u64::from_le_bytes(*b"0000-00-");
    // 0x76 lifts what is above 9 to the highest bit of its byte, 0x7f what is not the dash.
    let is_other = ((values & !HIGH) + 0x7f76_767f_7676_7676) | values;
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    if is_other & HIGH != 0 || tens > 9 || ones > 9 {
        return None;
    }
    let pairs = values.wrapping_mul(10).wrapping_add(values >> 8).to_le_bytes();
    let year = 100 * i16::from(pairs[0]) + i16::from(pairs[2]);
    if year == 0 {
        return None;
    }
    Date::new(year, pairs[5] as i8, (10 * tens + ones) as i8).ok()
}

/// A number followed by the digits that a text begins with, and how many these are: sixteen at most.
fn leading_digits(text: &[u8], before: u64) -> (u64, usize) {
    let (mut number, mut count) = (before, 0);
    for byte in text.iter().take(16).map(|byte| byte.wrapping_sub(b'0')).take_while(|&digit| digit < 10) {
        number = number.wrapping_mul(10).wrapping_add(u64::from(byte));
        count += 1;
    }
    (number, count)
}

/// What someone who wrote this probably meant, as the end of a sentence.
fn number_mend(text: &str) -> String {
    let unsigned = text.trim_start_matches(['-', '+']);
    let starts_with_digit = unsigned.starts_with(|c: char| c.is_ascii_digit());
    let is_whole = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if text.starts_with('#') {
        return ": it is a spreadsheet's error value; mend the cell there".to_owned();
    }
    if text.starts_with('=') {
        return ": it is a formula; save the values, not the formulas".to_owned();
    }
    if let Some(value) = fraction(unsigned) {
        return format!(": write {value}");
    }
    if let Some(inches) = feet_and_inches(text) {
        return format!(": write one number in the unit of the column; {} is {inches} in", quoted(text));
    }
    if let Some(value) = unsigned.strip_suffix('%').map(str::trim).and_then(|value| value.parse::<f64>().ok())
    {
        return format!(": write {} for {} %", value / 100.0, value);
    }
    if let Some(value) = without_thousands(unsigned) {
        return format!(": leave out the thousands separator, as in {value}");
    }
    if starts_with_digit
        && unsigned.split_once(',').is_some_and(|(whole, part)| is_whole(whole) && is_whole(part))
    {
        return format!(": write a decimal point, as in {}", unsigned.replace(',', "."));
    }
    if let Some(value) = unsigned
        .strip_prefix(['$', '€', '£'])
        .map(|value| value.replace(',', ""))
        .filter(|value| value.split('.').all(is_whole) && value.parse::<f64>().is_ok())
    {
        return format!(": leave out the currency sign, as in {value}");
    }
    if text.starts_with('\u{2212}') {
        return ": it begins with a typographic minus".to_owned();
    }
    if text.chars().any(|c| c.is_numeric() && !c.is_ascii_digit()) {
        return ": write plain digits".to_owned();
    }
    if starts_with_digit && unsigned.ends_with(|c: char| c.is_ascii_alphabetic()) {
        return ": the unit belongs in the column's name, not in the cell".to_owned();
    }
    ": write a plain decimal number".to_owned()
}

/// "41 1/2" as 41.5.
fn fraction(text: &str) -> Option<f64> {
    let (whole, part) = text.split_once(' ').unwrap_or(("0", text));
    let (above, below) = part.trim().split_once('/')?;
    let digits = |text: &str| text.parse::<u16>().ok().map(f64::from);
    let value = digits(whole)? + digits(above)? / digits(below)?;
    value.is_finite().then_some(value)
}

/// 7'4" as 88 inches.
fn feet_and_inches(text: &str) -> Option<f64> {
    if !text.contains('\'') {
        return None;
    }
    let length = crate::measure::parse_length(text).ok()?;
    Some((soaklife::quantity::as_inches(length) * 1000.0).round() / 1000.0)
}

/// "1,200" as 1200.
fn without_thousands(text: &str) -> Option<String> {
    let (wholes, part) = text.split_once('.').unwrap_or((text, "0"));
    let mut groups = wholes.split(',');
    let first = groups.next()?;
    let rest: Vec<&str> = groups.collect();
    let grouped =
        rest.iter().all(|group| group.len() == 3 && group.bytes().all(|byte| byte.is_ascii_digit()));
    let leads = !first.is_empty() && first.len() <= 3 && first.bytes().all(|byte| byte.is_ascii_digit());
    let decimal = !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    (leads && grouped && decimal && !rest.is_empty()).then(|| text.replace(',', ""))
}

/// A day, month or year.
pub(crate) fn date(name: &str, text: &str) -> Result<PartialDate, Fault> {
    text.parse::<PartialDate>().map_err(|error| {
        let mend = match error {
            DateError::NoSuchDay { .. } => "the calendar has no such day".to_owned(),
            _ => date_mend(text),
        };
        Fault::new(ProblemKind::Date, format!("{name} {} is not a date: {mend}", quoted(text)))
    })
}

fn date_mend(text: &str) -> String {
    let is_day_number = text.len() == 5 && text.bytes().all(|byte| byte.is_ascii_digit());
    if is_day_number {
        return "it looks like a spreadsheet's day number; write 2026-05-14".to_owned();
    }
    if text.len() > 10 && text.get(..10).is_some_and(|day| day.parse::<PartialDate>().is_ok()) {
        return format!("leave out the time, as in {}", &text[..10]);
    }
    if text.contains('/') {
        return "write the year first, as in 2026-05-14".to_owned();
    }
    "write it as in 2026-05-14, or 2026-05 or 2026 where no more is known".to_owned()
}

/// A day and a time of day.
pub(crate) fn time(name: &str, text: &str) -> Result<DateTime, Fault> {
    let form = text.len() >= 16 && matches!(text.as_bytes().get(10), Some(b'T' | b' '));
    match text.parse::<DateTime>() {
        Ok(time) if form => Ok(time),
        _ => {
            let message =
                format!("{name} {} is not a day and time: write it as in 2026-05-14T09:30", quoted(text));
            Err(Fault::new(ProblemKind::Date, message))
        }
    }
}

/// One of a few words, by its place among them, and whether it was written in capitals.
pub(crate) fn word(name: &str, text: &str, words: &'static [&'static str]) -> Result<(usize, bool), Fault> {
    if let Some(place) = words.iter().position(|word| *word == text) {
        return Ok((place, false));
    }
    if let Some(place) = words.iter().position(|word| word.eq_ignore_ascii_case(text)) {
        return Ok((place, true));
    }
    let message = format!("{name} {} is not one of {}", quoted(text), words.join(", "));
    Err(Fault::new(ProblemKind::Word, message))
}

/// The nearest of some names: two slips of the pen at most, and no more than one in three letters.
pub(crate) fn nearest<'n>(text: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let text = text.to_lowercase();
    let distance = |name: &str| slips_between(&text, &name.to_lowercase());
    names
        .map(|name| (distance(name), name))
        .filter(|(slips, name)| *slips <= 2 && slips * 3 <= name.len())
        .min()
        .map(|(_, name)| name)
}

/// Levenshtein distance of two short texts; longer ones are told apart at once.
fn slips_between(a: &str, b: &str) -> usize {
    const LONGEST: usize = 64;
    let (a, b): (Vec<char>, Vec<char>) =
        (a.chars().take(LONGEST + 1).collect(), b.chars().take(LONGEST + 1).collect());
    if a.len() > LONGEST || b.len() > LONGEST || a.len().abs_diff(b.len()) > 2 {
        return usize::MAX;
    }
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.iter().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (slot, cb) in row.iter_mut().skip(1).zip(&b) {
            let best = (diagonal + usize::from(ca != cb)).min(*slot + 1).min(left + 1);
            diagonal = std::mem::replace(slot, best);
            left = best;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn decimals_looked_at_at_once_are_those_read_digit_by_digit(text in "[0-9]{0,5}[.,]?[0-9]{0,6}[\\n,x .-][0-9\\n]{7}") {
            let first = *text.as_bytes().first_chunk().unwrap();
            if let Some(found) = decimal_within(first) {
                prop_assert_eq!(Some(found), leading_decimal(text.as_bytes()));
            } else {
                let whole = text.bytes().take_while(u8::is_ascii_digit).count();
                prop_assert!(whole == 0 || text.bytes().take(8).all(|b| b.is_ascii_digit() || b == b'.'), "{}", text);
            }
        }

        #[test]
        fn days_are_read_as_the_general_reader_does(text in "[0-2][0-9]{3}[-/]?[01][0-9]-[0-3][0-9]?") {
            let general = text.parse::<PartialDate>().ok().filter(|date| date.is_exact()).map(PartialDate::first);
            let usual = text.as_bytes().try_into().ok().and_then(day_within);
            prop_assert_eq!(usual, general, "{}", text);
        }
    }

    #[test]
    fn dates_and_times_are_refused_with_the_mend() {
        for (text, mend) in [
            ("2026-02-30", "the calendar has no such day"),
            ("46156", "a spreadsheet's day number"),
            ("2026-05-14T09:30", "leave out the time, as in 2026-05-14"),
            ("5/14/2026", "write the year first"),
            ("2026-05-1", "write it as in 2026-05-14, or 2026-05 or 2026"),
            ("46156x", "write it as in 2026-05-14, or 2026-05 or 2026"),
        ] {
            let fault = date("date", text).unwrap_err();
            assert!(fault.message.contains(mend), "{}", fault.message);
        }
        let half_past_nine = jiff::civil::datetime(2026, 5, 14, 9, 30, 0, 0);
        for text in ["2026-05-14T09:30", "2026-05-14 09:30", "2026-05-14T09:30:00"] {
            assert_eq!(time("time", text).ok(), Some(half_past_nine), "{text}");
        }
        for text in ["2026-05-14", "20260514T093000", "2026-05-14T09", "14.5.2026 at 09:30"] {
            let fault = time("time", text).unwrap_err();
            assert!(fault.message.contains("write it as in 2026-05-14T09:30"), "{text}: {}", fault.message);
        }
    }

    #[test]
    fn slips_are_counted_as_levenshtein_defines_them() {
        // By the definition: the fewest letters to put in, take out or change.
        fn defined(a: &[u8], b: &[u8]) -> usize {
            let ([first, a_rest @ ..], [other, b_rest @ ..]) = (a, b) else { return a.len().max(b.len()) };
            if first == other {
                return defined(a_rest, b_rest);
            }
            1 + defined(a_rest, b_rest).min(defined(a, b_rest)).min(defined(a_rest, b))
        }
        let words = ["", "a", "ab", "ba", "bab", "abba", "baab", "depth", "deptht", "dpeth", "death", "date"];
        for a in words {
            for b in words.into_iter().filter(|b| a.len().abs_diff(b.len()) <= 2) {
                assert_eq!(slips_between(a, b), defined(a.as_bytes(), b.as_bytes()), "{a}, {b}");
            }
        }
        assert_eq!(slips_between("a", "abcd"), usize::MAX);
        let (long, longer) = ("x".repeat(64), "x".repeat(65));
        assert_eq!((slips_between(&long, &long), slips_between(&longer, &longer)), (0, usize::MAX));
        assert_eq!((slips_between(&long, &longer), slips_between(&longer, &long)), (usize::MAX, usize::MAX));
    }

    #[test]
    fn numbers_are_plain_decimals() {
        // Read at once, and not only in the end.
        assert_eq!(
            ["88", "88.5", "1e2", ""].map(|text| short_decimal(text.as_bytes())),
            [Some(88.0), Some(88.5), None, None]
        );
        for (text, value) in [("88", 88.0), ("-12", -12.0), ("88.50", 88.5), ("+1", 1.0), ("1e2", 100.0)] {
            assert_eq!(number("depth", text).ok(), Some(value));
        }
        for (text, mend) in [
            ("41 1/2", "write 41.5"),
            ("88,5", "write a decimal point, as in 88.5"),
            ("1,200", "thousands separator, as in 1200"),
            ("1,200.5", "thousands separator, as in 1200.5"),
            ("1234,567", "write a decimal point, as in 1234.567"),
            ("1,20.5", "write a plain decimal number"),
            (",200", "write a plain decimal number"),
            ("12.345,6", "write a plain decimal number"),
            ("88 in", "the unit belongs in the column's name"),
            ("7'4\"", "is 88 in"),
            ("35%", "write 0.35"),
            ("$18,000", "currency sign, as in 18000"),
            ("#REF!", "error value"),
            ("=C3-2", "formula"),
            ("−12", "typographic minus"),
            ("８８", "plain digits"),
            ("NaN", "not a finite number"),
            ("inf", "not a finite number"),
            ("1e400", "not a finite number"),
            ("0x58", "not a number"),
            ("about 88", "not a number"),
        ] {
            let fault = number("depth", text).unwrap_err();
            assert!(fault.message.contains(mend), "{}", fault.message);
        }
    }

    proptest::proptest! {
        #[test]
        fn short_decimals_are_read_as_the_general_reader_does(text in "[0-9]{0,12}[.eE+-]?[0-9]{0,7}") {
            if let Some(value) = short_decimal(text.as_bytes()) {
                proptest::prop_assert_eq!(Ok(value.to_bits()), text.parse::<f64>().map(f64::to_bits), "{}", text);
            }
        }
    }

    #[test]
    fn the_nearest_name_is_two_slips_away_at_most() {
        let names = ["depth_to_liquid_in", "date", "N-1"];
        assert_eq!(nearest("dept_to_liquid_in", names.into_iter()), Some("depth_to_liquid_in"));
        assert_eq!(nearest("n-1", names.into_iter()), Some("N-1"));
        assert_eq!(nearest("note", names.into_iter()), None);
        assert_eq!(nearest(&"x".repeat(1_000_000), names.into_iter()), None);
    }
}
