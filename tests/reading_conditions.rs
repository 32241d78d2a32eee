//! In what condition a pit was read, and a change of rim: what each does to the forecast.

use jiff::civil::{Date, date};
use soaklife::history::{Event, EventKind, Reason, Verdict};
use soaklife::quantity::as_inches;
use soaklife::reading::Condition;
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{Forecast, History, Question, Reading};
use tests::plain_pit::{at, pit};
use tests::simulated_pits::{Conditions, Population, SimulatedPit, as_of, simulate};

const AS_OF: Date = Date::constant(2026, 6, 30);

/// Nine years at two inches a year, then one reading more.
fn history(last: Option<Reading>) -> History {
    let steady = (2017..2026).map(|year| at(year, 80.0 + 2.0 * f64::from(year - 2017)));
    History::new(pit()).with_installed(date(2001, 5, 1)).with_readings(steady.chain(last))
}

fn level_now(history: &History) -> f64 {
    Absorption::follow(history, AS_OF, &Hypotheses::default()).level_in(0.0, 0.5).unwrap()
}

fn verdict(last: Reading) -> Verdict {
    let forecast = Forecast::of(&history(Some(last)), &Question::new(AS_OF)).unwrap();
    forecast.readings().last().unwrap().verdict
}

/// How far a last reading at this level, in this condition, moves the level of today.
fn moved(level_in: f64, condition: Condition) -> f64 {
    level_now(&history(Some(at(2026, level_in).in_condition(condition)))) - level_now(&history(None))
}

#[test]
fn a_level_after_rain_moves_the_forecast_less_than_in_normal_use() {
    for level_in in [92.0, 104.0] {
        let (rain, normal) = (moved(level_in, Condition::AfterRain), moved(level_in, Condition::Normal));
        assert!(rain.signum() == normal.signum() && rain.abs() < 0.9 * normal.abs(), "{rain} and {normal}");
    }
}

#[test]
fn a_low_level_in_a_vacant_house_says_nothing_and_a_high_one_counts() {
    let (low, high) = (moved(40.0, Condition::Vacant), moved(102.0, Condition::Vacant));
    assert!(low.abs() < 0.5, "{low}");
    let normal = moved(102.0, Condition::Normal);
    assert!(high > 0.3 * normal && normal > 0.0, "{high} and {normal}");
    assert!(
        matches!(verdict(at(2026, 40.0).in_condition(Condition::Vacant)), Verdict::Used { weight } if weight < 0.5)
    );
    let dry = Reading::dry(date(2026, 5, 1));
    assert_eq!(verdict(dry.in_condition(Condition::Vacant)), Verdict::SetAside(Reason::DryWhileVacant));
    assert!(
        (level_now(&history(Some(dry.in_condition(Condition::Vacant)))) - level_now(&history(None))).abs()
            < 0.5
    );
}

#[test]
fn after_pumping_a_level_is_a_lower_bound_and_dry_says_nothing() {
    let pumped = |level_in| moved(level_in, Condition::AfterPumping);
    assert!(pumped(20.0).abs() < 0.1, "{}", pumped(20.0));
    assert!(pumped(101.0) > 0.5, "{}", pumped(101.0));
    let dry = Reading::dry(date(2026, 5, 1)).in_condition(Condition::AfterPumping);
    assert_eq!(level_now(&history(Some(dry))), {
        // Nothing but the day on which the record was last looked at.
        let silent = history(None).with_events([Event::new(date(2026, 4, 1), EventKind::PumpedOut)]);
        let readings = silent.readings().iter().copied().chain([Reading::dry(date(2026, 5, 1))]);
        level_now(&silent.clone().with_readings(readings))
    });
    let full = Reading::at_inlet(date(2026, 5, 1));
    let stays = full.in_condition(Condition::AfterPumping);
    assert_eq!(
        level_now(&history(Some(stays))),
        level_now(&history(Some(full))),
        "full so soon is full indeed"
    );
}

