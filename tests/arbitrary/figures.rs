//! Any logbook: every figure and page of it is drawn, and is XML without a number that is none.

use super::TODAY;
use super::bundle::Bundle;
use crate::sound::assert_words;
use resvg::usvg::roxmltree::{Document, ParsingOptions};
use soaklife::backtest::Plan;
use soaklife::fleet::{Budget, Candidate, CommonFactor, CostModel, YearsAhead};
use soaklife::load_test::Household;
use soaklife::quantity::Units;
use soaklife::trend::absorption::Hypotheses;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::wording::sentence::sentences;
use soaklife::{Coverage, Forecast, History, Method, Question};
use soaklife_charts::{
    ChartError, CoverageChart, Exhibit, FleetChart, FleetReport, ForecastChart, LadderChart, LineCheckChart,
    LoadTestChart, Paper, PitPanel, PitSection, SmallMultiples, Svg, Table,
};
use soaklife_records::{Logbook, PitRecord};

pub(super) fn check(bytes: &[u8]) {
    let folder = Bundle::of(bytes).written();
    let logbook = Logbook::read(folder.path(), TODAY, TODAY).expect("both required files are there");
    let experience = Hypotheses::new(logbook.prior()).expect("settings give a prior that can be used");
    let units = if bytes.len() % 2 == 0 { Units::Us } else { Units::Si };
    let methods = Method::ALL.into_iter().cycle().skip(bytes.len() % Method::ALL.len());
    let mut answered = Vec::new();
    for (pit, method) in logbook.pits().zip(methods) {
        let question = Question::new(TODAY).by(method).down_to(pit.action_freeboard());
        let question = question.expect("a freeboard read is no negative one");
        match Forecast::by_experience(pit.history(), &question, &experience) {
            Ok(forecast) => {
                look_at_pit(pit, &forecast, units);
                answered.push((pit, forecast));
            }
            Err(reason) => look_at_readings(pit, &reason.to_string(), units),
        }
        look_at_load_tests(pit, units);
    }
    look_at_fleet(&answered, units);
}

/// A drawing is XML and says no number that is none; a refusal is in words.
fn look_at(drawn: Result<Svg, ChartError>) -> Option<Svg> {
    match drawn {
        Ok(svg) => {
            let document =
                Document::parse(svg.as_str()).unwrap_or_else(|error| panic!("{error}: {}", svg.as_str()));
            assert!(document.root_element().has_tag_name("svg"));
            assert!(!svg.as_str().contains("NaN") && !svg.as_str().contains("inf,"), "{}", svg.as_str());
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
    if let Ok(empty) = WhatIf::of(OtherUse::vacant()).beside(forecast, pit.design().map(|design| design.flow))
    {
        look_at(chart.clone().beside(&empty, title).svg());
    }
    let section = PitSection::new(forecast, history).titled(title).in_units(units);
    look_at(section.svg());
    if let Some(check) = LineCheckChart::new(forecast) {
        look_at(check.titled(title).in_units(units).svg());
    }
    let Some(chart) = look_at(chart.bare().svg()) else { return };
    let answer = sentences(forecast, Coverage::EIGHTY, units);
    let exhibit = Exhibit::new(title, TODAY, &answer, chart)
        .by_method(forecast.question().method())
        .with_readings(Table::of_readings(forecast.readings(), history, units))
        .noting_of_the_pit("Pit", title)
        .noting("Load", title)
        .sealed("94ee059335e587e5", "soaklife");
    let exhibit = look_at(section.bare().svg()).into_iter().fold(exhibit, Exhibit::with_section);
    look_at_page(&exhibit.to_html(Paper::Letter));
    look_at_pdf(exhibit.to_pdf(Paper::A4));
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

fn look_at_fleet(answered: &[(&PitRecord, Forecast)], units: Units) {
    let candidate = |(pit, forecast): &(&PitRecord, Forecast)| Candidate {
        id: pit.id().to_owned(),
        title: pit.label().unwrap_or_default().to_owned(),
        within_two_years: forecast.chance_by(2.0),
        years_since_reading: None,
        years_to_inlet: forecast.years_to_inlet_at([0.1, 0.5, 0.9]),
    };
    let candidates: Vec<Candidate> = answered.iter().map(candidate).collect();
    let urgent: Vec<&Candidate> = candidates.iter().collect();
    let panels =
        answered.iter().map(|(pit, forecast)| PitPanel::new(candidate(&(pit, forecast.clone())), forecast));
    let mut figures: Vec<Svg> = Vec::new();
    let pages = [
        LadderChart::new(TODAY, &urgent).pages(),
        SmallMultiples::new(TODAY, panels).in_units(units).pages(),
    ];
    for page in
        pages.into_iter().flat_map(|pages| pages.expect("a ladder and small multiples are drawn of anything"))
    {
        figures.extend(look_at(Ok(page)));
    }
    let years = YearsAhead::new(TODAY, 10).expect("ten years can be looked ahead");
    let costs = CostModel::new(0.03, 0.02, 0.3).expect("usual costs");
    let mut budget = Budget::new(years.clone(), CommonFactor::default(), costs);
    for (pit, forecast) in answered {
        let chances: Vec<f64> = years.ends().iter().map(|&end| forecast.chance_by(end)).collect();
        budget
            .add(&chances, pit.replacement_cost().unwrap_or(15_000.0), None)
            .expect("chances and a cost that was read");
    }
    let of_years: Vec<_> = (0..years.len()).map(|place| budget.whole().year(place)).collect();
    let chart =
        FleetChart::new(TODAY, answered.len() as u64, &of_years).in_currency("USD").with_urgent(&urgent);
    figures.extend(look_at(chart.svg()));
    let histories = answered
        .iter()
        .map(|(pit, _)| pit.history())
        .filter(|history: &&History| history.readings().len() < 8);
    figures.extend(look_at(CoverageChart::new(&Plan::new(TODAY).replay(histories)).svg()));
    let title = candidates.first().map_or("", |pit| pit.title.as_str());
    let report =
        FleetReport::new(title, TODAY).answering(title).in_section(title).saying(title).with_figures(figures);
    look_at_page(&report.to_html(Paper::A4));
    look_at_pdf(report.to_pdf(Paper::Letter));
}

fn look_at_page(html: &str) {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document =
        Document::parse_with_options(html, options).unwrap_or_else(|error| panic!("{error}: {html}"));
    let words = document.descendants().filter(|node| node.is_text()).filter_map(|node| node.text());
    words.for_each(assert_words);
}

fn look_at_pdf(written: Result<Vec<u8>, ChartError>) {
    let pdf = written.unwrap_or_else(|reason| panic!("{reason}"));
    assert!(pdf.starts_with(b"%PDF-") && pdf.trim_ascii_end().ends_with(b"%%EOF"));
}
