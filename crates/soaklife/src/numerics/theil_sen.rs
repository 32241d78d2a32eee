//! The Theil–Sen line: the median of all pairwise slopes, and how sure it is.

use super::mann_kendall::{self, PairsError};
use super::normal;

/// A line with the median of all pairwise slopes.
///
/// # Formula
/// slope = median of (yⱼ − yᵢ)/(xⱼ − xᵢ) over all pairs with xᵢ ≠ xⱼ; intercept = median(y) − slope · median(x).
///
/// # Example
/// ```
/// use soaklife::numerics::theil_sen::TheilSen;
/// // One wild reading does not move it.
/// let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0, 5.0], &[1.0, 2.0, 3.0, 4.0, 50.0])?;
/// assert_eq!((line.slope(), line.intercept()), (1.0, 0.0));
/// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
/// ```
///
/// # Source
/// Theil (1950), *Proc. Kon. Ned. Akad. Wetensch.* 53; Sen (1968), *J. Am. Stat. Assoc.* 63, 1379–1389; the intercept
/// after Conover (1999), *Practical Nonparametric Statistics*, 3rd ed., section 5.5.
#[derive(Debug, Clone, PartialEq)]
pub struct TheilSen {
    points: usize,
    median_x: f64,
    slope: f64,
    intercept: f64,
    /// In increasing order.
    slopes: Vec<f64>,
    score_sd: f64,
}

/// Sen's confidence interval of the slope.
///
/// ```
/// # use soaklife::numerics::theil_sen::TheilSen;
/// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
/// let interval = line.interval(0.99)?;
/// assert_eq!((interval.lower, interval.upper, interval.reaches_coverage), (1.0, 4.0, false)); // four points cannot
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlopeInterval {
    /// The lower limit.
    pub lower: f64,
    /// The upper limit.
    pub upper: f64,
    /// False when there are too few pairs for the coverage asked: the limits are then the extreme slopes, and the
    /// interval they should bound has no end.
    pub reaches_coverage: bool,
}

impl TheilSen {
    /// Fits the line.
    ///
    /// # Formula
    /// See [`TheilSen`]; n(n − 1)/2 slopes are formed and kept.
    ///
    /// # Errors
    /// [`PairsError`]: lengths that differ, fewer than 2 or more than 4096 points, a number that is not finite, all x
    /// equal, a slope too large to represent.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::theil_sen::TheilSen;
    /// let line = TheilSen::fit(&[2.0, 1.0, 3.0], &[4.0, 2.0, 7.0])?; // slopes 2, 2.5, 3
    /// assert_eq!((line.slope(), line.slopes()), (2.5, [2.0, 2.5, 3.0].as_slice()));
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    pub fn fit(x: &[f64], y: &[f64]) -> Result<TheilSen, PairsError> {
        mann_kendall::check(x, y)?;
        let slopes = pairwise_slopes(x, y)?;
        let slope = median(&slopes);
        let (middle_x, middle_y) = (median(&sorted(x)), median(&sorted(y)));
        let intercept = (-slope).mul_add(middle_x, middle_y);
        if !intercept.is_finite() {
            return Err(PairsError::SlopeOverflows { first: 0, second: x.len() - 1 });
        }
        let score_sd = mann_kendall::score_variance(x, y).sqrt();
        Ok(TheilSen { points: x.len(), median_x: middle_x, slope, intercept, slopes, score_sd })
    }

