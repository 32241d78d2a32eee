//! What a reading ahead is promised to tell, against what it then tells, on simulated pits whose next reading is really taken.

use jiff::civil::{Date, date};
use soaklife::date::date_after;
use soaklife::forecast::{Advice, NextReading, Prospect};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{as_inches, gallons_per_day, inches};
use soaklife::trend::absorption::{Absorption, Hypotheses, Passage};
use soaklife::wording::next_reading::next_reading;
use soaklife::{History, LoadHistory, Question, Reading};
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

fn passage(history: &History, day: Date) -> Passage {
    let followed = Absorption::follow(history, day, &Hypotheses::default());
    followed.reaches(as_inches(history.pit().effective_depth())).unwrap()
}

fn words(plan: &NextReading) -> String {
    next_reading(plan, "the inlet")
}

/// Years ahead of the date advised; a monthly look is due now.
fn due(plan: &NextReading) -> f64 {
    match plan.advice() {
        Advice::By { prospect, .. } => prospect.years,
        _ => 0.0,
    }
}

/// Pits of a valley that are all in use.
fn planned(pits: usize) -> Vec<(SimulatedPit, NextReading)> {
    let valley = simulate(&Population::default(), SEED + 10, pits).into_iter();
    valley.filter_map(|pit| plan(&pit.history).map(|plan| (pit, plan))).collect()
}

#[test]
fn a_pit_that_may_matter_within_ten_years_is_measured_within_one() {
    let (mut matter, mut others) = (0, 0);
    for (pit, plan) in planned(150) {
        let chance = passage(&pit.history, as_of()).chance_within(10.0);
        let latest = if chance >= 0.1 { 1.0 } else { 2.0 };
        assert!(due(&plan) <= latest, "{chance}: {:?}", plan.advice());
        if chance >= 0.1 { matter += 1 } else { others += 1 }
    }
    assert!(matter >= 20 && others >= 20, "{matter} and {others}");
}

/// Two gallons a day lie between a house in use and one that hardly is: the chances are as good as the same, the dates are not.
#[test]
fn a_pit_out_of_use_may_wait_longer_than_one_in_use() {
    let with_use = |flow: f64| {
        let readings = (2016..2026).map(|year| at(year, 130.0 + 3.0 * f64::from(year - 2016)));
        let flows = [(date(1999, 5, 1), gallons_per_day(200.0)), (date(2025, 1, 1), gallons_per_day(flow))];
        let history = History::new(pit()).with_installed(date(1999, 5, 1)).with_readings(readings);
        history.with_load(LoadHistory::new(gallons_per_day(400.0), flows).unwrap())
    };
    for (flow, latest) in [(21.0, 1.0), (19.0, 2.0)] {
        let history = with_use(flow);
        let chance = passage(&history, as_of()).chance_within(10.0);
        assert!(chance >= 0.1, "{flow}: {chance}");
        assert_eq!(due(&plan(&history).unwrap()), latest, "{flow}");
    }
}

/// Readings at the deciles of what a visit may find, put into the record by hand: where one of them halves or doubles the median, the next
/// reading is not called unlikely to change much.
#[test]
fn words_of_little_change_never_stand_where_a_reading_may_halve_or_double_the_median() {
    let (mut said, mut moved) = (0, 0);
    for (pit, plan) in planned(300) {
        let followed = Absorption::follow(&pit.history, as_of(), &Hypotheses::default());
        let today = passage(&pit.history, as_of()).years(0.5);
        let moves = plan.prospects().iter().any(|prospect| {
            (1..10).any(|decile| {
                let level = followed.reading_in(prospect.years, f64::from(decile) / 10.0).unwrap();
                let read = if level <= 1.0 {
                    Reading::dry(prospect.date)
                } else {
                    Reading::at_level(pit.history.pit(), prospect.date, inches(level)).unwrap()
                };
                let readings = pit.history.readings().iter().copied().chain([read]);
                let after = passage(&pit.history.clone().with_readings(readings), prospect.date).years(0.5);
                match (today, after.map(|ahead| ahead + prospect.years)) {
                    (Some(today), Some(after)) => after <= today / 2.0 || after >= today * 2.0,
                    (today, after) => today.is_some() || after.is_some(),
                }
            })
        });
        let of_little_change = words(&plan).contains("not likely to change much");
        assert!(!(moves && of_little_change), "{}", words(&plan));
        said += usize::from(of_little_change);
        moved += usize::from(moves);
    }
    assert!(said >= 1 && moved >= 50, "{said} and {moved}");
}

#[test]
fn words_of_little_change_never_stand_beside_fewer_than_four_readings() {
    let low = |count: i16| {
        let readings = (0..count).map(|back| at(2025 - back, 20.0));
        History::new(pit()).with_installed(date(1980, 5, 1)).with_readings(readings)
    };
    for count in 0..4 {
        let told = words(&plan(&low(count)).unwrap());
        assert!(!told.contains("not likely to change much"), "{count}: {told}");
    }
    let told = words(&plan(&low(15)).unwrap());
    assert!(told.contains("not likely to change much"), "the words are not gone altogether: {told}");
    for (pit, plan) in planned(150) {
        let few = pit.history.readings().len() < 4;
        assert!(!(few && words(&plan).contains("not likely to change much")), "{}", words(&plan));
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
