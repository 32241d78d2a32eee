//! Quantities at the public edge: lengths, areas, volumes and flows that cannot be mistaken for one another.
//!
//! The types are `uom`'s (f64, SI inside). The US gallon is defined here because the trade's tables are
//! printed to more digits than the rounded factor that general unit libraries carry:
//! 1 gal = 231 in³ = 3.785 411 784 L exactly (NIST SP 811, appendix B.8).

pub use uom::si::f64::{Area, Length, Volume, VolumeRate};

use uom::si::area::square_foot;
use uom::si::f64::Time;
use uom::si::length::{centimeter, foot, inch, meter};
use uom::si::time::day;
use uom::si::volume::{cubic_meter, liter};

const CUBIC_METRES_PER_GALLON: f64 = 3.785_411_784e-3;

/// The units in which people are told lengths.
///
/// ```
/// # use soaklife::quantity::*;
/// assert_eq!(Units::default(), Units::Us);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Inches and feet.
    #[default]
    Us,
    /// Centimetres and metres.
    Si,
}

impl Units {
    /// The small unit of length: `in` or `cm`.
    ///
    /// ```
    /// # use soaklife::quantity::*;
    /// assert_eq!((Units::Us.name(), Units::Si.name()), ("in", "cm"));
    /// ```
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Us => "in",
            Self::Si => "cm",
        }
    }

    /// The small unit as a sentence has it, where "in" would read as another word.
    ///
    /// ```
    /// # use soaklife::quantity::*;
    /// assert_eq!((Units::Us.name_in_full(), Units::Si.name_in_full()), ("inches", "cm"));
    /// ```
    #[must_use]
    pub fn name_in_full(self) -> &'static str {
        match self {
            Self::Us => "inches",
            Self::Si => "cm",
        }
    }

    /// The number of the small unit in a length.
    ///
    /// ```
    /// # use soaklife::quantity::*;
    /// assert!((Units::Si.count(inches(10.0)) - 25.4).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn count(self, length: Length) -> f64 {
        match self {
            Self::Us => as_inches(length),
            Self::Si => as_centimetres(length),
        }
    }
}

/// A length in inches (25.4 mm).
///
/// ```
/// use soaklife::quantity::{as_inches, feet, inches};
/// assert!((as_inches(feet(3.0) + inches(5.5)) - 41.5).abs() < 1e-12);
/// ```
#[must_use]
pub fn inches(value: f64) -> Length {
    Length::new::<inch>(value)
}

/// A length in feet (0.3048 m).
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_inches(feet(1.0)) - 12.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn feet(value: f64) -> Length {
    Length::new::<foot>(value)
}

/// A length in centimetres.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_inches(centimetres(2.54)) - 1.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn centimetres(value: f64) -> Length {
    Length::new::<centimeter>(value)
}

/// A length in metres.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_feet(metres(0.3048)) - 1.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn metres(value: f64) -> Length {
    Length::new::<meter>(value)
}

/// A volume in US gallons.
///
/// ```
/// use soaklife::quantity::{as_litres, gallons};
/// assert!((as_litres(gallons(1.0)) - 3.785_411_784).abs() < 1e-14);
/// ```
#[must_use]
pub fn gallons(value: f64) -> Volume {
    cubic_metres(value * CUBIC_METRES_PER_GALLON)
}

/// A volume in litres.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons(litres(3.785_411_784)) - 1.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn litres(value: f64) -> Volume {
    Volume::new::<liter>(value)
}

/// A volume in cubic metres.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_litres(cubic_metres(1.0)) - 1000.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn cubic_metres(value: f64) -> Volume {
    Volume::new::<cubic_meter>(value)
}

/// A flow in US gallons a day.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons_per_day(gallons_per_day(450.0)) - 450.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn gallons_per_day(value: f64) -> VolumeRate {
    gallons(value) / one_day()
}

/// A flow in litres a day.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons_per_day(litres_per_day(3.785_411_784)) - 1.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn litres_per_day(value: f64) -> VolumeRate {
    litres(value) / one_day()
}

/// A flow in cubic metres a day.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons_per_day(cubic_metres_per_day(1.0)) - 264.172).abs() < 0.0005);
/// ```
#[must_use]
pub fn cubic_metres_per_day(value: f64) -> VolumeRate {
    cubic_metres(value) / one_day()
}

/// The number of inches in a length.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_inches(metres(1.0)) - 39.3701).abs() < 0.00005);
/// ```
#[must_use]
pub fn as_inches(length: Length) -> f64 {
    length.get::<inch>()
}

/// The number of feet in a length.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_feet(inches(30.0)) - 2.5).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_feet(length: Length) -> f64 {
    length.get::<foot>()
}

/// The number of centimetres in a length.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_centimetres(inches(1.0)) - 2.54).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_centimetres(length: Length) -> f64 {
    length.get::<centimeter>()
}

/// The number of square feet in an area.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_square_feet(feet(3.0) * feet(2.0)) - 6.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_square_feet(area: Area) -> f64 {
    area.get::<square_foot>()
}

/// The number of US gallons in a volume.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons(feet(1.0) * feet(1.0) * feet(1.0)) - 1728.0 / 231.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_gallons(volume: Volume) -> f64 {
    volume.get::<cubic_meter>() / CUBIC_METRES_PER_GALLON
}

/// The number of litres in a volume.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_litres(gallons(1.0)) - 3.785_411_784).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_litres(volume: Volume) -> f64 {
    volume.get::<liter>()
}

/// The number of US gallons a day in a flow.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_gallons_per_day(litres_per_day(1000.0)) - 264.172).abs() < 0.0005);
/// ```
#[must_use]
pub fn as_gallons_per_day(flow: VolumeRate) -> f64 {
    as_gallons(flow * one_day())
}

/// The number of litres a day in a flow.
///
/// ```
/// # use soaklife::quantity::*;
/// assert!((as_litres_per_day(gallons_per_day(1.0)) - 3.785_411_784).abs() < 1e-12);
/// ```
#[must_use]
pub fn as_litres_per_day(flow: VolumeRate) -> f64 {
    as_litres(flow * one_day())
}

fn one_day() -> Time {
    Time::new::<day>(1.0)
}
