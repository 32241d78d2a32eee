//! Units of a column, and lengths and flows as people say them.

use soaklife::quantity::{
    Length, Volume, VolumeRate, centimetres, cubic_metres, cubic_metres_per_day, feet, gallons,
    gallons_per_day, inches, litres, litres_per_day, metres,
};
use thiserror::Error;

/// The unit of a column, said by the end of its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Inches, `_in`.
    Inch,
    /// Feet, `_ft`.
    Foot,
    /// Centimetres, `_cm`.
    Centimetre,
    /// Metres, `_m`.
    Metre,
    /// US gallons a day, `_gpd`.
    GallonPerDay,
    /// Litres a day, `_lpd`.
    LitrePerDay,
    /// Cubic metres a day, `_m3d`.
    CubicMetrePerDay,
    /// US gallons, `_gal`.
    Gallon,
    /// Litres, `_l`.
    Litre,
    /// Cubic metres, `_m3`.
    CubicMetre,
}

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// A length.
    Length,
    /// A flow.
    Flow,
    /// A volume.
    Volume,
}

impl Unit {
    /// Every unit.
    pub const ALL: [Self; 10] = [
        Self::Inch,
        Self::Foot,
        Self::Centimetre,
        Self::Metre,
        Self::GallonPerDay,
        Self::LitrePerDay,
        Self::CubicMetrePerDay,
        Self::Gallon,
        Self::Litre,
        Self::CubicMetre,
    ];

    /// The end of a column's name that says it, without the underscore.
    #[must_use]
    pub fn suffix(self) -> &'static str {
        match self {
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::GallonPerDay => "gpd",
            Self::LitrePerDay => "lpd",
            Self::CubicMetrePerDay => "m3d",
            Self::Gallon => "gal",
            Self::Litre => "l",
            Self::CubicMetre => "m3",
        }
    }

    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Inch | Self::Foot | Self::Centimetre | Self::Metre => Dimension::Length,
            Self::GallonPerDay | Self::LitrePerDay | Self::CubicMetrePerDay => Dimension::Flow,
            Self::Gallon | Self::Litre | Self::CubicMetre => Dimension::Volume,
        }
    }

    /// The unit of that suffix.
    #[must_use]
    pub fn of_suffix(suffix: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.suffix() == suffix)
    }

    /// Whether it is one of the International System.
    #[must_use]
    pub fn is_metric(self) -> bool {
        !matches!(self, Self::Inch | Self::Foot | Self::GallonPerDay | Self::Gallon)
    }

    pub(crate) fn length(self, value: f64) -> Option<Length> {
        match self {
            Self::Inch => Some(inches(value)),
            Self::Foot => Some(feet(value)),
            Self::Centimetre => Some(centimetres(value)),
            Self::Metre => Some(metres(value)),
            _ => None,
        }
    }

    pub(crate) fn flow(self, value: f64) -> Option<VolumeRate> {
        match self {
            Self::GallonPerDay => Some(gallons_per_day(value)),
            Self::LitrePerDay => Some(litres_per_day(value)),
            Self::CubicMetrePerDay => Some(cubic_metres_per_day(value)),
            _ => None,
        }
    }

    pub(crate) fn volume(self, value: f64) -> Option<Volume> {
        match self {
            Self::Gallon => Some(gallons(value)),
            Self::Litre => Some(litres(value)),
            Self::CubicMetre => Some(cubic_metres(value)),
            _ => None,
        }
    }

    /// The number of this unit in a length.
    pub(crate) fn count_in(self, length: Length) -> Option<f64> {
        Some((length / self.length(1.0)?).value)
    }
}

/// Why a text is not a length or a flow.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{found:?} is not {wanted}")]
pub struct MeasureError {
    /// What was given.
    pub found: String,
    /// What is understood.
    pub wanted: &'static str,
}

/// A length as people say it.
///
/// ```
/// use soaklife::quantity::as_inches;
/// use soaklife_records::measure::parse_length;
///
/// for said in ["41.5in", "41.5 in", "3ft 5.5in", "3' 5.5\"", "105.41cm", "1.0541 m"] {
///     assert!((as_inches(parse_length(said)?) - 41.5).abs() < 1e-9, "{said}");
/// }
/// assert!(parse_length("41.5").is_err()); // in what?
/// # Ok::<(), soaklife_records::measure::MeasureError>(())
/// ```
///
/// # Errors
/// [`MeasureError`] unless it is one or more numbers with units of length, largest first.
pub fn parse_length(text: &str) -> Result<Length, MeasureError> {
    const WANTED: &str = "a length with its unit, as in 41.5in, 3ft 5.5in, 3'5.5\" or 105cm";
    let error = || MeasureError { found: shortened(text), wanted: WANTED };
    let mut rest = text.trim();
    let mut total = Length::default();
    let mut previous: Option<Unit> = None;
    while !rest.is_empty() {
        let (value, after) = leading_number(rest).ok_or_else(error)?;
        let (name, after) = leading_unit(after.trim_start());
        let unit = length_unit(name).ok_or_else(error)?;
        // Only feet go on, and only with inches.
        if previous.is_some_and(|unit_before| (unit_before, unit) != (Unit::Foot, Unit::Inch)) {
            return Err(error());
        }
        total += unit.length(value).ok_or_else(error)?;
        previous = Some(unit);
        rest = after.trim_start();
    }
    if previous.is_some() && total.is_finite() { Ok(total) } else { Err(error()) }
}

