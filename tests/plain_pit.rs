//! One plain pit, read each May: for tests that ask something of a single record.

use jiff::civil::date;
use soaklife::quantity::inches;
use soaklife::{Pit, Reading};

/// Its inlet lies 30 in below the rim, its bottom 180 in below the inlet.
///
/// # Panics
/// Never: the depths are those of a pit.
#[must_use]
pub fn pit() -> Pit {
    Pit::new(inches(30.0), inches(210.0)).expect("the bottom lies below the inlet")
}

/// It is read on the first of May, so many inches above its bottom.
///
/// # Panics
/// If the level is no number.
#[must_use]
pub fn at(year: i16, level_in: f64) -> Reading {
    Reading::at_level(&pit(), date(year, 5, 1), inches(level_in)).expect("a level of this pit")
}

/// Levels that rise by as much each year.
#[must_use]
pub fn rising(start_in: f64, rise_in: f64, count: u8) -> Vec<f64> {
    (0..count).map(|year| start_in + rise_in * f64::from(year)).collect()
}
