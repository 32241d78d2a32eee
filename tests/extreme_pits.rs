//! Pits that are legal but extreme: an inch or a thousand feet deep, a gallon or a million gallons a day, two hundred years of
//! history, all readings alike. Whatever is asked of them, the answer is finite, ordered and in words without a number that is none.

use jiff::ToSpan;
use jiff::civil::{Date, date, datetime};
use proptest::prelude::*;
use soaklife::acceptance::MeasuredAcceptance;
use soaklife::backtest::Plan;
use soaklife::fleet::mixed::{Criterion, MixedLines};
use soaklife::fleet::pooling::Experience;
use soaklife::fleet::{Budget, CommonFactor, CostModel, Spread, YearsAhead, sinking_fund};
use soaklife::forecast::NextReading;
use soaklife::history::{Event, EventKind};
use soaklife::load_test::{Household, LoadTest, Look};
use soaklife::prior::PopulationPrior;
use soaklife::quantity::{Units, VolumeRate, as_inches, gallons, gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::trend::absorption::Hypotheses;
use soaklife::trend::axis::Against;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{
    Coverage, CrossSection, Forecast, History, LoadHistory, Method, Pit, Question, Reading, wording,
};
use tests::sound::{SHARES, assert_ordered, assert_sound, assert_words};

const AS_OF: Date = date(2026, 6, 30);
const DEPTHS_IN: [f64; 2] = [1.0, 12_000.0];
const FLOWS_GPD: [f64; 2] = [1.0, 1e6];
const OLDEST_DAYS: i64 = 200 * 365;

/// Every order of magnitude as likely as another, and the ends more often.
fn by_magnitude([least, most]: [f64; 2]) -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => (least.ln()..=most.ln()).prop_map(move |log| log.exp().clamp(least, most)),
        1 => Just(least),
        1 => Just(most),
    ]
}

fn pit() -> impl Strategy<Value = Pit> {
    (
        by_magnitude(DEPTHS_IN),
        prop_oneof![Just(0.0), 1.0..600.0f64],
        prop::option::of(by_magnitude([1.0, 2400.0])),
    )
        .prop_map(|(depth, inlet, diameter)| {
            let pit = Pit::new(inches(inlet), inches(inlet + depth)).unwrap();
            let section = diameter.map(|diameter| CrossSection::round(inches(diameter)).unwrap());
            section.map_or(pit, |section| pit.with_cross_section(section))
        })
}

#[derive(Debug, Clone, Copy)]
enum Levels {
    AllAlike(f64),
    AllAtInlet,
    AllAtBottom,
    AllDry,
    ByTurns,
    Rising,
    Falling,
}

fn levels() -> impl Strategy<Value = Levels> {
    prop_oneof![
        (0.0..=1.0f64).prop_map(Levels::AllAlike),
        Just(Levels::AllAtInlet),
        Just(Levels::AllAtBottom),
        Just(Levels::AllDry),
        Just(Levels::ByTurns),
        Just(Levels::Rising),
        Just(Levels::Falling),
    ]
}

impl Levels {
    fn reading(self, pit: &Pit, day: Date, place: usize, count: usize) -> Reading {
        let part = place as f64 / count as f64;
        let share = match self {
            Self::AllAlike(share) => share,
            Self::AllAtInlet => return Reading::at_inlet(day),
            Self::AllDry => return Reading::dry(day),
            Self::AllAtBottom => 0.0,
            Self::ByTurns => [0.01, 0.99][place % 2],
            Self::Rising => part,
            Self::Falling => 1.0 - part,
        };
        Reading::at_level(pit, day, pit.effective_depth() * share).unwrap()
    }
}

fn days_ago(days: i64) -> Date {
    AS_OF.checked_sub(days.days()).unwrap()
}

