//! A table on disk, read row by row, never all at once.

use crate::header::{Header, read_header};
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted};
use crate::record::{Flaw, LineStart, Record, RecordReader, RecordText};
use crate::row::Row;
use crate::schema::Table;
use std::io::{self, Read};

/// What a file turned out to be.
#[derive(Debug)]
pub(crate) enum Outcome {
    /// A table with this header.
    Table { header: Header },
    /// Nothing that could be used; why has been said.
    Unusable,
}

/// Rows of a table, wherever they come from: a whole file, or [`Part`] of one whose header is known.
pub(crate) trait Rows: Sized {
    /// Hands every sound row to `taker` and says what is wrong with the others.
    fn hand_to(
        self,
        table: &'static Table,
        problems: &mut Problems,
        taker: &mut impl TakeRows,
    ) -> io::Result<()>;

    /// The same, to a function.
    fn each(
        self,
        table: &'static Table,
        problems: &mut Problems,
        each: impl FnMut(Row<'_>, &mut Problems),
    ) -> io::Result<()> {
        self.hand_to(table, problems, &mut ByFunction(each))
    }
}

/// Whoever takes the rows of a table.
pub(crate) trait TakeRows {
    /// Takes a row.
    fn take(&mut self, row: Row<'_>, problems: &mut Problems);

    /// Takes as many rows from the front as are so usual that nothing need be said about them, or no more than counted: how many
    /// bytes, and how many lines, each ended by LF or CR LF. The row after them is taken apart.
    fn take_usual(&mut self, _: RowsAtHand<'_>, _: &mut Problems) -> (usize, u64) {
        (0, 0)
    }
}

/// Rows not taken apart, the last of them perhaps not whole.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RowsAtHand<'r> {
    pub(crate) bytes: &'r [u8],
    /// The line of the first.
    pub(crate) line: u64,
    pub(crate) header: &'r Header,
}

struct ByFunction<F>(F);

impl<F: FnMut(Row<'_>, &mut Problems)> TakeRows for ByFunction<F> {
    fn take(&mut self, row: Row<'_>, problems: &mut Problems) {
        (self.0)(row, problems);
    }
}

impl<R: Read> Rows for R {
    fn hand_to(
        self,
        table: &'static Table,
        problems: &mut Problems,
        taker: &mut impl TakeRows,
    ) -> io::Result<()> {
        read_table(self, table, problems, taker).map(drop)
    }
}

/// Some rows of a table: parts of the file, each of whole records, set end to end.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part<'p> {
    pub(crate) header: &'p Header,
    pub(crate) bytes: &'p [u8],
    /// The line of the file on which each part starts.
    pub(crate) starts: &'p [LineStart],
}

impl Rows for Part<'_> {
    fn hand_to(
        self,
        _: &'static Table,
        problems: &mut Problems,
        taker: &mut impl TakeRows,
    ) -> io::Result<()> {
        let mut reader = RecordReader::of_part(self.bytes, self.starts);
        read_rows(&mut reader, &mut Record::default(), self.header, problems, taker)
    }
}

/// Reads a table, handing every sound row to `taker` and saying what is wrong with the others.
pub(crate) fn read_table(
    source: impl Read,
    table: &'static Table,
    problems: &mut Problems,
    taker: &mut impl TakeRows,
) -> io::Result<Outcome> {
    let mut reader = RecordReader::new(source);
    let mut record = Record::default();
    let Some(header) = read_header(&mut reader, &mut record, table, problems)? else {
        return Ok(Outcome::Unusable);
    };
    read_rows(&mut reader, &mut record, &header, problems, taker)?;
    Ok(Outcome::Table { header })
}

/// Reads the rows below a header.
fn read_rows(
    reader: &mut RecordReader<'_, impl Read>,
    record: &mut Record,
    header: &Header,
    problems: &mut Problems,
    taker: &mut impl TakeRows,
) -> io::Result<()> {
    let mut blank_said = false;
    loop {
        let (bytes, line) = reader.at_hand();
        let (bytes, lines) = taker.take_usual(RowsAtHand { bytes, line, header }, problems);
        reader.pass(bytes, lines);
        if !reader.read(record)? {
            break;
        }
        if record.flaw() == Some(Flaw::TooLong) {
            problems.error(Place::line(record.line()), None, Fault::no_line_end());
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
        read_text_as_it_can_be(record, header, problems);
        if let Some(text) = sound_record(record, header, problems) {
            taker.take(Row::new(text, header), problems);
        }
    }
    Ok(())
}

/// Free text that is not UTF-8 is no reason to lose the row: its unreadable bytes are replaced, and that is said.
fn read_text_as_it_can_be(record: &mut Record, header: &Header, problems: &mut Problems) {
    if record.is_ascii() {
        return;
    }
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
        Some(Flaw::TextAfterQuote { field }) if !header.is_free_text(field) => {
            let message = "text follows a closing quote: what is the value? Row left out";
            let place = Place::field(line, field as u64 + 1);
            problems.error(place, None, Fault::new(ProblemKind::Quoting, message));
            return None;
        }
        Some(Flaw::TextAfterQuote { field }) => {
            let message = "text follows a closing quote; the quotes are dropped and the rest is read";
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