#[test]
fn a_suspect_level_out_of_line_is_disbelieved_sooner() {
    let weight = |condition| match verdict(at(2026, 90.0).in_condition(condition)) {
        Verdict::Used { weight } => weight,
        Verdict::SetAside(_) => 0.0,
    };
    assert!(weight(Condition::Suspect) < weight(Condition::Normal));
    assert!(moved(90.0, Condition::Suspect).abs() < moved(90.0, Condition::Normal).abs());
    let in_line = moved(98.0, Condition::Suspect).abs();
    assert!(in_line < 1.0, "{in_line}");
}

/// Ten inches up between two years on another rim: told, it is the rim; untold, the level.
#[test]
fn a_change_of_rim_explains_a_jump_and_keeps_the_pace_of_before() {
    let jumped = |events: Vec<Event>| {
        let readings = (2017..=2026).map(|year| {
            at(year, 60.0 + 2.0 * f64::from(year - 2017) + if year >= 2025 { 10.0 } else { 0.0 })
        });
        let history = history(None).with_readings(readings).with_events(events);
        Absorption::follow(&history, AS_OF, &Hypotheses::default())
    };
    let (told, untold) =
        (jumped(vec![Event::new(date(2024, 10, 1), EventKind::DatumChanged)]), jumped(Vec::new()));
    let pace = |of: &Absorption| of.pace_in(0.5).unwrap();
    assert!((pace(&told) - 2.0).abs() < (pace(&untold) - 2.0).abs(), "{} and {}", pace(&told), pace(&untold));
    // Both rims are of the same pit: the level stands where the stick on the new rim finds it.
    assert!((told.level_in(0.0, 0.5).unwrap() - 88.0).abs() < 2.5);
}

const PITS: usize = 2000;
const SEED: u64 = 20_270_303;

fn pinball(history: &History, came: f64) -> f64 {
    let followed = Absorption::follow(history, as_of(), &Hypotheses::default());
    let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
    let loss = |share: f64| {
        let (told, came) = (passage.years(share).unwrap_or(30.0).min(30.0), came.min(30.0));
        if came >= told { share * (came - told) } else { (1.0 - share) * (told - came) }
    };
    [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95].map(loss).iter().sum::<f64>() / 7.0
}

/// Mean change of the loss by believing the marks, and its standard error, where a quarter of the readings are in such
/// conditions.
fn change_by_marks(conditions: Conditions) -> [f64; 2] {
    let change = |pit: &SimulatedPit| {
        let marked = pit.history_in(conditions, 0.25);
        let unmarked = marked.readings().iter().map(|reading| reading.in_condition(Condition::Normal));
        let unmarked = marked.clone().with_readings(unmarked);
        let came = pit.truth.years_to_inlet;
        pinball(&marked, came) - pinball(&unmarked, came)
    };
    let changes: Vec<f64> = simulate(&Population::default(), SEED, PITS).iter().map(change).collect();
    let mean = changes.iter().sum::<f64>() / PITS as f64;
    let variance = changes.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / PITS as f64;
    let error = (variance / PITS as f64).sqrt();
    println!("{conditions:?}: {mean:.4} ± {error:.4}");
    [mean, error]
}

/// On simulated pits the marks gain where they mean something and cost nothing where they do not; 3.09 standard errors
/// leave one run in a thousand.
#[test]
fn marks_of_vacant_houses_and_of_rain_help_and_do_no_harm() {
    let [vacant, error] = change_by_marks(Conditions::Vacant);
    assert!(vacant < -2.0 * error, "{vacant} ± {error}");
    for harmless in [
        Conditions::Harmless(Condition::Vacant),
        Conditions::AfterRain,
        Conditions::Harmless(Condition::AfterRain),
    ] {
        let [change, error] = change_by_marks(harmless);
        assert!(change <= 3.09 * error, "{harmless:?}: {change} ± {error}");
    }
}
