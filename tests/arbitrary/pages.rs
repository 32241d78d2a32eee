//! Any logbook: the exhibit of every pit and the report of the fleet are written, as HTML that is XML and as PDF.

use super::TODAY;
use super::bundle::Bundle;
use super::figures::look_at;
use super::forecasts::answered;
use crate::sound::assert_words;
use resvg::usvg::roxmltree::{Document, ParsingOptions};
use soaklife::quantity::Units;
use soaklife::wording::sentence::sentences;
use soaklife::{Coverage, Forecast};
use soaklife_charts::{ChartError, Exhibit, FleetReport, ForecastChart, Paper, PitSection, Svg, Table};
use soaklife_records::{Logbook, PitRecord};

pub(super) fn check(bytes: &[u8]) {
    let folder = Bundle::of(bytes).written();
    let logbook = Logbook::read(folder.path(), TODAY, TODAY).expect("both required files are there");
    let units = if bytes.len().is_multiple_of(2) { Units::Us } else { Units::Si };
    let mut report = FleetReport::new("Alder Fork", TODAY).sealed("94ee059335e587e5", "soaklife");
    for (pit, answer) in &answered(&logbook) {
        let title = pit.label().unwrap_or(pit.id());
        let answer = answer.as_ref().map_err(String::as_str);
        let Some((chart, section)) = figures(pit, answer, title, units) else { continue };
        report = report.in_section(title).saying(title).with_figures([chart.clone(), section.clone()]);
        let exhibit = exhibit(pit, answer, title, units, chart).with_section(section);
        look_at_page(&exhibit.to_html(Paper::Letter));
        look_at_pdf(exhibit.to_pdf(Paper::A4));
    }
    look_at_page(&report.to_html(Paper::A4));
    look_at_pdf(report.to_pdf(Paper::Letter));
}

/// Chart and section; none of a pit that no stick could measure.
fn figures(
    pit: &PitRecord,
    answer: Result<&Forecast, &str>,
    title: &str,
    units: Units,
) -> Option<(Svg, Svg)> {
    let history = pit.history();
    let (chart, section) = match answer {
        Ok(forecast) => (ForecastChart::new(forecast, history), PitSection::new(forecast, history)),
        Err(reason) => {
            (ForecastChart::of_readings(history, TODAY, reason), PitSection::of_readings(history, TODAY))
        }
    };
    let chart = look_at(chart.titled(title).in_units(units).bare().svg())?;
    Some((chart, look_at(section.titled(title).in_units(units).bare().svg())?))
}

fn exhibit(
    pit: &PitRecord,
    answer: Result<&Forecast, &str>,
    title: &str,
    units: Units,
    chart: Svg,
) -> Exhibit {
    let history = pit.history();
    let (answer, readings) = match answer {
        Ok(forecast) => (sentences(forecast, Coverage::EIGHTY, units), forecast.readings().to_vec()),
        Err(reason) => (reason.to_owned(), history.readings_for_a_line(TODAY)),
    };
    Exhibit::new(title, TODAY, &answer, chart)
        .with_readings(Table::of_readings(&readings, history, units))
        .noting_of_the_pit("Pit", title)
        .noting("Load", title)
        .sealed("94ee059335e587e5", "soaklife")
}

fn look_at_page(html: &str) {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document =
        Document::parse_with_options(html, options).unwrap_or_else(|error| panic!("{error}: {html}"));
    document
        .descendants()
        .filter(|node| node.is_text())
        .filter_map(|node| node.text())
        .for_each(assert_words);
}

fn look_at_pdf(written: Result<Vec<u8>, ChartError>) {
    let pdf = written.unwrap_or_else(|reason| panic!("{reason}"));
    assert!(pdf.starts_with(b"%PDF-") && pdf.trim_ascii_end().ends_with(b"%%EOF"));
}
