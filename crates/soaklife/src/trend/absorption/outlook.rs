//! What lies ahead: where each hypothesis puts the level, and when it first meets the inlet.

mod changed;
mod first_passage;
mod unwatched;

use super::filter::{Followed, ShapeFilter};
use super::hypotheses::{Hypotheses, LANES, Shape};
use super::law::{Law, around};
use super::record::{LEAST_RATIO, Record, Unwatched};
use crate::loading::use_ahead::UseAhead;
use crate::numerics::branch_free::exponential;
use crate::numerics::normal_mixture::{Component, NormalMixture};
use crate::numerics::two_state::TwoState;
use crate::prior::TEMPERAMENTS;
use changed::Changed;

/// Moments at which the first passage is computed, years from now; straight lines in between. Steps of about a tenth of the years ahead move the
/// years to the inlet by less than a hundredth (`tests/second_engine.rs`).
pub(super) const YEARS: [f64; 56] = [
    0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.36, 0.42, 0.5, 0.58, 0.66, 0.75, 0.87, 1.0, 1.1, 1.2, 1.32, 1.45,
    1.6, 1.8, 2.0, 2.2, 2.45, 2.7, 3.0, 3.3, 3.65, 4.0, 4.5, 5.0, 5.5, 6.0, 6.6, 7.3, 8.0, 9.0, 10.0, 11.0,
    12.0, 13.3, 14.6, 16.0, 18.0, 20.0, 22.0, 24.3, 27.0, 30.0, 33.0, 36.5, 40.0, 44.0, 49.0, 54.0, 60.0,
];
/// One number for each of them.
pub(super) type ByYear = [f64; YEARS.len()];
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
    /// The state at the last reading, where somebody has read the pit as it is now.
    pub last_read: Option<TwoState>,
}

