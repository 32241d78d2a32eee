//! Batches cut in one pass where every table has the pits in the order of `pits.csv`.

use super::batch::{Batch, RawPart};
use super::order::{Order, Span};
use super::rows::{Cut, RawRows, Side};
use super::{Fleet, TABLE_COUNT, WalkError};
use std::collections::HashSet;
use std::io::{self, Cursor};

/// Batches that a logbook is cut into, so that every thread has its share to the end, and pits in one at least and at most: larger ones
/// take less time a pit and more memory.
const BATCHES: u32 = 64;
const FEWEST: u32 = 64;
const MOST: u32 = 512;
/// In a table with more bytes of a batch than this, rows of pits that are not in the batch are handed on by themselves, in pieces
/// of as many. Small in the tests.
const PIECE: usize = if cfg!(test) { 4 << 10 } else { 4 << 20 };

/// Every table being cut at once.
pub(super) struct LockStep<'f> {
    fleet: &'f Fleet,
    tables: [Option<RawRows>; TABLE_COUNT],
    /// Rows of `pits.csv` cut so far.
    cut: u32,
    /// The last identifier of the batches cut so far.
    bound: Vec<u8>,
    /// The batch that is not whole yet.
    open: Option<Open>,
    is_over: bool,
    /// Whether rows are cut by halves, because identifiers rise: whoever reads them then finds those that do not.
    by_halves: bool,
}

/// A batch of which the pits have been cut and some of the other tables.
struct Open {
    batch: Batch,
    /// Rows of `pits.csv` before it.
    first: u32,
    /// The first identifier in it.
    first_pit: Vec<u8>,
    /// Whether no pit follows.
    is_last: bool,
    /// The table to be cut next.
    table: usize,
    /// Its pits, listed once a table has become large.
    pits: Option<HashSet<Vec<u8>>>,
}

/// Rows of pits from the first of a batch to its last, unless no pit follows, where identifiers rise.
struct Rising<'a> {
    fleet: &'a Fleet,
    first: &'a [u8],
    bound: Option<&'a [u8]>,
}

impl Cut for Rising<'_> {
    fn side(&self, pit_id: &[u8]) -> Side {
        if self.bound.is_some_and(|bound| pit_id > bound) {
            Side::Beyond
        } else if pit_id.is_empty() || pit_id < self.first {
            Side::Neither
        } else {
            Side::Within
        }
    }

    fn is_listed(&self, pit_id: &[u8]) -> bool {
        self.fleet.is_listed(pit_id)
    }
}

/// To which batch a row belongs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Belongs {
    Before,
    Here,
    After,
}

impl<'f> LockStep<'f> {
    pub(super) fn new(fleet: &'f Fleet, wanted: [bool; TABLE_COUNT]) -> Result<Self, WalkError> {
        Ok(Self {
            by_halves: matches!(fleet.order, Order::Rising),
            fleet,
            tables: fleet.open_tables(wanted)?,
            cut: 0,
            bound: Vec::new(),
            open: None,
            is_over: false,
        })
    }

    /// The next batch in the memory of one that is done with, or rows of no pit in it that are too many to wait for it; none at the
    /// end.
    pub(super) fn next(&mut self, done: Batch) -> Result<Option<Batch>, WalkError> {
        let mut open = match self.open.take() {
            Some(open) => open,
            None if self.is_over => return Ok(None),
            None => self.begin(done.emptied())?,
        };
        while open.table < TABLE_COUNT {
            if let Some(strays) = self.take_rows(&mut open)? {
                self.open = Some(open);
                return Ok(Some(strays));
            }
            open.table += 1;
        }
        self.is_over = open.is_last;
        Ok(Some(open.batch))
    }

    fn begin(&mut self, mut batch: Batch) -> Result<Open, WalkError> {
        let first = self.cut;
        let after = self.bound.clone();
        let mut first_pit = Vec::new();
        let is_last = self.take_pits(&mut batch, &mut first_pit)?;
        if self.by_halves {
            let until = (!is_last).then(|| self.bound.clone());
            batch.span = Some(Span { after, until });
        }
        Ok(Open { batch, first, first_pit, is_last, table: 1, pits: None })
    }

