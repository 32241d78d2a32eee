//! The course of a test in plain numbers: what was seen at which hour, and the fall that was fitted.

use soaklife::load_test::balance::Phase;
use soaklife::load_test::{LoadTest, Study};
use soaklife::quantity::{Units, as_gallons, as_inches, as_litres};
use soaklife::{Coverage, Pit};

/// Pieces of the fitted fall.
const STEPS: u32 = 80;

/// One look; hours since the first one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seen {
    pub(super) hours: f64,
    /// Liquid below the rim, inches; the bottom's depth if dry.
    pub(super) depth_in: Option<f64>,
    /// Gallons or litres added since the first look.
    pub(super) added: Option<f64>,
    /// Rise in the tank, inches.
    pub(super) tank_in: Option<f64>,
}

/// The fitted level at an hour, with its range: inches below the rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fitted {
    pub(super) hours: f64,
    pub(super) depth_in: f64,
    /// Shallow and deep end.
    pub(super) range_in: (f64, f64),
}

#[derive(Debug)]
pub(super) struct Course {
    pub(super) seen: Vec<Seen>,
    pub(super) fall: Vec<Fitted>,
    pub(super) start_in: Option<f64>,
    pub(super) inlet_in: f64,
    pub(super) bottom_in: f64,
}

impl Course {
    pub(super) fn of(test: &LoadTest, study: &Study, pit: &Pit, units: Units) -> Self {
        let bottom_in = as_inches(pit.bottom_depth());
        let seen = seen(test, bottom_in, units);
        Self {
            fall: fall(study, &seen, bottom_in, as_inches(test.accuracy().stick)),
            seen,
            start_in: study.start_level.map(|level| bottom_in - as_inches(level)),
            inlet_in: as_inches(pit.inlet_depth()),
            bottom_in,
        }
    }

    /// The last hour.
    pub(super) fn end(&self) -> f64 {
        self.seen.last().map_or(0.0, |last| last.hours)
    }

    /// Hours and depths of the looks that read a level.
    pub(super) fn levels(&self) -> impl Iterator<Item = (f64, f64)> {
        self.seen.iter().filter_map(|seen| Some((seen.hours, seen.depth_in?)))
    }

    /// Whether an hour lies within the fitted fall.
    pub(super) fn is_fitted(&self, hours: f64) -> bool {
        let ends = self.fall.first().zip(self.fall.last());
        ends.is_some_and(|(first, last)| (first.hours - 1e-6..=last.hours + 1e-6).contains(&hours))
    }
}

fn seen(test: &LoadTest, bottom_in: f64, units: Units) -> Vec<Seen> {
    let Some(first) = test.looks().first() else { return Vec::new() };
    let count = |volume| match units {
        Units::Us => as_gallons(volume),
        Units::Si => as_litres(volume),
    };
    let base = first.added.map_or(0.0, count);
    let (mut total, mut before) = (base, 0.0);
    let looks = test.looks().iter().map(|look| {
        let added = look.added.map(count).map(|added| {
            // A total that starts again at nothing goes on from where it was.
            if added == 0.0 && total > 0.0 {
                before += total;
            }
            total = added;
            before + total - base
        });
        Seen {
            hours: look.time.duration_since(first.time).as_secs_f64() / 3_600.0,
            depth_in: look.depth.map(|depth| as_inches(depth).min(bottom_in)),
            added,
            tank_in: look.tank_rise.map(as_inches),
        }
    });
    looks.collect()
}

/// The fit from the high level to the last look before water goes in again.
fn fall(study: &Study, seen: &[Seen], bottom_in: f64, stick_in: f64) -> Vec<Fitted> {
    let hours_of = |phase: Phase| study.balance.iter().find(|row| row.phase == phase).map(|row| row.hours);
    let last_level = seen.iter().rev().find(|seen| seen.depth_in.is_some()).map(|seen| seen.hours);
    let (Ok(recession), Some(whole), Some(standing), Some(last)) =
        (&study.recession, hours_of(Phase::Whole), hours_of(Phase::Standing), last_level)
    else {
        return Vec::new();
    };
    // The balance counts from the look before the water to the last level, and the fall from the end of the filling.
    let from = last - whole + hours_of(Phase::Filling).unwrap_or(0.0);
    let at = |step: u32| {
        let hours = standing * f64::from(step) / f64::from(STEPS);
        let level = recession.level_after(hours / 24.0, Coverage::EIGHTY)?;
        let below_rim = |level| bottom_in - as_inches(level);
        Some(Fitted {
            hours: from + hours,
            depth_in: below_rim(level.value),
            range_in: (below_rim(level.upper), below_rim(level.lower)),
        })
    };
    // Less than twice the stick's error above the bottom is as good as dry, and no range says more.
    let is_told = |at: &Fitted| bottom_in - at.depth_in >= 2.0 * stick_in;
    (0..=STEPS).filter_map(at).take_while(is_told).collect()
}
