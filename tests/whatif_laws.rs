//! Laws of the what-if, and the doubling of a household against the model's own load clock, integrated here step by step.

use jiff::civil::{Date, date};
use proptest::prelude::*;
use soaklife::date::{date_after, years_between};
use soaklife::loading::use_ahead::UseAhead;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{VolumeRate, as_inches, gallons_per_day, inches};
use soaklife::trend::absorption::Hypotheses;
use soaklife::whatif::{Alternative, Effect, OtherUse, WhatIf, WhatIfError};
use soaklife::{Forecast, History, LoadHistory, Method, Pit, Question, Reading};
use tests::plain_pit::rising;

const AS_OF: Date = date(2026, 6, 30);
const DESIGN_GPD: f64 = 450.0;
/// What one person adds to the load ratio at 58.6 gallons a day.
const RATIO_OF_ONE: f64 = 58.6 / DESIGN_GPD;
/// How far a part of a person may move a chance, as a multiple of that part, where two people live.
///
/// A part of one of two people lifts z by half of that part where the level follows, and z is never known closer than to some
/// 0.02, momentary use included: φ(0) ÷ 0.02 ÷ 2.
const CHANCE_BY_PEOPLE: f64 = 10.0;
/// Years at which chances are compared; some lie between the moments at which they are computed.
const YEARS: [f64; 9] = [0.0, 0.6, 1.0, 2.0, 5.0, 10.0, 21.0, 37.0, 60.0];

/// What sums of the same numbers in another order leave.
const ROUNDING: f64 = 1e-12;

/// A stay is not looked at on the very day on which a visit ends, a visit is.
const MOMENT: f64 = 1e-4;

fn design() -> VolumeRate {
    gallons_per_day(DESIGN_GPD)
}

fn at_ratio(ratio: f64) -> OtherUse {
    OtherUse::metered(gallons_per_day(ratio * DESIGN_GPD))
}

/// A pit 120 in deep below its inlet, thirty years old, read each May to 2026.
fn history(levels: &[f64], ratio: Option<f64>) -> History {
    let pit = Pit::new(inches(36.0), inches(156.0)).unwrap();
    let first = 2027 - levels.len() as i16;
    let readings = levels
        .iter()
        .zip(first..)
        .map(|(level, year)| Reading::at_level(&pit, date(year, 5, 14), inches(*level)).unwrap());
    let history = History::new(pit).with_installed(date(1996, 6, 1)).with_readings(readings);
    match ratio {
        Some(ratio) => {
            history.with_load(LoadHistory::constant(design(), gallons_per_day(ratio * DESIGN_GPD)).unwrap())
        }
        None => history,
    }
}

fn today(history: &History) -> Forecast {
    Forecast::of(history, &Question::new(AS_OF)).unwrap()
}

fn today_if(history: &History, use_ahead: UseAhead) -> Forecast {
    Forecast::of(history, &Question::new(AS_OF).if_use(use_ahead)).unwrap()
}

fn any_use_ahead() -> impl Strategy<Value = UseAhead> {
    prop::sample::select(UseAhead::ALL.to_vec())
}

/// Often the day of the forecast itself.
fn any_beginning() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 2 => 0.0..20.0f64]
}

/// The load ratio that today's forecast has come to on a day so many years ahead: ρ* + (ρ − ρ*) e^(−t/τ), or ρ.
fn ratio_in(years: f64, ratio: f64, use_ahead: UseAhead) -> f64 {
    let prior = PopulationPrior::default();
    let years = years_between(AS_OF, day_in(years));
    let kept = match use_ahead {
        UseAhead::Drifts => (-years / prior.tenure_years).exp(),
        _ => 1.0,
    };
    prior.typical_load_ratio + (ratio - prior.typical_load_ratio) * kept
}

fn day_in(years: f64) -> Date {
    date_after(AS_OF, years).unwrap()
}

fn chances(forecast: &Forecast) -> [f64; YEARS.len()] {
    YEARS.map(|years| forecast.chance_by(years))
}

/// All that is told of the future, for comparison to the last bit.
fn told(forecast: &Forecast) -> Vec<Option<f64>> {
    let mut told: Vec<Option<f64>> = chances(forecast).map(Some).to_vec();
    told.extend(forecast.years_to_inlet_at([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95]));
    for years in YEARS {
        told.extend(forecast.level_quantiles(years, [0.1, 0.5, 0.9]).map(|level| level.map(as_inches)));
    }
    told.push(forecast.pace_quantile(0.5).map(as_inches));
    told
}

