//! Whom to see first, as a table of its own for the route of a service company.

use super::walk::Walked;
use crate::cell::{Cell, table};
use crate::output::Failure;
use soaklife::fleet::{Candidate, Reached, VisitReason};

const COLUMNS: [&str; 9] = [
    "rank",
    "pit_id",
    "label",
    "why",
    "chance_2y",
    "years_p10",
    "years_p50",
    "years_p90",
    "years_since_reading",
];

/// The visits as CSV, the most urgent first; years beyond sight are empty.
pub(super) fn csv(walked: &Walked) -> Result<String, Failure> {
    let visits = walked.visits.visits().into_iter().enumerate();
    let rows =
        visits.map(|(place, (reason, pit))| cells(place + 1, reason, pit).map(|cell| cell.csv()).to_vec());
    table(COLUMNS.map(str::to_owned).to_vec(), rows)
}

fn cells(rank: usize, reason: VisitReason, pit: &Candidate) -> [Cell<'_>; COLUMNS.len()] {
    let why = match pit.urgency.reached {
        Reached::Inlet => "at inlet",
        Reached::ActionFreeboard => "at action freeboard",
        Reached::NotYet => reason.in_words(),
    };
    let [early, median, late] = pit.urgency.years.map(|years| Cell::number(years, 2));
    [
        Cell::Count(rank),
        Cell::Text(pit.id.as_str().into()),
        Cell::text(Some(pit.title.clone()).filter(|title| !title.is_empty())),
        Cell::Text(why.into()),
        Cell::number(Some(pit.urgency.soon()), 4),
        early,
        median,
        late,
        Cell::number(pit.years_since_reading, 2),
    ]
}
