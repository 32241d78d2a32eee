//! Replays that can be worked out by hand.

use super::prediction::Prediction;
use super::*;
use crate::LoadHistory;
use crate::history::{Event, EventKind};
use crate::pit::Pit;
use crate::quantity::{as_inches, gallons_per_day, inches};
use crate::reading::{Condition, Reading};
use crate::trend::CrossingSet;
use jiff::civil::date;
use proptest::prelude::*;

const AS_OF: Date = Date::constant(2026, 6, 30);

fn pit() -> Pit {
    Pit::new(inches(30.0), inches(210.0)).unwrap()
}

/// A reading each May, given as levels.
fn yearly(first_year: i16, levels_in: &[f64]) -> Vec<Reading> {
    let reading =
        |(level, year): (&f64, i16)| Reading::at_level(&pit(), date(year, 5, 10), inches(*level)).unwrap();
    levels_in.iter().zip(first_year..).map(reading).collect()
}

fn replay(history: &History, method: Method) -> Backtest {
    Plan::new(AS_OF).by([method]).replay([history])
}

fn told(length: Option<crate::quantity::Length>) -> f64 {
    length.map_or(f64::NAN, as_inches)
}

/// Levels exactly on a line over the days themselves: 3 in each 300 days, from 40 in.
fn exact(count: i32) -> History {
    let reading = |n: i32| {
        let day = date(2010, 1, 1).checked_add(jiff::Span::new().days(300 * n)).unwrap();
        Reading::at_level(&pit(), day, inches(40.0 + 3.0 * f64::from(n))).unwrap()
    };
    History::new(pit()).with_readings((0..count).map(reading))
}

#[test]
fn on_an_exact_line_every_prediction_is_right() {
    let backtest = replay(&exact(10), Method::Line);
    // Origins at the third to the ninth reading.
    assert_eq!((backtest.pits, backtest.replays, backtest.left_out), (1, 7, 0));
    let line = &backtest.methods[0];
    let counts: Vec<usize> = line.levels.iter().map(|score| score.cases).collect();
    // 300 days apart: 1 year is one reading on, 2 years two (1.64) on, 5 years six (4.93) on or
    // at least five (4.11).
    assert_eq!(counts, [7, 7, 6, 3]);
    for score in &line.levels {
        assert_eq!((score.answered, score.pits), (score.cases, 1));
        assert!(told(score.error) < 1e-9 && told(score.crps) < 1e-9, "{score:?}");
    }
    let stays: Vec<f64> = line.levels.iter().map(|score| told(score.no_change_error)).collect();
    assert!(
        stays.iter().zip([3.0, 3.0, 6.0, 17.0]).all(|(found, hand)| (found - hand).abs() < 1e-9),
        "{stays:?}"
    );
    assert!(line.levels[0].skill_over_no_change.unwrap() > 1.0 - 1e-9);
}

/// Three readings on a line, 1 in each hundred days, and a fourth 4 in above it.
#[test]
fn a_jump_is_missed_by_its_height() {
    let day = |n: i32| date(2020, 6, 1).checked_add(jiff::Span::new().days(100 * n)).unwrap();
    let levels = [10.0, 11.0, 12.0, 17.0];
    let readings =
        levels.iter().zip(0..).map(|(&level, n)| Reading::at_level(&pit(), day(n), inches(level)).unwrap());
    let backtest = replay(&History::new(pit()).with_readings(readings), Method::Line);
    let next = &backtest.methods[0].levels[0];
    assert_eq!(next.cases, 1);
    // 13 in was predicted without any scatter, 17 found; 12 was the last level.
    for (found, hand) in
        [(next.error, 4.0), (next.crps, 4.0), (next.pinball, 2.0), (next.no_change_error, 5.0)]
    {
        assert!((told(found) - hand).abs() < 1e-9, "{found:?} {hand}");
    }
    assert!((next.skill_over_no_change.unwrap() - 0.2).abs() < 1e-9);
    assert!(next.skill_over_line.unwrap().abs() < 1e-12, "no better than itself");
    assert_eq!(next.ranges.map(|range| (range.tally.held, range.tally.of)), [(0, 1); 3]);
}

/// The range that is scored is the one the forecast tells, at the day of the reading found.
#[test]
fn the_range_of_a_reading_is_scored() {
    let levels = [60.0, 63.0, 64.5, 68.0, 69.5, 74.0, 82.0];
    let readings = yearly(2018, &levels);
    let history = History::new(pit()).with_readings(readings.clone());
    let score = &replay(&history, Method::Line).methods[0].levels[0];
    let mut held = [0; 3];
    for last in 2..6 {
        let until = History::new(pit()).with_readings(readings[..=last].to_vec());
        let day = readings[last].date().middle();
        let forecast = Forecast::of(&until, &Question::new(day).by(Method::Line)).unwrap();
        for (held, coverage) in held.iter_mut().zip(COVERAGES) {
            let band = forecast.reading_band(forecast.years_of(&readings[last + 1]), coverage).unwrap();
            let found = inches(levels[last + 1]);
            *held += usize::from(band.lower <= found && found <= band.upper);
        }
    }
    assert_eq!(score.ranges.map(|range| range.tally.held), held);
    assert!(held[2] > held[0] && held[2] < 4, "{held:?}");
}

