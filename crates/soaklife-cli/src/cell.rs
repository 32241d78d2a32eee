//! One value of a table, for CSV and JSON alike.

use crate::output::Failure;
use serde_json::Value;
use soaklife::wording::add_decimal;
use std::borrow::Cow;
use std::io::Write as _;

/// One value of the table.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell<'t> {
    Text(Cow<'t, str>),
    Count(usize),
    /// A number with so many decimals.
    Number(f64, usize),
    Empty,
}

impl<'t> Cell<'t> {
    pub(crate) fn number(value: Option<f64>, decimals: usize) -> Self {
        value.filter(|value| value.is_finite()).map_or(Self::Empty, |value| Self::Number(value, decimals))
    }

    pub(crate) fn text<T: Into<Cow<'t, str>>>(value: Option<T>) -> Self {
        value.map_or(Self::Empty, |text| Self::Text(text.into()))
    }

    pub(crate) fn csv(&self) -> String {
        let mut text = Vec::new();
        self.say(&mut text);
        String::from_utf8(text).unwrap_or_default()
    }

    /// Adds the value to a row of comma-separated text, in quotes if need be.
    pub(crate) fn add_to(&self, row: &mut Vec<u8>) {
        match self {
            Self::Text(text) if text.contains([',', '"', '\n', '\r']) => {
                _ = write!(row, "\"{}\"", text.replace('"', "\"\""));
            }
            _ => self.say(row),
        }
    }

    fn say(&self, out: &mut Vec<u8>) {
        match self {
            Self::Text(text) => out.extend_from_slice(text.as_bytes()),
            Self::Count(count) => _ = write!(out, "{count}"),
            Self::Number(value, decimals) => add_decimal(*value, *decimals, out),
            Self::Empty => {}
        }
    }

    pub(crate) fn json(&self) -> Value {
        match self {
            Self::Text(text) => Value::from(&**text),
            Self::Count(count) => Value::from(*count),
            Self::Number(..) => self.csv().parse::<f64>().map_or(Value::Null, Value::from),
            Self::Empty => Value::Null,
        }
    }
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
    use proptest::prelude::*;

    #[test]
    fn numbers_are_plain_decimals() {
        assert_eq!(Cell::number(Some(1.0e9), 2).csv(), "1000000000.00");
        assert_eq!(Cell::number(Some(-0.001), 2).csv(), "0.00");
        assert_eq!(Cell::number(Some(f64::NAN), 2), Cell::Empty);
        assert_eq!(Cell::number(Some(0.12345), 4).json(), Value::from(0.1235));
    }

    proptest! {
        #[test]
        fn texts_are_quoted_as_the_csv_crate_quotes_them(text in "[ab,;\"\r\né ]{1,12}") {
            let mut row = Vec::new();
            Cell::Text(text.as_str().into()).add_to(&mut row);
            row.push(b'\n');
            prop_assert_eq!(row, lines(std::iter::once(vec![text])).unwrap().into_bytes());
        }
    }
}