fn everything(other: &Alternative) -> [&Forecast; 3] {
    [other.level_stays(), other.forecast(), other.level_follows()]
}

fn any_levels() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        Just(Vec::new()),
        prop::collection::vec(0.0..119.0f64, 1..8),
        (5.0..60.0f64, 0.0..6.0f64, 2u8..10).prop_map(|(start, rise, count)| rising(start, rise, count)),
    ]
}

proptest! {
    /// More people than live there by then never lengthen life, and fewer never shorten it.
    #[test]
    fn more_people_never_lengthen_life(
        levels in any_levels(),
        ratio in prop_oneof![Just(None), (0.051..1.5f64).prop_map(Some)],
        times in 0.2..2.0f64,
        from in any_beginning(),
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&levels, ratio), use_ahead);
        let base = ratio_in(from, ratio.unwrap_or(PopulationPrior::default().typical_load_ratio), use_ahead);
        let other = WhatIf::of(at_ratio(times * base)).starting(day_in(from)).beside(&today, Some(design())).unwrap();
        for forecast in everything(&other) {
            for (then, now) in chances(forecast).into_iter().zip(chances(&today)) {
                prop_assert!(if times > 1.0 { then >= now - ROUNDING } else { then <= now + ROUNDING }, "{} {}", then, now);
            }
        }
        prop_assert_eq!(other.is_today_typical(), ratio.is_none());
    }

    #[test]
    fn of_two_households_the_larger_never_lasts_longer(
        (start, rise, count) in (5.0..60.0f64, 0.3..5.0f64, 3u8..10),
        ratio in 0.1..1.2f64,
        (small, more) in (0.05..1.5f64, 0.05..1.0f64),
        from in any_beginning(),
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&rising(start, rise, count), Some(ratio)), use_ahead);
        let of = |ratio: f64| WhatIf::of(at_ratio(ratio)).starting(day_in(from)).beside(&today, Some(design())).unwrap();
        let (small, large) = (of(small), of(small + more));
        for (small, large) in everything(&small).into_iter().zip(everything(&large)) {
            let median = |forecast: &Forecast| forecast.years_to_inlet(0.5).unwrap_or(f64::INFINITY);
            prop_assert!(median(large) <= median(small), "{} {}", median(large), median(small));
        }
    }

    /// The same number of people from the day of the forecast on, and from whatever day if today's household stays, or said as no
    /// reduction: today's forecast to the last bit.
    #[test]
    fn todays_load_is_todays_forecast(
        levels in any_levels(),
        ratio in 0.051..3.0f64,
        from in prop_oneof![1 => -3.0..0.0f64, 2 => -3.0..70.0f64],
        until in 0.0..50.0f64,
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&levels, Some(ratio)), use_ahead);
        let mut the_same = vec![OtherUse::as_today(), OtherUse::as_today().reduced_by(0.0).unwrap()];
        if use_ahead == UseAhead::AsToday || day_in(from) <= AS_OF {
            the_same.push(at_ratio(ratio));
        }
        for other in the_same {
            let what_if = WhatIf::of(other).starting(day_in(from)).ending(day_in(from + until));
            let other = what_if.beside(&today, Some(design())).unwrap();
            prop_assert!(other.effect() != Effect::Changes);
            for forecast in everything(&other) {
                prop_assert_eq!(told(forecast), told(&today));
            }
        }
    }

    /// What is over, what ends as it begins, and what lies beyond the horizon do nothing.
    #[test]
    fn what_never_acts_changes_nothing(levels in any_levels(), share in 0.0..3.0f64, years in 0.0..30.0f64) {
        let today = today(&history(&levels, Some(0.6)));
        let of = || WhatIf::of(at_ratio(share));
        for (what_if, effect) in [
            (of().starting(day_in(-years - 1.0)).ending(day_in(-years)), Effect::Over),
            (of().starting(day_in(years)).ending(day_in(years)), Effect::Over),
            (of().starting(day_in(60.1 + years)), Effect::BeyondHorizon),
        ] {
            let other = what_if.beside(&today, Some(design())).unwrap();
            prop_assert!(other.effect() == effect || other.effect() == Effect::SameUse);
            prop_assert_eq!(told(other.forecast()), told(&today));
        }
    }

    /// A change dated in the past acts from the day of the forecast on.
    #[test]
    fn the_past_is_the_records(levels in any_levels(), share in 0.0..2.0f64, years in 0.0..30.0f64) {
        let today = today(&history(&levels, Some(0.6)));
        let now = WhatIf::of(at_ratio(share)).beside(&today, Some(design())).unwrap();
        let past = WhatIf::of(at_ratio(share)).starting(day_in(-years)).beside(&today, Some(design())).unwrap();
        prop_assert_eq!(past, now);
    }

    /// The more the level follows, the more an increase hastens and a decrease delays; the headline lies between.
    #[test]
    fn the_ends_lie_on_either_side(
        levels in any_levels(),
        ratio in 0.051..1.5f64,
        other in prop_oneof![1 => Just(0.0), 9 => 0.0..2.5f64],
        (from, lasts) in (any_beginning(), prop_oneof![Just(None), (0.1..10.0f64).prop_map(Some)]),
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&levels, Some(ratio)), use_ahead);
        let by_then = ratio_in(from, ratio, use_ahead);
        let mut what_if = WhatIf::of(at_ratio(other)).starting(day_in(from));
        if let Some(lasts) = lasts {
            what_if = what_if.ending(day_in(from + lasts));
        }
        let then = what_if.beside(&today, Some(design())).unwrap();
        let [stays, mixed, follows] = everything(&then).map(chances);
        for ((stays, mixed), follows) in stays.into_iter().zip(mixed).zip(follows) {
            let (low, high) = if other > by_then { (stays, follows) } else { (follows, stays) };
            prop_assert!(low <= mixed + ROUNDING && mixed <= high + ROUNDING, "{} {} {}", low, mixed, high);
        }
        let [none, full] = then.steps().map(as_inches);
        // The level is told at the first moment of the grid that does not come before: until then the other use ages it.
        prop_assert!(none.abs() < 1e-6, "{}", none);
        let full = full - none;
        prop_assert!((other > by_then || full <= 1e-6) && (other < by_then || full >= -1e-6), "{} {}", none, full);
        for forecast in everything(&then) {
            prop_assert!(told(forecast).into_iter().flatten().all(f64::is_finite));
            let chances = chances(forecast);
            prop_assert!(chances.windows(2).all(|pair| pair[0] <= pair[1] + ROUNDING) && chances.iter().all(|p| (0.0..=1.0).contains(p)));
        }
    }

    /// A guest who leaves does no more than one who stays, and no less than none.
    #[test]
    fn guests_who_leave_do_less_than_guests_who_stay(levels in any_levels(), from in 0.0..20.0f64, lasts in 0.01..20.0f64) {
        let today = today(&history(&levels, Some(0.5)));
        let of = || WhatIf::of(at_ratio(1.2)).starting(day_in(from));
        let stay = of().beside(&today, Some(design())).unwrap();
        let leave = of().ending(day_in(from + lasts)).beside(&today, Some(design())).unwrap();
        for (leave, stay) in everything(&leave).into_iter().zip(everything(&stay)) {
            for ((leave, stay), none) in chances(leave).into_iter().zip(chances(stay)).zip(chances(&today)) {
                prop_assert!(none <= leave + ROUNDING && leave <= stay + MOMENT, "{} {} {}", none, leave, stay);
            }
        }
    }

    /// Of nobody to eight people, where two live today, no larger household ever lowers a chance.
    #[test]
    fn chances_rise_with_the_number_of_people(
        levels in any_levels(),
        from in any_beginning(),
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&levels, Some(2.0 * RATIO_OF_ONE)), use_ahead);
        let of = |people: u8| {
            let other = at_ratio(0.5 * f64::from(people) * RATIO_OF_ONE);
            let then = WhatIf::of(other).starting(day_in(from)).beside(&today, Some(design())).unwrap();
            everything(&then).map(chances)
        };
        let by_people: Vec<_> = (0..=16).map(of).collect();
        for pair in by_people.windows(2) {
            for (fewer, more) in pair[0].iter().flatten().zip(pair[1].iter().flatten()) {
                prop_assert!(fewer <= &(more + ROUNDING), "{} {}", fewer, more);
            }
        }
    }

    /// Where two people live, no chance jumps as a part of a person comes or goes.
    #[test]
    fn a_part_of_a_person_moves_no_chance_far(
        levels in any_levels(),
        from in any_beginning(),
        use_ahead in any_use_ahead(),
        part in prop::sample::select(vec![0.01, 0.001]),
    ) {
        let today = today_if(&history(&levels, Some(2.0 * RATIO_OF_ONE)), use_ahead);
        let of = |more: f64| {
            let by_then = ratio_in(from, 2.0 * RATIO_OF_ONE, use_ahead) + more * RATIO_OF_ONE;
            let then = WhatIf::of(at_ratio(by_then)).starting(day_in(from));
            everything(&then.beside(&today, Some(design())).unwrap()).map(chances)
        };
        let by_people = [-part, 0.0, part].map(of);
        for pair in by_people.windows(2) {
            for (fewer, more) in pair[0].iter().flatten().zip(pair[1].iter().flatten()) {
                prop_assert!(more - fewer < CHANCE_BY_PEOPLE * part, "{} {}", fewer, more);
            }
        }
    }

    /// A house empty for good is the safest, one empty for a year is no less safe than today's.
    #[test]
    fn empty_for_good_does_more_than_empty_for_a_year(
        levels in any_levels(),
        ratio in 0.051..1.5f64,
        from in any_beginning(),
        use_ahead in any_use_ahead(),
    ) {
        let today = today_if(&history(&levels, Some(ratio)), use_ahead);
        let empty = || WhatIf::of(OtherUse::vacant()).starting(day_in(from));
        let for_good = empty().beside(&today, None).unwrap();
        let for_a_year = empty().ending(day_in(from + 1.0)).beside(&today, None).unwrap();
        let as_today = chances(&today);
        for (for_good, for_a_year) in everything(&for_good).into_iter().zip(everything(&for_a_year)) {
            for ((good, year), today) in chances(for_good).into_iter().zip(chances(for_a_year)).zip(as_today) {
                prop_assert!(good <= year + ROUNDING && year <= today + ROUNDING, "{} {} {}", good, year, today);
            }
        }
    }

    /// Whatever is asked, there is an answer or a reason; nothing panics, nothing is not a number.
    #[test]
    fn no_question_makes_it_panic(
        levels in any_levels(),
        persons in prop_oneof![0.0..20.0f64, any::<f64>()],
        share in prop_oneof![0.0..=1.0f64, any::<f64>()],
        days in prop::array::uniform2(-4_000i64..40_000),
        method in prop::sample::select(Method::ALL.to_vec()),
        ratio in prop_oneof![Just(None), (0.0..4.0f64).prop_map(Some)],
        design_gpd in prop_oneof![Just(None), any::<f64>().prop_map(Some), (1.0..900.0f64).prop_map(Some)],
    ) {
        let Ok(today) = Forecast::of(&history(&levels, ratio), &Question::new(AS_OF).by(method)) else { return Ok(()) };
        let other = OtherUse::household(persons, 58.6).and_then(|other| other.reduced_by(share));
        let day = |days: i64| AS_OF.checked_add(jiff::Span::new().days(days)).unwrap();
        let Ok(other) = other else { return Ok(()) };
        let what_if = WhatIf::of(other).starting(day(days[0])).ending(day(days[1]));
        if let Ok(then) = what_if.beside(&today, design_gpd.map(gallons_per_day)) {
            for forecast in everything(&then) {
                prop_assert!(chances(forecast).iter().all(|chance| (0.0..=1.0).contains(chance)));
                prop_assert!(YEARS.iter().all(|&years| as_inches(forecast.level(years)).is_finite()));
                prop_assert!(forecast.years_to_inlet_at([0.1, 0.5, 0.9]).into_iter().flatten().all(|years| years >= 0.0));
            }
        }
    }
}

