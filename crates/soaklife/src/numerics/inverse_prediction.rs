//! Inverse prediction: where does a fitted line meet a given value, and where might the true line do so?

use thiserror::Error;

use super::straight_line::StraightLine;
use super::student_t::{StudentT, StudentTError};

/// A straight line whose two coefficients are known with a covariance.
///
/// # Formula
/// y = `mean_at_centre` + `slope` (x − `centre`); the variance of that mean at x is
/// v₀ + 2 c (x − `centre`) + v₁ (x − `centre`)², with v₀, c, v₁ the three last fields.
///
/// ```
/// # use soaklife::numerics::inverse_prediction::UncertainLine;
/// let certain = UncertainLine { centre: 0.0, mean_at_centre: 1.0, slope: 2.0, variance_of_mean: 0.0, covariance: 0.0, variance_of_slope: 0.0 };
/// assert_eq!(certain.inverse(5.0, 2.0, 0.0)?.estimate, Some(2.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncertainLine {
    /// The x at which the mean is given.
    pub centre: f64,
    /// The mean of y there.
    pub mean_at_centre: f64,
    /// The slope, y per x.
    pub slope: f64,
    /// The variance of `mean_at_centre`, y².
    pub variance_of_mean: f64,
    /// The covariance of `mean_at_centre` and `slope`, y² per x.
    pub covariance: f64,
    /// The variance of `slope`, (y per x)².
    pub variance_of_slope: f64,
}

/// The set of all x at which the true line may meet the given value.
///
/// ```
/// # use soaklife::numerics::inverse_prediction::InverseSet;
/// # use soaklife::numerics::straight_line::StraightLine;
/// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
/// # let found = line.inverse_of_mean(6.0, 0.5)?;
/// assert!(matches!(found.set, InverseSet::Interval { lower, upper } if lower < 4.0 && 4.0 < upper));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum InverseSet {
    /// Everything from `lower` to `upper`.
    Interval {
        /// The lower end.
        lower: f64,
        /// The upper end.
        upper: f64,
    },
    /// Everything up to `lower` and everything from `upper`: the slope may have either sign. One of the two is
    /// ±`f64::MAX` where that ray begins beyond the largest `f64`.
    Outside {
        /// The last x of the lower ray.
        lower: f64,
        /// The first x of the upper ray.
        upper: f64,
    },
    /// Every x.
    WholeLine,
    /// No x: a level line without any uncertainty, at another value.
    Empty,
}

/// The interval by linearisation, which always looks finite; published tables print it.
///
/// ```
/// # use soaklife::numerics::straight_line::StraightLine;
/// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
/// # let found = line.inverse_of_mean(6.0, 0.5)?;
/// let wald = found.wald.ok_or("level line")?;
/// assert!((0.5 * (wald.lower + wald.upper) - 4.0).abs() < 1e-12); // symmetric about the estimate
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaldInterval {
    /// The standard error of the estimate.
    pub standard_error: f64,
    /// Estimate minus multiplier times standard error.
    pub lower: f64,
    /// Estimate plus multiplier times standard error.
    pub upper: f64,
}

/// Where a line meets a value.
///
/// ```
/// # use soaklife::numerics::straight_line::StraightLine;
/// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
/// # let found = line.inverse_of_mean(6.0, 0.5)?;
/// assert!((found.estimate.ok_or("level line")? - 4.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InversePrediction {
    /// Where the fitted line does; `None` for a level line.
    pub estimate: Option<f64>,
    /// Where the true line may, by Fieller's theorem.
    pub set: InverseSet,
    /// The linearised interval; `None` for a level line, or when its standard error is too large to represent.
    pub wald: Option<WaldInterval>,
}

