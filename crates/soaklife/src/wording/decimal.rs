//! Plain decimals, written straight into a row of a table.

/// The powers of ten up to the number of decimals that is quick.
const POWERS: [f64; 5] = [1.0, 1e1, 1e2, 1e3, 1e4];
/// Digits written at once.
const DIGITS: usize = 8;

/// Adds a plain decimal, never "-0": the digits that the general formatter gives, several times as fast where no rounding of
/// binary to decimal can tip the last one.
///
/// ```
/// use soaklife::wording::add_decimal;
/// let mut row = b"AF-01,".to_vec();
/// add_decimal(-12.345, 1, &mut row);
/// assert_eq!(row, b"AF-01,-12.3");
/// ```
#[inline]
pub fn add_decimal(value: f64, decimals: usize, text: &mut Vec<u8>) {
    /// The product below is wrong by less than 1e-7 up to here.
    const BEYOND: f64 = 1e8 - 1.0;
    const SURELY_ROUNDED: f64 = 0.5 - 1e-6;
    /// Added to a number, it leaves no room for a fraction: what is left in the lowest bits is the number rounded.
    const WHOLE: f64 = (1u64 << 52) as f64;
    let scaled = value.abs() * POWERS.get(decimals).copied().unwrap_or(f64::NAN);
    let rounded = scaled + WHOLE;
    let is_sure = scaled < BEYOND && (scaled - (rounded - WHOLE)).abs() < SURELY_ROUNDED;
    if !is_sure {
        return add_any_decimal(value, decimals, text);
    }
    let number = rounded.to_bits() as u32;
    if value < 0.0 && number > 0 {
        text.push(b'-');
    }
    let (bytes, length) = spelled(eight_digits(number), decimals);
    // A fixed number of bytes is added and what is too many taken away again: cheaper than to add as many as it takes.
    let end = text.len() + length;
    text.extend_from_slice(&bytes.to_le_bytes());
    text.truncate(end);
}

/// The text of eight digits, without leading zeros but for one before the point, from the lowest byte on, and its length.
fn spelled(digits: u64, decimals: usize) -> (u128, usize) {
    let whole_bits = 8 * (DIGITS - decimals);
    // The bit stands for the zero that is written at least.
    let leading_bits = (digits | 1 << (whole_bits - 8)).trailing_zeros() as usize & !7;
    let shown = (digits | u64::from_ne_bytes([b'0'; DIGITS])) >> leading_bits;
    let before_bits = whole_bits - leading_bits;
    if decimals == 0 {
        return (u128::from(shown), before_bits / 8);
    }
    // The point comes after at most seven digits. Two words, because shifts of a double word take several times as long.
    let point = 1 << before_bits;
    let before = shown & (point - 1);
    let low = before | (u64::from(b'.') * point) | ((shown ^ before) << 8);
    ((u128::from(shown >> (8 * (DIGITS - 1))) << 64) | u128::from(low), before_bits / 8 + 1 + decimals)
}

/// Eight digits from 0 to 9, the first in the lowest byte.
fn eight_digits(number: u32) -> u64 {
    // Halves of four digits, quarters of two, then digits; n / 100 = 10486 n / 2²⁰ below 10⁴, n / 10 = 103 n / 2¹⁰ below 100.
    let halves = u64::from(number / 10_000) | u64::from(number % 10_000) << 32;
    let hundreds = ((halves * 10_486) >> 20) & 0x7f_0000_007f;
    let quarters = hundreds | (halves - 100 * hundreds) << 16;
    let tens = ((quarters * 103) >> 10) & 0x000f_000f_000f_000f;
    tens | (quarters - 10 * tens) << 8
}

#[cold]
#[inline(never)]
fn add_any_decimal(value: f64, decimals: usize, text: &mut Vec<u8>) {
    // More digits than these the formatter refuses, and no number has.
    let decimals = decimals.min(usize::from(u16::MAX));
    let written = format!("{value:.decimals$}");
    let is_zero = written.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    let told = if is_zero { written.trim_start_matches('-') } else { &written };
    text.extend_from_slice(told.as_bytes());
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn decimals_are_those_of_the_general_formatter(
            value in prop_oneof![-1e3..1e3, -1e9..1e9, any::<f64>(), (-80_000..80_000i32).prop_map(|n| f64::from(n) / 8.0)],
            decimals in 0usize..6,
        ) {
            let [mut ours, mut general] = [b"-".to_vec(), b"-".to_vec()];
            add_decimal(value, decimals, &mut ours);
            add_any_decimal(value, decimals, &mut general);
            prop_assert_eq!(ours, general, "{:e}", value);
        }

        #[test]
        fn digits_are_those_of_the_number(number in 0u32..100_000_000) {
            let text: String = eight_digits(number).to_le_bytes().map(|digit| char::from(b'0' + digit)).iter().collect();
            prop_assert_eq!(text, format!("{number:08}"));
        }
    }
}