/// The load that a household absorbs from today on, design-years: ρ(t) by the trapezium rule, and not by the closed form of the
/// library.
fn load_to_come(ratio: f64, years: f64, use_ahead: UseAhead) -> f64 {
    let prior = PopulationPrior::default();
    let typical = prior.typical_load_ratio;
    let at = |t: f64| match use_ahead {
        UseAhead::Drifts => typical + (ratio - typical) * (-t / prior.tenure_years).exp(),
        _ => ratio,
    };
    let steps = 10_000;
    let step = years / f64::from(steps);
    (0..steps).map(|k| 0.5 * step * (at(step * f64::from(k)) + at(step * f64::from(k + 1)))).sum()
}

/// Three pits at half their design, whose household doubles: fast, middling, slow.
fn pits_at_half_their_design() -> [(&'static str, History); 3] {
    let pit = |start, rise| history(&rising(start, rise, 12), Some(0.5));
    [
        ("45 in of 120, 3 inches a year", pit(12.0, 3.0)),
        ("48 in of 120, 2.5 inches a year", pit(20.5, 2.5)),
        ("34 in of 120, 3 inches a year", pit(1.0, 3.0)),
    ]
}

/// The years after which a household has absorbed so much: the inverse of [`load_to_come`], by halving.
fn years_of_load(ratio: f64, load: f64, use_ahead: UseAhead) -> f64 {
    let (mut low, mut high) = (0.0, 60.0);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if load_to_come(ratio, middle, use_ahead) < load { low = middle } else { high = middle }
    }
    low
}

