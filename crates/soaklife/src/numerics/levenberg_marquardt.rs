//! Nonlinear least squares by Levenberg and Marquardt's damped steps, with the reason for every refusal.

use nalgebra::{DMatrix, DVector};
use thiserror::Error;

/// Damped steps tried before the search is given up.
const MOST_STEPS: u32 = 5_000;
/// Length of the difference step of a derivative, relative to its parameter. Shorter than the ε^(1/5) that would balance
/// rounding and truncation, because a bell far from zero changes over a hundredth of its place.
const DIFFERENCE_STEP: f64 = 1e-4;
/// A step this short, relative to the parameters, ends the search.
const SHORTEST_STEP: f64 = 1e-13;
/// Beyond this damping no step leads down.
const MOST_DAMPING: f64 = 1e18;
/// Largest cosine between the residuals and a column of the derivatives at a least sum of squares.
const ORTHOGONAL: f64 = 1e-5;
/// Residuals of this size relative to the response are rounding.
const EXACT: f64 = 1e-11;
/// A parameter that is best at zero is taken to reach as far as this share of its start, or of 1.
const EXTENT_AT_ZERO: f64 = 1e-4;
/// A parameter whose whole size moves the model by less than this share of the response is not determined.
const NO_EFFECT: f64 = 1e-9;
/// Smallest pivot of derivatives scaled to unit columns.
const DEPENDENT: f64 = 1e-11;
/// Newton's undamped steps at the end, which win the last digits.
const POLISHING_STEPS: usize = 4;

/// A fitted nonlinear model.
///
/// # Formula
/// The least Σ(yᵢ − f(b, i))². Each step δ solves (J'J + μ D²) δ = J'r by QR of J on top of √μ D, D the largest lengths of
/// the columns of J met so far; μ follows the gain of the step. J by central differences of the fourth order. Covariance
/// s² (J'J)⁻¹, s² = Σr²/(n − p).
///
/// # Example
/// ```
/// use soaklife::numerics::levenberg_marquardt::NonlinearFit;
/// let halving = [8.0, 4.0, 2.0, 1.0]; // 8·exp(−t ln 2) at t = 0, 1, 2, 3
/// let fit = NonlinearFit::fit(&halving, &[5.0, 0.5], |b, row| b[0] * (-b[1] * row as f64).exp())?;
/// assert!((fit.parameters()[0] - 8.0).abs() < 1e-9);
/// assert!((fit.parameters()[1] - std::f64::consts::LN_2).abs() < 1e-10);
/// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
/// ```
///
/// # Source
/// Moré (1978), *The Levenberg-Marquardt algorithm: implementation and theory*, Lecture Notes in Mathematics 630 (scaling);
/// Nielsen (1999), *Damping parameter in Marquardt's method*, IMM-REP-1999-05 (damping). Checked on the NIST Statistical
/// Reference Datasets in `tests/nist_nonlinear.rs`.
#[derive(Debug, Clone, PartialEq)]
pub struct NonlinearFit {
    parameters: DVector<f64>,
    inverse_gram: DMatrix<f64>,
    residual_sum_of_squares: f64,
    degrees_of_freedom: usize,
    steps: u32,
}

/// Why no nonlinear model was fitted.
///
/// ```
/// # use soaklife::numerics::levenberg_marquardt::{NonlinearFit, NonlinearFitError};
/// let flat = NonlinearFit::fit(&[1.0, 1.0, 1.0], &[1.0, 1.0], |b, _| b[0]);
/// assert_eq!(flat, Err(NonlinearFitError::NotDetermined { parameter: 1 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum NonlinearFitError {
    /// Fewer rows than parameters, or no parameter at all.
    #[error(
        "{rows} rows for {parameters} parameters: at least as many rows as parameters, and one, are needed"
    )]
    TooFewRows {
        /// Rows given.
        rows: usize,
        /// Parameters to fit.
        parameters: usize,
    },
    /// A number of the response or the start is NaN or infinite.
    #[error("the response or the start holds a number that is not finite")]
    NotFinite,
    /// The model or its derivative is not finite at the start.
    #[error("the model or its derivative is not finite at the start: start elsewhere")]
    BadStart,
    /// A parameter, alone or beside the others, moves nothing where the search ended.
    #[error("the data do not determine parameter {parameter}: start elsewhere or leave it out")]
    NotDetermined {
        /// The parameter, from 0.
        parameter: usize,
    },
    /// The search ended where the sum of squares is not least.
    #[error("no least sum of squares was found in {steps} steps: start elsewhere")]
    NotConverged {
        /// Steps tried.
        steps: u32,
    },
}

