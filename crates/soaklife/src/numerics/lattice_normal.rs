//! A count known by its cumulants alone: the normal distribution refined for skewness, tails and whole numbers.

use crate::numerics::normal;

/// The first four cumulants of a count.
///
/// ```
/// use soaklife::numerics::lattice_normal::Cumulants;
/// // A hundred fair coins: 25 is the variance, and P(K ≤ 55) = 0.864373487… (the binomial sum).
/// let coins = Cumulants { mean: 50.0, variance: 25.0, third: 0.0, fourth: -12.5 };
/// assert!((coins.at_most(55.0) - 0.864_373_487).abs() < 1e-5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cumulants {
    /// κ₁.
    pub mean: f64,
    /// κ₂.
    pub variance: f64,
    /// κ₃.
    pub third: f64,
    /// κ₄.
    pub fourth: f64,
}

impl Cumulants {
    /// Those of a sum of independent things that happen or do not, from Σp, Σp², Σp³ and Σp⁴.
    ///
    /// # Formula
    /// κ₁ = s₁, κ₂ = s₁ − s₂, κ₃ = s₁ − 3s₂ + 2s₃, κ₄ = s₁ − 7s₂ + 12s₃ − 6s₄, with sⱼ = Σ pᵢʲ.
    ///
    /// ```
    /// use soaklife::numerics::lattice_normal::Cumulants;
    /// let coins = Cumulants::of_power_sums([50.0, 25.0, 12.5, 6.25]);
    /// assert_eq!((coins.mean, coins.variance, coins.third, coins.fourth), (50.0, 25.0, 0.0, -12.5));
    /// ```
    #[must_use]
    pub fn of_power_sums([one, two, three, four]: [f64; 4]) -> Self {
        Self {
            mean: one,
            variance: (one - two).max(0.0),
            third: one - 3.0 * two + 2.0 * three,
            fourth: one - 7.0 * two + 12.0 * three - 6.0 * four,
        }
    }

    /// P(K ≤ k), about.
    ///
    /// # Formula
    /// A density summed over the whole numbers up to k is its integral to k + ½, less a 24th of its slope
    /// there: as if the variance were smaller by 1/12 and κ₄ larger by 1/120 (Sheppard's correction). With
    /// these, x = (k + ½ − κ₁)/σ, and γ, δ the skewness and excess, Φ(x) − φ(x) [γ/6 (x² − 1) + δ/24 (x³ − 3x)
    /// + γ²/72 (x⁵ − 10x³ + 15x)], kept between 0 and 1.
    ///
    /// ```
    /// use soaklife::numerics::lattice_normal::Cumulants;
    /// let certain = Cumulants { mean: 3.0, ..Cumulants::default() };
    /// assert_eq!((certain.at_most(2.0), certain.at_most(3.0)), (0.0, 1.0));
    /// ```
    ///
    /// # Source
    /// Cramér (1946), *Mathematical Methods of Statistics*, section 17.7; for whole numbers Kolassa and
    /// McCullagh (1990), Edgeworth series for lattice distributions, *Annals of Statistics* 18, 981–985.
    #[must_use]
    pub fn at_most(&self, count: f64) -> f64 {
        const SURELY: f64 = 1e-9;
        if self.variance <= SURELY {
            return if count + 0.5 >= self.mean { 1.0 } else { 0.0 };
        }
        let variance = (self.variance - 1.0 / 12.0).max(0.5 * self.variance);
        let sd = variance.sqrt();
        let x = (count + 0.5 - self.mean) / sd;
        if x.abs() > 30.0 {
            return if x > 0.0 { 1.0 } else { 0.0 };
        }
        let (skew, excess) =
            (self.third / (variance * sd), (self.fourth + 1.0 / 120.0) / (variance * variance));
        let square = x * x;
        let bend = skew / 6.0 * (square - 1.0)
            + excess / 24.0 * x * (square - 3.0)
            + skew * skew / 72.0 * x * (square * square - 10.0 * square + 15.0);
        (normal::cdf(x) - normal::density(x) * bend).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Binomial, DiscreteCDF as _};

    /// The cumulants of n things that happen with probability p each.
    fn binomial(n: u32, p: f64) -> Cumulants {
        Cumulants::of_power_sums([1, 2, 3, 4].map(|power| f64::from(n) * p.powi(power)))
    }

    #[test]
    fn cumulants_are_those_of_the_binomial() {
        // κ₂ = npq, κ₃ = npq(1 − 2p), κ₄ = npq(1 − 6pq), with q = 1 − p.
        for (n, p) in [(1, 0.3), (40, 0.05), (7, 0.9)] {
            let (found, npq) = (binomial(n, p), f64::from(n) * p * (1.0 - p));
            let expected = [f64::from(n) * p, npq, npq * (1.0 - 2.0 * p), npq * (1.0 - 6.0 * p * (1.0 - p))];
            for (found, expected) in
                [found.mean, found.variance, found.third, found.fourth].iter().zip(expected)
            {
                assert!((found - expected).abs() < 1e-13, "{n} of {p}: {found}, {expected}");
            }
        }
    }

    /// The first terms left out are λ₅/120·He₄φ, λ₃λ₄/144·He₆φ and λ₃³/1296·He₈φ; the polynomials are largest at 0,
    /// where they are 3, 15 and 105, and φ is .4.
    #[test]
    fn skewed_counts_are_those_of_the_binomial_sum() {
        for (n, p) in [(40, 0.3), (400, 0.05), (3_000, 0.95)] {
            let (refined, exact) = (binomial(n, p), Binomial::new(p, n.into()).unwrap());
            let (npq, skewness) = (refined.variance, (1.0 - 2.0 * p).abs());
            let third = skewness / npq.sqrt();
            let fourth = (refined.fourth / npq / npq).abs();
            let fifth = skewness * (1.0 - 12.0 * p * (1.0 - p)).abs() / npq.powf(1.5);
            let left_out =
                0.4 * (3.0 * fifth / 120.0 + 15.0 * third * fourth / 144.0 + 105.0 * third.powi(3) / 1_296.0);
            for count in 0..=n {
                let (found, expected) = (refined.at_most(count.into()), exact.cdf(count.into()));
                assert!((found - expected).abs() < left_out, "{n} of {p}, {count}: {found}, {expected}");
            }
        }
    }

    #[test]
    fn what_cannot_vary_is_certain() {
        let certain = Cumulants { mean: 3.4, ..Cumulants::default() };
        assert_eq!([2.0, 3.0, 4.0].map(|count| certain.at_most(count)), [0.0, 1.0, 1.0]);
        let far = binomial(10_000, 0.5);
        assert_eq!([0.0, 10_000.0].map(|count| far.at_most(count)), [0.0, 1.0]);
    }
}
