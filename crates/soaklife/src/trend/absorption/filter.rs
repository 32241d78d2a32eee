//! The filter: every hypothesis follows the record, reading by reading.
//!
//! Shapes take turns, the lanes of a shape (temperaments, each with the first reading believed or not) run side by side.

use super::hypotheses::{Hypotheses, LANES, LaneConstants, Lanes, Shape, Stride};
use super::outlook::IN_SERVICE;
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
/// Density of a lowered height, times √(2π): even over z from an empty pit to a full one, some ln 10.
const EVEN_DENSITY: f64 = 2.506_628_274_631 / std::f64::consts::LN_10;
/// Nothing bounds a gross error: one of more than two of its standard deviations counts as one of two. The inverse of the square.
const WILD: f64 = 0.25;
/// Share of the variance that a bound leaves at least.
const LEAST_LEFT: f64 = 1e-3;
/// Shapes with less than this share of the best one's weight are dropped from the fourth reading on: e^−14, a millionth.
const HOPELESS: f64 = 8.315_287_191_035_679e-7;
const READINGS_BEFORE_DROPPING: usize = 4;
/// Most of all hypotheses that may have taken up a pace of their own over one gap.
const MOST_CHANGED: f64 = 0.5;
/// All weights are divided by the best one before it leaves this range, far from where numbers end.
const SMALL_WEIGHT: f64 = 1e-100;
const LARGE_WEIGHT: f64 = 1e100;

/// The filters of one shape, one lane each.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ShapeFilter {
    /// Which shape.
    pub shape: usize,
    /// Weights before any reading times the likelihoods of the readings so far, up to a factor that all filters share.
    pub weight: Lanes,
    pub level: Lanes,
    pub exponent: Lanes,
    pub level_variance: Lanes,
    pub covariance: Lanes,
    pub exponent_variance: Lanes,
    log_load: f64,
}

/// Every hypothesis at the last reading and now.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Followed {
    /// Those that are not hopeless, now.
    pub filters: Vec<ShapeFilter>,
    /// The same at the last reading; none where there is no reading.
    pub last_read: Vec<ShapeFilter>,
    /// Logarithm of the factor by which their weights are too small.
    pub log_scale: f64,
}

/// Follows the record; `watch` is told how well each reading fitted: its place, the shape and the chance, lane by lane,
/// that it is no gross error.
pub(super) fn follow(
    record: &Record,
    shapes: &[Shape],
    hypotheses: &Hypotheses,
    mut watch: impl FnMut(usize, usize, &Lanes),
) -> Followed {
    let start = |(place, shape)| ShapeFilter::start(place, shape, record, hypotheses.lanes(shape));
    let filters = shapes.iter().enumerate().map(start).collect();
    let mut followed = Followed { filters, last_read: Vec::new(), log_scale: 0.0 };
    let first = record.first_reading();
    for (place, sounding) in record.soundings.iter().enumerate() {
        if place > 0 {
            followed.step(&sounding.gap, shapes, record, hypotheses);
            followed.take_up(sounding.gap.years, shapes, hypotheses);
        }
        for filter in &mut followed.filters {
            let Some(shape) = shapes.get(filter.shape) else { continue };
            let good = filter.take(sounding, first == Some(place), hypotheses.lanes(shape));
            watch(place, filter.shape, &good);
        }
        if first == Some(place) {
            followed.judge_local_by_course(shapes);
        }
        followed.compare(place + 1 >= READINGS_BEFORE_DROPPING, shapes);
    }
    if !record.unwatched.is_empty() {
        followed.last_read.clone_from(&followed.filters);
    }
    followed.step(&record.to_now, shapes, record, hypotheses);
    for filter in &mut followed.filters {
        for lane in 0..LANES {
            filter.level_variance[lane] = filter.level_variance[lane].max(LEAST_VARIANCE);
            filter.exponent_variance[lane] = filter.exponent_variance[lane].max(LEAST_VARIANCE);
        }
    }
    followed
}

