//! How many of many unlike things happen, each with a chance of its own: the Poisson-binomial distribution.

use std::ops::Range;
use thiserror::Error;

/// What is not carried if nothing else is said: the smallest masses an `f64` holds with all its digits.
const SMALLEST_CARRIED: f64 = 1e-300;
/// Chances in one leaf of the tree of convolutions; small enough for the cache, large enough to be worth a
/// merge.
const LEAF: usize = 32;

/// The distribution of the number that happens.
///
/// Only the window of counts whose mass can be told is held.
///
/// ```
/// use soaklife::numerics::poisson_binomial::PoissonBinomial;
/// let count = PoissonBinomial::of([0.5, 0.25, 0.125])?;
/// assert_eq!(count.mass(1), 31.0 / 64.0); // worked by hand
/// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PoissonBinomial {
    first: usize,
    masses: Vec<f64>,
}

/// A chance that is none.
///
/// ```
/// use soaklife::numerics::poisson_binomial::{ChanceError, PoissonBinomial};
/// assert_eq!(PoissonBinomial::of([0.5, 1.5]), Err(ChanceError { index: 1, found: 1.5 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("chance {index} is {found}: a chance lies between 0 and 1")]
pub struct ChanceError {
    /// Which one, from 0 on.
    pub index: usize,
    /// The value found.
    pub found: f64,
}

impl Default for PoissonBinomial {
    /// Nothing that could happen: certainly none.
    fn default() -> Self {
        Self { first: 0, masses: vec![1.0] }
    }
}

impl PoissonBinomial {
    /// The distribution, exact to rounding: every mass above about 1e-280 keeps twelve digits or more.
    ///
    /// # Formula
    /// P(K = k) is the coefficient of xᵏ in Π (1 − pᵢ + pᵢ x). The factors are multiplied out directly, in a
    /// tree: all terms are positive, so nothing cancels.
    ///
    /// # Errors
    /// [`ChanceError`] unless every chance lies in 0–1.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// let count = PoissonBinomial::of(vec![0.5; 10])?;
    /// assert!((count.mass(5) - 252.0 / 1024.0).abs() < 1e-15); // the binomial distribution
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    ///
    /// # Source
    /// Wang (1993), On the number of successes in independent trials, *Statistica Sinica* 3, 295–312.
    pub fn of(chances: impl IntoIterator<Item = f64>) -> Result<Self, ChanceError> {
        Self::carrying(chances, SMALLEST_CARRIED)
    }

    /// The same, without carrying masses at the ends that are below `negligible`: faster for thousands of
    /// chances.
    ///
    /// What is left out is at most `negligible` for each of the few thousand entries of a convolution.
    ///
    /// # Errors
    /// As [`PoissonBinomial::of`].
    ///
    /// ```
    /// use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// let count = PoissonBinomial::carrying(vec![0.02; 5_000], 1e-20)?;
    /// assert!(count.counts().len() < 250 && (count.masses().iter().sum::<f64>() - 1.0).abs() < 1e-14);
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    pub fn carrying(chances: impl IntoIterator<Item = f64>, negligible: f64) -> Result<Self, ChanceError> {
        let negligible = if negligible > 0.0 { negligible.min(1e-12) } else { SMALLEST_CARRIED };
        let mut tree = Tree { negligible, done: Vec::new() };
        let mut leaf = Self::default();
        let mut in_leaf = 0;
        for (index, chance) in chances.into_iter().enumerate() {
            if !(0.0..=1.0).contains(&chance) {
                return Err(ChanceError { index, found: chance });
            }
            leaf.take(chance);
            in_leaf += 1;
            if in_leaf == LEAF {
                tree.plant(std::mem::take(&mut leaf));
                in_leaf = 0;
            }
        }
        Ok(tree.fell(leaf).rescaled())
    }

    /// One chance more.
    fn take(&mut self, chance: f64) {
        if chance == 1.0 {
            self.first += 1;
        } else if chance > 0.0 {
            let mut below = 0.0;
            for mass in &mut self.masses {
                let here = *mass;
                *mass = here * (1.0 - chance) + below * chance;
                below = here;
            }
            self.masses.push(below * chance);
        }
    }

