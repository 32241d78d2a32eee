//! A weighted least-squares straight line, centred, without allocation.

use thiserror::Error;

use super::compensated::{CompensatedSum, two_product, two_sum};

const NEEDED: usize = 3;

/// A straight line fitted by (weighted) least squares.
///
/// # Formula
/// y = a + b (x − c) + e with Var(eᵢ) = σ²/wᵢ and c the weighted mean of x, so that the estimates of a and b are
/// uncorrelated: Var(a) = s²/Σw, Var(b) = s²/Sxx, Sxx = Σw(x − c)², s² = Σw e²/(n − 2). Means are summed in
/// twice the precision, and so are residuals where y all but lies on the line; x may be calendar years: a common offset of
/// 2000 costs no digit.
///
/// # Example
/// ```
/// use soaklife::numerics::straight_line::StraightLine;
/// let line = StraightLine::fit(&[2010.0, 2012.0, 2014.0, 2016.0], &[1.0, 3.0, 3.0, 5.0], None)?;
/// assert_eq!((line.centre(), line.mean_at_centre(), line.slope()), (2013.0, 3.0, 0.6));
/// assert!((line.residual_sd() - 0.4f64.sqrt()).abs() < 1e-15);
/// # Ok::<(), soaklife::numerics::straight_line::StraightLineError>(())
/// ```
///
/// # Source
/// Draper and Smith (1998), *Applied Regression Analysis*, 3rd ed., sections 1.2–1.4 and 9.2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    points: usize,
    total_weight: f64,
    centre: f64,
    mean_at_centre: f64,
    intercept: f64,
    slope: f64,
    sum_of_squares_x: f64,
    sum_of_squares_y: f64,
    residual_sum_of_squares: f64,
    residual_sd: f64,
}

/// Which of the two coordinates an error speaks of.
///
/// ```
/// # use soaklife::numerics::straight_line::StraightLine;
/// use soaklife::numerics::straight_line::{Coordinate, StraightLineError};
/// let missing = StraightLine::fit(&[0.0, 1.0, 2.0], &[1.0, f64::INFINITY, 3.0], None);
/// assert_eq!(missing, Err(StraightLineError::NotFinite { coordinate: Coordinate::Y, index: 1, value: f64::INFINITY }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coordinate {
    /// The predictor.
    X,
    /// The response.
    Y,
}

/// Why no straight line was fitted.
///
/// ```
/// # use soaklife::numerics::straight_line::StraightLine;
/// use soaklife::numerics::straight_line::StraightLineError;
/// assert_eq!(StraightLine::fit(&[1.0], &[1.0], None), Err(StraightLineError::TooFewPoints { found: 1 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StraightLineError {
    /// The slices differ in length.
    #[error("{x} values of x, {y} of y and {weights} weights: as many of each are needed")]
    LengthMismatch {
        /// The number of x.
        x: usize,
        /// The number of y.
        y: usize,
        /// The number of weights; as many as x where none were given.
        weights: usize,
    },
    /// Two points fix a line and leave nothing to judge the scatter by.
    #[error("{found} points: a line with its scatter needs 3")]
    TooFewPoints {
        /// How many there are.
        found: usize,
    },
    /// A coordinate is NaN or infinite.
    #[error("{coordinate:?} at index {index} is {value}")]
    NotFinite {
        /// Which coordinate.
        coordinate: Coordinate,
        /// Its index.
        index: usize,
        /// Its value.
        value: f64,
    },
    /// A weight is not a positive finite number.
    #[error("the weight at index {index} is {weight}: a positive finite number is needed")]
    BadWeight {
        /// Its index.
        index: usize,
        /// Its value.
        weight: f64,
    },
    /// All x are equal, so no slope is to be had.
    #[error("all x equal {x}: no slope can be fitted")]
    AllXEqual {
        /// The one value.
        x: f64,
    },
    /// The sums of squares overflow, or the spread of x is so small that its square underflows.
    #[error("the sums of squares leave the range of floating-point numbers: rescale x, y or the weights")]
    OutOfRange,
}

