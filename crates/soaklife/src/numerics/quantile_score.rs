//! Scores of a forecast that is given as quantiles: how far it was off, when it also said how sure it was.

use thiserror::Error;

/// A quantile: the outcome lies below `value` with `probability`.
///
/// ```
/// # use soaklife::numerics::quantile_score::Quantile;
/// let median = Quantile { probability: 0.5, value: 12.0 };
/// assert_eq!(median.pinball_loss(13.0), 0.5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    /// Probability of an outcome below it.
    pub probability: f64,
    /// The quantile itself.
    pub value: f64,
}

impl Quantile {
    /// The pinball loss: the distance of the outcome, the side that was to be rare at its full price.
    ///
    /// # Formula
    /// p (y − q) for an outcome y above the quantile q, (1 − p)(q − y) below it; in the unit of the outcome.
    ///
    /// # Source
    /// Koenker and Bassett (1978), Regression quantiles, *Econometrica* 46, 33–50.
    ///
    /// ```
    /// # use soaklife::numerics::quantile_score::Quantile;
    /// let high = Quantile { probability: 0.9, value: 10.0 };
    /// assert_eq!((high.pinball_loss(12.0), high.pinball_loss(5.0).round()), (1.8, 0.0));
    /// ```
    #[must_use]
    pub fn pinball_loss(self, outcome: f64) -> f64 {
        let above = outcome - self.value;
        if above < 0.0 { (self.probability - 1.0) * above } else { self.probability * above }
    }
}

/// A forecast as its quantiles, both probabilities and values in increasing order.
///
/// ```
/// # use soaklife::numerics::quantile_score::{Quantile, QuantileForecast};
/// let [low, high] = [(0.25, 2.0), (0.75, 4.0)].map(|(probability, value)| Quantile { probability, value });
/// let forecast = QuantileForecast::new(vec![low, high])?;
/// assert_eq!(forecast.mean_pinball_loss(3.0), 0.25);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct QuantileForecast {
    quantiles: Vec<Quantile>,
}

/// Why quantiles are no forecast.
///
/// ```
/// # use soaklife::numerics::quantile_score::{QuantileError, QuantileForecast};
/// assert_eq!(QuantileForecast::new(vec![]), Err(QuantileError::Empty));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum QuantileError {
    /// There is none.
    #[error("a forecast needs at least one quantile")]
    Empty,
    /// A probability does not lie between 0 and 1, or a value is not finite.
    #[error("quantile {index} is not a usable number")]
    NotUsable {
        /// Its place.
        index: usize,
    },
    /// A probability does not rise, or a value falls.
    #[error("quantile {index} does not follow the one before it")]
    NotInOrder {
        /// Its place.
        index: usize,
    },
}

impl QuantileForecast {
    /// A forecast of quantiles in order.
    ///
    /// # Errors
    /// [`QuantileError`]: none at all, one that is not usable, or one out of order.
    ///
    /// ```
    /// # use soaklife::numerics::quantile_score::{Quantile, QuantileError, QuantileForecast};
    /// let [high, low] = [(0.75, 4.0), (0.25, 2.0)].map(|(probability, value)| Quantile { probability, value });
    /// assert_eq!(QuantileForecast::new(vec![high, low]), Err(QuantileError::NotInOrder { index: 1 }));
    /// ```
    pub fn new(quantiles: Vec<Quantile>) -> Result<Self, QuantileError> {
        let usable = |quantile: &Quantile| {
            quantile.probability > 0.0 && quantile.probability < 1.0 && quantile.value.is_finite()
        };
        if quantiles.is_empty() {
            return Err(QuantileError::Empty);
        }
        if let Some(index) = quantiles.iter().position(|quantile| !usable(quantile)) {
            return Err(QuantileError::NotUsable { index });
        }
        let in_order = |pair: (&Quantile, &Quantile)| {
            pair.0.probability < pair.1.probability && pair.0.value <= pair.1.value
        };
        match quantiles.iter().zip(quantiles.iter().skip(1)).position(|pair| !in_order(pair)) {
            Some(before) => Err(QuantileError::NotInOrder { index: before + 1 }),
            None => Ok(Self { quantiles }),
        }
    }

    /// The quantiles.
    ///
    /// ```
    /// # use soaklife::numerics::quantile_score::{Quantile, QuantileForecast};
    /// let median = Quantile { probability: 0.5, value: 12.0 };
    /// assert_eq!(QuantileForecast::new(vec![median])?.quantiles(), [median]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn quantiles(&self) -> &[Quantile] {
        &self.quantiles
    }

    /// The mean of the pinball losses of the quantiles, each with the same weight.
    ///
    /// ```
    /// # use soaklife::numerics::quantile_score::{Quantile, QuantileForecast};
    /// let median = Quantile { probability: 0.5, value: 12.0 };
    /// assert_eq!(QuantileForecast::new(vec![median])?.mean_pinball_loss(14.0), 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn mean_pinball_loss(&self, outcome: f64) -> f64 {
        let losses: f64 = self.quantiles.iter().map(|quantile| quantile.pinball_loss(outcome)).sum();
        losses / self.quantiles.len() as f64
    }

    /// The continuous ranked probability score, in the unit of the outcome; zero is perfect.
    ///
    /// # Formula
    /// ∫ (F(x) − 1{x ≥ y})² dx = 2 ∫ pinball loss dp, exactly, for the distribution function F that runs straight from
    /// quantile to quantile and has what lies outside the outermost two at these. So the tails of the forecast beyond
    /// its outermost quantiles do not count; with a single quantile it is |y − q|.
    ///
    /// # Source
    /// Gneiting and Raftery (2007), Strictly proper scoring rules, prediction, and estimation, *Journal of the American
    /// Statistical Association* 102, 359–378, section 4.2.
    ///
    /// ```
    /// # use soaklife::numerics::quantile_score::{Quantile, QuantileForecast};
    /// let [low, high] = [(0.25, 2.0), (0.75, 4.0)].map(|(probability, value)| Quantile { probability, value });
    /// // From 2 to 3, F² goes from 1/16 to 1/4: mean 7/48; from 3 to 4 the same of 1 − F.
    /// assert!((QuantileForecast::new(vec![low, high])?.crps(3.0) - 7.0 / 24.0).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crps(&self, outcome: f64) -> f64 {
        let (Some(first), Some(last)) = (self.quantiles.first(), self.quantiles.last()) else {
            return f64::NAN; // `new` lets none pass
        };
        let beyond = (first.value - outcome).max(0.0) + (outcome - last.value).max(0.0);
        let pairs = self.quantiles.iter().zip(self.quantiles.iter().skip(1));
        let between: f64 = pairs.map(|(from, to)| crps_between(*from, *to, outcome)).sum();
        // A maximum drops a NaN.
        if outcome.is_nan() { outcome } else { beyond + between }
    }
}

