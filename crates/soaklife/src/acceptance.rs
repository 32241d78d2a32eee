//! Measured acceptance: what the soil took while liquid stood at a known level.
//!
//! A stick tells where the level stands; a load test tells what the wall takes at that height, and by the balance of inflow
//! and acceptance ([`MeasuredAcceptance::settling`]) where the level would come to stand under the household's flow. A pit's history
//! takes it by [`crate::History::with_acceptances`], and the absorption method as an observation of the level with that
//! spread.
//!
//! # What it is worth
//!
//! On 2,000 simulated pits, tested on the day of the forecast with an error of 15 % on the flow (`tests/measured_acceptance.rs`):
//! mean pinball loss of the years to the inlet, shares that failed before the 5 and 10 % points, shares that the 80 % range held
//! (it claims .90, as it is mostly open at its late end), mean width of the range with a late end beyond 60 years
//! counted as 60.
//!
//! | pits | test | loses, years | before 5 % | before 10 % | held | width |
//! | --- | --- | ---: | ---: | ---: | ---: | ---: |
//! | all | without | 1.600 | .059 | .128 | .868 | 47.3 |
//! | | with | 1.579 ± .007 | .052 | .117 | .878 | 47.7 |
//! | last reading 3 years old or more | without | 1.728 | .039 | .109 | .886 | 49.0 |
//! | | with | 1.616 ± .023 | .038 | .096 | .899 | 48.6 |
//! | never read | without | 2.227 | .045 | .134 | .867 | 53.3 |
//! | | with | 1.717 ± .040 | .026 | .071 | .929 | 51.9 |
//! | last reading dry (187) | without | 1.093 | .021 | .160 | .840 | 38.5 |
//! | | with | 1.071 ± .025 | .021 | .134 | .866 | 41.4 |
//!
//! (± is the standard error of the difference.) Where a stick was in the pit within a year it already tells the level better, and a
//! test adds little; where none was for years, or ever, it adds much. It does not narrow every range: a wall that takes
//! plenty moves the late end out as well as the early one.

use crate::pit::Pit;
use crate::quantity::{Length, VolumeRate, as_gallons_per_day, as_inches};
use jiff::civil::Date;
use thiserror::Error;

/// A flow the soil took, with liquid standing at a level on the average, and how sure that is.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::acceptance::MeasuredAcceptance;
/// use soaklife::quantity::{as_inches, gallons_per_day, inches};
///
/// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
/// assert_eq!(as_inches(taken.level()).round(), 96.0);
/// # Ok::<(), soaklife::acceptance::AcceptanceError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredAcceptance {
    date: Date,
    level: Length,
    flow: VolumeRate,
    relative_standard_error: f64,
}

/// Why something is no measured acceptance.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::acceptance::{AcceptanceError, MeasuredAcceptance};
/// # use soaklife::quantity::{gallons_per_day, inches};
/// let nothing = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(0.0), 0.15);
/// assert!(matches!(nothing, Err(AcceptanceError::Flow { .. })));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum AcceptanceError {
    /// The level is not above the bottom, or not a number.
    #[error("a load test with {found_in} in standing cannot be: the level must lie above the pit bottom")]
    Level {
        /// Level given, inches.
        found_in: f64,
    },
    /// The flow is not above zero, or not a number.
    #[error("an accepted flow of {found_gpd} gal/day cannot be: give one above zero")]
    Flow {
        /// Flow given, US gallons a day.
        found_gpd: f64,
    },
    /// The relative standard error is not above zero, or not a number.
    #[error("a relative standard error of {found} cannot be: give one above zero, such as 0.15")]
    Error {
        /// Error given.
        found: f64,
    },
}

/// Where the level would settle under the household's flow, behind the wall as it was tested.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::acceptance::MeasuredAcceptance;
/// # use soaklife::quantity::{gallons_per_day, inches};
/// # use soaklife::Pit;
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(300.0), 0.15)?;
/// let [known, guessed] = [Some(gallons_per_day(150.0)), None].map(|flow| taken.settling(&pit, flow, inches(18.0)));
/// assert!(known.spread < guessed.spread); // who does not know the flow knows less
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Mean of z = ln((x + c)/(H + c)), x the level above the bottom, H the effective depth, c the offset.
    pub mean: f64,
    /// Its standard deviation.
    pub spread: f64,
}

