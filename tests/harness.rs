//! Shared by the published-reference tests: where the fixtures lie, and what "agrees" means.
//!
//! Tolerances are relative unless they say absolute. Each constant below names the reason for its size; a test
//! that needs another one says why beside it.

pub mod arbitrary;
pub mod fan;
pub mod few_readings;
pub mod plain_pit;
pub mod simulated_pits;
pub mod sound;

use serde_json::Value;
use std::path::PathBuf;

/// Tolerances and the reason for each.
pub mod tol {
    /// References in exact or 40–80 digit arithmetic, results of a few dozen roundings.
    pub const EXACT: f64 = 1e-12;
    /// The same, after a root or a closed form that magnifies roundings a little.
    pub const CLOSED_FORM: f64 = 1e-11;
    /// Crossing times that the references give from a 50-digit quadratic.
    pub const CROSSING: f64 = 1e-10;
}

/// The path of a fixture.
#[must_use]
pub fn fixture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../fixtures").join(name)
}

/// A published JSON case.
///
/// # Panics
/// If the file is missing or no JSON: a test cannot go on without it.
#[must_use]
pub fn published_json(name: &str) -> Value {
    let path = fixture("published").join(name);
    let read = std::fs::read_to_string(&path).map_err(|error| error.to_string());
    let parsed = read.and_then(|text| serde_json::from_str(&text).map_err(|error| error.to_string()));
    parsed.unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The rows of a published CSV table as text, without the header.
///
/// # Panics
/// If the file is missing or ragged.
#[must_use]
pub fn published_rows(name: &str) -> Vec<Vec<String>> {
    let path = fixture("published").join(name);
    let mut reader =
        csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let rows = reader.records().map(|record| record.map(|row| row.iter().map(str::to_owned).collect()));
    rows.collect::<Result<_, _>>().unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The rows of a published CSV table of numbers, without the header.
///
/// # Panics
/// If the file is missing, ragged, or holds something that is no number.
#[must_use]
pub fn published_table(name: &str) -> Vec<Vec<f64>> {
    published_rows(name).iter().map(|row| row.iter().map(|field| parse(field)).collect()).collect()
}

/// A column of a published CSV table, by its name in the header.
///
/// # Panics
/// If the file or the column is missing, or holds something that is no number.
#[must_use]
pub fn published_column(name: &str, column: &str) -> Vec<f64> {
    let path = fixture("published").join(name);
    let mut reader =
        csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let place = reader.headers().ok().and_then(|header| header.iter().position(|field| field == column));
    let place = place.unwrap_or_else(|| panic!("{}: no column {column}", path.display()));
    published_rows(name).iter().map(|row| parse(&row[place])).collect()
}

/// A number of a JSON case, written as a number or as a decimal string of many digits.
///
/// # Panics
/// If it is neither.
#[must_use]
pub fn number(value: &Value) -> f64 {
    match value {
        Value::Number(number) => number.as_f64().unwrap_or(f64::NAN),
        Value::String(text) => parse(text),
        other => panic!("{other} is not a number"),
    }
}

/// A list of numbers of a JSON case.
///
/// # Panics
/// If it is no list of numbers.
#[must_use]
pub fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().unwrap_or_else(|| panic!("{value} is not a list"));
    list.iter().map(number).collect()
}

fn parse(text: &str) -> f64 {
    text.trim().parse().unwrap_or_else(|_| panic!("{text:?} is not a number"))
}

/// How far `found` is from `reference`, relative to it; 0 if both are not a number, infinite if one is.
#[must_use]
pub fn relative_error(found: f64, reference: f64) -> f64 {
    match (found.is_nan(), reference.is_nan()) {
        (true, true) => 0.0,
        (false, false) if found == reference => 0.0,
        (false, false) => ((found - reference) / reference).abs(),
        _ => f64::INFINITY,
    }
}

/// Asserts agreement relative to the reference.
///
/// # Panics
/// If they differ by more than `tolerance`.
#[track_caller]
pub fn assert_close(found: f64, reference: f64, tolerance: f64, what: &str) {
    let error = relative_error(found, reference);
    assert!(error <= tolerance, "{what}: {found:e} for {reference:e}, off by {error:e} > {tolerance:e}");
}

/// Asserts agreement in absolute terms.
///
/// # Panics
/// If they differ by more than `tolerance`, or if either is not a number.
#[track_caller]
pub fn assert_within(found: f64, reference: f64, tolerance: f64, what: &str) {
    let error = (found - reference).abs();
    assert!(error <= tolerance, "{what}: {found:e} for {reference:e}, off by {error:e} > {tolerance:e}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_digit_is_seen() {
        assert!(std::panic::catch_unwind(|| assert_close(1.0 + 1e-11, 1.0, 1e-12, "x")).is_err());
        assert!(std::panic::catch_unwind(|| assert_within(1.0, 1.1, 0.05, "x")).is_err());
        assert_close(-2.0, -2.0 - 1e-13, 1e-12, "x");
    }

    #[test]
    fn not_a_number_agrees_with_itself_only() {
        assert_eq!(relative_error(f64::NAN, f64::NAN), 0.0);
        assert_eq!(relative_error(f64::NAN, 1.0), f64::INFINITY);
        assert_eq!(relative_error(1.0, f64::NAN), f64::INFINITY);
        assert!(std::panic::catch_unwind(|| assert_within(f64::NAN, 1.0, 1.0, "x")).is_err());
    }

    #[test]
    fn a_zero_reference_asks_for_zero() {
        assert_eq!(relative_error(0.0, 0.0), 0.0);
        assert_eq!(relative_error(1e-300, 0.0), f64::INFINITY);
    }
}