/// The hypotheses that count, largest weight 1.
pub(super) fn weighed(followed: &Followed) -> Vec<Node> {
    let Followed { filters, last_read, .. } = followed;
    let best = filters.iter().map(ShapeFilter::best_weight).fold(0.0, f64::max);
    let mut nodes = Vec::with_capacity(filters.len() * LANES);
    for (place, filter) in filters.iter().enumerate() {
        for (lane, weight) in filter.weight.iter().map(|weight| weight / best).enumerate() {
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
                    last_read: last_read.get(place).map(|filter| filter.lane(lane)),
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
    /// The ratio that the level answers to.
    in_use: f64,
    /// ρ*; ρ itself where the use stays as it is today.
    typical: f64,
    stays: bool,
    /// ln(ρ*/ρ).
    log_drift: f64,
    tenure_years: f64,
}

impl LoadAhead {
    fn of(record: &Record, use_ahead: UseAhead, hypotheses: &Hypotheses) -> Self {
        // A house that stays empty sends nothing; the least ratio is there for logarithms.
        let empty = record.ratio_now <= LEAST_RATIO;
        let (ratio, typical) = match use_ahead {
            UseAhead::Drifts => (record.ratio_now, record.ratio_ahead),
            UseAhead::AsToday if empty => (0.0, 0.0),
            UseAhead::AsToday => (record.ratio_now, record.ratio_now),
        };
        let stays = use_ahead == UseAhead::AsToday;
        Self {
            now: record.load_now,
            ratio,
            in_use: record.ratio_in_use,
            typical,
            stays,
            log_drift: if stays { 0.0 } else { (typical / ratio).ln() },
            tenure_years: hypotheses.prior().tenure_years,
        }
    }

    #[inline]
    fn at(&self, years: f64) -> LoadMoment {
        let kept = exponential(-years / self.tenure_years);
        let excess = self.ratio - self.typical;
        let load = self.now + self.typical * years + excess * self.tenure_years * (1.0 - kept);
        LoadMoment { load, ratio: self.typical + excess * kept, kept }
    }
}

/// The load at one moment ahead.
#[derive(Debug, Clone, Copy)]
struct LoadMoment {
    /// Absorbed since installation, design-years.
    load: f64,
    ratio: f64,
    /// e^(−t/τ).
    kept: f64,
}

/// What all nodes of a shape share at one moment ahead.
#[derive(Debug, Clone, Copy)]
struct Moment {
    years: f64,
    gain: f64,
    /// What is left of the difference from a typical use.
    kept: f64,
}

/// The same at all of [`YEARS`], each number in a row of its own.
struct Moments {
    gain: ByYear,
    kept: ByYear,
    /// Load ratio of a pit that is still dry then; 0 once it rises.
    dry_ratio: ByYear,
}

impl Moments {
    fn of(shape: &Shape, loads: &[LoadMoment; YEARS.len()], now: f64) -> Self {
        let log_load_now = shape.log_load(now);
        let still_dry = |ahead: &LoadMoment| if shape.is_dry_at(ahead.load) { ahead.ratio } else { 0.0 };
        let mut moments = Self {
            gain: [0.0; YEARS.len()],
            kept: loads.each_ref().map(|ahead| ahead.kept),
            dry_ratio: loads.each_ref().map(still_dry),
        };
        for (place, ahead) in loads.iter().enumerate() {
            moments.gain[place] = shape.stride(log_load_now, ahead.load, YEARS[place]).gain;
        }
        moments
    }

    #[inline]
    fn at(&self, place: usize) -> Moment {
        Moment { years: YEARS[place], gain: self.gain[place], kept: self.kept[place] }
    }
}

/// How far a shape has come since the last reading: exponents and years.
#[derive(Debug, Clone, Copy, Default)]
struct Unread {
    gain: f64,
    years: f64,
}

/// Mean and variance of a node's level as parts that do not depend on the moment.
struct Motion {
    node: Node,
    level_wander: f64,
    /// A third of the variance of the exponent a year: what a steady drift of it adds to its mean over the gap.
    exponent_wander: f64,
    usage: f64,
    /// Squared share by which the pace may differ.
    pace_variance: f64,
    unread: Unread,
    drift: f64,
    drift_variance: f64,
}

impl Motion {
    fn of(
        node: &Node,
        shape: &Shape,
        (ahead, unread): (&LoadAhead, Unread),
        hypotheses: &Hypotheses,
    ) -> Self {
        let lanes = hypotheses.lanes(shape);
        let pace = hypotheses.prior().pace_margin * node.exponent;
        let spread = USE_SPREAD * shape.load_response;
        Self {
            node: *node,
            level_wander: lanes.level_wander[node.temperament],
            exponent_wander: lanes.exponent_wander[node.temperament] / 3.0,
            usage: lanes.usage[node.temperament],
            pace_variance: pace * pace,
            unread,
            drift: DRIFT_FOLLOWED * shape.load_response * ahead.log_drift,
            drift_variance: spread * spread,
        }
    }

    /// μ(t) and V(t). The margin of the pace, and the wander of the exponent, run from the last reading on in one piece: in two they
    /// would come to less, and whoever waits would seem safer. What the filter has laid of the wander so far is taken off.
    #[inline]
    fn at(&self, Moment { years, gain, kept }: Moment) -> (f64, f64) {
        let node = &self.node;
        let mean = node.level + node.exponent * gain + self.drift * (1.0 - kept);
        let Unread { gain: so_far, years: unread } = self.unread;
        let whole = (so_far + gain) * (so_far + gain);
        let laid = unread * (so_far * so_far + 3.0 * gain * (so_far + gain));
        let variance = node.level_variance
            + gain * (2.0 * node.covariance + gain * node.exponent_variance)
            + self.exponent_wander * ((unread + years) * whole - laid)
            + self.pace_variance * whole
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
    /// Another load than that, if one was asked for: seldom, so that an outlook stays small.
    changed: Option<Box<Changed>>,
    full_in: f64,
    /// No reading says where the level stands: all that is known is that the pit is in service.
    in_service_unread: bool,
    /// Moments since the last reading.
    unwatched: Vec<Unwatched>,
}

impl Outlook {
    pub(super) fn of(record: &Record, shapes: Vec<Shape>, nodes: Vec<Node>, hypotheses: &Hypotheses) -> Self {
        Self {
            shapes,
            nodes,
            ahead: LoadAhead::of(record, UseAhead::default(), hypotheses),
            changed: None,
            full_in: record.full_in,
            in_service_unread: record.is_unread(),
            unwatched: record.unwatched.clone(),
        }
    }

    /// The same record with another assumption of the household from now on.
    pub(super) fn with_use(&self, record: &Record, use_ahead: UseAhead, hypotheses: &Hypotheses) -> Self {
        Self { ahead: LoadAhead::of(record, use_ahead, hypotheses), changed: None, ..self.clone() }
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

    /// The one law of what lies ahead until the inlet, or the level z below it, is reached.
    ///
    /// C(t) = Φ((μ − z)/√V), raised by the background risk and made to run upward. A pit that nobody has read is in service
    /// today: the share a = 0.9 C(0) at the inlet of each hypothesis is ruled out. What a reading finds needs no such help.
    pub(super) fn law(&self, threshold: f64, hypotheses: &Hypotheses) -> Law {
        if let Some(changed) = &self.changed {
            return self.changed_law(changed, threshold, hypotheses);
        }
        self.law_along(&self.ahead, Law::towards(threshold, self.nodes.len()), None, hypotheses)
    }

    /// The law if the household were another from now on, beside the law as it is; of its levels none is kept.
    pub(super) fn law_if(
        &self,
        record: &Record,
        use_ahead: UseAhead,
        beside: &Law,
        hypotheses: &Hypotheses,
    ) -> Law {
        let ahead = LoadAhead::of(record, use_ahead, hypotheses);
        self.law_along(&ahead, Law::without_levels(beside.threshold), Some(beside), hypotheses)
    }

    /// Levels that run of their own do not ask who lives there: what is left of them stands in the law beside.
    fn law_along(
        &self,
        ahead: &LoadAhead,
        mut law: Law,
        beside: Option<&Law>,
        hypotheses: &Hypotheses,
    ) -> Law {
        let (loads, threshold) = (YEARS.map(|years| ahead.at(years)), law.threshold);
        let mut place = 0;
        for (shape, nodes) in self.by_shape() {
            let first = place;
            place += nodes.len();
            if let Some(beside) = beside.filter(|_| !shape.ages()) {
                let left = nodes.iter().zip(beside.surviving.iter().skip(first));
                left.for_each(|(node, left)| law.add_left(*left, node.weight));
                continue;
            }
            let unread = self.unread(shape);
            let (moments, unwatched) = (Moments::of(shape, &loads, ahead.now), self.unwatched_by(shape));
            for node in nodes {
                let motion = Motion::of(node, shape, (ahead, unread), hypotheses);
                let so_far = self.so_far(&motion, &unwatched, threshold, hypotheses.prior());
                let chances =
                    motion.first_passage(so_far, &moments, threshold, hypotheses.prior(), |_, mean| mean);
                law.add(node.weight, chances, self.ruled_out(&motion, &moments));
            }
        }
        law.settled()
    }

    /// Share of a hypothesis that is ruled out because the pit is in service.
    fn ruled_out(&self, motion: &Motion, moments: &Moments) -> f64 {
        if self.in_service_unread { IN_SERVICE * motion.at_inlet(moments.at(0)) } else { 0.0 }
    }

    /// The level at a moment ahead of the pits that have not reached the goal of the law by then, as z; `stick_in` adds the
    /// error of a reading.
    ///
    /// Hypothesis by hypothesis it is the normal distribution below the goal, with the weight that is left of it then.
    /// Between two of [`YEARS`] both laws are mixed, as the chances run straight.
    pub(super) fn levels(
        &self,
        law: &Law,
        years: f64,
        stick_in: f64,
        hypotheses: &Hypotheses,
    ) -> NormalMixture {
        NormalMixture::new(self.components(law, years, stick_in, hypotheses))
    }

    /// What a stick would read then, as z: as a rule with its usual error, now and then grossly wrong.
    pub(super) fn readings(&self, law: &Law, years: f64, hypotheses: &Hypotheses) -> NormalMixture {
        let prior = hypotheses.prior();
        let (gross, gross_in) = (prior.gross_error_share, prior.stick_in.hypot(prior.gross_error_in));
        let mut components = Vec::with_capacity(4 * self.nodes.len());
        for (share, error_in) in [(1.0 - gross, prior.stick_in), (gross, gross_in)] {
            let read = self.components(law, years, error_in, hypotheses);
            components
                .extend(read.into_iter().map(|level| Component { weight: share * level.weight, ..level }));
        }
        NormalMixture::new(components)
    }

    fn components(&self, law: &Law, years: f64, stick_in: f64, hypotheses: &Hypotheses) -> Vec<Component> {
        let mut components = Vec::with_capacity(2 * law.surviving.len());
        for (place, share) in around(years).into_iter().flatten() {
            let laid = components.len();
            match &self.changed {
                Some(changed) => self.lay_changed(changed, YEARS[place], hypotheses, &mut components),
                None => self.lay(YEARS[place], hypotheses, &mut components),
            }
            for (component, surviving) in components[laid..].iter_mut().zip(&law.surviving) {
                component.weight = share * law.left_of(component, surviving[place]);
                if stick_in > 0.0 {
                    let stick = self.stick_spread(component.mean, stick_in, hypotheses.prior().offset_in);
                    component.standard_deviation = component.standard_deviation.hypot(stick);
                }
            }
        }
        components
    }

    /// Every hypothesis at a moment ahead, reached or not.
    fn lay(&self, years: f64, hypotheses: &Hypotheses, components: &mut Vec<Component>) {
        let ahead = self.ahead.at(years);
        for (shape, nodes) in self.by_shape() {
            let unread = self.unread(shape);
            let moment = self.moment(shape, years, &ahead);
            components.extend(nodes.iter().map(|node| {
                let (mean, variance) = Motion::of(node, shape, (&self.ahead, unread), hypotheses).at(moment);
                Component { weight: node.weight, mean, standard_deviation: variance.sqrt() }
            }));
        }
    }

    #[inline(always)]
    fn moment(&self, shape: &Shape, years: f64, ahead: &LoadMoment) -> Moment {
        let gain = shape.stride(shape.log_load(self.ahead.now), ahead.load, years).gain;
        Moment { years, gain, kept: ahead.kept }
    }

    /// What the error of a stick adds to the spread of z: as much as at the bottom, at most.
    fn stick_spread(&self, mean: f64, stick_in: f64, offset_in: f64) -> f64 {
        stick_in / (self.full_in * exponential(mean.min(0.0))).max(offset_in)
    }

    /// Inches a year by which the level rises now: x + c times ġ.
    pub(super) fn paces(&self, hypotheses: &Hypotheses) -> NormalMixture {
        if let Some(changed) = &self.changed {
            return self.changed_paces(changed, hypotheses);
        }
        let components = self.by_shape().flat_map(|(shape, nodes)| {
            let slope = shape.swiftness(self.ahead.now, self.ahead.ratio);
            nodes.iter().map(move |node| self.pace(node, node.level, slope))
        });
        NormalMixture::new(components)
    }

    fn pace(&self, node: &Node, level: f64, slope: f64) -> Component {
        let scale = self.full_in * exponential(level.min(0.0)) * slope;
        let spread = (scale * node.exponent_variance.sqrt()).max(LEAST_PACE_SPREAD_IN);
        Component { weight: node.weight, mean: scale * node.exponent, standard_deviation: spread }
    }
}
