//! What is typical of the load of many pits: an exact median, in memory that grows with the different ratios only.

use crate::logbook::PitRecord;
use jiff::civil::Date;
use soaklife::prior::PopulationPrior;
use std::collections::BTreeMap;

/// Pits of known load that make a load ratio typical, and the bounds of a credible one.
const ENOUGH_FOR_TYPICAL: u64 = 20;
const LEAST_TYPICAL: f64 = 0.1;
const MOST_TYPICAL: f64 = 1.5;

/// Ratios of load to design flow, counted.
#[derive(Debug, Default)]
pub(crate) struct LoadRatios {
    counts: BTreeMap<u64, u64>,
    number: u64,
}

impl LoadRatios {
    /// The ratio of a pit on a day, if its load is known.
    pub(crate) fn of(pit: &PitRecord, as_of: Date) -> Option<f64> {
        Some(pit.history().load()?.known_by(as_of).ratio_at(as_of))
    }

    pub(crate) fn add(&mut self, ratio: f64) {
        *self.counts.entry(ordered(ratio)).or_default() += 1;
        self.number += 1;
    }

    /// The median within what is credible, of at least twenty.
    pub(crate) fn typical(&self) -> Option<f64> {
        let median = f64::midpoint(self.at(self.number.saturating_sub(1) / 2)?, self.at(self.number / 2)?);
        (self.number >= ENOUGH_FOR_TYPICAL).then_some(median.clamp(LEAST_TYPICAL, MOST_TYPICAL))
    }

    /// The ratio at a place in ascending order.
    fn at(&self, place: u64) -> Option<f64> {
        let mut before = 0;
        self.counts.iter().find_map(|(&bits, &count)| {
            before += count;
            (place < before).then(|| f64::from_bits(from_ordered(bits)))
        })
    }
}

impl FromIterator<f64> for LoadRatios {
    fn from_iter<I: IntoIterator<Item = f64>>(ratios: I) -> Self {
        let mut counted = Self::default();
        ratios.into_iter().for_each(|ratio| counted.add(ratio));
        counted
    }
}

/// Bits that sort as the numbers do.
fn ordered(number: f64) -> u64 {
    let bits = number.to_bits();
    if bits >> 63 == 0 { bits | 1 << 63 } else { !bits }
}

fn from_ordered(bits: u64) -> u64 {
    if bits >> 63 == 1 { bits & !(1 << 63) } else { !bits }
}

/// A prior with this typical load ratio, unless it gives one other than the default.
pub(crate) fn at_load(prior: PopulationPrior, typical: Option<f64>) -> PopulationPrior {
    match typical {
        Some(typical_load_ratio)
            if prior.typical_load_ratio == PopulationPrior::default().typical_load_ratio =>
        {
            PopulationPrior { typical_load_ratio, ..prior }
        }
        _ => prior,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_median_is_that_of_the_sorted_ratios(mut ratios in prop::collection::vec(0.0..2.0f64, 20..60)) {
            let counted: LoadRatios = ratios.iter().copied().collect();
            ratios.sort_by(f64::total_cmp);
            let middle = f64::midpoint(ratios[(ratios.len() - 1) / 2], ratios[ratios.len() / 2]);
            prop_assert_eq!(counted.typical(), Some(middle.clamp(LEAST_TYPICAL, MOST_TYPICAL)));
        }
    }
}
