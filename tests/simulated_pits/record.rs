//! What the record says of a pit: readings with their errors, and as much of its load and events as was kept.

use super::life::{GALLON_M3, INCH_M, Incident, Life};
use super::random::Random;
use super::{RecordQuality, as_of};
use jiff::civil::Date;
use soaklife::date::{PartialDate, date_after};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{gallons_per_day, inches, metres};
use soaklife::{CrossSection, History, LoadHistory, Pit, Reading};

/// A stick and the hand that holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stick {
    standard_deviation_in: f64,
    rounds_to_in: f64,
}

impl Stick {
    fn draw(random: &mut Random, quality: RecordQuality) -> Self {
        let careful = match quality {
            RecordQuality::Careful => true,
            RecordQuality::Sloppy => false,
            RecordQuality::Mixed => random.chance(0.5),
        };
        match careful {
            true => Self { standard_deviation_in: random.between(0.5, 1.0), rounds_to_in: 0.5 },
            false => Self { standard_deviation_in: random.between(1.0, 2.0), rounds_to_in: 1.0 },
        }
    }
}

/// The record of a life up to the as-of day, the stick it was kept with, and how many of its readings are grossly wrong.
pub(super) fn keep(random: &mut Random, life: &Life, quality: RecordQuality) -> (History, Stick, usize) {
    keep_at(random, life, quality, reading_times)
}

/// The same with readings at other times, newest first, which are drawn for a pit of some age.
pub(super) fn keep_at(
    random: &mut Random,
    life: &Life,
    quality: RecordQuality,
    times: impl FnOnce(&mut Random, f64) -> Vec<f64>,
) -> (History, Stick, usize) {
    let inlet_in = random.between(10.0, 48.0).round();
    let bottom_in = inlet_in + (life.nature.effective_m / INCH_M).round();
    let diameter = metres(life.nature.balance.diameter_m);
    let pit = Pit::new(inches(inlet_in), inches(bottom_in)).expect("the bottom lies below the inlet");
    let pit = pit.with_cross_section(CrossSection::round(diameter).expect("a pit has a diameter"));

    let stick = Stick::draw(random, quality);
    let mut gross_errors = 0;
    let mut readings = Vec::new();
    for years in times(random, life.age) {
        let (reading, gross) = read(random, &stick, &pit, life, years);
        gross_errors += usize::from(gross);
        readings.push(reading);
    }
    let history = History::new(pit).with_readings(readings).with_events(kept_events(random, life));
    let history = match random.chance(0.8) {
        true => {
            let installed = day(-life.age);
            // Half of the owners know the year only.
            let known = match random.chance(0.5) {
                true => PartialDate::year(installed.year()).expect("installed after the year 1"),
                false => PartialDate::day(installed),
            };
            history.with_installed(known).with_load(load(random, life, -life.age))
        }
        // Who does not know when the pit was built knows the water of the later years at best.
        false => {
            let since = -life.age * random.between(0.3, 0.9);
            history.with_load(load(random, life, since))
        }
    };
    (history, stick, gross_errors)
}

/// Times of the readings, newest first: mostly yearly, some every other year or whenever somebody came by.
fn reading_times(random: &mut Random, age: f64) -> Vec<f64> {
    let (fewest, most) = random.pick(&[
        (0.20, (1, 1)),
        (0.18, (2, 2)),
        (0.11, (3, 3)),
        (0.11, (4, 4)),
        (0.25, (5, 9)),
        (0.15, (10, 20)),
    ]);
    let count = random.between(f64::from(fewest), f64::from(most + 1)) as usize;
    let rhythm = random.pick(&[(0.75, Some(1.0)), (0.15, Some(2.0)), (0.10, None)]);
    let mut at = -random.between(0.0, 1.2);
    let mut times = Vec::new();
    while times.len() < count && at > -age + 0.1 {
        // The first visit within reach always counts: a record without any reading is another question.
        if times.is_empty() || !random.chance(0.1) {
            times.push(at);
        }
        at -= match rhythm {
            Some(years) => years + random.between(-0.12, 0.12),
            None => random.between(0.3, 3.0),
        };
    }
    if times.is_empty() { vec![-0.05] } else { times }
}

