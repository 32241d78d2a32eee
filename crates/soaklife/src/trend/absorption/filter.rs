//! The filter: every hypothesis follows the record, reading by reading.
//!
//! Shapes take turns, the lanes of a shape (temperaments, each with the first reading believed or not) run side by side.

use super::hypotheses::{LANES, LaneConstants, Lanes, Shape};
use super::record::{Gap, Record, Sounding, SoundingKind};
use crate::numerics::branch_free::{Normal, exponential};
use crate::numerics::two_state::{StepNoise, TwoState};
use crate::prior::TEMPERAMENTS;

/// Years of wander taken to have gone on before the first reading.
const WANDER_BEFORE_FIRST_YEARS: f64 = 3.0;
/// Least variance of level and exponent.
const LEAST_VARIANCE: f64 = 1e-6;
/// Least likelihood of a reading: no hypothesis is ever quite ruled out by one.
const LEAST_LIKELIHOOD: f64 = 1e-150;
/// Likelihood of a bound that holds by mistake (a stick that missed the liquid), as a share of gross errors.
const WRONG_BOUND: f64 = 0.15;
/// Share of the variance that a bound leaves at least.
const LEAST_LEFT: f64 = 1e-3;
/// Hypotheses this much less likely than the best are dropped from the fourth reading on: e^−14, a millionth.
const HOPELESS: f64 = 14.0;
const READINGS_BEFORE_DROPPING: usize = 4;
/// A product of likelihoods is turned into its logarithm before it leaves the range of numbers.
const SMALL_PRODUCT: f64 = 1e-140;
const LARGE_PRODUCT: f64 = 1e140;

/// The filters of one shape, one lane each.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ShapeFilter {
    /// Which shape.
    pub shape: usize,
    pub level: Lanes,
    pub exponent: Lanes,
    pub level_variance: Lanes,
    pub covariance: Lanes,
    pub exponent_variance: Lanes,
    /// Logarithm of the likelihood of the readings so far, up to a constant.
    pub log_likelihood: Lanes,
    /// The likelihood since the logarithm was last taken.
    product: Lanes,
    log_load: f64,
}

/// Every hypothesis at the last reading and now; `watch` is told how well each reading fitted: its place, the shape and
/// the chance, lane by lane, that it is no gross error.
pub(super) fn follow(
    record: &Record,
    shapes: &[Shape],
    lanes: &LaneConstants,
    mut watch: impl FnMut(usize, usize, &Lanes),
) -> Vec<ShapeFilter> {
    let mut filters: Vec<ShapeFilter> = shapes
        .iter()
        .enumerate()
        .map(|(place, shape)| ShapeFilter::start(place, shape, record, lanes))
        .collect();
    for (place, sounding) in record.soundings.iter().enumerate() {
        for filter in &mut filters {
            let Some(shape) = shapes.get(filter.shape) else { continue };
            if place > 0 {
                filter.step(&sounding.gap, shape, record, lanes);
            }
            let good = filter.take(sounding, place == 0, lanes);
            watch(place, filter.shape, &good);
        }
        if place >= READINGS_BEFORE_DROPPING - 1 {
            drop_hopeless(&mut filters, shapes, lanes);
        }
    }
    for filter in &mut filters {
        filter.settle();
        let Some(shape) = shapes.get(filter.shape) else { continue };
        filter.step(&record.to_now, shape, record, lanes);
        for lane in 0..LANES {
            filter.level_variance[lane] = filter.level_variance[lane].max(LEAST_VARIANCE);
            filter.exponent_variance[lane] = filter.exponent_variance[lane].max(LEAST_VARIANCE);
        }
    }
    filters
}

fn drop_hopeless(filters: &mut Vec<ShapeFilter>, shapes: &[Shape], lanes: &LaneConstants) {
    filters.iter_mut().for_each(ShapeFilter::settle);
    let best = |filter: &ShapeFilter| {
        let weights = shapes.get(filter.shape).map(|shape| filter.log_weights(shape, lanes));
        weights.into_iter().flatten().fold(f64::NEG_INFINITY, f64::max)
    };
    let overall = filters.iter().map(best).fold(f64::NEG_INFINITY, f64::max);
    filters.retain(|filter| best(filter) > overall - HOPELESS);
}