impl StraightLine {
    /// Fits a line to the points (`x`, `y`), each with its weight or all with weight 1.
    ///
    /// # Formula
    /// Weighted least squares, see [`StraightLine`]. Weights are inverse variances up to a common factor.
    ///
    /// # Errors
    /// [`StraightLineError`]: lengths that differ, fewer than 3 points, a number that is not finite, a weight that is
    /// not positive, all x equal, sums of squares out of range.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::straight_line::StraightLine;
    /// let line = StraightLine::fit(&[0.0, 1.0, 2.0], &[1.0, 3.0, 5.0], Some(&[1.0, 0.5, 0.25]))?;
    /// assert_eq!((line.intercept(), line.slope(), line.residual_sd()), (1.0, 2.0, 0.0));
    /// # Ok::<(), soaklife::numerics::straight_line::StraightLineError>(())
    /// ```
    pub fn fit(x: &[f64], y: &[f64], weights: Option<&[f64]>) -> Result<StraightLine, StraightLineError> {
        check(x, y, weights)?;
        let line = match weights {
            // Known to be 1, weights take no time.
            None => Weighted { x, y, weight_at: |_| 1.0 }.fit(x.len() as f64),
            Some(weights) => {
                let mut total = CompensatedSum::default();
                weights.iter().for_each(|&weight| total.add(weight));
                Weighted { x, y, weight_at: |i| weights.get(i).copied().unwrap_or(1.0) }.fit(total.value())
            }
        };
        let all = [
            line.total_weight,
            line.centre,
            line.mean_at_centre,
            line.intercept,
            line.slope,
            line.sum_of_squares_x,
            line.sum_of_squares_y,
            line.residual_sd,
        ];
        if all.iter().all(|v| v.is_finite())
            && line.sum_of_squares_x.is_normal()
            && line.total_weight.is_normal()
        {
            Ok(line)
        } else {
            Err(not_finite(x, y).unwrap_or(StraightLineError::OutOfRange))
        }
    }

