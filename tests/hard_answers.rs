//! Answers that an owner would notice if they were wrong: one plain pit each, from its record to what is said of the future.

use jiff::civil::{Date, date};
use soaklife::history::FoundAtInlet;
use soaklife::loading::measured_use::household_flow;
use soaklife::loading::use_ahead::UseAhead;
use soaklife::quantity::{VolumeRate, as_inches, gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::trend::axis::Against;
use soaklife::whatif::{Effect, OtherUse, WhatIf};
use soaklife::{Forecast, History, LoadHistory, Method, Pit, Question, Reading};
use soaklife_records::Logbook;
use std::fs;
use tests::fan::{SHARE_FOUND_TO, share_at};

const AS_OF: Date = date(2026, 6, 30);
const INLET_IN: f64 = 30.0;
const BOTTOM_IN: f64 = 210.0;
const GALLONS_PER_PERSON: f64 = 58.6;
/// No forecast looks farther.
const HORIZON: f64 = 60.0;
/// Years at which chances are looked at.
const YEARS: [f64; 6] = [0.0, 1.0, 2.0, 5.0, 10.0, 60.0];
/// How much less likely a fixed day may become because days passed without a reading, as `tests/coherence_laws.rs` holds it.
const LOST_BY_WAITING: f64 = 0.02;

fn pit() -> Pit {
    Pit::new(inches(INLET_IN), inches(BOTTOM_IN)).unwrap()
}

/// The pit with readings so many inches below its rim.
fn read(pit: Pit, depths: impl IntoIterator<Item = (Date, f64)>) -> History {
    let reading = |(day, depth_in)| Reading::at_depth(&pit, day, inches(depth_in)).unwrap();
    History::new(pit).with_readings(depths.into_iter().map(reading).collect::<Vec<_>>())
}

fn ask(history: &History) -> Forecast {
    ask_on(history, AS_OF)
}

fn ask_on(history: &History, day: Date) -> Forecast {
    Forecast::of(history, &Question::new(day)).unwrap()
}

fn median(forecast: &Forecast) -> f64 {
    forecast.years_to_inlet(0.5).unwrap_or(HORIZON)
}

/// Every number says that the pit stands at its inlet, and has since that reading.
#[track_caller]
fn assert_reached(forecast: &Forecast, since: Reading) {
    assert_eq!(forecast.found_at_inlet(), Some(FoundAtInlet::Reached { since }));
    for years in YEARS {
        assert_eq!(forecast.chance_by(years), 1.0, "within {years} years");
        let left = forecast.freeboard_quantiles(years, [0.05, 0.5, 0.95]);
        assert_eq!(left.map(|left| left.map(as_inches)), [Some(0.0); 3], "in {years} years");
    }
    assert_eq!(forecast.years_to_inlet_at([0.05, 0.5, 0.95]), [Some(0.0); 3]);
}

#[test]
fn half_an_inch_below_an_inlet_that_it_stood_at_for_years_is_at_the_inlet() {
    let full = [2023, 2024, 2025].map(|year| Reading::at_inlet(date(year, 5, 1)));
    let below = Reading::at_depth(&pit(), date(2026, 5, 1), inches(INLET_IN + 0.5)).unwrap();
    assert_reached(&ask(&History::new(pit()).with_readings(full.into_iter().chain([below]))), full[0]);
}

#[test]
fn a_pit_that_filled_within_months_is_about_to_reach_its_inlet() {
    let days =
        [date(2025, 1, 10), date(2025, 5, 10), date(2025, 9, 10), date(2026, 1, 10), date(2026, 6, 10)];
    let filling = read(pit(), days.into_iter().zip([90.0, 78.0, 62.0, 47.0, 34.0]));
    let forecast = ask(&filling);
    println!("median {:?}, within two years {}", forecast.years_to_inlet(0.5), forecast.chance_by(2.0));
    assert!(median(&forecast) <= 0.5);
    assert!(forecast.chance_by(2.0) > 0.7);
}

#[test]
fn a_level_that_fell_for_seventeen_years_goes_on_falling() {
    let depths = (2010..=2026).map(|year| (date(year, 5, 1), 60.0 + 3.0 * f64::from(year - 2010)));
    let forecast = ask(&read(pit(), depths));
    let levels: Vec<f64> = (0..=10).map(|years| as_inches(forecast.level(f64::from(years)))).collect();
    println!("{levels:.1?}, within five years {}", forecast.chance_by(5.0));
    assert!(levels.windows(2).all(|pair| pair[1] < pair[0]), "{levels:?}");
    assert!(forecast.chance_by(5.0) < 0.02);
}

/// Whoever stopped measuring a pit three inches below its inlet does not learn that it is safer.
#[test]
fn a_pit_that_nobody_measured_for_eight_years_is_no_safer() {
    let pit = Pit::new(inches(30.0), inches(200.0)).unwrap();
    let days = (2014..=2018).map(|year| date(year, 5, 1));
    let history = read(pit, days.zip([41.0, 39.0, 37.0, 35.0, 33.0]));
    // As far ahead as 2028-06-30 is.
    let [before, after] =
        [(date(2018, 6, 30), 10.0), (AS_OF, 2.0)].map(|(day, years)| ask_on(&history, day).chance_by(years));
    let within_a_year = ask(&history).chance_by(1.0);
    println!("by June 2028: {before} asked in 2018, {after} in 2026; within a year {within_a_year}");
    assert!(before <= after + LOST_BY_WAITING);
    assert!(within_a_year > 0.5);
}

#[test]
fn a_mark_of_the_stick_below_the_inlet_is_at_the_inlet() {
    let full: Vec<Reading> =
        (2012..=2022).step_by(2).map(|year| Reading::at_inlet(date(year, 5, 1))).collect();
    for depth_in in [30.1, 30.0, 30.04] {
        let last = Reading::at_depth(&pit(), date(2026, 5, 1), inches(depth_in)).unwrap();
        let readings = full.iter().copied().chain([last]);
        assert_reached(&ask(&History::new(pit()).with_readings(readings)), full[0]);
    }
}

/// A logbook of one pit and one reading, with the names of the columns and the numbers below them.
fn logged(pit: [(&str, &str); 2], reading: (&str, &str)) -> Forecast {
    let folder = tempfile::tempdir().unwrap();
    let [(inlet, at), (bottom, deep)] = pit;
    fs::write(folder.path().join("pits.csv"), format!("pit_id,{inlet},{bottom}\nN-1,{at},{deep}\n")).unwrap();
    let (column, found) = reading;
    fs::write(folder.path().join("readings.csv"), format!("pit_id,date,{column}\nN-1,2026-05-01,{found}\n"))
        .unwrap();
    let logbook = Logbook::read(folder.path(), AS_OF, AS_OF).unwrap();
    assert!(!logbook.has_errors(), "{:?}", logbook.problems());
    let record = logbook.pits().next().expect("one pit").clone();
    ask(record.history())
}

/// An inlet one foot below the rim and a bottom two feet below the inlet, said in every unit; the reading is exactly there.
#[test]
fn a_level_exactly_at_the_inlet_is_there_in_every_unit() {
    let inlets = [
        ("inlet_depth_in", "12"),
        ("inlet_depth_ft", "1"),
        ("inlet_depth_cm", "30.48"),
        ("inlet_depth_m", "0.3048"),
    ];
    let bottoms = [
        ("bottom_depth_in", "36"),
        ("bottom_depth_ft", "3"),
        ("bottom_depth_cm", "91.44"),
        ("bottom_depth_m", "0.9144"),
    ];
    let readings = [
        ("liquid_level_in", "24"),
        ("liquid_level_ft", "2"),
        ("liquid_level_cm", "60.96"),
        ("depth_to_liquid_in", "12"),
        ("depth_to_liquid_ft", "1"),
        ("depth_to_liquid_cm", "30.48"),
    ];
    for inlet in inlets {
        for bottom in bottoms {
            for reading in readings {
                let forecast = logged([inlet, bottom], reading);
                let found = forecast.found_at_inlet();
                assert!(
                    matches!(found, Some(FoundAtInlet::Reached { .. })),
                    "{inlet:?} {bottom:?} {reading:?}"
                );
                assert_eq!((forecast.years_to_inlet(0.5), forecast.chance_by(0.0)), (Some(0.0), 1.0));
            }
        }
    }
}

fn people(count: f64) -> VolumeRate {
    household_flow(count, GALLONS_PER_PERSON).unwrap()
}

#[test]
fn a_hundredth_of_a_person_moves_the_median_little_and_a_person_much() {
    let design = gallons_per_day(450.0);
    let rising = (2015..=2026).map(|year| (date(year, 5, 1), 140.0 - 3.0 * f64::from(year - 2015)));
    let history = read(pit(), rising).with_load(LoadHistory::constant(design, people(2.0)).unwrap());
    for use_ahead in UseAhead::ALL {
        let today = Forecast::of(&history, &Question::new(AS_OF).if_use(use_ahead)).unwrap();
        let [fewer, as_today, more, three] = [1.99, 2.0, 2.01, 3.0].map(|count| {
            let other = OtherUse::household(count, GALLONS_PER_PERSON).unwrap();
            let then = WhatIf::of(other).beside(&today, Some(design)).unwrap();
            assert_eq!(then.effect() == Effect::SameUse, count == 2.0);
            median(then.forecast())
        });
        println!("{use_ahead}: {fewer:.2}, {as_today:.2}, {more:.2}, with three {three:.2}");
        assert_eq!(as_today, median(&today));
        assert!(fewer > as_today && as_today > more && more > three && fewer < HORIZON);
        assert!(fewer / as_today < 1.03 && as_today / more < 1.03);
    }
}

#[test]
fn a_house_that_stays_empty_sends_no_load() {
    let design = gallons_per_day(450.0);
    let flows = [(date(2010, 5, 1), people(4.0)), (date(2025, 6, 30), people(0.0))];
    let rising = (2015..2025).map(|year| (date(year, 5, 1), 140.0 - 4.0 * f64::from(year - 2015)));
    let history = read(pit(), rising)
        .with_installed(date(2010, 5, 1))
        .with_load(LoadHistory::new(design, flows).unwrap());
    let ask = |use_ahead: UseAhead, method: Method| {
        let question = Question::new(AS_OF).if_use(use_ahead).by(method).against_axis(Against::Load);
        Forecast::of(&history, &question).unwrap()
    };
    let [drifts, as_today] = UseAhead::ALL.map(|use_ahead| ask(use_ahead, Method::Absorption));
    println!("drifts {:.1}, as today {:.1}", median(&drifts), median(&as_today));
    assert!(median(&as_today) > median(&drifts));
    // Without load only levels that run of their own move on.
    let rise = |forecast: &Forecast| as_inches(forecast.level(30.0) - forecast.level(0.0));
    println!("rise in thirty years {:.2} in, if it drifts {:.2} in", rise(&as_today), rise(&drifts));
    assert!(rise(&as_today) < 0.1 * rise(&drifts));
    let pace = |forecast: &Forecast| as_inches(forecast.pace_quantile(0.5).unwrap());
    println!("pace {:.4} in a year, if it drifts {:.4}", pace(&as_today), pace(&drifts));
    assert!(pace(&as_today).abs() < 1e-3 && pace(&drifts) > 0.0);
    let moved_in = WhatIf::of(OtherUse::household(4.0, GALLONS_PER_PERSON).unwrap());
    let again = moved_in.beside(&as_today, Some(design)).unwrap();
    assert!(median(again.forecast()) < median(&as_today));
}

/// The fan and the chance say the same of a pit that was last read in an empty house.
#[test]
fn in_an_empty_house_the_fan_stands_at_the_inlet_as_often_as_the_chance_says() {
    let pit = Pit::new(inches(42.0), inches(186.0)).unwrap();
    let flows = [(date(1985, 1, 1), people(4.0)), (date(2026, 1, 15), people(0.0))];
    let readings = [
        Reading::at_depth(&pit, date(2024, 6, 11), inches(131.0)).unwrap(),
        Reading::at_depth(&pit, date(2026, 5, 5), inches(172.5)).unwrap().in_condition(Condition::Vacant),
    ];
    let history = History::new(pit)
        .with_installed(date(1985, 1, 1))
        .with_load(LoadHistory::new(gallons_per_day(450.0), flows).unwrap())
        .with_readings(readings);
    for use_ahead in UseAhead::ALL {
        let forecast = Forecast::of(&history, &Question::new(AS_OF).if_use(use_ahead)).unwrap();
        for years in [0.0, 1.0, 2.0, 5.0, 10.0] {
            let (share, chance) = (share_at(&forecast, years, 144.0), forecast.chance_by(years));
            assert!((share - chance).abs() < SHARE_FOUND_TO, "in {years} years {share} and {chance}");
        }
    }
}

#[test]
fn a_last_reading_at_the_inlet_is_the_answer_of_every_method() {
    let levels = (2018..=2025).map(|year| (date(year, 5, 1), 80.0 - 5.0 * f64::from(year - 2018)));
    let (before, full) = (read(pit(), levels), Reading::at_inlet(date(2026, 5, 1)));
    let readings = before.readings().iter().copied().chain([full]).collect::<Vec<_>>();
    let history = before.with_readings(readings);
    for method in Method::ALL {
        assert_reached(&Forecast::of(&history, &Question::new(AS_OF).by(method)).unwrap(), full);
    }
}