impl NonlinearFit {
    /// Fits `observed` by `model(parameters, row)` from `start`, each row with the same weight.
    ///
    /// The model may be of any kind, but where it is NaN or infinite no step leads. With as many rows as parameters
    /// nothing is left to judge the scatter by; see [`NonlinearFit::residual_variance`].
    ///
    /// # Errors
    /// [`NonlinearFitError`]: too few rows, numbers that are not finite, a parameter that the data do not determine, or no
    /// least sum of squares found. A fit that is returned is a least one, if perhaps not the only one.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::levenberg_marquardt::{NonlinearFit, NonlinearFitError};
    /// let refused = NonlinearFit::fit(&[1.0], &[1.0, 2.0], |b, _| b[0] + b[1]);
    /// assert_eq!(refused, Err(NonlinearFitError::TooFewRows { rows: 1, parameters: 2 }));
    /// ```
    pub fn fit(
        observed: &[f64],
        start: &[f64],
        model: impl Fn(&[f64], usize) -> f64,
    ) -> Result<Self, NonlinearFitError> {
        let (rows, parameters) = (observed.len(), start.len());
        if rows < parameters || parameters == 0 {
            return Err(NonlinearFitError::TooFewRows { rows, parameters });
        }
        if !observed.iter().chain(start).all(|value| value.is_finite()) {
            return Err(NonlinearFitError::NotFinite);
        }
        let (observed, start) = (DVector::from_column_slice(observed), DVector::from_column_slice(start));
        let problem = Problem { observed, start, model };
        let first = problem.at(problem.start.clone()).ok_or(NonlinearFitError::BadStart)?;
        let mut search = Search::from(&problem, first)?;
        search.descend();
        search.polish();
        search.finish()
    }

    /// The parameters, in the order of the start.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// let mean = NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?;
    /// assert!((mean.parameters()[0] - 3.0).abs() < 1e-12);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn parameters(&self) -> &[f64] {
        self.parameters.as_slice()
    }

    /// (J'J)⁻¹: the covariance of the parameters for errors of variance one.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// let mean = NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?;
    /// assert!((mean.inverse_gram()[(0, 0)] - 1.0 / 3.0).abs() < 1e-12);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn inverse_gram(&self) -> &DMatrix<f64> {
        &self.inverse_gram
    }

    /// The sum of squared residuals.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// let mean = NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?;
    /// assert!((mean.residual_sum_of_squares() - 14.0).abs() < 1e-12);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn residual_sum_of_squares(&self) -> f64 {
        self.residual_sum_of_squares
    }

    /// Rows less parameters.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// assert_eq!(NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?.degrees_of_freedom(), 2);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        self.degrees_of_freedom
    }

    /// The variance of the errors as the residuals show it; none with as many parameters as rows.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// let of = |observed: &[f64]| NonlinearFit::fit(observed, &[0.5], |b, _| b[0]);
    /// assert!(of(&[1.0, 2.0, 6.0])?.residual_variance().is_some_and(|variance| (variance - 7.0).abs() < 1e-12));
    /// assert_eq!(of(&[1.0])?.residual_variance(), None);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn residual_variance(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0).then(|| self.residual_sum_of_squares / self.degrees_of_freedom as f64)
    }

    /// The standard errors of the parameters for errors of this variance.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// let mean = NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?;
    /// assert!((mean.standard_errors(3.0)[0] - 1.0).abs() < 1e-12);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn standard_errors(&self, variance: f64) -> Vec<f64> {
        self.inverse_gram.diagonal().iter().map(|share| (share * variance).sqrt()).collect()
    }

    /// Steps tried.
    ///
    /// ```
    /// # use soaklife::numerics::levenberg_marquardt::NonlinearFit;
    /// assert!(NonlinearFit::fit(&[1.0, 2.0, 6.0], &[0.0], |b, _| b[0])?.steps() < 20);
    /// # Ok::<(), soaklife::numerics::levenberg_marquardt::NonlinearFitError>(())
    /// ```
    #[must_use]
    pub fn steps(&self) -> u32 {
        self.steps
    }
}

