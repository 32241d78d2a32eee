//! Level and slope of a trend followed from observation to observation: the Kalman filter with two states.
//!
//! Nothing here allocates, and [`TwoState::stepped`] and [`TwoState::corrected`] do not branch, so a loop over arrays of
//! states vectorises.

use std::f64::consts::TAU;
use std::ops::Add;

/// Level z and slope g of a trend, with their covariance.
///
/// # Formula
/// z in the unit of the observations, g in that unit per unit of the gain; (z, g) has the covariance
/// [[P_zz, P_zg], [P_zg, P_gg]]. An observation is y = z + e with Var(e) = H. A slope that is known to stay 0, with
/// P_zg = P_gg = 0, leaves a level alone.
///
/// # Example
/// ```
/// use soaklife::numerics::two_state::{StepNoise, TwoState};
/// let now = TwoState { level: 3.0, slope: 0.5, level_variance: 1.0, covariance: 0.0, slope_variance: 0.25 };
/// let (seen, _) = now.stepped(2.0, StepNoise::default()).observed(5.0, 2.0); // 4 ± √2 meets 5 ± √2 half-way
/// assert_eq!((seen.level, seen.level_variance), (4.5, 1.0));
/// ```
///
/// # Source
/// Durbin and Koopman (2012), *Time Series Analysis by State Space Methods*, 2nd ed., sections 3.2 and 4.3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoState {
    /// z.
    pub level: f64,
    /// g.
    pub slope: f64,
    /// P_zz.
    pub level_variance: f64,
    /// P_zg.
    pub covariance: f64,
    /// P_gg.
    pub slope_variance: f64,
}

/// The covariance of what a step adds to level and slope by chance; none by default.
///
/// # Formula
/// [[q_zz, q_zg], [q_zg, q_gg]]. Over a time h, with variances a and b per unit time of the level and of the slope:
/// q_zz = a h + b h³/3, q_zg = b h²/2, q_gg = b h.
///
/// # Example
/// ```
/// use soaklife::numerics::two_state::StepNoise;
/// let (a, b) = (0.5, 0.3);
/// let over = |h: f64| StepNoise { level: a * h + b * h * h * h / 3.0, cross: b * h * h / 2.0, slope: b * h };
/// assert_eq!(over(0.0), StepNoise::default());
/// ```
///
/// # Source
/// Durbin and Koopman (2012), section 3.8, for continuous time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StepNoise {
    /// q_zz.
    pub level: f64,
    /// q_zg.
    pub cross: f64,
    /// q_gg.
    pub slope: f64,
}

impl TwoState {
    /// The state after a step during which the level rises by `gain` slopes, and `noise` comes on top.
    ///
    /// # Formula
    /// z += G g; P_zz += 2G P_zg + G² P_gg + q_zz, P_zg += G P_gg + q_zg, P_gg += q_gg. A negative G steps back.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::{StepNoise, TwoState};
    /// let now = TwoState { level: 3.0, slope: 0.5, level_variance: 1.0, covariance: 0.125, slope_variance: 0.25 };
    /// let later = now.stepped(2.0, StepNoise { level: 0.5, cross: 0.25, slope: 0.125 });
    /// assert_eq!((later.level, later.slope), (4.0, 0.5));
    /// assert_eq!((later.level_variance, later.covariance, later.slope_variance), (3.0, 0.875, 0.375));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), section 4.3, for the transition [[1, G], [0, 1]].
    #[inline]
    #[must_use]
    pub fn stepped(self, gain: f64, noise: StepNoise) -> Self {
        let covariance = self.covariance + gain * self.slope_variance;
        Self {
            level: self.level + gain * self.slope,
            slope: self.slope,
            level_variance: self.level_variance + gain * (self.covariance + covariance) + noise.level,
            covariance: covariance + noise.cross,
            slope_variance: self.slope_variance + noise.slope,
        }
    }

