//! Pits with records of every kind: what a forecast may be asked about, far beyond what a valley holds.

use jiff::civil::{Date, date};
use proptest::prelude::*;
use soaklife::date::{PartialDate, date_after};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{VolumeRate, as_inches, gallons_per_day, inches};
use soaklife::reading::{Condition, Observation};
use soaklife::soil::Soil;
use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
use std::fmt;

/// The day of the forecast; no reading, event or household is later.
pub const AS_OF: Date = date(2026, 6, 30);
pub const DESIGN_GPD: f64 = 450.0;
const MOST_READINGS: usize = 12;

/// A pit's record, and down to what freeboard it is asked about.
#[derive(Clone)]
pub struct Case {
    pub history: History,
    pub freeboard_in: f64,
}

impl Case {
    pub fn forecast(&self) -> Forecast {
        self.forecast_on(AS_OF)
    }

    pub fn forecast_on(&self, day: Date) -> Forecast {
        self.asked(Question::new(day))
    }

    /// The same down to the freeboard of the case.
    pub fn asked(&self, question: Question) -> Forecast {
        let asked = question.down_to(inches(self.freeboard_in)).expect("no negative freeboard");
        Forecast::of(&self.history, &asked).expect("the absorption method answers any such record")
    }

    pub fn depth_in(&self) -> f64 {
        as_inches(self.history.pit().effective_depth())
    }

    /// Level at which the goal is reached.
    pub fn goal_in(&self) -> f64 {
        self.depth_in() - self.freeboard_in
    }

    pub fn readings(&self) -> &[Reading] {
        self.history.readings()
    }

    /// The same pit with its readings moved up by so much, which may differ from one to the next.
    pub fn moved(&self, up_in: impl Fn(usize, &Reading) -> f64) -> Self {
        let pit = self.history.pit();
        let moved = self.readings().iter().enumerate();
        let moved = moved.map(|(place, reading)| moved_up(pit, reading, up_in(place, reading)));
        let readings: Vec<Reading> = moved.collect();
        Self { history: self.history.clone().with_readings(readings), ..*self }
    }
}

/// As a row of a logbook would say it: levels are inches above the bottom.
impl fmt::Debug for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} in deep, down to {:.2} in of freeboard", self.depth_in(), self.freeboard_in)?;
        write!(f, ", {:?}", self.history.soil())?;
        if let Some(installed) = self.history.installed() {
            write!(f, ", built {installed}")?;
        }
        for step in self.history.load().map_or(&[][..], LoadHistory::steps) {
            write!(f, ", load {:.3} from {}", step.ratio, step.from)?;
        }
        for event in self.history.events() {
            write!(f, ", {:?} {}", event.kind, event.date)?;
        }
        for reading in self.readings() {
            match reading.observation() {
                Observation::Liquid { level } => {
                    write!(f, ", {}: {:.3}", reading.date(), as_inches(level))?;
                }
                found => write!(f, ", {}: {found:?}", reading.date())?,
            }
            if reading.condition() != Condition::Normal {
                write!(f, " {:?}", reading.condition())?;
            }
        }
        Ok(())
    }
}

/// The reading with the liquid so much higher: dry below the bottom, at the inlet above it.
fn moved_up(pit: &Pit, reading: &Reading, up_in: f64) -> Reading {
    if up_in == 0.0 {
        return *reading;
    }
    found(pit, reading.date(), as_inches(reading.level(pit)) + up_in).in_condition(reading.condition())
}

fn found(pit: &Pit, date: PartialDate, level_in: f64) -> Reading {
    match level_in {
        low if low <= 0.0 => Reading::dry(date),
        high if inches(high) >= pit.effective_depth() => Reading::at_inlet(date),
        level_in => Reading::at_level(pit, date, inches(level_in)).expect("between bottom and inlet"),
    }
}

pub fn is_liquid(reading: &Reading) -> bool {
    matches!(reading.observation(), Observation::Liquid { .. })
}

/// Where a stick finds the liquid, as shares of the depth, or inches from bottom or inlet.
#[derive(Debug, Clone, Copy)]
enum Spot {
    Share(f64),
    AboveBottom(f64),
    BelowInlet(f64),
}

impl Spot {
    fn level_in(self, depth_in: f64) -> f64 {
        match self {
            Self::Share(share) => share * depth_in,
            Self::AboveBottom(height_in) => height_in,
            Self::BelowInlet(left_in) => depth_in - left_in,
        }
    }
}

fn any_spot() -> impl Strategy<Value = Spot> {
    prop_oneof![
        6 => (0.0..1.0f64).prop_map(Spot::Share),
        2 => (0.0..6.0f64).prop_map(Spot::BelowInlet),
        2 => (0.0..6.0f64).prop_map(Spot::AboveBottom),
        1 => Just(Spot::AboveBottom(0.0)),
        1 => Just(Spot::BelowInlet(0.0)),
    ]
}

/// One visit: when, as a share of the age; where the liquid stands if the record follows no course; in what condition; how
/// exactly the day is known; and the marks of the stick an inch.
type Visit = (f64, Spot, Condition, u8, Option<f64>, f64);

