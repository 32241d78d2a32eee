//! What the pit was offered on the first day, and whether some of that was left a day later.
//!
//! A rule is not met only where the pit left something of what it was offered: by a test that offered less than the rule asks, or
//! whose water was held in the tank, a pit that took all of it has not been found wanting. A larger dose ends no lower than a
//! smaller one, so what is left of the smaller would have been left of the larger as well.

use super::balance::{Phase, row};
use super::finding::Untested;
use super::phases::Phases;
use super::verdict::{SHARE_WHEN_LIGHT, is_full, pit_rose_little, tank_rose};
use super::{Household, Occupancy};
use crate::quantity::{Volume, cubic_metres};

/// Nearer to half the design flow than to all of it. Judgement, no source.
const RATHER_HALF_THAN_ALL: f64 = 0.75;

/// What a day's intake is told as a share of.
///
/// ```
/// use soaklife::load_test::offered::Yardstick;
/// use soaklife::quantity::gallons;
/// let half = Yardstick::Offered { volume: gallons(225.0), half_flow: true };
/// assert_eq!(half.volume(), gallons(225.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Yardstick {
    /// A day of design flow: it was offered, or the pit was full before.
    DesignDay(Volume),
    /// Half a day of design flow: the pit of a lightly used house was full before more could be offered.
    HalfDesignDay(Volume),
    /// What was offered, less than a day of design flow.
    Offered {
        /// Water of the first day.
        volume: Volume,
        /// Whether it is a half-flow test: half the design flow, because the house is lightly used. Common practice, no source.
        half_flow: bool,
    },
}

impl Yardstick {
    /// The volume.
    ///
    /// The page of [`Yardstick`] has an example.
    #[must_use]
    pub fn volume(self) -> Volume {
        match self {
            Self::DesignDay(volume) | Self::HalfDesignDay(volume) | Self::Offered { volume, .. } => volume,
        }
    }

    pub(super) fn of(phases: &Phases<'_>, household: &Household) -> Option<Self> {
        let design = household.design_day()?;
        let dose = phases.first_dose()?;
        Some(match household.occupancy() {
            _ if phases.was_poured(design) => Self::DesignDay(cubic_metres(design)),
            Occupancy::Light if is_full(phases) => {
                Self::HalfDesignDay(cubic_metres(design * SHARE_WHEN_LIGHT))
            }
            _ if is_full(phases) => Self::DesignDay(cubic_metres(design)),
            _ => Self::Offered { volume: cubic_metres(dose), half_flow: is_half_flow(phases, household) },
        })
    }
}

/// Whether half the design flow was offered because the house is lightly used.
fn is_half_flow(phases: &Phases<'_>, household: &Household) -> bool {
    let Some((design, dose)) = household.design_day().zip(phases.first_dose()) else { return false };
    household.occupancy() == Occupancy::Light
        && phases.was_poured(design * SHARE_WHEN_LIGHT)
        && dose < design * RATHER_HALF_THAN_ALL
        && !is_full(phases)
}

/// Whether the tank kept most of the water from the pit.
pub(super) fn is_restricted(phases: &Phases<'_>) -> bool {
    tank_rose(phases) && pit_rose_little(phases)
}

/// Why a rule that asks for so much water, m³, was not tested though less was taken; none where it was.
pub(super) fn untested(phases: &Phases<'_>, household: &Household, asked: f64) -> Option<Untested> {
    if is_restricted(phases) {
        return Some(Untested::TankHeld);
    }
    let was_poured = phases.was_poured(asked);
    if !was_poured && is_half_flow(phases, household) {
        return Some(Untested::HalfOffered);
    }
    match () {
        () if is_full(phases) || left_some(phases) => phases.test.rained().then_some(Untested::Rain),
        () if tank_rose(phases) => Some(Untested::TankHeld),
        () if !was_poured => Some(Untested::LittleOffered),
        () => Some(Untested::AllTaken),
    }
}

/// Whether the pit still held some of its water a day later: more than a stick's error, and than what a tank may have sent late.
pub(super) fn left_some(phases: &Phases<'_>) -> bool {
    let later = phases.next_day().or(phases.fall.last().copied());
    let (Some(start), Some(high), Some(later)) = (phases.start, phases.high, later) else { return false };
    let Some((before, after)) = start.level.zip(later.level) else { return false };
    let left = after - before;
    let late = row(phases, Phase::Filling, start, high).held.map_or(0.0, |held| held.most.value);
    let is_water_of_the_pit = !tank_rose(phases) || phases.open_area().is_some_and(|area| left * area > late);
    left > phases.same_level() && is_water_of_the_pit
}
