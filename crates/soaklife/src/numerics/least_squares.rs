//! Linear least squares by QR, with weights and one polish of the coefficients.

use nalgebra::{DMatrix, DVector};
use thiserror::Error;

use super::compensated::CompensatedSum;

/// Steps of iterative refinement: the first wins the digits, the second confirms them.
const REFINEMENTS: usize = 2;

/// A fitted linear model.
///
/// # Formula
/// y = X β + e with Var(eᵢ) = σ²/wᵢ. With W½X scaled to columns of unit length and factored as QR, β solves
/// R β = Qᵀ W½y; each refinement step adds the least-squares solution of the residuals, which are summed in twice the
/// precision. Covariance s² (R'R)⁻¹, s² = Σw e²/(n − p).
///
/// # Example
/// ```
/// use nalgebra::{dmatrix, dvector};
/// use soaklife::numerics::least_squares::LeastSquares;
/// let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
/// let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
/// assert!((fit.coefficients()[0] - 1.2).abs() < 1e-14 && (fit.coefficients()[1] - 1.2).abs() < 1e-14);
/// assert!((fit.residual_sum_of_squares() - 0.8).abs() < 1e-14);
/// # Ok::<(), soaklife::numerics::least_squares::LeastSquaresError>(())
/// ```
///
/// # Source
/// Golub and Van Loan (2013), *Matrix Computations*, 4th ed., sections 5.3 and 5.3.8 (refinement); Björck (1996),
/// *Numerical Methods for Least Squares Problems*, section 2.9.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    coefficients: DVector<f64>,
    covariance: DMatrix<f64>,
    residual_sum_of_squares: f64,
    total_sum_of_squares: TotalSumOfSquares,
    degrees_of_freedom: usize,
}

/// Sums of squares of the response, about zero and about its weighted mean.
#[derive(Debug, Clone, Copy, PartialEq)]
struct TotalSumOfSquares {
    about_zero: f64,
    about_mean: f64,
}

/// Why no linear model was fitted.
///
/// ```
/// # use nalgebra::{dmatrix, dvector};
/// # use soaklife::numerics::least_squares::{LeastSquares, LeastSquaresError};
/// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
/// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
/// let short = LeastSquares::fit(&design, &dvector![1.0, 3.0], None);
/// assert_eq!(short, Err(LeastSquaresError::LengthMismatch { design: 4, response: 2, weights: 4 }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LeastSquaresError {
    /// The design, the response and the weights differ in their number of rows.
    #[error(
        "{design} rows of the design, {response} of the response and {weights} weights: as many of each are needed"
    )]
    LengthMismatch {
        /// Rows of the design.
        design: usize,
        /// Rows of the response.
        response: usize,
        /// Weights; as many as rows of the design where none were given.
        weights: usize,
    },
    /// No more rows than coefficients: nothing is left to judge the scatter by.
    #[error("{rows} rows for {coefficients} coefficients: at least one more row than coefficients is needed")]
    TooFewRows {
        /// Rows given.
        rows: usize,
        /// Coefficients to fit.
        coefficients: usize,
    },
    /// A number of the design or the response is NaN or infinite.
    #[error("row {row} holds a number that is not finite")]
    NotFinite {
        /// Its row, from 0.
        row: usize,
    },
    /// A weight is not a positive finite number.
    #[error("the weight at index {index} is {weight}: a positive finite number is needed")]
    BadWeight {
        /// Its index.
        index: usize,
        /// Its value.
        weight: f64,
    },
    /// A column of the design is, to rounding, a combination of those before it.
    #[error("column {column} of the design adds nothing to the columns before it")]
    RankDeficient {
        /// The column, from 0.
        column: usize,
    },
    /// A result leaves the range of floating-point numbers.
    #[error("the fit leaves the range of floating-point numbers: rescale the design or the response")]
    OutOfRange,
}

