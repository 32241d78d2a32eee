//! One law for the whole answer: the chance of having reached the goal by then, and where the level stands until it has.
//!
//! A pit that has reached its goal has reached it: what is left of each hypothesis never grows again. The share of the fan that
//! stands at the goal is therefore the chance of having reached the goal, at every moment, and the years to the goal are
//! where the quantiles of the fan meet the goal.

use super::outlook::{ByYear, YEARS};
use crate::numerics::branch_free::cdf;
use crate::numerics::normal_mixture::Component;

/// A hypothesis with less than this chance of being below the goal has no level below it that could be computed.
const LEAST_BELOW: f64 = 1e-7;

/// What lies ahead until a goal is reached.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Law {
    /// The goal, as z.
    pub threshold: f64,
    /// Chance of having reached the goal by each of [`YEARS`].
    pub reached: ByYear,
    /// Of each hypothesis its weight times the chance that the goal is not reached by each of [`YEARS`].
    pub surviving: Vec<ByYear>,
    keeps_levels: bool,
    in_service: f64,
}

impl Law {
    pub(super) fn towards(threshold: f64, hypotheses: usize) -> Self {
        let surviving = Vec::with_capacity(hypotheses);
        Self { threshold, reached: [0.0; YEARS.len()], surviving, keeps_levels: true, in_service: 0.0 }
    }

    /// Of chances alone: quicker, where nobody asks for the levels below the goal.
    pub(super) fn without_levels(threshold: f64) -> Self {
        Self { keeps_levels: false, ..Self::towards(threshold, 0) }
    }

    /// Adds a hypothesis with its chances of having reached the goal; `ruled_out` is the share of it that cannot be because
    /// the pit is in service.
    #[inline]
    pub(super) fn add(&mut self, weight: f64, chances: ByYear, ruled_out: f64) {
        self.add_left(chances.map(|chance| weight * (1.0 - chance)), weight * (1.0 - ruled_out));
    }

    /// Adds what is left of a hypothesis, and what it would be if none of it had reached the goal.
    #[inline]
    pub(super) fn add_left(&mut self, surviving: ByYear, serving: f64) {
        for (sum, surviving) in self.reached.iter_mut().zip(&surviving) {
            *sum += surviving;
        }
        if self.keeps_levels {
            self.surviving.push(surviving);
        }
        self.in_service += serving;
    }

    /// With every hypothesis added: F = 1 − Σ W (1 − C) / Σ W (1 − a).
    pub(super) fn settled(self) -> Self {
        let reached = self.reached.map(|surviving| (1.0 - surviving / self.in_service).clamp(0.0, 1.0));
        Self { reached, ..self }
    }

    /// The weight with which a hypothesis' normal distribution counts below the goal, so that what is left of it lies there.
    #[inline]
    pub(super) fn left_of(&self, component: &Component, surviving: f64) -> f64 {
        let below = cdf((self.threshold - component.mean) / component.standard_deviation);
        if below > LEAST_BELOW { (surviving / below).min(component.weight) } else { 0.0 }
    }
}

/// The first of [`YEARS`] from a moment ahead on.
pub(crate) fn moment_from(years: f64) -> f64 {
    YEARS.iter().copied().find(|&grid| grid >= years).unwrap_or(years)
}

/// The moments of [`YEARS`] around a moment ahead, each with its share: the first one before today, the last one beyond it.
pub(super) fn around(years: f64) -> [Option<(usize, f64)>; 2] {
    let after = YEARS.partition_point(|&grid| grid < years);
    let before = after.saturating_sub(1);
    match YEARS.get(after) {
        Some(&grid) if grid > years && after > 0 => {
            let share = (years - YEARS[before]) / (grid - YEARS[before]);
            [Some((before, 1.0 - share)), Some((after, share))]
        }
        Some(_) => [Some((after, 1.0)), None],
        None => [Some((before, 1.0)), None],
    }
}

impl Law {
    /// Chance of having reached the goal, straight between two of [`YEARS`].
    pub(super) fn chance_within(&self, years: f64) -> f64 {
        match around(years) {
            [Some((before, _)), Some((after, share))] => {
                self.reached[before] + (self.reached[after] - self.reached[before]) * share
            }
            [Some((place, _)), None] => self.reached[place],
            _ => 0.0,
        }
    }

    /// What a share of all pits like this, those that have reached the goal included, is of a mixture of those that have not.
    pub(super) fn share_of(&self, probability: f64, weight: f64) -> f64 {
        (probability * self.in_service / weight).min(1.0 - f64::EPSILON)
    }
}
