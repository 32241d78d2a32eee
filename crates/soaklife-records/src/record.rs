//! Records of comma-separated text exactly as RFC 4180 has them, in bounded memory.
//!
//! Our own reader, because messages need what the general one does not tell: the physical line on which a record
//! starts, whatever the line ends, and quotes that are never closed or closed too soon.

use memchr::{memchr_iter, memchr3};
use std::borrow::Cow;
use std::io::{self, ErrorKind, Read};

/// A record longer than this is not a row of any table, bytes.
pub(crate) const LONGEST_RECORD: usize = 16 << 20;

const CHUNK: usize = 64 << 10;

/// Splits a stream of bytes, or bytes at hand, into records.
#[derive(Debug)]
pub(crate) struct RecordReader<'b, R> {
    source: R,
    /// Borrowed where all bytes are at hand.
    buffer: Cow<'b, [u8]>,
    at: usize,
    filled: usize,
    /// Bytes of the source before those in the buffer.
    before: u64,
    line: u64,
    after_carriage_return: bool,
    /// Where in the source a new count of lines starts, and with which, the next one last.
    starts: Vec<LineStart>,
}

/// From this byte of a part of a file on, lines count from that one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct LineStart {
    pub(crate) offset: u64,
    pub(crate) line: u64,
}

/// The fields of one row, and where it starts.
#[derive(Debug, Default)]
pub(crate) struct Record {
    /// The fields without their quotes, each followed by a comma.
    bytes: Vec<u8>,
    /// Where in them each field ends.
    ends: Vec<usize>,
    line: u64,
    flaw: Option<Flaw>,
}

/// A record that is not as RFC 4180 wants it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Flaw {
    /// Text follows the closing quote of this field (counted from 0).
    TextAfterQuote { field: usize },
    /// The quote that opens this field, in this line, is never closed; the file ends in `last_line`.
    NeverClosed { field: usize, line: u64, last_line: u64 },
    /// The record is too long to be a row; nothing after it can be read.
    TooLong,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Between,
    FieldStart,
    Unquoted,
    Quoted { opened: u64 },
    QuoteSeen { opened: u64 },
    Complete,
}

impl<'b> RecordReader<'b, io::Empty> {
    /// Reads parts of a file, each of whole records, set end to end.
    pub(crate) fn of_part(bytes: &'b [u8], starts: &[LineStart]) -> Self {
        let starts = starts.iter().rev().copied().collect();
        Self { buffer: Cow::Borrowed(bytes), filled: bytes.len(), starts, ..Self::unread(io::empty()) }
    }
}