/// Today's forecast down to the freeboard at which a level that rises by the factor stands at the inlet: (x + 18) × factor =
/// H + 18, 18 in the offset of z = ln((x + 18)/(H + 18)).
fn down_to_step(today: &Forecast, history: &History, factor: f64, experience: &Hypotheses) -> Forecast {
    let freeboard = 120.0 - (138.0 / factor - 18.0);
    let question = today.question().down_to(inches(freeboard)).unwrap();
    Forecast::by_experience(history, &question, experience).unwrap()
}

/// A household doubled from today on, and what it should do by the load clock alone.
struct Doubled {
    today: Forecast,
    then: Alternative,
    /// How many times sooner the median comes where the level stays, and where it follows in full: as the library says.
    seen: [f64; 2],
    /// And as the load clock says.
    stated: [f64; 2],
}

fn median(forecast: &Forecast) -> f64 {
    forecast.years_to_inlet(0.5).unwrap()
}

impl Doubled {
    fn of(history: &History, use_ahead: UseAhead, experience: &Hypotheses) -> Self {
        let question = Question::new(AS_OF).if_use(use_ahead);
        let today = Forecast::by_experience(history, &question, experience).unwrap();
        let then = WhatIf::of(at_ratio(1.0)).beside(&today, Some(design())).unwrap();
        let now = median(&today);
        let years = |factor| {
            let load =
                load_to_come(0.5, median(&down_to_step(&today, history, factor, experience)), use_ahead);
            years_of_load(1.0, load, use_ahead)
        };
        let seen = [now / median(then.level_stays()), now / median(then.level_follows())];
        Self { seen, stated: [now / years(1.0), now / years(2.0)], today, then }
    }