/// Median suction just outside the clogging layer, inches, and the standard deviation of its logarithm: 7 to 37 in with 90 %.
///
/// From memory: suctions of 20 to 80 cm below clogged faces in sand to clay (Bouma 1975).
const SUCTION_IN: f64 = 16.0;
const SUCTION_SPREAD: f64 = 0.5;
/// Conductance of a unit of floor over that of a unit of wall, each with its chance: sludge seals most floors, and the design
/// codes credit none. Judgement, no source.
const FLOOR_SHARES: [(f64, f64); 2] = [(0.0, 0.7), (0.5, 0.3)];
/// Diameter taken where the cross-section is not known, inches. Common practice, no source.
const USUAL_DIAMETER_IN: f64 = 72.0;
/// Standard deviation of ln(flow) of a household whose use is recorded. Judgement, no source.
const FLOW_SPREAD: f64 = 0.25;
/// Indoor use of a household and the standard deviation of its logarithm where nothing is recorded.
///
/// DeOreo et al. (2016), Residential End Uses of Water, Version 2, WRF 4309: 138 gal/day (from memory).
const UNKNOWN_FLOW_GPD: f64 = 138.0;
const UNKNOWN_FLOW_SPREAD: f64 = 0.6;
/// Lengths of more than this many inches and ratios of flows beyond this are as good as endless, and their squares can still be
/// computed with.
const ENDLESS: f64 = 1e100;
/// No test tells z better than this.
const LEAST_SPREAD: f64 = 0.01;
/// The normal distribution in three points that keep its first five moments, in standard deviations, with their weights.
const GAUSS_HERMITE: [(f64, f64); 3] =
    [(-1.732_050_807_568_877_2, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.732_050_807_568_877_2, 1.0 / 6.0)];

impl MeasuredAcceptance {
    /// From the day, the mean level above the bottom while the flow was taken, that flow, and its relative standard error.
    ///
    /// # Errors
    /// [`AcceptanceError`] for the first of them that cannot be.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// let sure = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.0);
    /// assert!(sure.is_err()); // nobody measures without error
    /// ```
    pub fn new(
        date: Date,
        level: Length,
        flow: VolumeRate,
        relative_standard_error: f64,
    ) -> Result<Self, AcceptanceError> {
        let above_zero = |value: f64| value > 0.0 && value.is_finite();
        let (found_in, found_gpd) = (as_inches(level), as_gallons_per_day(flow));
        if !above_zero(found_in) {
            return Err(AcceptanceError::Level { found_in });
        }
        if !above_zero(found_gpd) {
            return Err(AcceptanceError::Flow { found_gpd });
        }
        if !above_zero(relative_standard_error) {
            return Err(AcceptanceError::Error { found: relative_standard_error });
        }
        Ok(Self { date, level, flow, relative_standard_error })
    }

    /// The day of the test.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
    /// assert_eq!(taken.date(), date(2026, 5, 4));
    /// # Ok::<(), soaklife::acceptance::AcceptanceError>(())
    /// ```
    #[must_use]
    pub fn date(&self) -> Date {
        self.date
    }

    /// Mean level above the bottom while the flow was taken.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{as_inches, gallons_per_day, inches};
    /// # let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
    /// assert_eq!(as_inches(taken.level()).round(), 96.0);
    /// # Ok::<(), soaklife::acceptance::AcceptanceError>(())
    /// ```
    #[must_use]
    pub fn level(&self) -> Length {
        self.level
    }

    /// The flow the soil took.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{as_gallons_per_day, gallons_per_day, inches};
    /// # let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
    /// assert_eq!(as_gallons_per_day(taken.flow()).round(), 420.0);
    /// # Ok::<(), soaklife::acceptance::AcceptanceError>(())
    /// ```
    #[must_use]
    pub fn flow(&self) -> VolumeRate {
        self.flow
    }

    /// Standard error of the flow as a share of it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(420.0), 0.15)?;
    /// assert_eq!(taken.relative_standard_error(), 0.15);
    /// # Ok::<(), soaklife::acceptance::AcceptanceError>(())
    /// ```
    #[must_use]
    pub fn relative_standard_error(&self) -> f64 {
        self.relative_standard_error
    }

