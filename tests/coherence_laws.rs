//! One answer never contradicts itself: laws of the absorption method between what one forecast says in several ways, between
//! forecasts of one pit on two days, and between pits that differ a little.
//!
//! `MEASURE=1 cargo nextest run -p tests --test coherence_laws --success-output=immediate` asserts nothing and prints for each
//! comparison how many of ten times as many records are beyond the bound, and how far.

mod coherence_laws {
    pub mod records;
    pub mod tally;
}

use coherence_laws::records::{
    AS_OF, Case, any_case_near_an_edge, any_case_of, any_case_with_people, flow_of, is_liquid,
};
use coherence_laws::tally::{Off, hold};
use proptest::prelude::*;
use soaklife::date::{date_after, years_between};
use soaklife::quantity::{as_gallons_per_day, as_inches};
use soaklife::reading::Observation;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, Reading};

/// The share of the fan at the goal and the chance of having reached it are one number, found in two ways.
const SHARE_OF_FAN: f64 = 1e-6;
/// Years to the inlet and the chance within those years are one curve read from either side.
const SAME_CURVE: f64 = 1e-9;
/// How much less likely a fixed day may become because days passed without a reading.
///
/// That the pit is still in service is some news, and the household drifts. Judgement, no source.
const LOST_BY_WAITING: f64 = 0.02;
/// How much of the median a deeper level may take away, as a share of it or of a year if it is shorter.
///
/// Judgement, no source: half of a year in fifty, less than anybody would see.
const SHORTENED: f64 = 0.01;
/// How far a tenth of an inch may move a chance.
///
/// Judgement, no source: below what a chance in whole per cents shows twice.
const CHANCE_BY_A_TENTH: f64 = 0.02;
/// How far a tenth of an inch may move the median, as a share of it or of a year if it is shorter.
const MEDIAN_BY_A_TENTH: f64 = 0.05;
/// How far today's people asked as a what-if may be from today's forecast.
const SAME_PEOPLE: f64 = 0.01;
/// How far a two-hundredth more or less of them may move the median.
const NEARLY_SAME_PEOPLE: f64 = 0.03;
/// What sums of the same numbers in another order leave.
const ROUNDING: f64 = 1e-12;

/// Years at which a forecast is looked at: whole ones, and some between them.
const YEARS: [f64; 16] =
    [0.0, 0.01, 0.3, 1.0, 1.7, 2.0, 3.3, 5.0, 7.9, 10.0, 14.2, 20.0, 30.0, 37.7, 51.3, 60.0];
/// Shares that quantiles are asked for.
const SHARES: [f64; 13] = [0.005, 0.025, 0.05, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.95, 0.975, 0.995];
/// Beyond it no forecast says when.
const HORIZON: f64 = 60.0;
/// Smallest difference of levels that a stick, or a reader of a table, could ever see, inches.
const NO_HEIGHT_IN: f64 = 1e-7;

fn off(what: &'static str, by: f64, bound: f64, said: String) -> Off {
    Off { what, by, bound, said }
}

fn median(forecast: &Forecast) -> f64 {
    forecast.years_to_inlet(0.5).unwrap_or(HORIZON)
}

/// How far two numbers of years are apart, as a share of the shorter one, or of a year.
fn apart(a: f64, b: f64) -> f64 {
    (a - b).abs() / a.min(b).max(1.0)
}

/// Share of the fan that stands at the goal or above it.
fn share_at_goal(forecast: &Forecast, years: f64, goal_in: f64) -> f64 {
    let is_below = |share: f64| {
        let level = forecast.level_quantile(years, share).map(as_inches);
        level.is_none_or(|level_in| level_in < goal_in - NO_HEIGHT_IN)
    };
    let (mut below, mut at_goal) = (0.0, 1.0);
    while at_goal - below > 0.1 * SHARE_OF_FAN {
        let middle = 0.5 * (below + at_goal);
        if is_below(middle) { below = middle } else { at_goal = middle }
    }
    1.0 - 0.5 * (below + at_goal)
}

/// At every date ahead the share of the fan that stands at the goal is the chance of having reached the goal by then.
#[test]
fn the_fan_stands_at_the_goal_as_often_as_the_chance_says() {
    hold("the fan and the chance", any_case_of(0), |case| {
        let forecast = case.forecast();
        let look = |years| {
            let (share, chance) =
                (share_at_goal(&forecast, years, case.goal_in()), forecast.chance_by(years));
            let said = format!("in {years} years {share:.6} of the fan, chance {chance:.6}");
            let what = if case.freeboard_in > 0.0 { "action level" } else { "inlet" };
            off(what, (share - chance).abs(), SHARE_OF_FAN, said)
        };
        vec![worst(YEARS.map(look))]
    });
}

fn worst(offs: impl IntoIterator<Item = Off>) -> Off {
    offs.into_iter().max_by(|a, b| a.by.total_cmp(&b.by)).expect("something is compared")
}

