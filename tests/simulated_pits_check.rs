//! The simulated pits themselves: the balance against its check values, and that the population is the one meant.

use soaklife::quantity::as_inches;
use soaklife::reading::Observation;
use tests::assert_within;
use tests::simulated_pits::balance::Balance;
use tests::simulated_pits::{
    Household, Population, SimulatedPit, Soil, Trouble, as_of, lives_at_design_load, simulate,
    simulate_in_trouble,
};

fn share(pits: &[SimulatedPit], holds: impl Fn(&SimulatedPit) -> bool) -> f64 {
    pits.iter().filter(|pit| holds(pit)).count() as f64 / pits.len() as f64
}

fn inlet_in(pit: &SimulatedPit) -> f64 {
    as_inches(pit.history.pit().effective_depth())
}

/// Six feet across, 150 gal a day, 0.5 m of suction, no floor: computed from
/// `H = −ψ + √(ψ² + 2 Q R / (π D))`, to half a millimetre.
#[test]
fn the_level_balances_inflow_and_acceptance() {
    let balance = Balance { diameter_m: 1.8288, suction_m: 0.5, floor_share: 0.0 };
    let printed = [(5.0, 0.6128), (10.0, 0.9922), (20.0, 1.5502), (40.0, 2.3559), (80.0, 3.5078)];
    for (resistance_d, level_m) in printed {
        let found = balance.level_m(0.567_812, resistance_d);
        assert_within(found, level_m, 0.0005, &format!("level behind {resistance_d} d"));
    }
}

