//! One row of a table, taken apart: every value, or what is wrong with it and what becomes of the row.

use crate::field;
use crate::header::Header;
use crate::pits::{Lookup, Pits};
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted, shown};
use crate::record::RecordText;
use crate::schema::Kind;
use jiff::civil::{Date, DateTime};
use soaklife::date::PartialDate;
use soaklife::quantity::{Length, Volume, VolumeRate};

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'r> {
    text: RecordText<'r>,
    header: &'r Header,
}

impl<'r> Row<'r> {
    pub(crate) fn new(text: RecordText<'r>, header: &'r Header) -> Self {
        Self { text, header }
    }

    /// The value of a column without the spaces around it; empty if the file lacks the column.
    pub(crate) fn raw(self, column: usize) -> &'r str {
        self.header.index(column).map_or("", |index| self.text.field(index))
    }

    /// A value as a message may show it: shortened, and nothing raw to a terminal.
    pub(crate) fn said(self, column: usize) -> String {
        shown(self.raw(column))
    }

    /// The value of a column that the table does not know.
    pub(crate) fn further(self, index: usize) -> &'r str {
        self.text.field(index)
    }

    pub(crate) fn header(self) -> &'r Header {
        self.header
    }

    pub(crate) fn line(self) -> u64 {
        self.text.line()
    }

    pub(crate) fn name(self, column: usize) -> &'r str {
        self.header.name(column)
    }

    pub(crate) fn place(self, column: usize) -> Place {
        match self.header.index(column) {
            Some(index) => Place::field(self.line(), index as u64 + 1),
            None => Place::line(self.line()),
        }
    }

    /// Begins to take apart a row that should belong to a pit: the pit's place, if there is one, and the check.
    pub(crate) fn check_of_pit<'p>(
        self,
        pit_id: usize,
        lookup: Lookup<'_>,
        pits: &Pits,
        problems: &'p mut Problems,
        consequence: &'static str,
    ) -> (Option<usize>, Check<'r, 'p>)
    where
        'r: 'p,
    {
        let id = self.raw(pit_id);
        let mut check = self.check(problems, id, consequence);
        let place = match lookup {
            Lookup::Sound(place, _) => Some(place),
            _ if id.is_empty() => {
                check.missing(pit_id);
                None
            }
            _ => {
                check.say(pit_id, pits.unknown(self.name(pit_id), id));
                if pits.is_part() {
                    check.problems.stray(self.line(), id);
                }
                None
            }
        };
        (place, check)
    }

    /// Begins to take the values of the row apart, saying of each fault what becomes of it.
    pub(crate) fn check<'p>(
        self,
        problems: &'p mut Problems,
        pit_id: &'p str,
        consequence: &'static str,
    ) -> Check<'r, 'p> {
        Check { row: self, problems, pit_id, consequence, sound: true }
    }
}

/// A row being taken apart: every fault is said, and whether there was one is kept.
pub(crate) struct Check<'r, 'p> {
    row: Row<'r>,
    problems: &'p mut Problems,
    pit_id: &'p str,
    consequence: &'static str,
    sound: bool,
}

impl Check<'_, '_> {
    /// Whether no fault has been found.
    pub(crate) fn is_sound(&self) -> bool {
        self.sound
    }

    /// From now on faults have another consequence.
    pub(crate) fn otherwise(&mut self, consequence: &'static str) {
        self.consequence = consequence;
    }

    /// Says a fault of a column.
    pub(crate) fn fault(&mut self, column: usize, kind: ProblemKind, message: String) {
        self.say(column, Fault::new(kind, message));
    }

    /// The same, put in words only if it is listed.
    pub(crate) fn fault_of(&mut self, column: usize, kind: ProblemKind, message: impl FnOnce() -> String) {
        let fault = || Fault::new(kind, message()).so(self.consequence);
        self.problems.error_of(self.row.place(column), Some(self.pit_id), fault);
        self.sound = false;
    }