impl ShapeFilter {
    /// At the first reading, before it is taken: z = m + g x, x = ℓ(L₁) − ℓ at the reference.
    fn start(place: usize, shape: &Shape, record: &Record, lanes: &LaneConstants) -> Self {
        let x = shape.beyond_reference(record.first_load);
        let wandered = record.first_age.min(WANDER_BEFORE_FIRST_YEARS);
        let variance = shape.reference_variance + x * x * shape.exponent_variance;
        Self {
            shape: place,
            level: [shape.reference_level + shape.exponent * x; LANES],
            exponent: [shape.exponent; LANES],
            level_variance: lanes.level_wander.map(|wander| variance + wander * wandered),
            covariance: [x * shape.exponent_variance; LANES],
            exponent_variance: [shape.exponent_variance; LANES],
            log_likelihood: [0.0; LANES],
            product: [1.0; LANES],
            log_load: shape.log_load(record.first_load),
        }
    }

    /// Logarithms of the weights after the readings taken so far, up to a constant.
    pub(super) fn log_weights(&self, shape: &Shape, lanes: &LaneConstants) -> Lanes {
        std::array::from_fn(|lane| shape.log_weight + lanes.log_weight[lane] + self.log_likelihood[lane])
    }

    fn lane(&self, lane: usize) -> TwoState {
        TwoState {
            level: self.level[lane],
            slope: self.exponent[lane],
            level_variance: self.level_variance[lane],
            covariance: self.covariance[lane],
            slope_variance: self.exponent_variance[lane],
        }
    }

    fn set_lane(&mut self, lane: usize, state: TwoState) {
        self.level[lane] = state.level;
        self.exponent[lane] = state.slope;
        self.level_variance[lane] = state.level_variance;
        self.covariance[lane] = state.covariance;
        self.exponent_variance[lane] = state.slope_variance;
    }

    /// Growth over a gap, then the load step, then events.
    fn step(&mut self, gap: &Gap, shape: &Shape, record: &Record, lanes: &LaneConstants) {
        let log_load = shape.log_load(gap.load);
        let gain = log_load - self.log_load;
        self.log_load = log_load;
        let [response, spread] =
            [shape.load_response, shape.load_response_spread].map(|share| share * gap.load_step);
        let (shift, shift_variance) = (response + gap.shift, spread * spread + gap.shift_variance);
        for lane in 0..LANES {
            let exponent_noise = lanes.exponent_wander[lane] * gap.years;
            let noise = StepNoise {
                level: lanes.level_wander[lane] * gap.years
                    + exponent_noise * gain * gain / 3.0
                    + shift_variance,
                cross: exponent_noise * gain / 2.0,
                slope: exponent_noise,
            };
            let mut state = self.lane(lane).stepped(gain, noise);
            state.level += shift;
            self.set_lane(lane, state);
        }
        if gap.datum_changed {
            for lane in 0..LANES {
                self.level_variance[lane] += Gap::datum_variance(record.full_in, self.level[lane]);
            }
        }
    }

    /// Takes a reading; the chance, lane by lane, that it is no gross error.
    fn take(&mut self, sounding: &Sounding, first: bool, lanes: &LaneConstants) -> Lanes {
        match sounding.kind {
            SoundingKind::Silent => [1.0; LANES],
            SoundingKind::Level => self.take_level(sounding, first, lanes),
            SoundingKind::AtMost => self.take_bound(sounding, -1.0, first, lanes),
            SoundingKind::AtLeast => self.take_bound(sounding, 1.0, first, lanes),
        }
    }

