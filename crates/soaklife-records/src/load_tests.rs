//! `load_tests.csv`: hydraulic load tests, their looks gathered into tests. What a test says is another matter.

use crate::pits::{Homeless, Lookup, Pits};
use crate::problem::{Fault, Place, ProblemKind, Problems};
use crate::row::Row;
use crate::schema::LOAD_TESTS;
use crate::table::Rows;
use jiff::civil::Date;
use soaklife::load_test::{LoadTest, Look};
use soaklife::quantity::{Volume, as_inches, inches};
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

/// A look so many hours after the one before begins another test.
const ANOTHER_TEST_AFTER_HOURS: i64 = 72;
/// How far below the bottom a stick may seem to reach, inches. Common practice, no source.
const STICK_TOLERANCE_IN: f64 = 1.0;
/// Beyond these no pit or tanker reaches: metres, cubic metres.
const LONGEST_M: f64 = 1_000.0;
const LARGEST_M3: f64 = 10_000.0;

/// The tests of the pits that were tested, by the pit's place in `pits.csv`.
#[derive(Debug, Default)]
pub(crate) struct TestsByPit(BTreeMap<usize, Vec<LoadTest>>);

impl TestsByPit {
    /// The tests of a pit, oldest first, handed over.
    pub(crate) fn take(&mut self, place: usize) -> Vec<LoadTest> {
        self.0.remove(&place).unwrap_or_default()
    }
}

/// One look during a test, with its line.
struct Filed {
    look: Look,
    line: u64,
}

/// Reads every row, and gathers the looks of each pit into tests.
pub(crate) fn read(
    rows: impl Rows,
    pits: &Pits,
    today: Date,
    problems: &mut Problems,
) -> io::Result<TestsByPit> {
    let mut looks: BTreeMap<usize, Vec<Filed>> = BTreeMap::new();
    let mut homeless = Homeless::default();
    rows.each(&LOAD_TESTS, problems, |row, problems| {
        if let Some((place, look)) = parse(row, pits, today, &mut homeless, problems) {
            looks.entry(place).or_default().push(look);
        }
    })?;
    homeless.say(pits, problems);
    let tests = looks.into_iter().map(|(place, mut of_pit)| {
        say_disorder(&of_pit, problems);
        of_pit.sort_by_key(|filed| (filed.look.time, filed.line));
        (place, gather(of_pit, problems))
    });
    Ok(TestsByPit(tests.collect()))
}

fn parse(
    row: Row<'_>,
    pits: &Pits,
    today: Date,
    homeless: &mut Homeless,
    problems: &mut Problems,
) -> Option<(usize, Filed)> {
    let lookup = homeless.lookup(pits, row.raw(column::PIT_ID))?;
    let (place, mut check) = row.check_of_pit(column::PIT_ID, lookup, pits, problems, ROW_OUT);
    let time = check.past_time(column::TIME, today);
    let added = check.volume(column::ADDED);
    let depth = check.length(column::DEPTH);
    let tank_rise = check.length(column::TANK_RISE);
    check.not_negative(column::ADDED, added.map(|added| added.value));
    check.not_negative(column::DEPTH, depth.map(|depth| depth.value));
    let too_large = [
        (column::ADDED, added.map(|added| added.value), LARGEST_M3),
        (column::DEPTH, depth.map(|depth| depth.value), LONGEST_M),
        (column::TANK_RISE, tank_rise.map(|rise| rise.value), LONGEST_M),
    ];
    for (column, value, largest) in too_large {
        if value.is_some_and(|value| value.abs() > largest) {
            let message = format!("{} {} cannot be: is the unit right?", row.name(column), row.said(column));
            check.fault(column, ProblemKind::OutOfRange, message);
        }
    }
    if let (Lookup::Sound(_, pit), Some(depth)) = (lookup, depth)
        && depth > pit.pit.bottom_depth() + inches(STICK_TOLERANCE_IN)
    {
        let message = format!(
            "{} {} is below the pit bottom ({:.1} in): was it read from another rim, or in cm?",
            row.name(column::DEPTH),
            row.said(column::DEPTH),
            as_inches(pit.pit.bottom_depth())
        );
        check.fault(column::DEPTH, ProblemKind::BelowBottom, message);
    }
    let look = Look { time: time?, added, depth, tank_rise };
    check.is_sound().then_some((place?, Filed { look, line: row.line() }))
}

fn say_disorder(of_pit: &[Filed], problems: &mut Problems) {
    if of_pit.iter().zip(of_pit.iter().skip(1)).any(|(first, second)| second.look.time < first.look.time) {
        let line = of_pit.first().map_or(1, |filed| filed.line);
        let message = "the looks of this test are not in order of time. They are sorted";
        problems.warning(Place::line(line), None, Fault::new(ProblemKind::Order, message));
    }
}

/// The tests of one pit from its looks in order of time.
fn gather(of_pit: Vec<Filed>, problems: &mut Problems) -> Vec<LoadTest> {
    let mut tests = Vec::new();
    let mut looks: Vec<Look> = Vec::new();
    let mut total = None;
    for Filed { look, line } in of_pit {
        let gap = looks.last().map_or(0, |last| look.time.duration_since(last.time).as_hours());
        if gap >= ANOTHER_TEST_AFTER_HOURS {
            tests.extend(LoadTest::new(std::mem::take(&mut looks)).ok());
            total = None;
        }
        if falls(look.added, &mut total) {
            let message = "the water added so far is less than before: give a running total. Row left out";
            problems.error(Place::line(line), None, Fault::new(ProblemKind::Contradiction, message));
            continue;
        }
        looks.push(look);
    }
    // What a test refuses has been left out above.
    tests.extend(LoadTest::new(looks).ok());
    tests
}

/// A running total starts again at zero with each test, perhaps with each of its days, and cannot fall otherwise.
fn falls(added: Option<Volume>, total: &mut Option<f64>) -> bool {
    let Some(added) = added.map(|added| added.value) else { return false };
    if total.is_some_and(|total| added < total) && added > 0.0 {
        return true;
    }
    *total = Some(added);
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use soaklife::quantity::gallons;

    fn filed(day: i8, hour: i8, added: f64, line: u64) -> Filed {
        let look = Look::at(date(2026, 5, day).at(hour, 0, 0, 0)).with_added(gallons(added));
        Filed { look, line }
    }

    #[test]
    fn three_days_without_a_look_begin_another_test() {
        let looks =
            vec![filed(4, 9, 0.0, 2), filed(4, 10, 400.0, 3), filed(7, 9, 400.0, 4), filed(10, 9, 50.0, 5)];
        let mut problems = Problems::new("load_tests.csv");
        let tests = gather(looks, &mut problems);
        assert_eq!(tests.iter().map(|test| test.looks().len()).collect::<Vec<_>>(), [3, 1]);
        assert!(problems.take().is_empty(), "the total of the second test begins anew");
    }

    #[test]
    fn a_total_that_falls_leaves_one_row_out_and_no_other() {
        let looks =
            vec![filed(4, 9, 200.0, 2), filed(4, 10, 150.0, 3), filed(5, 9, 0.0, 4), filed(5, 10, 180.0, 5)];
        let mut problems = Problems::new("load_tests.csv");
        let tests = gather(looks, &mut problems);
        assert_eq!(tests.len(), 1);
        assert_eq!(tests[0].looks().len(), 3);
        let lines: Vec<_> = problems.take().into_iter().map(|problem| problem.line).collect();
        assert_eq!(lines, [Some(3)]);
    }
}