/// The part of the integral between two neighbouring quantiles.
fn crps_between(from: Quantile, to: Quantile, outcome: f64) -> f64 {
    let width = to.value - from.value;
    if outcome >= to.value {
        return width * mean_square(from.probability, to.probability);
    }
    if outcome <= from.value {
        return width * mean_square(1.0 - from.probability, 1.0 - to.probability);
    }
    let done = outcome - from.value;
    let reached = from.probability + (to.probability - from.probability) * (done / width);
    done * mean_square(from.probability, reached)
        + (to.value - outcome) * mean_square(1.0 - reached, 1.0 - to.probability)
}

/// The mean square of a number that runs straight from one value to another.
fn mean_square(from: f64, to: f64) -> f64 {
    (from * from + from * to + to * to) / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::normal;

    fn forecast(pairs: &[(f64, f64)]) -> QuantileForecast {
        let quantile = |&(probability, value): &(f64, f64)| Quantile { probability, value };
        QuantileForecast::new(pairs.iter().map(quantile).collect()).unwrap()
    }

    #[test]
    fn a_point_is_scored_by_its_distance() {
        let point = forecast(&[(0.05, 7.0), (0.5, 7.0), (0.95, 7.0)]);
        for outcome in [-2.0, 7.0, 11.5] {
            assert!((point.crps(outcome) - (outcome - 7.0f64).abs()).abs() < 1e-14);
            assert!((2.0 * point.mean_pinball_loss(outcome) - (outcome - 7.0f64).abs()).abs() < 1e-14);
        }
    }

    #[test]
    fn it_is_twice_the_integral_of_the_pinball_loss() {
        let seven = [(0.05, 1.0), (0.1, 2.0), (0.25, 2.5), (0.5, 4.0), (0.75, 4.2), (0.9, 7.0), (0.95, 9.0)];
        let scored = forecast(&seven);
        let value_at = |p: f64| {
            let pair = seven.windows(2).find(|pair| p >= pair[0].0 && p < pair[1].0);
            pair.map_or(if p < 0.5 { 1.0 } else { 9.0 }, |pair| {
                pair[0].1 + (pair[1].1 - pair[0].1) * (p - pair[0].0) / (pair[1].0 - pair[0].0)
            })
        };
        const STEPS: u32 = 200_000;
        for outcome in [-3.0, 1.0, 3.3, 4.1, 8.0, 12.0] {
            let loss = |step: u32| {
                let probability = (f64::from(step) + 0.5) / f64::from(STEPS);
                Quantile { probability, value: value_at(probability) }.pinball_loss(outcome)
            };
            let integral = 2.0 * (0..STEPS).map(loss).sum::<f64>() / f64::from(STEPS);
            assert!((scored.crps(outcome) - integral).abs() < 1e-8, "{outcome}: {integral}");
        }
    }

    /// Gneiting and Raftery (2007), section 4.2: CRPS(N(0, 1), y) = y (2Φ(y) − 1) + 2φ(y) − 1/√π.
    #[test]
    fn many_quantiles_of_a_normal_come_near_its_own_score() {
        let pairs: Vec<(f64, f64)> = (1..2000)
            .map(|step| f64::from(step) / 2000.0)
            .map(|probability| (probability, normal::quantile(probability).unwrap()))
            .collect();
        let scored = forecast(&pairs);
        for y in [0.0, 0.7, -2.5f64] {
            let density = (-0.5 * y * y).exp() / (2.0 * std::f64::consts::PI).sqrt();
            let exact = y * (2.0 * normal::cdf(y) - 1.0) + 2.0 * density - 1.0 / std::f64::consts::PI.sqrt();
            assert!((scored.crps(y) - exact).abs() < 1e-4, "{y}: {} {exact}", scored.crps(y));
        }
    }

    #[test]
    fn refuses_what_is_no_forecast() {
        let made = |pairs: &[(f64, f64)]| {
            let quantile = |&(probability, value): &(f64, f64)| Quantile { probability, value };
            QuantileForecast::new(pairs.iter().map(quantile).collect())
        };
        assert_eq!(made(&[(0.5, f64::NAN)]), Err(QuantileError::NotUsable { index: 0 }));
        assert_eq!(made(&[(0.0, 1.0)]), Err(QuantileError::NotUsable { index: 0 }));
        assert_eq!(made(&[(0.1, 1.0), (0.5, 0.5)]), Err(QuantileError::NotInOrder { index: 1 }));
        assert!(forecast(&[(0.5, 1.0)]).crps(f64::NAN).is_nan());
    }
}