    /// `within` is a share, for each end.
    fn assert_as_stated(&self, name: &str, within: [f64; 2]) {
        println!("{name}: seen {:.3?}, stated {:.3?}", self.seen, self.stated);
        for ((seen, stated), within) in self.seen.into_iter().zip(self.stated).zip(within) {
            assert!((seen / stated - 1.0).abs() < within, "{name}: {seen} {stated}");
        }
    }
}

/// The same load leads to the same level: a household doubled from today on, of which the level follows a share e, stands at the
/// inlet when as much has been absorbed as takes today's household to the level that 2^e lifts to the inlet. So the years are
/// those in which the doubled household absorbs that much, with the load from today's own forecast; at e = 0 that is the load
/// to the inlet itself. The wander of the level and the risk a year run by the calendar, and chances run straight between the
/// moments of the grid, so that it holds within a fiftieth at e = 0, and within a twentieth at e = 1, where the median lies a
/// step or two of the grid ahead.
#[test]
fn doubling_the_household_shortens_life_by_the_factor_of_the_load_clock() {
    let experience = Hypotheses::default();
    let [drifts, stays] = UseAhead::ALL;
    for (name, history) in pits_at_half_their_design() {
        // Where both drift, a level that stays has the ageing alone; one that follows takes its step back as the use drifts back.
        let drifting = Doubled::of(&history, drifts, &experience);
        drifting.tell(name);
        drifting.assert_as_stated(name, [0.02, f64::INFINITY]);
        assert!(drifting.seen[1] < drifting.stated[1], "{name}");
        let doubled = Doubled::of(&history, stays, &experience);
        doubled.tell(name);
        doubled.assert_as_stated(name, [0.02, 0.05]);
        let mixed = median(doubled.then.forecast());
        assert!(median(doubled.then.level_follows()) < mixed && mixed < median(doubled.then.level_stays()));
        // The headline is the mean of five such chances.
        let then_today = years_of_load(0.5, load_to_come(1.0, mixed, stays), stays);
        let chance = |share: f64| {
            down_to_step(&doubled.today, &history, share.exp2(), &experience).chance_by(then_today)
        };
        let mean = [0.0, 0.25, 0.5, 0.75, 1.0].map(chance).iter().sum::<f64>() / 5.0;
        assert!((mean - 0.5).abs() < 0.03, "{name}: {mean}");
        // z moves by ln 2: a level x becomes 2 (x + 18) − 18, at most the inlet.
        let level = as_inches(doubled.today.level(0.0));
        let stepped = as_inches(doubled.then.level_follows().level(0.0));
        assert!((stepped - (2.0 * (level + 18.0) - 18.0).min(120.0)).abs() < 1e-3, "{level} {stepped}");
    }
}