impl LeastSquares {
    /// Fits `response` (n) by the columns of `design` (n × p), n > p, each row with its weight or all with 1.
    ///
    /// # Errors
    /// [`LeastSquaresError`]: rows that differ in number, no more rows than columns, a number that is not finite, a
    /// weight that is not positive, a column that depends on those before it, a result out of range.
    ///
    /// # Example
    /// ```
    /// use nalgebra::{dmatrix, dvector};
    /// use soaklife::numerics::least_squares::{LeastSquares, LeastSquaresError};
    /// let twice = dmatrix![1.0, 2.0; 1.0, 2.0; 1.0, 2.0];
    /// let refused = LeastSquares::fit(&twice, &dvector![1.0, 2.0, 3.0], None);
    /// assert_eq!(refused, Err(LeastSquaresError::RankDeficient { column: 1 }));
    /// ```
    pub fn fit(
        design: &DMatrix<f64>,
        response: &DVector<f64>,
        weights: Option<&[f64]>,
    ) -> Result<LeastSquares, LeastSquaresError> {
        check(design, response, weights)?;
        let root_weights = DVector::from_fn(response.len(), |row, _| weight_of(weights, row).sqrt());
        let factors = Factors::of(design, &root_weights)?;
        let mut coefficients = factors.solve(&response.component_mul(&root_weights))?;
        for _ in 0..REFINEMENTS {
            let residuals = residuals(design, response, &coefficients);
            coefficients += factors.solve(&residuals.component_mul(&root_weights))?;
        }
        let residuals = residuals(design, response, &coefficients).component_mul(&root_weights);
        let residual_sum_of_squares = sum_of_squares(residuals.iter().copied());
        let degrees_of_freedom = design.nrows() - design.ncols();
        let variance = residual_sum_of_squares / degrees_of_freedom as f64;
        let fit = LeastSquares {
            coefficients,
            covariance: factors.inverse_gram()? * variance,
            residual_sum_of_squares,
            total_sum_of_squares: total_sum_of_squares(response, weights),
            degrees_of_freedom,
        };
        if fit.is_finite() { Ok(fit) } else { Err(LeastSquaresError::OutOfRange) }
    }

    fn is_finite(&self) -> bool {
        let total = &self.total_sum_of_squares;
        self.coefficients.iter().chain(self.covariance.iter()).all(|v| v.is_finite())
            && [self.residual_sum_of_squares, total.about_zero, total.about_mean]
                .iter()
                .all(|v| v.is_finite())
    }

    /// The coefficients β, one for each column of the design.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((fit.coefficients() - dvector![1.2, 1.2]).norm() < 1e-14);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn coefficients(&self) -> &DVector<f64> {
        &self.coefficients
    }

    /// The covariance of the coefficients, p × p.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((fit.covariance()[(1, 1)] - 0.4 / 5.0).abs() < 1e-15); // s²/Sxx
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// The standard errors of the coefficients: the roots of the diagonal of the covariance.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((fit.standard_errors()[1] - 0.08f64.sqrt()).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn standard_errors(&self) -> DVector<f64> {
        self.covariance.diagonal().map(f64::sqrt)
    }

    /// Σw e².
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((fit.residual_sum_of_squares() - 0.8).abs() < 1e-14);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn residual_sum_of_squares(&self) -> f64 {
        self.residual_sum_of_squares
    }

    /// s = √(Σw e²/(n − p)).
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!((fit.residual_sd() - 0.4f64.sqrt()).abs() < 1e-14);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn residual_sd(&self) -> f64 {
        (self.residual_sum_of_squares / self.degrees_of_freedom as f64).sqrt()
    }

    /// n − p.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert_eq!(fit.degrees_of_freedom(), 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        self.degrees_of_freedom
    }

    /// R² about the weighted mean of the response, for a model with an intercept; nothing if the response is constant.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!(fit.r_squared().is_some_and(|share| (share - 0.9).abs() < 1e-14));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn r_squared(&self) -> Option<f64> {
        share_explained(self.residual_sum_of_squares, self.total_sum_of_squares.about_mean)
    }

    /// R² about zero, for a model without an intercept; nothing if the response is zero throughout.
    ///
    /// ```
    /// # use nalgebra::{dmatrix, dvector};
    /// # use soaklife::numerics::least_squares::LeastSquares;
    /// # let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 3.0];
    /// # let fit = LeastSquares::fit(&design, &dvector![1.0, 3.0, 3.0, 5.0], None)?;
    /// assert!(fit.r_squared_about_origin().is_some_and(|share| (share - (1.0 - 0.8 / 44.0)).abs() < 1e-14));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn r_squared_about_origin(&self) -> Option<f64> {
        share_explained(self.residual_sum_of_squares, self.total_sum_of_squares.about_zero)
    }
}