    /// Takes the next rows of `pits.csv`; true if those were the last.
    fn take_pits(&mut self, batch: &mut Batch, first_pit: &mut Vec<u8>) -> Result<bool, WalkError> {
        let unreadable = |source| self.fleet.unreadable(0, source);
        let Some(pits) = &mut self.tables[0] else { return Ok(true) };
        let mut name_last = |pit_id: &[u8]| {
            if !pit_id.is_empty() {
                self.bound.clear();
                self.bound.extend_from_slice(pit_id);
            }
        };
        let mut left = (self.fleet.rows / BATCHES).clamp(FEWEST, MOST) as usize;
        loop {
            if self.by_halves
                && let Some(run) = pits.take_run_of(left)
            {
                batch.parts[0].push(run.bytes, run.line, true);
                if first_pit.is_empty() {
                    first_pit
                        .extend_from_slice(run.pit_ids().find(|pit_id| !pit_id.is_empty()).unwrap_or(&[]));
                }
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
                    if first_pit.is_empty() {
                        first_pit.extend_from_slice(row.pit_id);
                    }
                    name_last(row.pit_id);
                }
            }
            left -= 1;
            self.cut += 1;
            pits.advance();
        }
    }

    /// Takes the rows of a table that belong to the batch. Rows of pits that it does not have come back as soon as they are too
    /// many; the table is then to be taken on.
    fn take_rows(&mut self, open: &mut Open) -> Result<Option<Batch>, WalkError> {
        let table = open.table;
        let Some(rows) = &mut self.tables[table] else { return Ok(None) };
        let unreadable = |source| self.fleet.unreadable(table, source);
        let (first, is_last) = (open.first, open.is_last);
        let (cut, bound, order) = (self.cut, &self.bound[..], &self.fleet.order);
        let by_halves = self.by_halves;
        let rising = Rising { fleet: self.fleet, first: &open.first_pit, bound: (!is_last).then_some(bound) };
        let belongs = |pit_id: &[u8]| match order {
            _ if pit_id.is_empty() => Belongs::Here,
            // A pit that is nowhere, mistyped perhaps, ends no batch.
            Order::Rising if rising.side(pit_id) == Side::Beyond && rising.is_listed(pit_id) => {
                Belongs::After
            }
            Order::Rising => Belongs::Here,
            Order::Listed(list) => match list.place(pit_id) {
                Some(place) if place < first => Belongs::Before,
                Some(place) if place >= cut => Belongs::After,
                _ => Belongs::Here,
            },
        };
        let [of_pits, others @ ..] = &mut open.batch.parts;
        let Some(part) = others.get_mut(table - 1) else { return Ok(None) };
        let mut strays = RawPart::default();
        let mut last: Option<(Vec<u8>, Belongs)> = None;
        while strays.bytes.len() <= PIECE {
            let is_large = part.bytes.len() > PIECE;
            if by_halves
                && !is_large
                && let Some(run) = rows.take_run(&rising).map_err(unreadable)?
            {
                if run.lines > 0 {
                    part.push(run.bytes, run.line, true);
                }
                if run.is_ended {
                    break;
                }
                continue;
            }
            let Some(row) = rows.peek().map_err(unreadable)? else { break };
            if is_large && row.is_blank() {
                // Whole files of line ends have been seen, and nobody reads them.
                rows.advance();
                continue;
            }
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
                Belongs::After => break,
                Belongs::Here if !is_large => part.push(row.bytes, row.line, true),
                Belongs::Here => {
                    let pits = match &mut open.pits {
                        Some(pits) => pits,
                        none => none.insert(
                            pits_named_in(&of_pits.bytes, self.fleet.pit_id_column()).map_err(unreadable)?,
                        ),
                    };
                    // Rows need their own line where others have been taken out between them.
                    let of = if pits.contains(row.pit_id) { &mut *part } else { &mut strays };
                    of.push(row.bytes, row.line, false);
                }
            }
            rows.advance();
        }
        if strays.bytes.is_empty() {
            return Ok(None);
        }
        let mut batch = Batch { span: open.batch.span.clone(), ..Batch::default() };
        batch.parts[table] = strays;
        Ok(Some(batch))
    }
}

/// The identifiers in some rows of `pits.csv`.
fn pits_named_in(rows: &[u8], column: usize) -> io::Result<HashSet<Vec<u8>>> {
    let mut rows = RawRows::new(Box::new(Cursor::new(rows.to_vec())), (1, false), column)?;
    let mut pits = HashSet::new();
    while let Some(row) = rows.peek()? {
        pits.insert(row.pit_id.to_vec());
        rows.advance();
    }
    // A row of another table that names no pit belongs to none.
    pits.remove(&[][..]);
    Ok(pits)
}
