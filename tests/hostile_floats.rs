//! Any float into every public function that takes one: a typed error, nothing, or a number that is one.
//!
//! Functions of `numerics` that have neither an error nor nothing to give answer a NaN by a NaN, as their docs say; of finite
//! arguments they too make finite results.

use jiff::civil::{Date, date, datetime};
use proptest::prelude::*;
use soaklife::acceptance::MeasuredAcceptance;
use soaklife::fleet::mixed::{Criterion, MixedLines};
use soaklife::fleet::{
    Budget, Candidate, CommonFactor, CostModel, Replacements, Urgency, VisitList, YearsAhead, sinking_fund,
};
use soaklife::forecast::{Method, Question};
use soaklife::load_test::{Accuracy, Household, LoadTest, Look};
use soaklife::loading::design_rule::DesignRule;
use soaklife::loading::measured_use::household_flow;
use soaklife::numerics::compound_interest::Factors;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{Area, Units, as_gallons_per_day, as_inches, gallons, gallons_per_day, inches};
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::trend::axis::{Against, Axis};
use soaklife::trend::line::LineTrend;
use soaklife::trend::rank::RankTrend;
use soaklife::trend::{CrossingSet, TrendPoint};
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Coverage, CrossSection, Forecast, History, LoadHistory, Pit, Reading, wording};
use tests::plain_pit::pit;

mod hostile_floats {
    mod numerics;
}

const AS_OF: Date = date(2026, 6, 30);

/// Every kind of float, the wicked ones as often as the ordinary ones.
fn wicked() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -500.0..500.0f64,
        2 => 0.0..=1.0f64,
        2 => any::<f64>(),
        4 => prop::sample::select(vec![
            f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, 1.0, f64::from_bits(1), -f64::from_bits(1),
            f64::MIN_POSITIVE, f64::EPSILON, 1e-308, 1e308, -1e308, f64::MAX, f64::MIN, 1e155, 1e-155, 1e16,
        ]),
    ]
}

#[track_caller]
fn finite(what: &str, number: f64) {
    assert!(number.is_finite(), "{what}: {number}");
}

#[track_caller]
fn all_finite(what: &str, numbers: impl IntoIterator<Item = f64>) {
    numbers.into_iter().for_each(|number| finite(what, number));
}

#[track_caller]
fn finite_words(text: &str) {
    let wrong = |word: &str| matches!(word, "NaN" | "inf");
    assert!(!text.split(|c: char| !c.is_alphanumeric()).any(wrong), "{text}");
}

#[track_caller]
fn finite_set(set: CrossingSet) {
    match set {
        CrossingSet::Between { earliest, latest } => all_finite("crossing", [earliest, latest]),
        CrossingSet::NotBefore { earliest } => assert!(!earliest.is_nan()),
        CrossingSet::Never | CrossingSet::Unbounded => {}
    }
}

fn levels() -> [Reading; 6] {
    [(2021, 70.0), (2022, 74.0), (2023, 75.0), (2024, 80.5), (2025, 83.0), (2026, 88.0)]
        .map(|(year, level)| Reading::at_level(&pit(), date(year, 5, 10), inches(level)).unwrap())
}

fn usual_load() -> LoadHistory {
    LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(200.0)).unwrap()
}

