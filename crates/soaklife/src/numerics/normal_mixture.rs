//! Weighted mixtures of normal distributions: chances and quantiles.

use super::branch_free::Normal;
use super::normal;
use std::ops::RangeInclusive;

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
/// let two = NormalMixture::new([even(-3.0), even(3.0)]);
/// assert!(two.quantile(0.5).is_some_and(|median| median.abs() < 1e-6));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct NormalMixture {
    blocks: Vec<Block>,
    total: f64,
    mean: f64,
    spread: f64,
    least_deviation: f64,
}

/// Components that are summed side by side; the last block is filled up with weightless ones.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Block {
    weight: Side,
    mean: Side,
    /// 1 ÷ standard deviation.
    scale: Side,
}

/// How many components are summed side by side.
const SIDE_BY_SIDE: usize = 4;
type Side = [f64; SIDE_BY_SIDE];

/// Chance of a value below x, the density there and its first two derivatives.
struct Local {
    below: f64,
    density: f64,
    slope: f64,
    curvature: f64,
}

/// Steps after which a quantile stands.
const MOST_STEPS: usize = 60;
/// Newton's step this short, as a share of the least standard deviation, is the last: what the fourth order leaves of it is
/// less than Φ errs.
const LAST_STEP: f64 = 1e-4;
/// A step of the fourth order that is no such multiple of Newton's was taken too far from the root to be of use.
const TRUSTED_RATIOS: RangeInclusive<f64> = 0.25..=4.0;

impl NormalMixture {
    /// From its components.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::NormalMixture;
    /// assert_eq!(NormalMixture::new([]).quantile(0.5), None);
    /// ```
    #[must_use]
    pub fn new(components: impl IntoIterator<Item = Component>) -> Self {
        let components = components.into_iter();
        let mut blocks: Vec<Block> = Vec::with_capacity(components.size_hint().0.div_ceil(SIDE_BY_SIDE));
        let (mut total, mut sum, mut within, mut least_deviation) = (0.0, 0.0, 0.0, f64::INFINITY);
        for (count, component) in components.enumerate() {
            let Component { weight, mean, standard_deviation } = component;
            let place = count % SIDE_BY_SIDE;
            if place == 0 {
                blocks.push(Block::weightless(mean));
            }
            if let Some(block) = blocks.last_mut() {
                block.weight[place] = weight;
                block.mean[place] = mean;
                block.scale[place] = 1.0 / standard_deviation;
            }
            total += weight;
            sum += weight * mean;
            within += weight * standard_deviation * standard_deviation;
            least_deviation = f64::min(least_deviation, standard_deviation);
        }
        let mean = sum / total;
        let between = blocks.iter().map(|block| block.square_about(mean)).sum::<f64>();
        Self { blocks, total, mean, spread: ((within + between) / total).sqrt(), least_deviation }
    }

    /// The sum of the weights.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let one = NormalMixture::new([Component { weight: 2.0, mean: 0.0, standard_deviation: 1.0 }]);
    /// assert_eq!(one.weight(), 2.0);
    /// ```
    #[must_use]
    pub fn weight(&self) -> f64 {
        self.total
    }

    /// Chance of a value below x: Σ w Φ((x − m)/s) / Σ w, absolute error below 1e-8.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let one = NormalMixture::new([Component { weight: 1.0, mean: 0.0, standard_deviation: 2.0 }]);
    /// assert!((one.below(2.0) - 0.841_344_746).abs() < 1e-8);
    /// ```
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        self.at(x).below
    }

    /// The value that a share `probability` lies below; nothing for a share outside (0, 1) or an empty mixture.
    ///
    /// Householder's method of the fourth order inside a bracket; no quantile lies farther from the mean than
    /// √((1 − p)/p) standard deviations below it or √(p/(1 − p)) above.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let one = NormalMixture::new([Component { weight: 1.0, mean: 10.0, standard_deviation: 2.0 }]);
    /// assert!(one.quantile(0.975).is_some_and(|x| (x - 13.919_928).abs() < 1e-5));
    /// ```
    ///
    /// # Source
    /// Cantelli's inequality for the bracket; Householder (1970), *The Numerical Treatment of a Single Nonlinear Equation*.
    #[must_use]
    pub fn quantile(&self, probability: f64) -> Option<f64> {
        let z = normal::quantile(probability).ok().filter(|z| z.is_finite())?;
        let (mean, spread) = self.moments()?;
        let farthest = (probability / (1.0 - probability)).sqrt();
        let (mut low, mut high) = (mean - spread / farthest, mean + spread * farthest);
        let mut x = mean + z * spread;
        for _ in 0..MOST_STEPS {
            let at = self.at(x);
            let excess = at.below - probability;
            if excess > 0.0 {
                high = x
            } else {
                low = x
            }
            let newton = excess / at.density;
            let ratio = at.ratio_to_newton(newton);
            let better = x - newton * ratio;
            let trusted = TRUSTED_RATIOS.contains(&ratio) && better >= low && better <= high;
            x = if trusted { better } else { 0.5 * (low + high) };
            if trusted && newton.abs() <= LAST_STEP * self.least_deviation {
                break;
            }
        }
        x.is_finite().then_some(x)
    }

    fn at(&self, x: f64) -> Local {
        let (mut below, mut density, mut slope, mut curvature) =
            ([0.0; SIDE_BY_SIDE], [0.0; SIDE_BY_SIDE], [0.0; SIDE_BY_SIDE], [0.0; SIDE_BY_SIDE]);
        for block in &self.blocks {
            for place in 0..SIDE_BY_SIDE {
                let (weight, scale) = (block.weight[place], block.scale[place]);
                let z = (x - block.mean[place]) * scale;
                let normal = Normal::at(z);
                let height = weight * normal.density * scale;
                let falling = height * z * scale;
                below[place] += weight * normal.below;
                density[place] += height;
                slope[place] -= falling;
                curvature[place] += (falling * z - height * scale) * scale;
            }
        }
        let [below, density, slope, curvature] =
            [below, density, slope, curvature].map(|parts| parts.iter().sum::<f64>() / self.total);
        Local { below, density, slope, curvature }
    }

    /// Mean and standard deviation.
    ///
    /// ```
    /// use soaklife::numerics::normal_mixture::{Component, NormalMixture};
    /// let at = |mean| Component { weight: 1.0, mean, standard_deviation: 0.0 };
    /// assert_eq!(NormalMixture::new([at(-1.0), at(1.0)]).moments(), Some((0.0, 1.0)));
    /// ```
    #[must_use]
    pub fn moments(&self) -> Option<(f64, f64)> {
        let known = self.mean.is_finite() && self.spread.is_finite();
        known.then_some((self.mean, self.spread))
    }
}

