//! The binomial distribution: how far a share seen in a few trials can be from the true one.

use crate::numerics::root::bracketed_root;
use thiserror::Error;

/// A root is found in about ten evaluations; the cap is never met.
const ROOT_CAP: u32 = 200;

/// Two limits of a proportion.
///
/// ```
/// # use soaklife::numerics::binomial::exact_interval;
/// let interval = exact_interval(5, 10, 0.95)?;
/// assert!(interval.lower < 0.5 && interval.upper > 0.5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProportionInterval {
    /// The lower limit.
    pub lower: f64,
    /// The upper limit.
    pub upper: f64,
}

/// Why there is no interval.
///
/// ```
/// # use soaklife::numerics::binomial::{BinomialError, exact_interval};
/// let more = exact_interval(3, 2, 0.95);
/// assert_eq!(more, Err(BinomialError::MoreThanTrials { successes: 3, trials: 2 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum BinomialError {
    /// More successes than trials.
    #[error("{successes} successes in {trials} trials cannot be")]
    MoreThanTrials {
        /// Successes given.
        successes: u32,
        /// Trials given.
        trials: u32,
    },
    /// The confidence does not lie between 0 and 1.
    #[error("a confidence lies between 0 and 1, not {found}")]
    Confidence {
        /// Confidence given.
        found: f64,
    },
}

/// The exact interval of a proportion after k successes in n independent trials.
///
/// # Formula
/// With α = 1 − confidence, the lower limit p solves P(X ≥ k | n, p) = α/2 and is 0 for k = 0; the upper limit solves
/// P(X ≤ k | n, p) = α/2 and is 1 for k = n. It holds the true proportion at least as often as `confidence` says,
/// whatever that proportion is. No trial leaves everything between 0 and 1 possible.
///
/// # Errors
/// [`BinomialError`]: more successes than trials, or a confidence outside 0–1.
///
/// # Example
/// ```
/// use soaklife::numerics::binomial::exact_interval;
/// let none_of_ten = exact_interval(0, 10, 0.95)?;
/// assert_eq!(none_of_ten.lower, 0.0);
/// assert!((none_of_ten.upper - (1.0 - 0.025f64.powf(0.1))).abs() < 1e-15);
/// # Ok::<(), soaklife::numerics::binomial::BinomialError>(())
/// ```
///
/// # Source
/// Clopper and Pearson (1934), The use of confidence or fiducial limits illustrated in the case of the binomial,
/// *Biometrika* 26, 404–413.
pub fn exact_interval(
    successes: u32,
    trials: u32,
    confidence: f64,
) -> Result<ProportionInterval, BinomialError> {
    if successes > trials {
        return Err(BinomialError::MoreThanTrials { successes, trials });
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(BinomialError::Confidence { found: confidence });
    }
    let tail = 0.5 * (1.0 - confidence);
    let lower = lower_limit(f64::from(successes), f64::from(trials), tail);
    let failures = lower_limit(f64::from(trials - successes), f64::from(trials), tail);
    Ok(ProportionInterval { lower, upper: 1.0 - failures })
}

/// The proportion at which so many successes or more are as rare as `tail`.
fn lower_limit(successes: f64, trials: f64, tail: f64) -> f64 {
    if successes == 0.0 {
        return 0.0;
    }
    let ln_tail = tail.ln();
    if successes == trials {
        return (ln_tail / trials).exp();
    }
    // At the observed share the tail is about one half and more than any α/2; at zero it is nothing.
    let excess = |p: f64| if p > 0.0 { ln_upper_tail(successes, trials, p) - ln_tail } else { f64::MIN };
    bracketed_root(excess, 0.0, successes / trials, 0.0, ROOT_CAP).map_or(0.0, |root| root.at)
}