    /// The sum of two counts that do not depend on each other.
    fn and(&self, other: &Self, negligible: f64) -> Self {
        let (few, many) = if self.masses.len() <= other.masses.len() { (self, other) } else { (other, self) };
        let mut masses = vec![0.0; few.masses.len() + many.masses.len() - 1];
        for (shift, &weight) in few.masses.iter().enumerate() {
            let onto = masses.get_mut(shift..).unwrap_or_default();
            onto.iter_mut().zip(&many.masses).for_each(|(sum, &mass)| *sum += weight * mass);
        }
        Self { first: self.first + other.first, masses }.trimmed(negligible)
    }

    /// With masses that add up to one: the rounding of 1 − p is the same for like chances and adds up over
    /// thousands.
    fn rescaled(mut self) -> Self {
        let total: f64 = self.masses.iter().sum();
        self.masses.iter_mut().for_each(|mass| *mass /= total);
        self
    }

    fn trimmed(mut self, negligible: f64) -> Self {
        let kept = |mass: &f64| *mass >= negligible;
        let Some(begin) = self.masses.iter().position(kept) else { return self };
        let end = self.masses.iter().rposition(kept).map_or(self.masses.len(), |last| last + 1);
        self.masses.truncate(end);
        self.masses.drain(..begin);
        self.first += begin;
        self
    }

    /// The counts that are held; all others have no mass worth telling.
    ///
    /// ```
    /// # use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// assert_eq!(PoissonBinomial::of([1.0, 0.5])?.counts(), 1..3);
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    #[must_use]
    pub fn counts(&self) -> Range<usize> {
        self.first..self.first + self.masses.len()
    }

    /// The masses of those counts.
    ///
    /// ```
    /// # use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// assert_eq!(PoissonBinomial::of([1.0, 0.5])?.masses(), [0.5, 0.5]);
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    #[must_use]
    pub fn masses(&self) -> &[f64] {
        &self.masses
    }

    /// P(K = k).
    ///
    /// ```
    /// # use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// assert_eq!(PoissonBinomial::of([0.5, 0.5])?.mass(1), 0.5);
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    #[must_use]
    pub fn mass(&self, count: usize) -> f64 {
        count.checked_sub(self.first).and_then(|place| self.masses.get(place)).copied().unwrap_or_default()
    }

    /// P(K ≤ k).
    ///
    /// ```
    /// # use soaklife::numerics::poisson_binomial::PoissonBinomial;
    /// assert_eq!(PoissonBinomial::of([0.5, 0.5])?.at_most(1), 0.75);
    /// # Ok::<(), soaklife::numerics::poisson_binomial::ChanceError>(())
    /// ```
    #[must_use]
    pub fn at_most(&self, count: usize) -> f64 {
        let Some(place) = count.checked_sub(self.first) else { return 0.0 };
        self.masses.iter().take(place.saturating_add(1)).sum::<f64>().min(1.0)
    }
}

/// Convolutions in pairs of like size, as a binary counter carries: few operations, small errors, one fixed
/// order.
struct Tree {
    negligible: f64,
    /// Finished parts, each of twice as many leaves as the next or more.
    done: Vec<(u32, PoissonBinomial)>,
}

impl Tree {
    fn plant(&mut self, leaf: PoissonBinomial) {
        let (mut height, mut part) = (0, leaf.trimmed(self.negligible));
        while let Some((_, earlier)) = self.done.pop_if(|(of, _)| *of == height) {
            part = earlier.and(&part, self.negligible);
            height += 1;
        }
        self.done.push((height, part));
    }

    fn fell(self, last: PoissonBinomial) -> PoissonBinomial {
        let whole = last.trimmed(self.negligible);
        self.done.into_iter().rev().fold(whole, |sum, (_, part)| part.and(&sum, self.negligible))
    }
}
