//! For tests: pits read once a year.

use jiff::civil::date;
use soaklife::quantity::inches;
use soaklife::{History, Pit, Reading};

/// A pit so deep below its inlet, which lies 38 in below the rim.
pub(crate) fn pit(effective_in: f64) -> Pit {
    Pit::new(inches(38.0), inches(38.0 + effective_in)).unwrap()
}

/// One reading each May, given as freeboard in inches.
pub(crate) fn yearly_from(first_year: i16, pit: Pit, freeboards_in: &[f64]) -> History {
    let readings = freeboards_in.iter().zip(first_year..).map(|(freeboard, year)| {
        Reading::at_depth(&pit, date(year, 5, 10), pit.inlet_depth() + inches(*freeboard)).unwrap()
    });
    History::new(pit).with_readings(readings)
}

/// The same with the last reading in 2026.
pub(crate) fn yearly(pit: Pit, freeboards_in: &[f64]) -> History {
    yearly_from(2027 - freeboards_in.len() as i16, pit, freeboards_in)
}
