//! Many pits at a glance, the most urgent first.

use super::answer::{Answer, Asked};
use super::urgency::years_until_urgent;
use crate::output::wrapped;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::Length;
use soaklife::trend::CrossingSet;
use soaklife::wording::sentence::width;
use soaklife::wording::{about_years, chance, counted, length_number, years_range};
use std::fmt::Write as _;

const LABEL_WIDTH: usize = 22;

/// A table of all pits, and those without a forecast below it with the reason.
pub(super) fn many_pits(asked: &Asked, answers: &[Answer<'_>]) -> String {
    let mut told: Vec<(&Answer<'_>, &Forecast)> =
        answers.iter().filter_map(|answer| Some((answer, answer.forecast.as_ref().ok()?))).collect();
    let urgency = |forecast: &Forecast| years_until_urgent(forecast, asked.coverage());
    told.sort_by(|(_, a), (_, b)| urgency(a).total_cmp(&urgency(b)));
    let mut text =
        format!("{} as of {}, the most urgent first\n\n", counted(answers.len(), "pit"), asked.as_of());
    if !told.is_empty() {
        heading(&mut text, asked);
        told.iter().for_each(|(answer, forecast)| row(&mut text, asked, answer, forecast));
    }
    let silent: Vec<&Answer<'_>> = answers.iter().filter(|answer| answer.problem().is_some()).collect();
    if !silent.is_empty() {
        text.push_str("\nNo forecast:\n");
        for answer in silent {
            let line = format!(
                "{:<8}  {:<LABEL_WIDTH$}  {}",
                answer.id,
                label(answer),
                answer.problem().unwrap_or_default()
            );
            let _ = writeln!(text, "{}", line.trim_end());
        }
    }
    let _ = writeln!(
        text,
        "\n{}",
        wrapped(
            "Estimates from readings, no warranty and no substitute for an inspection: local code and licensed practitioners decide.",
            100,
            0
        )
    );
    text
}

fn heading(text: &mut String, asked: &Asked) {
    let range = format!("{:.0} % range", asked.coverage().value() * 100.0);
    let line = format!(
        "{:<8}  {:<LABEL_WIDTH$}  {:<10}  {:>9}  {:>8}  {:<16}  {:<24}  {:>10}",
        "pit",
        "",
        "measured",
        format!("left, {}", asked.units().name()),
        format!("{}/year", asked.units().name()),
        "to the inlet",
        range,
        "in 5 years"
    );
    let _ = writeln!(text, "{}", line.trim_end());
}

fn row(text: &mut String, asked: &Asked, answer: &Answer<'_>, forecast: &Forecast) {
    let pit = forecast.pit();
    let number = |length: Option<Length>, halves| {
        length.map_or(String::new(), |length| length_number(length, asked.units(), halves))
    };
    let left = forecast.latest().map(|reading| pit.freeboard(reading.level(pit)));
    let (when, range) = crossing(asked, forecast);
    let line = format!(
        "{:<8}  {:<LABEL_WIDTH$}  {:<10}  {:>9}  {:>8}  {:<16}  {:<24}  {:>10}",
        answer.id,
        label(answer),
        forecast.latest().map_or(String::new(), |reading| reading.date().to_string()),
        number(left, true),
        forecast.pace_per_year().map_or(String::new(), |pace| format!("{:.1}", asked.units().count(pace))),
        when,
        range,
        chance(forecast.chance_by(5.0))
    );
    let _ = writeln!(text, "{}", line.trim_end());
}

fn crossing(asked: &Asked, forecast: &Forecast) -> (String, String) {
    let set = forecast.crossing_set(asked.coverage());
    let when = match forecast.crossing(asked.coverage()) {
        Crossing::AlreadyAtInlet { .. } => return ("at the inlet".to_owned(), String::new()),
        _ if set == CrossingSet::Unbounded => return ("cannot be told".to_owned(), String::new()),
        Crossing::Expected { years, range } => about_years(years, width(range)),
        Crossing::NotWithinHorizon { horizon, .. } => format!("over {horizon:.0} years"),
        _ => "not heading there".to_owned(),
    };
    let range = match set {
        CrossingSet::Between { latest, .. } if latest <= 0.0 => String::new(),
        CrossingSet::Between { earliest, .. } if earliest > forecast.question().horizon_years() => {
            format!("over {:.0} years", forecast.question().horizon_years())
        }
        CrossingSet::Between { earliest, latest } => years_range(earliest, latest),
        CrossingSet::NotBefore { earliest } if earliest > forecast.question().horizon_years() => {
            format!("over {:.0} years", forecast.question().horizon_years())
        }
        CrossingSet::NotBefore { earliest } => format!("{earliest:.0} years to never"),
        CrossingSet::Never => "never at this pace".to_owned(),
        CrossingSet::Unbounded => String::new(),
    };
    (when, range)
}

fn label(answer: &Answer<'_>) -> String {
    let label = answer.record.and_then(soaklife_records::PitRecord::label).unwrap_or_default();
    if label.chars().count() <= LABEL_WIDTH {
        return label.to_owned();
    }
    label.chars().take(LABEL_WIDTH - 1).chain(['…']).collect()
}
