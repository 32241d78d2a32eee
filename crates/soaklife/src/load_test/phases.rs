//! A test taken apart: before, the first water, the fall, the refill.

use super::LoadTest;
use super::balance::RUNNING_HEAD_M;
use crate::pit::Pit;
use crate::quantity::Area;
use uom::si::area::square_meter;

/// Water added after so long a pause is a second dose, days.
const SECOND_DOSE_AFTER: f64 = 0.4;

/// A look in plain numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    /// Days since the first look.
    pub(super) day: f64,
    /// Water added since the first look, m³.
    pub(super) added: f64,
    /// Level above the bottom, m; zero if dry.
    pub(super) level: Option<f64>,
    /// Tank above where it stood at the start, m.
    pub(super) tank: Option<f64>,
}

impl Point {
    pub(super) fn is_dry(&self) -> bool {
        self.level == Some(0.0)
    }
}

/// The phases of a test; each ends where a level was read.
#[derive(Debug, Clone)]
pub(super) struct Phases<'t> {
    pub(super) test: &'t LoadTest,
    pub(super) pit: Pit,
    pub(super) points: Vec<Point>,
    /// Before any water.
    pub(super) start: Option<Point>,
    /// When the first water was in.
    pub(super) high: Option<Point>,
    /// From the high on, without water, those with a level.
    pub(super) fall: Vec<Point>,
    /// When the second water was in.
    pub(super) refilled: Option<Point>,
    /// Least and greatest area of the tank that the balance allows, m².
    pub(super) tank_area: (f64, f64),
}

impl<'t> Phases<'t> {
    pub(super) fn of(test: &'t LoadTest, pit: &Pit) -> Self {
        let points = points(test, pit);
        let doses = doses(&points);
        let with_level = |place: usize| {
            let from_there = points.iter().skip(place).take_while(|point| {
                points.get(place).is_some_and(|at| point.added <= at.added && point.day - at.day < 0.1)
            });
            from_there.copied().find(|point| point.level.is_some())
        };
        // Without water the fall is watched from the first level on.
        let first_water = doses.first().map_or(0, |dose| dose.0);
        let before = points.iter().take(first_water).rev().find(|point| point.level.is_some());
        let start = before.or(points.iter().find(|point| point.level.is_some())).copied();
        let high = doses.first().and_then(|dose| with_level(dose.1));
        let second_water = doses.get(1).map_or(points.len(), |dose| dose.0);
        let from = high.or(start).map_or(f64::INFINITY, |point| point.day);
        let fall = points
            .iter()
            .take(second_water)
            .filter(|point| point.day >= from && point.level.is_some())
            .copied()
            .collect();
        let refilled = doses.get(1).and_then(|dose| with_level(dose.1));
        let mut phases =
            Self { test, pit: *pit, start, high, fall, refilled, tank_area: test.tank_area_m2(), points };
        phases.bound_tank();
        phases
    }

    /// Plan area that liquid can fill, m².
    pub(super) fn open_area(&self) -> Option<f64> {
        let area = self.pit.cross_section()?.area().get::<square_meter>() * self.pit.liquid_fraction();
        (area > 0.0 && area.is_finite()).then_some(area)
    }

    /// Standard deviation of a level, m.
    pub(super) fn stick(&self) -> f64 {
        self.test.accuracy().stick.value
    }

    /// Levels as near as this cannot be told apart, m.
    pub(super) fn same_level(&self) -> f64 {
        2.0 * self.stick() * std::f64::consts::SQRT_2
    }

    /// Highest the inlet invert, m above the bottom.
    pub(super) fn inlet(&self) -> f64 {
        self.pit.effective_depth().value
    }

    /// Water of the first dose, m³.
    pub(super) fn first_dose(&self) -> Option<f64> {
        Some(self.high?.added - self.start?.added).filter(|added| *added > 0.0)
    }

    /// Whether a volume was poured in on the first day, to the error of the meter.
    pub(super) fn was_poured(&self, asked: f64) -> bool {
        self.first_dose().is_some_and(|dose| dose >= asked * (1.0 - 2.0 * self.test.accuracy().meter))
    }

