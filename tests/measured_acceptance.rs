//! What a load test adds to the forecast, on simulated pits whose wall is known.
//!
//! The test is drawn from the true resistance of the wall on the day, with an error of 15 % on the flow. The simulation has floors
//! that take some of the flow, walls with moods and households whose recorded use is off by up to a tenth; the method knows
//! none of these but as spreads of its own. `PITS=2000` makes the figures of `acceptance`.

use jiff::civil::{Date, date};
use soaklife::acceptance::MeasuredAcceptance;
use soaklife::date::years_between;
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{as_inches, gallons_per_day, inches};
use soaklife::reading::Observation;
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{Forecast, History, LoadHistory, Question, Reading};
use tests::plain_pit::{at, pit};
use tests::simulated_pits::{Population, SimulatedPit, as_of, simulate};

const PITS: usize = 500;
const SEED: u64 = 20_270_202;
const ERROR: f64 = 0.15;
/// Standard deviations that one calibrated run in a thousand exceeds on that side.
const ONE_IN_A_THOUSAND: f64 = 3.09;

fn valley() -> Vec<SimulatedPit> {
    let pits = std::env::var("PITS").map_or(PITS, |pits| pits.parse().unwrap());
    simulate(&Population::default(), SEED, pits)
}

/// How one forecast of the years to the inlet did.
struct Score {
    width: f64,
    pinball: f64,
    early: [bool; 2],
    held: bool,
    claimed: f64,
}

impl Score {
    fn of(history: &History, came: f64) -> Self {
        let followed = Absorption::follow(history, as_of(), &Hypotheses::default());
        let passage = followed.reaches(as_inches(history.pit().effective_depth())).unwrap();
        let years = |share: f64| passage.years(share).unwrap_or(60.0);
        let loss = |share: f64| {
            let (told, came) = (years(share).min(30.0), came.min(30.0));
            if came >= told { share * (came - told) } else { (1.0 - share) * (told - came) }
        };
        let late = passage.years(0.9);
        Self {
            width: years(0.9) - years(0.1),
            pinball: [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95].map(loss).iter().sum::<f64>() / 7.0,
            early: [0.05, 0.1].map(|share| came < years(share)),
            held: came >= years(0.1) && late.is_none_or(|late| came <= late),
            // A range that is open at its late end claims all but the early tenth.
            claimed: if late.is_some() { 0.8 } else { 0.9 },
        }
    }
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    sum / count
}

/// Scores without and with a load test of those pits for which `record` gives one.
fn scores(valley: &[SimulatedPit], record: impl Fn(&SimulatedPit) -> Option<History>) -> Vec<[Score; 2]> {
    let of = |pit: &SimulatedPit| {
        let without = record(pit)?;
        let with = without.clone().with_acceptances([pit.load_test(ERROR)]);
        Some([without, with].map(|history| Score::of(&history, pit.truth.years_to_inlet)))
    };
    valley.iter().filter_map(of).collect()
}

/// Mean change of the pinball loss by the test, and its standard error.
fn change(name: &str, scores: &[[Score; 2]]) -> [f64; 2] {
    for (told, place) in [("without", 0), ("with", 1)] {
        let of = |value: fn(&Score) -> f64| mean(scores.iter().map(|both| value(&both[place])));
        println!(
            "{name}, {} pits {told}: width {:.2}, loses {:.3}, before 5 % {:.3}, before 10 % {:.3}, held {:.3} of {:.3}",
            scores.len(),
            of(|score| score.width),
            of(|score| score.pinball),
            of(|score| f64::from(score.early[0])),
            of(|score| f64::from(score.early[1])),
            of(|score| f64::from(score.held)),
            of(|score| score.claimed)
        );
    }
    let changes: Vec<f64> = scores.iter().map(|[without, with]| with.pinball - without.pinball).collect();
    let change = mean(changes.iter().copied());
    let variance = mean(changes.iter().map(|one| (one - change).powi(2)));
    let error = (variance / changes.len() as f64).sqrt();
    println!("{name}: {change:.3} ± {error:.3}");
    [change, error]
}

