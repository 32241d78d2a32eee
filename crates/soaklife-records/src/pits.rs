//! `pits.csv`: one row a pit, and the index by which the other tables find theirs.

use crate::field;
use crate::fleet::Span;
use crate::header::Header;
use crate::pit_row::{Layout, PitRow, ROW_OUT, column};
use crate::problem::{Fault, Place, Problem, ProblemKind, Problems, Severity, quoted, shown};
use crate::row::Row;
use crate::schema::PITS;
use crate::settings::Settings;
use crate::table::{Outcome, Part, Rows as _, RowsAtHand, TakeRows, read_table};
use jiff::civil::Date;
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, HashMap};
use std::io::{self, Read};

/// After so many comparisons no more names are suggested: a file with thousands of strange identifiers is another's.
pub(crate) const MOST_COMPARED: usize = 1_000_000;

/// A pit whose row could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RejectedPit {
    pub(crate) id: String,
    pub(crate) line: u64,
    pub(crate) reason: String,
}

impl RejectedPit {
    /// Its identifier.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Why its row could not be used, in words.
    #[must_use]
    pub fn reason(&self) -> &str {
        &self.reason
    }
}

/// Every row of the file in order.
#[derive(Debug)]
pub(crate) enum PitEntry {
    Sound(PitRow),
    Rejected(RejectedPit),
}

/// The pits of a logbook, found by identifier.
#[derive(Debug, Default)]
pub(crate) struct Pits {
    pub(crate) entries: Vec<PitEntry>,
    places: HashMap<String, usize>,
    /// Names compared so far in search of what a mistyped identifier meant.
    compared: Cell<usize>,
    /// The place found last.
    last: Cell<usize>,
    pub(crate) metric: bool,
    /// Whether the file has other rows, which are not known here.
    is_part: bool,
    /// If identifiers rise from row to row in the file: where they must lie to belong here.
    span: Option<Span>,
    /// Unknown pits that other tables name and that do not lie there.
    beyond: RefCell<Vec<String>>,
    /// Names of pits that are done with: their memory serves for those to come.
    pub(crate) spare_names: Vec<String>,
}

/// Pits being taken from the rows of the file.
struct Taking<'p> {
    pits: &'p mut Pits,
    today: Date,
    settings: &'p Settings,
    /// Known once a row has been seen.
    layout: Option<Layout>,
}

impl TakeRows for Taking<'_> {
    fn take(&mut self, row: Row<'_>, problems: &mut Problems) {
        self.pits.take(row, self.today, self.settings, problems);
    }

    fn take_usual(&mut self, rows: RowsAtHand<'_>, _: &mut Problems) -> (usize, u64) {
        let layout = self.layout.get_or_insert_with(|| Layout::of(rows.header));
        let (mut bytes, mut lines) = (0, 0);
        while let Some((row, length)) = layout.usual(
            rows.bytes.get(bytes..).unwrap_or_default(),
            rows.line + lines,
            self.today,
            self.settings,
            &mut self.pits.spare_names,
        ) && self.pits.place(&row.id).is_none()
        {
            self.pits.push(PitEntry::Sound(row));
            bytes += length;
            lines += 1;
        }
        (bytes, lines)
    }
}

/// What an identifier of another table leads to.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Lookup<'p> {
    Sound(usize, &'p PitRow),
    Rejected(usize),
    Unknown,
}

impl Pits {
    pub(crate) fn read(
        source: impl Read,
        today: Date,
        settings: &Settings,
        problems: &mut Problems,
    ) -> io::Result<Self> {
        let mut pits = Self::default();
        let taking = &mut Taking { pits: &mut pits, today, settings, layout: None };
        let outcome = read_table(source, &PITS, problems, taking)?;
        if let Outcome::Table { header } = outcome {
            pits.metric = is_metric(&header);
            if pits.entries.is_empty() {
                let is_broken = |problem: &Problem| problem.severity == Severity::Error;
                let message = match problems.found().iter().any(is_broken) {
                    true => "none of the rows can be used: mend what is listed of them",
                    false => "there is no pit in the file: add one row a pit",
                };
                problems.error(Place::line(1), None, Fault::new(ProblemKind::NoRow, message));
            }
        }
        Ok(pits)
    }

    /// No pits yet of many; identifiers rise if it is known where they must lie. What other tables say of the other pits is
    /// not known here. The part before lends the memory of its list, which is empty, and of names that are done with.
    pub(crate) fn part_of_many(span: Option<Span>, before: Self) -> Self {
        let Self { entries, spare_names, .. } = before;
        Self { is_part: true, span, entries, spare_names, ..Self::default() }
    }

    /// Reads some rows of the file.
    pub(crate) fn read_part(
        &mut self,
        rows: Part<'_>,
        today: Date,
        settings: &Settings,
        problems: &mut Problems,
    ) -> io::Result<()> {
        self.metric = is_metric(rows.header);
        rows.hand_to(&PITS, problems, &mut Taking { pits: self, today, settings, layout: None })
    }

    fn take(&mut self, row: Row<'_>, today: Date, settings: &Settings, problems: &mut Problems) {
        let id = row.raw(column::PIT_ID);
        if id.is_empty() {
            row.check(problems, id, ROW_OUT).missing(column::PIT_ID);
            return;
        }
        if let Some(first) = self.place(id).and_then(|place| self.entries.get(place)) {
            let (line, consequence) = match first {
                PitEntry::Sound(row) => (row.line, "The row in that line is used, this one is left out"),
                PitEntry::Rejected(pit) => (pit.line, "Neither row is used"),
            };
            let message = format!("pit_id {} stands in line {line} already", quoted(id));
            let mut check = row.check(problems, id, consequence);
            check.fault(column::PIT_ID, ProblemKind::DuplicatePit, message);
            return;
        }
        let entry = match PitRow::parse(row, id, today, settings, problems) {
            Ok(sound) => PitEntry::Sound(sound),
            Err(reason) => PitEntry::Rejected(RejectedPit { id: id.to_owned(), line: row.line(), reason }),
        };
        self.push(entry);
    }

