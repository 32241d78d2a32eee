//! One answer never contradicts itself: laws of the absorption method between what one forecast says in several ways, between
//! forecasts of one pit on two days, and between pits that differ a little.
//!
//! `MEASURE=1 cargo nextest run -p tests --test coherence_laws --success-output=immediate` asserts nothing and prints for each
//! comparison how many of ten times as many records are beyond the bound, and how far.

mod coherence_laws {
    pub mod plausible;
    pub mod records;
    pub mod tally;
}

use coherence_laws::plausible;
use coherence_laws::records::{AS_OF, Case, any_case_of, any_case_with_people};
use coherence_laws::tally::{Off, hold, hold_each};
use soaklife::date::{date_after, years_between};
use soaklife::history::FoundAtInlet;
use soaklife::loading::use_ahead::UseAhead;
use soaklife::quantity::{as_gallons_per_day, as_inches};
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, Question, Reading};
use tests::fan::{SHARE_FOUND_TO, share_at};

/// Years to the inlet and the chance within those years are one curve read from either side.
const SAME_CURVE: f64 = 1e-9;
/// How far today's people asked as a what-if may be from today's forecast.
const SAME_PEOPLE: f64 = 1e-12;
/// What sums of the same numbers in another order leave.
const ROUNDING: f64 = 1e-12;

/// Years at which a forecast is looked at: whole ones, and some between them.
const YEARS: [f64; 16] =
    [0.0, 0.01, 0.3, 1.0, 1.7, 2.0, 3.3, 5.0, 7.9, 10.0, 14.2, 20.0, 30.0, 37.7, 51.3, 60.0];
/// Shares that quantiles are asked for.
const SHARES: [f64; 13] = [0.005, 0.025, 0.05, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.95, 0.975, 0.995];
/// Beyond it no forecast says when.
const HORIZON: f64 = 60.0;

fn off(what: &'static str, by: f64, bound: f64, said: String) -> Off {
    Off { what, by, usual: bound, bound, said }
}

fn median(forecast: &Forecast) -> f64 {
    forecast.years_to_inlet(0.5).unwrap_or(HORIZON)
}

/// How far two numbers of years are apart, as a share of the shorter one, or of a year.
fn apart(a: f64, b: f64) -> f64 {
    (a - b).abs() / a.min(b).max(1.0)
}