fn usual() -> History {
    History::new(pit()).with_load(usual_load()).with_readings(levels())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn pits_and_loads(a in wicked(), b in wicked(), c in wicked()) {
        for section in [CrossSection::round(inches(a)), CrossSection::rectangular(inches(a), inches(b))].into_iter().flatten() {
            all_finite("section", [section.area().value, section.perimeter().value]);
        }
        if let Ok(pit) = Pit::new(inches(a), inches(b)) {
            finite("depth", as_inches(pit.effective_depth()));
            let section = CrossSection::round(inches(c)).map(|section| pit.with_cross_section(section));
            for pit in section.into_iter().chain([pit]) {
                all_finite("wall", pit.sidewall_area().map(|area| area.value));
                all_finite("liquid", pit.with_liquid_fraction(c).map(|pit| pit.liquid_fraction()));
                if let Ok(reading) = Reading::at_level(&pit, AS_OF, inches(c)) {
                    let level = reading.level(&pit);
                    all_finite("level", [as_inches(level), as_inches(pit.freeboard(level))]);
                    all_finite("wetted", pit.wetted_area(level).map(|area| area.value));
                    all_finite("storage", pit.storage_between(level, pit.effective_depth()).map(|volume| volume.value));
                }
                all_finite("days", pit.days_of_flow_left(inches(c), gallons_per_day(b)));
            }
        }
        if let Ok(load) = LoadHistory::new(gallons_per_day(a), [(date(2000, 1, 1), gallons_per_day(b)), (date(2010, 1, 1), gallons_per_day(c))]) {
            all_finite("ratio", [load.ratio_at(AS_OF), load.cumulative(date(1990, 1, 1), AS_OF), as_gallons_per_day(load.flow_at(AS_OF))]);
        }
        all_finite("flow", household_flow(a, b).map(as_gallons_per_day));
        for rule in DesignRule::all().iter().cloned().chain(DesignRule::per_person(a, b)) {
            all_finite("design flow", rule.design_flow(c).map(as_gallons_per_day));
        }
        all_finite("coverage", Coverage::new(a).map(|coverage| coverage.lower_tail() + coverage.value()));
    }

    #[test]
    fn forecasts(a in wicked(), b in wicked(), c in wicked(), d in wicked(), share in wicked(), years in wicked()) {
        let Ok(pit) = Pit::new(inches(0.0), inches(a)) else { return Ok(()) };
        let readings = (2017i16..).zip([b, c, d, a, b / 2.0, c / 3.0]).filter_map(|(year, level)| Reading::at_level(&pit, date(year, 6, 1), inches(level)).ok());
        let history = History::new(pit).with_readings(readings.collect::<Vec<_>>());
        let history = match LoadHistory::constant(gallons_per_day(c), gallons_per_day(d)) {
            Ok(load) => history.with_load(load),
            Err(_) => history,
        };
        all_finite("hand check", history.hand_check(AS_OF).map(|check| as_inches(check.rise_per_year)));
        for history in [history, usual()] {
            for (method, against) in Method::ALL.into_iter().zip([Against::Load, Against::Time, Against::Load]) {
                let question = Question::new(AS_OF).by(method).against_axis(against);
                for question in [Ok(question), question.within(years), question.down_to(inches(share))].into_iter().flatten() {
                    let Ok(forecast) = Forecast::of(&history, &question) else { continue };
                    for years in [years, 0.0, 5.0] {
                        prop_assert!((0.0..=1.0).contains(&forecast.chance_by(years)));
                        if years.abs() < 1e6 {
                            finite("level", as_inches(forecast.level(years)));
                            all_finite("levels", forecast.level_quantile(years, share).map(as_inches));
                            all_finite("freeboards", forecast.freeboard_quantile(years, share).map(as_inches));
                            let bands = [forecast.level_band(years, Coverage::EIGHTY), forecast.reading_band(years, Coverage::EIGHTY)];
                            bands.into_iter().flatten().for_each(|band| all_finite("band", [band.lower, band.upper].map(as_inches)));
                        }
                    }
                    all_finite("years", forecast.years_to_inlet(share));
                    all_finite("pace", forecast.pace_quantile(share).map(as_inches));
                    all_finite("pace", forecast.pace_per_year().map(as_inches));
                    finite_set(forecast.crossing_set(Coverage::EIGHTY));
                    finite_words(&wording::sentence::sentences(&forecast, Coverage::EIGHTY, Units::Us));
                }
            }
        }
    }

    #[test]
    fn the_absorption_method(level in wicked(), years in wicked(), share in wicked()) {
        let followed = Absorption::follow(&usual(), AS_OF, &Hypotheses::default());
        if let Some(passage) = followed.reaches(level) {
            prop_assert!((0.0..=1.0).contains(&passage.chance_within(years)), "{}", passage.chance_within(years));
            all_finite("years", passage.years(share));
        }
        all_finite("level", followed.level_in(years, share));
        all_finite("reading", followed.reading_in(years, share));
        all_finite("pace", followed.pace_in(share));
    }

    /// Any number of the prior may be anything: it is refused, or computed with.
    #[test]
    fn priors(place in 0usize..14, value in wicked(), other in 0usize..8, second in wicked()) {
        let mut prior = PopulationPrior::default();
        let numbers = [
            &mut prior.typical_load_ratio, &mut prior.tenure_years, &mut prior.offset_in, &mut prior.stick_in,
            &mut prior.gross_error_in, &mut prior.gross_error_share, &mut prior.suspect_error_share,
            &mut prior.reference_level_in, &mut prior.reference_level_spread, &mut prior.reference_load,
            &mut prior.dry_spread, &mut prior.background_risk, &mut prior.background_reach, &mut prior.dry_risk,
        ];
        *numbers.into_iter().nth(place).unwrap() = value;
        let more = [
            &mut prior.pace_margin, &mut prior.rising[0].exponent, &mut prior.late.exponent, &mut prior.late.median_load,
            &mut prior.filling.spread, &mut prior.temperaments[0].usage, &mut prior.temperaments[3].exponent_wander,
            &mut prior.late.weight,
        ];
        if second.abs() < 20.0 {
            *more.into_iter().nth(other).unwrap() = second;
        }
        let Ok(hypotheses) = Hypotheses::new(prior) else { return Ok(()) };
        for history in [usual(), History::new(pit())] {
            let Ok(forecast) = Forecast::by_experience(&history, &Question::new(AS_OF), &hypotheses) else { continue };
            prop_assert!((0.0..=1.0).contains(&forecast.chance_by(5.0)));
            all_finite("level", [0.1, 0.5, 0.9].into_iter().filter_map(|share| forecast.level_quantile(5.0, share)).map(as_inches));
            all_finite("years", forecast.years_to_inlet_at([0.1, 0.5, 0.9]).into_iter().flatten());
            all_finite("told", forecast.explanation().into_iter().flat_map(|told| told.pace_in()));
        }
    }

    #[test]
    fn acceptances(level in wicked(), flow in wicked(), error in wicked(), used in wicked(), depth in wicked()) {
        let Ok(taken) = MeasuredAcceptance::new(AS_OF, inches(level), gallons_per_day(flow), error) else { return Ok(()) };
        let Ok(pit) = Pit::new(inches(0.0), inches(depth)) else { return Ok(()) };
        for used in [None, Some(gallons_per_day(used))] {
            let settles = taken.settling(&pit, used, inches(18.0));
            all_finite("settles", [settles.mean, settles.spread]);
        }
        let history = usual().with_acceptances([taken]);
        if let Ok(forecast) = Forecast::of(&history, &Question::new(AS_OF)) {
            all_finite("levels", [0.1, 0.5, 0.9].into_iter().filter_map(|share| forecast.level_quantile(5.0, share)).map(as_inches));
        }
    }

    #[test]
    fn what_ifs(a in wicked(), b in wicked(), design in wicked()) {
        let today = Forecast::of(&usual(), &Question::new(AS_OF)).unwrap();
        let uses = [OtherUse::household(a, b), OtherUse::full_house(a, b), Ok(OtherUse::metered(gallons_per_day(a))), OtherUse::as_today().reduced_by(a)];
        for other in uses.into_iter().flatten().flat_map(|other| [Ok(other), other.reduced_by(b)]).flatten() {
            for design in [None, Some(gallons_per_day(design)), Some(gallons_per_day(450.0))] {
                let Ok(then) = WhatIf::of(other).beside(&today, design) else { continue };
                all_finite("ratio", [then.ratio(), then.ratio_today()]);
                all_finite("steps", then.steps().map(as_inches));
                all_finite("level", [as_inches(then.forecast().level(5.0)), then.forecast().chance_by(5.0)]);
            }
        }
    }

    #[test]
    fn load_tests(
        looks in prop::collection::vec((wicked(), prop::option::of(wicked()), prop::option::of(wicked())), 1..8),
        stick in wicked(), meter in wicked(), area in wicked(), design in wicked(), depth in wicked(), diameter in wicked(),
    ) {
        let Ok(pit) = Pit::new(inches(0.0), inches(depth)) else { return Ok(()) };
        let pit = CrossSection::round(inches(diameter)).map_or(pit, |section| pit.with_cross_section(section));
        let looks = looks.into_iter().enumerate().map(|(place, (depth, added, rise))| {
            let look = Look::at(datetime(2026, 5, 1 + place as i8, 8, 0, 0, 0)).with_depth(inches(depth));
            let look = added.map_or(look, |added| look.with_added(gallons(added)));
            rise.map_or(look, |rise| look.with_tank_rise(inches(rise)))
        });
        let Ok(test) = LoadTest::new(looks.collect()) else { return Ok(()) };
        let test = test.clone().measured_to(Accuracy { stick: inches(stick), meter }).unwrap_or(test);
        let test = test.clone().with_tank_area(Area { value: area, ..Area::default() }).unwrap_or(test);
        let household = Household { design_flow: Some(gallons_per_day(design)), actual_flow: None };
        let study = test.study(&pit, &household);
        finite_words(&format!("{:?} {:?} {:?} {:?} {:?}", study.balance, study.daily, study.acceptance, study.rules, study.verdict));
        if let Ok(recession) = study.recession {
            finite_words(&format!("{:?} {:?}", recession.half_life_days(Coverage::EIGHTY), recession.level_after(stick, Coverage::EIGHTY)));
            finite_words(&format!("{:?} {:?}", recession.days_to(inches(stick), Coverage::EIGHTY), recession.rate_per_day()));
        }
    }

    #[test]
    fn fleets(chances in prop::collection::vec(prop::array::uniform3(wicked()), 1..5), a in wicked(), b in wicked(), c in wicked()) {
        let costs = CostModel::new(a, b, c);
        let factor = CommonFactor::new(c).unwrap_or_default();
        if let Ok(costs) = costs {
            all_finite("set aside", sinking_fund(a, &costs, b));
            all_finite("set aside", sinking_fund(1e4, &costs, c));
        }
        let costs = costs.unwrap_or(CostModel::new(0.03, 0.02, 0.3).unwrap());
        let mut budget = Budget::new(YearsAhead::new(AS_OF, 2).unwrap(), factor, costs);
        let mut counted = Replacements::new(3, factor);
        for chances in &chances {
            let _ = (budget.add(chances, a, None), budget.add(chances, 1e4, Some("group")), counted.add(chances));
        }
        for fleet in budget.groups().map(|(_, fleet)| fleet).chain([budget.whole()]) {
            for place in 0..4 {
                finite_words(&format!("{:?} {:?}", fleet.year(place), fleet.by_end_of(place)));
            }
            let reserve = fleet.reserve();
            all_finite("reserve", reserve.level(a).into_iter().chain([reserve.level_of_expected()]));
            all_finite("fund", reserve.expected_fund().iter().copied());
        }
        all_finite("count", [counted.in_year(1).expected(), counted.by_end_of(2).standard_deviation(), counted.in_year(0).chance_of(1)]);
        let mut visits = VisitList::new(3);
        let urgency = Urgency::to_inlet([a, b, c], [Some(c); 3]);
        finite_words(&urgency.range_in_list());
        let candidate = Candidate { id: "AF-01".into(), title: String::new(), years_since_reading: Some(b), urgency };
        finite("worth", candidate.worth_of_reading());
        visits.offer(candidate);
        all_finite("factors", Factors::new(a, b).into_iter().flat_map(|factors| format!("{factors:?}").contains("inf").then_some(f64::INFINITY)));
    }

    #[test]
    fn lines_of_a_fleet(points in prop::collection::vec(prop::collection::vec((wicked(), wicked()), 1..5), 1..5), x in wicked()) {
        let mut lines = MixedLines::new();
        for points in &points {
            let _ = lines.add(points);
        }
        if let Ok(fit) = lines.fit(Criterion::RestrictedLikelihood) {
            all_finite("fit", fit.fixed().into_iter().chain(fit.scatter().concat()).chain(fit.fixed_covariance().concat()));
            all_finite("fit", [fit.residual_variance(), fit.log_likelihood(), fit.correlation().unwrap_or_default()]);
            if x.abs() < 1e6 {
                fit.groups().iter().for_each(|group| all_finite("group", <[f64; 2]>::from(group.at(x))));
            }
        }
    }

    #[test]
    fn trends(raw in prop::collection::vec((wicked(), wicked(), wicked(), wicked()), 3..9), x in wicked(), threshold in wicked(), share in wicked()) {
        let points: Vec<TrendPoint> = raw.iter()
            .map(|&(x, level_in, weight, sd)| TrendPoint { x, level_in, weight: weight.abs(), x_standard_deviation: sd.abs() })
            .collect();
        let near = x.abs() < 1e6;
        if let Ok(line) = LineTrend::fit(&points) {
            all_finite("line", [line.slope(), line.slope_standard_error(), line.scatter()]);
            all_finite("place", line.place_of(threshold));
            prop_assert!((0.0..=1.0).contains(&line.chance_at_or_above(0.0, 100.0)));
            finite_set(line.crossing(threshold, Coverage::EIGHTY, 1.0));
            if near {
                finite("level", line.level(x));
            }
        }
        if let Ok(rank) = RankTrend::fit(&points) {
            all_finite("rank", [rank.slope()]);
            all_finite("place", rank.place_of(threshold));
            prop_assert!((0.0..=1.0).contains(&rank.chance_at_or_above(0.0, 100.0)));
            finite_set(rank.crossing(threshold, Coverage::EIGHTY, 1.0));
            if near {
                all_finite("level", rank.level_quantile(x, share).into_iter().chain([rank.level(x)]));
            }
        }
        let axis = Axis::new(&usual(), Against::Load, AS_OF);
        all_finite("axis", [axis.pace(), axis.at(AS_OF), if near { axis.at_years(x) } else { 0.0 }]);
    }

    /// Nothing makes words panic, and what is a number is told as one.
    #[test]
    fn words(a in wicked(), b in wicked(), decimals in prop_oneof![0usize..20, any::<usize>()], units in prop::sample::select(vec![Units::Us, Units::Si])) {
        use wording::{about_when, about_years, before_when, between_when, by_when, chance, coverage, fleet, length, length_number, pace, sentence, tenths, years_range};
        let mut cell = Vec::new();
        wording::add_decimal(a, decimals, &mut cell);
        let said = [
            String::from_utf8(cell).unwrap(), fleet::expected_number(a), fleet::count_number(a), fleet::amount_number(a),
            fleet::amount(a, "USD"), fleet::expected_amount(a, b, "USD"), fleet::grouped(a), coverage::percent(a), length_number(inches(a), units, true),
            length(inches(a), units), pace(inches(a), units), chance(a), about_years(a), years_range(a, b), wording::year_after(AS_OF, a),
            about_when(AS_OF, a), between_when(AS_OF, a, b), before_when(AS_OF, a), by_when(AS_OF, a), wording::chances_in(a), tenths(a),
            sentence::goal(inches(a), units),
        ];
        if a.abs() < 1e15 && b.abs() < 1e15 {
            said.iter().for_each(|said| finite_words(said));
        }
    }
}

