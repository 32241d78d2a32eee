//! The Mann–Kendall test: is there a monotone trend, whatever its shape?

use std::cmp::Ordering;

use thiserror::Error;

use super::normal;

/// More points than this would take minutes and gigabytes for all pairs.
pub(super) const MOST_POINTS: usize = 4_096;

/// The outcome of a Mann–Kendall test.
///
/// # Formula
/// S = Σ sign(xⱼ − xᵢ) sign(yⱼ − yᵢ) over all pairs. Without a trend S has mean 0 and the tie-corrected variance
/// [n(n−1)(2n+5) − Σt(t−1)(2t+5) − Σu(u−1)(2u+5)]/18 + Σt(t−1)(t−2) Σu(u−1)(u−2)/[9n(n−1)(n−2)]
/// + Σt(t−1) Σu(u−1)/[2n(n−1)], with t and u the sizes of the groups of equal x and of equal y.
///
/// # Example
/// ```
/// use soaklife::numerics::mann_kendall::MannKendall;
/// let rising = MannKendall::test(&[1.0, 2.0, 3.0, 4.0], &[0.1, 0.2, 0.4, 0.9])?;
/// assert_eq!(rising.score(), 6); // every pair rises
/// assert_eq!(rising.tau_b(), Some(1.0));
/// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
/// ```
///
/// # Source
/// Mann (1945), *Econometrica* 13, 245–259; Kendall (1975), *Rank Correlation Methods*, chapters 3 and 4.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    score: i64,
    variance: f64,
    tau_b: Option<f64>,
}

/// Why points cannot be compared in pairs.
///
/// ```
/// # use soaklife::numerics::mann_kendall::{MannKendall, PairsError};
/// # let test = MannKendall::test(&[1.0, 2.0, 3.0], &[2.0, 4.0, 7.0])?;
/// assert_eq!(MannKendall::test(&[1.0], &[2.0]), Err(PairsError::TooFewPoints { found: 1 }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PairsError {
    /// The slices differ in length.
    #[error("{x} values of x but {y} of y")]
    LengthMismatch {
        /// The number of x.
        x: usize,
        /// The number of y.
        y: usize,
    },
    /// A pair needs two points.
    #[error("{found} points: at least 2 are needed")]
    TooFewPoints {
        /// How many there are.
        found: usize,
    },
    /// All pairs of so many points would not fit in reasonable memory.
    #[error("{found} points: all pairs are formed of at most {most}")]
    TooManyPoints {
        /// How many there are.
        found: usize,
        /// How many are allowed.
        most: usize,
    },
    /// A coordinate is NaN or infinite.
    #[error("the point at index {index}, ({x}, {y}), is not finite")]
    NotFinite {
        /// The index of the point.
        index: usize,
        /// Its x.
        x: f64,
        /// Its y.
        y: f64,
    },
    /// All x are equal, so no pair has a slope.
    #[error("all x equal {x}: no pair has a slope")]
    AllXEqual {
        /// The one value.
        x: f64,
    },
    /// The slope between two points is too large to represent.
    #[error("the slope between the points at {first} and {second} is too large to represent")]
    SlopeOverflows {
        /// The index of the first point.
        first: usize,
        /// The index of the second point.
        second: usize,
    },
    /// A coverage must lie strictly between 0 and 1.
    #[error("coverage {coverage} is not strictly between 0 and 1")]
    CoverageOutOfRange {
        /// The coverage asked for.
        coverage: f64,
    },
}

impl MannKendall {
    /// Tests whether y rises or falls with x.
    ///
    /// # Formula
    /// See [`MannKendall`]; x need not be sorted, and equal values are allowed in both.
    ///
    /// # Errors
    /// [`PairsError`]: lengths that differ, fewer than 2 or more than 4096 points, a number that is not finite, all x
    /// equal.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::mann_kendall::MannKendall;
    /// let test = MannKendall::test(&[1.0, 2.0, 3.0], &[5.0, 5.0, 5.0])?;
    /// assert_eq!((test.score(), test.two_sided_p(), test.tau_b()), (0, 1.0, None));
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    pub fn test(x: &[f64], y: &[f64]) -> Result<MannKendall, PairsError> {
        check(x, y)?;
        let score = score(x, y);
        let (tied_x, tied_y) = (Ties::of(x), Ties::of(y));
        let pairs = 0.5 * tied_x.all.pairs;
        let untied = (pairs - 0.5 * tied_x.pairs) * (pairs - 0.5 * tied_y.pairs);
        let tau_b = (untied > 0.0).then(|| (score as f64 / untied.sqrt()).clamp(-1.0, 1.0));
        Ok(MannKendall { score, variance: variance(&tied_x, &tied_y), tau_b })
    }