impl<R: Read> RecordReader<'_, R> {
    pub(crate) fn new(source: R) -> Self {
        Self { buffer: Cow::Owned(vec![0; CHUNK]), ..Self::unread(source) }
    }

    fn unread(source: R) -> Self {
        let buffer = Cow::Borrowed(&[][..]);
        let starts = Vec::new();
        Self { source, buffer, at: 0, filled: 0, before: 0, line: 1, after_carriage_return: false, starts }
    }

    /// How many bytes of the source have been consumed.
    pub(crate) fn offset(&self) -> u64 {
        self.before + self.at as u64
    }

    /// The line that comes next, and whether its first byte may still be the LF of the line end before it.
    pub(crate) fn next_line(&self) -> (u64, bool) {
        (self.line, self.after_carriage_return)
    }

    /// The first bytes of the source, up to `count`, without consuming them.
    pub(crate) fn peek(&mut self, count: usize) -> io::Result<&[u8]> {
        while self.filled < count && self.at == 0 {
            let read = self.read_behind(self.filled)?;
            if read == 0 {
                break;
            }
            self.filled += read;
        }
        let end = self.filled.min(self.at + count);
        Ok(self.buffer.get(self.at..end).unwrap_or_default())
    }

    /// Passes over the next `count` bytes that [`RecordReader::peek`] has shown.
    pub(crate) fn skip(&mut self, count: usize) {
        self.at = (self.at + count).min(self.filled);
    }

    /// Reads the next record; false at the end. Blank lines are passed over.
    pub(crate) fn read(&mut self, record: &mut Record) -> io::Result<bool> {
        record.bytes.clear();
        record.ends.clear();
        record.flaw = None;
        if self.read_plain(record) {
            return Ok(true);
        }
        let mut state = State::Between;
        let mut consumed = 0;
        while state != State::Complete {
            if self.at == self.filled {
                self.before += self.filled as u64;
                self.at = 0;
                self.filled = self.read_behind(0)?;
                if self.filled == 0 {
                    return Ok(self.finish(state, record));
                }
            }
            let before = self.at;
            state = self.scan(state, record);
            consumed = if state == State::Between { 0 } else { consumed + self.at - before };
            if consumed > LONGEST_RECORD {
                record.flaw = Some(Flaw::TooLong);
                return Ok(true);
            }
        }
        Ok(true)
    }

    /// Bytes at hand that begin with a record and are counted from this line on; none where that is not sure yet.
    pub(crate) fn at_hand(&self) -> (&[u8], u64) {
        let rest = &self.buffer[self.at..self.filled];
        let before_start =
            self.starts.last().map_or(u64::MAX, |start| start.offset.saturating_sub(self.before));
        let length = usize::try_from(before_start).unwrap_or(usize::MAX).saturating_sub(self.at);
        let is_sure = !self.after_carriage_return || rest.first() != Some(&b'\n');
        (if is_sure { &rest[..length.min(rest.len())] } else { &[] }, self.line)
    }

    /// Goes on behind some whole lines of them, each ended by LF or CR LF.
    pub(crate) fn pass(&mut self, bytes: usize, lines: u64) {
        self.line += lines;
        self.after_carriage_return &= bytes == 0;
        self.at += bytes;
    }

    /// The next record if the buffer holds it whole, it has no quotes, is not blank and ends in LF or CR LF.
    fn read_plain(&mut self, record: &mut Record) -> bool {
        let (rest, line) = self.at_hand();
        let Some(length) = memchr3(b'\n', b'\r', b'"', rest).filter(|&length| length > 0) else {
            return false;
        };
        let consumed = match (rest[length], rest.get(length + 1)) {
            (b'\n', _) => length + 1,
            (b'\r', Some(b'\n')) => length + 2,
            _ => return false,
        };
        record.bytes.extend_from_slice(&rest[..length]);
        record.ends.extend(memchr_iter(b',', &record.bytes));
        record.end_field();
        record.line = line;
        self.pass(consumed, 1);
        true
    }

    /// Fills the buffer from here on; nothing at the end of the source.
    fn read_behind(&mut self, filled: usize) -> io::Result<usize> {
        match &mut self.buffer {
            Cow::Borrowed(_) => Ok(0),
            Cow::Owned(buffer) => read_some(&mut self.source, &mut buffer[filled..]),
        }
    }

    /// Scans what the buffer holds, up to the end of the record.
    fn scan(&mut self, mut state: State, record: &mut Record) -> State {
        while let Some(&byte) = self.buffer[self.at..self.filled].first() {
            state = match state {
                State::Between if self.starts.last().is_some_and(|start| start.offset <= self.offset()) => {
                    self.line = self.starts.pop().map_or(self.line, |start| start.line);
                    self.after_carriage_return = false;
                    State::Between
                }
                State::Between if matches!(byte, b'\n' | b'\r') => {
                    self.take_line_end(byte);
                    State::Between
                }
                State::Between => {
                    record.line = self.line;
                    State::FieldStart
                }
                State::FieldStart if byte == b'"' => {
                    self.at += 1;
                    self.after_carriage_return = false;
                    State::Quoted { opened: self.line }
                }
                State::FieldStart | State::Unquoted => self.scan_unquoted(record),
                State::Quoted { opened } => self.scan_quoted(opened, record),
                State::QuoteSeen { opened } => self.after_quote(byte, opened, record),
                State::Complete => return state,
            };
        }
        state
    }

    fn scan_unquoted(&mut self, record: &mut Record) -> State {
        let rest = &self.buffer[self.at..self.filled];
        let length = rest.iter().position(|byte| matches!(byte, b',' | b'\n' | b'\r')).unwrap_or(rest.len());
        record.bytes.extend_from_slice(&rest[..length]);
        self.after_carriage_return = false;
        let separator = rest.get(length).copied();
        self.at += length;
        match separator {
            Some(byte) => self.end_field(byte, record),
            None => State::Unquoted,
        }
    }

    fn scan_quoted(&mut self, opened: u64, record: &mut Record) -> State {
        let rest = &self.buffer[self.at..self.filled];
        let length = rest.iter().position(|&byte| byte == b'"');
        let text = &rest[..length.unwrap_or(rest.len())];
        record.bytes.extend_from_slice(text);
        for &byte in text {
            let ends_line = byte == b'\r' || (byte == b'\n' && !self.after_carriage_return);
            self.line += u64::from(ends_line);
            self.after_carriage_return = byte == b'\r';
        }
        self.at += text.len() + usize::from(length.is_some());
        match length {
            Some(_) => {
                self.after_carriage_return = false;
                State::QuoteSeen { opened }
            }
            None => State::Quoted { opened },
        }
    }

    fn after_quote(&mut self, byte: u8, opened: u64, record: &mut Record) -> State {
        match byte {
            b'"' => {
                record.bytes.push(b'"');
                self.at += 1;
                State::Quoted { opened }
            }
            b',' | b'\n' | b'\r' => self.end_field(byte, record),
            _ => {
                let field = record.ends.len();
                record.flaw.get_or_insert(Flaw::TextAfterQuote { field });
                State::Unquoted
            }
        }
    }

    /// Ends a field at a separator and consumes it.
    fn end_field(&mut self, separator: u8, record: &mut Record) -> State {
        record.end_field();
        if separator == b',' {
            self.at += 1;
            return State::FieldStart;
        }
        self.take_line_end(separator);
        State::Complete
    }

    /// Consumes one byte of a line end: CR LF, LF and CR count as one line each.
    fn take_line_end(&mut self, byte: u8) {
        self.line += u64::from(byte == b'\r' || !self.after_carriage_return);
        self.after_carriage_return = byte == b'\r';
        self.at += 1;
    }

    /// What the end of the file makes of the record begun.
    fn finish(&self, state: State, record: &mut Record) -> bool {
        if state == State::Between {
            return false;
        }
        if let State::Quoted { opened } = state {
            let field = record.ends.len();
            record.flaw = Some(Flaw::NeverClosed { field, line: opened, last_line: self.line });
        }
        record.end_field();
        true
    }
}

