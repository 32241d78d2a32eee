//! What was found wrong in a logbook of any size: counted in full, listed up to a limit.

use super::batch::BatchFound;
use super::{Fleet, PIT_ID, TABLE_COUNT, WalkError};
use crate::Logbook;
use crate::folder::open;
use crate::occupancy;
use crate::pits::{MOST_COMPARED, NOT_IN_PITS, hint_at, nearest_pit};
use crate::problem::{MOST_LISTED, Problem, ProblemKind, Problems, Severity, Tally};
use crate::readings::Counts;
use crate::schema::{EVENTS_TABLE, LOAD_TESTS, OCCUPANCY, PITS, READINGS, TABLES};
use crate::table::Rows as _;
use std::io;
use std::sync::atomic::{AtomicBool, Ordering};

/// Identifiers compared at a time.
const NAMES_AT_ONCE: usize = 4096;

/// What was found wrong.
#[derive(Debug)]
pub struct Findings {
    problems: Vec<Problem>,
    errors: u64,
    warnings: u64,
}

impl Findings {
    /// The problems by file, then by line; of each file and severity the first 5,000 found.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// All errors, listed or not.
    #[must_use]
    pub fn errors(&self) -> u64 {
        self.errors
    }

    /// All warnings, listed or not.
    #[must_use]
    pub fn warnings(&self) -> u64 {
        self.warnings
    }

    /// Problems that are counted but not listed.
    #[must_use]
    pub fn unlisted(&self) -> u64 {
        self.errors + self.warnings - self.problems.len() as u64
    }

    pub(super) fn of_whole(logbook: &Logbook) -> Self {
        Self::listed(logbook.problems().to_vec(), logbook.counted())
    }

    /// These, and so many that are not listed.
    fn listed(problems: Vec<Problem>, unlisted: Tally) -> Self {
        let errors = problems.iter().filter(|problem| problem.severity == Severity::Error).count() as u64;
        let warnings = problems.len() as u64 - errors;
        Self { problems, errors: errors + unlisted.errors, warnings: warnings + unlisted.warnings }
    }
}

/// Of which files enough problems are listed: those of batches still to come need only be counted.
#[derive(Debug, Default)]
pub(super) struct Listings([Full; TABLE_COUNT]);

#[derive(Debug, Default)]
struct Full {
    errors: AtomicBool,
    warnings: AtomicBool,
}

impl Listings {
    /// No problems yet of a batch of which none will be told.
    pub(super) fn begin_untold() -> [Problems; TABLE_COUNT] {
        TABLES.map(|table| Problems::listing(table.file, Tally::default()))
    }

    /// No problems yet of a batch. Those of `pits.csv` are always listed, because its pits are told what is wrong with them.
    pub(super) fn begin(&self) -> [Problems; TABLE_COUNT] {
        std::array::from_fn(|place| {
            let full = &self.0[place];
            let most = |full: &AtomicBool| match full.load(Ordering::Relaxed) {
                _ if place == super::place(&PITS) => u64::MAX,
                true => 0,
                false => MOST_LISTED,
            };
            let most = Tally { errors: most(&full.errors), warnings: most(&full.warnings) };
            Problems::listing(TABLES[place].file, most)
        })
    }
}

/// Problems of one file, gathered in the order of the batches.
#[derive(Debug, Default)]
struct Gathered {
    listed: Vec<Problem>,
    strays: Vec<(u64, String)>,
    errors: u64,
    warnings: u64,
    blank_row: Option<Problem>,
}

/// Gathers what the batches find.
#[derive(Debug, Default)]
pub(super) struct Gathering {
    files: [Gathered; TABLE_COUNT],
    pits: usize,
    readings: Counts,
    households_after_as_of: u64,
}

impl Gathering {
    pub(super) fn add(&mut self, found: BatchFound, listings: &Listings) {
        self.pits += found.pits;
        for ((file, problems), listing) in self.files.iter_mut().zip(found.problems).zip(&listings.0) {
            file.add(problems);
            listing.errors.store(file.errors >= MOST_LISTED, Ordering::Relaxed);
            listing.warnings.store(file.warnings >= MOST_LISTED, Ordering::Relaxed);
        }
        self.readings.after_as_of += found.readings.after_as_of;
        self.readings.without_depth += found.readings.without_depth;
        self.households_after_as_of += found.households_after_as_of;
    }

