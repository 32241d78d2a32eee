//! Laws of the pit, its load and its forecast, over random and over absurd input.

use jiff::civil::Date;
use proptest::prelude::*;
use soaklife::LoadHistory;
use soaklife::band::{Coverage, CoverageError};
use soaklife::date::{PartialDate, date_after, years_between};
use soaklife::forecast::{Crossing, Forecast, ForecastError, Method, Question};
use soaklife::history::{Event, EventKind, HandCheck, History};
use soaklife::loading::design_rule::DesignRule;
use soaklife::loading::measured_use::household_flow;
use soaklife::pit::{CrossSection, Pit};
use soaklife::quantity::{Units, as_inches, feet, gallons_per_day, inches};
use soaklife::reading::{Condition, Reading};
use soaklife::trend::axis::{Against, Axis};
use soaklife::trend::line::LineTrend;
use soaklife::trend::rank::RankTrend;
use soaklife::trend::{CrossingSet, TrendPoint};
use soaklife::wording;

/// Any float at all: infinities, not-a-number, subnormal and huge ones, and ordinary ones often enough.
fn any_float() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -500.0..500.0f64,
        2 => any::<f64>(),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
        1 => Just(f64::MAX),
        1 => Just(f64::MIN_POSITIVE),
    ]
}

fn any_date() -> impl Strategy<Value = PartialDate> {
    (1i16..=9999, 1i8..=12, 1i8..=28, 0u8..3).prop_map(|(year, month, day, precision)| match precision {
        0 => PartialDate::day(Date::constant(year, month, day)),
        1 => PartialDate::month(year, month).unwrap(),
        _ => PartialDate::year(year).unwrap(),
    })
}

fn recent_date() -> impl Strategy<Value = Date> {
    (1990i16..=2026, 1i8..=12, 1i8..=28).prop_map(|(year, month, day)| Date::constant(year, month, day))
}

fn any_condition() -> impl Strategy<Value = Condition> {
    prop::sample::select(vec![
        Condition::Normal,
        Condition::AfterRain,
        Condition::Vacant,
        Condition::AfterPumping,
        Condition::Suspect,
    ])
}

fn any_event() -> impl Strategy<Value = Event> {
    (any_date(), prop::sample::select(EventKind::ALL.to_vec()))
        .prop_map(|(date, kind)| Event::new(date, kind))
}

/// A pit of legal but extreme size: an inch to a thousand feet deep.
fn any_pit() -> impl Strategy<Value = Pit> {
    (0.0..600.0f64, 1.0..12_000.0f64)
        .prop_map(|(inlet, depth)| Pit::new(inches(inlet), inches(inlet + depth)).unwrap())
}

fn any_history() -> impl Strategy<Value = History> {
    any_pit().prop_flat_map(|pit| {
        let depth_in = as_inches(pit.bottom_depth());
        let reading = (any_date(), 0.0..=1.0f64, 0u8..12, any_condition()).prop_map(
            move |(date, share, kind, condition)| {
                let found = match kind {
                    0 => Reading::dry(date),
                    1 => Reading::at_inlet(date),
                    _ => Reading::at_depth(&pit, date, inches(share * depth_in)).unwrap(),
                };
                found.in_condition(condition)
            },
        );
        let flow = (recent_date(), prop_oneof![Just(0.0), 1e-6..1e9f64]);
        (
            Just(pit),
            prop::collection::vec(reading, 0..40),
            prop::collection::vec(any_event(), 0..6),
            prop::collection::vec(flow, 0..5),
        )
            .prop_map(|(pit, readings, events, flows)| {
                let history = History::new(pit).with_readings(readings).with_events(events);
                let flows = flows.into_iter().map(|(from, gpd)| (from, gallons_per_day(gpd)));
                match LoadHistory::new(gallons_per_day(450.0), flows) {
                    Ok(load) => history.with_load(load),
                    Err(_) => history,
                }
            })
    })
}

fn question(as_of: Date, line: bool, load: bool) -> Question {
    Question::new(as_of).by(if line { Method::Line } else { Method::Rank }).against_axis(if load {
        Against::Load
    } else {
        Against::Time
    })
}

/// A dozen plain yearly readings of one pit, with scatter and a pace.
fn plain_levels() -> impl Strategy<Value = Vec<f64>> {
    (3usize..14, 20.0..120.0f64, -2.0..6.0f64, prop::collection::vec(-3.0..3.0f64, 14)).prop_map(
        |(count, first, pace, scatter)| {
            (0..count).zip(scatter).map(|(year, noise)| first + pace * year as f64 + noise).collect()
        },
    )
}

