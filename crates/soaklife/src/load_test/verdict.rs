//! Where the water went: into the soil, into the pit where it stays, or not as far as the pit; never without the numbers.

use super::balance::BalanceRow;
use super::intake::{DailyIntake, Form};
use super::offered::Yardstick;
use super::phases::Phases;
use super::rules::WITHIN_ERROR;
use super::{Household, Occupancy, m3_per_day};
use crate::quantity::{Length, Volume, cubic_metres, metres};

/// A tank that rises more than this while water runs through holds it back, m: 2 in. Less is the head that drives it over the
/// outlet. Common practice, no source.
pub(super) const TANK_ROSE_M: f64 = 2.0 * 0.0254;
/// A pit filled to within this of its inlet is full, m: 2 in. Common practice, no source.
pub(super) const FULL_M: f64 = 2.0 * 0.0254;
/// Water that comes from nowhere, in standard errors of the balance.
const FROM_NOWHERE: f64 = 3.0;
/// A light load needs so much of a design day. Common practice, no source.
pub(super) const SHARE_WHEN_LIGHT: f64 = 0.5;

/// Where the water went.
///
/// ```
/// use soaklife::load_test::verdict::WhereItWent;
/// assert_ne!(WhereItWent::IntoTheSoil, WhereItWent::HeldUpstream);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum WhereItWent {
    /// Into the soil, as much as is asked of this house.
    IntoTheSoil,
    /// It reached the pit and stays there: the soil takes less than is asked.
    StaysInPit,
    /// It did not reach the pit: tank or pipe hold it back.
    HeldUpstream,
    /// The test does not tell.
    CannotTell(Doubt),
}

/// Why a test does not tell.
///
/// ```
/// use soaklife::load_test::verdict::Doubt;
/// assert!(Doubt::Rain.spoils_measurement() && !Doubt::DesignUnknown.spoils_measurement());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Doubt {
    /// Fewer than two levels.
    TooFewLevels,
    /// No water was added.
    NoWater,
    /// All of it was taken, but it was less than is asked of this house.
    LittleWater {
        /// Added on the first day.
        added: Volume,
        /// What is asked.
        asked: Volume,
    },
    /// Nobody came back after a day.
    TooShort {
        /// Hours watched after the water stopped.
        hours: f64,
    },
    /// It rained, and the pit took less than is asked: the rain may be why.
    Rain,
    /// More stands in the pit than was added: from the house, from rain or ground, or the diameter is wrong.
    WaterFromElsewhere,
    /// The pit hardly rose and nobody watched the tank.
    TankNotWatched,
    /// What the house is designed for is not known.
    DesignUnknown,
    /// The diameter is not known and the level is not back, so the volume is not known.
    DiameterUnknown,
}

impl Doubt {
    /// Whether even the acceptance measured is in doubt.
    ///
    /// The page of [`Doubt`] has an example.
    #[must_use]
    pub fn spoils_measurement(self) -> bool {
        matches!(self, Self::Rain | Self::WaterFromElsewhere | Self::TankNotWatched)
    }
}

/// Where the water went, with the numbers that say so.
///
/// The page of [`load_test`](super) tells how to come by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Verdict {
    /// Where.
    pub went: WhereItWent,
    /// Water of the first day.
    pub added: Option<Volume>,
    /// How far the pit rose by it.
    pub pit_rise: Option<Length>,
    /// How far it would have risen had nothing been absorbed or held back; none if the diameter is unknown.
    pub rise_if_kept: Option<Length>,
    /// How far the tank rose meanwhile.
    pub tank_rise: Option<Length>,
    /// Room below the inlet when the first water was in.
    pub freeboard_at_high: Option<Length>,
    /// Whether the pit was full, within 2 in of its inlet.
    pub pit_was_full: bool,
    /// A day's volume asked of this house: the design flow, half of it if the house is lightly occupied; never less than it uses.
    pub asked: Option<Volume>,
    /// What a day's intake is told as a share of; none where the design flow is not known.
    pub yardstick: Option<Yardstick>,
    /// Whether a day's intake lies within its own error of what is asked, and the level is not back to say that the soil took it.
    pub borderline: bool,
    /// Whether the level was back at its start within a day.
    pub back_within_a_day: bool,
}

pub(super) fn tank_rose(phases: &Phases<'_>) -> bool {
    phases.tank_rise().is_some_and(|rise| rise > TANK_ROSE_M) && !is_full(phases)
}

/// Whether the pit rose by less than half of what it was given; where its diameter is unknown, of what the tank rose.
pub(super) fn pit_rose_little(phases: &Phases<'_>) -> bool {
    let Some(rise) = pit_rise(phases) else { return false };
    match rise_if_kept(phases) {
        Some(kept) => rise < 0.5 * kept,
        None => phases.tank_rise().is_some_and(|tank| rise < 0.5 * tank),
    }
}