    /// Whether `pits.csv` has rows and none of them is a pit, not even one left out.
    pub(super) fn has_no_pit(&self) -> bool {
        self.pits == 0
    }

    /// All of it, with what is told once for a whole file.
    pub(super) fn finish(mut self, fleet: &Fleet) -> Result<Findings, WalkError> {
        let mut once = BatchFound::none().problems;
        self.readings.say(fleet.days, &mut once[super::place(&READINGS)]);
        let of_households = &mut once[super::place(&OCCUPANCY)];
        occupancy::say_after_as_of(self.households_after_as_of, fleet.days, of_households);
        for (file, problems) in self.files.iter_mut().zip(once) {
            file.add(problems);
        }
        self.hint_at_pits(fleet)?;
        let mut found = Findings::listed(fleet.problems.clone(), fleet.unlisted);
        for file in self.files {
            found.errors += file.errors;
            found.warnings += file.warnings + u64::from(file.blank_row.is_some());
            found.problems.extend(file.blank_row);
            found.problems.extend(file.listed);
        }
        let place = |file: &str| TABLES.iter().position(|table| table.file == file).unwrap_or(TABLES.len());
        found.problems.sort_by_key(|problem| (place(&problem.file), problem.line, problem.column));
        Ok(found)
    }

    /// Says which pit a row of an unknown one may have meant, as a logbook read whole would.
    fn hint_at_pits(&mut self, fleet: &Fleet) -> Result<(), WalkError> {
        let mut left = MOST_COMPARED.div_ceil(self.pits.max(1));
        for table in [&EVENTS_TABLE, &READINGS, &OCCUPANCY, &LOAD_TESTS] {
            let file = &mut self.files[super::place(table)];
            file.strays.sort_unstable();
            for (line, pit_id) in file.strays.iter().take(left) {
                let of_stray = |problem: &&mut Problem| {
                    problem.kind == ProblemKind::UnknownPit && problem.line == Some(*line)
                };
                let Some(problem) = file.listed.iter_mut().find(of_stray) else { continue };
                let near = nearest(pit_id, open(&fleet.folder, PITS.file)?);
                if let Some(near) = near.map_err(|source| fleet.unreadable(0, source))? {
                    let told = format!("{NOT_IN_PITS}{} ", hint_at(&near));
                    problem.message = problem.message.replacen(&format!("{NOT_IN_PITS}. "), &told, 1);
                }
            }
            left = left.saturating_sub(file.strays.len());
        }
        Ok(())
    }
}

impl Gathered {
    fn add(&mut self, mut problems: Problems) {
        let room = (MOST_LISTED as usize).saturating_sub(self.strays.len());
        self.strays.extend(problems.take_strays().into_iter().take(room));
        let unlisted = problems.unlisted();
        for problem in problems.take() {
            if problem.kind == ProblemKind::BlankRow {
                // Said once a file, of the first such row.
                let is_first = self.blank_row.as_ref().is_none_or(|first| problem.line < first.line);
                self.blank_row = if is_first { Some(problem) } else { self.blank_row.take() };
                continue;
            }
            let count =
                if problem.severity == Severity::Error { &mut self.errors } else { &mut self.warnings };
            *count += 1;
            if *count <= MOST_LISTED || problem.kind.is_once_a_file() {
                self.listed.push(problem);
            }
        }
        // Those listed come first: what is not listed is beyond the most that are.
        self.errors += unlisted.errors;
        self.warnings += unlisted.warnings;
    }
}

/// The nearest of the pits of a file; rows that name no pit are passed over.
fn nearest(pit_id: &str, pits: impl io::Read) -> io::Result<Option<String>> {
    let mut names: Vec<String> = Vec::new();
    pits.each(&PITS, &mut Problems::new(PITS.file), |row, problems| {
        problems.take();
        names.push(row.raw(PIT_ID).to_owned());
        if names.len() == NAMES_AT_ONCE {
            let best = nearest_pit(pit_id, names.iter().map(String::as_str)).map(str::to_owned);
            names.clear();
            names.extend(best);
        }
    })?;
    Ok(nearest_pit(pit_id, names.iter().map(String::as_str)).map(str::to_owned))
}