    /// The number of points.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.points(), 4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn points(&self) -> usize {
        self.points
    }

    /// The weighted mean c of x.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.centre(), 1.5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn centre(&self) -> f64 {
        self.centre
    }

    /// The fitted mean a at the centre: the weighted mean of y, but for the rounding of the centre.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.mean_at_centre() - 3.0).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn mean_at_centre(&self) -> f64 {
        self.mean_at_centre
    }

    /// The fitted slope b, in y per x.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.slope() - 1.2).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// The fitted mean at x = 0.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.intercept() - 1.2).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn intercept(&self) -> f64 {
        self.intercept
    }

    /// The residual standard deviation s of a point of weight 1; zero when every point lies on the line.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.residual_sd() - 0.4f64.sqrt()).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn residual_sd(&self) -> f64 {
        self.residual_sd
    }

    /// Σw e², the weighted residual sum of squares.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.residual_sum_of_squares() - 0.8).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn residual_sum_of_squares(&self) -> f64 {
        self.residual_sum_of_squares
    }

    /// n − 2.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.degrees_of_freedom(), 2.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn degrees_of_freedom(&self) -> f64 {
        self.points as f64 - 2.0
    }

    /// Sxx = Σw(x − c)².
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.sum_of_squares_x(), 5.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn sum_of_squares_x(&self) -> f64 {
        self.sum_of_squares_x
    }

    /// Σw.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.total_weight(), 4.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn total_weight(&self) -> f64 {
        self.total_weight
    }

    /// The share of the weighted variation of y that the line accounts for; `None` when all y are equal.
    ///
    /// # Formula
    /// R² = 1 − Σw e² / Σw(y − ȳ)².
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::straight_line::StraightLine;
    /// let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.r_squared().unwrap() - 0.9).abs() < 1e-15);
    /// # Ok::<(), soaklife::numerics::straight_line::StraightLineError>(())
    /// ```
    pub fn r_squared(&self) -> Option<f64> {
        (self.sum_of_squares_y > 0.0)
            .then(|| (1.0 - self.residual_sum_of_squares / self.sum_of_squares_y).clamp(0.0, 1.0))
    }

    /// The fitted mean at `x`: a + b (x − c).
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.mean_at(4.0) - 6.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn mean_at(&self, x: f64) -> f64 {
        self.slope.mul_add(x - self.centre, self.mean_at_centre)
    }

    /// Var(mean at `x`) / s², in units of one over a weight.
    ///
    /// # Formula
    /// v(x) = 1/Σw + (x − c)²/Sxx.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::straight_line::StraightLine;
    /// let line = StraightLine::fit(&[0.0, 1.0, 2.0], &[1.0, 3.0, 6.0], None)?;
    /// assert!((line.leverage_at(3.0) - (1.0 / 3.0 + 4.0 / 2.0)).abs() < 1e-15);
    /// # Ok::<(), soaklife::numerics::straight_line::StraightLineError>(())
    /// ```
    pub fn leverage_at(&self, x: f64) -> f64 {
        let from_centre = x - self.centre;
        1.0 / self.total_weight + from_centre / self.sum_of_squares_x * from_centre
    }

    /// The standard error of the fitted mean at `x`: s √v(x).
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// let expected = (0.4f64 * (1.0 / 4.0 + 2.5 * 2.5 / 5.0)).sqrt(); // s √(1/n + (x − c)²/Sxx)
    /// assert!((line.standard_error_of_mean_at(4.0) - expected).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn standard_error_of_mean_at(&self, x: f64) -> f64 {
        self.scaled(self.leverage_at(x))
    }

    /// The standard error of a new point of weight 1 at `x` about the fitted mean there: s √(1 + v(x)).
    ///
    /// # Formula
    /// The bounds of a prediction band are mean ± t · this, t from Student's distribution on n − 2 degrees.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::straight_line::StraightLine;
    /// let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// let (of_mean, of_new) = (line.standard_error_of_mean_at(5.0), line.standard_error_of_new_at(5.0));
    /// assert!((of_new.powi(2) - of_mean.powi(2) - 0.4).abs() < 1e-14); // they differ by s²
    /// # Ok::<(), soaklife::numerics::straight_line::StraightLineError>(())
    /// ```
    pub fn standard_error_of_new_at(&self, x: f64) -> f64 {
        self.scaled(1.0 + self.leverage_at(x))
    }

    /// The standard error of the slope: s / √Sxx.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((line.slope_standard_error() - 0.08f64.sqrt()).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn slope_standard_error(&self) -> f64 {
        self.residual_sd / self.sum_of_squares_x.sqrt()
    }

    /// The standard error of the fitted mean at x = 0.
    ///
    /// ```
    /// # use soaklife::numerics::straight_line::StraightLine;
    /// # let line = StraightLine::fit(&[0.0, 1.0, 2.0, 3.0], &[1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(line.intercept_standard_error(), line.standard_error_of_mean_at(0.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn intercept_standard_error(&self) -> f64 {
        self.standard_error_of_mean_at(0.0)
    }

    /// s √`variance`, with 0 · ∞ read as the limit for points exactly on a line.
    fn scaled(&self, variance: f64) -> f64 {
        if self.residual_sd == 0.0 && !variance.is_nan() { 0.0 } else { self.residual_sd * variance.sqrt() }
    }
}