    /// A height: N(z; S) unless it is grossly wrong, N(z; S + gross variance).
    fn take_level(&mut self, sounding: &Sounding, first: bool, lanes: &LaneConstants) -> Lanes {
        let mut good = [0.0; LANES];
        let shares = branches(sounding.gross_share, first);
        for lane in 0..LANES {
            let state = self.lane(lane);
            let innovation = sounding.z - state.level;
            let square = innovation * innovation;
            let variance = state.level_variance + sounding.stick_variance + lanes.usage[lane];
            let wide = variance + sounding.gross_variance;
            let right = shares[lane][0] * exponential(-0.5 * square / variance) / variance.sqrt();
            let wrong = shares[lane][1] * exponential(-0.5 * square / wide) / wide.sqrt();
            let likelihood = right + wrong + LEAST_LIKELIHOOD;
            let weight = 1.0 - wrong / likelihood;
            good[lane] = weight;
            self.product[lane] *= likelihood;
            // The mixture of two updates, for a right reading and for a wrong one, by its mean and covariance.
            let narrowness = variance / wide;
            let taken = weight + (1.0 - weight) * narrowness;
            let between = weight * (1.0 - weight) * square * (1.0 - narrowness) * (1.0 - narrowness);
            let corrected = state.corrected(taken * innovation, variance, taken * variance - between);
            self.set_lane(lane, corrected);
        }
        self.keep_in_range();
        good
    }

    /// A bound: z at or above it (`side` 1), or at or below it (`side` −1), unless it holds by mistake.
    fn take_bound(&mut self, sounding: &Sounding, side: f64, first: bool, lanes: &LaneConstants) -> Lanes {
        let mut good = [0.0; LANES];
        let shares = branches(sounding.gross_share, first);
        for lane in 0..LANES {
            let state = self.lane(lane);
            let variance = state.level_variance + sounding.stick_variance + lanes.usage[lane];
            let spread = variance.sqrt();
            let standardised = side * (state.level - sounding.z) / spread;
            let normal = Normal::at(standardised);
            let right = shares[lane][0] * normal.below;
            let wrong = shares[lane][1] * WRONG_BOUND;
            let likelihood = right + wrong + LEAST_LIKELIHOOD;
            let weight = 1.0 - wrong / likelihood;
            good[lane] = weight;
            self.product[lane] *= likelihood;
            let innovation = side * normal.inverse_mills * spread;
            let left =
                (1.0 - normal.inverse_mills * (standardised + normal.inverse_mills)).clamp(LEAST_LEFT, 1.0);
            let reduction =
                weight * (1.0 - left) * variance - weight * (1.0 - weight) * innovation * innovation;
            let corrected = state.corrected(weight * innovation, variance, reduction);
            self.set_lane(lane, corrected);
        }
        self.keep_in_range();
        good
    }

    fn keep_in_range(&mut self) {
        let out_of_range = |product: &f64| !(SMALL_PRODUCT..LARGE_PRODUCT).contains(product);
        if self.product.iter().any(out_of_range) {
            self.settle();
        }
    }

    fn settle(&mut self) {
        for lane in 0..LANES {
            self.log_likelihood[lane] += self.product[lane].ln();
            self.product[lane] = 1.0;
        }
    }
}

