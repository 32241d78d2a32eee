//! What lies ahead: where each hypothesis puts the level, and when it first meets the inlet.

use super::filter::ShapeFilter;
use super::hypotheses::{Hypotheses, LANES, Shape};
use super::record::Record;
use crate::numerics::branch_free::{cdf, exponential};
use crate::numerics::normal_mixture::{Component, NormalMixture};
use crate::prior::TEMPERAMENTS;

/// Moments at which the first passage is computed, years from now; straight lines in between.
pub(super) const YEARS: [f64; 24] = [
    0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 17.0, 20.0, 25.0,
    30.0, 35.0, 40.0, 50.0, 60.0,
];
/// Hypotheses with less than this share of the best one's weight do not count.
const LEAST_SHARE: f64 = 1e-3;
const LEAST_VARIANCE: f64 = 1e-6;
/// A level drifts by this share of what a drift of the household's use would do to it.
const DRIFT_FOLLOWED: f64 = 0.5;
/// Least standard deviation of a pace, inches a year.
const LEAST_PACE_SPREAD_IN: f64 = 1e-6;
/// Standard deviation of ln(use) by which a household departs from its drift.
const USE_SPREAD: f64 = 0.3;
/// Share of the present chance of standing at the inlet that "still in service" rules out.
pub(super) const IN_SERVICE: f64 = 0.9;

/// One hypothesis with the weight that the readings have given it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    pub shape: usize,
    pub lane: usize,
    pub temperament: usize,
    pub weight: f64,
    pub level: f64,
    pub exponent: f64,
    pub level_variance: f64,
    pub covariance: f64,
    pub exponent_variance: f64,
}

/// The hypotheses that count, largest weight 1.
pub(super) fn weighed(filters: &[ShapeFilter], shapes: &[Shape], hypotheses: &Hypotheses) -> Vec<Node> {
    let log_weights = |filter: &ShapeFilter| {
        shapes.get(filter.shape).map(|shape| filter.log_weights(shape, hypotheses.lanes()))
    };
    let best = filters.iter().filter_map(log_weights).flatten().fold(f64::NEG_INFINITY, f64::max);
    let mut nodes = Vec::with_capacity(filters.len() * LANES);
    for filter in filters {
        for (lane, log_weight) in log_weights(filter).into_iter().flatten().enumerate() {
            let weight = (log_weight - best).exp();
            if weight >= LEAST_SHARE {
                nodes.push(Node {
                    shape: filter.shape,
                    lane,
                    temperament: lane % TEMPERAMENTS,
                    weight,
                    level: filter.level[lane],
                    exponent: filter.exponent[lane],
                    level_variance: filter.level_variance[lane],
                    covariance: filter.covariance[lane],
                    exponent_variance: filter.exponent_variance[lane],
                });
            }
        }
    }
    nodes
}

/// The load to come: ρ(t) = ρ* + (ρ − ρ*) e^(−t/τ), and its integral.
#[derive(Debug, Clone, Copy, PartialEq)]
struct LoadAhead {
    now: f64,
    ratio: f64,
    typical: f64,
    /// ln(ρ*/ρ).
    log_drift: f64,
    tenure_years: f64,
}

impl LoadAhead {
    fn of(record: &Record, hypotheses: &Hypotheses) -> Self {
        Self {
            now: record.load_now,
            ratio: record.ratio_now,
            typical: record.ratio_ahead,
            log_drift: (record.ratio_ahead / record.ratio_now).ln(),
            tenure_years: hypotheses.prior().tenure_years,
        }
    }

    fn at(&self, years: f64) -> LoadMoment {
        let kept = (-years / self.tenure_years).exp();
        let excess = self.ratio - self.typical;
        let load = self.now + self.typical * years + excess * self.tenure_years * (1.0 - kept);
        LoadMoment { years, load, ratio: self.typical + excess * kept, kept }
    }
}

/// The load at one moment ahead.
#[derive(Debug, Clone, Copy)]
struct LoadMoment {
    years: f64,
    /// Absorbed since installation, design-years.
    load: f64,
    ratio: f64,
    /// e^(−t/τ).
    kept: f64,
}

/// What all nodes of a shape share at one moment ahead.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Moment {
    years: f64,
    gain: f64,
    kept: f64,
    /// Load ratio of a pit that is still dry then; 0 once it rises.
    dry_ratio: f64,
}

/// Mean and variance of a node's level as parts that do not depend on the moment.
struct Motion {
    node: Node,
    level_wander: f64,
    exponent_wander: f64,
    usage: f64,
    /// Squared share by which the pace may differ.
    pace_variance: f64,
    drift: f64,
    drift_variance: f64,
}

impl Motion {
    fn of(node: &Node, shape: &Shape, ahead: &LoadAhead, hypotheses: &Hypotheses) -> Self {
        let lanes = hypotheses.lanes();
        let pace = hypotheses.prior().pace_margin * node.exponent;
        let spread = USE_SPREAD * shape.load_response;
        Self {
            node: *node,
            level_wander: lanes.level_wander[node.temperament],
            exponent_wander: lanes.exponent_wander[node.temperament],
            usage: lanes.usage[node.temperament],
            pace_variance: pace * pace,
            drift: DRIFT_FOLLOWED * shape.load_response * ahead.log_drift,
            drift_variance: spread * spread,
        }
    }

    /// μ(t) and V(t).
    #[inline]
    fn at(&self, moment: &Moment) -> (f64, f64) {
        let Moment { years, gain, kept, .. } = *moment;
        let node = &self.node;
        let mean = node.level + node.exponent * gain + self.drift * (1.0 - kept);
        let by_gain = node.exponent_variance + self.exponent_wander * years / 3.0 + self.pace_variance;
        let variance = node.level_variance
            + gain * (2.0 * node.covariance + gain * by_gain)
            + self.level_wander * years
            + self.drift_variance * (1.0 - kept * kept)
            + self.usage;
        (mean, if variance < LEAST_VARIANCE { LEAST_VARIANCE } else { variance })
    }
}