fn check(x: &[f64], y: &[f64], weights: Option<&[f64]>) -> Result<(), StraightLineError> {
    let weight_count = weights.map_or(x.len(), <[f64]>::len);
    if x.len() != y.len() || x.len() != weight_count {
        return Err(StraightLineError::LengthMismatch { x: x.len(), y: y.len(), weights: weight_count });
    }
    if x.len() < NEEDED {
        return Err(StraightLineError::TooFewPoints { found: x.len() });
    }
    let bad = |w: &f64| !(w.is_finite() && *w > 0.0);
    if let Some((index, &weight)) = weights.unwrap_or_default().iter().enumerate().find(|(_, w)| bad(w)) {
        return Err(not_finite(x, y).unwrap_or(StraightLineError::BadWeight { index, weight }));
    }
    match x {
        [first, rest @ ..] if rest.iter().all(|v| v == first) => {
            Err(not_finite(x, y).unwrap_or(StraightLineError::AllXEqual { x: *first }))
        }
        _ => Ok(()),
    }
}

/// The first value that is not finite. Looked for only once a fit has failed, because no sum is rid of such a one.
#[cold]
fn not_finite(x: &[f64], y: &[f64]) -> Option<StraightLineError> {
    let first = |coordinate, values: &[f64]| {
        let (index, &value) = values.iter().enumerate().find(|(_, value)| !value.is_finite())?;
        Some(StraightLineError::NotFinite { coordinate, index, value })
    };
    first(Coordinate::X, x).or_else(|| first(Coordinate::Y, y))
}

/// Checked points, and the passes over them.
struct Weighted<'a, W> {
    x: &'a [f64],
    y: &'a [f64],
    weight_at: W,
}

impl<W: Fn(usize) -> f64> Weighted<'_, W> {
    fn points(&self) -> impl Iterator<Item = (f64, f64, f64)> {
        self.x.iter().zip(self.y).enumerate().map(|(i, (&x, &y))| (x, y, (self.weight_at)(i)))
    }

    fn residual_squares(&self, mean_x: (f64, f64), mean_y: (f64, f64), slope: f64) -> f64 {
        let square = |(x, y, w): (f64, f64, f64)| {
            let residual = ((y - mean_y.0) - mean_y.1) - slope * ((x - mean_x.0) - mean_x.1);
            w * residual * residual
        };
        self.points().map(square).sum()
    }

    fn exact_residuals(&self, mean_x: (f64, f64), mean_y: (f64, f64), slope: f64) -> Residuals {
        let [mut sum, mut with_x] = [CompensatedSum::default(); 2];
        let mut squares = 0.0;
        for (x, y, w) in self.points() {
            let (residual, u) = exact_residual(x, y, mean_x, mean_y, slope);
            sum.add_weighted(w, residual);
            with_x.add_product(w * u, residual);
            squares += w * residual * residual;
        }
        Residuals { sum: sum.value(), with_x: with_x.value(), squares }
    }

    fn fit(&self, total_weight: f64) -> StraightLine {
        let [mut sum_x, mut sum_y] = [CompensatedSum::default(); 2];
        for (x, y, w) in self.points() {
            sum_x.add_weighted(w, x);
            sum_y.add_weighted(w, y);
        }
        let (mean_x, mean_y) = (sum_x.divided_by(total_weight), sum_y.divided_by(total_weight));

        let [mut xx, mut xy, mut yy] = [0.0; 3];
        for (x, y, w) in self.points() {
            let (u, v) = ((x - mean_x.0) - mean_x.1, (y - mean_y.0) - mean_y.1);
            xx += w * u * u;
            xy += w * u * v;
            yy += w * v * v;
        }
        let rough_slope = xy / xx;

        let mut residual_squares = self.residual_squares(mean_x, mean_y, rough_slope);
        let (mut slope, mut mean) = ((rough_slope, 0.0), mean_y);
        if residual_squares <= EATEN_UP * yy {
            // One step of refinement: what the residuals of the rough line, taken exactly, still hold of a line.
            let residuals = self.exact_residuals(mean_x, mean_y, rough_slope);
            residual_squares = residuals.squares;
            slope = two_sum(rough_slope, residuals.with_x / xx);
            mean = two_sum(mean_y.0, mean_y.1 + residuals.sum / total_weight);
        }
        let degrees_of_freedom = self.x.len() as f64 - 2.0;
        StraightLine {
            points: self.x.len(),
            total_weight,
            centre: mean_x.0,
            // The line at the rounded centre, so that `mean_at` loses nothing to that rounding.
            mean_at_centre: mean.0 + (mean.1 - slope.0 * mean_x.1),
            intercept: intercept(mean, slope, mean_x),
            slope: slope.0,
            sum_of_squares_x: xx,
            sum_of_squares_y: yy,
            residual_sum_of_squares: residual_squares,
            residual_sd: (residual_squares / degrees_of_freedom).sqrt(),
        }
    }
}