/// Years lose less where no stick told of late where the level stands, and no more anywhere.
#[test]
fn a_load_test_sharpens_the_years() {
    let valley = valley();
    let [change_unread, error] =
        change("no reading", &scores(&valley, |pit| Some(pit.history.clone().with_readings([]))));
    assert!(change_unread < -ONE_IN_A_THOUSAND * error);
    let old = |pit: &SimulatedPit| {
        let readings = pit.history.readings().iter().copied();
        let old = readings.filter(|reading| years_between(reading.date().middle(), as_of()) >= 3.0);
        let history = pit.history.clone().with_readings(old);
        (!history.readings().is_empty()).then_some(history)
    };
    let dry = |pit: &SimulatedPit| {
        let dry = pit.history.readings().last().map(|last| last.observation() == Observation::Dry);
        (dry == Some(true)).then(|| pit.history.clone())
    };
    for (name, scores) in [
        ("all", scores(&valley, |pit| Some(pit.history.clone()))),
        ("last reading three years old", scores(&valley, old)),
        ("last reading dry", scores(&valley, dry)),
    ] {
        let [change, error] = change(name, &scores);
        assert!(change <= ONE_IN_A_THOUSAND * error, "{name}: {change} ± {error}");
    }
}

#[test]
fn ranges_with_a_load_test_hold_as_often_as_they_claim() {
    let scores = scores(&valley(), |pit| Some(pit.history.clone()));
    let pits = scores.len() as f64;
    let with = || scores.iter().map(|both| &both[1]);
    for (place, share) in [(0, 0.05), (1, 0.1)] {
        let early = with().filter(|score| score.early[place]).count() as f64;
        let most = share * pits + ONE_IN_A_THOUSAND * (share * (1.0 - share) * pits).sqrt();
        assert!(early <= most, "{early} of {pits} before the {share} quantile, at most {most}");
    }
    let (held, claimed) =
        (with().filter(|score| score.held).count() as f64, with().map(|score| score.claimed).sum::<f64>());
    let spread = with().map(|score| score.claimed * (1.0 - score.claimed)).sum::<f64>().sqrt();
    assert!(held >= claimed - ONE_IN_A_THOUSAND * spread, "{held} held, {claimed} ± {spread} claimed");
}

fn taken(day: Date, gallons: f64) -> MeasuredAcceptance {
    MeasuredAcceptance::new(day, inches(120.0), gallons_per_day(gallons), ERROR).unwrap()
}

fn median(history: &History) -> f64 {
    let followed = Absorption::follow(history, as_of(), &Hypotheses::default());
    followed.reaches(180.0).unwrap().years(0.5).unwrap_or(60.0)
}

#[test]
fn a_wall_that_takes_more_lasts_longer() {
    let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(300.0)).unwrap();
    let history = History::new(pit()).with_installed(date(1995, 5, 1)).with_load(load);
    let years = [150.0, 250.0, 400.0, 800.0]
        .map(|gallons| median(&history.clone().with_acceptances([taken(date(2025, 11, 3), gallons)])));
    assert!(years.is_sorted_by(|less, more| less < more), "{years:?}");
}

#[test]
fn a_test_that_is_later_or_of_a_pit_replaced_since_says_nothing() {
    let read = Reading::at_level(&pit(), date(2025, 9, 1), inches(90.0)).unwrap();
    let replaced = Event::new(date(2010, 5, 1), EventKind::Replaced);
    let history = History::new(pit()).with_readings([read]).with_events([replaced]);
    let follow = |history: &History| Absorption::follow(history, as_of(), &Hypotheses::default());
    for day in [date(2009, 5, 1), date(2026, 1, 2)] {
        let tested = follow(&history.clone().with_acceptances([taken(day, 150.0)]));
        assert_eq!(tested.reaches(180.0), follow(&history).reaches(180.0));
        assert!(tested.explanation().load_tests().is_empty());
    }
    assert!(median(&history.clone().with_acceptances([taken(date(2025, 11, 3), 60.0)])) < median(&history));
}

/// A test between two readings takes no reading's place: the verdicts stay with their readings.
#[test]
fn verdicts_stay_with_their_readings() {
    let mut readings: Vec<Reading> =
        (2015..2026).map(|year| at(year, 60.0 + 2.0 * f64::from(year - 2015))).collect();
    readings[6] = at(2021, 130.0);
    let history =
        History::new(pit()).with_readings(readings).with_acceptances([taken(date(2018, 7, 1), 300.0)]);
    let forecast = Forecast::of(&history, &Question::new(as_of())).unwrap();
    let aside = forecast.readings().iter().filter(|taken| taken.verdict.weight().is_none());
    let aside: Vec<f64> = aside.map(|taken| as_inches(taken.reading.level(&pit())).round()).collect();
    assert_eq!(aside, [130.0]);
    assert_eq!(forecast.explanation().unwrap().load_tests().len(), 1);
}