/// One reading after the as-of day.
pub(super) fn read_later(random: &mut Random, stick: &Stick, pit: &Pit, life: &Life, years: f64) -> Reading {
    if life.reached.is_some_and(|reached| reached <= years) {
        return Reading::at_inlet(day(years));
    }
    read(random, stick, pit, life, years).0
}

/// One reading, and whether it is grossly wrong.
fn read(random: &mut Random, stick: &Stick, pit: &Pit, life: &Life, years: f64) -> (Reading, bool) {
    let date = match random.chance(0.05) {
        true => PartialDate::month(day(years).year(), day(years).month()).expect("a month of the calendar"),
        false => PartialDate::day(day(years)),
    };
    let level = life.level_found_m(years);
    if level >= life.nature.effective_m {
        return (Reading::at_inlet(date), false);
    }
    let error_in = stick.standard_deviation_in * random.normal();
    let level_in = level / INCH_M + error_in;
    // A film on the floor is no liquid to a stick.
    if level / INCH_M < 0.5 || level_in <= 0.0 {
        return (Reading::dry(date), false);
    }
    let exact_depth_in = soaklife::quantity::as_inches(pit.depth_at_level(inches(level_in)));
    let gross = random.chance(0.03);
    let depth_in = match gross {
        // Read from the ground or a riser in place of the rim.
        true if random.chance(0.7) => {
            let sign = if random.chance(0.5) { 1.0 } else { -1.0 };
            exact_depth_in + sign * random.between(6.0, 36.0)
        }
        // Tenths of feet booked as inches: 7.4 ft as 74 in.
        true => exact_depth_in / 1.2,
        false => exact_depth_in,
    };
    let rounded_in = (depth_in / stick.rounds_to_in).round() * stick.rounds_to_in;
    let bottom_in = soaklife::quantity::as_inches(pit.bottom_depth());
    let reading = match rounded_in >= bottom_in {
        true => Reading::dry(date),
        false => Reading::at_depth(pit, date, inches(rounded_in.max(0.0))).expect("between rim and bottom"),
    };
    (reading, gross)
}

/// The events that somebody wrote down: 17 of 20.
fn kept_events(random: &mut Random, life: &Life) -> Vec<Event> {
    let mut events = Vec::new();
    for incident in life.incidents.iter().filter(|_| random.chance(0.85)) {
        match *incident {
            Incident::PumpedOut { at, .. } => events.push(Event::new(day(at), EventKind::PumpedOut)),
            Incident::PipeRepaired { at, .. } => events.push(Event::new(day(at), EventKind::PipeRepaired)),
            Incident::Rehabilitated { at } => events.push(Event::new(day(at), EventKind::Rehabilitated)),
            Incident::Rested { from, to, .. } => {
                events.push(Event::new(day(from), EventKind::RestStarted));
                events.push(Event::new(day(to), EventKind::RestEnded));
            }
        }
    }
    events
}

/// What is known of the load: for 70 % of the pits every change of the household from `since` on, else today's flow only; either
/// off by up to a tenth.
fn load(random: &mut Random, life: &Life, since: f64) -> LoadHistory {
    let design = life.nature.design_m3_per_day / GALLON_M3;
    let bias = random.between(0.9, 1.1);
    let flow = |share: f64| gallons_per_day((share * bias * design).round());
    let design = gallons_per_day(design.round());
    let known = match random.chance(0.7) {
        true => {
            let first = (since, life.household.share_at(since));
            let steps = life.household.steps.iter().copied();
            let changes = steps.filter(|&(from, _)| from > since && from <= 0.0);
            LoadHistory::new(
                design,
                std::iter::once(first).chain(changes).map(|(from, share)| (day(from), flow(share))),
            )
        }
        false => LoadHistory::constant(design, flow(life.household.share_at(0.0))),
    };
    known.expect("flows and design flow are above zero")
}

fn day(years: f64) -> Date {
    date_after(as_of(), years).expect("within a century of the as-of day")
}