/// Why a line could not be inverted.
///
/// ```
/// # use soaklife::numerics::inverse_prediction::InversePredictionError;
/// # use soaklife::numerics::straight_line::StraightLine;
/// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
/// assert_eq!(line.inverse_of_new(6.0, 0.5, 0), Err(InversePredictionError::NoReplicates));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum InversePredictionError {
    /// An input is NaN or infinite.
    #[error("{name} is {value}: a finite number is needed")]
    NotFinite {
        /// Which input.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// A variance or the multiplier is negative.
    #[error("{name} is {value}: it must not be negative")]
    Negative {
        /// Which input.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// The covariance is larger than the two variances allow.
    #[error(
        "covariance {covariance} is impossible with variances {variance_of_mean} and {variance_of_slope}"
    )]
    NotACovariance {
        /// The covariance given.
        covariance: f64,
        /// The variance of the mean given.
        variance_of_mean: f64,
        /// The variance of the slope given.
        variance_of_slope: f64,
    },
    /// A mean of no new readings has no variance.
    #[error("a mean of at least one new reading is needed")]
    NoReplicates,
    /// The coverage is no probability strictly between 0 and 1, or its multiplier is too large.
    #[error("coverage: {0}")]
    Coverage(#[from] StudentTError),
    /// A square over- or underflows.
    #[error("the squares leave the range of floating-point numbers: rescale x or y")]
    OutOfRange,
}

impl UncertainLine {
    /// At which x does the line reach `value`?
    ///
    /// # Formula
    /// All x with (`value` − mean(x))² ≤ q² (`extra_variance` + Var(mean(x))), q = `multiplier`. With b the slope this is
    /// an interval exactly when b² > q² v₁; otherwise everything outside two points, or every x. The Wald interval is
    /// estimate ± q √(extra + Var(mean(estimate))) / |b|.
    ///
    /// # Errors
    /// [`InversePredictionError`]: a number that is not finite, a negative variance or multiplier, an impossible
    /// covariance, or squares out of range.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::inverse_prediction::{InverseSet, UncertainLine};
    /// let line = UncertainLine {
    ///     centre: 0.0,
    ///     mean_at_centre: 0.0,
    ///     slope: 1.0,
    ///     variance_of_mean: 1.0,
    ///     covariance: 0.0,
    ///     variance_of_slope: 0.0,
    /// };
    /// let found = line.inverse(5.0, 2.0, 0.0)?;
    /// assert_eq!(found.estimate, Some(5.0));
    /// assert_eq!(found.set, InverseSet::Interval { lower: 3.0, upper: 7.0 });
    /// # Ok::<(), soaklife::numerics::inverse_prediction::InversePredictionError>(())
    /// ```
    ///
    /// # Source
    /// Fieller (1954), *J. R. Stat. Soc. B* 16, 175–185; Draper and Smith (1998), section 3.2.
    pub fn inverse(
        &self,
        value: f64,
        multiplier: f64,
        extra_variance: f64,
    ) -> Result<InversePrediction, InversePredictionError> {
        self.check(value, multiplier, extra_variance)?;
        let distance = value - self.mean_at_centre;
        let estimate = if self.slope == 0.0 { None } else { Some(self.centre + distance / self.slope) };
        let set = self.fieller(distance, multiplier, extra_variance)?;
        let wald = self.wald(distance, multiplier, extra_variance);
        if estimate.is_some_and(|x| !x.is_finite()) {
            return Err(InversePredictionError::OutOfRange);
        }
        Ok(InversePrediction { estimate, set, wald })
    }