/// A flow as people say it.
///
/// ```
/// use soaklife::quantity::as_gallons_per_day;
/// use soaklife_records::measure::parse_flow;
/// assert!((as_gallons_per_day(parse_flow("420gpd")?) - 420.0).abs() < 1e-9);
/// assert!((as_gallons_per_day(parse_flow("1589.87 lpd")?) - 420.0).abs() < 0.001);
/// # Ok::<(), soaklife_records::measure::MeasureError>(())
/// ```
///
/// # Errors
/// [`MeasureError`] unless it is a number with `gpd`, `lpd` or `m3d`.
pub fn parse_flow(text: &str) -> Result<VolumeRate, MeasureError> {
    let error = || MeasureError {
        found: shortened(text),
        wanted: "a flow with its unit, as in 420gpd, 1600lpd or 1.6m3d",
    };
    let (value, rest) = leading_number(text.trim()).ok_or_else(error)?;
    let unit = Unit::of_suffix(&rest.trim().to_ascii_lowercase());
    let flow = unit.and_then(|unit| unit.flow(value)).filter(|flow| flow.is_finite());
    flow.ok_or_else(error)
}

fn shortened(text: &str) -> String {
    crate::problem::shown(text)
}

/// Splits a plain decimal number off the front of a text.
fn leading_number(text: &str) -> Option<(f64, &str)> {
    let signed = text.strip_prefix('-').unwrap_or(text);
    let digits = signed.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(signed.len());
    let end = text.len() - signed.len() + digits;
    let value = text.get(..end)?.parse().ok()?;
    Some((value, text.get(end..)?))
}

fn leading_unit(text: &str) -> (&str, &str) {
    let end = text.find(|c: char| c.is_ascii_digit() || c.is_whitespace()).unwrap_or(text.len());
    text.split_at(end)
}

fn length_unit(name: &str) -> Option<Unit> {
    match name.to_ascii_lowercase().as_str() {
        "in" | "in." | "inch" | "inches" | "\"" | "″" | "''" => Some(Unit::Inch),
        "ft" | "ft." | "foot" | "feet" | "'" | "′" => Some(Unit::Foot),
        "cm" => Some(Unit::Centimetre),
        "m" => Some(Unit::Metre),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use soaklife::quantity::as_inches;

    #[test]
    fn refuses_what_might_be_misread() {
        for said in ["", "in", "3'5'", "5in 3ft", "1e3in", "1,5m", "41 1/2in", "nanin", "infm", "3m 5cm"] {
            assert!(parse_length(said).is_err(), "{said}");
        }
        for said in ["", "420", "420gal", "gpd", "-gpd"] {
            let refused = parse_flow(said).unwrap_err();
            assert_eq!(refused.found, said);
        }
    }

    /// Factors of NIST Special Publication 811 (2008), appendix B.8: 1 in = 2.54 cm, 1 US gallon = 3.785 411 784 L.
    #[test]
    fn each_unit_measures_its_own_dimension_only() {
        for unit in Unit::ALL {
            let (length, flow, volume) = (unit.length(7.0), unit.flow(7.0), unit.volume(7.0));
            assert_eq!(length.is_some(), unit.dimension() == Dimension::Length, "{unit:?}");
            assert_eq!(flow.is_some(), unit.dimension() == Dimension::Flow, "{unit:?}");
            assert_eq!(volume.is_some(), unit.dimension() == Dimension::Volume, "{unit:?}");
        }
        let metres = |unit: Unit| unit.length(100.0).unwrap().value;
        let found = [Unit::Inch, Unit::Foot, Unit::Centimetre, Unit::Metre].map(metres);
        assert!(found.iter().zip([2.54, 30.48, 1.0, 100.0]).all(|(a, b)| (a - b).abs() < 1e-12), "{found:?}");
        let cubic_metres = |unit: Unit| unit.volume(1000.0).unwrap().value;
        let found = [Unit::Gallon, Unit::Litre, Unit::CubicMetre].map(cubic_metres);
        assert!(
            found.iter().zip([3.785_411_784, 1.0, 1000.0]).all(|(a, b)| (a - b).abs() < 1e-9),
            "{found:?}"
        );
        let a_day = |unit: Unit| unit.flow(1000.0).unwrap().value * 86_400.0;
        let found = [Unit::GallonPerDay, Unit::LitrePerDay, Unit::CubicMetrePerDay].map(a_day);
        assert!(
            found.iter().zip([3.785_411_784, 1.0, 1000.0]).all(|(a, b)| (a - b).abs() < 1e-9),
            "{found:?}"
        );
    }

    #[test]
    fn a_full_stop_after_the_unit_is_part_of_it() {
        assert!((as_inches(parse_length("5ft.").unwrap()) - 60.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn any_text_is_a_length_or_a_reason(text in "\\PC{0,20}") {
            let _ = (parse_length(&text), parse_flow(&text));
        }

        #[test]
        fn inches_said_are_inches_read(value in 0.0..1000.0f64) {
            let read = as_inches(parse_length(&format!("{value}in")).unwrap());
            prop_assert!((read - value).abs() < 1e-9);
        }
    }
}
