//! A straight line through the levels: least squares, Student-t bands, and Fieller's crossing.
//!
//! This is the classical answer that anybody with a statistics book can check. It knows no bottom and no
//! inlet, and its bands trust that the errors of the readings are independent.

use super::{CrossingSet, TrendError, TrendPoint};
use crate::band::Coverage;
use crate::numerics::inverse_prediction::InverseSet;
use crate::numerics::straight_line::{StraightLine, StraightLineError};
use crate::numerics::student_t::{Multipliers, StudentT, UsualTails};

/// Fewest usable readings for a line with a band.
///
/// ```
/// # use soaklife::trend::line::LineTrend;
/// # use soaklife::trend::TrendPoint;
/// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
/// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
/// use soaklife::trend::line::FEWEST_READINGS;
/// assert!(LineTrend::fit(&vec![point(0.0, 1.0); FEWEST_READINGS - 1]).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub const FEWEST_READINGS: usize = 3;

/// A fitted line of level against the axis.
///
/// # Formula
/// level(x) = ȳ + b (x − x̄), with b = Σw(x−x̄)(y−ȳ)/Sxx, Sxx = Σw(x−x̄)², s² = Σw r²/(n−2).
/// Standard error of the mean at x: s √(1/Σw + (x−x̄)²/Sxx); of a new reading: s √(1 + 1/Σw + (x−x̄)²/Sxx).
/// Levels in inches, x in years or design-years with 0 on the day of the forecast.
///
/// A date known only to the month or year adds (b σₓ)² to the variance of its reading; the weights are
/// adjusted once with the slope of the first fit.
///
/// ```
/// use soaklife::band::Coverage;
/// use soaklife::trend::line::LineTrend;
/// use soaklife::trend::{CrossingSet, TrendPoint};
///
/// // Common practice, no source: 12 in left at 3 inches a year is 4 years.
/// let points = [(-4.0, 96.0), (-2.0, 102.0), (0.0, 108.0)].map(|(x, level_in)| TrendPoint {
///     x,
///     x_standard_deviation: 0.0,
///     level_in,
///     weight: 1.0,
/// });
/// let line = LineTrend::fit(&points)?;
/// assert!((line.slope() - 3.0).abs() < 1e-12);
/// assert!((line.place_of(120.0).ok_or("flat")? - 4.0).abs() < 1e-12);
/// // Three readings exactly on a line leave no scatter, hence no width.
/// let set = line.crossing(120.0, Coverage::EIGHTY, 1.0);
/// assert!(matches!(set, CrossingSet::Between { earliest, latest }
///     if (earliest - 4.0).abs() < 1e-9 && (latest - 4.0).abs() < 1e-9));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Source
/// Draper and Smith, Applied Regression Analysis; checked in this project against the certified values of
/// NIST StRD (linear) and against exact rational arithmetic.
#[derive(Debug, Clone, PartialEq)]
pub struct LineTrend {
    line: StraightLine,
    student_t: StudentT,
    /// Those of the usual ranges, if someone keeps them.
    multipliers: Option<Multipliers>,
}

impl LineTrend {
    /// Fits a line through at least three points.
    ///
    /// # Errors
    /// [`TrendError::TooFewReadings`], [`TrendError::NoSpread`] if all stand at one place of the axis,
    /// [`TrendError::NotFinite`].
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// assert!(LineTrend::fit(&[point(0.0, 99.0), point(1.0, 102.0)]).is_err());
    /// ```
    pub fn fit(points: &[TrendPoint]) -> Result<Self, TrendError> {
        let x: Vec<f64> = points.iter().map(|point| point.x).collect();
        let y: Vec<f64> = points.iter().map(|point| point.level_in).collect();
        let weights: Option<Vec<f64>> = points
            .iter()
            .any(|point| point.weight != 1.0)
            .then(|| points.iter().map(|point| point.weight).collect());
        let mut line = StraightLine::fit(&x, &y, weights.as_deref()).map_err(in_readings)?;
        if points.iter().any(|point| point.x_standard_deviation > 0.0) {
            let weights = weights_for_uncertain_dates(points, &line);
            line = StraightLine::fit(&x, &y, Some(&weights)).map_err(in_readings)?;
        }
        let student_t = StudentT::new(line.degrees_of_freedom())
            .map_err(|_| TrendError::TooFewReadings { used: points.len(), needed: FEWEST_READINGS })?;
        Ok(Self { line, student_t, multipliers: None })
    }

    /// The same for one pit of many: what is asked of every line is computed once.
    pub(crate) fn fit_among_many(
        points: &[TrendPoint],
        usual_tails: &UsualTails,
    ) -> Result<Self, TrendError> {
        let fitted = Self::fit(points)?;
        Ok(Self { multipliers: usual_tails.of(&fitted.student_t), ..fitted })
    }

