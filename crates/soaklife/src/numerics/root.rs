//! A bracketed root of a continuous function, with a cap and a reason for stopping.

use thiserror::Error;

/// Where a function changes sign, and why the search stopped there.
///
/// ```
/// # use soaklife::numerics::root::bracketed_root;
/// let root = bracketed_root(|x| x - 0.25, 0.0, 1.0, 0.0, 100)?;
/// assert_eq!((root.at, root.residual), (0.25, 0.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    /// The argument found.
    pub at: f64,
    /// The function there: zero, or the smaller of the two values around the change of sign.
    pub residual: f64,
    /// How many times the function was evaluated, the two ends included.
    pub evaluations: u32,
    /// Why the search stopped.
    pub stop: Stop,
}

/// Why a search for a root stopped.
///
/// ```
/// # use soaklife::numerics::root::{Stop, bracketed_root};
/// assert_eq!(bracketed_root(|x| x, -1.0, 1.0, 0.0, 100)?.stop, Stop::ExactZero);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Stop {
    /// The function is exactly zero there.
    ExactZero,
    /// The change of sign is bracketed as closely as asked, or as `f64` allows.
    BracketClosed,
}

/// Why no root was found.
///
/// ```
/// # use soaklife::numerics::root::{RootError, bracketed_root};
/// let same_sign = bracketed_root(|x| x, 1.0, 2.0, 0.0, 100);
/// assert_eq!(same_sign, Err(RootError::NoSignChange { at_lower: 1.0, at_upper: 2.0 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RootError {
    /// An end of the bracket is not a finite number, or the ends are not in order.
    #[error("{lower} to {upper} is not a bracket: two finite ends in increasing order are needed")]
    NotABracket {
        /// The lower end given.
        lower: f64,
        /// The upper end given.
        upper: f64,
    },
    /// The function has the same sign at both ends.
    #[error("no change of sign: the function is {at_lower} at the lower end and {at_upper} at the upper end")]
    NoSignChange {
        /// The function at the lower end.
        at_lower: f64,
        /// The function at the upper end.
        at_upper: f64,
    },
    /// The function returned NaN.
    #[error("the function is not a number at {at}")]
    NotANumber {
        /// The argument at which it did.
        at: f64,
    },
    /// The tolerance is negative or NaN.
    #[error("tolerance {tolerance} must be zero or positive")]
    BadTolerance {
        /// The tolerance given.
        tolerance: f64,
    },
    /// The cap on evaluations came first.
    #[error("stopped after {evaluations} evaluations at {best}")]
    TooManyEvaluations {
        /// The cap.
        evaluations: u32,
        /// The best argument so far.
        best: f64,
    },
}

/// Where in [`lower`, `upper`] does `function` change sign?
///
/// # Formula
/// x with f(x) = 0, or |x − x*| ≤ `tolerance` + 4ε|x| for a change of sign at x*. Inverse quadratic or secant steps,
/// and bisection whenever those shrink the bracket too slowly; a continuous f is solved in a few steps, and none
/// costs more than `cap` evaluations.
///
/// # Errors
/// [`RootError`]: a bracket that is none, no change of sign, a NaN from the function, or the cap reached.
///
/// # Example
/// ```
/// use soaklife::numerics::root::bracketed_root;
/// let root = bracketed_root(|x| x * x - 2.0, 0.0, 2.0, 0.0, 100)?;
/// assert!((root.at - std::f64::consts::SQRT_2).abs() < 1e-15);
/// # Ok::<(), soaklife::numerics::root::RootError>(())
/// ```
///
/// # Source
/// Brent (1973), *Algorithms for Minimization without Derivatives*, chapter 4.
pub fn bracketed_root(
    mut function: impl FnMut(f64) -> f64,
    lower: f64,
    upper: f64,
    tolerance: f64,
    cap: u32,
) -> Result<Root, RootError> {
    if !(lower.is_finite() && upper.is_finite() && lower <= upper) {
        return Err(RootError::NotABracket { lower, upper });
    }
    if tolerance.is_nan() || tolerance < 0.0 {
        return Err(RootError::BadTolerance { tolerance });
    }
    let mut value_at = |x: f64| {
        let y = function(x);
        if y.is_nan() { Err(RootError::NotANumber { at: x }) } else { Ok(Point { x, y }) }
    };
    let ends = [value_at(lower)?, value_at(upper)?];
    if ends[0].y * ends[1].y.signum() > 0.0 {
        return Err(RootError::NoSignChange { at_lower: ends[0].y, at_upper: ends[1].y });
    }
    let mut search = Search::new(ends[0], ends[1]);
    for evaluations in 2..=cap.max(2) {
        let best = search.best;
        let accuracy = 2.0 * f64::EPSILON * best.x.abs() + 0.5 * tolerance;
        let half = 0.5 * search.opposite.x - 0.5 * best.x;
        let stop = if best.y == 0.0 {
            Some(Stop::ExactZero)
        } else if half.abs() <= accuracy || best.x + half == best.x {
            Some(Stop::BracketClosed)
        } else {
            None
        };
        if let Some(stop) = stop {
            return Ok(Root { at: best.x, residual: best.y, evaluations, stop });
        }
        let next = value_at(search.next_argument(half, accuracy))?;
        search.take(next);
    }
    Err(RootError::TooManyEvaluations { evaluations: cap.max(2), best: search.best.x })
}

#[derive(Debug, Clone, Copy)]
struct Point {
    x: f64,
    y: f64,
}

/// Brent's three points and his last two steps.
struct Search {
    /// The smallest |f| so far.
    best: Point,
    /// The point of the other sign.
    opposite: Point,
    /// The best point before this one.
    previous: Point,
    step: f64,
    step_before: f64,
}