    /// The number of points.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
    /// assert_eq!(line.points(), 4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn points(&self) -> usize {
        self.points
    }

    /// The median of x, about which the line turns when its slope changes.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?;
    /// assert_eq!(line.median_x(), 2.5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn median_x(&self) -> f64 {
        self.median_x
    }

    /// The median slope, y per x.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
    /// assert!((line.slope() - (2.0 + 7.0 / 3.0) / 2.0).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// Median of y less slope times median of x (Conover), in y.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
    /// assert!((line.intercept() - (3.0 - line.slope() * 2.5)).abs() < 1e-14); // median y less slope × median x
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn intercept(&self) -> f64 {
        self.intercept
    }

    /// All pairwise slopes, in increasing order.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
    /// assert_eq!(line.slopes().len(), 6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn slopes(&self) -> &[f64] {
        &self.slopes
    }

    /// The line at `x`.
    ///
    /// ```
    /// # use soaklife::numerics::theil_sen::TheilSen;
    /// # let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0])?; // slopes 1, 1.5, 2, 7/3, 3, 4
    /// assert!((line.value_at(2.5) - 3.0).abs() < 1e-14); // through the medians
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn value_at(&self, x: f64) -> f64 {
        self.slope.mul_add(x, self.intercept)
    }

    /// Between which limits does the true slope lie?
    ///
    /// # Formula
    /// With N slopes in increasing order and C = z √Var(S), z the normal quantile of (1 + coverage)/2, the limits are the
    /// slopes of rank r₁ = round((N − C)/2) and round((N + C)/2) + 1, counted from 1 and kept within 1..N. Halves are
    /// rounded to even. This is the convention of *rounded ranks*; Gilbert (1987) interpolates between slopes instead.
    ///
    /// # Errors
    /// [`PairsError::CoverageOutOfRange`] unless 0 < `coverage` < 1.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::theil_sen::TheilSen;
    /// // Sen (1968), the worked example: 26/7 to 35/8 with 93 % confidence.
    /// let x = [1.0, 2.0, 3.0, 4.0, 10.0, 12.0, 18.0];
    /// let line = TheilSen::fit(&x, &[9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0])?;
    /// let interval = line.interval(0.93)?;
    /// assert_eq!((interval.lower, interval.upper), (26.0 / 7.0, 35.0 / 8.0));
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    ///
    /// # Source
    /// Sen (1968), section 5; Hollander and Wolfe (1999), *Nonparametric Statistical Methods*, 2nd ed., section 9.3.
    pub fn interval(&self, coverage: f64) -> Result<SlopeInterval, PairsError> {
        let out_of_range = PairsError::CoverageOutOfRange { coverage };
        if !(coverage > 0.0 && coverage < 1.0) {
            return Err(out_of_range);
        }
        let Ok(lower_z) = normal::quantile(0.5 * (1.0 - coverage)) else { return Err(out_of_range) };
        let (count, half_width) = (self.slopes.len() as f64, -lower_z * self.score_sd);
        let lower_rank = (0.5 * (count - half_width)).round_ties_even();
        let upper_rank = (0.5 * (count + half_width)).round_ties_even() + 1.0;
        Ok(SlopeInterval {
            lower: self.slope_of_rank(lower_rank),
            upper: self.slope_of_rank(upper_rank),
            reaches_coverage: lower_rank >= 1.0 && upper_rank <= count,
        })
    }

    /// How sure is it that the true slope exceeds `slope`? The confidence distribution of the slope.
    ///
    /// # Formula
    /// Φ((N − 2k)/√Var(S)) with k the number of pairwise slopes below `slope`, equal ones counted half: the one-sided
    /// test of that slope by the normal approximation of S, without a correction for continuity. A step from 1 to 0 when
    /// all y are equal. NaN for NaN.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::theil_sen::TheilSen;
    /// let line = TheilSen::fit(&[1.0, 2.0, 3.0], &[2.0, 4.0, 7.0])?; // slopes 2, 2.5, 3
    /// assert_eq!(line.probability_slope_exceeds(2.5), 0.5);
    /// assert!(line.probability_slope_exceeds(1.0) > 0.9);
    /// # Ok::<(), soaklife::numerics::mann_kendall::PairsError>(())
    /// ```
    ///
    /// # Source
    /// Sen (1968), section 3; confidence distributions: Schweder and Hjort (2016), *Confidence, Likelihood,
    /// Probability*, chapter 3.
    pub fn probability_slope_exceeds(&self, slope: f64) -> f64 {
        if slope.is_nan() {
            return f64::NAN;
        }
        let below = self.slopes.partition_point(|s| *s < slope);
        let not_above = self.slopes.partition_point(|s| *s <= slope);
        let score = self.slopes.len() as f64 - (below + not_above) as f64;
        if score == 0.0 {
            0.5
        } else if self.score_sd == 0.0 {
            if score > 0.0 { 1.0 } else { 0.0 }
        } else {
            normal::cdf(score / self.score_sd)
        }
    }

    /// The slope of a rank counted from 1, ranks outside taken to the nearest end.
    fn slope_of_rank(&self, rank: f64) -> f64 {
        let index = (rank.max(1.0) as usize).min(self.slopes.len()).saturating_sub(1);
        self.slopes.get(index).copied().unwrap_or(self.slope)
    }
}