fn share_explained(residual: f64, total: f64) -> Option<f64> {
    (total > 0.0).then(|| 1.0 - residual / total)
}

fn weight_of(weights: Option<&[f64]>, row: usize) -> f64 {
    weights.and_then(|weights| weights.get(row)).copied().unwrap_or(1.0)
}

fn check(
    design: &DMatrix<f64>,
    response: &DVector<f64>,
    weights: Option<&[f64]>,
) -> Result<(), LeastSquaresError> {
    let (rows, coefficients) = design.shape();
    let weight_count = weights.map_or(rows, <[f64]>::len);
    if response.len() != rows || weight_count != rows {
        let response = response.len();
        return Err(LeastSquaresError::LengthMismatch { design: rows, response, weights: weight_count });
    }
    if rows <= coefficients || coefficients == 0 {
        return Err(LeastSquaresError::TooFewRows { rows, coefficients });
    }
    let finite = |row: usize| design.row(row).iter().chain(response.get(row)).all(|v| v.is_finite());
    if let Some(row) = (0..rows).find(|&row| !finite(row)) {
        return Err(LeastSquaresError::NotFinite { row });
    }
    let bad = |index: &usize| {
        let weight = weight_of(weights, *index);
        !(weight > 0.0 && weight.is_finite())
    };
    match (0..rows).find(bad) {
        Some(index) => Err(LeastSquaresError::BadWeight { index, weight: weight_of(weights, index) }),
        None => Ok(()),
    }
}

/// QR factors of the weighted design with its columns scaled to unit length.
struct Factors {
    q: DMatrix<f64>,
    r: DMatrix<f64>,
    column_lengths: DVector<f64>,
}

impl Factors {
    fn of(design: &DMatrix<f64>, root_weights: &DVector<f64>) -> Result<Factors, LeastSquaresError> {
        let mut scaled = design.clone();
        let mut column_lengths = DVector::zeros(design.ncols());
        for (column, length) in scaled.column_iter_mut().zip(column_lengths.iter_mut()) {
            let mut column = column;
            column.component_mul_assign(root_weights);
            *length = column.norm();
            if *length > 0.0 && length.is_finite() {
                column /= *length;
            }
        }
        if column_lengths.iter().any(|length| !length.is_finite()) {
            return Err(LeastSquaresError::OutOfRange);
        }
        let (q, r) = scaled.qr().unpack();
        // A column of length 1 that leaves less than this of itself is rounding error of those before it.
        let negligible = f64::EPSILON * design.nrows() as f64;
        match r.diagonal().iter().position(|pivot| pivot.is_nan() || pivot.abs() <= negligible) {
            Some(column) => Err(LeastSquaresError::RankDeficient { column }),
            None => Ok(Factors { q, r, column_lengths }),
        }
    }

    /// Least-squares solution for a weighted right-hand side.
    fn solve(&self, weighted: &DVector<f64>) -> Result<DVector<f64>, LeastSquaresError> {
        let rotated = self.q.tr_mul(weighted);
        let solution = self.r.solve_upper_triangular(&rotated).ok_or(LeastSquaresError::OutOfRange)?;
        Ok(solution.component_div(&self.column_lengths))
    }

