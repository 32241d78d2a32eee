//! The raw rows of a table, one after another: where each ends and whose it is, without taking it apart.

use crate::record::{LONGEST_RECORD, Record, RecordReader};
use memchr::{memchr, memchr_iter, memchr2, memchr3, memrchr};
use std::io::{self, ErrorKind, Read};
use std::ops::Range;

const BLOCK: usize = 256 << 10;
/// Rows beyond after which others are not looked for any more.
const LOOKAHEAD: usize = 64;

/// The rows of a file below its header.
pub(super) struct RawRows {
    file: Box<dyn Read + Send>,
    buffer: Vec<u8>,
    at: usize,
    filled: usize,
    file_ended: bool,
    /// Nothing after a record without end can be read.
    given_up: bool,
    line: u64,
    pit_id: usize,
    current: Option<Current>,
    /// Up to here the buffer has neither quotes nor carriage returns.
    plain_until: usize,
}

/// Neighbouring rows without quotes, each ended by LF alone.
pub(super) struct Run<'b> {
    pub(super) bytes: &'b [u8],
    /// The line of the first.
    pub(super) line: u64,
    pub(super) lines: usize,
    /// Whether the next row was held to be beyond, and so were many after it.
    pub(super) is_ended: bool,
    pit_id: usize,
}

/// Where rows are cut.
pub(super) trait Cut {
    /// On which side a pit stands by its identifier.
    fn side(&self, pit_id: &[u8]) -> Side;

    /// Whether there is such a pit.
    fn is_listed(&self, pit_id: &[u8]) -> bool;
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Within,
    Beyond,
    Neither,
}

impl<'b> Run<'b> {
    /// The pit named in each of them; empty where none is.
    pub(super) fn pit_ids(&self) -> impl Iterator<Item = &'b [u8]> {
        let (mut start, bytes, pit_id) = (0, self.bytes, self.pit_id);
        memchr_iter(b'\n', bytes).map(move |end| {
            let row = &bytes[start..end];
            start = end + 1;
            &row[span(row, pit_id)]
        })
    }

    /// The last pit named in it; empty if none is.
    pub(super) fn last_pit_id(&self) -> &'b [u8] {
        let mut rest = self.bytes;
        while let Some((_, rows)) = rest.split_last() {
            let start = memrchr(b'\n', rows).map_or(0, |before| before + 1);
            let pit_id = field(&rest[start..], self.pit_id);
            if !pit_id.is_empty() {
                return pit_id;
            }
            rest = &rest[..start];
        }
        &[]
    }
}

/// One row as it stands in the file.
#[derive(Debug)]
pub(super) struct RawRow<'b> {
    pub(super) bytes: &'b [u8],
    pub(super) line: u64,
    /// The identifier of its pit without the spaces around it; empty if it has none.
    pub(super) pit_id: &'b [u8],
}

impl RawRow<'_> {
    /// Whether it is a line end and nothing else.
    pub(super) fn is_blank(&self) -> bool {
        matches!(self.bytes.first(), Some(b'\n' | b'\r'))
    }
}

/// Where a row ends, how many lines it takes and where its pit is named.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Extent {
    end: usize,
    lines: u64,
    is_plain: bool,
}

struct Current {
    extent: Extent,
    pit_id: PitId,
}

enum PitId {
    InRow(Range<usize>),
    Quoted(Vec<u8>),
}

impl RawRows {
    /// Rows of a file of which the header has been consumed, so that the next byte is of this line.
    pub(super) fn new(
        file: Box<dyn Read + Send>,
        (line, may_be_line_feed): (u64, bool),
        pit_id: usize,
    ) -> io::Result<Self> {
        let mut rows = Self {
            file,
            buffer: vec![0; BLOCK],
            at: 0,
            filled: 0,
            file_ended: false,
            given_up: false,
            line,
            pit_id,
            current: None,
            plain_until: 0,
        };
        rows.refill()?;
        rows.at = usize::from(may_be_line_feed && rows.buffer[..rows.filled].first() == Some(&b'\n'));
        Ok(rows)
    }

    /// No rows at all.
    pub(super) fn none() -> Self {
        Self {
            file: Box::new(io::empty()),
            buffer: Vec::new(),
            at: 0,
            filled: 0,
            file_ended: true,
            given_up: true,
            line: 1,
            pit_id: 0,
            current: None,
            plain_until: 0,
        }
    }