/// What is to be fitted.
struct Problem<M> {
    observed: DVector<f64>,
    start: DVector<f64>,
    model: M,
}

/// A place of the search with its residuals.
#[derive(Debug, Clone)]
struct Place {
    parameters: DVector<f64>,
    residuals: DVector<f64>,
    sum_of_squares: f64,
}

impl<M: Fn(&[f64], usize) -> f64> Problem<M> {
    fn fitted(&self, parameters: &DVector<f64>) -> Option<DVector<f64>> {
        let fitted = DVector::from_fn(self.observed.len(), |row, _| (self.model)(parameters.as_slice(), row));
        fitted.iter().all(|value| value.is_finite()).then_some(fitted)
    }

    fn at(&self, parameters: DVector<f64>) -> Option<Place> {
        let residuals = &self.observed - self.fitted(&parameters)?;
        let sum_of_squares = residuals.norm_squared();
        sum_of_squares.is_finite().then_some(Place { parameters, residuals, sum_of_squares })
    }

    /// How far a parameter reaches: as far as its size, and where it is best at zero a share of where it started.
    fn extent(&self, parameters: &DVector<f64>, place: usize) -> f64 {
        let start = self.start[place].abs();
        let least = EXTENT_AT_ZERO * if start > 0.0 { start } else { 1.0 };
        parameters[place].abs().max(least)
    }

    /// Derivatives of the model by each parameter: (8(f₊₁ − f₋₁) − (f₊₂ − f₋₂)) / 12h.
    fn derivatives(&self, parameters: &DVector<f64>) -> Option<DMatrix<f64>> {
        let columns = (0..parameters.len()).map(|column| {
            let step = DIFFERENCE_STEP * self.extent(parameters, column);
            let moved = |steps: f64| {
                let mut moved = parameters.clone();
                moved[column] += steps * step;
                self.fitted(&moved)
            };
            let near = moved(1.0)? - moved(-1.0)?;
            let far = moved(2.0)? - moved(-2.0)?;
            let derivative = (near * 8.0 - far) / (12.0 * step);
            derivative.iter().all(|value| value.is_finite()).then_some(derivative)
        });
        let columns = columns.collect::<Option<Vec<_>>>()?;
        Some(DMatrix::from_columns(&columns))
    }
}

/// A descent to a least sum of squares.
struct Search<'p, M> {
    problem: &'p Problem<M>,
    best: Place,
    derivatives: DMatrix<f64>,
    scale: DVector<f64>,
    steps: u32,
}

impl<'p, M: Fn(&[f64], usize) -> f64> Search<'p, M> {
    fn from(problem: &'p Problem<M>, best: Place) -> Result<Self, NonlinearFitError> {
        let derivatives = problem.derivatives(&best.parameters).ok_or(NonlinearFitError::BadStart)?;
        let scale = DVector::from_iterator(
            derivatives.ncols(),
            derivatives.column_iter().map(|column| match column.norm() {
                length if length > 0.0 => length,
                _ => 1.0,
            }),
        );
        Ok(Self { problem, best, derivatives, scale, steps: 0 })
    }

    /// Damped steps until none leads down.
    fn descend(&mut self) {
        let (mut damping, mut growth) = (1e-3, 2.0);
        while self.steps < MOST_STEPS && damping < MOST_DAMPING {
            self.steps += 1;
            let Some(step) = self.step(damping) else { return };
            let length = step.component_mul(&self.scale).norm();
            let shortest = SHORTEST_STEP * self.best.parameters.component_mul(&self.scale).norm();
            let foreseen = self.gain_foreseen(&step, damping);
            let next = self.problem.at(&self.best.parameters + &step);
            let better = next.filter(|next| next.sum_of_squares < self.best.sum_of_squares);
            let led = better.and_then(|next| Some((self.problem.derivatives(&next.parameters)?, next)));
            match led {
                Some((derivatives, next)) => {
                    let gain = (self.best.sum_of_squares - next.sum_of_squares) / foreseen;
                    damping *= (1.0 - (2.0 * gain.clamp(0.0, 1.0) - 1.0).powi(3)).max(1.0 / 3.0);
                    damping = damping.max(1e-300);
                    growth = 2.0;
                    self.move_to(next, derivatives);
                }
                None => {
                    damping *= growth;
                    growth *= 2.0;
                }
            }
            if length <= shortest {
                return;
            }
        }
    }