    /// The state moved by an `innovation` of the level, and as much surer as `reduction` says.
    ///
    /// # Formula
    /// (z, g) += K v and P −= K Kᵀ R, with K = (P_zz, P_zg)/S. R = S is the Gaussian update by an observation that
    /// differs from its forecast by v, with S = P_zz + H. An observation that says less, being weighted, censored or
    /// perhaps contaminated, has a smaller R: with the mean m and variance w it leaves for what an exact observation
    /// would have shown, v is m less the forecast and R = S − w.
    ///
    /// S must be positive; for 0 ≤ R ≤ S the covariance stays one, to rounding.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::TwoState;
    /// let now = TwoState { level: 4.0, slope: 0.5, level_variance: 2.0, covariance: 1.0, slope_variance: 1.0 };
    /// let seen = now.corrected(1.0, 4.0, 4.0);
    /// assert_eq!((seen.level, seen.slope), (4.5, 0.75));
    /// assert_eq!((seen.level_variance, seen.covariance, seen.slope_variance), (1.0, 0.5, 0.75));
    /// assert_eq!(now.corrected(0.0, 4.0, 0.0), now); // no news
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), section 4.3; West and Harrison (1997), *Bayesian Forecasting and Dynamic Models*,
    /// 2nd ed., section 14.3, for the mean and variance of an observation that is not seen exactly.
    #[inline]
    #[must_use]
    pub fn corrected(self, innovation: f64, innovation_variance: f64, reduction: f64) -> Self {
        let precision = 1.0 / innovation_variance;
        let (level_share, slope_share) = (self.level_variance * precision, self.covariance * precision);
        Self {
            level: self.level + level_share * innovation,
            slope: self.slope + slope_share * innovation,
            level_variance: self.level_variance - level_share * level_share * reduction,
            covariance: self.covariance - level_share * slope_share * reduction,
            slope_variance: self.slope_variance - slope_share * slope_share * reduction,
        }
    }

    /// The state with this share left of its slope: a pace that fades.
    ///
    /// # Formula
    /// g *= φ; P_zg *= φ, P_gg *= φ².
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::TwoState;
    /// let now = TwoState { level: 3.0, slope: 0.5, level_variance: 1.0, covariance: 0.5, slope_variance: 0.25 };
    /// let later = now.faded(0.5);
    /// assert_eq!((later.slope, later.covariance, later.slope_variance), (0.25, 0.25, 0.0625));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), section 3.2.5, the damped trend.
    #[inline]
    #[must_use]
    pub fn faded(self, left: f64) -> Self {
        Self {
            slope: left * self.slope,
            covariance: left * self.covariance,
            slope_variance: left * left * self.slope_variance,
            ..self
        }
    }

    /// The state after the observation `value`, and what the observation adds to the log-likelihood.
    ///
    /// # Formula
    /// [`corrected`](Self::corrected) by v = y − z, S = P_zz + H and R = S; H is `observation_variance`.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::TwoState;
    /// let now = TwoState { level: 4.0, slope: 0.5, level_variance: 2.0, covariance: 1.0, slope_variance: 1.0 };
    /// let (seen, term) = now.observed(5.0, 2.0);
    /// assert_eq!(seen, now.corrected(1.0, 4.0, 4.0));
    /// assert_eq!((term.log_variance, term.scaled_square), (4.0f64.ln(), 0.25));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), sections 4.3 and 7.2.1.
    #[inline]
    #[must_use]
    pub fn observed(self, value: f64, observation_variance: f64) -> (Self, LogLikelihoodTerm) {
        let innovation = value - self.level;
        let variance = self.level_variance + observation_variance;
        let term = LogLikelihoodTerm {
            count: 1.0,
            log_variance: variance.ln(),
            scaled_square: innovation / variance * innovation,
        };
        (self.corrected(innovation, variance, variance), term)
    }
}

/// What observations add to a log-likelihood, in parts that add up; zero by default.
///
/// # Formula
/// −½ (m ln 2π + Σ ln S + Σ v²/S). An observation that settles something unknown counts as 0 of m, with its infinite
/// variance for S and nothing for v²/S: the sum is then the restricted log-likelihood. Multiplying every variance of the
/// model by s² divides Σ v²/S by it and adds m ln s² to the logarithms, so that the best s² is Σ v²/S / m.
///
/// # Example
/// ```
/// use soaklife::numerics::normal;
/// use soaklife::numerics::two_state::LogLikelihoodTerm;
/// let term = LogLikelihoodTerm { count: 1.0, log_variance: 0.0, scaled_square: 4.0 };
/// assert!((term.value() - normal::density(2.0).ln()).abs() < 1e-15);
/// ```
///
/// # Source
/// Durbin and Koopman (2012), sections 7.2.1 and 7.2.2; they give every observation its ln 2π, Commandeur and Koopman
/// (2007), *An Introduction to State Space Time Series Analysis*, only those of m, as here.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LogLikelihoodTerm {
    /// m: how many observations were forecast with a finite variance.
    pub count: f64,
    /// Σ ln S, S in the squared unit of the observations.
    pub log_variance: f64,
    /// Σ v²/S.
    pub scaled_square: f64,
}