impl Local {
    /// Householder's step of the fourth order as a multiple of Newton's.
    fn ratio_to_newton(&self, newton: f64) -> f64 {
        let bend = newton * self.slope / self.density;
        (1.0 - 0.5 * bend) / (1.0 - bend + newton * newton * self.curvature / (6.0 * self.density))
    }
}

impl Block {
    fn weightless(mean: f64) -> Self {
        Self { weight: [0.0; SIDE_BY_SIDE], mean: [mean; SIDE_BY_SIDE], scale: [1.0; SIDE_BY_SIDE] }
    }

    /// Σ w (m − x)².
    fn square_about(&self, x: f64) -> f64 {
        let square = |(weight, mean): (&f64, &f64)| weight * (mean - x) * (mean - x);
        self.weight.iter().zip(&self.mean).map(square).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of weights, means and standard deviations.
    fn mixture<const N: usize>(parts: [(f64, f64, f64); N]) -> NormalMixture {
        NormalMixture::new(parts.map(|(weight, mean, standard_deviation)| Component {
            weight,
            mean,
            standard_deviation,
        }))
    }

    #[test]
    fn quantiles_of_a_lopsided_mixture_invert_its_chances() {
        let mixture = mixture([(5.0, 0.0, 0.01), (1.0, 4.0, 3.0), (0.001, -50.0, 0.1)]);
        for step in 1..1000 {
            let probability = f64::from(step) / 1000.0;
            let x = mixture.quantile(probability).unwrap();
            assert!((mixture.below(x) - probability).abs() < 1e-4, "{probability}: {x}");
        }
    }

    /// Against bisection of the exact normal distribution, to what the fast one errs.
    #[test]
    fn quantiles_agree_with_those_of_the_exact_distribution() {
        let parts =
            [(1e-9, 1e6, 1.0), (0.5, -1.0, 0.02), (0.3, -0.9, 0.2), (0.2, -0.3, 0.05), (0.01, 2.0, 1.0)];
        let mixture = mixture(parts);
        let total: f64 = parts.iter().map(|part| part.0).sum();
        let exact = |x: f64| parts.iter().map(|(w, m, s)| w * normal::cdf((x - m) / s)).sum::<f64>() / total;
        for probability in [0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99] {
            let (mut low, mut high) = (-10.0, 10.0);
            for _ in 0..80 {
                let middle = 0.5 * (low + high);
                if exact(middle) < probability { low = middle } else { high = middle }
            }
            let quick = mixture.quantile(probability).unwrap();
            assert!((quick - low).abs() < 1e-6, "{probability}: {quick} and {low}");
        }
    }

    #[test]
    fn moments_are_those_of_the_parts() {
        // Mean (1·2 + 3·6 + 4·(−1))/8 = 2; mean of squares (1·(4 + 1) + 3·(36 + 4) + 4·(1 + 9))/8 = 165/8.
        let parts = [(1.0, 2.0, 1.0), (3.0, 6.0, 2.0), (4.0, -1.0, 3.0)];
        let (mean, spread) = mixture(parts).moments().unwrap();
        assert!((mean - 2.0).abs() < 1e-14 && (spread - (165.0_f64 / 8.0 - 4.0).sqrt()).abs() < 1e-14);
    }

    /// Half the distance from the root leaves a sixteenth of the error; of Newton's step it leaves a fourth.
    #[test]
    fn a_step_to_a_quantile_is_of_the_fourth_order() {
        let mixture = mixture([(2.0, 0.0, 1.0), (1.0, 1.5, 2.0)]);
        for root in [-0.7, 0.4, 1.6] {
            let probability = mixture.below(root);
            let error_from = |distance: f64| {
                let at = mixture.at(root + distance);
                let newton = (at.below - probability) / at.density;
                distance - newton * at.ratio_to_newton(newton)
            };
            for distance in [-0.3, 0.3] {
                let order = (error_from(distance) / error_from(0.5 * distance)).abs().log2();
                assert!((3.5..5.0).contains(&order), "{root}, {distance}: order {order}");
            }
        }
    }

    #[test]
    fn hopeless_input_gives_nothing() {
        let bad = |mean, standard_deviation| mixture([(1.0, mean, standard_deviation)]).quantile(0.5);
        assert_eq!(bad(f64::NAN, 1.0), None);
        assert_eq!(bad(0.0, f64::INFINITY), None);
        let one = mixture([(1.0, 0.0, 1.0)]);
        for probability in [0.0, 1.0, f64::NAN, -1.0] {
            assert_eq!(one.quantile(probability), None);
        }
    }
}