impl Search {
    fn new(a: Point, b: Point) -> Search {
        let (best, opposite) = if a.y.abs() < b.y.abs() { (a, b) } else { (b, a) };
        let step = best.x - opposite.x;
        Search { best, opposite, previous: opposite, step, step_before: step }
    }

    fn next_argument(&mut self, half: f64, accuracy: f64) -> f64 {
        let tried = if self.step_before.abs() >= accuracy && self.previous.y.abs() > self.best.y.abs() {
            self.interpolated(half)
        } else {
            None
        };
        match tried {
            Some(step)
                if step.abs() < (1.5 * half).abs() - 0.5 * accuracy
                    && step.abs() < 0.5 * self.step_before.abs() =>
            {
                self.step_before = self.step;
                self.step = step;
            }
            _ => {
                self.step = half;
                self.step_before = half;
            }
        }
        let least = accuracy.max(f64::from_bits(1)).copysign(half);
        self.best.x + if self.step.abs() > accuracy { self.step } else { least }
    }

    /// The step to the root of a parabola in f (or a secant), when it points into the bracket.
    fn interpolated(&self, half: f64) -> Option<f64> {
        let s = self.best.y / self.previous.y;
        let (p, q) = if self.previous.x == self.opposite.x {
            (2.0 * half * s, 1.0 - s)
        } else {
            let q = self.previous.y / self.opposite.y;
            let r = self.best.y / self.opposite.y;
            let from_previous = self.best.x - self.previous.x;
            (s * (2.0 * half * q * (q - r) - from_previous * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
        };
        let step = -p / q;
        (step.is_finite() && step * half.signum() > 0.0).then_some(step)
    }

    fn take(&mut self, next: Point) {
        self.previous = self.best;
        if next.y.signum() == self.opposite.y.signum() && next.y != 0.0 {
            self.opposite = self.best;
            self.step = next.x - self.best.x;
            self.step_before = self.step;
        }
        self.best = next;
        if self.opposite.y.abs() < self.best.y.abs() {
            self.previous = self.best;
            std::mem::swap(&mut self.best, &mut self.opposite);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_of_awkward_functions() {
        // Roots known in closed form; the last is flat to the ninth order, the worst case for interpolation.
        type Case = (fn(f64) -> f64, f64, f64, f64, f64);
        let cases: [Case; 5] = [
            (|x| x.exp() - 2.0, -5.0, 5.0, std::f64::consts::LN_2, 1e-15),
            (|x| x.cos(), 0.0, 3.0, std::f64::consts::FRAC_PI_2, 1e-15),
            (|x| x - 1e-200, -1.0, 1.0, 1e-200, 1e-200),
            (|x| if x < 0.3 { -1.0 } else { 1.0 }, 0.0, 1.0, 0.3, 1e-15),
            (|x| (x - 0.5).powi(9), -1.0, 4.0, 0.5, 1e-12),
        ];
        for (function, lower, upper, expected, tolerance) in cases {
            let root = bracketed_root(function, lower, upper, 0.0, 2_000).unwrap();
            assert!((root.at - expected).abs() <= tolerance, "{root:?} instead of {expected}");
        }
    }

    /// As many as brentq of SciPy 1.17.1 takes at xtol = 1e-12 and rtol = 4ε (`function_calls` of its full output).
    #[test]
    fn takes_as_many_evaluations_as_a_library_of_the_same_method() {
        type Case = (fn(f64) -> f64, f64, f64, u32);
        let cases: [Case; 10] = [
            (|x| x.exp() - 2.0, -5.0, 5.0, 13),
            (f64::cos, 0.0, 3.0, 8),
            (|x| x.powi(3) - 2.0 * x - 5.0, 2.0, 3.0, 8),
            (|x| x - x.cos(), 0.0, 1.0, 8),
            (f64::ln, 0.1, 20.0, 12),
            (|x| x * (-x).exp() - 0.1, 0.0, 1.0, 9),
            (|x| (x - 1.0).atan(), -10.0, 30.0, 11),
            (|x| 1.0 / x - 3.0, 0.01, 10.0, 14),
            (|x| x.powi(20) - 1.0, 0.0, 5.0, 19),
            (|x| (50.0 * (x - 0.3)).tanh(), -1.0, 1.0, 13),
        ];
        for (which, (function, lower, upper, by_the_library)) in cases.into_iter().enumerate() {
            let root = bracketed_root(function, lower, upper, 1e-12, 100).unwrap();
            assert_eq!(root.evaluations, by_the_library, "case {which}: {root:?}");
        }
    }

    #[test]
    fn refuses_in_words() {
        let f = |x: f64| x * x + 1.0;
        assert!(matches!(bracketed_root(f, -1.0, 1.0, 0.0, 50), Err(RootError::NoSignChange { .. })));
        assert!(matches!(bracketed_root(f, 1.0, -1.0, 0.0, 50), Err(RootError::NotABracket { .. })));
        assert!(matches!(bracketed_root(|_| f64::NAN, 0.0, 1.0, 0.0, 50), Err(RootError::NotANumber { .. })));
        assert!(matches!(
            bracketed_root(|x| x, -1.0, 2.0, f64::NAN, 50),
            Err(RootError::BadTolerance { .. })
        ));
        // A product of the two values would be zero, and the sign lost.
        let tiny = bracketed_root(|_| 1e-200, 0.0, 1.0, 0.0, 50);
        assert!(matches!(tiny, Err(RootError::NoSignChange { .. })));
        let capped = bracketed_root(|x| x.powi(3) - 0.2, -1.0, 2.0, 0.0, 3);
        assert!(matches!(capped, Err(RootError::TooManyEvaluations { evaluations: 3, .. })));
    }
}
