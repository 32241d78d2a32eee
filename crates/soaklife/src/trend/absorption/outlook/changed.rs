//! What lies ahead under another load than the one that is forecast: the level steps, and ages at another pace.

use super::{Hypotheses, Law, LoadAhead, LoadMoment, Moment, Moments, Motion, Node, Outlook, Shape, YEARS};
use crate::numerics::branch_free::cdf;
use crate::numerics::normal_mixture::{Component, NormalMixture};
use crate::trend::absorption::record::LEAST_RATIO;
use crate::whatif::{LoadChange, NewRatio};

/// The load to come under another use, beside the load as it is forecast today.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Changed {
    today: LoadAhead,
    from: f64,
    until: f64,
    other: Other,
    /// ln(new ÷ old ratio) at the beginning.
    first_step: f64,
    /// Shares of that step which the level follows, each as likely as another.
    followed: Vec<f64>,
}

/// The other use while it is in force.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Other {
    /// Another household, its load counted from the moment at which it moves in.
    Household(LoadAhead),
    /// A share of what is forecast for today's household.
    Share(f64),
}

/// One moment ahead under the other use.
#[derive(Debug, Clone, Copy)]
struct ChangedMoment {
    load: LoadMoment,
    /// ln(new ÷ old ratio), 0 while today's use is in force.
    step: f64,
}

/// A moment at which the use changes, and the first of [`YEARS`] that does not come before it.
#[derive(Debug, Clone, Copy)]
struct Turn {
    years: f64,
    place: usize,
    moment: ChangedMoment,
}

/// Whether more load lifts the level. Where readings have fallen, hypotheses fall with the load: that is no ageing, and
/// another load neither hastens nor delays it.
fn ages(node: &Node, shape: &Shape) -> bool {
    shape.ages() && node.exponent > 0.0
}

impl Outlook {
    /// The same pit under another load; itself where that changes nothing.
    pub(in super::super) fn under(&self, change: &LoadChange, followed: &[f64]) -> Self {
        Self { changed: Changed::of(self.ahead, change, followed).map(Box::new), ..self.clone() }
    }

    pub(in super::super) fn is_changed(&self) -> bool {
        self.changed.is_some()
    }

    /// The law under the other load, as [`Outlook::law`]: each hypothesis once for each share of the step that the level follows.
    ///
    /// The pit is in service today, under today's use. Each hypothesis is compared with its own chances as they are forecast
    /// today.
    pub(super) fn changed_law(&self, changed: &Changed, threshold: f64, hypotheses: &Hypotheses) -> Law {
        let ahead = YEARS.map(|years| changed.at(years));
        let loads = [YEARS.map(|years| self.ahead.at(years)), ahead.map(|moment| moment.load)];
        let turns = changed.turns();
        let mut law = Law::towards(threshold, self.nodes.len() * changed.followed.len());
        for (shape, nodes) in self.by_shape() {
            let unread = self.unread(shape);
            let unwatched = self.unwatched_by(shape);
            let [today, then] = loads.each_ref().map(|loads| Moments::of(shape, loads, self.ahead.now));
            for node in nodes {
                let motion = Motion::of(node, shape, (&self.ahead, unread), hypotheses);
                let ruled_out = self.ruled_out(&motion, &today);
                let so_far = self.so_far(&motion, &unwatched, threshold, hypotheses.prior());
                let as_today =
                    motion.first_passage(so_far, &today, threshold, hypotheses.prior(), |_, mean| mean);
                let moments = if ages(node, shape) { &then } else { &today };
                for followed in changed.followed_by(shape) {
                    let lifted = |place: usize, mean: f64| mean + followed * ahead[place].step;
                    let mut chances =
                        motion.first_passage(so_far, moments, threshold, hypotheses.prior(), lifted);
                    for turn in &turns {
                        let (mean, variance) = motion.at(self.changed_moment(node, shape, turn));
                        let chance = cdf((mean + followed * turn.moment.step - threshold) / variance.sqrt());
                        chances.iter_mut().skip(turn.place).for_each(|later| *later = later.max(chance));
                    }
                    for (chance, as_today) in chances.iter_mut().zip(as_today) {
                        *chance = changed.held(*chance, as_today).max(ruled_out);
                    }
                    law.add(node.weight, chances, ruled_out);
                }
            }
        }
        law.settled()
    }

    /// What a node's level depends on at a turn.
    fn changed_moment(&self, node: &Node, shape: &Shape, turn: &Turn) -> Moment {
        let load = if ages(node, shape) { turn.moment.load } else { self.ahead.at(turn.years) };
        self.moment(shape, turn.years, &load)
    }

    /// Every hypothesis at a moment ahead under the other load, in the order of [`Outlook::changed_law`], reached or not.
    pub(super) fn lay_changed(
        &self,
        changed: &Changed,
        years: f64,
        hypotheses: &Hypotheses,
        components: &mut Vec<Component>,
    ) {
        let (then, as_today) = (changed.at(years), self.ahead.at(years));
        for (shape, nodes) in self.by_shape() {
            let unread = self.unread(shape);
            let [then_moment, today] = [&then.load, &as_today].map(|load| self.moment(shape, years, load));
            for node in nodes {
                let motion = Motion::of(node, shape, (&self.ahead, unread), hypotheses);
                let moment =
                    if ages(node, shape) { then_moment } else { Moment { kept: then_moment.kept, ..today } };
                let (mean, variance) = motion.at(moment);
                let (weight, standard_deviation) = (node.weight, variance.sqrt());
                components.extend(changed.followed_by(shape).map(|followed| {
                    let mean = mean + followed * then.step;
                    Component { weight, mean, standard_deviation }
                }));
            }
        }
    }

