//! What lies ahead under another load than the one that is forecast: the level steps, and ages at another pace.

use super::{ByYear, Hypotheses, Shape};
use super::{IN_SERVICE, LoadAhead, LoadMoment, Moment, Moments, Motion, Node, Outlook, YEARS};
use crate::numerics::branch_free::cdf;
use crate::numerics::normal_mixture::{Component, NormalMixture};
use crate::trend::absorption::record::LEAST_RATIO;
use crate::whatif::{LoadChange, NewRatio};

/// The load to come under another use, beside the load as it is forecast today.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Changed {
    today: LoadAhead,
    from: f64,
    /// The end that was stated, or the moment at which today's forecast has caught up.
    until: f64,
    ratio: NewRatio,
    /// ln(new ÷ old ratio) at the beginning.
    first_step: f64,
    /// Shares of that step which the level follows, each as likely as another.
    followed: Vec<f64>,
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
fn ages(node: &Node) -> bool {
    node.exponent > 0.0
}

impl Outlook {
    /// The same pit under another load; itself where that changes nothing.
    pub(in super::super) fn under(&self, change: &LoadChange, followed: &[f64]) -> Self {
        Self { changed: Changed::of(self.ahead, change, followed).map(Box::new), ..self.clone() }
    }

    pub(in super::super) fn is_changed(&self) -> bool {
        self.changed.is_some()
    }

    /// Chance of having reached the inlet, or the level z below it, by each of [`YEARS`], under the other load.
    ///
    /// As [`Outlook::passage`]: the pit is in service today, under today's use. Each hypothesis is compared with its own
    /// chances as they are forecast today.
    pub(super) fn changed_passage(
        &self,
        changed: &Changed,
        threshold: f64,
        hypotheses: &Hypotheses,
    ) -> ByYear {
        let ahead = YEARS.map(|years| changed.at(years));
        let loads = [YEARS.map(|years| self.ahead.at(years)), ahead.map(|moment| moment.load)];
        let turns = changed.turns();
        let (mut reached, mut in_service) = ([0.0; YEARS.len()], 0.0);
        for (shape, nodes) in self.by_shape() {
            let [today, then] = loads.each_ref().map(|loads| Moments::of(shape, loads, self.ahead.now));
            for node in nodes {
                let motion = Motion::of(node, shape, &self.ahead, hypotheses);
                let served = if self.ends_at_inlet { 0.0 } else { IN_SERVICE * motion.at_inlet(today.at(0)) };
                let as_today = motion.first_passage(&today, threshold, hypotheses.prior(), |_, mean| mean);
                let moments = if ages(node) { &then } else { &today };
                for followed in changed.followed_by(shape) {
                    let lifted = |place: usize, mean: f64| mean + followed * ahead[place].step;
                    let mut chances = motion.first_passage(moments, threshold, hypotheses.prior(), lifted);
                    for turn in &turns {
                        let (mean, variance) = motion.at(self.changed_moment(node, shape, turn));
                        let chance = cdf((mean + followed * turn.moment.step - threshold) / variance.sqrt());
                        chances.iter_mut().skip(turn.place).for_each(|later| *later = later.max(chance));
                    }
                    for ((sum, chance), as_today) in reached.iter_mut().zip(chances).zip(as_today) {
                        *sum += node.weight * (changed.held(chance, as_today) - served).max(0.0);
                    }
                }
                in_service += node.weight * (1.0 - served) * changed.followed.len() as f64;
            }
        }
        reached.map(|sum| (sum / in_service).clamp(0.0, 1.0))
    }

    /// What a node's level depends on at a turn.
    fn changed_moment(&self, node: &Node, shape: &Shape, turn: &Turn) -> Moment {
        let load = if ages(node) { turn.moment.load } else { self.ahead.at(turn.years) };
        let gain = shape.log_load(load.load) - shape.log_load(self.ahead.now);
        Moment { years: turn.years, gain, kept: load.kept }
    }