/// A history over so many days, its readings spread evenly: some of them on one day where there are more of them than days.
fn history() -> impl Strategy<Value = History> {
    let span = prop_oneof![2 => Just(OLDEST_DAYS), 2 => 1..OLDEST_DAYS, 1 => Just(0)];
    let count = prop_oneof![2 => 0usize..4, 4 => 4usize..30, 1 => Just(300)];
    let flows = prop::collection::vec(
        (0..OLDEST_DAYS, prop_oneof![4 => by_magnitude(FLOWS_GPD), 1 => Just(0.0)]),
        0..4,
    );
    let events = prop::collection::vec((0..OLDEST_DAYS, prop::sample::select(EventKind::ALL.to_vec())), 0..3);
    let conditions = prop::collection::vec(
        prop::sample::select(vec![
            Condition::Normal,
            Condition::Normal,
            Condition::Normal,
            Condition::AfterRain,
            Condition::Vacant,
            Condition::AfterPumping,
            Condition::Suspect,
        ]),
        1..5,
    );
    (pit(), span, count, levels(), by_magnitude(FLOWS_GPD), flows, events, conditions, any::<bool>())
        .prop_map(|(pit, span, count, levels, design, flows, events, conditions, is_installed)| {
            let readings: Vec<Reading> = (0..count)
                .map(|place| {
                    let day = days_ago(span - span * place as i64 / count as i64);
                    levels.reading(&pit, day, place, count).in_condition(conditions[place % conditions.len()])
                })
                .collect();
            let events = events.into_iter().map(|(ago, kind)| Event::new(days_ago(ago), kind));
            let history = History::new(pit).with_readings(readings).with_events(events);
            let history = if is_installed { history.with_installed(days_ago(span)) } else { history };
            let flows = flows.into_iter().map(|(ago, flow)| (days_ago(ago), gallons_per_day(flow)));
            match LoadHistory::new(gallons_per_day(design), flows) {
                Ok(load) => history.with_load(load),
                Err(_) => history,
            }
        })
}

fn questions() -> Vec<Question> {
    let by = |method: Method, against: Against| Question::new(AS_OF).by(method).against_axis(against);
    Method::ALL.iter().flat_map(|&method| [by(method, Against::Load), by(method, Against::Time)]).collect()
}

fn assert_spread(spread: Spread) {
    assert_ordered("spread", &[0.0, spread.p025, spread.p10, spread.p50, spread.p90, spread.p975]);
    assert_ordered("spread", &[0.0, spread.expected]);
    assert_ordered("spread", &[0.0, spread.standard_deviation]);
}

