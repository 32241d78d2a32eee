//! The sum of an uncertain number of uncertain amounts.

use crate::numerics::{normal, root::bracketed_root};

/// A root is found in some dozen steps; the cap is met only at a jump, where the end of the bracket is the
/// answer.
const ROOT_CAP: u32 = 200;

/// What so many amounts add up to, when their number is uncertain and each has the same mean and spread.
///
/// Given the number k, the sum is taken to be lognormal with its exact mean k·m and variance k·s²: above zero
/// and a little skewed to the right, as sums of prices are. How far that is from the truth is measured in
/// `tests/fleet_money.rs`.
///
/// ```
/// use soaklife::numerics::compound_sum::CompoundSum;
/// let sum = CompoundSum::new([(0.0, 0.5), (1.0, 0.3), (2.0, 0.2)], 100.0, 25.0);
/// assert!((sum.mean() - 70.0).abs() < 1e-12);
/// assert_eq!(sum.quantile(0.4), 0.0); // more likely than not, nothing at all
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CompoundSum {
    /// Number and its chance, chances adding up to one.
    numbers: Vec<(f64, f64)>,
    each: f64,
    spread: f64,
}

impl CompoundSum {
    /// The sum of a number of amounts, given as numbers with their chances, and the mean and standard deviation
    /// of one.
    ///
    /// Chances are taken in proportion. What cannot be (a number or an amount below zero, not a number) counts
    /// as nothing.
    ///
    /// ```
    /// # use soaklife::numerics::compound_sum::CompoundSum;
    /// assert_eq!(CompoundSum::new([], 100.0, 25.0).mean(), 0.0);
    /// ```
    #[must_use]
    pub fn new(numbers: impl IntoIterator<Item = (f64, f64)>, each: f64, spread: f64) -> Self {
        let usable = |&(number, chance): &(f64, f64)| number.is_finite() && number >= 0.0 && chance > 0.0;
        let mut numbers: Vec<(f64, f64)> = numbers.into_iter().filter(usable).collect();
        let total: f64 = numbers.iter().map(|(_, chance)| chance).sum();
        if total.is_finite() && total > 0.0 {
            numbers.iter_mut().for_each(|(_, chance)| *chance /= total);
        } else {
            numbers.clear();
        }
        let at_least_zero = |amount: f64| if amount.is_finite() { amount.max(0.0) } else { 0.0 };
        Self { numbers, each: at_least_zero(each), spread: at_least_zero(spread) }
    }

    /// The expected sum.
    ///
    /// ```
    /// # use soaklife::numerics::compound_sum::CompoundSum;
    /// assert_eq!(CompoundSum::new([(3.0, 1.0)], 100.0, 25.0).mean(), 300.0);
    /// ```
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean_number() * self.each
    }

    fn mean_number(&self) -> f64 {
        self.numbers.iter().map(|(number, chance)| number * chance).sum()
    }

    /// The standard deviation of the sum.
    ///
    /// # Formula
    /// `√(E[K] s² + Var[K] m²)`.
    ///
    /// ```
    /// # use soaklife::numerics::compound_sum::CompoundSum;
    /// assert_eq!(CompoundSum::new([(4.0, 1.0)], 100.0, 25.0).standard_deviation(), 50.0);
    /// ```
    #[must_use]
    pub fn standard_deviation(&self) -> f64 {
        let mean = self.mean_number();
        let variance: f64 =
            self.numbers.iter().map(|(number, chance)| chance * (number - mean) * (number - mean)).sum();
        (mean * self.spread * self.spread + variance * self.each * self.each).sqrt()
    }

    /// The chance that the sum is no more than an amount.
    ///
    /// ```
    /// # use soaklife::numerics::compound_sum::CompoundSum;
    /// assert_eq!(CompoundSum::new([(0.0, 0.5), (1.0, 0.5)], 100.0, 0.0).at_most(99.0), 0.5);
    /// ```
    #[must_use]
    pub fn at_most(&self, amount: f64) -> f64 {
        if amount.is_nan() {
            return amount;
        }
        if amount < 0.0 {
            return 0.0;
        }
        self.numbers
            .iter()
            .map(|&(number, chance)| chance * self.at_most_given(number, amount))
            .sum::<f64>()
            .min(1.0)
    }

    fn at_most_given(&self, number: f64, amount: f64) -> f64 {
        let mean = number * self.each;
        if mean == 0.0 || self.spread == 0.0 {
            return if amount >= mean { 1.0 } else { 0.0 };
        }
        // ln(1 + s²/(k m²)), the variance of the logarithm.
        let of_logarithm = (self.spread / self.each).powi(2) / number;
        let variance = of_logarithm.ln_1p();
        let z = ((amount / mean).ln() + 0.5 * variance) / variance.sqrt();
        if z.is_nan() { 0.0 } else { normal::cdf(z) }
    }

    /// The amount that is enough with a probability: zero below 0, what surely is enough from 1 on.
    ///
    /// ```
    /// # use soaklife::numerics::compound_sum::CompoundSum;
    /// let sum = CompoundSum::new([(1.0, 1.0)], 100.0, 25.0);
    /// assert!((sum.at_most(sum.quantile(0.9)) - 0.9).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn quantile(&self, probability: f64) -> f64 {
        if probability.is_nan() || self.at_most(0.0) >= probability || self.mean() == 0.0 {
            return 0.0;
        }
        let probability = probability.min(1.0 - 1e-9);
        let mut upper = self.mean() + 4.0 * self.standard_deviation();
        for _ in 0..64 {
            if self.at_most(upper) >= probability || !(2.0 * upper).is_finite() {
                break;
            }
            upper *= 2.0;
        }
        let excess = |amount: f64| self.at_most(amount) - probability;
        bracketed_root(excess, 0.0, upper, upper * 1e-12, ROOT_CAP).map_or(upper, |root| root.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spread_of_a_number_that_varies_is_in_the_sum() {
        // K is 1 or 5, each half the time: E[K] = 3, Var[K] = 4; √(3 · 25² + 4 · 100²) = 204.63…
        let sum = CompoundSum::new([(1.0, 0.5), (5.0, 0.5)], 100.0, 25.0);
        assert!((sum.standard_deviation() - 41_875.0_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn quantiles_are_where_the_chance_is_met_however_far_out() {
        let sums = [(25.0, 0.2), (400.0, 0.9), (1e-3, 0.5)].map(|(spread, rare)| {
            CompoundSum::new([(0.0, 1.0 - rare), (1.0, rare / 2.0), (40.0, rare / 2.0)], 100.0, spread)
        });
        for sum in sums {
            for probability in [0.05, 0.5, 0.9, 0.99, 0.999_999] {
                let amount = sum.quantile(probability);
                let (below, above) = (sum.at_most(amount * (1.0 - 1e-9)), sum.at_most(amount * (1.0 + 1e-9)));
                assert!(above >= probability, "{sum:?}, {probability}: {amount}");
                assert!(amount == 0.0 || below <= probability, "{sum:?}, {probability}: {amount}");
            }
        }
    }
}
