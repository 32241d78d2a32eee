//! Any logbook: every figure of it is drawn, and is XML without a number that is none.

use super::TODAY;
use super::bundle::Bundle;
use super::forecasts::{Answered, answered};
use resvg::usvg::roxmltree::Document;
use soaklife::backtest::Plan;
use soaklife::fleet::{Budget, Candidate, CommonFactor, CostModel, Urgency, YearBudget, YearsAhead};
use soaklife::load_test::Household;
use soaklife::quantity::Units;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, History};
use soaklife_charts::{
    ChartError, CoverageChart, FleetChart, ForecastChart, LadderChart, LineCheckChart, LoadTestChart,
    PitPanel, PitSection, SmallMultiples, Svg,
};
use soaklife_records::{Logbook, PitRecord};

/// A pit with more readings is drawn but not replayed: each reading would be a forecast more.
const MOST_REPLAYED: usize = 8;

pub(super) fn check(bytes: &[u8]) {
    let folder = Bundle::of(bytes).written();
    let logbook = Logbook::read(folder.path(), TODAY, TODAY).expect("both required files are there");
    let units = if bytes.len().is_multiple_of(2) { Units::Us } else { Units::Si };
    let answered = answered(&logbook);
    for (pit, answer) in &answered {
        match answer {
            Ok(forecast) => look_at_pit(pit, forecast, units),
            Err(reason) => look_at_readings(pit, reason, units),
        }
        look_at_load_tests(pit, units);
    }
    look_at_fleet(&answered, units);
}

/// A drawing is XML and says no number that is none; only a pit that no stick could measure is not drawn.
pub(super) fn look_at(drawn: Result<Svg, ChartError>) -> Option<Svg> {
    match drawn {
        Ok(svg) => {
            let text = svg.as_str();
            let document = Document::parse(text).unwrap_or_else(|error| panic!("{error}: {text}"));
            assert!(document.root_element().has_tag_name("svg"));
            assert!(!text.contains("NaN") && !text.contains("inf,"), "{text}");
            Some(svg)
        }
        Err(ChartError::Depth { .. }) => None,
        Err(reason) => panic!("{reason}"),
    }
}

fn look_at_pit(pit: &PitRecord, forecast: &Forecast, units: Units) {
    let (history, title) = (pit.history(), pit.label().unwrap_or(pit.id()));
    let chart = ForecastChart::new(forecast, history).titled(title).in_units(units);
    look_at(chart.svg());
    look_at(chart.clone().bare().svg());
    if let Ok(empty) = WhatIf::of(OtherUse::vacant()).beside(forecast, pit.design().map(|design| design.flow))
    {
        look_at(chart.beside(&empty, title).svg());
    }
    look_at(PitSection::new(forecast, history).titled(title).in_units(units).svg());
    if let Some(check) = LineCheckChart::new(forecast) {
        look_at(check.titled(title).in_units(units).svg());
    }
}

fn look_at_readings(pit: &PitRecord, reason: &str, units: Units) {
    let history = pit.history();
    look_at(ForecastChart::of_readings(history, TODAY, reason).titled(reason).in_units(units).svg());
    look_at(PitSection::of_readings(history, TODAY).titled(reason).in_units(units).svg());
}

fn look_at_load_tests(pit: &PitRecord, units: Units) {
    for test in pit.load_tests() {
        let test = test.clone().in_weather_of(pit.history());
        let study = test.study(pit.history().pit(), &Household::during(&test, pit.history(), None));
        look_at(
            LoadTestChart::new(&test, &study, pit.history().pit()).titled(pit.id()).in_units(units).svg(),
        );
    }
}

fn look_at_fleet(answered: &[Answered<'_>], units: Units) {
    let forecasts = || answered.iter().filter_map(|(pit, answer)| Some((*pit, answer.as_ref().ok()?)));
    let candidates: Vec<Candidate> = forecasts().map(|(pit, forecast)| candidate(pit, forecast)).collect();
    let urgent: Vec<&Candidate> = candidates.iter().collect();
    let panels = forecasts().map(|(pit, forecast)| PitPanel::new(candidate(pit, forecast), forecast));
    for pages in
        [LadderChart::new(TODAY, &urgent).pages(), SmallMultiples::new(TODAY, panels).in_units(units).pages()]
    {
        pages.expect("they are drawn of any pits").into_iter().for_each(|page| drop(look_at(Ok(page))));
    }
    let years = budget(forecasts());
    let chart = FleetChart::new(TODAY, urgent.len() as u64, &years).in_currency("USD").with_urgent(&urgent);
    look_at(chart.svg());
    let few = |history: &&History| history.readings().len() <= MOST_REPLAYED;
    let scored = Plan::new(TODAY).replay(forecasts().map(|(pit, _)| pit.history()).filter(few));
    look_at(CoverageChart::new(&scored).svg());
}

fn candidate(pit: &PitRecord, forecast: &Forecast) -> Candidate {
    Candidate {
        id: pit.id().to_owned(),
        title: pit.label().unwrap_or_default().to_owned(),
        years_since_reading: None,
        urgency: Urgency::of(forecast),
    }
}

fn budget<'f>(forecasts: impl Iterator<Item = (&'f PitRecord, &'f Forecast)>) -> Vec<YearBudget> {
    let years = YearsAhead::new(TODAY, 10).expect("ten years can be looked ahead");
    let costs = CostModel::new(0.03, 0.02, 0.3).expect("usual costs");
    let mut budget = Budget::new(years.clone(), CommonFactor::default(), costs);
    for (pit, forecast) in forecasts {
        let chances: Vec<f64> = years.ends().iter().map(|&end| forecast.chance_by(end)).collect();
        let cost = pit.replacement_cost().unwrap_or(15_000.0);
        budget.add(&chances, cost, None).expect("chances, and a cost that was read");
    }
    (0..years.len()).map(|place| budget.whole().year(place)).collect()
}