    /// Inches a year by which the level rises once the other use has begun.
    pub(super) fn changed_paces(&self, changed: &Changed, hypotheses: &Hypotheses) -> NormalMixture {
        let begun = changed.at(changed.from);
        let mut components = Vec::with_capacity(self.nodes.len() * changed.followed.len());
        for (shape, nodes) in self.by_shape() {
            let unread = self.unread(shape);
            let slope = shape.swiftness(begun.load.load, begun.load.ratio);
            let moment = self.moment(shape, changed.from, &begun.load);
            for node in nodes {
                let motion = Motion::of(node, shape, (&self.ahead, unread), hypotheses);
                let (mean, _) = motion.at(moment);
                components.extend(
                    changed.followed_by(shape).map(|share| self.pace(node, mean + share * begun.step, slope)),
                );
            }
        }
        NormalMixture::new(components)
    }
}

impl Changed {
    /// `None` where no moment ahead differs from today's forecast.
    fn of(today: LoadAhead, change: &LoadChange, followed: &[f64]) -> Option<Self> {
        let from = change.from.max(0.0);
        let ends = from < change.until && from < YEARS[YEARS.len() - 1];
        let begun = today.at(from);
        let is_same = match change.ratio {
            NewRatio::Stated(ratio) => (ratio - begun.ratio).abs() <= SAME_RATIO * begun.ratio,
            NewRatio::Share(share) => share == 1.0,
        };
        if !ends || is_same || followed.is_empty() {
            return None;
        }
        let other = match change.ratio {
            NewRatio::Stated(ratio) => Other::Household(today.taken_over(&begun, ratio)),
            NewRatio::Share(share) => Other::Share(share),
        };
        let mut changed =
            Self { today, from, until: change.until, other, first_step: 0.0, followed: followed.to_vec() };
        changed.first_step = changed.in_force_unheld(from).step;
        Some(changed)
    }

    /// An empty house is one with the least load that a record knows: the logarithm needs a floor. Where the house stands empty
    /// today, the level is still taken for that of the use before, and steps from there.
    fn step(&self, as_today: f64, other: f64) -> f64 {
        let other = other.max(LEAST_RATIO);
        match self.today.ratio <= LEAST_RATIO {
            true if other <= LEAST_RATIO => 0.0,
            true => (other / as_today.max(self.today.in_use)).ln(),
            false => (other / as_today.max(LEAST_RATIO)).ln(),
        }
    }

    fn at(&self, years: f64) -> ChangedMoment {
        let as_today = self.today.at(years);
        if years < self.from {
            return ChangedMoment { load: as_today, step: 0.0 };
        }
        if years < self.until {
            return self.in_force(years);
        }
        let beyond = self.in_force(self.until).load.load - self.today.at(self.until).load;
        ChangedMoment { load: LoadMoment { load: as_today.load + beyond, ..as_today }, step: 0.0 }
    }

    /// The step is never more than the first one.
    fn in_force(&self, years: f64) -> ChangedMoment {
        let (low, high) = (self.first_step.min(0.0), self.first_step.max(0.0));
        let unheld = self.in_force_unheld(years);
        ChangedMoment { step: unheld.step.clamp(low, high), ..unheld }
    }

    /// L(t) = L(from) + the integral of the other ratio.
    fn in_force_unheld(&self, years: f64) -> ChangedMoment {
        let (as_today, begun) = (self.today.at(years), self.today.at(self.from));
        let (load, ratio) = match &self.other {
            Other::Household(ahead) => {
                let then = ahead.at(years - self.from);
                (then.load, then.ratio)
            }
            Other::Share(share) => {
                (begun.load + share * (as_today.load - begun.load), share * as_today.ratio)
            }
        };
        ChangedMoment { load: LoadMoment { load, ratio, ..as_today }, step: self.step(as_today.ratio, ratio) }
    }

    /// When the other use begins and when it ends: a short visit between two of [`YEARS`] must not be missed.
    fn turns(&self) -> Vec<Turn> {
        let turn = |years: f64| {
            let place = YEARS.iter().position(|&grid| grid >= years)?;
            Some(Turn { years, place, moment: self.in_force(years) })
        };
        [self.from, self.until].into_iter().filter_map(turn).collect()
    }

    /// Shares of the step that a shape follows. A pit that stands dry when the other use begins has no level that could step.
    fn followed_by(&self, shape: &Shape) -> impl Iterator<Item = f64> {
        let stands = if shape.is_dry_at(self.today.at(self.from).load) { 0.0 } else { 1.0 };
        self.followed.iter().map(move |followed| stands * followed)
    }

    /// Whoever adds load cannot make a pit last longer, nor who takes some away make it fail sooner.
    fn held(&self, chance: f64, as_today: f64) -> f64 {
        if self.first_step >= 0.0 { chance.max(as_today) } else { chance.min(as_today) }
    }
}

impl LoadAhead {
    /// Another household from a moment on, that drifts, or stays as it is, as today's is taken to.
    fn taken_over(&self, begun: &LoadMoment, ratio: f64) -> Self {
        let typical = if self.stays { ratio } else { self.typical };
        Self { now: begun.load, ratio, typical, ..*self }
    }
}

/// Ratios closer than this, as a share, are the same said in other units.
const SAME_RATIO: f64 = 1e-9;