#[test]
fn a_method_without_ranges_is_scored_by_its_median() {
    let backtest = Plan::new(AS_OF).by([Method::Rank]).replay([&exact(10)]);
    let next = &backtest.methods[0].levels[0];
    // A trend by ranks needs a fourth reading.
    assert_eq!((next.cases, next.answered), (7, 6));
    assert_eq!(next.ranges.map(|range| range.tally.of), [0; 3]);
    assert!(told(next.error) < 1e-9);
}

#[test]
fn a_crossing_counts_on_the_day_it_was_found() {
    // 2 inches a year with a little scatter; the inlet is 180 in above the bottom.
    let levels = [168.0, 170.2, 171.9, 174.1, 176.0, 177.9, 180.5];
    let history = History::new(pit()).with_readings(yearly(2019, &levels));
    let inlet = &replay(&history, Method::Line).methods[0].crossing;
    assert_eq!((inlet.cases, inlet.answered, inlet.reached, inlet.pits), (4, 4, 4, 1));
    // Each forecast puts it within weeks of the day it was found, so that the chance of it by then is near one half.
    assert!(inlet.error_years.is_some_and(|error| error < 0.1), "{inlet:?}");
    assert_eq!(inlet.early.map(|early| (early.missed, early.of)), [(0, 4); 2]);
    assert_eq!(inlet.ranges.map(|range| (range.tally.held, range.tally.of)), [(4, 4); 3]);
    assert!((1.0..3.0).contains(&inlet.expected), "{inlet:?}");
}

#[test]
fn an_inlet_reached_too_soon_is_an_early_miss() {
    let levels = [100.0, 101.0, 102.1, 103.0, 104.0, 180.0];
    let history = History::new(pit()).with_readings(yearly(2020, &levels));
    let inlet = &replay(&history, Method::Line).methods[0].crossing;
    assert_eq!((inlet.answered, inlet.reached), (3, 3));
    assert_eq!(inlet.early.map(|early| early.missed), [3, 3]);
    assert_eq!(inlet.ranges.map(|range| (range.tally.held, range.tally.of)), [(0, 3); 3]);
    assert!(inlet.expected < 0.5);
}

#[test]
fn an_inlet_not_yet_reached_counts_only_against_ranges_that_have_passed() {
    // Steep at first: the inlet was due within four years. Then it stands still.
    let levels = [100.0, 120.2, 139.9, 160.0, 160.0, 160.0, 160.0, 160.0, 160.0, 160.0];
    let history = History::new(pit()).with_readings(yearly(2017, &levels));
    let inlet = &replay(&history, Method::Line).methods[0].crossing;
    assert_eq!((inlet.cases, inlet.reached, inlet.error_years), (7, 0, None));
    assert_eq!(inlet.early.map(|early| early.missed), [0, 0]);
    let judged = inlet.ranges.map(|range| range.tally);
    assert!(
        judged.iter().all(|tally| tally.held == 0 && tally.of >= 1 && tally.of < inlet.cases),
        "{judged:?}"
    );

    // Plenty of room: nothing has passed, nothing counts.
    let slow = History::new(pit()).with_readings(yearly(2017, &[10.0, 11.1, 12.0, 12.9, 14.0, 15.1, 16.0]));
    let inlet = &replay(&slow, Method::Line).methods[0].crossing;
    assert_eq!((inlet.answered, inlet.ranges.map(|range| range.tally.of)), (4, [0; 3]));
}

/// A range that goes on for ever still has an earliest day.
#[test]
fn an_open_range_of_years_is_scored_from_its_lower_end() {
    let history = History::new(pit()).with_readings(yearly(2023, &[138.0, 144.0, 141.0, 152.0]));
    let forecast = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line)).unwrap();
    let CrossingSet::NotBefore { earliest } = forecast.crossing_set(Coverage::NINETY) else {
        panic!("{:?}", forecast.crossing_set(Coverage::NINETY));
    };
    let predicted = Prediction::of_crossing(&forecast);
    let ninety = predicted.and_then(|prediction| prediction.ranges[2]);
    assert_eq!(ninety.map(|range| (range.lower, range.upper)), Some((earliest, f64::INFINITY)));
}