    /// How far the tank rose while the first water went in, m.
    pub(super) fn tank_rise(&self) -> Option<f64> {
        let (start, high) = (self.start?, self.high?);
        let during = self.points.iter().filter(|point| (start.day..=high.day).contains(&point.day));
        let highest = during.filter_map(|point| point.tank).fold(f64::NEG_INFINITY, f64::max);
        highest.is_finite().then(|| highest - start.tank.unwrap_or(0.0))
    }

    /// The look nearest to a day after the high, of those between 20 and 30 hours.
    pub(super) fn next_day(&self) -> Option<Point> {
        let high = self.high?;
        let hours = |point: &Point| (point.day - high.day) * 24.0;
        let near = self.fall.iter().filter(|point| (20.0..=30.0).contains(&hours(point)));
        near.min_by(|a, b| (hours(a) - 24.0).abs().total_cmp(&(hours(b) - 24.0).abs())).copied()
    }

    /// The first look within some 24 hours (26, as nobody comes on the minute) that finds the level of the start.
    pub(super) fn back_at_start(&self) -> Option<Point> {
        let (high, start) = (self.high?, self.start?.level?);
        let back = |point: &&Point| {
            point.day > high.day
                && point.day - high.day <= 26.0 / 24.0
                && point.level.is_some_and(|level| level <= start + self.same_level())
        };
        self.fall.iter().find(back).copied()
    }

    /// The greatest plan area of the pit that the first rise allows.
    pub(super) fn area_at_most(&self) -> Option<Area> {
        if self.pit.cross_section().is_some() {
            return None;
        }
        let rise = self.high?.level? - self.start?.level?;
        let area = self.first_dose()? / (rise * self.pit.liquid_fraction());
        (rise > 4.0 * self.stick() && area.is_finite()).then(|| Area::new::<square_meter>(area))
    }

    /// The tank cannot have held more than was added and is not in the pit.
    fn bound_tank(&mut self) {
        let (Some(area), Some(start)) = (self.open_area(), self.start) else { return };
        let Some(start_level) = start.level else { return };
        for point in &self.points {
            let (Some(level), Some(tank)) = (point.level, point.tank) else { continue };
            let rise = tank - start.tank.unwrap_or(0.0);
            if point.day < start.day || rise <= RUNNING_HEAD_M {
                continue;
            }
            let not_in_pit = (point.added - start.added - area * (level - start_level)).max(0.0);
            let (least, most) = self.tank_area;
            self.tank_area.1 = most.min(not_in_pit / rise).max(least);
        }
    }
}

fn points(test: &LoadTest, pit: &Pit) -> Vec<Point> {
    let Some(first) = test.looks().first() else { return Vec::new() };
    let bottom = pit.bottom_depth().value;
    let (mut total, mut before) = (first.added.map_or(0.0, |added| added.value), 0.0);
    let base = total;
    let point = |look: &super::Look| {
        if let Some(added) = look.added {
            // A total that starts again at nothing goes on from where it was.
            if added.value == 0.0 && total > 0.0 {
                before += total;
            }
            total = added.value;
        }
        Point {
            day: look.time.duration_since(first.time).as_secs_f64() / 86_400.0,
            added: before + total - base,
            level: look.depth.map(|depth| (bottom - depth.value).max(0.0)),
            tank: look.tank_rise.map(|rise| rise.value),
        }
    };
    test.looks().iter().map(point).collect()
}

/// First and last addition of every dose, by the place of the look that found it.
fn doses(points: &[Point]) -> Vec<(usize, usize)> {
    let mut doses: Vec<(usize, usize)> = Vec::new();
    for (place, pair) in points.windows(2).enumerate() {
        let [before, after] = pair else { continue };
        if after.added <= before.added {
            continue;
        }
        let goes_on = doses.last().and_then(|dose| points.get(dose.1)).is_some_and(|last| {
            // The look before the addition may be long after the last one.
            after.day - last.day < SECOND_DOSE_AFTER
        });
        match doses.last_mut() {
            Some(dose) if goes_on => dose.1 = place + 1,
            _ => doses.push((place + 1, place + 1)),
        }
    }
    doses
}
