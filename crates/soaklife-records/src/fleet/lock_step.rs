//! Batches cut in one pass where every table has the pits in the order of `pits.csv`.

use super::batch::{Batch, RawPart};
use super::order::{Order, Span};
use super::rows::RawRows;
use super::{Fleet, TABLE_COUNT, WalkError};
use std::io;

/// Pits in a batch.
const BATCH: usize = 256;
/// Rows of unknown pits beyond the last are handed on in pieces of so many bytes.
const PIECE: usize = 4 << 20;

/// Every table being cut at once.
pub(super) struct LockStep<'f> {
    fleet: &'f Fleet,
    tables: [Option<RawRows>; TABLE_COUNT],
    /// Rows of `pits.csv` cut so far.
    cut: u32,
    /// The last identifier of the batches cut so far.
    bound: Vec<u8>,
    is_over: bool,
    /// Whether rows may be cut by halves where identifiers rise: whoever reads them then finds those that do not.
    by_halves: bool,
    /// Bytes of every table in the batch before.
    usual: [usize; TABLE_COUNT],
}

/// To which batch a row belongs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Belongs {
    Before,
    Here,
    After,
}

impl<'f> LockStep<'f> {
    pub(super) fn new(
        fleet: &'f Fleet,
        wanted: [bool; TABLE_COUNT],
        by_halves: bool,
    ) -> Result<Self, WalkError> {
        Ok(Self {
            by_halves: by_halves && matches!(fleet.order, Order::Rising),
            fleet,
            tables: fleet.open_tables(wanted)?,
            cut: 0,
            bound: Vec::new(),
            is_over: false,
            usual: [0; TABLE_COUNT],
        })
    }

    /// The next batch; none at the end.
    pub(super) fn next(&mut self) -> Result<Option<Batch>, WalkError> {
        if self.is_over {
            return Ok(None);
        }
        let mut batch = Batch::with_room_as(&self.usual);
        let first = self.cut;
        let before = std::mem::take(&mut self.bound);
        self.bound.clone_from(&before);
        let pits_ended = self.take_pits(&mut batch)?;
        let mut all_taken = pits_ended;
        for table in 1..TABLE_COUNT {
            all_taken &= self.take_rows(table, &mut batch, (first, &before), pits_ended)?;
        }
        self.is_over = all_taken;
        if self.by_halves {
            let until = (!pits_ended).then(|| self.bound.clone());
            batch.span = Some(Span { after: before, until });
        }
        self.usual = batch.parts.each_ref().map(|part| part.bytes.len());
        Ok(Some(batch))
    }

    /// Takes the next rows of `pits.csv`; true if those were the last.
    fn take_pits(&mut self, batch: &mut Batch) -> Result<bool, WalkError> {
        let unreadable = |source| self.fleet.unreadable(0, source);
        let Some(pits) = &mut self.tables[0] else { return Ok(true) };
        let mut name_last = |pit_id: &[u8]| {
            if !pit_id.is_empty() {
                self.bound.clear();
                self.bound.extend_from_slice(pit_id);
            }
        };
        let mut left = BATCH;
        loop {
            if self.by_halves
                && let Some(run) = pits.take_run_of(left)
            {
                batch.parts[0].push(run.bytes, run.line, true);
                name_last(run.last_pit_id());
                left -= run.lines;
                self.cut += run.lines as u32;
                continue;
            }
            match pits.peek().map_err(unreadable)? {
                None => return Ok(true),
                Some(_) if left == 0 => return Ok(false),
                Some(row) => {
                    batch.parts[0].push(row.bytes, row.line, true);
                    name_last(row.pit_id);
                }
            }
            left -= 1;
            self.cut += 1;
            pits.advance();
        }
    }

    /// Takes the rows of another table that belong to the batch; true if the table is at its end.
    fn take_rows(
        &mut self,
        table: usize,
        batch: &mut Batch,
        (first, before): (u32, &[u8]),
        pits_ended: bool,
    ) -> Result<bool, WalkError> {
        let Some(rows) = &mut self.tables[table] else { return Ok(true) };
        let part = &mut batch.parts[table];
        if self.by_halves {
            let is_beyond = |pit_id: &[u8]| !pits_ended && pit_id > &self.bound[..];
            return take_by_halves(rows, part, is_beyond, pits_ended)
                .map_err(|source| self.fleet.unreadable(table, source));
        }
        let order = &self.fleet.order;
        let belongs = |pit_id: &[u8]| match order {
            _ if pit_id.is_empty() => Belongs::Here,
            Order::Rising if !before.is_empty() && pit_id <= before => Belongs::Before,
            Order::Rising if pit_id <= &self.bound[..] || pits_ended => Belongs::Here,
            Order::Rising => Belongs::After,
            Order::Listed(list) => match list.place(pit_id) {
                Some(place) if place < first => Belongs::Before,
                Some(place) if place >= self.cut => Belongs::After,
                _ => Belongs::Here,
            },
        };
        let mut last: Option<(Vec<u8>, Belongs)> = None;
        while let Some(row) = rows.peek().map_err(|source| self.fleet.unreadable(table, source))? {
            let belonging = match &last {
                Some((pit_id, belonging)) if pit_id[..] == *row.pit_id => *belonging,
                _ => {
                    let belonging = belongs(row.pit_id);
                    let (pit_id, kept) = last.get_or_insert_with(|| (Vec::new(), belonging));
                    pit_id.clear();
                    pit_id.extend_from_slice(row.pit_id);
                    *kept = belonging;
                    belonging
                }
            };
            match belonging {
                Belongs::Before => return Err(WalkError::OutOfOrder),
                Belongs::After => return Ok(false),
                Belongs::Here if pits_ended && part.bytes.len() > PIECE => return Ok(false),
                Belongs::Here => part.push(row.bytes, row.line, true),
            }
            rows.advance();
        }
        Ok(true)
    }
}

/// Takes rows up to the first beyond, as if they rose; true if the table is at its end.
fn take_by_halves(
    rows: &mut RawRows,
    part: &mut RawPart,
    is_beyond: impl Fn(&[u8]) -> bool,
    in_pieces: bool,
) -> io::Result<bool> {
    loop {
        if in_pieces && part.bytes.len() > PIECE {
            return Ok(false);
        }
        if let Some(run) = rows.take_run(&is_beyond) {
            if run.lines > 0 {
                part.push(run.bytes, run.line, true);
            }
            if run.is_ended {
                return Ok(false);
            }
        }
        match rows.peek()? {
            None => return Ok(true),
            Some(row) if is_beyond(row.pit_id) => return Ok(false),
            Some(row) => part.push(row.bytes, row.line, true),
        }
        rows.advance();
    }
}