    /// S: rising pairs less falling pairs.
    ///
    /// ```
    /// # use soaklife::numerics::mann_kendall::MannKendall;
    /// # let test = MannKendall::test(&[1.0, 2.0, 3.0], &[2.0, 4.0, 7.0])?;
    /// assert_eq!(test.score(), 3); // three pairs, all rising
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn score(&self) -> i64 {
        self.score
    }

    /// The variance of S without a trend, corrected for ties; zero when all y are equal.
    ///
    /// ```
    /// # use soaklife::numerics::mann_kendall::MannKendall;
    /// # let test = MannKendall::test(&[1.0, 2.0, 3.0], &[2.0, 4.0, 7.0])?;
    /// assert!((test.variance() - 3.0 * 2.0 * 11.0 / 18.0).abs() < 1e-12); // n (n − 1)(2n + 5)/18
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn variance(&self) -> f64 {
        self.variance
    }

    /// S in standard deviations, moved by one towards zero for continuity.
    ///
    /// # Formula
    /// z = (S − sign S)/√Var(S); 0 when the variance is 0.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::mann_kendall::MannKendall;
    /// let test = MannKendall::test(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 3.0, 4.0])?;
    /// assert!((test.z() - 5.0 / (26.0f64 / 3.0).sqrt()).abs() < 1e-15);
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    pub fn z(&self) -> f64 {
        if self.variance > 0.0 {
            (self.score - self.score.signum()) as f64 / self.variance.sqrt()
        } else {
            0.0
        }
    }

    /// How often would |S| be as large as this without a trend? The normal approximation, both tails direct.
    ///
    /// # Formula
    /// 2 (1 − Φ(|z|)).
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::{mann_kendall::MannKendall, normal};
    /// let test = MannKendall::test(&[1.0, 2.0, 3.0, 4.0], &[4.0, 3.0, 2.0, 1.0])?;
    /// assert_eq!(test.two_sided_p(), 2.0 * normal::cdf(test.z()));
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    pub fn two_sided_p(&self) -> f64 {
        2.0 * normal::upper_tail(self.z().abs())
    }

    /// Kendall's τ_b, −1 to 1; `None` when all y are equal.
    ///
    /// # Formula
    /// S/√((N − N_x)(N − N_y)), N = n(n−1)/2 and N_x, N_y the pairs tied in x and in y.
    ///
    /// ```
    /// # use soaklife::numerics::mann_kendall::MannKendall;
    /// # let test = MannKendall::test(&[1.0, 2.0, 3.0], &[2.0, 4.0, 7.0])?;
    /// assert_eq!(test.tau_b(), Some(1.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn tau_b(&self) -> Option<f64> {
        self.tau_b
    }
}

/// Refuses points that cannot be compared in pairs.
pub(super) fn check(x: &[f64], y: &[f64]) -> Result<(), PairsError> {
    if x.len() != y.len() {
        return Err(PairsError::LengthMismatch { x: x.len(), y: y.len() });
    }
    if x.len() < 2 {
        return Err(PairsError::TooFewPoints { found: x.len() });
    }
    if x.len() > MOST_POINTS {
        return Err(PairsError::TooManyPoints { found: x.len(), most: MOST_POINTS });
    }
    let not_finite = |(_, (x, y)): &(usize, (&f64, &f64))| !(x.is_finite() && y.is_finite());
    if let Some((index, (&x, &y))) = x.iter().zip(y).enumerate().find(not_finite) {
        return Err(PairsError::NotFinite { index, x, y });
    }
    match x {
        [first, rest @ ..] if rest.iter().all(|v| v == first) => Err(PairsError::AllXEqual { x: *first }),
        _ => Ok(()),
    }
}

/// The tie-corrected variance of S for checked points.
pub(super) fn score_variance(x: &[f64], y: &[f64]) -> f64 {
    variance(&Ties::of(x), &Ties::of(y))
}

