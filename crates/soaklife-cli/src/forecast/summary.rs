//! Many pits at a glance, the most urgent first.

use super::answer::{Answer, Asking};
use crate::output::wrapped;
use soaklife::fleet::Urgency;
use soaklife::forecast::{Crossing, Forecast};
use soaklife::quantity::{Length, as_inches};
use soaklife::trend::CrossingSet;
use soaklife::wording::sentence::goal_of_many;
use soaklife::wording::{
    about_years, chance, counted, in_so_many, length_number, range_in_list, tenths, with_noun,
};
use std::fmt::Write as _;

const LABEL_WIDTH: usize = 22;

/// Lines of pits that are told, and as many of pits without a forecast; a CSV has them all.
const MOST_LINES: usize = 1000;

const CLOSE: &str = "! less than 6 in are left, or room for less than half a day of design flow: published rules count such a pit as \
                     failed (310 CMR 15.303, written for cesspools), whatever the forecast says.";

/// What is told of many pits: the most urgent of them, and those without a forecast below.
#[derive(Debug, Default)]
pub(super) struct Summary {
    pits: usize,
    /// Whether some of them have an action freeboard.
    some_act_early: bool,
    /// Whether some of them are close to their inlets.
    some_are_close: bool,
    /// How soon somebody is needed, and the line.
    urgent: Vec<(Urgency, String)>,
    silent: Vec<String>,
    with_answer: usize,
    without_answer: usize,
}

impl Summary {
    /// The lines of some pits.
    pub(super) fn of(asked: &Asking, answers: &[Answer<'_>]) -> Self {
        let mut summary = Self { pits: answers.len(), ..Self::default() };
        for answer in answers {
            summary.some_act_early |= as_inches(answer.question.action_freeboard()) > 0.0;
            match &answer.forecast {
                Ok(forecast) => {
                    let urgency = Urgency::of(forecast);
                    summary.some_are_close |= forecast.close_to_inlet().is_some();
                    summary.urgent.push((urgency, row(asked, answer, forecast, &urgency)));
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
        self.some_act_early |= next.some_act_early;
        self.some_are_close |= next.some_are_close;
        self.with_answer += next.with_answer;
        self.without_answer += next.without_answer;
        self.urgent.extend(next.urgent);
        self.silent.extend(next.silent.into_iter().take(MOST_LINES.saturating_sub(self.silent.len())));
        if self.urgent.len() > 4 * MOST_LINES {
            self.keep_most_urgent();
        }
    }

    fn keep_most_urgent(&mut self) {
        self.urgent.sort_by(|(a, _), (b, _)| a.compared(b));
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
        let (pits, goal) = (counted(self.pits, "pit"), goal_of_many(self.some_act_early));
        let mut text = format!(
            "{pits} as of {}, by the chances of reaching the {goal} within 2 and 5 years\n\n",
            asked.as_of()
        );
        if !self.urgent.is_empty() {
            heading(&mut text, asked);
            self.urgent.iter().for_each(|(_, line)| text.push_str(line));
            say_more(&mut text, self.with_answer - self.urgent.len());
            if self.some_are_close {
                let _ = writeln!(text, "\n{}", wrapped(CLOSE, 100, 0));
            }
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
    let coverage = asked.coverage();
    let range = format!("{:.0} % range, or {}", coverage.value() * 100.0, in_so_many(coverage.lower_tail()));
    let (left, rise) = (format!("left, {}", asked.units().name()), format!("{}/year", asked.units().name()));
    let _ = writeln!(
        text,
        "{}",
        line(["pit", "", "measured", &left, &rise, "even chance", &range, "in 2 years", "in 5 years"])
    );
}

fn line(cells: [&str; 9]) -> String {
    let [id, label, measured, left, rise, when, range, soon, later] = cells;
    let line = format!(
        "{id:<8}  {label:<LABEL_WIDTH$}  {measured:<10}  {left:>8}  {rise:>7}  {when:<14}  {range:<29}  {soon:>10}  {later:>10}"
    );
    line.trim_end().to_owned()
}

fn row(asked: &Asking, answer: &Answer<'_>, forecast: &Forecast, urgency: &Urgency) -> String {
    let (pit, units) = (forecast.pit(), asked.units());
    let number =
        |length: Option<Length>| length.map_or(String::new(), |length| length_number(length, units, true));
    let close = if forecast.close_to_inlet().is_some() { "!" } else { "" };
    let left = number(forecast.latest().map(|reading| pit.freeboard(reading.level(pit))));
    let left = format!("{left}{close}");
    let measured = forecast.latest().map_or(String::new(), |reading| reading.date().to_string());
    let rise = forecast.pace_per_year().map_or(String::new(), |pace| tenths(units.count(pace)));
    let (when, range) = crossing(asked, forecast);
    let [soon, later, _] =
        urgency.chances.map(|likely| if urgency.is_there() { "now".to_owned() } else { chance(likely) });
    let line = line([answer.id, &label(answer), &measured, &left, &rise, &when, &range, &soon, &later]);
    format!("{line}\n")
}

/// When the level gets there with an even chance, and the range of that.
pub(super) fn crossing(asked: &Asking, forecast: &Forecast) -> (String, String) {
    let (horizon, set) = (forecast.question().horizon_years(), forecast.crossing_set(asked.coverage()));
    let when = match forecast.crossing(asked.coverage()) {
        Crossing::AlreadyAtInlet { .. } => return ("at the inlet".to_owned(), String::new()),
        _ if set == CrossingSet::Unbounded => return ("cannot be told".to_owned(), String::new()),
        Crossing::Expected { years, .. } if years <= 0.0 => return ("reached".to_owned(), String::new()),
        Crossing::Expected { years, .. } => about_years(years).trim_start_matches("about ").to_owned(),
        Crossing::NotWithinHorizon { .. } => format!("over {}", with_noun(&format!("{horizon:.0}"), "year")),
        _ => "not rising".to_owned(),
    };
    (when, range_in_list(set, asked.coverage(), horizon))
}

pub(super) fn label(answer: &Answer<'_>) -> String {
    let label = answer.record.and_then(soaklife_records::PitRecord::label).unwrap_or_default();
    if label.chars().count() <= LABEL_WIDTH {
        return label.to_owned();
    }
    label.chars().take(LABEL_WIDTH - 1).chain(['…']).collect()
}