impl Followed {
    /// Every hypothesis over a gap.
    fn step(&mut self, gap: &Gap, shapes: &[Shape], record: &Record, hypotheses: &Hypotheses) {
        for filter in &mut self.filters {
            if let Some(shape) = shapes.get(filter.shape) {
                filter.step(gap, shape, record, hypotheses.lanes(shape));
            }
        }
    }

    /// Over a gap between two readings any hypothesis may have taken up a pace of its own. What nobody has seen yet is left to the
    /// background risk, before today as after.
    fn take_up(&mut self, years: f64, shapes: &[Shape], hypotheses: &Hypotheses) {
        let taken_up =
            self.filters.iter().position(|filter| shapes.get(filter.shape).is_some_and(Shape::is_taken_up));
        if let (Some(place), Some(shape)) = (taken_up, shapes.last()) {
            let chance = (hypotheses.prior().local.change_of_pace * years).min(MOST_CHANGED);
            let halves = [0, TEMPERAMENTS].map(|from| Together::of(&self.filters, from));
            self.filters[place].take_up(chance, halves, hypotheses.lanes(shape));
        }
    }

    /// The first reading says how high a pit stands for its age and load, of which levels that run of their own know nothing:
    /// they keep the share that they had before, and are judged by how a level moves.
    fn judge_local_by_course(&mut self, shapes: &[Shape]) {
        let is_local = |filter: &ShapeFilter| shapes.get(filter.shape).is_some_and(|shape| !shape.ages());
        let total = |local: bool| -> f64 {
            let kind = self.filters.iter().filter(|filter| is_local(filter) == local);
            kind.flat_map(|filter| filter.weight).sum()
        };
        let before = |local: bool| -> f64 {
            shapes.iter().filter(|shape| shape.ages() != local).map(|shape| shape.weight).sum()
        };
        let factor = total(false) / total(true) * before(true) / before(false);
        if factor.is_finite() {
            for filter in self.filters.iter_mut().filter(|filter| is_local(filter)) {
                filter.weight = filter.weight.map(|weight| weight * factor);
            }
        }
    }

    /// Keeps the weights in the range of numbers, and drops what has become hopeless.
    fn compare(&mut self, may_drop: bool, shapes: &[Shape]) {
        let best = self.filters.iter().map(ShapeFilter::best_weight).fold(0.0, f64::max);
        if may_drop {
            let may_come_back =
                |filter: &ShapeFilter| shapes.get(filter.shape).is_some_and(Shape::is_taken_up);
            self.filters.retain(|filter| filter.best_weight() > HOPELESS * best || may_come_back(filter));
        }
        if !(SMALL_WEIGHT..LARGE_WEIGHT).contains(&best) {
            self.log_scale += best.ln();
            for filter in &mut self.filters {
                filter.weight = filter.weight.map(|weight| weight / best);
            }
        }
    }
}

/// All hypotheses of one half of the lanes as one: their weight, and mean and variance of their level.
#[derive(Clone, Copy)]
struct Together {
    weight: f64,
    level: f64,
    variance: f64,
}

impl Together {
    fn of(filters: &[ShapeFilter], from: usize) -> Self {
        let (mut weight, mut first, mut second) = (0.0, 0.0, 0.0);
        for filter in filters {
            for lane in from..from + TEMPERAMENTS {
                let (of_lane, level) = (filter.weight[lane], filter.level[lane]);
                weight += of_lane;
                first += of_lane * level;
                second += of_lane * (filter.level_variance[lane] + level * level);
            }
        }
        let level = if weight > 0.0 { first / weight } else { 0.0 };
        let variance =
            if weight > 0.0 { (second / weight - level * level).max(LEAST_VARIANCE) } else { LEAST_VARIANCE };
        Self { weight, level, variance }
    }
}