fn score(x: &[f64], y: &[f64]) -> i64 {
    let sign = |a: &f64, b: &f64| match a.partial_cmp(b) {
        Some(Ordering::Greater) => 1,
        Some(Ordering::Less) => -1,
        _ => 0,
    };
    let mut score = 0;
    for (i, (xi, yi)) in x.iter().zip(y).enumerate() {
        for (xj, yj) in x.iter().zip(y).skip(i + 1) {
            score += sign(xj, xi) * sign(yj, yi);
        }
    }
    score
}

/// The polynomials in a count k that the variance is made of.
#[derive(Debug, Clone, Copy, Default)]
struct Counts {
    /// k (k − 1).
    pairs: f64,
    /// k (k − 1)(k − 2).
    triples: f64,
    /// k (k − 1)(2k + 5).
    spread: f64,
}

impl Counts {
    fn of(k: usize) -> Counts {
        let k = k as f64;
        Counts {
            pairs: k * (k - 1.0),
            triples: k * (k - 1.0) * (k - 2.0),
            spread: k * (k - 1.0) * (2.0 * k + 5.0),
        }
    }
}

/// Those polynomials for all values, and summed over the groups of equal ones.
struct Ties {
    all: Counts,
    pairs: f64,
    triples: f64,
    spread: f64,
}

impl Ties {
    fn of(values: &[f64]) -> Ties {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let mut ties = Ties { all: Counts::of(values.len()), pairs: 0.0, triples: 0.0, spread: 0.0 };
        for group in sorted.chunk_by(|a, b| a == b) {
            let counts = Counts::of(group.len());
            ties.pairs += counts.pairs;
            ties.triples += counts.triples;
            ties.spread += counts.spread;
        }
        ties
    }
}

fn variance(x: &Ties, y: &Ties) -> f64 {
    let all = x.all;
    let mut variance = (all.spread - x.spread - y.spread) / 18.0 + x.pairs * y.pairs / (2.0 * all.pairs);
    if all.triples > 0.0 {
        variance += x.triples * y.triples / (9.0 * all.triples);
    }
    variance.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_variance_is_that_of_all_permutations() {
        // Every order of y against fixed x, both with ties: S² averages to the variance, S to zero.
        let pairs: (&[f64], &[f64]) = (&[1.0, 1.0, 2.0, 3.0, 5.0], &[7.0, 8.0, 8.0, 8.0, 9.0]);
        let triples: (&[f64], &[f64]) = (&[1.0, 1.0, 1.0, 2.0, 3.0, 3.0], &[7.0, 8.0, 8.0, 8.0, 9.0, 9.0]);
        let two: (&[f64], &[f64]) = (&[1.0, 2.0], &[7.0, 8.0]);
        for (x, y) in [pairs, triples, two] {
            let orders = permutations(y.len());
            let squares = orders
                .iter()
                .map(|o| score(x, &o.iter().map(|&i| y[i]).collect::<Vec<_>>()).pow(2))
                .sum::<i64>();
            let expected = squares as f64 / orders.len() as f64;
            let found = MannKendall::test(x, y).unwrap().variance();
            assert!((found - expected).abs() < 1e-13, "{x:?}, {y:?}: {found}, by counting {expected}");
        }
    }

    fn permutations(n: usize) -> Vec<Vec<usize>> {
        if n == 0 {
            return vec![vec![]];
        }
        let shorter = permutations(n - 1);
        shorter.iter().flat_map(|p| (0..n).map(move |at| [&p[..at], &[n - 1], &p[at..]].concat())).collect()
    }

    #[test]
    fn refuses_in_words() {
        assert_eq!(MannKendall::test(&[], &[]), Err(PairsError::TooFewPoints { found: 0 }));
        assert_eq!(MannKendall::test(&[1.0], &[]), Err(PairsError::LengthMismatch { x: 1, y: 0 }));
        assert_eq!(MannKendall::test(&[2.0; 3], &[1.0; 3]), Err(PairsError::AllXEqual { x: 2.0 }));
        assert_eq!(
            MannKendall::test(&[1.0, f64::INFINITY], &[1.0; 2]),
            Err(PairsError::NotFinite { index: 1, x: f64::INFINITY, y: 1.0 })
        );
        let many = vec![0.0; MOST_POINTS + 1];
        assert!(matches!(MannKendall::test(&many, &many), Err(PairsError::TooManyPoints { .. })));
    }
}