    fn check(&self, value: f64, multiplier: f64, extra_variance: f64) -> Result<(), InversePredictionError> {
        let any_sign = [
            ("value", value),
            ("centre", self.centre),
            ("mean at the centre", self.mean_at_centre),
            ("slope", self.slope),
            ("covariance", self.covariance),
        ];
        let not_negative = [
            ("multiplier", multiplier),
            ("extra variance", extra_variance),
            ("variance of the mean", self.variance_of_mean),
            ("variance of the slope", self.variance_of_slope),
        ];
        if let Some(&(name, value)) = any_sign.iter().chain(&not_negative).find(|(_, v)| !v.is_finite()) {
            return Err(InversePredictionError::NotFinite { name, value });
        }
        if let Some(&(name, value)) = not_negative.iter().find(|(_, v)| *v < 0.0) {
            return Err(InversePredictionError::Negative { name, value });
        }
        // Square roots, so that the product cannot overflow; a rounding of the last digits is allowed.
        let largest = self.variance_of_mean.sqrt() * self.variance_of_slope.sqrt();
        if self.covariance.abs() > largest * (1.0 + 1e-9) {
            return Err(InversePredictionError::NotACovariance {
                covariance: self.covariance,
                variance_of_mean: self.variance_of_mean,
                variance_of_slope: self.variance_of_slope,
            });
        }
        Ok(())
    }

    /// With d = x − centre: a d² + 2 h d + c ≤ 0.
    fn fieller(
        &self,
        distance: f64,
        multiplier: f64,
        extra_variance: f64,
    ) -> Result<InverseSet, InversePredictionError> {
        let q2 = multiplier * multiplier;
        let (b, v1) = (self.slope, self.variance_of_slope);
        let v0 = extra_variance + self.variance_of_mean;
        let a = b * b - q2 * v1;
        let h = -(b * distance + q2 * self.covariance);
        let reach = multiplier * v0.sqrt();
        let c = (distance - reach) * (distance + reach);
        // h² − a c, multiplied out by hand: the terms in b² distance² cancel and must not be subtracted.
        let inner = v1 * distance * distance + 2.0 * self.covariance * b * distance + b * b * v0
            - q2 * (v0 * v1 - self.covariance * self.covariance);
        let discriminant = q2 * inner;
        let underflows = |v: f64| v != 0.0 && v * v < f64::MIN_POSITIVE;
        if ![a, h, c, discriminant].iter().all(|v| v.is_finite()) || underflows(b) || underflows(distance) {
            return Err(InversePredictionError::OutOfRange);
        }
        if a > 0.0 {
            self.between_roots(a, h, c, discriminant, distance)
        } else if discriminant < 0.0 || (a == 0.0 && h == 0.0) {
            Ok(if c <= 0.0 { InverseSet::WholeLine } else { InverseSet::Empty })
        } else {
            Ok(self.outside_roots(a, h, c, discriminant))
        }
    }

    /// a > 0: an interval around the estimate, never empty.
    fn between_roots(
        &self,
        a: f64,
        h: f64,
        c: f64,
        discriminant: f64,
        distance: f64,
    ) -> Result<InverseSet, InversePredictionError> {
        let estimate = self.centre + distance / self.slope;
        // Without uncertainty both roots are the estimate; rounding must not make two of one.
        if discriminant <= 0.0 {
            return if estimate.is_finite() {
                Ok(InverseSet::Interval { lower: estimate, upper: estimate })
            } else {
                Err(InversePredictionError::OutOfRange)
            };
        }
        let (first, second) = roots(a, h, c, discriminant);
        let (lower, upper) = (self.centre + first.min(second), self.centre + first.max(second));
        match (lower.is_finite(), upper.is_finite()) {
            (true, true) => {
                Ok(InverseSet::Interval { lower: lower.min(estimate), upper: upper.max(estimate) })
            }
            // An end too far to represent is no end.
            (true, false) => Ok(InverseSet::Outside { lower: -f64::MAX, upper: lower }),
            (false, true) => Ok(InverseSet::Outside { lower: upper, upper: f64::MAX }),
            (false, false) => Err(InversePredictionError::OutOfRange),
        }
    }