    /// Rise per axis unit, inches.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.slope() - 3.2).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn slope(&self) -> f64 {
        self.line.slope()
    }

    /// Standard error of the slope, inches per axis unit.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.slope_standard_error() - 0.08f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn slope_standard_error(&self) -> f64 {
        self.line.slope_standard_error()
    }

    /// Scatter of the readings about the line (residual standard deviation), inches.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.scatter() - 0.4f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn scatter(&self) -> f64 {
        self.line.residual_sd()
    }

    /// Fitted level at a place, inches.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.level(0.0) - 108.8).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, x: f64) -> f64 {
        self.line.mean_at(x)
    }

    /// Quantile of the fitted mean level at a place, inches.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.level_quantile(0.0, 0.5) - line.level(0.0)).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantile(&self, x: f64, probability: f64) -> f64 {
        self.quantile(self.line.mean_at(x), self.line.standard_error_of_mean_at(x), probability)
    }

    /// Quantile of the next reading at a place, inches.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!(line.reading_quantile(0.0, 0.9) > line.level_quantile(0.0, 0.9));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reading_quantile(&self, x: f64, probability: f64) -> f64 {
        self.quantile(self.line.mean_at(x), self.line.standard_error_of_new_at(x), probability)
    }

    /// Several quantiles of the level at one place.
    pub(crate) fn level_quantiles<const N: usize>(&self, x: f64, probabilities: [f64; N]) -> [f64; N] {
        let (mean, standard_error) = (self.line.mean_at(x), self.line.standard_error_of_mean_at(x));
        probabilities.map(|probability| self.quantile(mean, standard_error, probability))
    }

    fn quantile(&self, mean: f64, standard_error: f64, probability: f64) -> f64 {
        if probability == 0.5 {
            return mean;
        }
        let kept = self.kept(probability.min(1.0 - probability)).map(|t| t.copysign(probability - 0.5));
        let t = kept.or_else(|| self.student_t.quantile(probability).ok());
        t.map_or(mean, |t| mean + t * standard_error)
    }

    fn kept(&self, tail: f64) -> Option<f64> {
        self.multipliers.and_then(|kept| kept.exceeded_with(tail))
    }

    /// Probability that the mean level at a place is at `threshold_in` or above (Student t).
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.chance_at_or_above(0.0, 108.8) - 0.5).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_at_or_above(&self, x: f64, threshold_in: f64) -> f64 {
        let above = self.line.mean_at(x) - threshold_in;
        let standard_error = self.line.standard_error_of_mean_at(x);
        if standard_error > 0.0 {
            self.student_t.cdf(above / standard_error)
        } else {
            f64::from(u8::from(above >= 0.0))
        }
    }

    /// Place where [`Self::chance_at_or_above`] is largest; nothing if it is so at no place, but at an end.
    ///
    /// With v₀ the variance of the mean ȳ at the centre x̄ and v₁ that of the slope b, (ȳ + b u − c)² ÷ (v₀ + v₁ u²) turns at
    /// u = b v₀ ÷ ((ȳ − c) v₁) only, which is a peak if ȳ lies above the threshold c.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// let peak = line.likeliest_at_or_above(100.0).ok_or("a peak")?;
    /// let chance = |x: f64| line.chance_at_or_above(x, 100.0);
    /// assert!(chance(peak) > chance(peak - 0.1) && chance(peak) > chance(peak + 0.1));
    /// assert_eq!(line.likeliest_at_or_above(120.0), None); // the surer the farther ahead
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn likeliest_at_or_above(&self, threshold_in: f64) -> Option<f64> {
        let above = self.line.mean_at_centre() - threshold_in;
        let variances = self.line.sum_of_squares_x() / self.line.total_weight();
        let place = self.line.centre() + self.line.slope() / above * variances;
        (above > 0.0 && place.is_finite()).then_some(place)
    }

    /// Place where the line meets a level; nothing if it is flat.
    ///
    /// ```
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// assert!((line.place_of(120.0).ok_or("flat")? - 3.5).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn place_of(&self, threshold_in: f64) -> Option<f64> {
        let place = self.line.centre() + (threshold_in - self.line.mean_at_centre()) / self.line.slope();
        place.is_finite().then_some(place)
    }

    /// When the mean level may meet `threshold_in`, by Fieller's theorem, with `pace` axis units a year ahead.
    ///
    /// # Formula
    /// The set of x with (level(x) − threshold)² ≤ t² s² (1/Σw + (x − x̄)²/Sxx), t the Student quantile of the
    /// coverage. It is an interval only where the slope differs from 0 at that coverage.
    ///
    /// # Source
    /// Fieller (1954), Journal of the Royal Statistical Society B 16, 175–185.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// # use soaklife::trend::line::LineTrend;
    /// # use soaklife::trend::{CrossingSet, TrendPoint};
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let line = LineTrend::fit(&[point(-3.0, 99.0), point(-2.0, 103.0), point(-1.0, 105.0), point(0.0, 109.0)])?;
    /// let twice_the_load = line.crossing(120.0, Coverage::EIGHTY, 2.0);
    /// assert!(matches!(twice_the_load, CrossingSet::Between { earliest, latest } if earliest < 1.75 && 1.75 < latest));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing(&self, threshold_in: f64, coverage: Coverage, pace: f64) -> CrossingSet {
        let above_now = self.line.mean_at(0.0) >= threshold_in;
        let already = CrossingSet::Between { earliest: 0.0, latest: 0.0 };
        if pace <= 0.0 {
            return if above_now { already } else { CrossingSet::Never };
        }
        let inverse = match self.kept(coverage.lower_tail()) {
            Some(multiplier) => self.line.uncertain().inverse(threshold_in, multiplier, 0.0),
            None => self.line.inverse_of_mean(threshold_in, coverage.value()),
        };
        let Ok(inverse) = inverse else { return CrossingSet::Unbounded };
        let years = |x: f64| (x / pace).max(0.0);
        match inverse.set {
            InverseSet::Interval { lower, upper } if self.slope() > 0.0 => {
                CrossingSet::Between { earliest: years(lower), latest: years(upper) }
            }
            // The level falls: it was there before the interval and will not be after it.
            InverseSet::Interval { upper, .. } if upper < 0.0 => CrossingSet::Never,
            InverseSet::Interval { lower, .. } if lower > 0.0 => already,
            InverseSet::Outside { lower, upper } if lower < 0.0 && upper > 0.0 => {
                if above_now {
                    already
                } else {
                    CrossingSet::NotBefore { earliest: years(upper) }
                }
            }
            InverseSet::Empty => {
                if above_now {
                    already
                } else {
                    CrossingSet::Never
                }
            }
            _ => CrossingSet::Unbounded,
        }
    }
}

