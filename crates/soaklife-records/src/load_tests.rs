//! `load_tests.csv`: hydraulic load tests. Here its rows are checked; what a test says is another matter.

use crate::pits::{Homeless, Pits};
use crate::problem::{Fault, Place, ProblemKind, Problems};
use crate::row::Row;
use crate::schema::LOAD_TESTS;
use crate::table::Rows;
use jiff::civil::{Date, DateTime};
use std::collections::BTreeMap;
use std::io;

mod column {
    pub(super) const PIT_ID: usize = 0;
    pub(super) const TIME: usize = 1;
    pub(super) const ADDED: usize = 2;
    pub(super) const DEPTH: usize = 3;
    pub(super) const TANK_RISE: usize = 4;
}

const ROW_OUT: &str = "Row left out";

/// One look during a test.
struct Look {
    time: DateTime,
    added_m3: Option<f64>,
    line: u64,
}

/// Checks every row.
pub(crate) fn check(rows: impl Rows, pits: &Pits, today: Date, problems: &mut Problems) -> io::Result<()> {
    let mut looks: BTreeMap<usize, Vec<Look>> = BTreeMap::new();
    let mut homeless = Homeless::default();
    rows.each(&LOAD_TESTS, problems, |row, problems| {
        if let Some((place, look)) = parse(row, pits, today, &mut homeless, problems) {
            looks.entry(place).or_default().push(look);
        }
    })?;
    homeless.say(pits, problems);
    for of_pit in looks.values_mut() {
        if of_pit.iter().zip(of_pit.iter().skip(1)).any(|(first, second)| second.time < first.time) {
            let line = of_pit.first().map_or(1, |look| look.line);
            let message = "the looks of this test are not in order of time. They are sorted";
            problems.warning(Place::line(line), None, Fault::new(ProblemKind::Order, message));
        }
        of_pit.sort_by_key(|look| (look.time, look.line));
        say_falling_totals(of_pit, problems);
    }
    Ok(())
}

fn parse(
    row: Row<'_>,
    pits: &Pits,
    today: Date,
    homeless: &mut Homeless,
    problems: &mut Problems,
) -> Option<(usize, Look)> {
    let lookup = homeless.lookup(pits, row.raw(column::PIT_ID))?;
    let (place, mut check) = row.check_of_pit(column::PIT_ID, lookup, pits, problems, ROW_OUT);
    let time = check.past_time(column::TIME, today);
    let added = check.volume(column::ADDED).map(|added| added.value);
    let depth = check.length(column::DEPTH).map(|depth| depth.value);
    check.length(column::TANK_RISE);
    check.not_negative(column::ADDED, added);
    check.not_negative(column::DEPTH, depth);
    let look = Look { time: time?, added_m3: added, line: row.line() };
    check.is_sound().then_some((place?, look))
}

/// A running total starts again at zero with each test, and cannot fall otherwise.
fn say_falling_totals(looks: &[Look], problems: &mut Problems) {
    let mut total = 0.0;
    for look in looks {
        let Some(added) = look.added_m3 else { continue };
        if added < total && added > 0.0 {
            let message = "the water added so far is less than before: give a running total. Row left out";
            problems.error(Place::line(look.line), None, Fault::new(ProblemKind::Contradiction, message));
            continue;
        }
        total = added;
    }
}
