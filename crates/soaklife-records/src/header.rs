//! The header of a table: where each column stands and in which unit, or what is wrong with it.

use crate::field;
use crate::measure::Unit;
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted};
use crate::record::{Flaw, Record, RecordReader};
use crate::schema::{Column, Kind, Table};
use std::collections::HashSet;
use std::io::{self, Read};

/// Where the columns of a table stand in a file.
#[derive(Debug)]
pub(crate) struct Header {
    table: &'static Table,
    /// For each column of the table: its place in the row and its unit.
    places: Vec<Option<Located>>,
    /// The names as they stand in the file.
    names: Vec<String>,
    /// The places of columns that the table does not know.
    further: Vec<usize>,
}

#[derive(Debug, Clone, Copy)]
struct Located {
    index: usize,
    unit: Option<Unit>,
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

/// Reads and understands the header; none if no row of the file can be used, which has been said.
pub(crate) fn read_header(
    reader: &mut RecordReader<'_, impl Read>,
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
    if record.flaw() == Some(Flaw::TooLong) {
        problems.error(Place::line(line), None, Fault::no_line_end());
        return Ok(None);
    }
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
        let mut header = Self { table, places: vec![None; table.columns.len()], names, further: Vec::new() };
        let mut flawed = vec![false; table.columns.len()];
        let mut sound = true;
        let mut capitals_said = false;
        let known: Vec<String> = table.columns.iter().flat_map(full_names).collect();
        let names = header.names.clone();
        let present: HashSet<&str> = names.iter().map(String::as_str).collect();
        for (index, name) in names.iter().enumerate() {
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
                Meaning::Extra => Self::hint_at_slip(name, (&present, &known), place, problems),
            }
        }
        if header.places.iter().all(Option::is_none) && !flawed.contains(&true) {
            problems.error(Place::line(line), None, header.no_header());
            return None;
        }
        sound &= header.has_what_it_must(&flawed, line, problems);
        header.find_further();
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
    fn hint_at_slip(
        name: &str,
        (names, known): (&HashSet<&str>, &[String]),
        place: Place,
        problems: &mut Problems,
    ) {
        if let Some(near) = field::nearest(name, known.iter().map(String::as_str)) {
            if names.contains(near) {
                return;
            }
            let message = format!("column {} is not known and not used: was {near} meant?", quoted(name));
            problems.warning(place, None, Fault::new(ProblemKind::MisspeltColumn, message));
        }
    }

    /// What the values of a column are.
    pub(crate) fn kind(&self, column: usize) -> Option<Kind> {
        self.table.columns.get(column).map(|column| column.kind)
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
    pub(crate) fn is_free_text(&self, index: usize) -> bool {
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
        self.further.iter().filter_map(|&index| Some((index, self.names.get(index)?.as_str())))
    }

    fn find_further(&mut self) {
        let known = |index: usize| self.places.iter().flatten().any(|located| located.index == index);
        let names = self.names.iter().enumerate();
        self.further = names
            .filter(|(index, name)| !known(*index) && !name.is_empty())
            .map(|(index, _)| index)
            .collect();
    }

    pub(crate) fn name(&self, column: usize) -> &str {
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

/// Units that people write and the tables do not have. Any other ending makes an extra column, as in `length_note`.
const FOREIGN_UNITS: [&str; 28] = [
    "inch", "inches", "feet", "foot", "yd", "yard", "yards", "mm", "cms", "dm", "km", "mtr", "meter",
    "meters", "metre", "metres", "gals", "gallon", "gallons", "ltr", "liter", "liters", "litre", "litres",
    "gpm", "lpm", "lps", "cfs",
];

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
        let foreign_unit = suffix.is_some_and(|suffix| FOREIGN_UNITS.contains(&suffix));
        if after.is_empty() || unit.is_some() || foreign_unit {
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