impl ShapeFilter {
    /// Takes in what has taken up a pace of its own: a share of all hypotheses, from where they stand, at any pace. Old and
    /// new become one normal distribution with the mean and covariance of both.
    fn take_up(&mut self, chance: f64, halves: [Together; 2], lanes: &LaneConstants) {
        for lane in 0..LANES {
            let all = halves[lane / TEMPERAMENTS];
            let coming = chance * all.weight * lanes.weight[lane];
            let weight = self.weight[lane] + coming;
            if coming <= 0.0 || coming.is_nan() {
                continue;
            }
            let (new, old) = (coming / weight, 1.0 - coming / weight);
            let state = self.lane(lane);
            let apart = all.level - state.level;
            self.weight[lane] = weight;
            self.set_lane(
                lane,
                TwoState {
                    level: state.level + new * apart,
                    slope: old * state.slope,
                    level_variance: old * state.level_variance
                        + new * all.variance
                        + old * new * apart * apart,
                    covariance: old * state.covariance - old * new * apart * state.slope,
                    slope_variance: old * state.slope_variance
                        + new * lanes.exponent_variance[lane]
                        + old * new * state.slope * state.slope,
                },
            );
        }
    }

    /// At the first reading, before it is taken: z = m + g x, x = ℓ(L₁) − ℓ at the reference.
    fn start(place: usize, shape: &Shape, record: &Record, lanes: &LaneConstants) -> Self {
        let x = shape.beyond_reference(record.first_load);
        let wandered = record.first_age.min(WANDER_BEFORE_FIRST_YEARS);
        let variance = shape.reference_variance + x * x * shape.exponent_variance;
        let exponent_variance = lanes.exponent_variance.map(|of_lane| shape.exponent_variance + of_lane);
        Self {
            shape: place,
            weight: lanes.weight.map(|weight| shape.weight * weight),
            level: [shape.reference_level + shape.exponent * x; LANES],
            exponent: [shape.exponent; LANES],
            level_variance: lanes.level_wander.map(|wander| variance + wander * wandered),
            covariance: [x * shape.exponent_variance; LANES],
            exponent_variance,
            log_load: shape.log_load(record.first_load),
        }
    }

    /// The weight of its best lane.
    pub(super) fn best_weight(&self) -> f64 {
        self.weight.iter().copied().fold(0.0, f64::max)
    }

