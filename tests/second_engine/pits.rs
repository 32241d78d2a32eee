//! Pits of every kind, drawn at random but always the same.

use jiff::ToSpan;
use jiff::civil::Date;
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::soil::Soil;
use soaklife::{History, LoadHistory, Pit, Reading};

/// The day of every forecast.
pub const AS_OF: Date = Date::constant(2026, 6, 30);

/// Random numbers: Steele, Lea and Flood's SplitMix64 (2014).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn chance(&mut self, chance: f64) -> bool {
        self.between(0.0, 1.0) < chance
    }

    fn days(&mut self, low: i64, high: i64) -> i64 {
        self.between(low as f64, high as f64 + 1.0).floor() as i64
    }

    /// Near enough to normal for the error of a stick.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.between(0.0, 1.0)).sum::<f64>() - 6.0
    }
}

fn days_ago(days: i64) -> Date {
    AS_OF.checked_sub(days.days()).unwrap()
}

/// How the true level of a pit runs, inches above the bottom, against its age in years.
struct Course {
    onset: f64,
    scale: f64,
    exponent: f64,
}

impl Course {
    fn level(&self, age: f64) -> f64 {
        self.scale * ((age - self.onset).max(0.0) / 20.0).powf(self.exponent)
    }
}

/// When somebody looked.
#[derive(Clone, Copy, PartialEq)]
enum Looks {
    /// Up to the day of the forecast.
    AllAlong,
    Never,
    /// Not for some years.
    LongAgo,
    /// Several times within months.
    WithinMonths,
}

impl Looks {
    /// Those from the two hundredth pit on are of the kinds that are rare among the others.
    fn of(number: u64) -> Self {
        match (number >= USUAL_PITS, (number + number / 10) % 5) {
            (false, _) => Self::AllAlong,
            (true, 0) => Self::Never,
            (true, 1 | 2) => Self::LongAgo,
            (true, _) => Self::WithinMonths,
        }
    }

    /// How often, and the first and last day before that of the forecast.
    fn drawn(self, random: &mut Random, (count, span): (i64, i64), age_days: i64) -> (i64, i64, i64) {
        match self {
            Self::AllAlong => (count, span, 0),
            Self::Never => (0, 0, 0),
            Self::LongAgo => {
                let last = random.days(300, (age_days - 60).min(18 * 365));
                (random.days(1, 8), random.days(last + 30, age_days.min(last + 10 * 365)), last)
            }
            Self::WithinMonths => {
                let last = random.days(0, (age_days - 200).min(2 * 365));
                (random.days(3, 9), last + random.days(20, 150), last)
            }
        }
    }
}

/// Pits that are read up to the day of the forecast.
pub const USUAL_PITS: u64 = 200;

/// The pit of this number.
pub fn pit(number: u64) -> History {
    let mut random = Random(0x50AC_11FE ^ number.wrapping_mul(0x1234_5678_9ABC_DEF1));
    let depth = random.between(40.0, 260.0);
    let inlet = random.between(12.0, 60.0);
    let pit = Pit::new(inches(inlet), inches(inlet + depth)).unwrap();
    let age_days = random.days(400, 60 * 365);
    let mut history = History::new(pit).with_soil(
        [Soil::Gravel, Soil::Sand, Soil::Loam, Soil::Silt, Soil::Clay, Soil::Unknown]
            [random.days(0, 5) as usize],
    );
    if random.chance(0.85) {
        history = history.with_installed(days_ago(age_days));
    }
    if random.chance(0.8) {
        history = history.with_load(load(&mut random, age_days));
    }
    let readings = readings(&mut random, &pit, depth, age_days, Looks::of(number));
    history.with_readings(readings).with_events(events(&mut random, age_days))
}

fn load(random: &mut Random, age_days: i64) -> LoadHistory {
    let flows: Vec<_> = (0..random.days(1, 4))
        .map(|_| (days_ago(random.days(0, age_days)), gallons_per_day(400.0 * random.between(0.02, 1.6))))
        .collect();
    LoadHistory::new(gallons_per_day(400.0), flows).unwrap()
}

fn readings(random: &mut Random, pit: &Pit, depth: f64, age_days: i64, looks: Looks) -> Vec<Reading> {
    let course = Course {
        onset: if random.chance(0.3) { random.between(0.0, 25.0) } else { 0.0 },
        scale: depth * random.between(0.15, 1.1),
        exponent: random.between(0.4, 1.4),
    };
    let (count, stick) = (random.days(1, 20), random.between(0.3, 4.0));
    let span = random.days(30, age_days.min(25 * 365));
    let (count, first, last) = looks.drawn(random, (count, span), age_days);
    // Where little is known, a stick that finds less than an inch says so by its height.
    let driest = if looks == Looks::AllAlong { 1.0 } else { 0.5 };
    (0..count)
        .map(|_| {
            let ago = random.days(last, first);
            let age = (age_days - ago) as f64 / 365.25;
            let slip = if random.chance(0.05) { random.between(-30.0, 30.0) } else { 0.0 };
            let level = course.level(age) + stick * random.normal() + slip;
            let reading = match level {
                level if level < driest => Reading::dry(days_ago(ago)),
                level if level >= depth => Reading::at_inlet(days_ago(ago)),
                level => Reading::at_level(pit, days_ago(ago), inches((4.0 * level).round() / 4.0)).unwrap(),
            };
            reading.in_condition(condition(random))
        })
        .collect()
}

fn condition(random: &mut Random) -> Condition {
    match random.days(0, 19) {
        0 | 1 => Condition::AfterRain,
        2 | 3 => Condition::Vacant,
        4 => Condition::AfterPumping,
        5 => Condition::Suspect,
        _ => Condition::Normal,
    }
}

fn events(random: &mut Random, age_days: i64) -> Vec<Event> {
    if !random.chance(0.35) {
        return Vec::new();
    }
    (0..random.days(1, 3))
        .map(|_| {
            let kind = EventKind::ALL[random.days(0, 7) as usize];
            Event::new(days_ago(random.days(0, age_days.min(20 * 365))), kind)
        })
        .collect()
}

/// The day `years` before that of the forecast is `-years` in years from now.
pub fn years_from_now(day: Date) -> f64 {
    f64::from((day - AS_OF).get_days()) / 365.25
}
