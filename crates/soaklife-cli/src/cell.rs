//! One value of a table, for CSV and JSON alike.

use crate::output::Failure;
use serde_json::Value;

/// One value of the table.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell {
    Text(String),
    Count(usize),
    /// A number with so many decimals.
    Number(f64, usize),
    Empty,
}

impl Cell {
    pub(crate) fn number(value: Option<f64>, decimals: usize) -> Self {
        value.filter(|value| value.is_finite()).map_or(Self::Empty, |value| Self::Number(value, decimals))
    }

    pub(crate) fn text(value: Option<String>) -> Self {
        value.map_or(Self::Empty, Self::Text)
    }

    pub(crate) fn csv(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Count(count) => count.to_string(),
            Self::Number(value, decimals) => rounded(*value, *decimals),
            Self::Empty => String::new(),
        }
    }

    pub(crate) fn json(&self) -> Value {
        match self {
            Self::Text(text) => Value::from(text.as_str()),
            Self::Count(count) => Value::from(*count),
            Self::Number(value, decimals) => {
                rounded(*value, *decimals).parse::<f64>().map_or(Value::Null, Value::from)
            }
            Self::Empty => Value::Null,
        }
    }
}

/// A plain decimal, never "-0".
fn rounded(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// A table as CSV: the names of the columns, and its rows.
pub(crate) fn table(names: Vec<String>, rows: impl Iterator<Item = Vec<String>>) -> Result<String, Failure> {
    lines(std::iter::once(names).chain(rows))
}

/// Rows as CSV.
pub(crate) fn lines(rows: impl Iterator<Item = Vec<String>>) -> Result<String, Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer
            .write_record(row)
            .map_err(|error| Failure::ReadOrWrite(format!("the table cannot be written: {error}")))?;
    }
    let bytes = writer.into_inner().map_err(|error| Failure::ReadOrWrite(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| Failure::ReadOrWrite(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_plain_decimals() {
        assert_eq!(Cell::number(Some(1.0e9), 2).csv(), "1000000000.00");
        assert_eq!(Cell::number(Some(-0.001), 2).csv(), "0.00");
        assert_eq!(Cell::number(Some(f64::NAN), 2), Cell::Empty);
        assert_eq!(Cell::number(Some(0.12345), 4).json(), Value::from(0.1235));
    }
}
