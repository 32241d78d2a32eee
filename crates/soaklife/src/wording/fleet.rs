//! Counts and money of a fleet, rounded to what is known.

/// An expected number: one decimal below ten, none above, two digits from a thousand on, "under 0.1" for next to nothing.
///
/// ```
/// use soaklife::wording::fleet::expected_number;
/// assert_eq!([0.0, 0.04, 2.13, 9.96, 1_234.5].map(expected_number), ["0", "under 0.1", "2.1", "10", "1,200"]);
/// ```
#[must_use]
pub fn expected_number(expected: f64) -> String {
    match expected {
        none if none <= 0.0 => "0".to_owned(),
        little if little < 0.05 => "under 0.1".to_owned(),
        few if few < 9.95 => format!("{few:.1}"),
        many => count_number(many.round()),
    }
}

/// A count: as it is below a thousand, two digits above.
///
/// ```
/// use soaklife::wording::fleet::count_number;
/// assert_eq!([0.0, 999.0, 2_192.0].map(count_number), ["0", "999", "2,200"]);
/// ```
#[must_use]
pub fn count_number(count: f64) -> String {
    if count < 1_000.0 { grouped(count) } else { amount_number(count) }
}

/// An amount of money without its currency: two digits, because no more is known.
///
/// ```
/// use soaklife::wording::fleet::amount_number;
/// assert_eq!([0.0, 17.2, 1_063.0, 143_900.0].map(amount_number), ["0", "17", "1,100", "140,000"]);
/// ```
#[must_use]
pub fn amount_number(amount: f64) -> String {
    if !amount.is_finite() || amount.abs() < 0.5 {
        return "0".to_owned();
    }
    let step = 10f64.powf((amount.abs().log10().floor() - 1.0).max(0.0));
    grouped((amount / step).round() * step)
}

/// The amount expected of failures of which so many are expected: where their number is next to nothing ([`expected_number`] says
/// "under 0.1"), so is the amount, and no digit of it is known.
///
/// ```
/// use soaklife::wording::fleet::expected_amount_number;
/// assert_eq!([(85_300.0, 4.1), (28.0, 0.002), (0.0, 0.0)].map(|(of, count)| expected_amount_number(of, count)), ["85,000", "under 1,400", "0"]);
/// ```
#[must_use]
pub fn expected_amount_number(expected: f64, count: f64) -> String {
    let of_one = expected / count;
    if count < 0.05 && of_one > 0.0 && of_one.is_finite() {
        return format!("under {}", amount_number(of_one * 0.1));
    }
    amount_number(expected)
}

/// The same with its currency: "USD 85,000", "under USD 1,400".
///
/// ```
/// use soaklife::wording::fleet::expected_amount;
/// assert_eq!(expected_amount(28.0, 0.002, "USD"), "under USD 1,400");
/// ```
#[must_use]
pub fn expected_amount(expected: f64, count: f64, currency: &str) -> String {
    let number = expected_amount_number(expected, count);
    match number.strip_prefix("under ") {
        Some(most) => format!("under {currency} {most}"),
        None => format!("{currency} {number}"),
    }
}

/// An amount with its currency: "USD 140,000".
///
/// ```
/// use soaklife::wording::fleet::amount;
/// assert_eq!(amount(143_900.0, "USD"), "USD 140,000");
/// ```
#[must_use]
pub fn amount(amount: f64, currency: &str) -> String {
    format!("{currency} {}", amount_number(amount))
}

/// A whole number with its thousands set apart: "12,345".
///
/// ```
/// use soaklife::wording::fleet::grouped;
/// assert_eq!([0.0, 999.0, -1_000.0, 1_234_567.0].map(grouped), ["0", "999", "-1,000", "1,234,567"]);
/// ```
#[must_use]
pub fn grouped(whole: f64) -> String {
    let digits = format!("{:.0}", whole.abs());
    let mut text = if whole < 0.0 && digits != "0" { "-".to_owned() } else { String::new() };
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