fn pairwise_slopes(x: &[f64], y: &[f64]) -> Result<Vec<f64>, PairsError> {
    let mut slopes = Vec::with_capacity(x.len() * x.len().saturating_sub(1) / 2);
    for (i, (xi, yi)) in x.iter().zip(y).enumerate() {
        for (j, (xj, yj)) in x.iter().zip(y).enumerate().skip(i + 1) {
            if xi == xj {
                continue;
            }
            let (dx, dy) = (xj - xi, yj - yi);
            let slope = dy / dx;
            if !(dx.is_finite() && dy.is_finite() && slope.is_finite()) {
                return Err(PairsError::SlopeOverflows { first: i, second: j });
            }
            slopes.push(slope);
        }
    }
    slopes.sort_by(f64::total_cmp);
    Ok(slopes)
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// The middle of sorted values, or the mean of the two around it; 0 of none.
fn median(sorted: &[f64]) -> f64 {
    let at = |index: usize| sorted.get(index).copied().unwrap_or(0.0);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 { at(middle) } else { 0.5 * at(middle.saturating_sub(1)) + 0.5 * at(middle) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_points_cannot_reach_99_percent() {
        let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0]).unwrap();
        let wide = line.interval(0.99).unwrap();
        assert_eq!((wide.lower, wide.upper, wide.reaches_coverage), (1.0, 4.0, false));
        assert!(line.interval(0.5).unwrap().reaches_coverage);
    }

    #[test]
    fn the_confidence_of_a_slope_is_that_of_its_rank() {
        // Of the slopes 1, 1.5, 2, 7/3, 3, 4 four are below 2.5: S = 6 − 8, Var(S) = 4 · 3 · 13/18.
        let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 8.0]).unwrap();
        let expected = normal::cdf(-2.0 / (26.0_f64 / 3.0).sqrt());
        assert!((line.probability_slope_exceeds(2.5) - expected).abs() < 1e-15);
        assert_eq!((line.points(), line.median_x()), (4, 2.5));
    }

    #[test]
    fn level_readings_have_slope_zero_for_certain() {
        let line = TheilSen::fit(&[1.0, 2.0, 3.0], &[5.0; 3]).unwrap();
        assert_eq!((line.slope(), line.intercept()), (0.0, 5.0));
        let chances = [-1e-9, 0.0, 1e-9].map(|slope| line.probability_slope_exceeds(slope));
        assert_eq!(chances, [1.0, 0.5, 0.0]);
    }

    #[test]
    fn refuses_in_words() {
        assert!(matches!(
            TheilSen::fit(&[0.0, 1e-300], &[0.0, 1e300]),
            Err(PairsError::SlopeOverflows { .. })
        ));
        let both = Err(PairsError::SlopeOverflows { first: 0, second: 1 });
        assert_eq!(TheilSen::fit(&[-1.5e308, 1.5e308], &[0.0, 1.0]), both);
        assert_eq!(TheilSen::fit(&[0.0, 1e100], &[-1.5e308, 1.5e308]), both);
        // A slope of 17 that starts beyond the largest float.
        assert_eq!(TheilSen::fit(&[1e308, 1.1e308], &[0.0, 1.7e308]), both);
        let line = TheilSen::fit(&[0.0, 1.0], &[0.0, 1.0]).unwrap();
        assert!(matches!(line.interval(1.0), Err(PairsError::CoverageOutOfRange { .. })));
        assert!(
            line.interval(0.0).is_err()
                && line.interval(f64::NAN).is_err()
                && line.probability_slope_exceeds(f64::NAN).is_nan()
        );
    }
}