// What the laws above and those of `extreme_pits` have found.

/// A test known to no more than a factor of e⁵⁰⁰ made a level that was no number, and with it the forecast.
#[test]
fn an_acceptance_that_is_hardly_known_settles_somewhere() {
    let taken = MeasuredAcceptance::new(AS_OF, inches(1.0), gallons_per_day(1.0), 501.2).unwrap();
    let settles = taken.settling(&Pit::new(inches(0.0), inches(1.0)).unwrap(), None, inches(18.0));
    assert!(settles.mean.is_finite() && settles.spread > 10.0, "{settles:?}");
    let [without, with] = [usual(), usual().with_acceptances([taken])]
        .map(|history| as_inches(Forecast::of(&history, &Question::new(AS_OF)).unwrap().level(5.0)));
    assert!((with - without).abs() < 0.5, "it tells next to nothing: {without} becomes {with}");
}

/// The area of a pit 1e249 m wide, and the depth of one of 1.8e308 m in inches, were infinite.
#[test]
fn a_pit_longer_than_any_is_refused() {
    use soaklife::pit::PitError;
    use soaklife::quantity::metres;
    assert!(matches!(Pit::new(metres(0.0), metres(1e300)), Err(PitError::TooLong { .. })));
    assert!(matches!(CrossSection::round(metres(1e249)), Err(PitError::TooLong { .. })));
    assert!(matches!(CrossSection::round(metres(f64::INFINITY)), Err(PitError::CrossSection { .. })));
    let deepest = Pit::new(metres(0.0), metres(1e9)).unwrap();
    let widest = deepest.with_cross_section(CrossSection::round(metres(1e9)).unwrap());
    assert!(widest.storage_between(metres(0.0), metres(1e9)).unwrap().value.is_finite());
}

