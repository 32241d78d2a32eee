//! The multipliers of the usual ranges, each computed once however many lines ask for it.

use std::sync::OnceLock;

use super::StudentT;

/// The areas beyond, of ranges that cover 90, 80 and 50 %.
const TAILS: [f64; 3] = [0.05, 0.1, 0.25];
/// As many whole degrees of freedom, from 1.
const KEPT: usize = 64;
/// 1 − 0.9 is 0.1 to within this.
const ROUNDING: f64 = 1e-12;

/// What T exceeds with the usual probabilities, by whole degrees of freedom; filled as it is asked.
#[derive(Debug)]
pub(crate) struct UsualTails([OnceLock<Multipliers>; KEPT]);

/// What T exceeds with each of the usual probabilities, at one number of degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Multipliers([f64; TAILS.len()]);

impl Default for UsualTails {
    fn default() -> Self {
        Self([const { OnceLock::new() }; KEPT])
    }
}

/// What has been asked so far makes no difference.
impl PartialEq for UsualTails {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl UsualTails {
    /// Those of a distribution; none of one that is not kept.
    pub(crate) fn of(&self, distribution: &StudentT) -> Option<Multipliers> {
        let degrees = distribution.degrees_of_freedom();
        let kept = self.0.get((degrees as usize).checked_sub(1)?).filter(|_| degrees.fract() == 0.0)?;
        let beyond = |tail: f64| distribution.quantile(1.0 - tail).unwrap_or(f64::NAN);
        Some(*kept.get_or_init(|| Multipliers(TAILS.map(beyond))))
    }
}

impl Multipliers {
    /// What T exceeds with this probability, if it is a usual one.
    pub(crate) fn exceeded_with(&self, tail: f64) -> Option<f64> {
        let place = TAILS.iter().position(|usual| (usual - tail).abs() < ROUNDING)?;
        self.0.get(place).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_what_is_computed() {
        let tails = UsualTails::default();
        for degrees in 1..=KEPT {
            let distribution = StudentT::new(degrees as f64).unwrap();
            for _ in 0..2 {
                let kept = tails.of(&distribution).unwrap();
                for tail in TAILS {
                    let computed = distribution.quantile(1.0 - tail).unwrap();
                    assert_eq!(kept.exceeded_with(1.0 - (1.0 - tail)), Some(computed));
                }
                assert_eq!(kept.exceeded_with(0.2), None);
            }
        }
        for degrees in [0.5, 1.5, 65.0, 1e300] {
            assert_eq!(tails.of(&StudentT::new(degrees).unwrap()), None);
        }
    }
}
