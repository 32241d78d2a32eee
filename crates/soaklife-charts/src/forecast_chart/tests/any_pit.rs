//! Whatever the pit, it can be drawn and its words can be read.

use super::*;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// From an inch to a thousand feet, from one reading to sixty, with or without an action freeboard, in either unit: it draws, and its words are readable.
    #[test]
    fn any_pit_can_be_drawn(
        inlet in 0.0..600.0f64,
        depth in 1.0..12_000.0f64,
        shares in prop::collection::vec((0.0..=1.0f64, 1960i16..2026, 1i8..=12), 0..60),
        action in prop_oneof![Just(0.0), 0.01..0.99f64],
        metric: bool,
        title in "\\PC{0,60}",
    ) {
        let pit = Pit::new(inches(inlet), inches(inlet + depth)).unwrap();
        let readings = shares.iter().map(|&(share, year, month)| {
            Reading::at_level(&pit, date(year, month, 10), inches(share * depth)).unwrap()
        });
        let history = History::new(pit).with_readings(readings);
        let units = if metric { Units::Si } else { Units::Us };
        let question = Question::new(AS_OF).by(Method::Line).down_to(inches(action * depth)).unwrap();
        let svg = match Forecast::of(&history, &question) {
            Ok(forecast) => ForecastChart::new(&forecast, &history).titled(title).in_units(units).svg(),
            Err(reason) => ForecastChart::of_readings(&history, AS_OF, &reason.to_string()).titled(title).in_units(units).svg(),
        }
        .unwrap();
        prop_assert!(!svg.as_str().contains("NaN") && !svg.as_str().contains("inf,"));
        assert_texts_are_readable(&svg);
    }

    /// The same with a second fan, by the method that has a step and by the one that has none.
    #[test]
    fn any_pit_can_be_drawn_under_another_use(
        inlet in 0.0..60.0f64,
        depth in 20.0..400.0f64,
        shares in prop::collection::vec((0.0..=1.0f64, 2000i16..2026, 1i8..=12), 0..12),
        ratios in prop::array::uniform2(0.05..2.0f64),
        (from, lasts) in (-500i64..12_000, prop_oneof![Just(None), (0i64..6_000).prop_map(Some)]),
        action in prop_oneof![Just(0.0), 0.01..0.9f64],
        method in prop::sample::select(vec![Method::Absorption, Method::Line]),
        metric: bool,
    ) {
        let pit = Pit::new(inches(inlet), inches(inlet + depth)).unwrap();
        let readings = shares.iter().map(|&(share, year, month)| {
            Reading::at_level(&pit, date(year, month, 10), inches(share * depth)).unwrap()
        });
        let [now, then] = ratios.map(|ratio| gallons_per_day(ratio * 450.0));
        let design = gallons_per_day(450.0);
        let history = History::new(pit).with_readings(readings).with_load(LoadHistory::constant(design, now).unwrap());
        let question = Question::new(AS_OF).by(method).down_to(inches(action * depth)).unwrap();
        let Ok(forecast) = Forecast::of(&history, &question) else { return Ok(()) };
        let day = |days: i64| AS_OF.checked_add(jiff::Span::new().days(days)).unwrap();
        let mut what_if = WhatIf::of(OtherUse::metered(then)).starting(day(from));
        if let Some(lasts) = lasts {
            what_if = what_if.ending(day(from + lasts));
        }
        let other = what_if.beside(&forecast, Some(design)).unwrap();
        let units = if metric { Units::Si } else { Units::Us };
        let chart = ForecastChart::new(&forecast, &history).beside(&other, "420 gal/day as metered, from 2027-06 until 2035");
        let svg = chart.titled("AF-99, a road").in_units(units).svg().unwrap();
        prop_assert!(!svg.as_str().contains("NaN") && !svg.as_str().contains("inf,"));
        assert_texts_are_readable(&svg);
    }
}