/// ln P(X ≥ k) for 0 < p ≤ k/n, where the terms fall from the first one on.
fn ln_upper_tail(k: f64, n: f64, p: f64) -> f64 {
    let odds = p / (1.0 - p);
    let (mut term, mut sum, mut j) = (1.0, 1.0, k);
    while j < n && term > sum * f64::EPSILON / 4.0 {
        term *= (n - j) / (j + 1.0) * odds;
        sum += term;
        j += 1.0;
    }
    let ln_ways = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
    ln_ways + k * p.ln() + (n - k) * (-p).ln_1p() + sum.ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Beta, ContinuousCDF as _};

    #[test]
    fn agrees_with_printed_tables() {
        // Two-sided 95 % limits to three digits, as tables of exact limits print them; the test below is their second witness.
        for (successes, trials, lower, upper) in
            [(1, 10, 0.003, 0.445), (5, 10, 0.187, 0.813), (9, 10, 0.555, 0.997)]
        {
            let found = exact_interval(successes, trials, 0.95).unwrap();
            assert!(
                (found.lower - lower).abs() < 5.1e-4 && (found.upper - upper).abs() < 5.1e-4,
                "{found:?}"
            );
        }
    }

    #[test]
    fn two_trials_by_hand() {
        // One of two: P(X ≥ 1) = 1 − (1 − p)² = α/2 and P(X ≤ 1) = 1 − p² = α/2.
        let found = exact_interval(1, 2, 0.95).unwrap();
        assert!((found.lower - (1.0 - 0.975f64.sqrt())).abs() < 1e-15, "{found:?}");
        assert!((found.upper - 0.975f64.sqrt()).abs() < 1e-15, "{found:?}");
    }

    #[test]
    fn limits_are_quantiles_of_beta_distributions() {
        for (k, n) in [(1u32, 3u32), (31, 42), (7, 200), (199, 200), (500, 1000), (12, 20_000)] {
            let found = exact_interval(k, n, 0.9).unwrap();
            let (k, n) = (f64::from(k), f64::from(n));
            let at_lower = Beta::new(k, n - k + 1.0).unwrap().cdf(found.lower);
            let at_upper = Beta::new(k + 1.0, n - k).unwrap().sf(found.upper);
            assert!(
                (at_lower - 0.05).abs() < 1e-9 && (at_upper - 0.05).abs() < 1e-9,
                "{at_lower} {at_upper}"
            );
        }
    }

    #[test]
    fn holds_at_least_as_often_as_it_claims() {
        for p in [0.05, 0.5, 0.8, 0.97] {
            let chance_of = |k: u32| {
                let ln_ways =
                    libm::lgamma(21.0) - libm::lgamma(f64::from(k) + 1.0) - libm::lgamma(21.0 - f64::from(k));
                ln_ways.exp() * f64::powi(p, k as i32) * f64::powi(1.0 - p, 20 - k as i32)
            };
            let holds = |k: &u32| {
                let interval = exact_interval(*k, 20, 0.95).unwrap();
                interval.lower <= p && p <= interval.upper
            };
            let held: f64 = (0..=20).filter(holds).map(chance_of).sum();
            assert!(held >= 0.95, "{p}: {held}");
        }
    }

    #[test]
    fn the_ends_and_what_cannot_be() {
        assert_eq!(exact_interval(0, 0, 0.95), Ok(ProportionInterval { lower: 0.0, upper: 1.0 }));
        let all = exact_interval(10, 10, 0.95).unwrap();
        assert_eq!(all.upper, 1.0);
        assert!((all.lower - 0.025f64.powf(0.1)).abs() < 1e-15);
        for wrong in [0.0, 1.0, -0.5, f64::NAN, f64::INFINITY] {
            assert!(matches!(exact_interval(1, 2, wrong), Err(BinomialError::Confidence { .. })));
        }
        let many = exact_interval(u32::MAX / 2, u32::MAX, 0.95).unwrap();
        assert!(many.lower < 0.5 && many.upper > 0.499_999, "{many:?}");
    }
}
