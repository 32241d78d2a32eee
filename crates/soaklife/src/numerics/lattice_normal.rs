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
