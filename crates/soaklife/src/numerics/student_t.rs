//! Student's t distribution at any positive number of degrees of freedom.

mod areas;
mod quantile;
mod usual_tails;

pub(crate) use usual_tails::{Multipliers, UsualTails};

use std::f64::consts::PI;

use thiserror::Error;

/// Fewest degrees of freedom; regressions have 1 or more.
const FEWEST_DEGREES: f64 = 1e-3;

/// Student's t distribution.
///
/// # Formula
/// Density c (1 + t²/ν)^(−(ν+1)/2) with c = Γ((ν+1)/2) / (Γ(ν/2) √(νπ)), for ν > 0 degrees of freedom.
///
/// # Example
/// ```
/// use soaklife::numerics::student_t::StudentT;
/// let one_degree = StudentT::new(1.0)?; // the Cauchy distribution: P(T ≤ 1) = 3/4
/// assert!((one_degree.cdf(1.0) - 0.75).abs() < 1e-15);
/// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
/// ```
///
/// # Source
/// Student (1908), *Biometrika* 6, 1–25; Abramowitz and Stegun (1964), section 26.7.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StudentT {
    degrees_of_freedom: f64,
    /// Γ(ν/2 + ½) / (Γ(ν/2) ν √π): the constant of the tail area. Finite and positive for every ν.
    tail_constant: f64,
}

/// Why a distribution or a quantile does not exist.
///
/// ```
/// # use soaklife::numerics::student_t::{StudentT, StudentTError};
/// assert_eq!(StudentT::new(0.0), Err(StudentTError::DegreesOfFreedom { degrees_of_freedom: 0.0 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StudentTError {
    /// The degrees of freedom must be a positive finite number.
    #[error(
        "{degrees_of_freedom} degrees of freedom: a finite number of at least {FEWEST_DEGREES} is needed"
    )]
    DegreesOfFreedom {
        /// The value given.
        degrees_of_freedom: f64,
    },
    /// A quantile is finite only for a probability strictly between 0 and 1.
    #[error("probability {probability} is not strictly between 0 and 1")]
    ProbabilityOutOfRange {
        /// The probability asked for.
        probability: f64,
    },
    /// The quantile exists but is too large for an `f64` (only below about one degree of freedom).
    #[error(
        "the quantile at {probability} with {degrees_of_freedom} degrees of freedom is too large to represent"
    )]
    QuantileOverflows {
        /// The probability asked for.
        probability: f64,
        /// The degrees of freedom.
        degrees_of_freedom: f64,
    },
}

impl StudentT {
    /// The distribution with the given degrees of freedom, which need not be whole.
    ///
    /// # Errors
    /// [`StudentTError::DegreesOfFreedom`] unless `degrees_of_freedom` is finite and at least 0.001: with fewer,
    /// nearly all values lie beyond the largest `f64`.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// assert_eq!(StudentT::new(8.0)?.degrees_of_freedom(), 8.0);
    /// assert!(StudentT::new(0.0).is_err());
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    pub fn new(degrees_of_freedom: f64) -> Result<StudentT, StudentTError> {
        if !(degrees_of_freedom >= FEWEST_DEGREES && degrees_of_freedom.is_finite()) {
            return Err(StudentTError::DegreesOfFreedom { degrees_of_freedom });
        }
        let tail_constant = gamma_half_step(0.5 * degrees_of_freedom) / (2.0 * PI.sqrt());
        Ok(StudentT { degrees_of_freedom, tail_constant })
    }

