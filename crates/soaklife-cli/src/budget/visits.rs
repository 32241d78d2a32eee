//! Whom to see first, as a table.

use super::assumptions::SAFETY;
use super::plain_table::{Side::Left, Side::Right, lines};
use super::text::{cut, paragraph};
use super::walk::Walked;
use crate::args::BudgetArgs;
use soaklife::fleet::{Candidate, Reached, VisitReason};
use soaklife::wording::fleet::grouped;
use soaklife::wording::{chance, counted};
use std::fmt::Write as _;

pub(crate) const HEADINGS: [&str; 6] =
    ["pit", "", "chance in 2 years", "80 % range, or 1 in 10", "last read", "why"];
/// Visits told in the text; a list for a whole year is a table of its own.
const MOST_TOLD: usize = 50;

/// By which rule pits are on the list, and in which order.
pub(crate) fn rule(walked: &Walked) -> String {
    let goal = walked.goal();
    format!(
        "First those that stand at their {goal}, then those with a chance of 10 % or more to reach it within 2 years, the likeliest \
         first. What visits remain go where a reading tells most: where it is least decided whether the pit lasts 2 years, \
         p (1 - p), times the years since the last reading, 5 at most."
    )
}

pub(super) fn visits(told: &mut String, walked: &Walked, args: &BudgetArgs) {
    let visits = walked.visits.visits();
    if visits.is_empty() {
        return;
    }
    let (count, goal) = (counted(args.planning.visits as usize, "visit"), walked.goal());
    let _ = writeln!(told, "Whom to see first, {count} a year, and when each reaches the {goal}");
    let mut rows = vec![HEADINGS.map(str::to_owned).to_vec()];
    rows.extend(visits.iter().take(MOST_TOLD).map(|(reason, pit)| row(*reason, pit).to_vec()));
    told.push_str(&lines(&[Left, Left, Right, Right, Right, Left], &rows));
    told.push('\n');
    if visits.len() > MOST_TOLD {
        let more = grouped((visits.len() - MOST_TOLD) as f64);
        paragraph(told, &format!("{more} more; --visit-list FILE.csv has them all."));
    }
    if walked.at_inlet > visits.len() && visits.iter().all(|(_, pit)| pit.urgency.is_there()) {
        let all = grouped(walked.at_inlet as f64);
        let note = format!(
            "Every visit goes to a pit that stands at its inlet: there are {all} of them. More --visits show which are next."
        );
        paragraph(told, &note);
    }
    paragraph(told, &rule(walked));
    paragraph(told, SAFETY);
}

pub(crate) fn row(reason: VisitReason, pit: &Candidate) -> [String; 6] {
    let (soon, range, why) = match pit.urgency.reached {
        Reached::NotYet => (chance(pit.urgency.soon()), pit.urgency.range_in_list(), reason.in_words()),
        there => ("now".to_owned(), String::new(), there.in_words()),
    };
    [pit.id.clone(), cut(&pit.title), soon, range, last_read(pit.years_since_reading), why.to_owned()]
}

fn last_read(years: Option<f64>) -> String {
    match years {
        None => "never".to_owned(),
        Some(years) if years < 1.0 / 24.0 => "this month".to_owned(),
        Some(years) if years < 0.95 => format!("{} ago", counted((years * 12.0).round() as usize, "month")),
        Some(years) => format!("{} ago", counted(years.round() as usize, "year")),
    }
}