    /// (X'WX)⁻¹ = R⁻¹ R⁻ᵀ, in the units of the design.
    fn inverse_gram(&self) -> Result<DMatrix<f64>, LeastSquaresError> {
        let size = self.r.ncols();
        let identity = DMatrix::identity(size, size);
        let mut inverse = self.r.solve_upper_triangular(&identity).ok_or(LeastSquaresError::OutOfRange)?;
        for (mut row, length) in inverse.row_iter_mut().zip(self.column_lengths.iter()) {
            row /= *length;
        }
        Ok(&inverse * inverse.transpose())
    }
}

/// y − X β, each summed in twice the precision.
fn residuals(design: &DMatrix<f64>, response: &DVector<f64>, coefficients: &DVector<f64>) -> DVector<f64> {
    DVector::from_fn(response.len(), |row, _| {
        let mut sum = CompensatedSum::default();
        sum.add(response[row]);
        for (x, coefficient) in design.row(row).iter().zip(coefficients.iter()) {
            sum.add_product(-x, *coefficient);
        }
        sum.value()
    })
}

fn sum_of_squares(values: impl Iterator<Item = f64>) -> f64 {
    let mut sum = CompensatedSum::default();
    values.for_each(|value| sum.add_product(value, value));
    sum.value()
}

fn total_sum_of_squares(response: &DVector<f64>, weights: Option<&[f64]>) -> TotalSumOfSquares {
    let (mut weight_sum, mut weighted_sum) = (CompensatedSum::default(), CompensatedSum::default());
    for (row, y) in response.iter().enumerate() {
        weight_sum.add(weight_of(weights, row));
        weighted_sum.add_product(weight_of(weights, row), *y);
    }
    let mean = weighted_sum.value() / weight_sum.value();
    let about = |centre: f64| {
        let deviations = response.iter().enumerate();
        sum_of_squares(deviations.map(|(row, y)| (y - centre) * weight_of(weights, row).sqrt()))
    };
    TotalSumOfSquares { about_zero: about(0.0), about_mean: about(mean) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{dmatrix, dvector};

    #[test]
    fn weights_count_as_repeated_rows() {
        let repeated = LeastSquares::fit(
            &dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 1.0; 1.0, 2.0; 1.0, 4.0],
            &dvector![1.0, 2.0, 2.0, 2.5, 6.0],
            None,
        )
        .unwrap();
        let weighted = LeastSquares::fit(
            &dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0; 1.0, 4.0],
            &dvector![1.0, 2.0, 2.5, 6.0],
            Some(&[1.0, 2.0, 1.0, 1.0]),
        )
        .unwrap();
        assert!((repeated.coefficients() - weighted.coefficients()).norm() < 1e-14);
        assert!((repeated.r_squared().unwrap() - weighted.r_squared().unwrap()).abs() < 1e-14);
    }

    #[test]
    fn refuses_what_it_cannot_fit() {
        let design = dmatrix![1.0, 0.0; 1.0, 1.0; 1.0, 2.0];
        let response = dvector![1.0, 2.0, 3.0];
        assert!(matches!(
            LeastSquares::fit(&design, &dvector![1.0, 2.0], None),
            Err(LeastSquaresError::LengthMismatch { response: 2, .. })
        ));
        assert!(matches!(
            LeastSquares::fit(&DMatrix::identity(2, 2), &dvector![1.0, 2.0], None),
            Err(LeastSquaresError::TooFewRows { rows: 2, coefficients: 2 })
        ));
        assert!(matches!(
            LeastSquares::fit(&design, &response, Some(&[1.0, 0.0, 1.0])),
            Err(LeastSquaresError::BadWeight { index: 1, .. })
        ));
        assert!(matches!(
            LeastSquares::fit(&design, &dvector![1.0, f64::NAN, 3.0], None),
            Err(LeastSquaresError::NotFinite { row: 1 })
        ));
        assert!(matches!(
            LeastSquares::fit(&DMatrix::zeros(3, 1), &response, None),
            Err(LeastSquaresError::RankDeficient { column: 0 })
        ));
    }
}