    /// The degrees of freedom ν.
    ///
    /// ```
    /// # use soaklife::numerics::student_t::StudentT;
    /// assert_eq!(StudentT::new(8.5)?.degrees_of_freedom(), 8.5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn degrees_of_freedom(&self) -> f64 {
        self.degrees_of_freedom
    }

    /// How dense are the values around `t`?
    ///
    /// # Formula
    /// c (1 + t²/ν)^(−(ν+1)/2). NaN for NaN.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// // One degree of freedom: 1 / (π (1 + t²)).
    /// let density = StudentT::new(1.0)?.density(2.0);
    /// assert!((density - 1.0 / (5.0 * std::f64::consts::PI)).abs() < 1e-16);
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    pub fn density(&self, t: f64) -> f64 {
        let exponent = (0.5 * self.degrees_of_freedom + 0.5) * self.log_growth(t);
        self.density_at_zero() * (-exponent).exp()
    }

    /// How likely is T ≤ `t`?
    ///
    /// # Formula
    /// For t < 0 half the regularised incomplete beta function I_x(ν/2, ½) at x = ν/(ν + t²); for t > 0 one half
    /// plus the area from 0 to t. Relative error about 1e-13. NaN for NaN.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// // Two degrees of freedom: ½ + t / (2√(2 + t²)).
    /// assert!((StudentT::new(2.0)?.cdf(1.0) - (0.5 + 0.5 / 3f64.sqrt())).abs() < 1e-15);
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    ///
    /// # Source
    /// Abramowitz and Stegun (1964), 26.7.1 and 26.5.27.
    pub fn cdf(&self, t: f64) -> f64 {
        let areas = areas::areas(self, t.abs());
        if t < 0.0 { areas.beyond } else { 0.5 + areas.between }
    }

    /// How likely is T > `t`? Computed directly, so a tail of 1e-30 keeps its digits.
    ///
    /// # Formula
    /// 1 − P(T ≤ t) = P(T ≤ −t). NaN for NaN.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// let t = StudentT::new(5.0)?;
    /// assert_eq!(t.upper_tail(1.3), t.cdf(-1.3));
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    pub fn upper_tail(&self, t: f64) -> f64 {
        self.cdf(-t)
    }

    /// Which value does T stay below with the given probability?
    ///
    /// # Formula
    /// t with P(T ≤ t) = `probability`; exactly 0 at ½. Relative error about 1e-13.
    ///
    /// # Errors
    /// [`StudentTError::ProbabilityOutOfRange`] unless 0 < `probability` < 1;
    /// [`StudentTError::QuantileOverflows`] when the answer exceeds the largest `f64`.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// let t = StudentT::new(10.0)?.quantile(0.975)?;
    /// assert!((t - 2.228_138_851_986_274).abs() < 1e-14); // every table prints 2.228
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    ///
    /// # Source
    /// Start after Hill (1970), *Communications of the ACM* 13, 619–620; then Newton steps of fourth order.
    pub fn quantile(&self, probability: f64) -> Result<f64, StudentTError> {
        if !(probability > 0.0 && probability < 1.0) {
            return Err(StudentTError::ProbabilityOutOfRange { probability });
        }
        let overflow =
            StudentTError::QuantileOverflows { probability, degrees_of_freedom: self.degrees_of_freedom };
        if probability < 0.5 {
            quantile::exceeded_with(self, probability).map(|t| -t).ok_or(overflow)
        } else {
            quantile::exceeded_with(self, 1.0 - probability).ok_or(overflow)
        }
    }

    /// Which q has P(−q ≤ T ≤ q) = `coverage`: the multiplier of a two-sided interval?
    ///
    /// # Formula
    /// The quantile at (1 + coverage)/2, found from the tail (1 − coverage)/2 so that a coverage near 1 keeps its digits.
    ///
    /// # Errors
    /// [`StudentTError::ProbabilityOutOfRange`] unless 0 < `coverage` < 1, and as [`StudentT::quantile`].
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::student_t::StudentT;
    /// assert!((StudentT::new(1.0)?.two_sided_multiplier(0.5)? - 1.0).abs() < 1e-15);
    /// # Ok::<(), soaklife::numerics::student_t::StudentTError>(())
    /// ```
    pub fn two_sided_multiplier(&self, coverage: f64) -> Result<f64, StudentTError> {
        if !(coverage > 0.0 && coverage < 1.0) {
            return Err(StudentTError::ProbabilityOutOfRange { probability: coverage });
        }
        let overflow = StudentTError::QuantileOverflows {
            probability: 0.5 + 0.5 * coverage,
            degrees_of_freedom: self.degrees_of_freedom,
        };
        quantile::exceeded_with(self, 0.5 * (1.0 - coverage)).ok_or(overflow)
    }

    fn density_at_zero(&self) -> f64 {
        self.tail_constant * self.degrees_of_freedom.sqrt()
    }

    /// ln(1 + t²/ν), also where t² overflows.
    fn log_growth(&self, t: f64) -> f64 {
        let square = t * t / self.degrees_of_freedom;
        if square.is_finite() || t.is_infinite() {
            square.ln_1p()
        } else {
            2.0 * t.abs().ln() - self.degrees_of_freedom.ln()
        }
    }
}