impl LogLikelihoodTerm {
    /// The logarithm of the likelihood.
    ///
    /// # Formula
    /// −½ (m ln 2π + Σ ln S + Σ v²/S).
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::LogLikelihoodTerm;
    /// let terms = LogLikelihoodTerm { count: 0.0, log_variance: 3.0, scaled_square: 1.0 };
    /// assert_eq!(terms.value(), -2.0);
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), sections 7.2.1 and 7.2.2.
    #[inline]
    #[must_use]
    pub fn value(self) -> f64 {
        -0.5 * (self.count * TAU.ln() + self.log_variance + self.scaled_square)
    }
}

/// The parts of both, added.
///
/// ```
/// # use soaklife::numerics::two_state::LogLikelihoodTerm;
/// let term = LogLikelihoodTerm { count: 1.0, log_variance: 0.5, scaled_square: 2.0 };
/// assert_eq!((term + term).value(), 2.0 * term.value());
/// ```
impl Add for LogLikelihoodTerm {
    type Output = Self;

    #[inline]
    fn add(self, other: Self) -> Self {
        Self {
            count: self.count + other.count,
            log_variance: self.log_variance + other.log_variance,
            scaled_square: self.scaled_square + other.scaled_square,
        }
    }
}

/// A state of which something is not known at all yet: its variance is infinite, exactly, not merely large.
///
/// # Formula
/// The covariance is P + κ P_∞ for κ → ∞. P_∞ = A Aᵀ is held as A: every observation that meets an infinite variance
/// takes one column off it, so what has been settled is exactly zero and needs no tolerance.
///
/// # Example
/// ```
/// use soaklife::numerics::two_state::{DiffuseTwoState, StepNoise};
/// let (one, _) = DiffuseTwoState::unknown().observed(3.0, 1.0);
/// assert_eq!(one.settled(), None); // one observation gives no slope
/// let (two, _) = one.stepped(2.0, StepNoise::default()).observed(7.0, 1.0);
/// let line = two.settled().unwrap();
/// assert_eq!((line.level, line.slope, line.level_variance, line.slope_variance), (7.0, 2.0, 1.0, 0.5));
/// ```
///
/// # Source
/// Koopman (1997), *J. Am. Stat. Assoc.* 92, 1630–1638; Durbin and Koopman (2012), section 5.2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiffuseTwoState {
    finite: TwoState,
    unknown: [Direction; 2],
}

/// A column of A: how much level and slope move together along one unknown direction.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Direction {
    level: f64,
    slope: f64,
}

const NOTHING: Direction = Direction { level: 0.0, slope: 0.0 };

impl Direction {
    fn stepped(self, gain: f64) -> Self {
        Self { level: self.level + gain * self.slope, slope: self.slope }
    }
}

impl DiffuseTwoState {
    /// Neither level nor slope is known: P_∞ is the unit matrix.
    ///
    /// ```
    /// # use soaklife::numerics::two_state::DiffuseTwoState;
    /// let (seen, term) = DiffuseTwoState::unknown().observed(3.0, 1.0);
    /// assert_eq!((term.count, term.value(), seen.settled()), (0.0, 0.0, None));
    /// ```
    #[must_use]
    pub fn unknown() -> Self {
        let level = Direction { level: 1.0, slope: 0.0 };
        let slope = Direction { level: 0.0, slope: 1.0 };
        Self { finite: from_slope(0.0, 0.0), unknown: [level, slope] }
    }

    /// The level is not known, the slope is `slope` with variance `slope_variance`; with 0 and 0 there is none.
    ///
    /// ```
    /// # use soaklife::numerics::two_state::DiffuseTwoState;
    /// let (seen, _) = DiffuseTwoState::unknown_level(0.5, 0.25).observed(3.0, 1.0);
    /// let state = seen.settled().unwrap();
    /// assert_eq!((state.level, state.slope), (3.0, 0.5));
    /// assert_eq!((state.level_variance, state.covariance, state.slope_variance), (1.0, 0.0, 0.25));
    /// ```
    #[must_use]
    pub fn unknown_level(slope: f64, slope_variance: f64) -> Self {
        let level = Direction { level: 1.0, slope: 0.0 };
        Self { finite: from_slope(slope, slope_variance), unknown: [level, NOTHING] }
    }