    /// Undamped steps as long as they bring the residuals nearer to a right angle with the derivatives.
    fn polish(&mut self) {
        for _ in 0..POLISHING_STEPS {
            let Some(step) = self.step(0.0) else { return };
            let Some(next) = self.problem.at(&self.best.parameters + step) else { return };
            let Some(derivatives) = self.problem.derivatives(&next.parameters) else { return };
            let no_worse = next.sum_of_squares <= self.best.sum_of_squares * (1.0 + 1e-12);
            if !no_worse || cosine(&derivatives, &next.residuals) >= self.cosine() {
                return;
            }
            self.move_to(next, derivatives);
        }
    }

    fn move_to(&mut self, next: Place, derivatives: DMatrix<f64>) {
        self.best = next;
        for (scale, column) in self.scale.iter_mut().zip(derivatives.column_iter()) {
            *scale = scale.max(column.norm());
        }
        self.derivatives = derivatives;
    }

    fn cosine(&self) -> f64 {
        cosine(&self.derivatives, &self.best.residuals)
    }

    /// The step of this damping.
    fn step(&self, damping: f64) -> Option<DVector<f64>> {
        let (rows, columns) = self.derivatives.shape();
        let root = damping.sqrt();
        let stacked = DMatrix::from_fn(rows + columns, columns, |row, column| {
            if row < rows {
                self.derivatives[(row, column)] / self.scale[column]
            } else if row - rows == column {
                root
            } else {
                0.0
            }
        });
        let mut target =
            DVector::from_fn(rows + columns, |row, _| self.best.residuals.get(row).copied().unwrap_or(0.0));
        let factors = stacked.qr();
        factors.q_tr_mul(&mut target);
        let step = factors.unpack_r().solve_upper_triangular(&target.rows(0, columns))?;
        let step = step.component_div(&self.scale);
        step.iter().all(|value| value.is_finite()).then_some(step)
    }

    /// What the linear model promises of a step.
    fn gain_foreseen(&self, step: &DVector<f64>, damping: f64) -> f64 {
        let damped = step.component_mul(&self.scale).norm_squared() * damping;
        (&self.derivatives * step).norm_squared() + 2.0 * damped
    }

    /// The fit, if the search ended where the sum of squares is least and every parameter counts.
    fn finish(self) -> Result<NonlinearFit, NonlinearFitError> {
        let not_converged = NonlinearFitError::NotConverged { steps: self.steps };
        let size = self.problem.observed.norm();
        let lengths: Vec<f64> = self.derivatives.column_iter().map(|column| column.norm()).collect();
        for (parameter, length) in lengths.iter().enumerate() {
            let extent = self.problem.extent(&self.best.parameters, parameter);
            let has_effect = length * extent > NO_EFFECT * size || size == 0.0;
            if !has_effect || *length == 0.0 {
                return Err(NonlinearFitError::NotDetermined { parameter });
            }
        }
        let inverse_gram = inverse_gram(&self.derivatives, &lengths)?;
        let is_exact = self.best.sum_of_squares.sqrt() <= EXACT * size;
        if !is_exact && self.cosine() > ORTHOGONAL {
            return Err(not_converged);
        }
        if !inverse_gram.iter().all(|value| value.is_finite()) {
            return Err(not_converged);
        }
        Ok(NonlinearFit {
            inverse_gram,
            residual_sum_of_squares: self.best.sum_of_squares,
            degrees_of_freedom: self.derivatives.nrows() - self.derivatives.ncols(),
            parameters: self.best.parameters,
            steps: self.steps,
        })
    }
}

/// The largest cosine between the residuals and a column of the derivatives.
fn cosine(derivatives: &DMatrix<f64>, residuals: &DVector<f64>) -> f64 {
    let length = residuals.norm();
    let of = |product: f64, column: f64| {
        let cosine = (product / (column * length)).abs();
        if cosine.is_finite() { cosine } else { 0.0 }
    };
    derivatives.column_iter().map(|column| of(column.dot(residuals), column.norm())).fold(0.0, f64::max)
}

