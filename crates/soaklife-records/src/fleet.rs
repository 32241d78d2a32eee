//! A logbook of any size, walked pit by pit in bounded memory on every core.
//!
//! Where every table has its rows in the order of `pits.csv`, the files are cut into batches of neighbouring pits in one pass;
//! else they are first split over temporary files ([`partitions`]). A batch is read with the machinery of
//! [`Logbook::read`](crate::Logbook::read), so that every pit and every problem is the same either way.

mod batch;
mod findings;
mod lock_step;
mod order;
mod partitions;
mod rows;
mod workers;

pub use batch::Stretch;
pub use findings::Findings;
pub(crate) use order::Span;

use crate::folder::{LogbookError, Opening, check_folder, open};
use crate::header::{Header, read_header};
use crate::load_ratio::{LoadRatios, at_load};
use crate::logbook::{Entry, Logbook};
use crate::problem::{Problem, Problems, Tally};
use crate::readings::Days;
use crate::record::{Record, RecordReader};
use crate::schema::{OCCUPANCY, PITS, TABLES, Table};
use crate::settings::Settings;
use findings::{Gathering, Listings};
use jiff::civil::Date;
use lock_step::LockStep;
use order::{List, Order, order_of};
use partitions::Partitions;
use rows::RawRows;
use soaklife::prior::PopulationPrior;
use soaklife::quantity::Units;
use std::fs::{self, File};
use std::io::{self, Read, Seek as _, SeekFrom};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use thiserror::Error;

const TABLE_COUNT: usize = TABLES.len();
/// In every table the first column names the pit.
const PIT_ID: usize = 0;

/// A logbook of any size.
///
/// Memory: a few batches of up to 512 pits a thread, and 16 bytes a pit if their identifiers do not rise from row to row of
/// `pits.csv`; with tables in another order than `pits.csv`, 16 bytes a pit and a few 256ths of the logbook a thread.
#[derive(Debug)]
pub struct Fleet {
    folder: PathBuf,
    settings: Settings,
    days: Days,
    /// By the place in [`TABLES`]; none if the file is not there or cannot be used, which has been said.
    tables: [Option<FileOfTable>; TABLE_COUNT],
    /// What was found wrong in opening the files.
    problems: Vec<Problem>,
    /// What is wrong with headers and settings and only counted.
    unlisted: Tally,
    order: Order,
    /// Their list where they rise, made if the other tables turn out to have another order.
    list_of_rising: OnceLock<List>,
    /// Rows of `pits.csv`.
    rows: u32,
    /// Bytes of all tables.
    size: u64,
    /// Read whole instead, because it has no pits.
    whole: Option<Box<Logbook>>,
    is_out_of_order: AtomicBool,
}

/// A file of which the header has been understood.
#[derive(Debug)]
struct FileOfTable {
    header: Header,
    rows_at: u64,
    next_line: (u64, bool),
}

/// Why a walk came to no end.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum WalkError {
    /// Rows of a table come in another order than the pits. Nothing is wrong: the next walk goes another way.
    #[error("the tables are not in the order of pits.csv")]
    OutOfOrder,
    /// A file of the logbook cannot be read on.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// The temporary files cannot be written or read.
    #[error(
        "{}: temporary files cannot be written or read: {source}; they are needed because the tables are not in the order of \
         pits.csv. Make room, set TMPDIR to another folder, or sort the tables as pits.csv is",
        folder.display()
    )]
    Scratch {
        /// Where they are.
        folder: PathBuf,
        /// The reason of the operating system.
        source: io::Error,
    },
}

