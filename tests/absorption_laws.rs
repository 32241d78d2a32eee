//! Laws of the absorption method: what must hold for any record.

use jiff::civil::{Date, date};
use proptest::prelude::*;
use soaklife::history::{Event, EventKind};
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{as_inches, gallons_per_day, inches};
use soaklife::trend::absorption::{Absorption, Hypotheses, Passage};
use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
use tests::plain_pit::rising;

const AS_OF: Date = Date::constant(2026, 1, 1);
const DEPTH: f64 = 160.0;
const YEARS: [f64; 8] = [0.0, 0.6, 1.0, 2.5, 5.0, 12.0, 33.0, 60.0];

fn pit() -> Pit {
    Pit::new(inches(30.0), inches(30.0 + DEPTH)).unwrap()
}

/// A record of yearly levels up to last summer; below the bottom is dry, above the inlet is at the inlet.
fn record(levels: &[f64]) -> Vec<Reading> {
    let first = 2026 - levels.len() as i16;
    let read = |(year, &level): (i16, &f64)| match level {
        level if level < 1.0 => Reading::dry(date(year, 6, 1)),
        level if level > DEPTH => Reading::at_inlet(date(year, 6, 1)),
        level => Reading::at_level(&pit(), date(year, 6, 1), inches(level)).unwrap(),
    };
    (first..).zip(levels).map(read).collect()
}

fn history(readings: Vec<Reading>, ratio: f64) -> History {
    let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(400.0 * ratio)).unwrap();
    History::new(pit()).with_installed(date(1995, 4, 1)).with_load(load).with_readings(readings)
}

fn follow(history: &History) -> Absorption {
    Absorption::follow(history, AS_OF, &Hypotheses::default())
}

fn passage(history: &History) -> Passage {
    follow(history).reaches(DEPTH).unwrap()
}

fn any_levels() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(-20.0..180.0f64, 0..12)
}