/// What lies ahead of a pit, as the hypotheses that count see it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outlook {
    shapes: Vec<Shape>,
    nodes: Vec<Node>,
    ahead: LoadAhead,
    full_in: f64,
    ends_at_inlet: bool,
}

impl Outlook {
    pub(super) fn of(record: &Record, shapes: Vec<Shape>, nodes: Vec<Node>, hypotheses: &Hypotheses) -> Self {
        Self {
            shapes,
            nodes,
            ahead: LoadAhead::of(record, hypotheses),
            full_in: record.full_in,
            ends_at_inlet: record.ends_at_inlet,
        }
    }

    pub(super) fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    pub(super) fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Nodes by shape; they were made shape by shape.
    fn by_shape(&self) -> impl Iterator<Item = (&Shape, &[Node])> {
        let groups = self.nodes.chunk_by(|one, next| one.shape == next.shape);
        groups.filter_map(|nodes| Some((self.shapes.get(nodes.first()?.shape)?, nodes)))
    }

    fn moment(&self, shape: &Shape, ahead: &LoadMoment) -> Moment {
        Moment {
            years: ahead.years,
            gain: shape.log_load(ahead.load) - shape.log_load(self.ahead.now),
            kept: ahead.kept,
            dry_ratio: if shape.is_dry_at(ahead.load) { ahead.ratio } else { 0.0 },
        }
    }

    /// Chance of having reached the inlet, or the level z below it, by each of [`YEARS`].
    ///
    /// C(t) = Φ((μ − z)/√V), raised by the background risk and made to run upward; the mixture of them, given that the
    /// pit is in service today: F = Σ W (C − a) / Σ W (1 − a), a = 0.9 C(0) at the inlet.
    pub(super) fn passage(&self, threshold: f64, hypotheses: &Hypotheses) -> [f64; YEARS.len()] {
        let loads = YEARS.map(|years| self.ahead.at(years));
        let mut reached = [0.0; YEARS.len()];
        let mut in_service = 0.0;
        for (shape, nodes) in self.by_shape() {
            let moments = loads.each_ref().map(|load| self.moment(shape, load));
            for node in nodes {
                let motion = Motion::of(node, shape, &self.ahead, hypotheses);
                let chances = motion.first_passage(&moments, threshold, hypotheses);
                let served =
                    if self.ends_at_inlet { 0.0 } else { IN_SERVICE * motion.at_inlet_now(&moments[0]) };
                for (sum, chance) in reached.iter_mut().zip(chances) {
                    *sum += node.weight * (chance - served);
                }
                in_service += node.weight * (1.0 - served);
            }
        }
        reached.map(|sum| (sum / in_service).clamp(0.0, 1.0))
    }

    /// The level at a moment ahead, as z; `stick_in` adds the error of a reading.
    pub(super) fn levels(&self, years: f64, stick_in: f64, hypotheses: &Hypotheses) -> NormalMixture {
        let load = self.ahead.at(years);
        let mut components = Vec::with_capacity(self.nodes.len());
        for (shape, nodes) in self.by_shape() {
            let moment = self.moment(shape, &load);
            components.extend(nodes.iter().map(|node| {
                let (mean, variance) = Motion::of(node, shape, &self.ahead, hypotheses).at(&moment);
                let stick = stick_in / (self.full_in * exponential(mean.min(0.0)));
                Component { weight: node.weight, mean, standard_deviation: (variance + stick * stick).sqrt() }
            }));
        }
        NormalMixture::new(components)
    }

    /// Inches a year by which the level rises now: x + c times ġ.
    pub(super) fn paces(&self) -> NormalMixture {
        let mut components = Vec::with_capacity(self.nodes.len());
        for (shape, nodes) in self.by_shape() {
            let slope = shape.log_load_slope(self.ahead.now) * self.ahead.ratio;
            components.extend(nodes.iter().map(|node| {
                let scale = self.full_in * node.level.min(0.0).exp() * slope;
                let spread = (scale * node.exponent_variance.sqrt()).max(LEAST_PACE_SPREAD_IN);
                Component { weight: node.weight, mean: scale * node.exponent, standard_deviation: spread }
            }));
        }
        NormalMixture::new(components)
    }
}

impl Motion {
    fn at_inlet_now(&self, now: &Moment) -> f64 {
        let (mean, variance) = self.at(now);
        cdf(mean / variance.sqrt())
    }

    fn first_passage(
        &self,
        moments: &[Moment; YEARS.len()],
        threshold: f64,
        hypotheses: &Hypotheses,
    ) -> [f64; YEARS.len()] {
        let prior = hypotheses.prior();
        let mut chances = [0.0; YEARS.len()];
        let mut risks = [0.0; YEARS.len()];
        for ((chance, risk), moment) in chances.iter_mut().zip(&mut risks).zip(moments) {
            let (mean, variance) = self.at(moment);
            *chance = cdf((mean - threshold) / variance.sqrt());
            *risk = prior.background_risk * cdf(mean.min(0.0) / prior.background_reach)
                + prior.dry_risk * moment.dry_ratio;
        }
        let (mut run, mut risk_so_far) = (0.0_f64, 0.0);
        for place in 0..YEARS.len() {
            if place > 0 {
                let step = YEARS[place] - YEARS[place - 1];
                risk_so_far += 0.5 * (risks[place] + risks[place - 1]) * step;
            }
            run = run.max(1.0 - (1.0 - chances[place]) * exponential(-risk_so_far));
            chances[place] = run;
        }
        chances
    }
}