impl Fleet {
    /// Opens the logbook in a folder. `today` is the caller's clock: what is dated later is an error. `as_of` is the day of the
    /// forecast.
    ///
    /// # Errors
    /// [`LogbookError`] only if `pits.csv` or `readings.csv` cannot be read; everything else is a [`Problem`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/logbooks/alder-fork");
    /// # let day = date(2026, 6, 30);
    /// use std::ops::ControlFlow;
    /// let fleet = soaklife_records::Fleet::open(folder.as_ref(), day, day)?;
    /// let mut pits = 0;
    /// let count = |stretch: &soaklife_records::Stretch| stretch.entries().len();
    /// let found = fleet.walk(2.try_into()?, count, |more| {
    ///     pits += more;
    ///     ControlFlow::Continue(())
    /// })?;
    /// assert_eq!((pits, found.errors()), (24, 0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn open(folder: &Path, today: Date, as_of: Date) -> Result<Self, LogbookError> {
        check_folder(folder)?;
        let mut opening = Opening::of(folder);
        let settings = opening.settings();
        let mut fleet = Self {
            folder: folder.to_owned(),
            settings,
            days: Days { today, as_of },
            tables: Default::default(),
            problems: Vec::new(),
            unlisted: Tally::default(),
            order: Order::Rising,
            list_of_rising: OnceLock::new(),
            rows: 0,
            size: 0,
            whole: None,
            is_out_of_order: AtomicBool::new(false),
        };
        let mut of_required = Vec::new();
        for (place, table) in TABLES.into_iter().enumerate() {
            let path = folder.join(table.file);
            fleet.size += fs::metadata(&path).map_or(0, |file| file.len());
            fleet.tables[place] = if table.required {
                let mut found = Problems::new(table.file);
                let file = open(folder, table.file)?;
                let opened = FileOfTable::open(file, table, &mut found)
                    .map_err(|source| LogbookError::Unreadable { path, source })?;
                of_required.push(found);
                opened
            } else {
                opening.optional(table.file, |file, found| FileOfTable::open(file, table, found)).flatten()
            };
        }
        let order = order_of(&|| Ok(fleet.rows_of(place(&PITS))?.unwrap_or_else(RawRows::none)));
        match order.map_err(|source| LogbookError::Unreadable { path: folder.join(PITS.file), source })? {
            Some((rows, order)) => (fleet.rows, fleet.order) = (rows, order),
            None => fleet.whole = Some(Box::new(Logbook::read(folder, today, as_of)?)),
        }
        if matches!(&fleet.order, Order::Listed(list) if list.has_doubles()) {
            fleet.is_out_of_order = AtomicBool::new(true);
        }
        let (problems, counted) = opening.in_order(of_required);
        fleet.problems = problems;
        fleet.unlisted = Problems::unlisted_of(&counted);
        Ok(fleet)
    }

    /// The settings.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// How many rows `pits.csv` has: about as many as there are pits to wait for.
    #[must_use]
    pub fn rows_of_pits(&self) -> usize {
        self.rows as usize
    }

    /// The units that the logbook is kept in.
    #[must_use]
    pub fn units(&self) -> Units {
        let pits = self.tables[place(&PITS)].as_ref();
        if pits.is_some_and(|pits| crate::pits::is_metric(&pits.header)) { Units::Si } else { Units::Us }
    }

    /// Goes through the whole logbook once, so that no walk after it can end in [`WalkError::OutOfOrder`].
    ///
    /// # Errors
    /// [`WalkError`] if a file cannot be read on.
    pub fn find_order(&self, threads: NonZeroUsize) -> Result<(), WalkError> {
        if self.whole.is_some() || self.is_out_of_order.load(Ordering::Relaxed) {
            return Ok(());
        }
        let go_on = |(), _| ControlFlow::Continue(());
        match self.walk_tables([true; TABLE_COUNT], (threads, None), |_| (), go_on) {
            Err(WalkError::OutOfOrder) => Ok(()),
            walked => walked,
        }
    }

    /// Reads every pit with `threads` threads, `map`s stretches of neighbouring pits there, and hands the results to `sink` on
    /// the calling thread, in the order of `pits.csv`. The results do not depend on the number of threads; where the order is cut
    /// into stretches is not laid down.
    ///
    /// # Errors
    /// [`WalkError::OutOfOrder`] after some stretches, at most once: start again, then the tables are sorted first.
    /// Never after [`Fleet::find_order`]. Else what cannot be read or written.
    pub fn walk<T: Send>(
        &self,
        threads: NonZeroUsize,
        map: impl Fn(&Stretch) -> T + Sync,
        mut sink: impl FnMut(T) -> ControlFlow<()>,
    ) -> Result<Findings, WalkError> {
        if let Some(logbook) = &self.whole {
            let _ =
                sink(map(&Stretch { entries: logbook.entries().to_vec(), found: batch::BatchFound::none() }));
            return Ok(Findings::of_whole(logbook));
        }
        let mut gathering = Gathering::default();
        let listings = Listings::default();
        self.walk_tables([true; TABLE_COUNT], (threads, Some(&listings)), map, |result, found| {
            gathering.add(found, &listings);
            sink(result)
        })?;
        if gathering.has_no_pit() {
            // What is then said of the rows of the other tables is for the reader of the whole to say.
            let whole = Logbook::read(&self.folder, self.days.today, self.days.as_of)?;
            return Ok(Findings::of_whole(&whole));
        }
        gathering.finish(self)
    }

    /// The [typical load ratio](Logbook::typical_load_ratio), from a walk over `pits.csv` and `occupancy.csv`.
    ///
    /// # Errors
    /// [`WalkError`] if a file cannot be read on.
    pub fn typical_load_ratio(&self, threads: NonZeroUsize) -> Result<Option<f64>, WalkError> {
        if let Some(logbook) = &self.whole {
            return Ok(logbook.typical_load_ratio());
        }
        let of_pit = |entry: &Entry| match entry {
            Entry::Pit(pit) => LoadRatios::of(pit, self.days.as_of),
            Entry::Rejected(_) => None,
        };
        let of_stretch =
            |stretch: &Stretch| stretch.entries().iter().filter_map(of_pit).collect::<Vec<f64>>();
        loop {
            let mut wanted = [false; TABLE_COUNT];
            wanted[place(&PITS)] = true;
            wanted[place(&OCCUPANCY)] = true;
            let mut ratios = LoadRatios::default();
            let walked = self.walk_tables(wanted, (threads, None), of_stretch, |more, _| {
                more.into_iter().for_each(|ratio| ratios.add(ratio));
                ControlFlow::Continue(())
            });
            match walked {
                Err(WalkError::OutOfOrder) => {}
                other => return other.map(|()| ratios.typical()),
            }
        }
    }

    /// A prior with the typical load ratio of the logbook, unless the prior gives one other than the default.
    ///
    /// # Errors
    /// [`WalkError`] if a file cannot be read on.
    pub fn at_own_load(
        &self,
        prior: PopulationPrior,
        threads: NonZeroUsize,
    ) -> Result<PopulationPrior, WalkError> {
        Ok(at_load(prior, self.typical_load_ratio(threads)?))
    }

    fn walk_tables<T: Send>(
        &self,
        wanted: [bool; TABLE_COUNT],
        (threads, listings): (NonZeroUsize, Option<&Listings>),
        map: impl Fn(&Stretch) -> T + Sync,
        mut sink: impl FnMut(T, batch::BatchFound) -> ControlFlow<()>,
    ) -> Result<(), WalkError> {
        let mut batches = self.batches(wanted)?;
        let mut is_out_of_order = false;
        let mut walked = workers::in_order(
            threads,
            |done| batches.next(done),
            |batch, tools: &mut batch::Tools| {
                let stretch = self.read_batch(batch, listings, tools);
                let result = map(&stretch);
                (result, tools.take_back(stretch))
            },
            |(result, found)| {
                is_out_of_order = found.is_out_of_order;
                if is_out_of_order { ControlFlow::Break(()) } else { sink(result, found) }
            },
        );
        if is_out_of_order {
            walked = Err(WalkError::OutOfOrder);
        }
        if matches!(walked, Err(WalkError::OutOfOrder)) {
            self.is_out_of_order.store(true, Ordering::Relaxed);
        }
        walked
    }

    fn batches(&self, wanted: [bool; TABLE_COUNT]) -> Result<Batches<'_>, WalkError> {
        if self.is_out_of_order.load(Ordering::Relaxed) {
            Partitions::split(self, wanted).map(Batches::Partitions)
        } else {
            LockStep::new(self, wanted).map(Box::new).map(Batches::LockStep)
        }
    }

    fn open_tables(&self, wanted: [bool; TABLE_COUNT]) -> Result<[Option<RawRows>; TABLE_COUNT], WalkError> {
        let mut tables = [const { None }; TABLE_COUNT];
        for (place, rows) in tables.iter_mut().enumerate().filter(|(place, _)| wanted[*place]) {
            *rows = self.rows_of(place).map_err(|source| self.unreadable(place, source))?;
        }
        Ok(tables)
    }

    fn rows_of(&self, place: usize) -> io::Result<Option<RawRows>> {
        let Some(table) = &self.tables[place] else { return Ok(None) };
        let mut file = File::open(self.folder.join(TABLES[place].file))?;
        file.seek(SeekFrom::Start(table.rows_at))?;
        RawRows::new(Box::new(file), table.next_line, table.pit_id_column()).map(Some)
    }

    /// Where `pits.csv` names the pit.
    fn pit_id_column(&self) -> usize {
        self.tables[place(&PITS)].as_ref().map_or(0, FileOfTable::pit_id_column)
    }

    fn unreadable(&self, place: usize, source: io::Error) -> WalkError {
        LogbookError::Unreadable { path: self.folder.join(TABLES[place].file), source }.into()
    }
}

impl FileOfTable {
    fn open(file: impl Read, table: &'static Table, problems: &mut Problems) -> io::Result<Option<Self>> {
        let mut reader = RecordReader::new(file);
        let header = read_header(&mut reader, &mut Record::default(), table, problems)?;
        Ok(header.map(|header| Self { header, rows_at: reader.offset(), next_line: reader.next_line() }))
    }

    fn pit_id_column(&self) -> usize {
        self.header.index(PIT_ID).unwrap_or_default()
    }
}

/// Where batches come from.
enum Batches<'f> {
    LockStep(Box<LockStep<'f>>),
    Partitions(Partitions),
}

impl Batches<'_> {
    /// The next batch, in the memory of one that is done with; none at the end.
    fn next(&mut self, done: batch::Batch) -> Result<Option<batch::Batch>, WalkError> {
        match self {
            Self::LockStep(tables) => tables.next(done),
            Self::Partitions(files) => files.next(done),
        }
    }
}

/// The place of a table in [`TABLES`].
fn place(table: &Table) -> usize {
    TABLES.iter().position(|other| other.file == table.file).unwrap_or_default()
}

#[cfg(test)]
mod tests;