    /// a ≤ 0 with real roots: two rays, of which one may begin beyond every `f64`.
    fn outside_roots(&self, a: f64, h: f64, c: f64, discriminant: f64) -> InverseSet {
        let (far, near) = roots(a, h, c, discriminant);
        if far.is_finite() {
            return InverseSet::Outside {
                lower: (self.centre + far.min(near)).clamp(-f64::MAX, f64::MAX),
                upper: (self.centre + far.max(near)).clamp(-f64::MAX, f64::MAX),
            };
        }
        // a vanishes: 2 h d + c ≤ 0, one ray.
        let end = (self.centre + near).clamp(-f64::MAX, f64::MAX);
        if h < 0.0 {
            InverseSet::Outside { lower: -f64::MAX, upper: end }
        } else {
            InverseSet::Outside { lower: end, upper: f64::MAX }
        }
    }

    fn wald(&self, distance: f64, multiplier: f64, extra_variance: f64) -> Option<WaldInterval> {
        if self.slope == 0.0 {
            return None;
        }
        let from_centre = distance / self.slope;
        let variance = extra_variance
            + self.variance_of_mean
            + from_centre * (2.0 * self.covariance + from_centre * self.variance_of_slope);
        let standard_error = variance.max(0.0).sqrt() / self.slope.abs();
        let (estimate, half) = (self.centre + from_centre, multiplier * standard_error);
        let wald = WaldInterval { standard_error, lower: estimate - half, upper: estimate + half };
        [wald.standard_error, wald.lower, wald.upper].iter().all(|v| v.is_finite()).then_some(wald)
    }
}

/// The roots of a d² + 2 h d + c: the one of larger size first, then the other through their product.
fn roots(a: f64, h: f64, c: f64, discriminant: f64) -> (f64, f64) {
    let sum = -(h + discriminant.sqrt().copysign(h));
    if sum == 0.0 { (0.0, 0.0) } else { (sum / a, c / sum) }
}