/// Γ(a + ½) / (a Γ(a)) for a ≥ 0: the logarithm's asymptotic series where a is large, reached by recurrence.
///
/// # Source
/// Tricomi and Erdélyi (1951), *Pacific J. Math.* 1, 133–142; the coefficients are Bernoulli numbers in closed form.
fn gamma_half_step(a: f64) -> f64 {
    const LARGE: f64 = 16.0;
    const STEPS: u32 = 16;
    let (mut large, mut product) = (a, 1.0);
    // Γ(a + ½)/Γ(a + 1) grows by (a + 1)/(a + ½) at each step back.
    for _ in 0..STEPS {
        if large >= LARGE {
            break;
        }
        product *= (large + 1.0) / (large + 0.5);
        large += 1.0;
    }
    let inverse = 1.0 / large;
    let square = inverse * inverse;
    let series = inverse
        * (-1.0 / 8.0
            + square
                * (1.0 / 192.0
                    + square * (-1.0 / 640.0 + square * (17.0 / 14_336.0 - square * 31.0 / 18_432.0))));
    product * series.exp() / large.sqrt()
}

#[cfg(test)]
mod tests {
    use statrs::distribution::{ContinuousCDF, StudentsT};

    use super::*;

    #[test]
    fn the_constant_is_that_of_the_gamma_function() {
        // Γ(a + ½)/(a Γ(a)) at a = ½, 1, 3/2, 2: 2/√π, √π/2, 4/(3√π), 3√π/8.
        let root = PI.sqrt();
        for (a, expected) in
            [(0.5, 2.0 / root), (1.0, root / 2.0), (1.5, 4.0 / (3.0 * root)), (2.0, 3.0 * root / 8.0)]
        {
            assert!((gamma_half_step(a) / expected - 1.0).abs() < 2e-15, "a = {a}");
        }
        assert!((gamma_half_step(1e-300) - root).abs() < 1e-14);
    }

    #[test]
    fn agrees_with_statrs_where_that_is_trusted() {
        // statrs 0.19 is good to about 1e-12 from 2 to 100 degrees of freedom (measured).
        for nu in [2.0, 3.0, 7.5, 11.0, 40.0, 99.0] {
            let (ours, theirs) = (StudentT::new(nu).unwrap(), StudentsT::new(0.0, 1.0, nu).unwrap());
            for t in [-6.0, -2.5, -1.0, -0.1, 0.4, 1.9, 5.0] {
                assert!((ours.cdf(t) - theirs.cdf(t)).abs() < 1e-11, "nu = {nu}, t = {t}");
            }
        }
    }

    #[test]
    fn answers_where_others_hang_or_panic() {
        let normal = 1.959_963_984_540_054;
        for nu in [1e5, 3e7, 1e15, 1e100, f64::MAX] {
            let t = StudentT::new(nu).unwrap().quantile(0.975).unwrap();
            assert!((t - normal).abs() < 3.0 / nu + 1e-14, "nu = {nu}: {t}");
        }
        let t = StudentT::new(3.0).unwrap();
        for probability in [-0.1, 0.0, 1.0, 1.5, f64::NAN] {
            assert!(t.quantile(probability).is_err());
        }
        for nu in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(StudentT::new(nu).is_err());
        }
    }

    #[test]
    fn a_quantile_beyond_the_largest_float_is_an_error() {
        let t = StudentT::new(1e-3).unwrap();
        assert!(matches!(t.quantile(1e-9), Err(StudentTError::QuantileOverflows { .. })));
        assert!(t.quantile(0.4).unwrap() < -1e90);
    }
}