    /// The level at a moment ahead under the other load, as z.
    pub(super) fn changed_levels(
        &self,
        changed: &Changed,
        years: f64,
        stick_in: f64,
        hypotheses: &Hypotheses,
    ) -> NormalMixture {
        let (then, as_today) = (changed.at(years), self.ahead.at(years));
        let mut components = Vec::with_capacity(self.nodes.len() * changed.followed.len());
        for (shape, nodes) in self.by_shape() {
            let gain = |moment: &LoadMoment| shape.log_load(moment.load) - shape.log_load(self.ahead.now);
            let [gain_then, gain_today] = [&then.load, &as_today].map(gain);
            for node in nodes {
                let motion = Motion::of(node, shape, &self.ahead, hypotheses);
                let gain = if ages(node) { gain_then } else { gain_today };
                let (mean, variance) = motion.at(Moment { years, gain, kept: then.load.kept });
                components.extend(changed.followed_by(shape).map(|followed| {
                    let mean = mean + followed * then.step;
                    let variance = variance + self.stick_variance(mean, stick_in);
                    Component { weight: node.weight, mean, standard_deviation: variance.sqrt() }
                }));
            }
        }
        NormalMixture::new(components)
    }

    /// Inches a year by which the level rises once the other use has begun.
    pub(super) fn changed_paces(&self, changed: &Changed, hypotheses: &Hypotheses) -> NormalMixture {
        let begun = changed.at(changed.from);
        let mut components = Vec::with_capacity(self.nodes.len() * changed.followed.len());
        for (shape, nodes) in self.by_shape() {
            let slope = shape.log_load_slope(begun.load.load) * begun.load.ratio;
            let gain = shape.log_load(begun.load.load) - shape.log_load(self.ahead.now);
            for node in nodes {
                let motion = Motion::of(node, shape, &self.ahead, hypotheses);
                let (mean, _) = motion.at(Moment { years: changed.from, gain, kept: begun.load.kept });
                components.extend(
                    changed.followed_by(shape).map(|share| self.pace(node, mean + share * begun.step, slope)),
                );
            }
        }
        NormalMixture::new(components)
    }
}

impl Changed {
    /// Nothing where no moment ahead differs from today's forecast.
    fn of(today: LoadAhead, change: &LoadChange, followed: &[f64]) -> Option<Self> {
        let caught_up = match change.ratio {
            NewRatio::Stated(ratio) => today.comes_to(ratio)?,
            NewRatio::Share(_) => f64::INFINITY,
        };
        let until = change.until.min(caught_up);
        let from = change.from.max(0.0);
        let ends = from < until && from < YEARS[YEARS.len() - 1];
        if !ends || change.ratio == NewRatio::Share(1.0) || followed.is_empty() {
            return None;
        }
        let mut changed =
            Self { today, from, until, ratio: change.ratio, first_step: 0.0, followed: followed.to_vec() };
        changed.first_step = changed.step_from(today.at(from).ratio);
        Some(changed)
    }

    /// The load ratio while the other use is in force, beside that of today's forecast then.
    fn ratio_beside(&self, as_today: f64) -> f64 {
        match self.ratio {
            NewRatio::Stated(ratio) => ratio,
            NewRatio::Share(share) => share * as_today,
        }
    }

    /// An empty house is one with the least load that a record knows: the logarithm needs a floor. Where the house stands empty
    /// today, the level is still taken for that of the use before, and steps from there.
    fn step_from(&self, as_today: f64) -> f64 {
        let other = self.ratio_beside(as_today).max(LEAST_RATIO);
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

    /// L(t) = L(from) + the integral of the other ratio. The step is never more than the first one, and fades as
    /// today's forecast comes to the same load.
    fn in_force(&self, years: f64) -> ChangedMoment {
        let (as_today, begun) = (self.today.at(years), self.today.at(self.from));
        let since = match self.ratio {
            NewRatio::Stated(ratio) => ratio * (years - self.from),
            NewRatio::Share(share) => share * (as_today.load - begun.load),
        };
        let ratio = self.ratio_beside(as_today.ratio);
        let (low, high) = (self.first_step.min(0.0), self.first_step.max(0.0));
        ChangedMoment {
            load: LoadMoment { load: begun.load + since, ratio, ..as_today },
            step: self.step_from(as_today.ratio).clamp(low, high),
        }
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
    /// When the load that is forecast comes to a ratio by its own drift: never, or nothing if it stands there today.
    fn comes_to(&self, ratio: f64) -> Option<f64> {
        let (now, left) = (self.typical - self.ratio, self.typical - ratio);
        if (ratio - self.ratio).abs() <= SAME_RATIO * self.ratio {
            return None;
        }
        // Both of one sign, the first one larger: the ratio lies on the way.
        let is_on_the_way = now * left > 0.0 && now.abs() > left.abs();
        Some(if is_on_the_way { self.tenure_years * (now / left).ln() } else { f64::INFINITY })
    }
}

/// Ratios closer than this, as a share, are the same said in other units.
const SAME_RATIO: f64 = 1e-9;
