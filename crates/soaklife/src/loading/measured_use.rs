//! Measured residential use: what people really send down the drain, as data with its sources.

use super::LoadingError;
use crate::quantity::{VolumeRate, gallons_per_day};

/// One measured figure of indoor use.
///
/// ```
/// # use soaklife::loading::measured_use::MEASURED_USE;
/// assert_eq!((MEASURED_USE[3].study, MEASURED_USE[3].residences), ("Mayer et al. 1999", Some(1188)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredUse {
    /// The study, by name and year.
    pub study: &'static str,
    /// Mean indoor use, US gal per person per day.
    pub gallons_per_person: f64,
    /// Homes metered, if told.
    pub residences: Option<u32>,
    /// Where it is printed.
    pub source: &'static str,
}

/// Use per person taken unless a logbook says otherwise: the latest large study, US gal/person/day.
///
/// # Source
/// DeOreo et al. (2016), Residential End Uses of Water, Version 2, WRF 4309: 58.6 (from memory).
///
/// ```
/// # use soaklife::loading::measured_use::DEFAULT_GALLONS_PER_PERSON;
/// assert_eq!(DEFAULT_GALLONS_PER_PERSON, 58.6);
/// ```
pub const DEFAULT_GALLONS_PER_PERSON: f64 = 58.6;

/// Published measurements, oldest first.
///
/// ```
/// # use soaklife::loading::measured_use::MEASURED_USE;
/// assert!(MEASURED_USE.iter().all(|measured| (45.0..75.0).contains(&measured.gallons_per_person)));
/// ```
pub const MEASURED_USE: [MeasuredUse; 6] = [
    MeasuredUse {
        study: "Brown & Caldwell 1984",
        gallons_per_person: 66.2,
        residences: Some(210),
        source: "EPA/625/R-00/008 (2002), chapter 3, from memory",
    },
    MeasuredUse {
        study: "Anderson & Siegrist 1989",
        gallons_per_person: 70.8,
        residences: Some(90),
        source: "EPA/625/R-00/008 (2002), chapter 3, from memory",
    },
    MeasuredUse {
        study: "Anderson et al. 1993",
        gallons_per_person: 50.7,
        residences: Some(25),
        source: "EPA/625/R-00/008 (2002), chapter 3, from memory",
    },
    MeasuredUse {
        study: "Mayer et al. 1999",
        gallons_per_person: 69.3,
        residences: Some(1188),
        source: "Residential End Uses of Water (1999), from memory",
    },
    MeasuredUse {
        study: "weighted mean of the four, EPA 2002",
        gallons_per_person: 68.6,
        residences: Some(1513),
        source: "EPA/625/R-00/008 (2002), chapter 3, from memory",
    },
    MeasuredUse {
        study: "DeOreo et al. 2016",
        gallons_per_person: DEFAULT_GALLONS_PER_PERSON,
        residences: None,
        source: "Residential End Uses of Water, Version 2, WRF 4309, from memory",
    },
];

/// Flow of a household: persons × use per person.
///
/// ```
/// use soaklife::loading::measured_use::household_flow;
/// use soaklife::quantity::as_gallons_per_day;
/// // 5 persons at 75 gal/day: a county's engineering letter of 2002 designs for 375 gal/day.
/// assert!((as_gallons_per_day(household_flow(5.0, 75.0)?) - 375.0).abs() < 1e-9);
/// # Ok::<(), soaklife::loading::LoadingError>(())
/// ```
///
/// # Errors
/// [`LoadingError::Persons`] unless both numbers and their product are finite and not negative.
///
/// # Source
/// Example: San Joaquin County (Calif.) Environmental Health, public record 501635, p. 22.
pub fn household_flow(persons: f64, gallons_per_person: f64) -> Result<VolumeRate, LoadingError> {
    for found in [persons, gallons_per_person, persons * gallons_per_person] {
        if !(found >= 0.0 && found.is_finite()) {
            return Err(LoadingError::Persons { found });
        }
    }
    Ok(gallons_per_day(persons * gallons_per_person))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_weighted_mean_follows_from_its_four_studies() {
        let studies = &MEASURED_USE[..4];
        let homes: f64 = studies.iter().filter_map(|study| study.residences).map(f64::from).sum();
        let weighted: f64 = studies
            .iter()
            .filter_map(|study| Some(study.gallons_per_person * f64::from(study.residences?)))
            .sum::<f64>()
            / homes;
        // The table prints 68.6 for 68.65.
        assert!((weighted - 68.65).abs() < 0.01, "{weighted}");
        assert!((MEASURED_USE[4].gallons_per_person - weighted).abs() < 0.1);
    }
}
