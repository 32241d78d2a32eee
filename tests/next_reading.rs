//! What a reading ahead is promised to tell, against what it then tells, on simulated pits whose next reading is really taken.

use jiff::civil::date;
use soaklife::date::date_after;
use soaklife::forecast::{Advice, NextReading, Prospect};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{as_inches, inches};
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{History, Question, Reading};
use tests::plain_pit::{at, pit};
use tests::simulated_pits::{Population, SimulatedPit, as_of, simulate};

/// The figures of `forecast::next_reading` are those of `SEED=20270102 PITS=1000 cargo test -p tests --test next_reading -- --nocapture`
/// and of the two seeds after it.
const PITS: usize = 300;
/// Other pits than those that taught what to promise.
const SEED: u64 = 20_270_102;
/// What the promised width may be off by.
const ALLOWED: f64 = 0.02;
const FARTHEST_YEARS: f64 = 60.0;

fn valley() -> Vec<SimulatedPit> {
    let pits = std::env::var("PITS").map_or(PITS, |pits| pits.parse().unwrap());
    let seed = std::env::var("SEED").map_or(SEED, |seed| seed.parse().unwrap());
    simulate(&Population::default(), seed, pits)
}

fn plan(history: &History) -> Option<NextReading> {
    NextReading::plan(history, &Question::new(as_of()), &Hypotheses::default())
}

/// Width of the 80 % range once the reading that the simulation gives on that date is in the record.
fn width_after(pit: &SimulatedPit, years: f64) -> f64 {
    let readings = pit.history.readings().iter().copied().chain([pit.reading_in(years)]);
    let history = pit.history.clone().with_readings(readings);
    let day = date_after(as_of(), years).unwrap();
    let followed = Absorption::follow(&history, day, &Hypotheses::default());
    let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
    let end =
        |share| passage.years(share).map_or(FARTHEST_YEARS, |ahead| (ahead + years).min(FARTHEST_YEARS));
    end(0.9) - end(0.1)
}

/// Widths today, promised and found of every pit for which `which` picks a date.
fn widths(
    planned: &[(SimulatedPit, NextReading)],
    which: impl Fn(&NextReading) -> Option<Prospect>,
) -> Vec<[f64; 3]> {
    let of = |(pit, plan): &(SimulatedPit, NextReading)| {
        let prospect = which(plan)?;
        let [early, late] = plan.range();
        let [sooner, later] = prospect.range;
        Some([late - early, later - sooner, width_after(pit, prospect.years)])
    };
    planned.iter().filter_map(of).collect()
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    values.sum::<f64>() / count
}

/// The mean narrowing found ÷ promised, and its standard error: that of a ratio of two means over the same pits.
fn found_by_promised(name: &str, widths: &[[f64; 3]]) -> [f64; 2] {
    let [today, promised, found] = [0, 1, 2].map(|place| mean(widths.iter().map(|of| of[place])));
    let ratio = found / promised;
    let residual = mean(widths.iter().map(|of| (of[2] - ratio * of[1]).powi(2)));
    let error = (residual / widths.len() as f64).sqrt() / promised;
    println!(
        "{name}, {} pits: {today:.1} years today, {promised:.1} promised ({:.3}), {found:.1} found ({:.3}); {ratio:.3} ± {error:.3}",
        widths.len(),
        promised / today,
        found / today
    );
    [ratio, error]
}

#[test]
fn ranges_narrow_as_promised() {
    let recommended = |plan: &NextReading| match plan.advice() {
        Advice::By { prospect, .. } => Some(prospect),
        _ => None,
    };
    let in_years = |years: f64| {
        move |plan: &NextReading| plan.prospects().iter().find(|prospect| prospect.years == years).copied()
    };
    let planned: Vec<(SimulatedPit, NextReading)> =
        valley().into_iter().filter_map(|pit| plan(&pit.history).map(|plan| (pit, plan))).collect();
    for (name, widths) in [
        ("on the date recommended", widths(&planned, recommended)),
        ("in one year", widths(&planned, in_years(1.0))),
        ("in two years", widths(&planned, in_years(2.0))),
    ] {
        let [ratio, error] = found_by_promised(name, &widths);
        assert!((ratio - 1.0).abs() <= ALLOWED + 3.09 * error, "{name}: {ratio} ± {error}");
    }
}

fn steady() -> History {
    let readings = (2016..2026).map(|year| at(year, 80.0 + 3.0 * f64::from(year - 2016)));
    History::new(pit()).with_installed(date(1999, 5, 1)).with_readings(readings)
}

#[test]
fn what_is_later_than_the_question_is_not_known() {
    let later = Reading::at_inlet(date(2026, 3, 1));
    let readings = steady().readings().iter().copied().chain([later]).collect::<Vec<_>>();
    let knowing = steady().with_readings(readings);
    let knowing = knowing.with_events([Event::new(date(2026, 2, 1), EventKind::Replaced)]);
    assert_eq!(plan(&knowing), plan(&steady()));
}

#[test]
fn no_visit_falls_into_the_months_after_pumping_out() {
    let pumped = steady().with_events([Event::new(date(2025, 12, 20), EventKind::PumpedOut)]);
    let plan = plan(&pumped).unwrap();
    assert!(plan.prospects().iter().all(|prospect| prospect.date > date(2026, 6, 20)), "{plan:?}");
}

#[test]
fn a_pit_at_its_inlet_needs_no_plan_and_one_close_below_it_a_monthly_look() {
    let full = |level_in| {
        let last = Reading::at_level(&pit(), date(2025, 12, 1), inches(level_in)).unwrap();
        plan(&History::new(pit()).with_installed(date(1999, 5, 1)).with_readings([last]))
    };
    assert_eq!(full(180.0), None);
    assert_eq!(full(178.0).map(|plan| plan.advice()), Some(Advice::Monthly));
}

/// The longer ago the last look, the more the next one tells.
#[test]
fn a_reading_tells_more_the_older_the_last_one_is() {
    let narrowing = |year: i16| {
        let last = Reading::at_level(&pit(), date(year, 12, 1), inches(100.0)).unwrap();
        let history = History::new(pit()).with_installed(date(1999, 5, 1)).with_readings([last]);
        plan(&history).unwrap().prospects()[0].narrowing
    };
    assert!(narrowing(2015) < narrowing(2025), "{} and {}", narrowing(2015), narrowing(2025));
}