/// Reads at least one byte unless the source is at its end, taking up again after an interruption.
fn read_some(source: &mut impl Read, buffer: &mut [u8]) -> io::Result<usize> {
    loop {
        match source.read(buffer) {
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            other => return other,
        }
    }
}

impl Record {
    fn end_field(&mut self) {
        self.ends.push(self.bytes.len());
        self.bytes.push(b',');
    }

    /// The number of fields.
    pub(crate) fn len(&self) -> usize {
        self.ends.len()
    }

    /// The physical line on which it starts, from 1.
    pub(crate) fn line(&self) -> u64 {
        self.line
    }

    /// What is wrong with its quotes or its length.
    pub(crate) fn flaw(&self) -> Option<Flaw> {
        self.flaw
    }

    /// The bytes of a field; none beyond the last.
    pub(crate) fn field(&self, index: usize) -> &[u8] {
        self.span(index).and_then(|(start, end)| self.bytes.get(start..end)).unwrap_or_default()
    }

    /// Its fields in order.
    pub(crate) fn fields(&self) -> impl Iterator<Item = &[u8]> {
        (0..self.len()).map(|index| self.field(index))
    }

    /// All its fields as text, or the first that is not UTF-8.
    pub(crate) fn text(&self) -> Result<RecordText<'_>, usize> {
        match std::str::from_utf8(&self.bytes) {
            Ok(text) => Ok(RecordText { text, record: self }),
            Err(_) => Err(self.fields().position(|field| std::str::from_utf8(field).is_err()).unwrap_or(0)),
        }
    }

    /// Whether it is text without asking for more.
    pub(crate) fn is_ascii(&self) -> bool {
        self.bytes.is_ascii()
    }

    /// Replaces the bytes that are not UTF-8, field by field.
    pub(crate) fn replace_unreadable(&mut self) {
        let mut readable = Self { line: self.line, flaw: self.flaw, ..Self::default() };
        for field in self.fields() {
            readable.bytes.extend_from_slice(String::from_utf8_lossy(field).as_bytes());
            readable.end_field();
        }
        *self = readable;
    }

    fn span(&self, index: usize) -> Option<(usize, usize)> {
        let end = *self.ends.get(index)?;
        let start = if index == 0 { 0 } else { *self.ends.get(index - 1)? + 1 };
        Some((start, end))
    }
}

/// The fields of a record as text.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RecordText<'r> {
    text: &'r str,
    record: &'r Record,
}

