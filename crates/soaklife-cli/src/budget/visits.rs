//! Whom to see first, as a table.

use super::assumptions::SAFETY;
use super::plain_table::{Side::Left, Side::Right, lines};
use super::text::{cut, paragraph};
use super::walk::{SIGHT_YEARS, Walked};
use crate::args::BudgetArgs;
use soaklife::fleet::{Candidate, VisitReason};
use soaklife::wording::fleet::grouped;
use soaklife::wording::{chance, counted};
use std::fmt::Write as _;

pub(crate) const HEADINGS: [&str; 6] =
    ["pit", "", "chance in 2 years", "years to the inlet", "last read", "why"];
/// Visits told in the text; a list for a whole year is a table of its own.
const MOST_TOLD: usize = 50;
pub(crate) const RULE: &str = "First those with a chance of 10 % or more to reach the inlet within 2 years. What visits remain go where a reading \
                    tells most: where it is least decided whether the pit lasts 2 years, p (1 - p), times the years since the last \
                    reading, 5 at most.";

pub(super) fn visits(told: &mut String, walked: &Walked, args: &BudgetArgs) {
    let visits = walked.visits.visits();
    if visits.is_empty() {
        return;
    }
    let _ = writeln!(told, "Whom to see first, {} a year", counted(args.planning.visits as usize, "visit"));
    let mut rows = vec![HEADINGS.map(str::to_owned).to_vec()];
    rows.extend(visits.iter().take(MOST_TOLD).map(|(reason, pit)| row(*reason, pit).to_vec()));
    told.push_str(&lines(&[Left, Left, Right, Right, Right, Left], &rows));
    told.push('\n');
    if visits.len() > MOST_TOLD {
        let more = grouped((visits.len() - MOST_TOLD) as f64);
        paragraph(told, &format!("{more} more; --visit-list FILE.csv has them all."));
    }
    if walked.at_inlet > visits.len() && visits.iter().all(|(_, pit)| stands_at_inlet(pit)) {
        let all = grouped(walked.at_inlet as f64);
        let note = format!(
            "Every visit goes to a pit that stands at its inlet: there are {all} of them. More --visits show which are next."
        );
        paragraph(told, &note);
    }
    paragraph(told, RULE);
    paragraph(told, SAFETY);
}

pub(crate) fn row(reason: VisitReason, pit: &Candidate) -> [String; 6] {
    [
        pit.id.clone(),
        cut(&pit.title),
        if stands_at_inlet(pit) { "now".to_owned() } else { chance(pit.within_two_years) },
        years_to_inlet(pit),
        last_read(pit.years_since_reading),
        if stands_at_inlet(pit) { "at its inlet".to_owned() } else { reason.in_words().to_owned() },
    ]
}

/// Whether nothing is left to fail.
pub(crate) fn stands_at_inlet(pit: &Candidate) -> bool {
    pit.years_to_inlet[2].is_some_and(|late| late <= 0.0)
}

fn last_read(years: Option<f64>) -> String {
    match years {
        None => "never".to_owned(),
        Some(years) if years < 1.0 / 24.0 => "this month".to_owned(),
        Some(years) if years < 0.95 => format!("{} ago", counted((years * 12.0).round() as usize, "month")),
        Some(years) => format!("{} ago", counted(years.round() as usize, "year")),
    }
}

/// The 80 % range of the years to the inlet.
fn years_to_inlet(pit: &Candidate) -> String {
    let [early, _, late] = pit.years_to_inlet;
    match (early, late) {
        _ if stands_at_inlet(pit) => "0".to_owned(),
        (Some(early), Some(late)) => format!("{:.0} to {:.0}", early.floor(), late.ceil()),
        (Some(early), None) => format!("{:.0} to over {SIGHT_YEARS:.0}", early.floor()),
        (None, _) => format!("over {SIGHT_YEARS:.0}"),
    }
}