pub(super) fn is_full(phases: &Phases<'_>) -> bool {
    freeboard_at_high(phases).is_some_and(|room| room <= FULL_M)
}

fn pit_rise(phases: &Phases<'_>) -> Option<f64> {
    Some(phases.high?.level? - phases.start?.level?)
}

fn rise_if_kept(phases: &Phases<'_>) -> Option<f64> {
    Some(phases.first_dose()? / phases.open_area()?)
}

fn freeboard_at_high(phases: &Phases<'_>) -> Option<f64> {
    Some(phases.inlet() - phases.high?.level?)
}

/// A day's volume asked of this house, m³.
fn asked(household: &Household) -> Option<f64> {
    let design = household.design_day()?;
    let used = household.actual_flow.map_or(0.0, m3_per_day);
    let share = if household.occupancy() == Occupancy::Light { SHARE_WHEN_LIGHT } else { 1.0 };
    Some((design * share).max(used))
}

pub(super) fn decide(
    phases: &Phases<'_>,
    household: &Household,
    balance: &[BalanceRow],
    daily: Option<&DailyIntake>,
) -> Verdict {
    let went = went(phases, asked(household), balance, daily);
    let near = asked(household).zip(daily).is_some_and(|(asked, daily)| {
        (daily.volume.volume.value - asked).abs() < WITHIN_ERROR * daily.volume.standard_error.value
    });
    let says_of_soil = matches!(went, WhereItWent::IntoTheSoil | WhereItWent::StaysInPit);
    Verdict {
        went,
        added: phases.first_dose().map(cubic_metres),
        pit_rise: pit_rise(phases).map(metres),
        rise_if_kept: rise_if_kept(phases).filter(|rise| rise.is_finite()).map(metres),
        tank_rise: phases.tank_rise().map(metres),
        freeboard_at_high: freeboard_at_high(phases).map(metres),
        pit_was_full: is_full(phases),
        asked: asked(household).map(cubic_metres),
        yardstick: Yardstick::of(phases, household),
        borderline: near && says_of_soil && phases.back_at_start().is_none(),
        back_within_a_day: phases.back_at_start().is_some(),
    }
}

fn went(
    phases: &Phases<'_>,
    asked: Option<f64>,
    balance: &[BalanceRow],
    daily: Option<&DailyIntake>,
) -> WhereItWent {
    use WhereItWent::{CannotTell, HeldUpstream, IntoTheSoil, StaysInPit};
    if phases.points.iter().filter(|point| point.level.is_some()).count() < 2 {
        return CannotTell(Doubt::TooFewLevels);
    }
    let Some(dose) = phases.first_dose() else { return CannotTell(Doubt::NoWater) };
    if balance.iter().any(came_from_nowhere) {
        return CannotTell(Doubt::WaterFromElsewhere);
    }
    if tank_rose(phases) && pit_rose_little(phases) {
        return HeldUpstream;
    }
    let hours = phases
        .fall
        .last()
        .map_or(0.0, |last| 24.0 * (last.day - phases.high.map_or(last.day, |high| high.day)));
    let Some(daily) = daily else {
        let known = phases.open_area().is_some() || hours < 20.0;
        return CannotTell(if known { Doubt::TooShort { hours } } else { Doubt::DiameterUnknown });
    };
    let Some(asked) = asked else { return CannotTell(Doubt::DesignUnknown) };
    let all_taken = phases.back_at_start().is_some();
    let unseen = pit_rose_little(phases) && phases.tank_rise().is_none();
    let by_its_fall = daily.volume.volume.value >= asked && daily.form != Form::Expected;
    match () {
        () if daily.form == Form::Expected && !all_taken => CannotTell(Doubt::TooShort { hours }),
        () if by_its_fall && !(unseen && daily.form == Form::Whole) => IntoTheSoil,
        () if all_taken && unseen => CannotTell(Doubt::TankNotWatched),
        () if all_taken && phases.was_poured(asked) => IntoTheSoil,
        () if all_taken && !is_full(phases) => {
            CannotTell(Doubt::LittleWater { added: cubic_metres(dose), asked: cubic_metres(asked) })
        }
        () if phases.test.rained() => CannotTell(Doubt::Rain),
        () => StaysInPit,
    }
}

/// Whether less than nothing was absorbed, by more than errors and a draining tank explain.
fn came_from_nowhere(row: &BalanceRow) -> bool {
    let (Some(absorbed), Some((_, most))) = (row.absorbed, row.absorbed_between()) else { return false };
    most < absorbed.standard_error * -FROM_NOWHERE
}