    /// The next row, which stays the next until [`RawRows::advance`].
    pub(super) fn peek(&mut self) -> io::Result<Option<RawRow<'_>>> {
        if self.current.is_none() {
            self.current = self.find_next()?;
        }
        let Some(current) = &self.current else { return Ok(None) };
        let bytes = &self.buffer[self.at..self.at + current.extent.end];
        let pit_id = match &current.pit_id {
            PitId::InRow(range) => &bytes[range.clone()],
            PitId::Quoted(text) => text,
        };
        Ok(Some(RawRow { bytes, line: self.line, pit_id }))
    }

    /// Goes on to the row after the next.
    pub(super) fn advance(&mut self) {
        if let Some(current) = self.current.take() {
            self.at += current.extent.end;
            self.line += current.extent.lines;
        }
    }

    /// As many rows from the next one on as can be cut without looking at each: none before the first that is beyond, found by
    /// halving, as if all rows after it were. None if the next row must be looked at.
    pub(super) fn take_run(&mut self, cut: &impl Cut) -> io::Result<Option<Run<'_>>> {
        let (mut end, mut is_sure) = self.first_beyond(cut);
        if end == 0 && !is_sure && self.plain_until == self.filled && !self.file_ended {
            self.refill()?;
            self.plain_until = 0;
            (end, is_sure) = self.first_beyond(cut);
        }
        Ok(self.take_rows(end, is_sure))
    }

    /// The same, of so many rows.
    pub(super) fn take_run_of(&mut self, count: usize) -> Option<Run<'_>> {
        let whole = self.whole_plain_rows();
        let rows = &self.buffer[self.at..whole];
        let last = count.checked_sub(1)?;
        let end = memchr_iter(b'\n', rows).nth(last).map_or(rows.len(), |at| at + 1);
        self.take_rows(end, false)
    }

    fn take_rows(&mut self, length: usize, is_ended: bool) -> Option<Run<'_>> {
        if length == 0 && !is_ended {
            return None;
        }
        if length > 0 {
            self.current = None;
        }
        let (at, line) = (self.at, self.line);
        let bytes = &self.buffer[at..at + length];
        let lines = memchr_iter(b'\n', bytes).count();
        (self.at, self.line) = (at + length, line + lines as u64);
        Some(Run { bytes, line, lines, is_ended, pit_id: self.pit_id })
    }

    /// Where the plain rows that the buffer holds whole end.
    fn whole_plain_rows(&mut self) -> usize {
        if self.plain_until <= self.at {
            let odd = memchr2(b'"', b'\r', &self.buffer[self.at..self.filled]);
            self.plain_until = odd.map_or(self.filled, |odd| self.at + odd);
        }
        memrchr(b'\n', &self.buffer[self.at..self.plain_until]).map_or(self.at, |last| self.at + last + 1)
    }

    /// How far the first plain row that is beyond stands, and whether that is sure: one of a pit that is nowhere, before others that
    /// are within, does not count.
    fn first_beyond(&mut self, cut: &impl Cut) -> (usize, bool) {
        let whole = self.whole_plain_rows();
        let rows = &self.buffer[self.at..whole];
        let is_last = self.file_ended && whole == self.filled;
        let mut sure = 0;
        loop {
            let end = self.first_beyond_by_halves(rows, sure, cut);
            let (mut start, mut seen, mut is_one_within) = (end, 0, false);
            let mut behind = end;
            for last in memchr_iter(b'\n', &rows[end..]).take(LOOKAHEAD) {
                is_one_within |= cut.side(field(&rows[start..], self.pit_id)) == Side::Within;
                start = end + last + 1;
                behind = if seen == 0 { start } else { behind };
                seen += 1;
            }
            if !is_one_within || cut.is_listed(field(&rows[end..], self.pit_id)) {
                return (end, seen == LOOKAHEAD || (is_last && seen > 0));
            }
            sure = behind;
        }
    }

    fn first_beyond_by_halves(&self, rows: &[u8], mut sure: usize, cut: &impl Cut) -> usize {
        let mut end = rows.len();
        while sure < end {
            let middle = sure + (end - sure) / 2;
            let mut start = memrchr(b'\n', &rows[sure..middle]).map_or(sure, |before| sure + before + 1);
            let next = memchr(b'\n', &rows[middle..end]).map_or(end, |at| middle + at + 1);
            // A row of no pit, or of one that is neither here nor beyond, goes with the one before it.
            let side = |start: usize| cut.side(field(&rows[start..], self.pit_id));
            while start > sure && side(start) == Side::Neither {
                start = memrchr(b'\n', &rows[sure..start - 1]).map_or(sure, |before| sure + before + 1);
            }
            if side(start) == Side::Beyond {
                end = start;
            } else {
                sure = next;
            }
        }
        sure
    }

    fn find_next(&mut self) -> io::Result<Option<Current>> {
        if self.given_up {
            return Ok(None);
        }
        loop {
            let rest = &self.buffer[self.at..self.filled];
            if let Some(extent) = extent(rest, self.file_ended) {
                let pit_id = pit_id(&rest[..extent.end], self.pit_id, extent.is_plain)?;
                return Ok(Some(Current { extent, pit_id }));
            }
            if self.file_ended {
                return Ok(None);
            }
            if rest.len() > LONGEST_RECORD + BLOCK {
                // Whoever reads the row says so.
                self.given_up = true;
                let extent = Extent { end: rest.len(), lines: 0, is_plain: true };
                return Ok(Some(Current { extent, pit_id: PitId::InRow(0..0) }));
            }
            self.refill()?;
        }
    }

    /// Moves what is not used yet to the front and reads on behind it.
    fn refill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.at..self.filled, 0);
        self.filled -= self.at;
        self.plain_until = self.plain_until.saturating_sub(self.at);
        self.at = 0;
        if self.filled == self.buffer.len() {
            self.buffer.resize(2 * self.filled, 0);
        }
        while self.filled < self.buffer.len() && !self.file_ended {
            match self.file.read(&mut self.buffer[self.filled..]) {
                Ok(0) => self.file_ended = true,
                Ok(read) => self.filled += read,
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}

/// The extent of the first row; none if more must be read to know it.
fn extent(bytes: &[u8], file_ended: bool) -> Option<Extent> {
    let Some(at) = memchr3(b'\n', b'\r', b'"', bytes) else {
        return (file_ended && !bytes.is_empty()).then_some(Extent {
            end: bytes.len(),
            lines: 0,
            is_plain: true,
        });
    };
    match (bytes[at], bytes.get(at + 1)) {
        (b'\n', _) => Some(Extent { end: at + 1, lines: 1, is_plain: true }),
        (b'\r', Some(b'\n')) => Some(Extent { end: at + 2, lines: 1, is_plain: true }),
        (b'\r', Some(_)) => Some(Extent { end: at + 1, lines: 1, is_plain: true }),
        (b'\r', None) => file_ended.then_some(Extent { end: at + 1, lines: 1, is_plain: true }),
        _ => extent_with_quotes(bytes, file_ended),
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    FieldStart,
    Unquoted,
    Quoted,
    QuoteSeen,
}

/// The same byte by byte, by the rules of [`RecordReader`].
fn extent_with_quotes(bytes: &[u8], file_ended: bool) -> Option<Extent> {
    let mut state = State::FieldStart;
    let mut lines = 0;
    let mut before = b'"';
    for (at, &byte) in bytes.iter().enumerate() {
        state = match (state, byte) {
            (State::Quoted, b'"') => State::QuoteSeen,
            (State::Quoted, _) => {
                lines += u64::from(byte == b'\r' || (byte == b'\n' && before != b'\r'));
                State::Quoted
            }
            (State::FieldStart | State::QuoteSeen, b'"') => State::Quoted,
            (_, b',') => State::FieldStart,
            (_, b'\n') => return Some(Extent { end: at + 1, lines: lines + 1, is_plain: false }),
            (_, b'\r') => {
                let end = match bytes.get(at + 1) {
                    Some(b'\n') => at + 2,
                    None if !file_ended => return None,
                    _ => at + 1,
                };
                return Some(Extent { end, lines: lines + 1, is_plain: false });
            }
            _ => State::Unquoted,
        };
        before = byte;
    }
    file_ended.then_some(Extent { end: bytes.len(), lines, is_plain: false })
}

/// The field of a row that names the pit.
fn pit_id(row: &[u8], index: usize, is_plain: bool) -> io::Result<PitId> {
    if !is_plain {
        let mut record = Record::default();
        RecordReader::of_part(row, &[]).read(&mut record)?;
        return Ok(PitId::Quoted(record.field(index).trim_ascii().to_vec()));
    }
    Ok(PitId::InRow(span(row, index)))
}

/// A field of the first of some plain rows, without the spaces around it.
fn field(rows: &[u8], index: usize) -> &[u8] {
    let row = &rows[..memchr(b'\n', rows).unwrap_or(rows.len())];
    &row[span(row, index)]
}

fn span(row: &[u8], index: usize) -> Range<usize> {
    let mut start = 0;
    for _ in 0..index {
        let Some(comma) = memchr(b',', &row[start..]) else { return 0..0 };
        start += comma + 1;
    }
    let length = memchr(b',', &row[start..]).unwrap_or(row.len() - start);
    let field = &row[start..start + length];
    let leading = field.len() - field.trim_ascii_start().len();
    start + leading..start + leading + field.trim_ascii().len()
}

#[cfg(test)]
mod tests;