impl Doubled {
    /// The rows of the table in the docstring of the module.
    fn tell(&self, name: &str) {
        let years = |years: Option<f64>| years.map_or("over 60".to_owned(), |years| format!("{years:.1}"));
        let forecasts = [&self.today].into_iter().chain(everything(&self.then));
        for (kind, forecast) in ["today", "e=0", "mix", "e=1"].into_iter().zip(forecasts) {
            println!("{name}: {kind} {:?}", forecast.years_to_inlet_at([0.1, 0.5, 0.9]).map(years));
        }
        let use_ahead = self.today.question().use_ahead();
        println!("{name}, {use_ahead}: seen {:.2?}, stated {:.2?}", self.seen, self.stated);
    }
}

/// With the calendar's own noise taken out of the prior, only the load clock and the straight lines of the grid are left.
#[test]
fn without_wander_and_risk_the_factor_is_that_of_the_load_clock() {
    let mut prior = PopulationPrior { background_risk: 0.0, dry_risk: 0.0, ..PopulationPrior::default() };
    for temperament in &mut prior.temperaments {
        (temperament.level_wander, temperament.exponent_wander) = (1e-6, 1e-6);
    }
    let experience = Hypotheses::new(prior).unwrap();
    for (name, history) in pits_at_half_their_design() {
        Doubled::of(&history, UseAhead::AsToday, &experience).assert_as_stated(name, [0.01, 0.03]);
    }
}

/// A line against load knows the ageing alone: twice the load, half the years, exactly; from a day on, the rest of them.
#[test]
fn a_line_against_load_ages_twice_as_fast_and_takes_no_step() {
    let history = history(&[60.0, 63.5, 65.5, 69.0, 71.5, 75.0], Some(0.5));
    for method in [Method::Line, Method::Rank] {
        let today = Forecast::of(&history, &Question::new(AS_OF).by(method)).unwrap();
        let years = |forecast: &Forecast| forecast.years_to_inlet_at([0.1, 0.5, 0.9]).map(Option::unwrap);
        let at_once = WhatIf::of(at_ratio(1.0)).beside(&today, Some(design())).unwrap();
        assert_eq!(at_once.forecast(), at_once.level_follows());
        assert_eq!(at_once.steps().map(as_inches), [0.0, 0.0]);
        let later = WhatIf::of(at_ratio(1.0)).starting(day_in(4.0)).beside(&today, Some(design())).unwrap();
        let visit = WhatIf::of(at_ratio(1.0))
            .starting(day_in(4.0))
            .ending(day_in(6.0))
            .beside(&today, Some(design()))
            .unwrap();
        let ((from, _), (_, until)) = (later.span(), visit.span());
        for (place, &now) in years(&today).iter().enumerate() {
            let of = |other: &Alternative| years(other.forecast())[place];
            assert!((of(&at_once) - 0.5 * now).abs() < 1e-9);
            assert!((of(&later) - (from + 0.5 * (now - from))).abs() < 1e-9, "{}", of(&later));
            assert!((of(&visit) - (now - (until.unwrap() - from))).abs() < 1e-9, "{}", of(&visit));
        }
        let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None).unwrap();
        assert_eq!(empty.forecast().years_to_inlet(0.5), None);
        assert_eq!(empty.forecast().level(30.0), today.level(0.0));
    }
}

