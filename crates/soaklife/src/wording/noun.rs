//! A number with its noun: "1 reading", "3 readings".

use super::fleet::grouped;

/// A number as it is written with what it counts, in the singular or in the plural; of a range the number is its last one.
///
/// ```
/// use soaklife::wording::with_noun;
/// assert_eq!([with_noun("1", "inch"), with_noun("0.5", "inch"), with_noun("1.0", "day")], ["1 inch", "0.5 inches", "1.0 days"]);
/// assert_eq!([with_noun("0 to 1", "pit"), with_noun("1 to 3", "pit")], ["0 to 1 pit", "1 to 3 pits"]);
/// ```
#[must_use]
pub fn with_noun(number: &str, one: &str) -> String {
    let is_one = number.rsplit(' ').next() == Some("1");
    format!("{number} {}", if is_one { one.to_owned() } else { plural(one) })
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
    with_noun(&grouped(count as f64), one)
}

/// Several of a thing.
fn plural(one: &str) -> String {
    match one {
        inch if inch.ends_with("ch") => format!("{inch}es"),
        other => format!("{other}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_whole_one_is_singular() {
        let told =
            ["0", "1", "1.0", "1.5", "11", "0 to 1", "1 to 11"].map(|number| with_noun(number, "year"));
        let right =
            ["0 years", "1 year", "1.0 years", "1.5 years", "11 years", "0 to 1 year", "1 to 11 years"];
        assert_eq!(told, right);
    }
}