/// (J'J)⁻¹ from J with its columns scaled to unit length.
fn inverse_gram(derivatives: &DMatrix<f64>, lengths: &[f64]) -> Result<DMatrix<f64>, NonlinearFitError> {
    let columns = derivatives.ncols();
    let mut scaled = derivatives.clone();
    for (mut column, length) in scaled.column_iter_mut().zip(lengths) {
        column /= *length;
    }
    let upper = scaled.qr().unpack_r();
    if let Some(parameter) = (0..columns).find(|&place| upper[(place, place)].abs() < DEPENDENT) {
        return Err(NonlinearFitError::NotDetermined { parameter });
    }
    let mut inverse = DMatrix::identity(columns, columns);
    if !upper.solve_upper_triangular_mut(&mut inverse) {
        return Err(NonlinearFitError::NotDetermined { parameter: 0 });
    }
    for (mut row, length) in inverse.row_iter_mut().zip(lengths) {
        row /= *length;
    }
    Ok(&inverse * inverse.transpose())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_model_that_cannot_be_computed_is_refused() {
        let refused = |model: fn(&[f64], usize) -> f64| NonlinearFit::fit(&[1.0, 2.0], &[1.0], model);
        assert_eq!(refused(|_, _| f64::NAN), Err(NonlinearFitError::BadStart));
        assert_eq!(refused(|b, _| (1.0 - b[0]).ln()), Err(NonlinearFitError::BadStart));
        assert_eq!(NonlinearFit::fit(&[f64::NAN], &[1.0], |b, _| b[0]), Err(NonlinearFitError::NotFinite));
    }

    #[test]
    fn two_parameters_that_do_the_same_are_refused() {
        let twins = NonlinearFit::fit(&[1.0, 2.0, 4.0], &[1.0, 1.0], |b, row| (b[0] + b[1]) * row as f64);
        assert!(matches!(twins, Err(NonlinearFitError::NotDetermined { .. })), "{twins:?}");
    }

    #[test]
    fn a_parameter_without_effect_is_named() {
        let line = |observed: &[f64], start: [f64; 2]| {
            NonlinearFit::fit(observed, &start, |b, row| b[0] + b[1] * row as f64)
        };
        // A slope of zero has an effect, wherever it was started: another would fit worse.
        for start in [[1.0, 0.0], [0.0, 0.0], [1.0, 3.0], [5.0, -1e-3]] {
            let level = line(&[1.0, 1.0, 1.0], start).unwrap();
            assert!(level.parameters()[1].abs() < 1e-12, "{level:?}");
        }
        assert!(line(&[0.0, 0.0, 0.0], [1.0, 1.0]).is_ok());
        let idle = |observed: &[f64]| NonlinearFit::fit(observed, &[1.0, 5.0], |b, row| b[0] * row as f64);
        let named = Err(NonlinearFitError::NotDetermined { parameter: 1 });
        assert_eq!((idle(&[0.0, 1.0, 3.0]), idle(&[0.0, 0.0, 0.0])), (named.clone(), named.clone()));
        // So fast a decay that nothing of it is left at the second point already.
        let decay =
            NonlinearFit::fit(&[2.0, 0.0, 0.0], &[1.0, 30.0], |b, row| b[0] * (-b[1] * row as f64).exp());
        assert_eq!(decay, named);
    }

    #[test]
    fn where_no_parameter_is_best_none_is_given() {
        // e^b falls towards its least value for ever.
        let never = NonlinearFit::fit(&[-1.0], &[0.0], |b, _| b[0].exp());
        assert!(never.is_err(), "{never:?}");
    }

    proptest! {
        #[test]
        fn no_input_makes_it_panic_and_a_fit_is_finite(
            observed in prop::collection::vec(prop_oneof![-1e3..1e3, any::<f64>()], 0..6),
            start in prop::collection::vec(prop_oneof![-5.0..5.0, any::<f64>()], 0..4),
        ) {
            let model = |b: &[f64], row: usize| {
                b.iter().enumerate().map(|(place, b)| (b * (row + place) as f64).exp() - b).sum()
            };
            if let Ok(fit) = NonlinearFit::fit(&observed, &start, model) {
                prop_assert!(fit.parameters().iter().all(|value| value.is_finite()));
                prop_assert!(fit.inverse_gram().iter().all(|value| value.is_finite()));
            }
        }
    }
}