/// A house that stands empty: the level falls or stays, and no load comes to age it.
#[test]
fn an_empty_house_falls_and_does_not_age() {
    let history = history(&rising(60.0, 3.0, 12), Some(0.5));
    let today = today(&history);
    let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None).unwrap();
    let level = |forecast: &Forecast, years: f64| as_inches(forecast.level(years));
    assert!((level(empty.level_stays(), 10.0) - level(&today, 0.0)).abs() < 1.0);
    assert!(level(empty.level_follows(), 0.0) < 5.0);
    assert!(empty.forecast().chance_by(10.0) < 0.2 * today.chance_by(10.0));
    assert_eq!(empty.ratio(), 0.0);
    // A year away and back: what was not absorbed then is absorbed a year later.
    let away = WhatIf::of(OtherUse::vacant()).ending(day_in(5.0)).beside(&today, None).unwrap();
    let (late, soon) = (away.level_stays().years_to_inlet(0.5).unwrap(), today.years_to_inlet(0.5).unwrap());
    assert!((3.5..6.5).contains(&(late - soon)), "{late} {soon}");
}

/// The level of a house that was left this spring is still held for that of the use before: filled again as it was, it takes no
/// step; with half as many again it does.
#[test]
fn an_empty_house_filled_again_steps_from_the_use_before() {
    let flows = [(Date::MIN, 0.5), (date(2026, 3, 1), 0.0)].map(|(from, ratio)| (from, design() * ratio));
    let left =
        history(&rising(40.0, 2.0, 11)[..10], None).with_load(LoadHistory::new(design(), flows).unwrap());
    let today = today(&left);
    let filled = |ratio: f64| {
        let other = WhatIf::of(at_ratio(ratio)).beside(&today, Some(design())).unwrap();
        other.steps().map(as_inches)
    };
    assert_eq!(filled(0.5), [0.0, 0.0]);
    let [stays, follows] = filled(0.75);
    assert!(stays == 0.0 && follows > 5.0, "{stays} {follows}");
    let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None).unwrap();
    assert_eq!(empty.steps().map(as_inches), [0.0, 0.0], "it is empty already");
}

/// A visit of three months between two moments of the grid is not missed.
#[test]
fn a_short_visit_counts() {
    let today = today(&history(&rising(75.0, 2.0, 12), Some(0.5)));
    let visit = WhatIf::of(at_ratio(2.5)).starting(day_in(22.1)).ending(day_in(22.4));
    let visit = visit.beside(&today, Some(design())).unwrap();
    let at_once = WhatIf::of(at_ratio(2.5)).starting(day_in(3.2)).ending(day_in(3.4));
    let at_once = at_once.beside(&today, Some(design())).unwrap();
    assert!(at_once.level_follows().chance_by(4.0) > today.chance_by(4.0) + 0.3);
    assert!(at_once.level_follows().chance_by(3.0) < today.chance_by(3.0) + 1e-12);
    assert!(visit.level_follows().chance_by(25.0) >= today.chance_by(25.0));
}

#[test]
fn what_makes_no_ratio_is_refused() {
    let unknown = today(&history(&[60.0, 62.0], None));
    let beside = |other: OtherUse, design| WhatIf::of(other).beside(&unknown, design);
    assert_eq!(beside(at_ratio(1.0), None), Err(WhatIfError::DesignUnknown));
    assert!(matches!(beside(at_ratio(1.0), Some(gallons_per_day(0.0))), Err(WhatIfError::Loading(_))));
    assert!(matches!(beside(at_ratio(-1.0), Some(design())), Err(WhatIfError::Loading(_))));
    assert!(matches!(beside(at_ratio(3.01), Some(design())), Err(WhatIfError::TooMuch { .. })));
    assert!(matches!(OtherUse::household(f64::NAN, 58.6), Err(WhatIfError::Loading(_))));
    let backwards = WhatIf::of(OtherUse::vacant()).starting(day_in(2.0)).ending(day_in(1.0));
    assert!(matches!(backwards.beside(&unknown, None), Err(WhatIfError::EndsBeforeItBegins { .. })));
    // A share of today's flow needs no design; today's is then the typical one.
    let empty = beside(OtherUse::vacant(), None).unwrap();
    assert!(empty.is_today_typical());
    assert_eq!(empty.ratio_today(), PopulationPrior::default().typical_load_ratio);
    let by_line = Question::new(AS_OF).by(Method::Line);
    let against_time = Forecast::of(&history(&[60.0, 62.0, 64.5], None), &by_line).unwrap();
    let refused = WhatIf::of(OtherUse::vacant()).beside(&against_time, None);
    assert_eq!(refused, Err(WhatIfError::AgainstTime));
}