/// Shares of right and wrong readings in each lane. The first reading is right for one half of the lanes and wrong for
/// the other: one bad start cannot spoil a record.
fn branches(gross_share: f64, first: bool) -> [[f64; 2]; LANES] {
    let (right, wrong) = (1.0 - gross_share, gross_share);
    std::array::from_fn(|lane| match (first, lane < TEMPERAMENTS) {
        (false, _) => [right, wrong],
        (true, true) => [right, 0.0],
        (true, false) => [0.0, wrong],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A filter whose line is known for certain: what is left is the likelihood of the readings.
    fn certain(level: f64) -> ShapeFilter {
        ShapeFilter {
            shape: 0,
            level: [level; LANES],
            exponent: [0.0; LANES],
            level_variance: [0.0; LANES],
            covariance: [0.0; LANES],
            exponent_variance: [0.0; LANES],
            log_likelihood: [0.0; LANES],
            product: [1.0; LANES],
            log_load: 0.0,
        }
    }

    fn calm() -> LaneConstants {
        let nothing = [0.0; LANES];
        LaneConstants { usage: nothing, level_wander: nothing, exponent_wander: nothing, log_weight: nothing }
    }

    fn sounding(kind: SoundingKind, z: f64, spread: f64) -> Sounding {
        Sounding {
            gap: Gap::default(),
            kind,
            z,
            stick_variance: spread * spread,
            gross_variance: 1.0,
            gross_share: 0.0,
        }
    }

    /// The censored regression `dry_then_rising` of `fixtures/published/statistics/censored_regression`, recomputed in 40
    /// digits and by R's survreg: five dry years, then a rise. At its likeliest line and spread the filter's likelihoods of
    /// heights and bounds multiply to the published one, up to the factor 1/√(2π) of each height that the weights do not need.
    #[test]
    fn heights_and_bounds_multiply_to_the_likelihood_of_the_censored_regression() {
        const LINE: [f64; 2] = [-0.016_363_201_254_922_327, 0.057_078_105_721_040_25];
        const SPREAD: f64 = 0.038_806_243_378_354_07;
        const LOG_LIKELIHOOD: f64 = 11.618_196_788_924_134;
        let dry = [2006.0, 2007.0, 2008.0, 2009.0, 2011.0];
        let heights = [
            (2010.0, 0.04),
            (2012.0, 0.11),
            (2013.0, 0.18),
            (2014.0, 0.16),
            (2015.0, 0.27),
            (2016.0, 0.31),
            (2017.0, 0.42),
        ];
        let all = dry.map(|year| (year, SoundingKind::AtMost, 0.0)).into_iter();
        let mut total = 0.0;
        for (year, kind, z) in all.chain(heights.map(|(year, z)| (year, SoundingKind::Level, z))) {
            let mut filter = certain(LINE[0] + LINE[1] * (year - 2010.0));
            filter.take(&sounding(kind, z, SPREAD), false, &calm());
            filter.settle();
            total += filter.log_likelihood[0];
        }
        total -= heights.len() as f64 * 0.5 * std::f64::consts::TAU.ln();
        assert!((total - LOG_LIKELIHOOD).abs() < 1e-7, "{total}");
    }

    /// A bound moves a state to the mean and variance of the truncated normal distribution, integrated here step by step.
    #[test]
    fn a_bound_leaves_the_truncated_normal() {
        let (level, variance, noise) = (0.3, 0.25, 0.04);
        let total: f64 = variance + noise;
        let mut filter = certain(level);
        filter.level_variance = [variance; LANES];
        filter.take(&sounding(SoundingKind::AtMost, 0.0, noise.sqrt()), false, &calm());
        let (mut mass, mut first, mut second) = (0.0, 0.0, 0.0);
        for step in 0..200_000 {
            let z = level - 8.0 * variance.sqrt() + f64::from(step) * 16.0 * variance.sqrt() / 200_000.0;
            let density = (-0.5 * (z - level) * (z - level) / variance).exp()
                * crate::numerics::normal::cdf(-z / noise.sqrt());
            mass += density;
            first += density * z;
            second += density * z * z;
        }
        let mean = first / mass;
        assert!(total > 0.0 && (filter.level[0] - mean).abs() < 1e-6, "{} and {mean}", filter.level[0]);
        assert!((filter.level_variance[0] - (second / mass - mean * mean)).abs() < 1e-6);
    }

    #[test]
    fn a_wild_height_is_taken_for_a_gross_error_and_hardly_moves_the_state() {
        let mut filter = certain(-1.0);
        filter.level_variance = [1e-4; LANES];
        let wild = Sounding { gross_share: 0.05, ..sounding(SoundingKind::Level, 0.5, 0.02) };
        let good = filter.take(&wild, false, &calm());
        assert!(good[0] < 1e-6 && (filter.level[0] + 1.0).abs() < 1e-3);
    }
}