/// The inlet is reached within some years at a share exactly when the chance within those years is that share.
#[test]
fn years_and_chances_are_one_curve() {
    hold("years and chances", any_case_of(0), |case| {
        let forecast = case.forecast();
        let compare = |share: f64| {
            let reached = forecast.years_to_inlet(share);
            let just_before = reached.map(|years| years - 1e-6 * years.max(1.0)).filter(|years| *years > 0.0);
            let looked_at = YEARS.into_iter().chain(reached).chain(just_before);
            let look = |years: f64| {
                let chance = forecast.chance_by(years);
                let short = match reached {
                    Some(reached) if reached <= years => share - chance,
                    _ => chance - share,
                };
                let said = format!("years {reached:?} at {share}, chance {chance} within {years}");
                off("years and chance", short.max(0.0), SAME_CURVE, said)
            };
            worst(looked_at.map(look))
        };
        vec![worst(SHARES.map(compare))]
    });
}

/// Quantiles rise with their share, chances with time; all is a number within its bounds, and no zero has a sign.
#[test]
fn quantiles_are_ordered_and_numbers_are_printable() {
    hold("order", any_case_of(0), |case| {
        let forecast = case.forecast();
        let years: Vec<f64> = SHARES.iter().filter_map(|&share| forecast.years_to_inlet(share)).collect();
        let chances = YEARS.map(|years| forecast.chance_by(years));
        let mut offs =
            vec![misplaced("years", &years, 0.0, HORIZON), misplaced("chances", &chances, 0.0, 1.0)];
        let at = |years: f64| {
            let levels = forecast.level_quantiles(years, SHARES).into_iter().flatten().map(as_inches);
            let left = forecast.freeboard_quantiles(years, SHARES).into_iter().flatten().map(as_inches);
            let (levels, left): (Vec<f64>, Vec<f64>) = (levels.collect(), left.collect());
            assert_eq!((levels.len(), left.len()), (SHARES.len(), SHARES.len()));
            let depth_in = case.depth_in();
            [misplaced("levels", &levels, 0.0, depth_in), misplaced("freeboard", &left, 0.0, depth_in)]
        };
        offs.extend(YEARS.into_iter().flat_map(at));
        offs
    });
}

/// By how much numbers fall; by 1 for each that lies outside, infinitely if one is no number, or zero with a sign.
fn misplaced(what: &'static str, numbers: &[f64], least: f64, most: f64) -> Off {
    let unprintable = |number: &f64| !number.is_finite() || (*number == 0.0 && number.is_sign_negative());
    let by = match numbers.iter().any(unprintable) {
        true => f64::INFINITY,
        false => {
            let outside = numbers.iter().filter(|number| !(least..=most).contains(*number)).count();
            let fallen = numbers.windows(2).map(|pair| pair[0] - pair[1]);
            fallen.fold(outside as f64, f64::max)
        }
    };
    off(what, by, ROUNDING * most, format!("{numbers:?}"))
}

/// Days that pass without a reading do not make a fixed day less likely.
#[test]
fn waiting_never_lowers_the_chance_of_a_fixed_day() {
    let waits = vec![("a month", 1.0 / 12.0), ("a year", 1.0), ("three years", 3.0), ("ten years", 10.0)];
    hold("waiting", (any_case_of(1), prop::sample::select(waits)), |(case, (what, wait))| {
        let later = date_after(AS_OF, *wait).expect("within the calendar");
        let (waited, now, then) = (years_between(AS_OF, later), case.forecast(), case.forecast_on(later));
        let look = |years: f64| {
            let (before, after) = (now.chance_by(years), then.chance_by(years - waited));
            let said = format!("within {years} years {before:.4}, after {wait} of them {after:.4}");
            off(what, (before - after).max(0.0), LOST_BY_WAITING, said)
        };
        vec![worst(YEARS.into_iter().filter(|&years| years >= waited).map(look))]
    });
}

