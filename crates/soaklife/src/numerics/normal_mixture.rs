//! Weighted mixtures of normal distributions: chances and quantiles.

use super::branch_free::{Normal, cdf};
use super::normal;

/// One normal distribution of a mixture.
///
/// ```
/// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
/// let one = NormalMixture::new(vec![Component { weight: 2.0, mean: 5.0, standard_deviation: 1.0 }]);
/// assert!((one.below(5.0) - 0.5).abs() < 1e-8); // weights need not add up to one
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Relative weight.
    pub weight: f64,
    /// Mean.
    pub mean: f64,
    /// Standard deviation, above zero.
    pub standard_deviation: f64,
}

/// A mixture of normal distributions.
///
/// ```
/// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
/// let even = |mean| Component { weight: 1.0, mean, standard_deviation: 1.0 };
/// let two = NormalMixture::new(vec![even(-3.0), even(3.0)]);
/// assert!(two.quantile(0.5).is_some_and(|median| median.abs() < 1e-6));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct NormalMixture {
    components: Vec<Component>,
    total: f64,
}

/// Steps of Newton and bisection after which a quantile stands.
const MOST_STEPS: usize = 60;
/// A quantile is found to this share of the mixture's standard deviation.
const ACCURACY: f64 = 1e-7;

impl NormalMixture {
    /// From its components.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::NormalMixture;
    /// assert_eq!(NormalMixture::new(vec![]).quantile(0.5), None);
    /// ```
    #[must_use]
    pub fn new(components: Vec<Component>) -> Self {
        let total = components.iter().map(|component| component.weight).sum();
        Self { components, total }
    }

    /// Chance of a value below x: Σ w Φ((x − m)/s) / Σ w, absolute error below 1e-8.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let one = NormalMixture::new(vec![Component { weight: 1.0, mean: 0.0, standard_deviation: 2.0 }]);
    /// assert!((one.below(2.0) - 0.841_344_746).abs() < 1e-8);
    /// ```
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        let share = |c: &Component| c.weight * cdf((x - c.mean) / c.standard_deviation);
        self.components.iter().map(share).sum::<f64>() / self.total
    }

    /// The value that a share `probability` lies below; nothing for a share outside (0, 1) or an empty mixture.
    ///
    /// Newton's method kept inside a bracket.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let one = NormalMixture::new(vec![Component { weight: 1.0, mean: 10.0, standard_deviation: 2.0 }]);
    /// assert!(one.quantile(0.975).is_some_and(|x| (x - 13.919_928).abs() < 1e-5));
    /// ```
    #[must_use]
    pub fn quantile(&self, probability: f64) -> Option<f64> {
        let z = normal::quantile(probability).ok().filter(|z| z.is_finite())?;
        let (mean, spread) = self.moments()?;
        let end = |side: f64| {
            let ends = self.components.iter().map(|c| c.mean + side * (8.0 + z.abs()) * c.standard_deviation);
            ends.fold(f64::NAN, |reached, end| if side < 0.0 { reached.min(end) } else { reached.max(end) })
        };
        let (mut low, mut high) = (end(-1.0), end(1.0));
        let mut x = (mean + z * spread).clamp(low.min(high), high.max(low));
        for _ in 0..MOST_STEPS {
            let (below, density) = self.below_and_density(x);
            let excess = below - probability;
            if excess > 0.0 {
                high = x
            } else {
                low = x
            }
            let newton = x - excess / density;
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            let step = (next - x).abs();
            x = next;
            if step <= ACCURACY * spread {
                break;
            }
        }
        x.is_finite().then_some(x)
    }

    fn below_and_density(&self, x: f64) -> (f64, f64) {
        let (mut below, mut density) = (0.0, 0.0);
        for component in &self.components {
            let scale = 1.0 / component.standard_deviation;
            let at = Normal::at((x - component.mean) * scale);
            below += component.weight * at.below;
            density += component.weight * at.density * scale;
        }
        (below / self.total, density / self.total)
    }

    /// Mean and standard deviation.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let at = |mean| Component { weight: 1.0, mean, standard_deviation: 0.0 };
    /// assert_eq!(NormalMixture::new(vec![at(-1.0), at(1.0)]).moments(), Some((0.0, 1.0)));
    /// ```
    #[must_use]
    pub fn moments(&self) -> Option<(f64, f64)> {
        let share = |value: fn(&Component, f64) -> f64, mean: f64| {
            self.components.iter().map(|c| c.weight * value(c, mean)).sum::<f64>() / self.total
        };
        let mean = share(|c, _| c.mean, 0.0);
        let square = |c: &Component, mean: f64| {
            c.standard_deviation * c.standard_deviation + (c.mean - mean) * (c.mean - mean)
        };
        let spread = share(square, mean).sqrt();
        (mean.is_finite() && spread.is_finite()).then_some((mean, spread))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_a_lopsided_mixture_invert_its_chances() {
        let component = |weight, mean, standard_deviation| Component { weight, mean, standard_deviation };
        let mixture = NormalMixture::new(vec![
            component(5.0, 0.0, 0.01),
            component(1.0, 4.0, 3.0),
            component(0.001, -50.0, 0.1),
        ]);
        for step in 1..1000 {
            let probability = f64::from(step) / 1000.0;
            let x = mixture.quantile(probability).unwrap();
            assert!((mixture.below(x) - probability).abs() < 1e-4, "{probability}: {x}");
        }
    }

    #[test]
    fn hopeless_input_gives_nothing() {
        let bad = |mean, standard_deviation| {
            NormalMixture::new(vec![Component { weight: 1.0, mean, standard_deviation }]).quantile(0.5)
        };
        assert_eq!(bad(f64::NAN, 1.0), None);
        assert_eq!(bad(0.0, f64::INFINITY), None);
        let one = NormalMixture::new(vec![Component { weight: 1.0, mean: 0.0, standard_deviation: 1.0 }]);
        for probability in [0.0, 1.0, f64::NAN, -1.0] {
            assert_eq!(one.quantile(probability), None);
        }
    }
}