impl<'r> RecordText<'r> {
    /// A field without the spaces around it; empty beyond the last.
    pub(crate) fn field(self, index: usize) -> &'r str {
        let span = self.record.span(index);
        span.and_then(|(start, end)| self.text.get(start..end)).unwrap_or_default().trim_ascii()
    }

    pub(crate) fn line(self) -> u64 {
        self.record.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    type Row = (u64, Vec<Vec<u8>>, Option<Flaw>);

    fn rows(source: impl Read) -> Vec<Row> {
        let mut reader = RecordReader::new(source);
        let mut record = Record::default();
        let mut rows = Vec::new();
        while reader.read(&mut record).unwrap() {
            rows.push((record.line(), record.fields().map(<[u8]>::to_vec).collect(), record.flaw()));
        }
        rows
    }

    fn lines(text: &str) -> Vec<u64> {
        rows(text.as_bytes()).iter().map(|row| row.0).collect()
    }

    #[test]
    fn lines_are_counted_by_any_line_end() {
        assert_eq!(lines("a\nb\n\nc"), [1, 2, 4]);
        assert_eq!(lines("a\r\nb\r\n\r\nc\r\n"), [1, 2, 4]);
        assert_eq!(lines("a\rb\r\rc\r"), [1, 2, 4]);
        assert_eq!(lines("a\r\n\"b\r\nb\nb\rb\"\r\nc"), [1, 2, 6]);
        assert_eq!(lines("a\r\"\n\"\nb"), [1, 2, 4]);
        assert_eq!(lines("\n\na,\"\"\n"), [3]);
    }

    /// A signal may interrupt a read that then has to be made again.
    #[test]
    fn an_interrupted_read_is_taken_up_again() {
        struct Interrupted(bool, &'static [u8]);
        impl Read for Interrupted {
            fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
                self.0 = !self.0;
                if self.0 { Err(ErrorKind::Interrupted.into()) } else { self.1.read(buffer) }
            }
        }
        assert_eq!(rows(Interrupted(false, b"a,b\nc,d\n")), rows(&b"a,b\nc,d\n"[..]));
    }

    #[test]
    fn wrong_quotes_are_noticed() {
        let flaws = |text: &str| rows(text.as_bytes()).into_iter().map(|row| row.2).collect::<Vec<_>>();
        assert_eq!(flaws("a,6\" riser\n"), [None]);
        assert_eq!(flaws("a,\"lid\"stuck\nb,\n"), [Some(Flaw::TextAfterQuote { field: 1 }), None]);
        let never = Flaw::NeverClosed { field: 1, line: 2, last_line: 4 };
        assert_eq!(flaws("a,b\nc,\"d\ne,f\n"), [None, Some(never)]);
        assert_eq!(flaws("a,\"b\"\"\"\n\"\"\n"), [None, None]);
    }

    #[test]
    fn a_line_without_end_is_given_up_in_bounded_memory() {
        let mut reader = RecordReader::new(io::repeat(b'x'));
        let mut record = Record::default();
        assert!(reader.read(&mut record).unwrap());
        assert_eq!(record.flaw(), Some(Flaw::TooLong));
        assert!(record.bytes.len() < LONGEST_RECORD + 2 * CHUNK);
    }

    #[test]
    fn a_character_split_between_fields_is_not_utf8() {
        let mut reader = RecordReader::new(&b"a,\xc3,\xa9\n"[..]);
        let mut record = Record::default();
        assert!(reader.read(&mut record).unwrap());
        assert_eq!(record.text().map(|_| ()), Err(1));
    }

    /// A source that gives a few bytes at a time.
    struct Trickle<'a>(&'a [u8], usize);

    impl Read for Trickle<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            let count = self.1.min(self.0.len()).min(buffer.len());
            buffer[..count].copy_from_slice(&self.0[..count]);
            self.0 = &self.0[count..];
            Ok(count)
        }
    }

    proptest! {
        /// The independent reader of the csv crate finds the same fields.
        #[test]
        fn fields_are_those_of_the_csv_crate(text in "[ab,\"\r\né]{0,60}") {
            let mut peer = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
            let theirs: Vec<Vec<Vec<u8>>> = peer
                .byte_records()
                .map(|record| record.unwrap().iter().map(<[u8]>::to_vec).collect())
                .collect();
            let ours: Vec<Vec<Vec<u8>>> = rows(text.as_bytes()).into_iter().map(|row| row.1).collect();
            prop_assert_eq!(ours, theirs);
        }

        #[test]
        fn the_size_of_the_chunks_changes_nothing(text in "[ab,\"\r\n]{0,60}", size in 1usize..5) {
            prop_assert_eq!(rows(Trickle(text.as_bytes(), size)), rows(text.as_bytes()));
        }
    }
}