/// The last reading, and all readings, with the liquid standing deeper: the median comes no sooner.
#[test]
fn a_deeper_level_never_shortens_the_median() {
    hold("deeper", any_case_of(1), |case| {
        let last = case.readings().len() - 1;
        let last_one = case.moved(|place, _| if place == last { -15.0 } else { 0.0 });
        let all = case.moved(|_, _| -5.0);
        let before = median(&case.forecast());
        let of = |deeper: &Case, names: [[&'static str; 2]; 2]| {
            let after = median(&deeper.forecast());
            let (years, said) = ((before - after).max(0.0), format!("median {before:.3} becomes {after:.3}"));
            // Years alone are measured; the share is what the bound holds.
            let [in_years, in_share] = names[usize::from(is_found_otherwise(case, deeper))];
            let share = years / before.max(1.0);
            [off(in_years, years, f64::INFINITY, said.clone()), off(in_share, share, SHORTENED, said)]
        };
        let offs = [of(&last_one, LAST_BY_15), of(&all, ALL_BY_5)];
        offs.into_iter().flatten().collect()
    });
}

/// Names of years and shares: where every reading finds liquid as before, and where one is dry now or no longer at the inlet.
const LAST_BY_15: [[&str; 2]; 2] = [
    ["last by 15 in, liquid as before: years", "last by 15 in, liquid as before: share"],
    ["last by 15 in, dry now or off the inlet: years", "last by 15 in, dry now or off the inlet: share"],
];
const ALL_BY_5: [[&str; 2]; 2] = [
    ["all by 5 in, liquid as before: years", "all by 5 in, liquid as before: share"],
    ["all by 5 in, one dry now or off the inlet: years", "all by 5 in, one dry now or off the inlet: share"],
];

/// Whether a reading has become dry, or is no longer at the inlet.
fn is_found_otherwise(before: &Case, after: &Case) -> bool {
    let kinds = |case: &Case| case.readings().iter().map(is_liquid).collect::<Vec<_>>();
    kinds(before) != kinds(after)
}

/// A tenth of an inch on one reading moves no answer by more than anybody would see.
#[test]
fn a_tenth_of_an_inch_moves_no_answer_far() {
    let ups = prop::sample::select(vec![-0.1, 0.1]);
    hold("a tenth of an inch", (any_case_near_an_edge(), ups), |((case, place), up_in)| {
        let moved = case.moved(|at, _| if at == *place { *up_in } else { 0.0 });
        let (before, after) = (case.forecast(), moved.forecast());
        let [on_chance, on_median] = names_of(&case.readings()[*place], &moved.readings()[*place]);
        let look = |years: f64| {
            let (before, after) = (before.chance_by(years), after.chance_by(years));
            let said = format!("within {years} years {before:.4} becomes {after:.4}");
            off(on_chance, (before - after).abs(), CHANCE_BY_A_TENTH, said)
        };
        let [before_years, after_years] = [&before, &after].map(median);
        let said = format!("{before_years:.3} becomes {after_years:.3}");
        vec![
            worst([1.0, 2.0, 5.0, 10.0].map(look)),
            off(on_median, apart(before_years, after_years), MEDIAN_BY_A_TENTH, said),
        ]
    });
}

/// What the stick found before and after: the names of both comparisons.
fn names_of(before: &Reading, after: &Reading) -> [&'static str; 2] {
    let either = |found: Observation| before.observation() == found || after.observation() == found;
    match (is_liquid(before) && is_liquid(after), before == after) {
        (_, true) => ["chance, nothing moved", "median, nothing moved"],
        (true, _) => ["chance, liquid to liquid", "median, liquid to liquid"],
        _ if either(Observation::Dry) => ["chance, from or to dry", "median, from or to dry"],
        _ => ["chance, from or to the inlet", "median, from or to the inlet"],
    }
}

/// The flow of today's household as a number of people, and the forecast with so many of them.
fn with_people(case: &Case, times: f64) -> (Forecast, Forecast) {
    const GALLONS_PER_PERSON: f64 = 58.6;
    let load = case.history.load().expect("its load is known");
    let people = as_gallons_per_day(load.flow_at(AS_OF)) / GALLONS_PER_PERSON;
    let other = OtherUse::household(times * people, GALLONS_PER_PERSON).expect("a number of people");
    let today = case.forecast();
    let then = WhatIf::of(other).beside(&today, Some(flow_of(1.0))).expect("a use that can be");
    let then = then.forecast().clone();
    (today, then)
}

/// Today's people, a hair fewer and a hair more, asked as a what-if.
#[test]
fn nearly_the_same_people_give_nearly_the_same_forecast() {
    hold("nearly the same people", any_case_with_people(), |case| {
        let of = |what, times, bound| {
            let (today, then) = with_people(case, times);
            let (today, then) = (median(&today), median(&then));
            off(what, apart(today, then), bound, format!("{today:.3} becomes {then:.3}"))
        };
        vec![
            of("the same people", 1.0, SAME_PEOPLE),
            of("0.5 % fewer", 0.995, NEARLY_SAME_PEOPLE),
            of("0.5 % more", 1.005, NEARLY_SAME_PEOPLE),
        ]
    });
}

/// More people never make it less likely that the goal is reached, fewer never likelier.
#[test]
fn more_people_never_lower_a_chance() {
    hold("more people", (any_case_with_people(), 0.2..1.6f64), |(case, times)| {
        let (today, then) = with_people(case, *times);
        let look = |years: f64| {
            let (now, then) = (today.chance_by(years), then.chance_by(years));
            let by = if *times > 1.0 { now - then } else { then - now };
            let said = format!("{times:.3} times the people, within {years} years: {now} becomes {then}");
            off(if *times > 1.0 { "more" } else { "fewer" }, by.max(0.0), ROUNDING, said)
        };
        vec![worst(YEARS.map(look))]
    });
}
