//! Batches of tables in any order: every table is first split over temporary files, each of neighbouring pits.
//!
//! Pits keep the order of `pits.csv`, because a file holds pits that stand side by side there. Memory is bounded by the largest
//! file, 1/256 of the logbook or about 1 MB if that is more, times the number of threads. The files have no name (or lose it at
//! once), so that nothing is left however the run ends.

use super::batch::Batch;
use super::order::{List, Order};
use super::rows::RawRows;
use super::{Fleet, TABLE_COUNT, WalkError};
use std::fs::File;
use std::io::{self, BufWriter, Read as _, Seek as _, SeekFrom, Write as _};

const MOST_FILES: u64 = 256;
/// Small in the tests, so that small logbooks fill many files.
const FILE_SIZE: u64 = if cfg!(test) { 4 << 10 } else { 1 << 20 };
const WRITE_BUFFER: usize = 16 << 10;
/// Table, line and length before every row.
const FRAME: usize = 1 + 8 + 4;

/// The temporary files, and which comes next.
pub(super) struct Partitions {
    files: std::vec::IntoIter<File>,
}

impl Partitions {
    /// Splits the wanted tables.
    pub(super) fn split(fleet: &Fleet, wanted: [bool; TABLE_COUNT]) -> Result<Self, WalkError> {
        let scratch = |source| WalkError::Scratch { folder: std::env::temp_dir(), source };
        let count = (fleet.size / FILE_SIZE).clamp(1, MOST_FILES);
        let mut files = (0..count)
            .map(|_| Ok(BufWriter::with_capacity(WRITE_BUFFER, tempfile::tempfile()?)))
            .collect::<io::Result<Vec<_>>>()
            .map_err(scratch)?;
        let list = fleet.list()?;
        for (table, rows) in fleet.open_tables(wanted)?.into_iter().enumerate() {
            let Some(mut rows) = rows else { continue };
            let mut own = 0u32;
            let mut last: (Vec<u8>, Option<u32>) = (Vec::new(), None);
            while let Some(row) = rows.peek().map_err(|source| fleet.unreadable(table, source))? {
                if last.0 != row.pit_id || table == 0 {
                    last.0.clear();
                    last.0.extend_from_slice(row.pit_id);
                    // A pit listed twice is held against its first row.
                    let place = list.place(row.pit_id).filter(|_| !row.pit_id.is_empty());
                    last.1 = place.or_else(|| (table == 0).then_some(own));
                }
                // A row of no pit may be told of anywhere.
                let place = last.1.map_or(row.line % count, |place| {
                    u64::from(place) * count / u64::from(fleet.rows.max(1))
                });
                own += 1;
                if let Some(file) = files.get_mut(place as usize) {
                    write_row(file, table, row.line, row.bytes).map_err(scratch)?;
                }
                rows.advance();
            }
        }
        let files = files
            .into_iter()
            .map(|file| {
                let mut file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
                file.seek(SeekFrom::Start(0))?;
                Ok(file)
            })
            .collect::<io::Result<Vec<_>>>()
            .map_err(scratch)?;
        Ok(Self { files: files.into_iter() })
    }

    /// The next batch, in the memory of one that is done with; none at the end.
    pub(super) fn next(&mut self, done: Batch) -> Result<Option<Batch>, WalkError> {
        let Some(mut file) = self.files.next() else { return Ok(None) };
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)
            .map_err(|source| WalkError::Scratch { folder: std::env::temp_dir(), source })?;
        let mut batch = done.emptied();
        let mut rest = &bytes[..];
        while let Some((frame, after)) = rest.split_first_chunk::<FRAME>() {
            let [table, line @ .., a, b, c, d] = *frame;
            let (row, after) = after.split_at(u32::from_le_bytes([a, b, c, d]) as usize);
            if let Some(part) = batch.parts.get_mut(usize::from(table)) {
                part.push(row, u64::from_le_bytes(line), false);
            }
            rest = after;
        }
        Ok(Some(batch))
    }
}

fn write_row(file: &mut BufWriter<File>, table: usize, line: u64, row: &[u8]) -> io::Result<()> {
    let mut frame = [0; FRAME];
    frame[0] = table as u8;
    frame[1..9].copy_from_slice(&line.to_le_bytes());
    frame[9..].copy_from_slice(&(row.len() as u32).to_le_bytes());
    file.write_all(&frame)?;
    file.write_all(row)
}

impl Fleet {
    /// Whether `pits.csv` has a pit of this identifier, as far as can be known.
    pub(super) fn is_listed(&self, pit_id: &[u8]) -> bool {
        self.list().map_or(true, |list| list.place(pit_id).is_some())
    }

    /// Where every pit stands in `pits.csv`, whatever the order there.
    fn list(&self) -> Result<&List, WalkError> {
        if let Order::Listed(list) = &self.order {
            return Ok(list);
        }
        if let Some(list) = self.list_of_rising.get() {
            return Ok(list);
        }
        let open = || Ok(self.rows_of(0)?.unwrap_or_else(RawRows::none));
        let list = List::read(&open, self.rows).map_err(|source| self.unreadable(0, source))?;
        Ok(self.list_of_rising.get_or_init(|| list))
    }
}
