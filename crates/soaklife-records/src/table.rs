//! A table on disk: its header understood once, then its rows one by one, never all at once.

use crate::field;
use crate::measure::Unit;
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted};
use crate::record::{Flaw, Record, RecordReader, RecordText};
use crate::schema::{Column, Kind, Table};
use jiff::civil::DateTime;
use soaklife::date::PartialDate;
use soaklife::quantity::{Length, Volume, VolumeRate};
use std::io::{self, Read};

/// Where the columns of a table stand in a file.
#[derive(Debug)]
pub(crate) struct Header {
    table: &'static Table,
    /// For each column of the table: its place in the row and its unit.
    places: Vec<Option<Located>>,
    /// The names as they stand in the file.
    names: Vec<String>,
}

#[derive(Debug, Clone, Copy)]
struct Located {
    index: usize,
    unit: Option<Unit>,
}

/// What a file turned out to be.
#[derive(Debug)]
pub(crate) enum Outcome {
    /// A table with this header.
    Table { header: Header },
    /// Nothing that could be used; why has been said.
    Unusable,
}

/// Reads a table, handing every sound row to `each` and saying what is wrong with the others.
pub(crate) fn read_table(
    source: impl Read,
    table: &'static Table,
    problems: &mut Problems,
    mut each: impl FnMut(Row<'_>, &mut Problems),
) -> io::Result<Outcome> {
    let mut reader = RecordReader::new(source);
    let mut record = Record::default();
    let Some(header) = read_header(&mut reader, &mut record, table, problems)? else {
        return Ok(Outcome::Unusable);
    };
    let mut blank_said = false;
    while reader.read(&mut record)? {
        if record.flaw() == Some(Flaw::TooLong) {
            let message = "no line end for 16 MB: the rest of the file cannot be read; is it a table at all?";
            problems.error(Place::line(record.line()), None, Fault::new(ProblemKind::NotCsv, message));
            break;
        }
        let as_wide_as_any = record.len() == header.width() || record.len() == 1;
        if as_wide_as_any && record.fields().all(|field| field.trim_ascii().is_empty()) {
            if !blank_said {
                let message = "a row of empty fields; this one and any other are passed over";
                problems.warning(
                    Place::line(record.line()),
                    None,
                    Fault::new(ProblemKind::BlankRow, message),
                );
            }
            blank_said = true;
            continue;
        }
        read_text_as_it_can_be(&mut record, &header, problems);
        if let Some(text) = sound_record(&record, &header, problems) {
            each(Row { text, header: &header }, problems);
        }
    }
    Ok(Outcome::Table { header })
}

/// Files that are no comma-separated UTF-8 at all, by their first bytes.
fn not_text(first: &[u8]) -> Option<Fault> {
    let message = match first {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "the file is UTF-16: save it as CSV UTF-8",
        [b'P', b'K', 3, 4] => "the file is a spreadsheet or a zip archive, not CSV: save it as CSV UTF-8",
        _ => return None,
    };
    Some(Fault::new(ProblemKind::NotCsv, message))
}

/// Understands the header of a table without reading its rows.
pub(crate) fn read_header_of(
    source: impl Read,
    table: &'static Table,
    problems: &mut Problems,
) -> io::Result<Option<Header>> {
    read_header(&mut RecordReader::new(source), &mut Record::default(), table, problems)
}

fn read_header(
    reader: &mut RecordReader<impl Read>,
    record: &mut Record,
    table: &'static Table,
    problems: &mut Problems,
) -> io::Result<Option<Header>> {
    if let Some(fault) = not_text(reader.peek(4)?) {
        problems.error(Place::line(1), None, fault);
        return Ok(None);
    }
    if reader.peek(3)? == b"\xef\xbb\xbf" {
        reader.skip(3);
    }
    let mut found = reader.read(record)?;
    if found && record.field(0).to_ascii_lowercase().starts_with(b"sep=") {
        let message = "the line \"sep=\" is passed over; it is no part of a CSV file";
        problems.warning(Place::line(record.line()), None, Fault::new(ProblemKind::Header, message));
        found = reader.read(record)?;
    }
    if !found {
        let message = format!(
            "there is no header; the first line must name the columns, at least {}",
            required_names(table)
        );
        problems.error(Place::line(1), None, Fault::new(ProblemKind::Header, message));
        return Ok(None);
    }
    let line = record.line();
    let Ok(text) = record.text() else {
        let message = "the header is not UTF-8: save the file as CSV UTF-8";
        problems.error(Place::line(line), None, Fault::new(ProblemKind::NotUtf8, message));
        return Ok(None);
    };
    let names: Vec<String> = (0..record.len()).map(|index| text.field(index).to_owned()).collect();
    Ok(Header::understand(table, names, line, problems))
}

fn required_names(table: &Table) -> String {
    let name = |column: &Column| match column.kind.dimension() {
        Some(_) => format!("{} (with {})", column.name, column.kind.suffixes().replace(' ', ", ")),
        None => column.name.to_owned(),
    };
    table.columns.iter().filter(|column| column.required).map(name).collect::<Vec<_>>().join(", ")
}

/// What a name in a header stands for.
enum Meaning {
    Column {
        column: usize,
        unit: Option<Unit>,
    },
    /// A quantity without a unit, or with one that does not fit.
    BadUnit {
        column: usize,
        fault: Fault,
    },
    Extra,
}

impl Header {
    fn understand(
        table: &'static Table,
        names: Vec<String>,
        line: u64,
        problems: &mut Problems,
    ) -> Option<Self> {
        let mut header = Self { table, places: vec![None; table.columns.len()], names };
        let mut flawed = vec![false; table.columns.len()];
        let mut sound = true;
        let mut capitals_said = false;
        for (index, name) in header.names.clone().iter().enumerate() {
            let place = Place::field(line, index as u64 + 1);
            let lower = name.to_ascii_lowercase();
            match meaning(table, &lower) {
                Meaning::Column { column, unit } => {
                    if let Some(first) = header.places[column] {
                        problems.error(place, None, header.twice(column, first.index, index));
                        sound = false;
                    }
                    if lower != *name && !capitals_said {
                        let message =
                            format!("{} is read as {lower}: column names are lower case", quoted(name));
                        problems.warning(place, None, Fault::new(ProblemKind::Capitals, message));
                        capitals_said = true;
                    }
                    header.places[column] = Some(Located { index, unit });
                }
                Meaning::BadUnit { column, fault } => {
                    problems.error(place, None, fault);
                    flawed[column] = true;
                    sound = false;
                }
                Meaning::Extra => header.hint_at_slip(name, place, problems),
            }
        }
        if header.places.iter().all(Option::is_none) && !flawed.contains(&true) {
            problems.error(Place::line(line), None, header.no_header());
            return None;
        }
        sound &= header.has_what_it_must(&flawed, line, problems);
        sound.then_some(header)
    }

    fn twice(&self, column: usize, first: usize, second: usize) -> Fault {
        let (a, b) = (&self.names[first], &self.names[second]);
        let stem = self.table.columns[column].name;
        let message = format!(
            "columns {} ({a}) and {} ({b}) both give {stem}: keep one. No row of the file is used",
            first + 1,
            second + 1
        );
        Fault::new(ProblemKind::DuplicateColumn, message)
    }

    fn no_header(&self) -> Fault {
        let only = self.names.first().map_or("", String::as_str);
        for (separator, word) in [(';', "semicolons"), ('\t', "tabs")] {
            if self.names.len() <= 2 && only.contains(separator) {
                let message = format!(
                    "columns are separated by {word}: save the file with commas. No row of it is used"
                );
                return Fault::new(ProblemKind::Separator, message);
            }
        }
        let message = format!(
            "this line is not a header ({}): line 1 must name the columns, at least {}. No row of the file is used",
            quoted(only),
            required_names(self.table)
        );
        Fault::new(ProblemKind::Header, message)
    }

    fn has_what_it_must(&self, flawed: &[bool], line: u64, problems: &mut Problems) -> bool {
        let mut complete = true;
        for (index, column) in self.table.columns.iter().enumerate() {
            if column.required && self.places[index].is_none() && !flawed[index] {
                let suffixes = column.kind.suffixes();
                let units = if suffixes.is_empty() { String::new() } else { format!(" (with {suffixes})") };
                let message = format!("column {}{units} is missing. No row of the file is used", column.name);
                problems.error(Place::line(line), None, Fault::new(ProblemKind::MissingColumn, message));
                complete = false;
            }
        }
        complete
    }

    /// A column nobody knows is kept and ignored; if it is nearly one that is missing, that is said.
    fn hint_at_slip(&self, name: &str, place: Place, problems: &mut Problems) {
        let known: Vec<String> = self.table.columns.iter().flat_map(full_names).collect();
        if let Some(near) = field::nearest(name, known.iter().map(String::as_str)) {
            if self.names.iter().any(|other| other == near) {
                return;
            }
            let message = format!("column {} is not known and not used: was {near} meant?", quoted(name));
            problems.warning(place, None, Fault::new(ProblemKind::MisspeltColumn, message));
        }
    }

    /// Whether the file has the column.
    pub(crate) fn has(&self, column: usize) -> bool {
        self.places.get(column).is_some_and(Option::is_some)
    }

    /// The unit of a column of the file.
    pub(crate) fn unit(&self, column: usize) -> Option<Unit> {
        self.places.get(column).copied().flatten()?.unit
    }

    /// The place of a column in a row.
    pub(crate) fn index(&self, column: usize) -> Option<usize> {
        Some(self.places.get(column).copied().flatten()?.index)
    }

    /// Whether a place in a row holds free text: a column of texts, or one that the table does not know.
    fn is_free_text(&self, index: usize) -> bool {
        let holds = |located: &Option<Located>| located.is_some_and(|located| located.index == index);
        let column = self.places.iter().position(holds).and_then(|column| self.table.columns.get(column));
        column.is_none_or(|column| column.kind == Kind::Text)
    }

    /// The number of fields in a row.
    pub(crate) fn width(&self) -> usize {
        self.names.len()
    }

    /// The columns that the table does not know, by place and name.
    pub(crate) fn further(&self) -> impl Iterator<Item = (usize, &str)> {
        let known = |index: usize| self.places.iter().flatten().any(|located| located.index == index);
        let names = self.names.iter().enumerate().map(|(index, name)| (index, name.as_str()));
        names.filter(move |(index, name)| !known(*index) && !name.is_empty())
    }

    fn name(&self, column: usize) -> &str {
        let located = self.places.get(column).copied().flatten();
        let in_file = located.and_then(|located| self.names.get(located.index));
        in_file
            .map_or_else(|| self.table.columns.get(column).map_or("", |column| column.name), String::as_str)
    }
}

/// Every name that a column can have.
fn full_names(column: &Column) -> Vec<String> {
    match column.kind.dimension() {
        None => vec![column.name.to_owned()],
        Some(dimension) => Unit::ALL
            .iter()
            .filter(|unit| unit.dimension() == dimension)
            .map(|unit| format!("{}_{}", column.name, unit.suffix()))
            .collect(),
    }
}

fn meaning(table: &Table, name: &str) -> Meaning {
    for (index, column) in table.columns.iter().enumerate() {
        let Some(after) = name.strip_prefix(column.name) else { continue };
        let Some(dimension) = column.kind.dimension() else {
            if after.is_empty() {
                return Meaning::Column { column: index, unit: None };
            }
            continue;
        };
        let suffix = after.strip_prefix('_');
        let unit = suffix.and_then(Unit::of_suffix);
        if let Some(unit) = unit.filter(|unit| unit.dimension() == dimension) {
            return Meaning::Column { column: index, unit: Some(unit) };
        }
        let looks_like_a_unit = suffix.is_some_and(|suffix| suffix.len() <= 4 && !suffix.is_empty());
        if after.is_empty() || unit.is_some() || looks_like_a_unit {
            return Meaning::BadUnit { column: index, fault: unit_fault(column, name, suffix) };
        }
    }
    Meaning::Extra
}

fn unit_fault(column: &Column, name: &str, suffix: Option<&str>) -> Fault {
    let wrong = match suffix {
        None => "has no unit".to_owned(),
        Some(suffix) => format!("ends in a unit that is not understood here ({})", quoted(suffix)),
    };
    let suffixes = column.kind.suffixes();
    let message = format!(
        "column {} {wrong}: end its name in one of {suffixes}. No row of the file is used",
        quoted(name)
    );
    Fault::new(ProblemKind::UnitOfColumn, message)
}

/// Free text that is not UTF-8 is no reason to lose the row: its unreadable bytes are replaced, and that is said.
fn read_text_as_it_can_be(record: &mut Record, header: &Header, problems: &mut Problems) {
    let Err(index) = record.text() else { return };
    let unreadable = |index: usize| std::str::from_utf8(record.field(index)).is_err();
    if (0..record.len()).filter(|&index| unreadable(index)).any(|index| !header.is_free_text(index)) {
        return;
    }
    let fault = not_utf8(record.field(index)).so("Read as far as it can be");
    problems.warning(Place::field(record.line(), index as u64 + 1), None, fault);
    record.replace_unreadable();
}

/// The record as text, unless its quotes, its length or its encoding keep it from being a row.
fn sound_record<'r>(record: &'r Record, header: &Header, problems: &mut Problems) -> Option<RecordText<'r>> {
    let line = record.line();
    match record.flaw() {
        Some(Flaw::NeverClosed { field, line: opened, last_line }) => {
            let message = format!(
                "a quote opened here is never closed: everything from line {opened} to the end of the file (line {last_line}) \
                 was swallowed and is left out; close it, or double the quotes inside the text"
            );
            let place = Place::field(opened, field as u64 + 1);
            problems.error(place, None, Fault::new(ProblemKind::Quoting, message));
            return None;
        }
        Some(Flaw::TextAfterQuote { field }) => {
            let message = "text follows a closing quote; read as it stands";
            problems.warning(
                Place::field(line, field as u64 + 1),
                None,
                Fault::new(ProblemKind::Quoting, message),
            );
        }
        Some(Flaw::TooLong) | None => {}
    }
    if record.len() != header.width() {
        let hint = if record.len() > header.width() {
            ": is there a comma in a text that is not in quotes?"
        } else {
            ""
        };
        let message = format!("{} fields where the header has {}{hint}", record.len(), header.width());
        problems.error(
            Place::line(line),
            None,
            Fault::new(ProblemKind::RaggedRow, message).so("Row left out"),
        );
        return None;
    }
    record
        .text()
        .map_err(|index| {
            problems.error(
                Place::field(line, index as u64 + 1),
                None,
                not_utf8(record.field(index)).so("Row left out"),
            )
        })
        .ok()
}

fn not_utf8(field: &[u8]) -> Fault {
    let at = std::str::from_utf8(field).map_or_else(|error| error.valid_up_to(), |text| text.len());
    let byte = field.get(at).copied().unwrap_or_default();
    let read = quoted(&String::from_utf8_lossy(field));
    let message = format!("{read} is not UTF-8 (byte {byte:02X}): save the file as CSV UTF-8");
    Fault::new(ProblemKind::NotUtf8, message)
}

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'r> {
    text: RecordText<'r>,
    header: &'r Header,
}

impl<'r> Row<'r> {
    /// The value of a column without the spaces around it; empty if the file lacks the column.
    pub(crate) fn raw(self, column: usize) -> &'r str {
        self.header.index(column).map_or("", |index| self.text.field(index))
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

    /// Says something about a column that can still be used.
    pub(crate) fn warning(&mut self, column: usize, kind: ProblemKind, message: String) {
        self.problems.warning(self.row.place(column), Some(self.pit_id), Fault::new(kind, message));
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

    pub(crate) fn time(&mut self, column: usize) -> Option<DateTime> {
        self.value(column, field::time)
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
        let Some(Kind::Word(words)) = self.row.header.table.columns.get(column).map(|column| column.kind)
        else {
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
