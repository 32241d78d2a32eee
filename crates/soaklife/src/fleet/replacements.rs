//! How many pits of a fleet reach their inlet, year by year and in all: first failures, counted pit by pit.

use super::common_factor::{CommonFactor, moved};
use super::counts::{CountDistribution, Form};
use crate::numerics::lattice_normal::Cumulants;
use crate::numerics::poisson_binomial::PoissonBinomial;
use thiserror::Error;

/// Up to so many pits the distribution is exact; beyond, only sums are kept.
pub const MOST_EXACT: u64 = 10_000;
/// Mass not carried in a convolution; the thousands of entries left out add up to far less than 1e-14.
const NEGLIGIBLE: f64 = 1e-20;

/// First failures of a fleet, fed pit by pit.
///
/// Up to [`MOST_EXACT`] pits their chances are held and the counts are exact (Poisson-binomial, mixed over the
/// common factor). Beyond, only fourteen sums a year are kept and the counts are normal, refined for skewness,
/// tails and whole numbers, within one of the exact 10, 50 and 90 % quantiles (`tests/fleet_replacements.rs`).
///
/// ```
/// use soaklife::fleet::{CommonFactor, Replacements};
/// let mut fleet = Replacements::new(3, CommonFactor::default());
/// for pit in 0..200 {
///     let pace = f64::from(pit) / 4_000.0;
///     fleet.add(&[pace, 2.0 * pace, 3.0 * pace])?; // reached by the end of the first, second, third year
/// }
/// let (next, all) = (fleet.in_year(0), fleet.by_end_of(2));
/// assert!((next.expected() - 4.975).abs() < 1e-12 && (all.expected() - 14.925).abs() < 1e-12);
/// assert_eq!((next.quantile(0.1), next.quantile(0.9)), (Some(2), Some(8)));
/// # Ok::<(), soaklife::fleet::ChancesError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Replacements {
    factor: CommonFactor,
    pits: u64,
    /// The chances of every pit one after the other, as long as the counts are exact.
    held: Option<Vec<f64>>,
    in_year: Vec<PowerSums>,
    by_end: Vec<PowerSums>,
}

/// Why a pit cannot be added; nothing of it is.
///
/// ```
/// use soaklife::fleet::{ChancesError, CommonFactor, Replacements};
/// let mut fleet = Replacements::new(2, CommonFactor::NONE);
/// assert_eq!(fleet.add(&[0.3, 0.2]), Err(ChancesError::Falling { place: 1 }));
/// assert_eq!(fleet.pits(), 0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ChancesError {
    /// Another number of years.
    #[error("{found} chances for {expected} years: give one for the end of each")]
    Length {
        /// Years.
        expected: usize,
        /// Chances found.
        found: usize,
    },
    /// A chance outside 0–1.
    #[error("the chance of year {place} is {found}: a chance lies between 0 and 1")]
    NotAChance {
        /// Which year, from 0 on.
        place: usize,
        /// The value found.
        found: f64,
    },
    /// The chance of having failed by a later day is smaller.
    #[error("the chance of year {place} is less than that of the year before: a failure cannot be undone")]
    Falling {
        /// Which year, from 0 on.
        place: usize,
    },
    /// A cost that is no amount of money.
    #[error("a replacement cost of {found} cannot be")]
    Cost {
        /// The value found.
        found: f64,
    },
}

impl Replacements {
    /// No pit yet, for so many years.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// assert_eq!(Replacements::new(10, CommonFactor::default()).by_end_of(9).expected(), 0.0);
    /// ```
    #[must_use]
    pub fn new(years: usize, factor: CommonFactor) -> Self {
        let none = vec![PowerSums::default(); years];
        Self { factor, pits: 0, held: Some(Vec::new()), in_year: none.clone(), by_end: none }
    }

    /// One pit more: the chances that it has reached its inlet by the end of each year. What it has reached
    /// already counts in the first year.
    ///
    /// # Errors
    /// [`ChancesError`]: another number of years, no chance, or chances that fall.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// fleet.add(&[0.5, 0.75])?;
    /// assert_eq!((fleet.in_year(1).expected(), fleet.by_end_of(1).expected()), (0.25, 0.75));
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    pub fn add(&mut self, chances: &[f64]) -> Result<(), ChancesError> {
        checked(chances, self.in_year.len())?;
        self.pits += 1;
        let mut before = 0.0;
        for ((&chance, in_year), by_end) in chances.iter().zip(&mut self.in_year).zip(&mut self.by_end) {
            in_year.add(Moving::within(before, chance));
            by_end.add(Moving::within(0.0, chance));
            before = chance;
        }
        if self.pits > MOST_EXACT {
            self.held = None;
        } else if let Some(held) = &mut self.held {
            held.extend_from_slice(chances);
        }
        Ok(())
    }

    /// The same years and factor without a pit.
    pub(crate) fn emptied(&self) -> Self {
        Self::new(self.in_year.len(), self.factor)
    }

    /// How many pits there are.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// assert_eq!(Replacements::new(2, CommonFactor::NONE).pits(), 0);
    /// ```
    #[must_use]
    pub fn pits(&self) -> u64 {
        self.pits
    }

    /// How many reach their inlet in the year at a place, from 0 on; none in a year that is not looked at.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// fleet.add(&[0.5, 1.0])?;
    /// assert_eq!((fleet.in_year(1).chance_of(1), fleet.in_year(2).chance_of(0)), (0.5, 1.0));
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    #[must_use]
    pub fn in_year(&self, place: usize) -> CountDistribution {
        let within = |chances: &[f64]| {
            let before = place.checked_sub(1).and_then(|before| chances.get(before)).copied();
            Moving::within(before.unwrap_or_default(), chances.get(place).copied().unwrap_or_default())
        };
        self.distribution(self.in_year.get(place), within)
    }