/// A ratio of 1e307 over a century added up to an infinite load.
#[test]
fn a_load_that_cannot_be_added_up_is_refused() {
    use soaklife::loading::LoadingError;
    let wild = LoadHistory::constant(gallons_per_day(1.0), gallons_per_day(1e307));
    assert!(matches!(wild, Err(LoadingError::ActualFlow { .. })));
}

/// The reason was that all of them had been taken on one day.
#[test]
fn too_many_readings_for_ranks_are_told_as_such() {
    use jiff::ToSpan;
    use soaklife::forecast::ForecastError;
    let read = |place: i64| {
        let day = AS_OF.checked_sub((5_000 - place).days()).unwrap();
        Reading::at_level(&pit(), day, inches(60.0 + 0.01 * place as f64)).unwrap()
    };
    let history = usual().with_readings((0..5_000).map(read));
    let reason = Forecast::of(&history, &Question::new(AS_OF).by(Method::Rank)).unwrap_err();
    assert!(matches!(reason, ForecastError::TooManyReadings { used: 5_000, most: 4_096, .. }), "{reason:?}");
}

/// The t distribution's quantile there is infinite, and so was the level.
#[test]
fn a_share_next_to_nothing_has_no_level_by_a_line() {
    let read =
        |(year, level): (i16, f64)| Reading::at_level(&pit(), date(year, 5, 10), inches(level)).unwrap();
    let few = usual().with_readings([(2024, 2.0), (2025, 170.0), (2026, 3.0)].map(read));
    let forecast = Forecast::of(&few, &Question::new(AS_OF).by(Method::Line)).unwrap();
    assert_eq!(forecast.level_quantile(0.0, f64::MIN_POSITIVE), None);
    assert_eq!(forecast.level_quantiles(0.0, [f64::MIN_POSITIVE, 0.5])[0], None);
    assert!(forecast.level_quantile(0.0, 0.5).is_some());
}

/// The line through them was infinite a few years on.
#[test]
fn levels_beyond_measure_have_no_trend_by_ranks() {
    use soaklife::trend::TrendError;
    let wild = [-18.0, -3.0, -2.0, -1.0].map(|x| TrendPoint {
        x,
        level_in: x * 1e307,
        weight: 1.0,
        x_standard_deviation: 0.0,
    });
    assert_eq!(RankTrend::fit(&wild), Err(TrendError::OutOfRange));
}
