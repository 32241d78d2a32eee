//! When to measure again.

use super::answer::{Answer, Asking};
use jiff::civil::Date;
use soaklife::date::{date_after, years_between};
use soaklife::fleet::SOON_YEARS;
use soaklife::forecast::{Basis, Forecast};
use soaklife::history::{ReadingUse, Verdict};
use soaklife::trend::CrossingSet;
use soaklife::trend::line::FEWEST_READINGS;
use soaklife::wording::month;
use soaklife::wording::sentence::goal;
use soaklife::{Coverage, History};
use soaklife_records::PitRecord;

const EVEN_CHANCE: f64 = 0.5;

/// Years to the early end of the range.
fn early_years(forecast: &Forecast, coverage: Coverage) -> f64 {
    match forecast.crossing_set(coverage) {
        CrossingSet::Between { earliest, .. } | CrossingSet::NotBefore { earliest } => earliest.max(0.0),
        CrossingSet::Never => f64::INFINITY,
        // Readings that cannot say when do not rule out soon: the year by which the chance is what the range leaves out.
        CrossingSet::Unbounded => (0..=forecast.question().horizon_years() as u32)
            .map(f64::from)
            .find(|&years| forecast.chance_by(years) >= coverage.lower_tail())
            .unwrap_or(f64::INFINITY),
    }
}

/// When to measure again: as readings ahead are weighed by the absorption method; by a line a year after the last reading, sooner
/// where the inlet may be near. Nothing for a pit whose row must be mended first.
pub(crate) fn next_reading(asked: &Asking, answer: &Answer<'_>) -> String {
    let Some(history) = answer.record.map(PitRecord::history) else { return String::new() };
    let as_of = asked.as_of();
    let Ok(forecast) = &answer.forecast else { return next_without_forecast(history, as_of) };
    if forecast.basis() == Basis::AtInlet {
        return "now: have the system looked at by a licensed practitioner.".to_owned();
    }
    let goal = goal(answer.question.action_freeboard(), asked.units());
    if forecast.chance_by(0.0) >= EVEN_CHANCE {
        return format!("now: more likely than not {goal} is reached already.");
    }
    if let Some(plan) = asked.next_reading(answer) {
        let next = soaklife::wording::next_reading::next_reading(&plan, &goal);
        // Nobody is to take the next date as leave to wait with what is due now.
        return match forecast.close_to_inlet() {
            Some(_) => format!("with the inspection, now; after it {next}"),
            None => next,
        };
    }
    let early = early_years(forecast, asked.coverage());
    if early < 0.5 {
        return format!("monthly from now on: {goal} may be within reach.");
    }
    let after_a_year = years_to_yearly_visit(history, as_of);
    if early < SOON_YEARS && after_a_year > 0.0 {
        return format!("{}: {goal} may be near.", by_month(as_of, after_a_year.min(early / 4.0)));
    }
    yearly(as_of, after_a_year) + "."
}

fn next_without_forecast(history: &History, as_of: Date) -> String {
    let used = |taken: &&ReadingUse| matches!(taken.verdict, Verdict::Used { .. });
    let usable = history.readings_for_a_line(as_of).iter().filter(used).count();
    let more = if usable < FEWEST_READINGS { "; three usable readings make a line" } else { "" };
    format!("{}, and once a year from then on{more}.", yearly(as_of, years_to_yearly_visit(history, as_of)))
}

/// Years until the last reading that says where the liquid stands is a year old; none at all is due at once.
fn years_to_yearly_visit(history: &History, as_of: Date) -> f64 {
    let latest = history.latest_standing(as_of);
    latest.map_or(0.0, |latest| 1.0 - years_between(latest.date().middle(), as_of))
}

fn yearly(as_of: Date, years: f64) -> String {
    if years > 0.0 {
        by_month(as_of, years)
    } else {
        "now: no reading of the last year says where the liquid stands".to_owned()
    }
}

fn by_month(as_of: Date, years: f64) -> String {
    date_after(as_of, years).map_or_else(|| "now".to_owned(), |day| format!("by {}", month(day)))
}
