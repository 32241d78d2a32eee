//! The water balance: added = stored + held upstream + absorbed.

use super::Measured;
use super::phases::{Phases, Point};
use crate::quantity::{Volume, cubic_metres};

/// Tanks of houses are smaller than this seen from above, m²: 60 ft². A 1,000 gal tank has some 40 ft². Common practice, no
/// source.
pub(super) const MOST_TANK_M2: f64 = 60.0 * 0.092_903_04;

/// A tank through which water runs stands up to so much higher, m: 1 in. Common practice, no source.
pub(super) const RUNNING_HEAD_M: f64 = 0.0254;

/// A phase of a test.
///
/// ```
/// assert_eq!(soaklife::load_test::balance::Phase::Filling.in_words(), "filling");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Phase {
    /// The first water goes in.
    Filling,
    /// The level falls.
    Standing,
    /// The second water goes in.
    Refilling,
    /// From the first look to the last.
    Whole,
}

impl Phase {
    /// The phase as a word.
    ///
    /// ```
    /// assert_eq!(soaklife::load_test::balance::Phase::Whole.in_words(), "whole test");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Filling => "filling",
            Self::Standing => "standing",
            Self::Refilling => "refilling",
            Self::Whole => "whole test",
        }
    }
}

/// Where the water of one phase went.
///
/// The page of [`load_test`](super) tells how to come by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalanceRow {
    /// Which phase.
    pub phase: Phase,
    /// How long it took, hours.
    pub hours: f64,
    /// Water added.
    pub added: Volume,
    /// Water that the change of level stored in the pit, below zero where the level fell. None if the diameter is unknown.
    pub stored: Option<Measured>,
    /// What the tank held back, at least and at most, below zero where it drained. None if nobody watched the tank. An inch
    /// and less drives the water over the outlet: it counts as nothing held, and its volume is in the error.
    pub held: Option<Held>,
    /// What is left: absorbed, if the tank held nothing back. None if the diameter is unknown, unless the level is the same.
    pub absorbed: Option<Measured>,
}

/// Bounds of a volume held upstream.
///
/// ```
/// use soaklife::load_test::balance::Held;
/// use soaklife::quantity::gallons;
/// let held = Held { least: gallons(0.0), most: gallons(207.0) }; // a tank of unknown size
/// assert!(held.least < held.most);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// At least.
    pub least: Volume,
    /// At most.
    pub most: Volume,
}

impl BalanceRow {
    /// What was absorbed at least and at most, given what the tank may have held back.
    ///
    /// ```
    /// use soaklife::load_test::balance::{BalanceRow, Held, Phase};
    /// use soaklife::load_test::Measured;
    /// use soaklife::quantity::{as_gallons, gallons};
    /// let absorbed = Some(Measured { volume: gallons(225.0), standard_error: gallons(5.0) });
    /// let held = Some(Held { least: gallons(0.0), most: gallons(39.0) });
    /// let row = BalanceRow { phase: Phase::Whole, hours: 25.0, added: gallons(225.0), stored: None, held, absorbed };
    /// let (least, most) = row.absorbed_between().ok_or("unknown")?;
    /// assert!((as_gallons(least) - 186.0).abs() < 1e-9 && (as_gallons(most) - 225.0).abs() < 1e-9);
    /// # Ok::<(), &str>(())
    /// ```
    #[must_use]
    pub fn absorbed_between(&self) -> Option<(Volume, Volume)> {
        let absorbed = self.absorbed?.volume;
        let held = self.held.unwrap_or(Held { least: cubic_metres(0.0), most: cubic_metres(0.0) });
        Some((absorbed - held.most, absorbed - held.least))
    }
}

/// The phases of a test in their order, and the whole of it.
pub(super) fn rows(phases: &Phases<'_>) -> Vec<BalanceRow> {
    let low = phases.fall.last().copied();
    let last = phases.points.iter().rev().find(|point| point.level.is_some()).copied();
    let spans = [
        (Phase::Filling, phases.start, phases.high),
        (Phase::Standing, phases.high.or(phases.start), low),
        (Phase::Refilling, low, phases.refilled),
        (Phase::Whole, phases.start, last),
    ];
    let rows = spans.into_iter().filter_map(|(phase, from, to)| {
        let (from, to) = (from?, to?);
        (to.day > from.day).then(|| row(phases, phase, from, to))
    });
    rows.collect()
}

/// The balance between two looks.
pub(super) fn row(phases: &Phases<'_>, phase: Phase, from: Point, to: Point) -> BalanceRow {
    let added = to.added - from.added;
    let added_error = added * phases.test.accuracy().meter;
    let stored = stored(phases, from, to);
    let running = running_head(phases, from, to);
    let absorbed = stored.map(|(stored, error)| (added - stored, added_error.hypot(error).hypot(running)));
    let same_level = match (from.level, to.level) {
        (Some(from), Some(to)) => (to - from).abs() <= phases.same_level(),
        _ => false,
    };
    // Without a diameter the same level still says that as much went as came.
    let absorbed = absorbed.or(same_level.then_some((added, added_error)));
    BalanceRow {
        phase,
        hours: (to.day - from.day) * 24.0,
        added: cubic_metres(added),
        stored: stored.map(measured),
        held: held(phases, from, to),
        absorbed: absorbed.map(measured),
    }
}

fn stored(phases: &Phases<'_>, from: Point, to: Point) -> Option<(f64, f64)> {
    let area = phases.open_area()?;
    // A dry bottom is where it is.
    let wet_ends = [from, to].iter().filter(|point| !point.is_dry()).count() as f64;
    Some((area * (to.level? - from.level?), area * phases.stick() * wet_ends.sqrt()))
}

fn held(phases: &Phases<'_>, from: Point, to: Point) -> Option<Held> {
    let rise = to.tank? - from.tank?;
    let (least, most) = phases.tank_area;
    let rise = if rise.abs() <= RUNNING_HEAD_M && least != most { 0.0 } else { rise };
    let (a, b) = (rise * least, rise * most);
    Some(Held { least: cubic_metres(a.min(b)), most: cubic_metres(a.max(b)) })
}

/// Error from the head of water running through a tank of unknown size: anything up to what the largest would hold, m³.
fn running_head(phases: &Phases<'_>, from: Point, to: Point) -> f64 {
    let (least, most) = phases.tank_area;
    match (from.tank, to.tank) {
        (Some(from), Some(to)) if (to - from).abs() <= RUNNING_HEAD_M => {
            (to - from).abs() * (most - least) / 12f64.sqrt()
        }
        _ => 0.0,
    }
}

pub(super) fn measured((volume, error): (f64, f64)) -> Measured {
    Measured { volume: cubic_metres(volume), standard_error: cubic_metres(error) }
}