    fn push(&mut self, entry: PitEntry) {
        if self.span.is_none() {
            self.places.insert(entry.id().to_owned(), self.entries.len());
        }
        self.entries.push(entry);
    }

    fn place(&self, id: &str) -> Option<usize> {
        match &self.span {
            None => self.places.get(id).copied(),
            Some(_) if self.entries.last().is_some_and(|last| last.id() < id) => None,
            Some(_) => self.entries.binary_search_by(|entry| entry.id().cmp(id)).ok(),
        }
    }

    pub(crate) fn is_part(&self) -> bool {
        self.is_part
    }

    /// Pits that other tables name and that would stand elsewhere in the file, if they are in it.
    pub(crate) fn take_beyond(&self) -> Vec<String> {
        self.beyond.take()
    }

    pub(crate) fn lookup(&self, id: &str) -> Lookup<'_> {
        // Rows of one pit most often stand together, and the next pit's behind them.
        let last = self.last.get();
        let again = [last, last + 1]
            .into_iter()
            .find(|&near| self.entries.get(near).is_some_and(|pit| pit.id() == id));
        let place = again.or_else(|| self.place(id));
        self.last.set(place.unwrap_or_default());
        match place.and_then(|place| Some((place, self.entries.get(place)?))) {
            Some((place, PitEntry::Sound(row))) => Lookup::Sound(place, row),
            Some((place, PitEntry::Rejected(_))) => Lookup::Rejected(place),
            None => Lookup::Unknown,
        }
    }

    /// What is wrong with an identifier that no pit has.
    pub(crate) fn unknown(&self, name: &str, id: &str) -> Fault {
        let compared = self.compared.get();
        let near = (compared < MOST_COMPARED && !self.is_part)
            .then(|| nearest_pit(id, self.entries.iter().map(PitEntry::id)))
            .flatten();
        self.compared.set(compared.saturating_add(self.entries.len()));
        let hint = near.map_or(String::new(), hint_at);
        Fault::new(ProblemKind::UnknownPit, format!("{name} {} {NOT_IN_PITS}{hint}", quoted(id)))
    }
}

/// Rows of other tables whose pit was left out, or that have no pits at all: told once, not one by one.
#[derive(Debug, Default)]
pub(crate) struct Homeless {
    /// By the place of the pit.
    of_rejected: BTreeMap<usize, u64>,
    without_pits: u64,
}

impl Homeless {
    /// The pit of a row; none, and the row is counted, if nothing more need be said about it.
    pub(crate) fn lookup<'p>(&mut self, pits: &'p Pits, id: &str) -> Option<Lookup<'p>> {
        if pits.entries.is_empty() && !pits.is_part {
            self.without_pits += 1;
            return None;
        }
        let lookup = pits.lookup(id);
        let is_beyond = |span: &Span| !span.holds(id.as_bytes());
        if matches!(lookup, Lookup::Unknown) && pits.span.as_ref().is_some_and(is_beyond) {
            let mut beyond = pits.beyond.borrow_mut();
            if beyond.last().is_none_or(|last| last != id) {
                beyond.push(id.to_owned());
            }
        }
        if let Lookup::Rejected(place) = lookup {
            *self.of_rejected.entry(place).or_default() += 1;
            return None;
        }
        Some(lookup)
    }

    pub(crate) fn say(&self, pits: &Pits, problems: &mut Problems) {
        for (&place, &rows) in &self.of_rejected {
            let id = pits.entries.get(place).map_or("", PitEntry::id);
            let (rows, are) =
                if rows == 1 { ("1 row".to_owned(), "is") } else { (format!("{rows} rows"), "are") };
            let message = format!("{rows} of {} {are} not used, because the pit was left out", shown(id));
            problems.warning(Place::default(), Some(id), Fault::new(ProblemKind::PitLeftOut, message));
        }
        if self.without_pits > 0 {
            let rows = counted(self.without_pits, "row is", "rows are");
            let message = format!("{rows} not used, because pits.csv has no pit");
            problems.warning(Place::default(), None, Fault::new(ProblemKind::PitLeftOut, message));
        }
    }
}

/// "1 row is", "3 rows are".
pub(crate) fn counted(count: u64, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

impl PitEntry {
    pub(crate) fn id(&self) -> &str {
        match self {
            Self::Sound(row) => &row.id,
            Self::Rejected(pit) => &pit.id,
        }
    }
}

/// The end of what is said of an identifier that no pit has, before the pit that may have been meant.
pub(crate) const NOT_IN_PITS: &str = "is not in pits.csv";

pub(crate) fn hint_at(near: &str) -> String {
    format!(": was {} meant?", shown(near))
}

/// The pit that a mistyped identifier probably meant.
pub(crate) fn nearest_pit<'n>(id: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    field::nearest(id.trim_matches(|c: char| c.is_whitespace() || c == '\u{200b}'), names)
}

pub(crate) fn is_metric(header: &Header) -> bool {
    header.unit(column::INLET_DEPTH).is_some_and(crate::measure::Unit::is_metric)
}