proptest! {
    #[test]
    fn chances_rise_with_time_and_quantiles_are_ordered(levels in any_levels(), ratio in 0.0..2.0f64) {
        let followed = follow(&history(record(&levels), ratio));
        let passage = followed.reaches(DEPTH).unwrap();
        let chances = YEARS.map(|years| passage.chance_within(years));
        prop_assert!(chances.windows(2).all(|pair| pair[0] <= pair[1]));
        prop_assert!(chances.iter().all(|chance| (0.0..=1.0).contains(chance)));
        let quantiles: Vec<f64> =
            [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95].iter().filter_map(|&p| passage.years(p)).collect();
        prop_assert!(quantiles.windows(2).all(|pair| pair[0] <= pair[1]), "{:?}", quantiles);
        for years in YEARS {
            let levels = followed.levels_in(years, [0.05, 0.1, 0.5, 0.9, 0.95]).unwrap();
            prop_assert!(levels.windows(2).all(|pair| pair[0] <= pair[1]), "{:?}", levels);
            prop_assert!(levels.iter().all(|level| (0.0..=DEPTH).contains(level)));
        }
    }

    #[test]
    fn the_chance_by_the_year_of_a_quantile_is_its_probability(levels in any_levels(), probability in 0.001..0.999f64) {
        let passage = passage(&history(record(&levels), 0.5));
        if let Some(years) = passage.years(probability).filter(|&years| years > 0.0) {
            prop_assert!((passage.chance_within(years) - probability).abs() < 1e-9);
        }
    }

    #[test]
    fn more_freeboard_to_keep_is_reached_sooner(levels in any_levels(), more in 0.0..60.0f64, less in 0.0..60.0f64) {
        let followed = follow(&history(record(&levels), 0.5));
        let (low, high) = (DEPTH - more.max(less), DEPTH - more.min(less));
        let (low, high) = (followed.reaches(low).unwrap(), followed.reaches(high).unwrap());
        for years in YEARS {
            prop_assert!(low.chance_within(years) >= high.chance_within(years) - 1e-9);
        }
    }

    /// One reading, and the same pit found with more freeboard left; to a thousandth. Only for the next twenty years: an old
    /// pit found nearly empty may be one that fills late and fast. And only up to three quarters full: the farther a level
    /// lies above what pits of this age show, the likelier it was misread.
    #[test]
    fn more_freeboard_found_never_shortens_life(level in 2.0..120.0f64, more in 0.5..40.0f64) {
        let lower = (level - more).max(1.5);
        let found = passage(&history(record(&[level]), 0.5));
        let with_more = passage(&history(record(&[lower]), 0.5));
        for years in [0.0, 1.0, 2.0, 5.0, 10.0, 20.0] {
            let (found, with_more) = (found.chance_within(years), with_more.chance_within(years));
            prop_assert!(with_more <= found + 0.001, "{} at {}: {} against {}", lower, years, with_more, found);
        }
    }

    #[test]
    fn the_order_of_rows_changes_nothing(levels in any_levels(), events in prop::collection::vec(0usize..8, 0..4)) {
        let events: Vec<Event> =
            (2018i16..).zip(events).map(|(year, kind)| Event::new(date(year, 9, 1), EventKind::ALL[kind])).collect();
        let forward = history(record(&levels), 0.5).with_events(events.clone());
        let mut backward_readings = record(&levels);
        backward_readings.reverse();
        let backward = history(backward_readings, 0.5).with_events(events.into_iter().rev());
        prop_assert_eq!(passage(&forward), passage(&backward));
    }

    /// A foot's slip in the middle of twelve steady years.
    #[test]
    fn a_wild_slip_moves_the_median_by_less_than_a_fifth(
        rise in 2.5..5.0f64, place in 1usize..11, slip in prop_oneof![-60.0..-25.0f64, 25.0..60.0f64],
    ) {
        let levels = rising(60.0, rise, 12);
        let mut slipped = levels.clone();
        slipped[place] = (slipped[place] + slip).max(2.0);
        let median = |levels: &[f64]| passage(&history(record(levels), 0.5)).years(0.5).unwrap();
        let (sound, spoilt) = (median(&levels), median(&slipped));
        prop_assert!((spoilt / sound - 1.0).abs() < 0.2, "{} years become {}", sound, spoilt);
    }

    /// The next reading lies where it was expected: the level five years on is known better.
    #[test]
    fn a_reading_at_the_prediction_narrows_the_range(rise in 0.5..4.0f64, count in 1u8..12) {
        let levels = rising(40.0, rise, count);
        let before = history(record(&levels), 0.5);
        let later = date(2026, 7, 1);
        let ahead = Absorption::follow(&before, later, &Hypotheses::default());
        let expected = ahead.reading_in(0.0, 0.5).unwrap();
        let one_more = Reading::at_level(&pit(), later, inches(expected)).unwrap();
        let after = before.clone().with_readings(record(&levels).into_iter().chain([one_more]));
        let width = |history: &History| {
            let [low, high] = Absorption::follow(history, later, &Hypotheses::default()).levels_in(5.0, [0.1, 0.9]).unwrap();
            high - low
        };
        prop_assert!(width(&after) < width(&before), "{} becomes {}", width(&before), width(&after));
    }

    #[test]
    fn a_heavier_future_household_never_lengthens_life(levels in any_levels(), light in 0.1..0.8f64, more in 0.05..0.7f64) {
        let history = history(record(&levels), 0.5);
        let toward = |typical_load_ratio: f64| {
            let prior = PopulationPrior { typical_load_ratio, ..PopulationPrior::default() };
            let hypotheses = Hypotheses::new(prior).unwrap();
            Absorption::follow(&history, AS_OF, &hypotheses).reaches(DEPTH).unwrap()
        };
        let (light, heavy) = (toward(light), toward(light + more));
        for probability in [0.05, 0.1, 0.25, 0.5] {
            let never = f64::INFINITY;
            let (light, heavy) = (light.years(probability).unwrap_or(never), heavy.years(probability).unwrap_or(never));
            prop_assert!(heavy <= light + 1e-6, "{} at {} becomes {}", light, probability, heavy);
        }
    }

    #[test]
    fn no_record_makes_it_panic(
        levels in prop::collection::vec(prop_oneof![0.0..160.0f64, Just(0.0), Just(1e-300)], 0..6),
        depth in prop_oneof![1e-6..1e6f64, Just(f64::MIN_POSITIVE), Just(1e300)],
        ratio in prop_oneof![0.0..4.0f64, Just(0.0), Just(1e300)],
    ) {
        let Ok(pit) = Pit::new(inches(0.0), inches(depth)) else { return Ok(()) };
        let readings = (2015i16..).zip(&levels).filter_map(|(year, &level)| Reading::at_level(&pit, date(year, 6, 1), inches(level)).ok());
        let load = LoadHistory::constant(gallons_per_day(1.0), gallons_per_day(ratio)).unwrap();
        let history = History::new(pit).with_load(load).with_readings(readings.collect::<Vec<_>>());
        if let Ok(forecast) = Forecast::of(&history, &Question::new(AS_OF)) {
            let level = as_inches(forecast.level(5.0));
            prop_assert!(level.is_finite() && (0.0..=1.0).contains(&forecast.chance_by(5.0)));
        }
    }
}

/// A replacement, and a repair of the new pit later: the old pit's reading is left out for the replacement, and the wild
/// reading of the new pit, not a neighbour of it, is the one that is out of line.
#[test]
fn weights_belong_to_their_readings_when_a_replaced_pit_was_repaired_later() {
    use soaklife::history::{Reason, Verdict};
    let levels = [150.0, 20.0, 23.0, 26.0, 110.0, 32.0, 35.0, 38.0];
    let replaced = Event::new(date(2018, 12, 1), EventKind::Replaced);
    let repaired = Event::new(date(2025, 9, 1), EventKind::PipeRepaired);
    let history = history(record(&levels), 0.5).with_events([replaced, repaired]);
    let forecast = Forecast::of(&history, &Question::new(AS_OF)).unwrap();
    let verdicts: Vec<Verdict> = forecast.readings().iter().map(|taken| taken.verdict).collect();
    assert_eq!(verdicts[0], Verdict::SetAside(Reason::Before(replaced)));
    assert_eq!(verdicts[4], Verdict::SetAside(Reason::OutOfLine));
    assert!([1, 2, 3, 5, 6, 7].iter().all(|&place| verdicts[place].weight().is_some()), "{verdicts:?}");
}