    /// Says something about a column that can still be used.
    pub(crate) fn warning(&mut self, column: usize, kind: ProblemKind, message: String) {
        self.warning_of(column, kind, || message);
    }

    /// The same, put in words only if it is listed.
    pub(crate) fn warning_of(&mut self, column: usize, kind: ProblemKind, message: impl FnOnce() -> String) {
        let fault = || Fault::new(kind, message());
        self.problems.warning_of(self.row.place(column), Some(self.pit_id), fault);
    }

    fn say(&mut self, column: usize, fault: Fault) {
        self.problems.error(self.row.place(column), Some(self.pit_id), fault.so(self.consequence));
        self.sound = false;
    }

    fn value<T>(&mut self, column: usize, read: impl FnOnce(&str, &str) -> Result<T, Fault>) -> Option<T> {
        let raw = self.row.raw(column);
        if raw.is_empty() {
            return None;
        }
        read(self.row.name(column), raw).map_err(|fault| self.say(column, fault)).ok()
    }

    pub(crate) fn number(&mut self, column: usize) -> Option<f64> {
        self.value(column, field::number)
    }

    pub(crate) fn date(&mut self, column: usize) -> Option<PartialDate> {
        self.value(column, field::date)
    }

    /// A date that must be there and must not lie ahead.
    pub(crate) fn past_date(&mut self, column: usize, today: Date) -> Option<PartialDate> {
        if self.row.raw(column).is_empty() {
            self.missing(column);
        }
        let date = self.date(column)?;
        self.not_after(column, date.first(), today).then_some(date)
    }

    /// A day and time that must be there and must not lie ahead.
    pub(crate) fn past_time(&mut self, column: usize, today: Date) -> Option<DateTime> {
        if self.row.raw(column).is_empty() {
            self.missing(column);
        }
        let time = self.value(column, field::time)?;
        self.not_after(column, time.date(), today).then_some(time)
    }

    fn not_after(&mut self, column: usize, date: Date, today: Date) -> bool {
        if date > today {
            let message =
                format!("{} {} is later than today ({today})", self.row.name(column), self.row.said(column));
            self.fault(column, ProblemKind::LaterThanToday, message);
        }
        date <= today
    }

    /// Says that a value is negative, if it is.
    pub(crate) fn not_negative(&mut self, column: usize, value: Option<f64>) {
        if value.is_some_and(|value| value < 0.0) {
            let message = format!("{} {} is negative", self.row.name(column), self.row.said(column));
            self.fault(column, ProblemKind::OutOfRange, message);
        }
    }

    pub(crate) fn length(&mut self, column: usize) -> Option<Length> {
        let unit = self.row.header.unit(column)?;
        self.number(column).and_then(|value| unit.length(value))
    }

    pub(crate) fn flow(&mut self, column: usize) -> Option<VolumeRate> {
        let unit = self.row.header.unit(column)?;
        self.number(column).and_then(|value| unit.flow(value))
    }

    pub(crate) fn volume(&mut self, column: usize) -> Option<Volume> {
        let unit = self.row.header.unit(column)?;
        self.number(column).and_then(|value| unit.volume(value))
    }

    /// One of the words of a column, by its place among them.
    pub(crate) fn word(&mut self, column: usize) -> Option<usize> {
        let Some(Kind::Word(words)) = self.row.header.kind(column) else {
            return None;
        };
        let (place, capitals) = self.value(column, |name, raw| field::word(name, raw, words))?;
        if capitals {
            let message = format!(
                "{} {} is read as {}: words are lower case",
                self.row.name(column),
                quoted(self.row.raw(column)),
                words[place]
            );
            self.warning(column, ProblemKind::Capitals, message);
        }
        Some(place)
    }

    /// Says that a value is missing.
    pub(crate) fn missing(&mut self, column: usize) {
        let message = format!("{} is empty", self.row.name(column));
        self.fault(column, ProblemKind::MissingValue, message);
    }
}