fn others(design: VolumeRate) -> Vec<OtherUse> {
    let metered = [1e-6, 0.3, 2.9].map(|ratio| OtherUse::metered(design * ratio));
    let reduced = OtherUse::as_today().reduced_by(0.4).unwrap();
    metered.into_iter().chain([OtherUse::vacant(), OtherUse::as_today(), reduced]).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, ..ProptestConfig::default() })]

    #[test]
    fn every_method_answers_or_says_why(history in history(), keep in prop_oneof![Just(0.0), 0.0..1.2f64]) {
        let depth = as_inches(history.pit().effective_depth());
        for question in questions() {
            match Forecast::of(&history, &question.down_to(inches(keep * depth)).unwrap()) {
                Ok(forecast) => assert_sound(&forecast),
                Err(reason) => assert_words(&reason.to_string()),
            }
        }
    }

    #[test]
    fn the_next_reading_is_planned(history in history()) {
        if let Some(plan) = NextReading::plan(&history, &Question::new(AS_OF), &Hypotheses::default()) {
            assert_ordered("range", &plan.range());
            for prospect in plan.prospects() {
                assert_ordered("range", &prospect.range);
                assert_ordered("narrowing", &[0.0, prospect.narrowing]);
                assert_ordered("chance", &[0.0, prospect.chance_of_turning, 1.0]);
            }
            assert_words(&wording::next_reading::next_reading(&plan, "the inlet"));
        }
    }

    #[test]
    fn a_load_test_of_any_size_is_studied(
        pit in pit(), added in by_magnitude(FLOWS_GPD), tank in prop::option::of(0.0..24.0f64),
        shares in prop::collection::vec((0.0..=1.0f64, 1i64..200), 1..12), design in by_magnitude(FLOWS_GPD),
    ) {
        let start = datetime(2026, 5, 1, 8, 0, 0, 0);
        let mut hours = 0;
        let looks = shares.iter().enumerate().map(|(place, &(share, later))| {
            hours += later;
            let look = Look::at(start.checked_add(hours.hours()).unwrap());
            let look = look.with_depth(pit.depth_at_level(pit.effective_depth() * share));
            let look = if place == 1 { look.with_added(gallons(added)) } else { look };
            tank.map_or(look, |rise| look.with_tank_rise(inches(rise)))
        });
        let Ok(test) = LoadTest::new(looks.collect()) else { return Ok(()) };
        let household = Household {
            design_flow: Some(gallons_per_day(design)), actual_flow: Some(gallons_per_day(design / 2.0)),
        };
        let study = test.study(&pit, &household);
        for length in [study.start_level, study.high_level].into_iter().flatten() {
            assert_ordered("level", &[as_inches(length)]);
        }
        for area in [study.area_at_most, study.tank_area_at_most].into_iter().flatten() {
            assert_ordered("area", &[0.0, area.value]);
        }
        if let Some(daily) = &study.daily {
            assert_words(&format!("{daily:?}"));
        }
        if let Some(acceptance) = &study.acceptance {
            assert_words(&format!("{acceptance:?}"));
        }
        assert_words(&format!("{:?} {:?} {:?}", study.balance, study.rules, study.verdict));
        for units in [Units::Us, Units::Si] {
            assert_words(&wording::load_test::rules_in_short(&study, units));
            assert_words(&wording::load_test::pit_rise(&study, units).unwrap_or_default());
        }
        if let Ok(recession) = &study.recession {
            assert_words(&format!("{:?} {:?}", recession.half_life_days(Coverage::EIGHTY), recession.level_after(3.0, Coverage::EIGHTY)));
            assert_words(&format!("{:?} {:?}", recession.days_to(inches(1.0), Coverage::EIGHTY), recession.rate_per_day()));
        }
        if let Some(measured) = study.measured_acceptance() {
            let history = History::new(pit).with_acceptances([measured]);
            assert_sound(&Forecast::of(&history, &Question::new(AS_OF)).unwrap());
        }
    }

    #[test]
    fn an_acceptance_of_any_size_is_weighed(
        history in history(), level in by_magnitude(DEPTHS_IN), flow in by_magnitude(FLOWS_GPD), error in by_magnitude([1e-6, 1e3]),
    ) {
        let measured = MeasuredAcceptance::new(date(2026, 5, 1), inches(level), gallons_per_day(flow), error).unwrap();
        let told = measured.settling(history.pit(), history.load().map(|load| load.flow_at(AS_OF)), inches(18.0));
        assert_ordered("settles at", &[told.mean]);
        assert_ordered("spread", &[0.0, told.spread]);
        if let Ok(forecast) = Forecast::of(&history.with_acceptances([measured]), &Question::new(AS_OF)) {
            assert_sound(&forecast);
        }
    }

    #[test]
    fn money_is_counted(
        histories in prop::collection::vec(history(), 1..4), cost in by_magnitude([1e-3, 1e12]),
        escalation in -0.5..0.999f64, interest in -0.5..0.999f64, spread in 0.0..=2.0f64, ahead in 1u8..=50,
    ) {
        let costs = CostModel::new(escalation, interest, spread).unwrap();
        let years = YearsAhead::new(AS_OF, ahead).unwrap();
        let mut budget = Budget::new(years.clone(), CommonFactor::default(), costs);
        for history in &histories {
            let Ok(forecast) = Forecast::of(history, &Question::new(AS_OF)) else { continue };
            let chances: Vec<f64> = years.ends().iter().map(|&end| forecast.chance_by(end)).collect();
            budget.add(&chances, cost, Some("group")).unwrap();
            for years in [forecast.years_to_inlet(0.5), Some(1e-3), Some(60.0)].into_iter().flatten() {
                if let Ok(set_aside) = sinking_fund(cost, &costs, years) {
                    assert_ordered("set aside", &[0.0, set_aside]);
                }
            }
        }
        for fleet in budget.groups().map(|(_, fleet)| fleet).chain([budget.whole()]) {
            for place in 0..years.len() {
                for told in [fleet.year(place), fleet.by_end_of(place)] {
                    assert_spread(told.count);
                    assert_spread(told.money);
                }
            }
            let reserve = fleet.reserve();
            assert_ordered("reserve", &[0.0, reserve.level_of_expected()]);
            assert_ordered("reserve", &SHARES.map(|share| reserve.level(share).unwrap()));
            reserve.expected_fund().iter().for_each(|held| assert_ordered("fund", &[*held]));
        }
    }

    #[test]
    fn a_line_for_each_pit_of_a_fleet(histories in prop::collection::vec(history(), 1..6)) {
        let mut lines = MixedLines::new();
        for history in &histories {
            let point = |reading: &Reading| {
                let x = f64::from((reading.date().middle() - AS_OF).get_days()) / 365.25;
                (x, as_inches(reading.level(history.pit())))
            };
            lines.add(&history.readings().iter().map(point).collect::<Vec<_>>()).unwrap();
        }
        for criterion in [Criterion::RestrictedLikelihood, Criterion::Likelihood] {
            match lines.fit(criterion) {
                Ok(fit) => {
                    let flat = |matrix: [[f64; 2]; 2]| matrix.concat();
                    let numbers = [fit.fixed().to_vec(), flat(fit.fixed_covariance()), flat(fit.scatter())].concat();
                    numbers.iter().chain(&[fit.residual_variance(), fit.log_likelihood()])
                        .for_each(|number| assert_ordered("fit", &[*number]));
                    assert_ordered("correlation", &[-1.0, fit.correlation().unwrap_or_default(), 1.0]);
                    for group in fit.groups() {
                        let (level, spread) = group.at(0.0);
                        assert_ordered("group", &[level]);
                        assert_ordered("group", &[0.0, spread]);
                    }
                }
                Err(reason) => assert_words(&reason.to_string()),
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn another_use_is_answered(history in history(), design in by_magnitude(FLOWS_GPD), from in -500i64..30_000, days in 0i64..5_000) {
        let from = AS_OF.checked_add(from.days()).unwrap();
        for question in questions() {
            let Ok(today) = Forecast::of(&history, &question) else { continue };
            for other in others(gallons_per_day(design)) {
                for what_if in [WhatIf::of(other), WhatIf::of(other).starting(from).ending(from.checked_add(days.days()).unwrap())] {
                    match what_if.beside(&today, Some(gallons_per_day(design))) {
                        Ok(then) => {
                            [then.forecast(), then.level_stays(), then.level_follows()].into_iter().for_each(assert_sound);
                            for number in then.steps().map(as_inches).into_iter().chain([then.ratio(), then.ratio_today()]) {
                                assert_ordered("step or ratio", &[number]);
                            }
                        }
                        Err(reason) => assert_words(&reason.to_string()),
                    }
                }
            }
        }
    }

    #[test]
    fn what_extreme_pits_teach_is_a_prior(histories in prop::collection::vec(history(), 1..6)) {
        let mut experience = Experience::new(PopulationPrior::default());
        histories.iter().for_each(|history| experience.add(history, AS_OF));
        let learnt = experience.learn();
        prop_assert!(learnt.prior().clone().validated().is_ok());
        learnt.lessons().iter().for_each(|(_, gain)| assert_ordered("gain", &[0.0, *gain]));
    }

    #[test]
    fn past_forecasts_are_scored(histories in prop::collection::vec(history(), 1..3)) {
        let few: Vec<&History> = histories.iter().filter(|history| history.readings().len() < 40).collect();
        let scored = Plan::new(AS_OF).by(Method::ALL).replay(few);
        assert_words(&format!("{scored:?}"));
    }
}

/// Ten thousand readings of one pit over two hundred years: twenty-nine a year, some on one day.
#[test]
fn ten_thousand_readings_are_followed() {
    for levels in [Levels::Rising, Levels::AllAlike(0.5), Levels::AllAtInlet, Levels::AllDry, Levels::ByTurns]
    {
        let pit = Pit::new(inches(0.0), inches(12_000.0)).unwrap();
        let count = 10_000;
        let day = |place: usize| days_ago(OLDEST_DAYS - OLDEST_DAYS * place as i64 / count as i64);
        let readings = (0..count).map(|place| levels.reading(&pit, day(place), place, count));
        let load = LoadHistory::constant(gallons_per_day(1.0), gallons_per_day(1e6)).unwrap();
        let history = History::new(pit).with_readings(readings).with_load(load);
        for method in Method::ALL {
            match Forecast::of(&history, &Question::new(AS_OF).by(method)) {
                Ok(forecast) => assert_sound(&forecast),
                Err(reason) => assert_words(&reason.to_string()),
            }
        }
    }
}