    /// The state after a step, as [`TwoState::stepped`].
    ///
    /// # Formula
    /// P as there; A with z += G g in each column, which is P_∞ with the same transition and no noise.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::{DiffuseTwoState, StepNoise};
    /// let later = DiffuseTwoState::unknown_level(0.5, 0.0).observed(3.0, 1.0).0.stepped(2.0, StepNoise::default());
    /// assert_eq!(later.settled().map(|state| state.level), Some(4.0));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), section 5.2.
    #[inline]
    #[must_use]
    pub fn stepped(self, gain: f64, noise: StepNoise) -> Self {
        let [first, second] = self.unknown;
        Self {
            finite: self.finite.stepped(gain, noise),
            unknown: [first.stepped(gain), second.stepped(gain)],
        }
    }

    /// The state after the observation `value`, and what the observation adds to the restricted log-likelihood.
    ///
    /// # Formula
    /// With F_∞ = P_∞,zz > 0: K = (1, k), k = P_∞,zg/F_∞, moves the state by K v; then P_zz = H, P_zg = k H and
    /// P_gg += k² (P_zz + H) − 2k P_zg, P_∞ loses K Kᵀ F_∞, and the log-likelihood ½ ln F_∞. With F_∞ = 0 the
    /// observation acts on the finite part alone, see [`TwoState::observed`]. H is `observation_variance`.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::DiffuseTwoState;
    /// let once = DiffuseTwoState::unknown().observed(3.0, 1.0).0;
    /// let (twice, term) = once.observed(5.0, 1.0); // at the same place: the level is surer, the slope still open
    /// assert_eq!((term.count, term.scaled_square, twice.settled()), (1.0, 2.0, None));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), sections 5.2 and 7.2.2, with the products of P and H carried out.
    #[inline]
    #[must_use]
    pub fn observed(self, value: f64, observation_variance: f64) -> (Self, LogLikelihoodTerm) {
        let [first, second] = self.unknown;
        let size = first.level.hypot(second.level);
        if size > 0.0 {
            let along = (first.level / size * first.slope + second.level / size * second.slope) / size;
            let across = first.level / size * second.slope - second.level / size * first.slope;
            let before = self.finite;
            let finite = TwoState {
                level: value,
                slope: before.slope + along * (value - before.level),
                level_variance: observation_variance,
                covariance: along * observation_variance,
                slope_variance: before.slope_variance - 2.0 * along * before.covariance
                    + along * along * (before.level_variance + observation_variance),
            };
            let unknown = [Direction { level: 0.0, slope: across }, NOTHING];
            let term = LogLikelihoodTerm { count: 0.0, log_variance: 2.0 * size.ln(), scaled_square: 0.0 };
            (Self { finite, unknown }, term)
        } else {
            let (finite, term) = self.finite.observed(value, observation_variance);
            (Self { finite, ..self }, term)
        }
    }

    /// The state, once nothing of it is unknown.
    ///
    /// # Formula
    /// P when P_∞ = 0.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::two_state::DiffuseTwoState;
    /// let start = DiffuseTwoState::unknown_level(0.0, 0.0);
    /// assert_eq!(start.settled(), None);
    /// assert_eq!(start.observed(3.0, 1.0).0.settled().map(|state| state.level), Some(3.0));
    /// ```
    ///
    /// # Source
    /// Durbin and Koopman (2012), section 5.2.2.
    #[inline]
    #[must_use]
    pub fn settled(self) -> Option<TwoState> {
        // Asked so that a NaN, which will not go away, is handed on rather than waited for.
        let open = self.unknown.iter().any(|direction| direction.level.abs() + direction.slope.abs() > 0.0);
        (!open).then_some(self.finite)
    }
}