/// Residuals that are smaller than a hundredth of what y deviates by lose digits in the subtraction, and are taken exactly.
const EATEN_UP: f64 = 1e-4;

/// Σw r, Σw r (x − x̄) and Σw r² of the residuals r about a line.
struct Residuals {
    sum: f64,
    with_x: f64,
    squares: f64,
}

/// y − ȳ − slope (x − x̄) and x − x̄, the means held as pairs.
fn exact_residual(x: f64, y: f64, mean_x: (f64, f64), mean_y: (f64, f64), slope: f64) -> (f64, f64) {
    let (u, u_low) = two_sum(x, -mean_x.0);
    let (v, v_low) = two_sum(y, -mean_y.0);
    let (product, product_low) = two_product(slope, u);
    let (difference, difference_low) = two_sum(v, -product);
    let low = (v_low - mean_y.1) - slope * (u_low - mean_x.1) - product_low + difference_low;
    (difference + low, u + (u_low - mean_x.1))
}

/// mean − slope · centre in twice the precision: the difference of large numbers for x far from zero.
fn intercept(mean: (f64, f64), slope: (f64, f64), centre: (f64, f64)) -> f64 {
    let (product, product_low) = two_product(slope.0, centre.0);
    let (difference, difference_low) = two_sum(mean.0, -product);
    difference + (difference_low + mean.1 - product_low - slope.0 * centre.1 - slope.1 * centre.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_line_have_no_scatter() {
        let x = [2011.0, 2013.0, 2016.0, 2020.0, 2021.0];
        let y = x.map(|x| 0.25 * (x - 2000.0));
        let line = StraightLine::fit(&x, &y, None).unwrap();
        assert_eq!(line.slope(), 0.25);
        assert_eq!(line.intercept(), -500.0);
        assert!(line.residual_sd() < 1e-15 && line.standard_error_of_new_at(2050.0) < 1e-14);
        assert!((line.mean_at(2050.0) - 12.5).abs() < 1e-14);
    }

    #[test]
    fn refuses_in_words() {
        let fit = StraightLine::fit;
        assert_eq!(fit(&[1.0], &[], None), Err(StraightLineError::LengthMismatch { x: 1, y: 0, weights: 1 }));
        assert_eq!(fit(&[], &[], None), Err(StraightLineError::TooFewPoints { found: 0 }));
        assert_eq!(fit(&[2.0; 4], &[1.0; 4], None), Err(StraightLineError::AllXEqual { x: 2.0 }));
        assert_eq!(
            fit(&[1.0, 2.0, 3.0], &[1.0, f64::INFINITY, 3.0], None),
            Err(StraightLineError::NotFinite { coordinate: Coordinate::Y, index: 1, value: f64::INFINITY })
        );
        assert_eq!(
            fit(&[1.0, 2.0, 3.0], &[1.0, 2.0, 3.0], Some(&[1.0, 1.0, 0.0])),
            Err(StraightLineError::BadWeight { index: 2, weight: 0.0 })
        );
        assert_eq!(fit(&[-1e300, 0.0, 1e300], &[0.0; 3], None), Err(StraightLineError::OutOfRange));
    }

    #[test]
    fn a_flat_line_explains_nothing() {
        let line = StraightLine::fit(&[1.0, 2.0, 4.0], &[7.0; 3], None).unwrap();
        assert_eq!((line.slope(), line.residual_sd(), line.r_squared()), (0.0, 0.0, None));
    }
}