fn plain_history(pit: Pit, levels: &[f64]) -> History {
    let readings = levels.iter().zip(2010..).map(|(&level, year)| {
        Reading::at_level(&pit, Date::constant(year, 5, 10), inches(level.max(0.0))).unwrap()
    });
    History::new(pit).with_readings(readings)
}

const AS_OF: Date = Date::constant(2026, 6, 30);
const COVERAGES: [Coverage; 4] = [Coverage::HALF, Coverage::EIGHTY, Coverage::NINETY, Coverage::NINETY_FIVE];

fn assert_ordered_and_finite(forecast: &Forecast) {
    for years in [-5.0, 0.0, 1.0, 10.0, 60.0] {
        let quantiles: Vec<f64> = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95]
            .iter()
            .filter_map(|&p| forecast.level_quantile(years, p))
            .map(as_inches)
            .collect();
        assert!(quantiles.iter().all(|level| level.is_finite()), "{quantiles:?}");
        let slack = 1e-9 * quantiles.iter().fold(1.0f64, |most, level| most.max(level.abs()));
        assert!(quantiles.windows(2).all(|pair| pair[0] <= pair[1] + slack), "{quantiles:?}");
    }
    let chances: Vec<f64> = [0.0, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0].map(|t| forecast.chance_by(t)).to_vec();
    assert!(chances.iter().all(|chance| (0.0..=1.0).contains(chance)), "{chances:?}");
    assert!(chances.windows(2).all(|pair| pair[0] <= pair[1] + 1e-12), "{chances:?}");
    let years: Vec<f64> =
        [0.05, 0.1, 0.25, 0.75, 0.9, 0.95].iter().filter_map(|&p| forecast.years_to_inlet(p)).collect();
    assert!(years.windows(2).all(|pair| pair[0] <= pair[1] + 1e-9), "{years:?}");
    assert!(years.iter().all(|year| (0.0..=60.0).contains(year)), "{years:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// Nothing panics, and what comes out is finite and ordered, whatever legal history goes in.
    #[test]
    fn any_history_gives_an_answer_or_a_reason(
        history in any_history(), line in any::<bool>(), load in any::<bool>(), as_of in any_date(),
    ) {
        for as_of in [as_of.middle(), AS_OF] {
            match Forecast::of(&history, &question(as_of, line, load)) {
                Ok(forecast) => {
                    assert_ordered_and_finite(&forecast);
                    prop_assert_eq!(
                        forecast.readings_used() + forecast.readings_set_aside(),
                        history.readings().len()
                    );
                }
                Err(reason) => prop_assert!(!reason.to_string().is_empty()),
            }
            let _ = history.hand_check(as_of).map(|check| check.years());
        }
    }

    /// Every constructor takes any float and answers with a value or a typed error.
    #[test]
    fn constructors_take_any_float(a in any_float(), b in any_float(), c in any_float(), date in any_date()) {
        let coverage: Result<Coverage, CoverageError> = Coverage::new(a);
        prop_assert_eq!(coverage.is_ok(), a > 0.0 && a < 1.0);
        let _ = (CrossSection::round(feet(a)), CrossSection::rectangular(feet(a), feet(b)));
        let _ = (household_flow(a, b), DesignRule::per_person(a, b), date_after(date.middle(), a));
        for rule in DesignRule::all() {
            if let Ok(flow) = rule.design_flow(a) {
                prop_assert!(flow.value.is_finite() && flow.value > 0.0);
            }
        }
        let _ = LoadHistory::constant(gallons_per_day(a), gallons_per_day(b));
        let asked = Question::new(AS_OF).within(a).and_then(|question| question.down_to(inches(b)));
        if let Ok(pit) = Pit::new(inches(a), inches(b)) {
            prop_assert!(as_inches(pit.effective_depth()) > 0.0 || b - a < 1e-9);
            let section = CrossSection::round(feet(c)).map(|section| pit.with_cross_section(section));
            for pit in [Ok(pit), section].into_iter().flatten() {
                let level = pit.level_at_depth(inches(c));
                let _ = (pit.freeboard(level), pit.wetted_area(level));
                let _ = (pit.sidewall_area(), pit.storage_between(level, inches(a)));
                prop_assert!(pit.days_of_flow_left(level, gallons_per_day(b)).is_none_or(f64::is_finite));
                let _ = pit.with_liquid_fraction(c);
            }
            let reading = Reading::at_depth(&pit, date, inches(c));
            let other = Reading::at_level(&pit, AS_OF, inches(a));
            if let (Ok(first), Ok(last)) = (reading, other) {
                let years = HandCheck::between(&pit, &first, &last).and_then(|check| check.years());
                prop_assert!(years.is_none_or(|years| years.is_finite() && years >= 0.0));
            }
            if let Ok(question) = asked {
                let _ = Forecast::of(&History::new(pit).with_readings(reading), &question);
            }
        }
    }

    /// The trends themselves take any float.
    #[test]
    fn trends_take_any_float(
        raw in prop::collection::vec((any_float(), any_float(), any_float(), any_float()), 0..12),
        x in any_float(), threshold in any_float(), pace in any_float(), p in any_float(),
    ) {
        let points: Vec<TrendPoint> = raw
            .into_iter()
            .map(|(x, level_in, weight, sd)| TrendPoint { x, level_in, weight, x_standard_deviation: sd })
            .collect();
        if let Ok(line) = LineTrend::fit(&points) {
            let _ = (line.level_quantile(x, p), line.reading_quantile(x, p), line.place_of(threshold));
            let _ = (line.chance_at_or_above(x, threshold), line.scatter(), line.slope_standard_error());
            assert_sensible(line.crossing(threshold, Coverage::NINETY, pace));
        }
        if let Ok(rank) = RankTrend::fit(&points) {
            let _ = (rank.level_quantile(x, p), rank.place_of(threshold), rank.mann_kendall());
            let _ = rank.chance_at_or_above(x, threshold);
            assert_sensible(rank.crossing(threshold, Coverage::EIGHTY, pace));
        }
    }

    /// Any float as a question to a forecast.
    #[test]
    fn forecasts_take_any_float(history in any_history(), years in any_float(), p in any_float(), line: bool) {
        if let Ok(forecast) = Forecast::of(&history, &question(AS_OF, line, true)) {
            let _ = (forecast.level(years), forecast.level_quantile(years, p), forecast.years_to_inlet(p));
            let _ = (forecast.freeboard_quantile(years, p), forecast.date_in(years), forecast.pace_per_year());
            prop_assert!((0.0..=1.0).contains(&forecast.chance_by(years)));
            for coverage in COVERAGES {
                let _ = (forecast.level_band(years, coverage), forecast.reading_band(years, coverage));
                let _ = forecast.crossing(coverage);
            }
        }
    }

    /// The order of rows changes nothing, to the last bit.
    #[test]
    fn the_order_of_rows_changes_nothing(history in any_history(), seed in any::<u64>(), line: bool) {
        let mut readings = history.readings().to_vec();
        let mut events = history.events().to_vec();
        let turn = |length: usize| if length == 0 { 0 } else { (seed % length as u64) as usize };
        readings.reverse();
        let by = turn(readings.len());
        readings.rotate_left(by);
        events.reverse();
        let shuffled = history.clone().with_readings(readings).with_events(events);
        let asked = question(AS_OF, line, true);
        prop_assert_eq!(Forecast::of(&history, &asked), Forecast::of(&shuffled, &asked));
    }

    /// A wider coverage never gives a narrower band, and a prediction band holds the confidence band.
    #[test]
    fn bands_nest(levels in plain_levels(), years in 0.0..40.0f64) {
        let pit = Pit::new(inches(30.0), inches(400.0)).unwrap();
        let Ok(forecast) = Forecast::of(&plain_history(pit, &levels), &Question::new(AS_OF).by(Method::Line)) else {
            return Ok(());
        };
        let mut widest = 0.0;
        for coverage in COVERAGES {
            let confidence = forecast.level_band(years, coverage).unwrap();
            let prediction = forecast.reading_band(years, coverage).unwrap();
            let width = as_inches(confidence.upper - confidence.lower);
            prop_assert!(width >= widest);
            widest = width;
            prop_assert!(prediction.lower <= confidence.lower && prediction.upper >= confidence.upper);
        }
    }

    /// A band never narrows going forward from the last reading.
    #[test]
    fn bands_widen_ahead(levels in plain_levels(), years in 0.0..40.0f64, more in 0.0..20.0f64) {
        let pit = Pit::new(inches(30.0), inches(400.0)).unwrap();
        let Ok(forecast) = Forecast::of(&plain_history(pit, &levels), &Question::new(AS_OF).by(Method::Line)) else {
            return Ok(());
        };
        let width = |years: f64| {
            let band = forecast.level_band(years, Coverage::EIGHTY).unwrap();
            as_inches(band.upper - band.lower)
        };
        prop_assert!(width(years + more) >= width(years) - 1e-9);
    }

    /// More freeboard never shortens life: the same readings under a higher inlet.
    #[test]
    fn more_freeboard_never_shortens_life(levels in plain_levels(), raised in 0.0..60.0f64, line: bool) {
        let pit = Pit::new(inches(100.0), inches(350.0)).unwrap();
        let higher = Pit::new(inches(100.0 - raised), inches(350.0)).unwrap();
        let asked = question(AS_OF, line, false);
        let (before, after) = (
            Forecast::of(&plain_history(pit, &levels), &asked),
            Forecast::of(&plain_history(higher, &levels), &asked),
        );
        if let (Ok(before), Ok(after)) = (before, after) {
            for p in [0.1, 0.5, 0.9] {
                // Beyond the horizon counts as later; a lost end means that nothing is promised any more.
                if let (Some(early), Some(late)) = (before.years_to_inlet(p), after.years_to_inlet(p)) {
                    prop_assert!(late >= early - 1e-9, "{early} then {late} at {p}");
                }
            }
            for years in [1.0, 10.0] {
                prop_assert!(after.chance_by(years) <= before.chance_by(years) + 1e-12);
            }
        }
    }

    /// A constant load stretches nothing: against load and against time give the same years.
    #[test]
    fn a_constant_load_changes_nothing(levels in plain_levels(), gpd in 20.0..900.0f64) {
        let pit = Pit::new(inches(30.0), inches(300.0)).unwrap();
        let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(gpd)).unwrap();
        let history = plain_history(pit, &levels).with_load(load);
        let by_load = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line)).unwrap();
        let by_time = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line).against_axis(Against::Time)).unwrap();
        for p in [0.1, 0.5, 0.9] {
            match (by_load.years_to_inlet(p), by_time.years_to_inlet(p)) {
                (Some(load), Some(time)) => prop_assert!((load / time - 1.0).abs() < 1e-9 || (load - time).abs() < 1e-9),
                (load, time) => prop_assert_eq!(load.is_some(), time.is_some()),
            }
        }
        prop_assert!((by_load.chance_by(7.0) - by_time.chance_by(7.0)).abs() < 1e-9);
    }

    /// Twice the household from now on halves the time that a line against load has left.
    #[test]
    fn twice_the_load_halves_the_years(levels in plain_levels()) {
        let pit = Pit::new(inches(30.0), inches(300.0)).unwrap();
        let design = gallons_per_day(450.0);
        let before = (Date::constant(1990, 1, 1), gallons_per_day(150.0));
        let steady = LoadHistory::new(design, [before]).unwrap();
        let doubled = LoadHistory::new(design, [before, (AS_OF, gallons_per_day(300.0))]).unwrap();
        let history = plain_history(pit, &levels);
        let asked = Question::new(AS_OF).by(Method::Line);
        let one = Forecast::of(&history.clone().with_load(steady), &asked).unwrap();
        let two = Forecast::of(&history.with_load(doubled), &asked).unwrap();
        if let (Some(one), Some(two)) = (one.years_to_inlet(0.5), two.years_to_inlet(0.5)) {
            prop_assert!((one - 2.0 * two).abs() < 1e-9 * one.max(1.0), "{one} and {two}");
        }
    }

    /// The cumulative load adds up over any split of the time, and never runs backwards.
    #[test]
    fn cumulative_load_adds_up(
        flows in prop::collection::vec((recent_date(), 0.0..900.0f64), 1..6),
        mut days in [recent_date(), recent_date(), recent_date()],
    ) {
        let flows = flows.into_iter().map(|(from, gpd)| (from, gallons_per_day(gpd)));
        let load = LoadHistory::new(gallons_per_day(450.0), flows).unwrap();
        days.sort();
        let [a, b, c] = days;
        let whole = load.cumulative(a, c);
        prop_assert!((load.cumulative(a, b) + load.cumulative(b, c) - whole).abs() < 1e-9);
        prop_assert!(whole >= 0.0 && whole <= 2.0 * years_between(a, c) + 1e-9);
        prop_assert_eq!(load.cumulative(c, a), -whole);
    }

    /// Depth below the rim and level above the bottom are the same place said twice.
    #[test]
    fn depth_and_level_round_trip(pit in any_pit(), depth in 0.0..600.0f64) {
        let back = as_inches(pit.depth_at_level(pit.level_at_depth(inches(depth))));
        prop_assert!((back - depth).abs() < 1e-9 * as_inches(pit.bottom_depth()).max(1.0));
    }

    /// A date read and printed comes back, and its middle lies within its span.
    #[test]
    fn dates_round_trip(date in any_date(), years in -50.0..50.0f64) {
        prop_assert_eq!(date.to_string().parse::<PartialDate>(), Ok(date));
        prop_assert!(date.first() <= date.middle() && date.middle() <= date.last());
        if let Some(later) = date_after(date.middle(), years) {
            prop_assert!((years_between(date.middle(), later) - years).abs() <= 0.5 / 365.25 + 1e-12);
        }
    }

    /// Any number can be put into words.
    #[test]
    fn any_number_can_be_said(a in any_float(), b in any_float(), date in any_date(), metric: bool) {
        let units = if metric { Units::Si } else { Units::Us };
        let said = [
            wording::length(inches(a), units),
            wording::length_number(inches(a), units, metric),
            wording::pace(inches(a), units),
            wording::chance(a),
            wording::about_years(a),
            wording::about_when(date.middle(), a),
            wording::between_when(date.middle(), a, b),
            wording::before_when(date.middle(), a),
            wording::years_range(a, b),
            wording::year_after(date.middle(), a),
            wording::month(date.middle()),
        ];
        prop_assert!(said.iter().all(|words| !words.is_empty()));
    }

    /// Whatever is forecast can be told in sentences.
    #[test]
    fn any_forecast_can_be_told(history in any_history(), line: bool, load: bool) {
        if let Ok(forecast) = Forecast::of(&history, &question(AS_OF, line, load)) {
            for coverage in COVERAGES {
                let told = wording::sentence::sentences(&forecast, coverage, Units::Us);
                prop_assert!(told.ends_with('.') && !told.contains("NaN") && !told.contains("inf "), "{told}");
            }
        }
    }

    /// Any text is a date or a reason.
    #[test]
    fn any_text_is_a_date_or_a_reason(text in "\\PC{0,12}") {
        let _ = text.parse::<PartialDate>();
    }

    /// The axis runs forward with time.
    #[test]
    fn the_axis_runs_forward(history in any_history(), a in recent_date(), b in recent_date(), load: bool) {
        let against = if load { Against::Load } else { Against::Time };
        let axis = Axis::new(&history, against, AS_OF);
        let (early, late) = if a <= b { (a, b) } else { (b, a) };
        prop_assert!(axis.at(early) <= axis.at(late) + 1e-9 * axis.at(early).abs());
    }
}