    /// How many have reached their inlet by the end of the year at a place.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// fleet.add(&[0.5, 1.0])?;
    /// assert_eq!(fleet.by_end_of(1).chance_of(1), 1.0);
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    #[must_use]
    pub fn by_end_of(&self, place: usize) -> CountDistribution {
        let within = |chances: &[f64]| Moving::within(0.0, chances.get(place).copied().unwrap_or_default());
        self.distribution(self.by_end.get(place), within)
    }

    fn distribution(&self, sums: Option<&PowerSums>, within: impl Fn(&[f64]) -> Moving) -> CountDistribution {
        let Some(sums) = sums else {
            let form = Form::Exact { first: 0, masses: vec![1.0] };
            return CountDistribution { expected: 0.0, variance: 0.0, form };
        };
        let nodes = self.factor.nodes(sums.shift());
        let form = match &self.held {
            Some(held) => {
                let pits: Vec<Moving> = held.chunks_exact(self.in_year.len()).map(within).collect();
                let parts = nodes.iter().map(|node| {
                    let chances = pits.iter().map(|pit| pit.under(node.excess));
                    (node.weight, PoissonBinomial::carrying(chances, NEGLIGIBLE).unwrap_or_default())
                });
                mixed(parts)
            }
            None => Form::Refined {
                parts: nodes.iter().map(|node| (node.weight, sums.under(node.excess))).collect(),
                pits: self.pits,
            },
        };
        let variance = sums.variance(self.factor.variation());
        CountDistribution { expected: sums.expected(), variance, form }
    }
}

/// Chances that can be added, for so many years.
pub(crate) fn checked(chances: &[f64], years: usize) -> Result<(), ChancesError> {
    if chances.len() != years {
        return Err(ChancesError::Length { expected: years, found: chances.len() });
    }
    if let Some(place) = chances.iter().position(|chance| !(0.0..=1.0).contains(chance)) {
        let found = chances.get(place).copied().unwrap_or_default();
        return Err(ChancesError::NotAChance { place, found });
    }
    match chances.windows(2).position(|pair| pair[1] < pair[0]) {
        Some(before) => Err(ChancesError::Falling { place: before + 1 }),
        None => Ok(()),
    }
}

/// Distributions mixed by their weights.
fn mixed(parts: impl Iterator<Item = (f64, PoissonBinomial)>) -> Form {
    let parts: Vec<(f64, PoissonBinomial)> = parts.collect();
    let first = parts.iter().map(|(_, part)| part.counts().start).min().unwrap_or_default();
    let end = parts.iter().map(|(_, part)| part.counts().end).max().unwrap_or_default();
    let mut masses = vec![0.0; end.saturating_sub(first)];
    for (weight, part) in &parts {
        let onto = masses.get_mut(part.counts().start - first..).unwrap_or_default();
        onto.iter_mut().zip(part.masses()).for_each(|(sum, mass)| *sum += weight * mass);
    }
    Form::Exact { first: first as u64, masses }
}

/// A chance, and how far it moves with the common factor.
#[derive(Debug, Clone, Copy)]
struct Moving {
    chance: f64,
    moves: f64,
}

impl Moving {
    /// The chance of failing between two days, by which these are the chances of having failed.
    fn within(before: f64, by_then: f64) -> Self {
        Self { chance: by_then - before, moves: moved(by_then) - moved(before) }
    }

    fn under(self, excess: f64) -> f64 {
        (self.chance + excess * self.moves).clamp(0.0, 1.0)
    }
}

/// Σ chanceᵃ·movesᵇ over the pits for a + b = 1 … 4: what the cumulants under any common factor follow from.
#[derive(Debug, Clone, Copy, Default)]
struct PowerSums([[f64; 5]; 4]);

impl PowerSums {
    fn add(&mut self, Moving { chance, moves }: Moving) {
        for (sums, power) in self.0.iter_mut().zip(1..) {
            for (sum, of_moves) in sums.iter_mut().zip(0..=power) {
                *sum += chance.powi(power - of_moves) * moves.powi(of_moves);
            }
        }
    }

    fn expected(&self) -> f64 {
        self.0[0][0]
    }

    /// The law of total variance: E[Σ p(1 − p)] + Var[Σ p] over the factor.
    fn variance(&self, variation: f64) -> f64 {
        let [one, two, ..] = &self.0;
        let of_factor = variation * variation;
        (one[0] - two[0] - of_factor * two[2] + of_factor * one[1] * one[1]).max(0.0)
    }

    /// How far the expected count moves with the factor, in standard deviations of the count.
    fn shift(&self) -> f64 {
        let [one, two, ..] = &self.0;
        one[1].abs() / (one[0] - two[0]).max(0.25).sqrt()
    }

    fn under(&self, excess: f64) -> Cumulants {
        const WAYS: [[f64; 5]; 4] = [
            [1.0, 1.0, 0.0, 0.0, 0.0],
            [1.0, 2.0, 1.0, 0.0, 0.0],
            [1.0, 3.0, 3.0, 1.0, 0.0],
            [1.0, 4.0, 6.0, 4.0, 1.0],
        ];
        let mut powers = [0.0; 4];
        for ((sum, of_pits), ways) in powers.iter_mut().zip(&self.0).zip(&WAYS) {
            let terms = of_pits.iter().zip(ways).rev();
            *sum = terms.fold(0.0, |whole, (term, ways)| whole * excess + term * ways);
        }
        Cumulants::of_power_sums(powers)
    }
}