impl StraightLine {
    /// The line with the variances of its coefficients, s² included.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.uncertain().variance_of_slope.sqrt() - line.slope_standard_error()).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn uncertain(&self) -> UncertainLine {
        let variance = self.residual_sd() * self.residual_sd();
        UncertainLine {
            centre: self.centre(),
            mean_at_centre: self.mean_at_centre(),
            slope: self.slope(),
            variance_of_mean: variance / self.total_weight(),
            covariance: 0.0,
            variance_of_slope: variance / self.sum_of_squares_x(),
        }
    }

    /// At which x does the mean of y reach `value`?
    ///
    /// # Formula
    /// [`UncertainLine::inverse`] with the Student multiplier of the two-sided `coverage` on n − 2 degrees and no extra
    /// variance.
    ///
    /// # Errors
    /// As [`UncertainLine::inverse`], and [`InversePredictionError::Coverage`] unless 0 < `coverage` < 1.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::inverse_prediction::InverseSet;
    /// use soaklife::numerics::straight_line::StraightLine;
    /// let x = [0.0, 1.0, 2.0, 3.0];
    /// // Points on a line: it is known where the line gets to.
    /// let exact = StraightLine::fit(&x, &[1.0, 3.0, 5.0, 7.0], None)?;
    /// assert_eq!(exact.inverse_of_mean(11.0, 0.9)?.set, InverseSet::Interval { lower: 5.0, upper: 5.0 });
    /// // No slope to speak of: the true line may meet 2 anywhere.
    /// let vague = StraightLine::fit(&x, &[1.0, 3.0, 0.0, 2.0], None)?;
    /// assert_eq!(vague.inverse_of_mean(2.0, 0.9)?.set, InverseSet::WholeLine);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn inverse_of_mean(
        &self,
        value: f64,
        coverage: f64,
    ) -> Result<InversePrediction, InversePredictionError> {
        self.uncertain().inverse(value, self.multiplier(coverage)?, 0.0)
    }

    /// At which x was the mean of `replicates` new readings `value`?
    ///
    /// # Formula
    /// As [`StraightLine::inverse_of_mean`] with the extra variance s²/`replicates`.
    ///
    /// # Errors
    /// As [`StraightLine::inverse_of_mean`], and [`InversePredictionError::NoReplicates`] for none.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::inverse_prediction::InverseSet;
    /// use soaklife::numerics::straight_line::StraightLine;
    /// // Massart et al. (1997), chapter 8, example 1: the mean of five readings of 90 is 43.9 ± 3.2.
    /// let x = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0];
    /// let line = StraightLine::fit(&x, &[4.0, 21.2, 44.6, 61.8, 78.0, 105.2], None)?;
    /// let wald = line.inverse_of_new(90.0, 0.95, 5)?.wald.unwrap();
    /// assert!((0.5 * (wald.upper - wald.lower) - 3.2).abs() < 0.05);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn inverse_of_new(
        &self,
        value: f64,
        coverage: f64,
        replicates: u32,
    ) -> Result<InversePrediction, InversePredictionError> {
        if replicates == 0 {
            return Err(InversePredictionError::NoReplicates);
        }
        let variance = self.residual_sd() * self.residual_sd() / f64::from(replicates);
        self.uncertain().inverse(value, self.multiplier(coverage)?, variance)
    }

    fn multiplier(&self, coverage: f64) -> Result<f64, StudentTError> {
        StudentT::new(self.degrees_of_freedom())?.two_sided_multiplier(coverage)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(slope: f64, variance_of_mean: f64, variance_of_slope: f64) -> UncertainLine {
        UncertainLine {
            centre: 10.0,
            mean_at_centre: 1.0,
            slope,
            variance_of_mean,
            covariance: 0.0,
            variance_of_slope,
        }
    }

    #[test]
    fn a_level_line_has_no_estimate() {
        let certain = line(0.0, 0.0, 0.0);
        assert_eq!(certain.inverse(1.0, 2.0, 0.0).unwrap().set, InverseSet::WholeLine);
        assert_eq!(certain.inverse(1.5, 2.0, 0.0).unwrap().set, InverseSet::Empty);
        let vague = line(0.0, 0.01, 0.25).inverse(3.0, 2.0, 0.0).unwrap();
        assert_eq!((vague.estimate, vague.wald), (None, None));
        // (3 − 1)² ≤ 4 (0.01 + d²/4) from d = ±1.98997….
        let d = 3.96f64.sqrt();
        let InverseSet::Outside { lower, upper } = vague.set else { panic!("{vague:?}") };
        assert!((lower - (10.0 - d)).abs() < 1e-14 && (upper - (10.0 + d)).abs() < 1e-14);
    }

    #[test]
    fn a_slope_exactly_at_its_margin_gives_one_ray() {
        // b = q √v₁, so the set is a half line: (2 − d)² ≤ 4 (1 + d²/4), so d ≥ 0.
        let found = line(1.0, 1.0, 0.25).inverse(3.0, 2.0, 0.0).unwrap();
        assert_eq!(found.set, InverseSet::Outside { lower: -f64::MAX, upper: 10.0 });
        let falling = line(-1.0, 1.0, 0.25).inverse(3.0, 2.0, 0.0).unwrap();
        assert_eq!(falling.set, InverseSet::Outside { lower: 10.0, upper: f64::MAX });
    }

    #[test]
    fn refuses_in_words() {
        let good = line(1.0, 1.0, 1.0);
        assert!(matches!(good.inverse(f64::NAN, 1.0, 0.0), Err(InversePredictionError::NotFinite { .. })));
        assert!(matches!(good.inverse(0.0, -1.0, 0.0), Err(InversePredictionError::Negative { .. })));
        let impossible = UncertainLine { covariance: 2.0, ..good };
        assert!(matches!(
            impossible.inverse(0.0, 1.0, 0.0),
            Err(InversePredictionError::NotACovariance { .. })
        ));
        assert_eq!(line(1e-200, 0.0, 0.0).inverse(2.0, 1.0, 0.0), Err(InversePredictionError::OutOfRange));
    }
}