    pub(super) fn lane(&self, lane: usize) -> TwoState {
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
        let Stride { gain, fade } = shape.stride(self.log_load, gap.load, gap.years);
        self.log_load = shape.log_load(gap.load);
        let [response, spread] =
            [shape.load_response, shape.load_response_spread].map(|share| share * gap.load_step);
        let (shift, shift_variance) = (response + gap.shift, spread * spread + gap.shift_variance);
        let third_of_square = gain * gain / 3.0;
        for lane in 0..LANES {
            let exponent_noise = lanes.exponent_wander[lane] * gap.years;
            let noise = StepNoise {
                level: lanes.level_wander[lane] * gap.years
                    + exponent_noise * third_of_square
                    + shift_variance,
                cross: exponent_noise * (0.5 * gain),
                slope: exponent_noise,
            };
            let mut state = self.lane(lane).stepped(gain, noise).faded(fade);
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
        if sounding.in_service {
            self.take_bound(&Bound::IN_SERVICE, lanes);
        } else if first && sounding.kind == SoundingKind::Level {
            self.take_bound(&Bound::IN_SERVICE_IF_WRONG, lanes);
        }
        match sounding.kind {
            SoundingKind::Silent => [1.0; LANES],
            SoundingKind::Level | SoundingKind::Settling => self.take_level(sounding, first, lanes),
            SoundingKind::LevelOrLowered => self.take_perhaps_lowered(sounding, first, lanes),
            SoundingKind::AtMost => self.take_bound(&Bound::of(sounding, -1.0, first), lanes),
            SoundingKind::AtLeast => self.take_bound(&Bound::of(sounding, 1.0, first), lanes),
        }
    }

    /// A height: N(z; S) unless it is grossly wrong, N(z; S + gross variance).
    fn take_level(&mut self, sounding: &Sounding, first: bool, lanes: &LaneConstants) -> Lanes {
        let Branches { mut right, mut wrong } = Branches::of(sounding, first);
        let (mut squares, mut precisions, mut wide_precisions) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        for lane in 0..LANES {
            let innovation = sounding.z - self.level[lane];
            let variance = self.level_variance[lane] + sounding.stick_variance + lanes.usage[lane];
            squares[lane] = innovation * innovation;
            precisions[lane] = 1.0 / variance;
            let gross = sounding.gross_variance;
            let as_far = WILD * squares[lane];
            wide_precisions[lane] = 1.0 / (variance + if as_far > gross { as_far } else { gross });
        }
        for lane in 0..LANES {
            right[lane] *= density(squares[lane], precisions[lane]);
        }
        for lane in 0..LANES {
            wrong[lane] *= density(squares[lane], wide_precisions[lane]);
        }
        let mut good = [0.0; LANES];
        for lane in 0..LANES {
            let likelihood = right[lane] + wrong[lane] + LEAST_LIKELIHOOD;
            let weight = 1.0 - wrong[lane] / likelihood;
            good[lane] = weight;
            self.weight[lane] *= likelihood;
            // The mixture of two updates, for a right reading and for a wrong one, by its mean and covariance.
            let state = self.lane(lane);
            let innovation = sounding.z - state.level;
            let variance = self.level_variance[lane] + sounding.stick_variance + lanes.usage[lane];
            let narrowness = variance * wide_precisions[lane];
            let taken = weight + (1.0 - weight) * narrowness;
            let between = weight * (1.0 - weight) * squares[lane] * (1.0 - narrowness) * (1.0 - narrowness);
            let corrected = state.corrected(taken * innovation, variance, taken * variance - between);
            self.set_lane(lane, corrected);
        }
        good
    }

    /// A height, or one that lies somewhere below where the level stands in use: then z is at or above it, and the reading has the
    /// same density wherever it lies. Beside such a doubt there is no other for gross errors.
    #[cold]
    #[inline(never)]
    fn take_perhaps_lowered(&mut self, sounding: &Sounding, first: bool, lanes: &LaneConstants) -> Lanes {
        let mut good = [0.0; LANES];
        let Branches { right, wrong } = Branches::of(sounding, first);
        for lane in 0..LANES {
            let state = self.lane(lane);
            let variance = state.level_variance + sounding.stick_variance + lanes.usage[lane];
            let spread = variance.sqrt();
            let innovation = sounding.z - state.level;
            let standardised = -innovation / spread;
            let normal = Normal::at(standardised);
            let right = right[lane] * density(innovation * innovation, 1.0 / variance);
            let lowered = wrong[lane] * normal.below * EVEN_DENSITY;
            let likelihood = right + lowered + LEAST_LIKELIHOOD;
            let weight = 1.0 - lowered / likelihood;
            good[lane] = weight;
            self.weight[lane] *= likelihood;
            // As a height it leaves nothing of the variance, as a bound a share; the mixture of both by its mean and variance.
            let bound = normal.inverse_mills * spread;
            let left =
                (1.0 - normal.inverse_mills * (standardised + normal.inverse_mills)).clamp(LEAST_LEFT, 1.0);
            let apart = innovation - bound;
            let remains = (1.0 - weight) * left * variance + weight * (1.0 - weight) * apart * apart;
            let mean = weight * innovation + (1.0 - weight) * bound;
            self.set_lane(lane, state.corrected(mean, variance, variance - remains));
        }
        good
    }

    /// A bound, unless it holds by mistake.
    fn take_bound(&mut self, bound: &Bound, lanes: &LaneConstants) -> Lanes {
        let mut good = [0.0; LANES];
        let Bound { z, side, variance: stick_variance, from_lane, right, wrong } = *bound;
        for lane in from_lane..LANES {
            let state = self.lane(lane);
            let variance = state.level_variance + stick_variance + lanes.usage[lane];
            let spread = variance.sqrt();
            let standardised = side * (state.level - z) / spread;
            let normal = Normal::at(standardised);
            let right = right[lane] * normal.below;
            let wrong = wrong[lane];
            let likelihood = right + wrong + LEAST_LIKELIHOOD;
            let weight = 1.0 - wrong / likelihood;
            good[lane] = weight;
            self.weight[lane] *= likelihood;
            let innovation = side * normal.inverse_mills * spread;
            let left =
                (1.0 - normal.inverse_mills * (standardised + normal.inverse_mills)).clamp(LEAST_LEFT, 1.0);
            let reduction =
                weight * (1.0 - left) * variance - weight * (1.0 - weight) * innovation * innovation;
            let corrected = state.corrected(weight * innovation, variance, reduction);
            self.set_lane(lane, corrected);
        }
        good
    }
}

/// What a reading says that is no height: z lies at or above it (`side` 1), or at or below it (`side` −1).
#[derive(Clone, Copy)]
struct Bound {
    z: f64,
    side: f64,
    /// Variance of its error, as z.
    variance: f64,
    /// The lanes from this one on take it.
    from_lane: usize,
    /// Chance of the reading in each lane if the bound holds, and likelihood of the same reading if it does not.
    right: Lanes,
    wrong: Lanes,
}

impl Bound {
    /// Who looked into a pit whose level was lowered for a while found it in service: it is no more at its inlet than one that
    /// nobody has read.
    const IN_SERVICE: Self = Self {
        z: 0.0,
        side: -1.0,
        variance: 0.0,
        from_lane: 0,
        right: [IN_SERVICE; LANES],
        wrong: [1.0 - IN_SERVICE; LANES],
    };

