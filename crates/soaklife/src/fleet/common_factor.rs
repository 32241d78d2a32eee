//! The error that all pits of a fleet share: a prior a little too kind, loads a little too low, everywhere at
//! once.

use thiserror::Error;

/// Beyond this the factor could turn a chance negative at the outermost node.
const LARGEST: f64 = 0.25;
/// How far out the factor is followed, in standard deviations.
const REACH: f64 = 3.5;
/// Widest step between the values of the factor, in its own standard deviations.
const WIDEST_STEP: f64 = 1.0;
/// Widest step in standard deviations of the count: the sum of bells so far apart is smooth to a few parts in
/// 10,000.
const WIDEST_STEP_OF_COUNT: f64 = 1.4;
/// No more values than this to each side of one.
const MOST: usize = 2_000;

/// A factor on the chances of all pits at once, of mean one and some coefficient of variation.
///
/// It acts on the chance of having reached the inlet by a day, F, or on the chance of not having reached it, 1
/// − F, whichever is smaller: F + e·min(F, 1 − F) for a factor 1 + e. So a rare failure becomes a tenth more or
/// less likely, a pit that surely fails or has failed stays so, nothing need be clipped, and the expected
/// number of failures is the plain sum of the chances.
///
/// ```
/// use soaklife::fleet::CommonFactor;
/// assert_eq!(CommonFactor::default().variation(), 0.04); // an assumption; see the module `fleet`
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CommonFactor(f64);

/// A variation that cannot be.
///
/// ```
/// use soaklife::fleet::{CommonFactor, CommonFactorError};
/// assert_eq!(CommonFactor::new(2.0), Err(CommonFactorError { found: 2.0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("a common factor varies by 0 to {LARGEST}, as in 0.1 for 10 %, not {found}")]
pub struct CommonFactorError {
    /// The value found.
    pub found: f64,
}

impl Default for CommonFactor {
    fn default() -> Self {
        Self(0.04)
    }
}

impl CommonFactor {
    /// No shared error: every pit errs on its own.
    pub const NONE: Self = Self(0.0);

    /// A factor with a coefficient of variation, a fraction.
    ///
    /// # Errors
    /// [`CommonFactorError`] unless it lies in 0–0.25.
    ///
    /// ```
    /// use soaklife::fleet::CommonFactor;
    /// assert_eq!(CommonFactor::new(0.0), Ok(CommonFactor::NONE));
    /// ```
    pub fn new(variation: f64) -> Result<Self, CommonFactorError> {
        if (0.0..=LARGEST).contains(&variation) {
            Ok(Self(variation))
        } else {
            Err(CommonFactorError { found: variation })
        }
    }

    /// The coefficient of variation.
    ///
    /// ```
    /// # use soaklife::fleet::CommonFactor;
    /// assert_eq!(CommonFactor::NONE.variation(), 0.0);
    /// ```
    #[must_use]
    pub fn variation(self) -> f64 {
        self.0
    }

    /// Values of the factor less one, with weights adding up to one: the trapezoidal rule over a normal
    /// density, with mean 0 and the variance exactly that of the factor.
    ///
    /// `shift` is how far the expected count moves with the factor, in standard deviations of the count.
    pub(crate) fn nodes(self, shift: f64) -> Vec<Node> {
        if self.0 == 0.0 {
            return vec![Node { excess: 0.0, weight: 1.0 }];
        }
        let step = (WIDEST_STEP_OF_COUNT / (shift * self.0).max(1e-9)).min(WIDEST_STEP);
        let to_each_side = ((REACH / step).ceil().min(MOST as f64)) as i32;
        let step = REACH / f64::from(to_each_side);
        let places = (-to_each_side..=to_each_side).map(|place| f64::from(place) * step);
        let raw: Vec<(f64, f64)> = places.map(|z| (z, (-0.5 * z * z).exp())).collect();
        let total: f64 = raw.iter().map(|(_, weight)| weight).sum();
        let variance = raw.iter().map(|(z, weight)| weight * z * z).sum::<f64>() / total;
        let scale = self.0 / variance.sqrt();
        raw.into_iter().map(|(z, weight)| Node { excess: z * scale, weight: weight / total }).collect()
    }
}

/// One value of the factor.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Node {
    /// The factor less one.
    pub(crate) excess: f64,
    pub(crate) weight: f64,
}

/// What the factor acts on: the smaller of a chance and its complement.
pub(crate) fn moved(chance: f64) -> f64 {
    chance.min(1.0 - chance)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_have_mean_one_and_the_variation_asked_for() {
        for (variation, shift) in [(0.1, 0.0), (0.1, 5.0), (0.25, 66.0), (0.01, 1e9)] {
            let nodes = CommonFactor(variation).nodes(shift);
            let sum = |of: fn(&Node) -> f64| nodes.iter().map(|node| node.weight * of(node)).sum::<f64>();
            assert!((sum(|_| 1.0) - 1.0).abs() < 1e-12);
            assert!(sum(|node| node.excess).abs() < 1e-12);
            assert!((sum(|node| node.excess * node.excess).sqrt() - variation).abs() < 1e-12);
            assert!(nodes.iter().all(|node| node.excess.abs() < 1.0));
        }
        assert_eq!(CommonFactor::default().nodes(0.0).len(), 9);
    }
}