#[test]
fn nothing_later_reaches_a_forecast() {
    let levels = [60.0, 63.0, 64.5, 68.0, 69.5, 74.0, 75.0, 79.0];
    let readings = yearly(2018, &levels);
    let load = |later: f64| {
        let flows = [(date(2000, 1, 1), 200.0), (date(2020, 8, 1), 400.0), (date(2024, 8, 1), later)];
        LoadHistory::new(gallons_per_day(450.0), flows.map(|(from, flow)| (from, gallons_per_day(flow))))
            .unwrap()
    };
    let history = History::new(pit()).with_readings(readings.clone()).with_load(load(400.0));
    let (origins, _) = origin::origins(&history, 3);
    let plan = Plan::new(AS_OF);
    let early = origins.iter().filter(|origin| origin.day < date(2024, 1, 1));
    for origin in early {
        // Another future: other readings, another household, a repair.
        let wild = readings.iter().map(|reading| {
            if reading.date().middle() > origin.day { Reading::at_inlet(reading.date()) } else { *reading }
        });
        let repaired = Event::new(date(2025, 1, 1), EventKind::PipeRepaired);
        let other = history.clone().with_readings(wild).with_load(load(9_000.0)).with_events([repaired]);
        let (others, _) = origin::origins(&other, 3);
        let again = others.iter().find(|other| other.day == origin.day).unwrap();
        for method in Method::ALL {
            assert_eq!(
                plan.forecast(origin, method, &plan.experience),
                plan.forecast(again, method, &plan.experience)
            );
        }
    }
    // A load that begins later is not known at all, although its first ratio reaches back.
    let begins =
        LoadHistory::new(gallons_per_day(450.0), [(date(2025, 1, 1), gallons_per_day(100.0))]).unwrap();
    let known = History::new(pit()).with_load(begins);
    assert!(known.known_by(date(2024, 1, 1)).load().is_none() && known.known_by(AS_OF).load().is_some());
}

#[test]
fn a_fresh_start_ends_the_comparison() {
    let levels = [60.0, 62.0, 64.0, 66.0, 30.0, 32.0, 34.0, 36.0];
    let repaired = Event::new(date(2022, 1, 1), EventKind::PipeRepaired);
    let history = History::new(pit()).with_readings(yearly(2018, &levels)).with_events([repaired]);
    let backtest = replay(&history, Method::Line);
    // 2020 looks on to 2021; 2021 has nothing comparable after it; 2024 is the third after the repair.
    assert_eq!((backtest.replays, backtest.span), (2, Some((date(2020, 5, 10), date(2024, 5, 10)))));
    assert!(told(backtest.methods[0].levels[0].error) < 0.1);

    let replaced = Event::new(date(2022, 1, 1), EventKind::Replaced);
    let other_pit = replay(&history.with_events([replaced]), Method::Line);
    assert_eq!((other_pit.replays, other_pit.left_out), (1, 4));
}

#[test]
fn what_was_doubted_is_neither_origin_nor_outcome() {
    let mut readings = yearly(2018, &[60.0, 62.0, 64.0, 150.0, 68.0, 70.0]);
    readings[3] = readings[3].in_condition(Condition::Suspect);
    let next = &replay(&History::new(pit()).with_readings(readings), Method::Line).methods[0].levels[0];
    // Asked in 2020 (found in 2022) and in 2022 (found in 2023).
    assert_eq!(next.cases, 2);
    assert!(told(next.error) < 0.1, "{next:?}");
}

#[test]
fn pits_add_up_and_the_same_comes_out_twice() {
    let (one, other) = (exact(10), exact(6));
    let plan = Plan::new(AS_OF);
    let both = plan.replay([&one, &other]);
    assert_eq!((both.pits, both.replays, both.methods.len()), (2, 10, Method::ALL.len()));
    assert_eq!(both.methods[0].levels[0].pits, 2);
    assert_eq!(both, plan.replay([&one, &other]));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Whatever was read, pumped or repaired: every sum is possible, and wider ranges hold no less.
    #[test]
    fn sums_are_possible(
        shares in prop::collection::vec((0.0..=1.1f64, 1990i16..2026, 1i8..=12), 0..14),
        events in prop::collection::vec((0usize..8, 1990i16..2026), 0..3),
        fewest in 0usize..5,
    ) {
        let readings = shares.iter().map(|&(share, year, month)| {
            Reading::at_level(&pit(), date(year, month, 10), inches(share * 180.0)).unwrap()
        });
        let events = events.iter().map(|&(kind, year)| Event::new(date(year, 6, 1), EventKind::ALL[kind]));
        let history = History::new(pit()).with_readings(readings).with_events(events);
        let backtest = Plan::new(AS_OF).from_readings(fewest).replay([&history]);
        for method in &backtest.methods {
            let crossing = &method.crossing;
            prop_assert!(crossing.reached <= crossing.answered && crossing.answered <= crossing.cases);
            prop_assert!(crossing.cases == backtest.replays);
            prop_assert!(crossing.expected >= 0.0 && crossing.expected <= crossing.answered as f64 + 1e-9);
            for level in &method.levels {
                prop_assert!(level.answered <= level.cases && level.cases <= backtest.replays);
                let [half, eighty, ninety] = level.ranges.map(|range| range.tally.held);
                prop_assert!(half <= eighty && eighty <= ninety && ninety <= level.answered);
            }
        }
    }
}