/// The finite part of an unknown level: whatever stands for the level there cancels at the first observation.
fn from_slope(slope: f64, slope_variance: f64) -> TwoState {
    TwoState { level: 0.0, slope, level_variance: 0.0, covariance: 0.0, slope_variance }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOISE: StepNoise = StepNoise { level: 0.3, cross: 0.05, slope: 0.1 };

    fn parts(state: TwoState) -> [f64; 5] {
        [state.level, state.slope, state.level_variance, state.covariance, state.slope_variance]
    }

    /// The largest difference, relative to the second.
    fn difference(a: TwoState, b: TwoState) -> f64 {
        parts(a).iter().zip(parts(b)).map(|(a, b)| ((a - b) / b).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn a_vague_prior_tends_to_the_exact_start() {
        let readings = [(1.0, 3.0), (0.5, 4.5), (2.0, 5.0), (1.5, 9.0)];
        let vague = 1e8;
        let start = TwoState {
            level_variance: vague,
            covariance: 0.0,
            slope_variance: vague,
            ..from_slope(0.0, 0.0)
        };
        let mut proper = (start, LogLikelihoodTerm::default());
        let mut exact = (DiffuseTwoState::unknown(), LogLikelihoodTerm::default());
        for (gain, value) in readings {
            let (state, term) = proper.0.stepped(gain, NOISE).observed(value, 0.7);
            proper = (state, proper.1 + term);
            let (state, term) = exact.0.stepped(gain, NOISE).observed(value, 0.7);
            exact = (state, exact.1 + term);
        }
        assert!(difference(exact.0.settled().unwrap(), proper.0) < 1e-6);
        // The vague prior pays ½ ln(2π κ) for each of the two unknowns.
        let paid = proper.1.value() + (TAU * vague).ln();
        assert!((exact.1.value() - paid).abs() < 1e-6);
        assert_eq!((exact.1.count, proper.1.count), (2.0, 4.0));
    }

    #[test]
    fn observations_of_one_moment_count_in_any_order() {
        let start = DiffuseTwoState::unknown().observed(3.0, 1.0).0.stepped(2.0, NOISE);
        let (one, other) = ((5.0, 0.5), (7.0, 2.0));
        let both =
            |a: (f64, f64), b: (f64, f64)| start.observed(a.0, a.1).0.observed(b.0, b.1).0.settled().unwrap();
        assert!(difference(both(one, other), both(other, one)) < 1e-14);
    }

    #[test]
    fn a_step_back_undoes_a_step_without_noise() {
        let state =
            TwoState { level: 3.0, slope: 0.5, level_variance: 1.0, covariance: -0.3, slope_variance: 0.25 };
        let there_and_back = state.stepped(1.7, StepNoise::default()).stepped(-1.7, StepNoise::default());
        assert!(difference(there_and_back, state) < 1e-15);
    }

    #[test]
    fn a_smaller_reduction_leaves_more_doubt_and_moves_as_far() {
        let state =
            TwoState { level: 3.0, slope: 0.5, level_variance: 2.0, covariance: 0.5, slope_variance: 0.25 };
        let (full, half) = (state.corrected(1.0, 3.0, 3.0), state.corrected(1.0, 3.0, 1.5));
        assert_eq!((full.level, full.slope), (half.level, half.slope));
        assert!((half.level_variance - 0.5 * (state.level_variance + full.level_variance)).abs() < 1e-15);
        assert!(half.slope_variance > full.slope_variance && half.slope_variance < state.slope_variance);
    }

    #[test]
    fn unknown_states_survive_gains_of_any_size() {
        for gain in [1e-200, 1e-9, 1.0, 1e9, 1e200] {
            let start = DiffuseTwoState::unknown().stepped(gain, StepNoise::default()).observed(1.0, 1.0).0;
            assert_eq!(start.settled(), None, "{gain:e}");
            let (next, term) = start.stepped(gain, StepNoise::default()).observed(1.0, 1.0);
            assert!(next.settled().is_some() && term.log_variance.is_finite(), "{gain:e}");
        }
    }

    #[test]
    fn nan_in_gives_nan_out() {
        let state =
            TwoState { level: 3.0, slope: 0.5, level_variance: 1.0, covariance: 0.2, slope_variance: 0.25 };
        let any_nan = |state: TwoState| parts(state).iter().any(|part| part.is_nan());
        assert!(any_nan(state.stepped(f64::NAN, NOISE)));
        assert!(any_nan(state.corrected(f64::NAN, 2.0, 2.0)) && any_nan(state.corrected(1.0, f64::NAN, 2.0)));
        assert!(any_nan(state.corrected(1.0, 2.0, f64::NAN)));
        let (seen, term) = state.observed(f64::NAN, 1.0);
        assert!(any_nan(seen) && term.value().is_nan());

        let odd = [0.0, 1.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::from_bits(1)];
        for index in 0..odd.len().pow(3) {
            let [gain, value, variance] = [1, 8, 64].map(|place| odd[index / place % 8]);
            let mut start = DiffuseTwoState::unknown();
            for _ in 0..3 {
                start = start.stepped(gain, NOISE).observed(value, variance).0;
            }
            if gain.is_nan() || value.is_nan() || variance.is_nan() {
                assert!(start.settled().is_none_or(any_nan), "{gain} {value} {variance}");
            }
        }
    }
}