/// At every date ahead the share of the fan that stands at the goal is the chance of having reached the goal by then.
#[test]
fn the_fan_stands_at_the_goal_as_often_as_the_chance_says() {
    hold("the fan and the chance", any_case_of(0), |case| {
        let forecast = case.forecast();
        let look = |years| {
            let (share, chance) = (share_at(&forecast, years, case.goal_in()), forecast.chance_by(years));
            let said = format!("in {years} years {share:.6} of the fan, chance {chance:.6}");
            let what = if case.freeboard_in > 0.0 { "action level" } else { "inlet" };
            off(what, (share - chance).abs(), SHARE_FOUND_TO, said)
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

/// How much less likely a fixed day may become because days passed without a reading: in a simulated pit, in 99 of 100 of them,
/// and in a pit with any record.
///
/// What is left of a chance by waiting comes from the straight lines between the moments of the grid; after an event nobody counts what may
/// have happened until now.
const LOST_BY_WAITING: f64 = 0.02;
const USUALLY_LOST_BY_WAITING: f64 = 0.005;
const LOST_BY_WAITING_ANYWHERE: f64 = 0.08;

/// Days that pass without a reading do not make a fixed day less likely, as long as the household stays as it is: under the
/// drift the recorded household of a later day is news.
#[test]
fn waiting_never_lowers_the_chance_of_a_fixed_day() {
    hold_each("waiting, simulated pits", &plausible::pits(), |case| {
        let lost = waited(case, LOST_BY_WAITING).map(|off| off.usually(USUALLY_LOST_BY_WAITING));
        lost.into_iter().collect()
    });
    hold("waiting, any record", any_case_of(1), |case| {
        waited(case, LOST_BY_WAITING_ANYWHERE).into_iter().collect()
    });
}

/// The worst wait; `None` where no reading is in use: there a later day is news of its own, that the pit is still in service.
fn waited(case: &Case, bound: f64) -> Option<Off> {
    let ask = |day| case.asked(Question::new(day).if_use(UseAhead::AsToday));
    let now = ask(AS_OF);
    if now.readings_used() == 0 {
        return None;
    }
    let is_empty = case.history.load().is_some_and(|load| load.ratio_at(AS_OF) == 0.0);
    let what = if is_empty { "an empty house" } else { "somebody lives there" };
    let after = |wait: f64| {
        let later = date_after(AS_OF, wait).expect("within the calendar");
        let (waited, then) = (years_between(AS_OF, later), ask(later));
        let look = |years: f64| {
            let (before, after) = (now.chance_by(years), then.chance_by(years - waited));
            let said = format!("within {years} years {before:.4}, after {wait} of them {after:.4}");
            off(what, (before - after).max(0.0), bound, said)
        };
        worst(YEARS.into_iter().filter(|&years| years >= waited).map(look))
    };
    Some(worst([1.0 / 12.0, 1.0, 3.0, 10.0].map(after)))
}

/// Years within which a level that is read otherwise is asked for its chance.
const WITHIN: [f64; 4] = [1.0, 2.0, 5.0, 10.0];

/// The last reading, and all readings, with the liquid standing deeper: the inlet becomes hardly likelier.
///
/// A surprise is news of two kinds, of where the level stands and of how restless it is: three readings at 129, 131 and 130 in make
/// a calm pit, 129, 131 and 115 in a restless one, whose chance within ten years is 0.28 and not 0.11. No share of gross errors, of levels
/// that run of their own, of the doubt about the first reading or of the onsets makes that vanish.
#[test]
fn a_deeper_level_hardly_hastens_the_inlet() {
    hold_each("deeper", &plausible::pits(), |case| {
        let last = case.readings().len() - 1;
        let reading = &case.readings()[last];
        let level_in = as_inches(reading.level(case.history.pit()));
        let mut offs = Vec::new();
        if found_as(case, reading) == Found::Liquid && level_in > LAST_DEEPER_IN + ABOVE_DRY_IN {
            let deeper = case.moved(|place, _| if place == last { -LAST_DEEPER_IN } else { 0.0 });
            offs.extend(hastened(case, &deeper, &LAST_BY_15));
        }
        let deeper = case.moved(|_, _| -ALL_DEEPER_IN);
        let law = if kinds(case) == kinds(&deeper) { &ALL_BY_5 } else { &ALL_BY_5_FOUND_OTHERWISE };
        offs.extend(hastened(case, &deeper, law));
        offs
    });
}

const LAST_DEEPER_IN: f64 = 15.0;
const ALL_DEEPER_IN: f64 = 5.0;
/// A stick with less liquid counts as dry, inches.
const ABOVE_DRY_IN: f64 = 2.0;

/// By how much a deeper level may raise a chance, and shorten the median as a share of it or of a year: 99 pits in 100, and any.
struct Hastening {
    names: [&'static str; 3],
    chance: [f64; 2],
    median: [f64; 2],
}

const LAST_BY_15: Hastening = Hastening {
    names: ["last by 15 in: chance", "last by 15 in: median, share", "last by 15 in: median, years"],
    chance: [0.15, 0.25],
    median: [0.35, 0.9],
};
const ALL_BY_5: Hastening = Hastening {
    names: ["all by 5 in: chance", "all by 5 in: median, share", "all by 5 in: median, years"],
    chance: [0.01, 0.12],
    median: [0.01, 0.4],
};
/// A reading at the inlet says that the level stands there or higher, and 5 in below the inlet is a height; a dry stick is a bound too.
const ALL_BY_5_FOUND_OTHERWISE: Hastening = Hastening {
    names: [
        "all by 5 in, found otherwise: chance",
        "all by 5 in, found otherwise: median, share",
        "all by 5 in, found otherwise: median, years",
    ],
    chance: [0.2, 0.75],
    median: [0.3, f64::INFINITY],
};
/// A last reading far below the inlet takes a pit from it; one that is farther down is set aside, and the pit has never left.
const DEEPER_AND_SET_ASIDE: f64 = 0.5;

fn hastened(case: &Case, deeper: &Case, law: &Hastening) -> Vec<Off> {
    let (before, after) = (case.forecast(), deeper.forecast());
    let ([by_chance, by_share, by_years], [usual, bound]) = (law.names, law.chance);
    let never_left = !is_at_inlet(&before) && is_at_inlet(&after);
    let look = |years: f64| {
        let [before, after] = [&before, &after].map(|forecast| forecast.chance_by(years));
        let (by, said) =
            ((after - before).max(0.0), format!("within {years} years {before:.4} becomes {after:.4}"));
        match never_left {
            true => off("deeper and set aside", by, DEEPER_AND_SET_ASIDE, said),
            false => off(by_chance, by, bound, said).usually(usual),
        }
    };
    let chance = worst([2.0, 5.0, 10.0].map(look));
    let [before, after] = [&before, &after].map(median);
    let (sooner, said) = ((before - after).max(0.0), format!("median {before:.3} becomes {after:.3}"));
    let share = off(by_share, sooner / before.max(1.0), law.median[1], said.clone()).usually(law.median[0]);
    // Years alone are measured.
    vec![chance, share, off(by_years, sooner, f64::INFINITY, said)]
}

/// What a stick finds.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Found {
    Dry,
    Liquid,
    Inlet,
}

fn found_as(case: &Case, reading: &Reading) -> Found {
    match () {
        _ if reading.stands_at_inlet(case.history.pit()) => Found::Inlet,
        _ if reading.is_as_good_as_dry() => Found::Dry,
        _ => Found::Liquid,
    }
}

fn kinds(case: &Case) -> Vec<Found> {
    case.readings().iter().map(|reading| found_as(case, reading)).collect()
}

/// Whether a reading says that the pit has reached its inlet.
fn is_at_inlet(forecast: &Forecast) -> bool {
    matches!(forecast.found_at_inlet(), Some(FoundAtInlet::Reached { .. }))
}

/// How far a tenth of an inch may move a chance and, as a share of it or of a year if it is shorter, the median: 99 times in 100, and
/// ever.
const CHANCE_BY_A_TENTH: [f64; 2] = [0.01, 0.015];
const MEDIAN_BY_A_TENTH: [f64; 2] = [0.05, 0.1];
/// How far a chance may jump where the stick turns dry: the first liquid says when the level began to rise.
const DRY_OR_NOT: f64 = 0.2;
/// How far where the pit has reached its inlet by one reading and stands a tenth of an inch below it by the other: a cliff by rule.
/// A height that is doubted there has no bound: what is seen at the inlet is never doubted.
const AT_INLET_OR_NOT: f64 = 0.8;
/// How far where a remedy has come since: at the inlet means there or higher, below it is a height.
const ONCE_AT_INLET: f64 = 0.6;

/// A tenth of an inch on one reading moves no answer by more than anybody would see, unless it is found otherwise.
#[test]
fn a_tenth_of_an_inch_moves_no_answer_far() {
    hold_each("a tenth of an inch", &plausible::pits(), |case| {
        let places = [0, case.readings().len() / 2, case.readings().len() - 1];
        let either_way = places.into_iter().flat_map(|place| [(place, -0.1), (place, 0.1)]);
        either_way.flat_map(|(place, up_in)| by_a_tenth(case, place, up_in)).collect()
    });
}

/// The last reading at every tenth of an inch close to inlet or bottom.
#[test]
fn a_tenth_of_an_inch_near_inlet_and_bottom_moves_no_answer_far() {
    hold_each("a tenth of an inch near inlet and bottom", &plausible::pits_near_an_edge(), |case| {
        let last = case.readings().len() - 1;
        let level_in = as_inches(case.readings()[last].level(case.history.pit()));
        let at = |tenths: u8| {
            let from_edge_in = 0.1 * f64::from(tenths) + 0.03;
            let to_in =
                if level_in > 0.5 * case.depth_in() { case.depth_in() - from_edge_in } else { from_edge_in };
            let there = case.moved(|place, _| if place == last { to_in - level_in } else { 0.0 });
            by_a_tenth(&there, last, 0.1)
        };
        (0..30).flat_map(at).collect()
    });
}

fn by_a_tenth(case: &Case, place: usize, up_in: f64) -> Vec<Off> {
    let moved = case.moved(|at, _| if at == place { up_in } else { 0.0 });
    let (before, after) = (case.forecast(), moved.forecast());
    let found = [case, &moved].map(|case| found_as(case, &case.readings()[place]));
    let (name, [usual, bound]) = match found {
        _ if is_at_inlet(&before) != is_at_inlet(&after) => {
            let below = if is_at_inlet(&before) { (&after, &moved) } else { (&before, case) };
            match weight_of(below.0, &below.1.readings()[place]) {
                weight if weight < CREDIBLE => ("at the inlet or doubted", [f64::INFINITY; 2]),
                _ => ("at the inlet or not", [AT_INLET_OR_NOT; 2]),
            }
        }
        [before, after] if before == after => ("found as before", CHANCE_BY_A_TENTH),
        [Found::Inlet, _] | [_, Found::Inlet] => ("once at the inlet", [ONCE_AT_INLET; 2]),
        _ => ("dry or not", [DRY_OR_NOT; 2]),
    };
    let look = |years: f64| {
        let (before, after) = (before.chance_by(years), after.chance_by(years));
        let said = format!("within {years} years {before:.4} becomes {after:.4}");
        off(name, (before - after).abs(), bound, said).usually(usual)
    };
    let mut offs = vec![worst(WITHIN.map(look))];
    if name == "found as before" {
        let ([before, after], [usual, bound]) = ([&before, &after].map(median), MEDIAN_BY_A_TENTH);
        let said = format!("{before:.3} becomes {after:.3}");
        offs.push(off("found as before: median", apart(before, after), bound, said).usually(usual));
    }
    offs
}

/// A reading of less weight is used with a doubt.
const CREDIBLE: f64 = 0.9;

fn weight_of(forecast: &Forecast, reading: &Reading) -> f64 {
    let taken = forecast.readings().iter().find(|taken| taken.reading == *reading);
    taken.and_then(|taken| taken.verdict.weight()).unwrap_or(0.0)
}

/// The flow of today's household as a number of people, and the forecast with so many of them.
fn with_people(case: &Case, times: f64) -> (Forecast, Forecast) {
    const GALLONS_PER_PERSON: f64 = 58.6;
    let load = case.history.load().expect("its load is known");
    let [flow, design] = [load.flow_at(AS_OF), load.flow_at(AS_OF) / load.ratio_at(AS_OF)];
    let people = as_gallons_per_day(flow) / GALLONS_PER_PERSON;
    let other = OtherUse::household(times * people, GALLONS_PER_PERSON).expect("a number of people");
    let today = case.forecast();
    let then = WhatIf::of(other).beside(&today, Some(design)).expect("a use that can be");
    let then = then.forecast().clone();
    (today, then)
}

/// How far a two-hundredth more or less of them may move a chance: in 99 of 100 simulated pits, in any of them, and in a pit with any
/// record.
///
/// Where the level follows, it steps by 0.005 in z, some 0.7 in close below the inlet.
const CHANCE_BY_PEOPLE: [f64; 3] = [0.02, 0.03, 0.08];
/// And how far the median, as a share of it or of five years if it is shorter, where the chance rises by so much between nine and eleven
/// tenths of it.
const MEDIAN_BY_PEOPLE: [f64; 3] = [0.03, 0.03, 0.07];
const STEEP: f64 = 0.1;
const SHORT_YEARS: f64 = 5.0;

/// Today's people, a hair fewer and a hair more, asked as a what-if.
#[test]
fn nearly_the_same_people_give_nearly_the_same_forecast() {
    let [usual, bound, anywhere] = [0, 1, 2].map(|place| [CHANCE_BY_PEOPLE[place], MEDIAN_BY_PEOPLE[place]]);
    hold_each("nearly the same people, simulated pits", &plausible::pits(), |case| {
        nearly_the_same(case, usual, bound)
    });
    hold("nearly the same people, any record", any_case_with_people(), |case| {
        nearly_the_same(case, anywhere, anywhere)
    });
}

fn nearly_the_same(case: &Case, usual: [f64; 2], bound: [f64; 2]) -> Vec<Off> {
    let of = |[on_chance, on_median]: [&'static str; 2], times: f64, [usual, bound]: [[f64; 2]; 2]| {
        let (today, then) = with_people(case, times);
        let look = |years: f64| {
            let (today, then) = (today.chance_by(years), then.chance_by(years));
            let said = format!("within {years} years {today:.4} becomes {then:.4}");
            off(on_chance, (today - then).abs(), bound[0], said).usually(usual[0])
        };
        let mut offs = vec![worst(WITHIN.map(look))];
        let (before, after) = (median(&today), median(&then));
        let slope = today.chance_by(1.1 * before) - today.chance_by(0.9 * before);
        if before < HORIZON && slope >= STEEP {
            let (by, said) =
                ((before - after).abs() / before.max(SHORT_YEARS), format!("{before:.3} becomes {after:.3}"));
            offs.push(off(on_median, by, bound[1], said).usually(usual[1]));
        }
        offs
    };
    let (the_same, nearly) = ([[SAME_PEOPLE; 2]; 2], [usual, bound]);
    let offs = [
        of(["the same people: chance", "the same people: median"], 1.0, the_same),
        of(["0.5 % fewer: chance", "0.5 % fewer: median"], 0.995, nearly),
        of(["0.5 % more: chance", "0.5 % more: median"], 1.005, nearly),
    ];
    offs.into_iter().flatten().collect()
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