fn assert_sensible(set: CrossingSet) {
    match set {
        CrossingSet::Between { earliest, latest } => {
            assert!(earliest >= 0.0 && latest >= earliest, "{set:?}")
        }
        CrossingSet::NotBefore { earliest } => assert!(earliest >= 0.0, "{set:?}"),
        CrossingSet::Never | CrossingSet::Unbounded => {}
    }
}

#[test]
fn too_few_readings_say_how_many_are_needed() {
    let pit = Pit::new(inches(30.0), inches(300.0)).unwrap();
    let history = plain_history(pit, &[60.0, 63.0]);
    let reason = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line)).unwrap_err();
    assert!(matches!(reason, ForecastError::TooFewReadings { used: 2, needed: 3, .. }));
    assert_eq!(reason.to_string(), "2 usable readings, and a line needs at least 3");
}

#[test]
fn at_the_inlet_there_is_nothing_left_to_forecast() {
    let pit = Pit::new(inches(30.0), inches(300.0)).unwrap();
    let history = History::new(pit).with_readings([Reading::at_inlet(Date::constant(2026, 5, 1))]);
    let forecast = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line)).unwrap();
    assert!(matches!(forecast.crossing(Coverage::EIGHTY), Crossing::AlreadyAtInlet { .. }));
    assert_eq!((forecast.chance_by(0.0), forecast.years_to_inlet(0.5)), (1.0, Some(0.0)));
}