    /// Where the level would settle under a flow, in a pit with this offset c; without a flow, under that of a usual household.
    ///
    /// # Formula
    /// A wall behind a thin clogging layer of resistance R takes Q = (π D/R)(h²/2 + ψ h + s (D/4)(h + ψ)), D the diameter, ψ the
    /// suction outside the layer, s the floor's share. The tested flow Q′ at level h′ gives R, and the level x at which the
    /// household's Q is taken solves x²/2 + (ψ + s D/4) x = (Q/Q′)(h′²/2 + (ψ + s D/4) h′ + s ψ D/4) − s ψ D/4; 0 if that is
    /// not above zero. Mean and spread of z over what is known of Q/Q′, ψ and s, by three points for each of the first
    /// two (Gauss–Hermite) and two for s.
    ///
    /// # Source
    /// Bouma (1975), *J. Environ. Eng. Div. ASCE* 101(6), 967–983, for the flux through the layer; the integral over the wall
    /// is elementary.
    ///
    /// # Example
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::acceptance::MeasuredAcceptance;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::Pit;
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// // What the wall takes at 96 in is what the household sends: the level settles there.
    /// let taken = MeasuredAcceptance::new(date(2026, 5, 4), inches(96.0), gallons_per_day(150.0), 0.01)?;
    /// let settles = taken.settling(&pit, Some(gallons_per_day(150.0)), inches(18.0));
    /// assert!((settles.mean - ((96.0 + 18.0) / (180.0 + 18.0f64)).ln()).abs() < 0.02);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn settling(&self, pit: &Pit, flow: Option<VolumeRate>, offset: Length) -> Settling {
        let offset_in = as_inches(offset);
        let full_in = as_inches(pit.effective_depth()) + offset_in;
        let (flow_gpd, flow_spread) = match flow {
            Some(flow) => (as_gallons_per_day(flow), FLOW_SPREAD),
            None => (UNKNOWN_FLOW_GPD, UNKNOWN_FLOW_SPREAD),
        };
        let ratio = (flow_gpd / as_gallons_per_day(self.flow)).min(ENDLESS);
        let ratio_spread = flow_spread.hypot(self.relative_standard_error);
        let (mut mean, mut square) = (0.0, 0.0);
        for (share, chance) in FLOOR_SHARES {
            for (of_suction, suction_weight) in GAUSS_HERMITE {
                for (of_ratio, ratio_weight) in GAUSS_HERMITE {
                    let wall = Wall {
                        suction_in: SUCTION_IN * (SUCTION_SPREAD * of_suction).exp(),
                        floor_in: share * quarter_diameter_in(pit),
                    };
                    let factor = (ratio_spread * of_ratio).exp().min(ENDLESS);
                    let level_in = wall.settles_at(as_inches(self.level), (ratio * factor).min(ENDLESS));
                    let z = ((level_in + offset_in) / full_in).ln();
                    let weight = chance * suction_weight * ratio_weight;
                    mean += weight * z;
                    square += weight * z * z;
                }
            }
        }
        Settling { mean, spread: (square - mean * mean).max(LEAST_SPREAD * LEAST_SPREAD).sqrt() }
    }
}

/// Floor area ÷ perimeter, inches: a quarter of the diameter of a round pit.
fn quarter_diameter_in(pit: &Pit) -> f64 {
    pit.cross_section()
        .map_or(USUAL_DIAMETER_IN / 4.0, |section| as_inches(section.area() / section.perimeter()))
        .min(ENDLESS)
}

/// A wall behind its clogging layer, apart from the layer's resistance.
struct Wall {
    suction_in: f64,
    /// The floor's share times its area ÷ perimeter.
    floor_in: f64,
}

impl Wall {
    /// Level at which `ratio` times the flow is taken that is taken at `level_in`, inches; 0 if the floor alone takes it.
    fn settles_at(&self, level_in: f64, ratio: f64) -> f64 {
        let linear = self.suction_in + self.floor_in;
        let by_floor = self.floor_in * self.suction_in;
        let level_in = level_in.min(ENDLESS);
        let taken = ratio * (0.5 * level_in * level_in + linear * level_in + by_floor) - by_floor;
        if taken <= 0.0 {
            return 0.0;
        }
        2.0 * taken / (linear + (linear * linear + 2.0 * taken).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{as_inches, metres};

    /// H = −ψ + √(ψ² + 2 Q R/(π D)) with D = 1.8288 m, Q = 0.567812 m³/d, ψ = 0.5 m, recomputed for the resistances
    /// 5, 10, 20, 40 and 80 days: the level after a change of the flow is that after the same change of the resistance.
    #[test]
    fn the_level_under_another_flow_is_that_of_the_balance() {
        let in_inches = |level: f64| as_inches(metres(level));
        let wall = Wall { suction_in: in_inches(0.5), floor_in: 0.0 };
        let tested = in_inches(0.6128);
        for (ratio, level) in [(2.0, 0.9922), (4.0, 1.5502), (8.0, 2.3559), (16.0, 3.5078)] {
            assert!((wall.settles_at(tested, ratio) - in_inches(level)).abs() < in_inches(0.0005), "{ratio}");
        }
    }

    #[test]
    fn a_floor_that_takes_all_leaves_the_pit_dry() {
        let wall = Wall { suction_in: 16.0, floor_in: 18.0 };
        assert!(wall.settles_at(40.0, 0.05) <= 0.0);
        assert!((wall.settles_at(40.0, 1.0) - 40.0).abs() < 1e-9);
    }
}
