//! In which order the pits stand: how a row of another table is known to belong to these pits, earlier or later ones.

use super::rows::RawRows;
use std::collections::HashMap;
use std::collections::hash_map::RandomState;
use std::hash::BuildHasher;
use std::io;

/// The order of `pits.csv`.
#[derive(Debug)]
pub(super) enum Order {
    /// Identifiers rise from row to row, so that none stands there twice and the bytes alone tell the order.
    Rising,
    /// Any other order, looked up: 16 bytes a pit.
    Listed(List),
}

/// Where rising identifiers must lie to belong to some neighbouring pits.
#[derive(Debug, Clone)]
pub(crate) struct Span {
    /// The last one before; nothing before the first.
    pub(crate) after: Vec<u8>,
    /// The last one of them; none if no pit follows.
    pub(crate) until: Option<Vec<u8>>,
}

impl Span {
    pub(crate) fn holds(&self, pit_id: &[u8]) -> bool {
        pit_id.is_empty()
            || (pit_id > &self.after[..] && self.until.as_ref().is_none_or(|until| pit_id <= &until[..]))
    }
}

/// The rows of `pits.csv` by the hash of the identifier.
#[derive(Debug)]
pub(super) struct List {
    hasher: RandomState,
    /// Sorted.
    places: Vec<(u64, u32)>,
    /// Identifiers that share a hash, most often because they stand there twice: the first place of each.
    shared: HashMap<Vec<u8>, u32>,
}

/// The number of rows of `pits.csv`, and their order; none if no row names a pit.
pub(super) fn order_of(open: &impl Fn() -> io::Result<RawRows>) -> io::Result<Option<(u32, Order)>> {
    let (mut count, mut rising, mut before) = (0, true, Vec::new());
    each(open, |place, pit_id| {
        count = place + 1;
        if !pit_id.is_empty() {
            rising &= pit_id > &before[..];
            before.clear();
            before.extend_from_slice(pit_id);
        }
    })?;
    if before.is_empty() {
        return Ok(None);
    }
    let order = if rising { Order::Rising } else { Order::Listed(List::read(open, count)?) };
    Ok(Some((count, order)))
}

impl List {
    pub(super) fn read(open: &impl Fn() -> io::Result<RawRows>, count: u32) -> io::Result<Self> {
        let hasher = RandomState::new();
        let mut places = Vec::with_capacity(count as usize);
        each(open, |place, pit_id| {
            if !pit_id.is_empty() {
                places.push((hasher.hash_one(pit_id), place));
            }
        })?;
        places.sort_unstable();
        let mut list = Self { hasher, places, shared: HashMap::new() };
        let twice = |pair: &[(u64, u32)]| (pair[0].0 == pair[1].0).then_some(pair[0].0);
        let doubled: Vec<u64> = list.places.windows(2).filter_map(twice).collect();
        if !doubled.is_empty() {
            let mut shared = HashMap::new();
            each(open, |place, pit_id| {
                if !pit_id.is_empty() && doubled.binary_search(&list.hasher.hash_one(pit_id)).is_ok() {
                    shared.entry(pit_id.to_vec()).or_insert(place);
                }
            })?;
            list.shared = shared;
        }
        Ok(list)
    }

    /// The first row of `pits.csv` that names this pit.
    pub(super) fn place(&self, pit_id: &[u8]) -> Option<u32> {
        if let Some(&first) = self.shared.get(pit_id) {
            return Some(first);
        }
        let hash = self.hasher.hash_one(pit_id);
        let at = self.places.binary_search_by_key(&hash, |&(hash, _)| hash).ok()?;
        self.places.get(at).map(|&(_, place)| place)
    }

    /// Whether some pit stands there twice.
    pub(super) fn has_doubles(&self) -> bool {
        !self.shared.is_empty()
    }
}

/// Hands on the identifier of every row, empty where there is none.
fn each(open: &impl Fn() -> io::Result<RawRows>, mut take: impl FnMut(u32, &[u8])) -> io::Result<()> {
    let mut rows = open()?;
    let mut place = 0u32;
    loop {
        if let Some(run) = rows.take_run_of(usize::MAX) {
            run.pit_ids().for_each(|pit_id| {
                take(place, pit_id);
                place = place.saturating_add(1);
            });
        }
        let Some(row) = rows.peek()? else { return Ok(()) };
        take(place, row.pit_id);
        place = place.saturating_add(1);
        rows.advance();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_reaches_from_behind_one_pit_to_the_last_of_its_own() {
        let span = Span { after: b"N-2".to_vec(), until: Some(b"N-5".to_vec()) };
        let held =
            [&b"N-1"[..], b"N-2", b"N-20", b"N-3", b"N-5", b"N-50", b"N-6", b""].map(|id| span.holds(id));
        assert_eq!(held, [false, false, true, true, true, false, false, true]);
        let to_the_end = Span { until: None, ..span };
        assert_eq!([&b"N-2"[..], b"N-3", b"Z"].map(|id| to_the_end.holds(id)), [false, true, true]);
    }

    #[test]
    fn pits_rise_only_if_each_stands_behind_the_one_before() {
        let order = |text: &'static str| {
            let open = || RawRows::new(Box::new(io::Cursor::new(text.as_bytes())), (2, false), 0);
            order_of(&open).unwrap().map(|(count, order)| (count, matches!(order, Order::Rising)))
        };
        assert_eq!(order("N-1,1\nN-2,1\n\nN-3,1\n"), Some((4, true)));
        assert_eq!(order("N-1,1\nN-3,1\nN-2,1\n"), Some((3, false)));
        assert_eq!(order("N-1,1\nN-1,1\n"), Some((2, false)));
        assert_eq!((order(""), order(",1\n")), (None, None));
    }
}