/// One step of reweighting: var = s²/w + (b σₓ)², in units of s².
fn weights_for_uncertain_dates(points: &[TrendPoint], line: &StraightLine) -> Vec<f64> {
    let slope_over_scatter = line.slope() / line.residual_sd();
    let adjusted = |point: &TrendPoint| {
        let relative = slope_over_scatter * point.x_standard_deviation;
        let weight = 1.0 / (1.0 / point.weight + relative * relative);
        if weight.is_finite() && weight > 0.0 { weight } else { point.weight }
    };
    points.iter().map(adjusted).collect()
}

fn in_readings(error: StraightLineError) -> TrendError {
    match error {
        StraightLineError::TooFewPoints { found } => {
            TrendError::TooFewReadings { used: found, needed: FEWEST_READINGS }
        }
        StraightLineError::AllXEqual { .. } => TrendError::NoSpread,
        StraightLineError::NotFinite { index, .. } | StraightLineError::BadWeight { index, .. } => {
            TrendError::NotFinite { index }
        }
        StraightLineError::LengthMismatch { .. } | StraightLineError::OutOfRange => TrendError::OutOfRange,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(levels: [f64; 5]) -> LineTrend {
        let points: Vec<TrendPoint> = (-4..=0)
            .zip(levels)
            .map(|(x, level_in)| TrendPoint {
                x: f64::from(x),
                x_standard_deviation: 0.0,
                level_in,
                weight: 1.0,
            })
            .collect();
        LineTrend::fit(&points).unwrap()
    }

    #[test]
    fn a_level_that_falls_never_comes_back_to_where_it_was() {
        let falling = line([110.0, 108.1, 105.9, 104.1, 101.9]);
        let crossing = |threshold| falling.crossing(threshold, Coverage::EIGHTY, 1.0);
        let already = CrossingSet::Between { earliest: 0.0, latest: 0.0 };
        assert_eq!((crossing(107.0), crossing(95.0)), (CrossingSet::Never, already));
        // Within the errors of the line it may be there today or not.
        assert_eq!(crossing(falling.level(0.0)), CrossingSet::Unbounded);
    }

    #[test]
    fn a_level_that_hardly_moves_may_never_come() {
        let creeping = line([100.0, 101.0, 99.5, 100.5, 100.2]);
        let crossing = |threshold| creeping.crossing(threshold, Coverage::EIGHTY, 1.0);
        assert!(matches!(crossing(110.0), CrossingSet::NotBefore { earliest } if earliest > 5.0));
        assert_eq!(crossing(90.0), CrossingSet::Between { earliest: 0.0, latest: 0.0 });
        // A household that uses nothing moves nothing.
        assert_eq!(creeping.crossing(110.0, Coverage::EIGHTY, 0.0), CrossingSet::Never);
    }
}