    /// So it is where the first height is wrong.
    const IN_SERVICE_IF_WRONG: Self = Self { from_lane: TEMPERAMENTS, ..Self::IN_SERVICE };

    fn of(sounding: &Sounding, side: f64, first: bool) -> Self {
        let Branches { right, wrong } = Branches::of(sounding, first);
        let wrong = wrong.map(|share| share * WRONG_BOUND);
        Self { z: sounding.z, side, variance: sounding.stick_variance, from_lane: 0, right, wrong }
    }
}

/// The normal distribution's density, times √(2π), where the squared deviation and 1 ÷ variance are these.
#[inline]
fn density(square: f64, precision: f64) -> f64 {
    exponential(-0.5 * square * precision) * precision.sqrt()
}

/// Shares of right and wrong readings in each lane. The first reading is right for one half of the lanes and wrong for
/// the other: one bad start cannot spoil a record.
struct Branches {
    right: Lanes,
    wrong: Lanes,
}

impl Branches {
    fn of(sounding: &Sounding, first: bool) -> Self {
        let (right, wrong) = (1.0 - sounding.gross_share, sounding.gross_share);
        let believed = |lane: usize| !first || lane < TEMPERAMENTS;
        let doubted = |lane: usize| !first || lane >= TEMPERAMENTS;
        Self {
            right: std::array::from_fn(|lane| if believed(lane) { right } else { 0.0 }),
            wrong: std::array::from_fn(|lane| if doubted(lane) { wrong } else { 0.0 }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A filter whose line is known for certain: what is left is the likelihood of the readings.
    fn certain(level: f64) -> ShapeFilter {
        ShapeFilter {
            shape: 0,
            weight: [1.0; LANES],
            level: [level; LANES],
            exponent: [0.0; LANES],
            level_variance: [0.0; LANES],
            covariance: [0.0; LANES],
            exponent_variance: [0.0; LANES],
            log_load: 0.0,
        }
    }

    fn calm() -> LaneConstants {
        let nothing = [0.0; LANES];
        LaneConstants {
            usage: nothing,
            level_wander: nothing,
            exponent_wander: nothing,
            exponent_variance: nothing,
            weight: [1.0; LANES],
        }
    }

    fn sounding(kind: SoundingKind, z: f64, spread: f64) -> Sounding {
        Sounding {
            gap: Gap::default(),
            kind,
            z,
            stick_variance: spread * spread,
            gross_variance: 1.0,
            gross_share: 0.0,
            in_service: false,
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
            total += filter.weight[0].ln();
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
