//! Some neighbouring pits with all their rows of every table: raw, and read.

use super::findings::Listings;
use super::order::Span;
use super::{Fleet, TABLE_COUNT, place};
use crate::assembly::{Assembly, Known};
use crate::logbook::Entry;
use crate::pits::Pits;
use crate::problem::{Problem, Problems, Severity};
use crate::readings::{Counts, ReadingsByPit};
use crate::record::LineStart;
use crate::schema::{TABLES, Table};
use crate::table::Part;
use crate::{events, load_tests, occupancy, readings};

/// The raw rows of some pits, by the place of their table in [`TABLES`].
#[derive(Debug, Default)]
pub(super) struct Batch {
    pub(super) parts: [RawPart; TABLE_COUNT],
    /// Where identifiers must lie, unless every row has been looked at.
    pub(super) span: Option<Span>,
}

/// Raw rows of one table.
#[derive(Debug, Default)]
pub(super) struct RawPart {
    pub(super) bytes: Vec<u8>,
    pub(super) starts: Vec<LineStart>,
    /// The line after the last row.
    next_line: Option<u64>,
}

impl Batch {
    /// The same memory without any row.
    pub(super) fn emptied(mut self) -> Self {
        for part in &mut self.parts {
            part.bytes.clear();
            part.starts.clear();
            part.next_line = None;
        }
        Self { span: None, ..self }
    }
}

impl RawPart {
    /// Adds a row. Only rows that follow one another in the file need no line of their own.
    pub(super) fn push(&mut self, bytes: &[u8], line: u64, lines_follow: bool) {
        let goes_on = lines_follow && self.next_line.is_some();
        if !goes_on {
            // A row that the end of the file has cut short is closed, so that the next one begins on its own.
            if self.bytes.last().is_some_and(|&byte| byte != b'\n' && byte != b'\r') {
                self.bytes.push(b'\n');
            }
            self.starts.push(LineStart { offset: self.bytes.len() as u64, line });
        }
        self.next_line = Some(line);
        self.bytes.extend_from_slice(bytes);
    }
}

/// What a thread keeps from batch to batch: memory that need not be had and given back for each.
#[derive(Debug, Default)]
pub(super) struct Tools {
    pits: Pits,
    readings: ReadingsByPit,
    entries: Vec<Entry>,
    known: Known,
}

impl Tools {
    /// Takes back the pits of a stretch that is done with, and hands on what was found wrong.
    pub(super) fn take_back(&mut self, stretch: Stretch) -> BatchFound {
        self.entries = stretch.entries;
        stretch.found
    }
}

/// Some neighbouring pits of a logbook, read.
#[derive(Debug)]
pub struct Stretch {
    pub(super) entries: Vec<Entry>,
    pub(super) found: BatchFound,
}

/// What was found wrong in one batch, by the place of the table in [`TABLES`].
#[derive(Debug)]
pub(super) struct BatchFound {
    pub(super) problems: [Problems; TABLE_COUNT],
    pub(super) readings: Counts,
    pub(super) households_after_as_of: u64,
    pub(super) pits: usize,
    /// Whether a row belongs to a pit of another batch.
    pub(super) is_out_of_order: bool,
}

impl BatchFound {
    pub(super) fn none() -> Self {
        let problems = TABLES.map(|table| Problems::new(table.file));
        Self {
            problems,
            readings: Counts::default(),
            households_after_as_of: 0,
            pits: 0,
            is_out_of_order: false,
        }
    }
}

impl Stretch {
    /// The rows of `pits.csv`, in its order.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What `check` says is wrong with the row of a pit, so that it could not be used.
    #[must_use]
    pub fn errors_of_row(&self, pit_id: &str) -> Vec<&str> {
        let of_row = |problem: &&Problem| problem.severity == Severity::Error && problem.is_of(pit_id);
        self.found.problems[0].found().iter().filter(of_row).map(|problem| problem.message.as_str()).collect()
    }

    /// How many rows about a pit, of whatever table, could not be used.
    #[must_use]
    pub fn rows_left_out(&self, pit_id: &str) -> usize {
        self.found.problems.iter().map(|problems| problems.rows_left_out(pit_id)).sum()
    }
}

impl Fleet {
    /// Reads a batch as the whole logbook would be read; without listings nothing that is wrong will be told.
    pub(super) fn read_batch(
        &self,
        batch: &Batch,
        listings: Option<&Listings>,
        tools: &mut Tools,
    ) -> Stretch {
        let problems = listings.map_or_else(Listings::begin_untold, Listings::begin);
        let mut found = BatchFound { problems, ..BatchFound::none() };
        let problems = &mut found.problems;
        let part = |table: &'static Table| self.part(batch, table);
        // Bytes in memory can always be read.
        let mut pits = Pits::part_of_many(batch.span.clone(), std::mem::take(&mut tools.pits));
        if let Some(rows) = part(&crate::schema::PITS) {
            let _ = pits.read_part(rows, self.days.today, &self.settings, &mut problems[0]);
        }
        let events = part(&crate::schema::EVENTS_TABLE).and_then(|rows| {
            events::read(rows, &pits, self.days.today, &mut problems[place(&crate::schema::EVENTS_TABLE)])
                .ok()
        });
        tools.readings.clear();
        let counts = part(&crate::schema::READINGS).and_then(|rows| {
            readings::read(rows, &pits, self.days, &mut tools.readings, &mut problems[1]).ok()
        });
        let households = part(&crate::schema::OCCUPANCY)
            .and_then(|rows| occupancy::read(rows, &pits, self.days, &mut problems[2]).ok());
        let load_tests = part(&crate::schema::LOAD_TESTS).and_then(|rows| {
            let of_tests = &mut problems[place(&crate::schema::LOAD_TESTS)];
            load_tests::read(rows, &pits, self.days.today, of_tests).ok()
        });
        let (households, after_as_of) = households.unwrap_or_default();
        // A pit that is nowhere, mistyped perhaps, says nothing of the order.
        found.is_out_of_order = pits.take_beyond().iter().any(|pit_id| self.is_listed(pit_id.as_bytes()));
        let [of_pits, of_readings, ..] = problems;
        let mut entries = std::mem::take(&mut tools.entries);
        Assembly::new(&self.settings, of_pits, of_readings, &mut tools.known).run(
            &mut pits,
            &mut tools.readings,
            households,
            events.unwrap_or_default(),
            load_tests.unwrap_or_default(),
            &mut entries,
        );
        tools.pits = pits;
        found.pits = entries.len();
        found.readings = counts.unwrap_or_default();
        found.households_after_as_of = after_as_of;
        Stretch { entries, found }
    }

    fn part<'p>(&'p self, batch: &'p Batch, table: &'static Table) -> Option<Part<'p>> {
        let raw = &batch.parts[place(table)];
        let header = &self.tables[place(table)].as_ref()?.header;
        (!raw.bytes.is_empty()).then_some(Part { header, bytes: &raw.bytes, starts: &raw.starts })
    }
}