fn any_visit() -> impl Strategy<Value = Visit> {
    let condition = prop_oneof![
        12 => Just(Condition::Normal),
        1 => Just(Condition::AfterRain),
        1 => Just(Condition::Vacant),
        1 => Just(Condition::AfterPumping),
        1 => Just(Condition::Suspect),
    ];
    let marks = prop_oneof![Just(None), prop::sample::select(vec![Some(1.0), Some(2.0), Some(10.0)])];
    (0.0..1.0f64, any_spot(), condition, 0u8..20, marks, -3.0..3.0f64)
}

/// A course that the levels follow with some scatter: level at the first visit and rise a year.
fn any_course() -> impl Strategy<Value = Option<(f64, f64)>> {
    prop_oneof![Just(None), (0.0..1.0f64, -4.0..9.0f64).prop_map(Some)]
}

fn any_event() -> impl Strategy<Value = (f64, EventKind)> {
    (0.0..1.0f64, prop::sample::select(EventKind::ALL.to_vec()))
}

fn any_load() -> impl Strategy<Value = Vec<(f64, f64)>> {
    let ratio = prop_oneof![1 => Just(0.0), 8 => 0.05..1.8f64];
    prop_oneof![
        2 => Just(Vec::new()),
        2 => ratio.clone().prop_map(|ratio| vec![(1.0, ratio)]),
        2 => prop::collection::vec((0.0..1.0f64, ratio), 1..5),
    ]
}

fn any_freeboard() -> impl Strategy<Value = f64> {
    prop_oneof![4 => Just(0.0), 1 => Just(6.0), 1 => Just(12.0), 1 => 0.0..60.0f64]
}

/// A record with so many readings at the fewest.
pub fn any_case_of(fewest: usize) -> impl Strategy<Value = Case> {
    let soils = vec![Soil::Unknown, Soil::Sand, Soil::Loam, Soil::Clay];
    (
        (5.0..60.0f64, 24.0..300.0f64, 0.5..60.0f64),
        (prop::collection::vec(any_visit(), fewest..=MOST_READINGS), any_course()),
        prop_oneof![Just(Vec::new()), prop::collection::vec(any_event(), 1..4)],
        any_load(),
        (0u8..4, prop::sample::select(soils)),
        any_freeboard(),
    )
        .prop_map(|((inlet_in, depth_in, age), record, events, load, (known, soil), freeboard_in)| {
            let pit = Pit::new(inches(inlet_in), inches(inlet_in + depth_in)).unwrap();
            let events = events.into_iter().map(|(ago, kind)| Event::new(day(ago * age.min(10.0)), kind));
            let history = History::new(pit).with_soil(soil).with_readings(readings(&pit, age, record));
            let history = history.with_events(events.collect::<Vec<_>>());
            let history = match known {
                0 => history,
                1 => history.with_installed(PartialDate::year(day(age).year()).unwrap()),
                _ => history.with_installed(day(age)),
            };
            let flows = load.into_iter().map(|(ago, ratio)| (day(ago * age), flow_of(ratio)));
            let history = match LoadHistory::new(flow_of(1.0), flows) {
                Ok(load) => history.with_load(load),
                Err(_) => history,
            };
            // An action level lies above the bottom.
            Case { history, freeboard_in: freeboard_in.min(0.9 * depth_in) }
        })
}

/// A record that knows its load, of a house with somebody in it.
pub fn any_case_with_people() -> impl Strategy<Value = Case> {
    (any_case_of(0), 0.1..1.5f64).prop_map(|(case, ratio)| {
        let load = match case.history.load() {
            Some(load) if load.ratio_at(AS_OF) > 0.0 => load.clone(),
            _ => LoadHistory::constant(flow_of(1.0), flow_of(ratio)).unwrap(),
        };
        Case { history: case.history.with_load(load), ..case }
    })
}

fn readings(pit: &Pit, age: f64, (visits, course): (Vec<Visit>, Option<(f64, f64)>)) -> Vec<Reading> {
    let depth_in = as_inches(pit.effective_depth());
    let read = |(share, spot, condition, exact, marks, scatter_in): Visit| {
        // More of the visits are recent ones.
        let ago = age * share * share;
        let level_in = match course {
            Some((start, rise_in)) => start * depth_in + (age.min(20.0) - ago) * rise_in + scatter_in,
            None => spot.level_in(depth_in),
        };
        let level_in = marks.map_or(level_in, |marks| (level_in * marks).round() / marks);
        found(pit, roughly(day(ago), exact), level_in).in_condition(condition)
    };
    visits.into_iter().map(read).collect()
}

/// Of one day in ten the month or the year alone is known; what is not over by the day of the forecast is always a day.
fn roughly(day: Date, exact: u8) -> PartialDate {
    let known = match exact {
        0 if day.year() < AS_OF.year() => PartialDate::year(day.year()),
        1 if day.year() < AS_OF.year() => PartialDate::month(day.year(), day.month()),
        _ => return PartialDate::day(day),
    };
    known.expect("a year of the calendar")
}

fn day(years_ago: f64) -> Date {
    date_after(AS_OF, -years_ago).expect("within the calendar")
}

pub fn flow_of(ratio: f64) -> VolumeRate {
    gallons_per_day(ratio * DESIGN_GPD)
}