#[test]
fn the_level_is_the_one_at_which_the_wall_takes_the_flow() {
    for floor_share in [0.0, 0.2, 1.0] {
        let balance = Balance { diameter_m: 2.4, suction_m: 0.3, floor_share };
        for resistance_d in [0.3, 3.0, 30.0, 300.0] {
            let level = balance.level_m(0.9, resistance_d);
            let accepted = balance.accepted_m3_per_day(level, resistance_d);
            match level > 0.0 {
                true => assert_within(accepted, 0.9, 1e-12, "flow taken at the level"),
                false => assert!(accepted >= 0.9, "a dry floor takes it all: {accepted}"),
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_pits() {
    let population = Population::default();
    let pits = simulate(&population, 11, 40);
    assert_eq!(pits, simulate(&population, 11, 40));
    assert_eq!(pits[..10], simulate(&population, 11, 10), "more pits only add to fewer");
    assert_ne!(pits, simulate(&population, 12, 40));
}

#[test]
fn records_and_truths_are_possible() {
    for pit in simulate(&Population::default(), 2, 1000) {
        let SimulatedPit { history, truth, .. } = &pit;
        let inlet = inlet_in(&pit);
        assert!(truth.level_in.iter().all(|level| (0.0..=inlet + 1e-9).contains(level)), "{truth:?}");
        for (years, level) in [0.0, 1.0, 2.0, 5.0, 10.0].into_iter().zip(truth.level_in) {
            let reached = truth.years_to_inlet <= years;
            assert_eq!(reached, level >= inlet - 1e-9, "at {years} years of {truth:?}");
        }
        assert!(truth.years_to_inlet >= 0.0);
        assert!((1..=20).contains(&history.readings().len()));
        assert!(history.readings().iter().all(|reading| reading.date().first() <= as_of()));
        assert!((48.0..=240.0).contains(&inlet));
    }
}

/// The trade's 30–40 years at design load, and readings as the records of such valleys hold them.
#[test]
fn the_mixed_valley_is_the_one_meant() {
    let lives = lives_at_design_load(&Population::default(), 3, 2000);
    let median = lives[1000];
    assert!((30.0..35.0).contains(&median), "median life {median}");

    let pits = simulate(&Population::default(), 1, 4000);
    let within = |low: f64, found: f64, high: f64, what: &str| {
        assert!((low..high).contains(&found), "{what}: {found} is not from {low} to {high}");
    };
    within(0.10, share(&pits, |pit| pit.truth.years_to_inlet <= 5.0), 0.25, "at the inlet within 5 years");
    within(0.15, share(&pits, |pit| pit.truth.years_to_inlet.is_infinite()), 0.40, "never at the inlet");
    let readings: Vec<usize> = pits.iter().map(|pit| pit.history.readings().len()).collect();
    let with = |low: usize, high: usize| {
        readings.iter().filter(|count| (low..=high).contains(count)).count() as f64 / 4000.0
    };
    within(0.17, with(1, 1), 0.24, "one reading");
    within(0.15, with(2, 2), 0.21, "two readings");
    within(0.19, with(3, 4), 0.26, "three or four");
    within(0.21, with(5, 9), 0.29, "five to nine");
    within(0.10, with(10, 20), 0.18, "ten and more");
    let gross: usize = pits.iter().map(|pit| pit.truth.gross_errors).sum();
    within(0.02, gross as f64 / readings.iter().sum::<usize>() as f64, 0.035, "gross errors");
    let unknown = share(&pits, |pit| pit.history.installed().is_none());
    within(0.17, unknown, 0.23, "unknown age");
    let last_dry = |pit: &SimulatedPit| {
        pit.history.readings().last().is_some_and(|reading| reading.observation() == Observation::Dry)
    };
    within(0.05, share(&pits, last_dry), 0.15, "dry at the last reading");
    assert!(
        share(&pits, |pit| pit.history.readings().iter().any(|r| r.stands_at_inlet(pit.history.pit()))) > 0.0
    );
}

#[test]
fn a_restless_house_moves_the_level_more_than_a_calm_one() {
    let median_move = |household| {
        // Pits that will not fail: what moves their level is the use and the weather.
        let pits = simulate(&Population { household, ..Population::default() }, 4, 1500);
        let steady =
            pits.iter().filter(|pit| pit.truth.years_to_inlet.is_infinite() && pit.truth.level_in[0] > 6.0);
        let moves = steady.map(|pit| (pit.truth.level_in[1] - pit.truth.level_in[0]).abs() / inlet_in(pit));
        let mut moves: Vec<f64> = moves.collect();
        moves.sort_by(f64::total_cmp);
        moves[moves.len() / 2]
    };
    let (calm, restless) = (median_move(Household::Calm), median_move(Household::Restless));
    assert!(restless > 1.3 * calm, "calm {calm}, restless {restless}");
}

#[test]
fn the_population_rules_what_is_drawn() {
    let clay = [(0.0, Soil::Sand), (0.0, Soil::Loam), (1.0, Soil::Clay)];
    let pits = simulate(&Population { soils: clay, dry_for_years: 0.0, ..Population::default() }, 5, 200);
    assert!(pits.iter().all(|pit| pit.truth.soil == Soil::Clay));
    let failing = |load_ratio_median| {
        let pits = simulate(&Population { load_ratio_median, ..Population::default() }, 6, 800);
        share(&pits, |pit| pit.truth.years_to_inlet <= 20.0)
    };
    assert!(failing(0.9) > failing(0.4) + 0.1, "a lighter load ages a pit less");
}

fn in_trouble(trouble: Trouble) -> Vec<SimulatedPit> {
    simulate_in_trouble(&Population::default(), trouble, 8, 400)
}

/// Levels of the liquid readings, dry as 0 and the inlet as the depth, oldest first.
fn levels_read(pit: &SimulatedPit) -> Vec<f64> {
    pit.history.readings().iter().map(|reading| as_inches(reading.level(pit.history.pit()))).collect()
}

#[test]
fn pits_in_trouble_are_the_ones_meant() {
    let within = |low: f64, found: f64, high: f64, what: &str| {
        assert!((low..high).contains(&found), "{what}: {found} is not from {low} to {high}");
    };
    let ordinary = share(&in_trouble(Trouble::OftenRead), |pit| pit.truth.years_to_inlet <= 2.0);
    within(0.02, ordinary, 0.2, "ordinary pits at the inlet within two years");
    let filling = in_trouble(Trouble::FillsWithinMonths);
    let soon = share(&filling, |pit| pit.truth.years_to_inlet <= 2.0);
    within(0.5, soon, 0.95, "filling within months, at the inlet within two years");
    let stands_at_inlet = |pit: &SimulatedPit| pit.truth.years_to_inlet == 0.0;
    within(0.7, share(&in_trouble(Trouble::StandsAtInlet), stands_at_inlet), 1.0, "standing at the inlet");
    within(
        0.0,
        share(&in_trouble(Trouble::Recovers), stands_at_inlet),
        0.3,
        "recovered, and at the inlet again",
    );
    let falls = |pit: &SimulatedPit| {
        let levels = levels_read(pit);
        levels.last() < levels.first()
    };
    let falling = in_trouble(Trouble::FallsForYears);
    let long: Vec<SimulatedPit> =
        falling.into_iter().filter(|pit| pit.history.readings().len() >= 5).collect();
    within(0.6, share(&long, falls), 1.0, "falling from the first reading to the last");
}

#[test]
fn some_remedies_are_in_the_record_and_some_are_not() {
    let recorded = share(&in_trouble(Trouble::Recovers), |pit| !pit.history.events().is_empty());
    assert!((0.3..0.6).contains(&recorded), "{recorded}");
}

/// The levels of pits around which the water table swings move more from one reading to the next, up and down.
#[test]
fn a_water_table_swings_the_level() {
    let turns = |trouble| {
        let moves =
            in_trouble(trouble).into_iter().filter(|pit| pit.history.readings().len() >= 5).map(|pit| {
                let levels = levels_read(&pit);
                let fallen: f64 = levels.windows(2).map(|pair| (pair[0] - pair[1]).max(0.0)).sum();
                fallen / inlet_in(&pit) / (levels.len() - 1) as f64
            });
        let mut moves: Vec<f64> = moves.collect();
        moves.sort_by(f64::total_cmp);
        moves[moves.len() / 2]
    };
    let (ordinary, swinging) = (turns(Trouble::OftenRead), turns(Trouble::WaterTable));
    assert!(swinging > 2.0 * ordinary, "ordinary {ordinary}, swinging {swinging}");
}

#[test]
fn pits_in_trouble_have_possible_records_and_truths() {
    for trouble in Trouble::ALL {
        for pit in in_trouble(trouble) {
            let (SimulatedPit { history, truth, .. }, inlet) = (&pit, inlet_in(&pit));
            assert!(truth.level_in.iter().all(|level| (0.0..=inlet + 1e-9).contains(level)), "{truth:?}");
            assert!((1..=14).contains(&history.readings().len()));
            assert!(history.readings().iter().all(|reading| reading.date().first() <= as_of()));
            assert!(truth.years_to_inlet >= 0.0);
        }
    }
}
