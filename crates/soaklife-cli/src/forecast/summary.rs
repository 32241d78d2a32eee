//! Many pits at a glance, the most urgent first.

use super::answer::{Answer, Asking};
use super::urgency::years_until_urgent;
use crate::output::wrapped;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::Length;
use soaklife::trend::CrossingSet;
use soaklife::wording::sentence::width;
use soaklife::wording::{about_years, chance, counted, length_number, years_range};
use std::fmt::Write as _;

const LABEL_WIDTH: usize = 22;

/// Lines of pits that are told, and as many of pits without a forecast; a CSV has them all.
const MOST_LINES: usize = 1000;

/// What is told of many pits: the most urgent of them, and those without a forecast below.
#[derive(Debug, Default)]
pub(super) struct Summary {
    pits: usize,
    /// Years until somebody is needed, and the line.
    urgent: Vec<(f64, String)>,
    silent: Vec<String>,
    with_answer: usize,
    without_answer: usize,
}

impl Summary {
    /// The lines of some pits.
    pub(super) fn of(asked: &Asking, answers: &[Answer<'_>]) -> Self {
        let mut summary = Self { pits: answers.len(), ..Self::default() };
        for answer in answers {
            match &answer.forecast {
                Ok(forecast) => {
                    let urgency = years_until_urgent(forecast, asked.coverage());
                    summary.urgent.push((urgency, row(asked, answer, forecast)));
                }
                Err(reason) => summary.silent.push(silent_row(answer, reason)),
            }
        }
        summary.with_answer = summary.urgent.len();
        summary.without_answer = summary.silent.len();
        summary
    }

    /// Adds the pits that come next; what can no longer be told is let go.
    pub(super) fn add(&mut self, next: Self) {
        self.pits += next.pits;
        self.with_answer += next.with_answer;
        self.without_answer += next.without_answer;
        self.urgent.extend(next.urgent);
        self.silent.extend(next.silent.into_iter().take(MOST_LINES.saturating_sub(self.silent.len())));
        if self.urgent.len() > 4 * MOST_LINES {
            self.keep_most_urgent();
        }
    }

    fn keep_most_urgent(&mut self) {
        self.urgent.sort_by(|(a, _), (b, _)| a.total_cmp(b));
        self.urgent.truncate(MOST_LINES);
    }

    /// The table, and the pits without a forecast with the reason.
    pub(super) fn told(self, asked: &Asking) -> String {
        self.told_with(asked, "")
    }

    /// The same with more to tell before the caution.
    pub(super) fn told_with(mut self, asked: &Asking, more: &str) -> String {
        self.keep_most_urgent();
        self.silent.truncate(MOST_LINES);
        let mut text =
            format!("{} as of {}, the most urgent first\n\n", counted(self.pits, "pit"), asked.as_of());
        if !self.urgent.is_empty() {
            heading(&mut text, asked);
            self.urgent.iter().for_each(|(_, line)| text.push_str(line));
            say_more(&mut text, self.with_answer - self.urgent.len());
        }
        if !self.silent.is_empty() {
            text.push_str("\nNo forecast:\n");
            self.silent.iter().for_each(|line| text.push_str(line));
            say_more(&mut text, self.without_answer - self.silent.len());
        }
        text.push_str(more);
        let caution = "Estimates from readings, no warranty and no substitute for an inspection: local code and licensed practitioners decide.";
        let _ = writeln!(text, "\n{}", wrapped(caution, 100, 0));
        text
    }
}

fn say_more(text: &mut String, more: usize) {
    if more > 0 {
        let _ = writeln!(text, "… and {} more; --format csv has all.", counted(more, "pit"));
    }
}

fn silent_row(answer: &Answer<'_>, reason: &str) -> String {
    let line = format!("{:<8}  {:<LABEL_WIDTH$}  {reason}", answer.id, label(answer));
    format!("{}\n", line.trim_end())
}

fn heading(text: &mut String, asked: &Asking) {
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

fn row(asked: &Asking, answer: &Answer<'_>, forecast: &Forecast) -> String {
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
    format!("{}\n", line.trim_end())
}

pub(super) fn crossing(asked: &Asking, forecast: &Forecast) -> (String, String) {
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

pub(super) fn label(answer: &Answer<'_>) -> String {
    let label = answer.record.and_then(soaklife_records::PitRecord::label).unwrap_or_default();
    if label.chars().count() <= LABEL_WIDTH {
        return label.to_owned();
    }
    label.chars().take(LABEL_WIDTH - 1).chain(['…']).collect()
}
