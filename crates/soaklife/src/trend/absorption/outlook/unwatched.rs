//! What has happened between the last reading and now: whoever does not measure is not safer for that.

use super::{Moment, Motion, Outlook, Shape, Unread};
use crate::numerics::branch_free::{cdf, exponential};
use crate::prior::PopulationPrior;
use crate::trend::absorption::record::Unwatched;

/// What a hypothesis knows of the time since the last reading.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct SoFar {
    /// Chance of having reached the goal.
    pub reached: f64,
    /// Background risks that have come up.
    pub risks: f64,
}

/// A moment since the last reading, as a shape has it.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnwatchedGain {
    years: f64,
    lasts: f64,
    gain: f64,
    dry_ratio: f64,
}

impl Outlook {
    /// A pace of its own fades, and has no margin that could add up.
    pub(super) fn unread(&self, shape: &Shape) -> Unread {
        let ends = self.unwatched.first().zip(self.unwatched.last()).filter(|_| shape.ages());
        ends.map_or(Unread::default(), |(read, last)| Unread {
            gain: shape.log_load(self.ahead.now) - shape.log_load(read.load),
            years: last.years + last.lasts,
        })
    }

    /// The moments since the last reading as a shape has them.
    pub(super) fn unwatched_by(&self, shape: &Shape) -> Vec<UnwatchedGain> {
        let Some(first) = self.unwatched.first() else { return Vec::new() };
        let log_load = shape.log_load(first.load);
        let gain = |moment: &Unwatched| UnwatchedGain {
            years: moment.years,
            lasts: moment.lasts,
            gain: shape.stride(log_load, moment.load, moment.years).gain,
            dry_ratio: if shape.is_dry_at(moment.load) { moment.ratio } else { 0.0 },
        };
        self.unwatched.iter().map(gain).collect()
    }

    /// The chance runs upward from the last reading on, as it does from now on.
    pub(super) fn so_far(
        &self,
        motion: &Motion,
        unwatched: &[UnwatchedGain],
        threshold: f64,
        prior: &PopulationPrior,
    ) -> SoFar {
        let mut so_far = SoFar::default();
        let Some(read) = motion.since_last_read(prior) else { return so_far };
        for UnwatchedGain { years, lasts, gain, dry_ratio } in unwatched.iter().copied() {
            let (mean, variance) = read.at(Moment { years, gain, kept: 1.0 });
            let chance = cdf((mean - threshold) / variance.sqrt());
            let by_then = 1.0 - (1.0 - chance) * exponential(-so_far.risks);
            so_far.reached = so_far.reached.max(by_then);
            let background = prior.background_risk * cdf(mean.min(0.0) / prior.background_reach);
            so_far.risks += (background + prior.dry_risk * dry_ratio) * lasts;
        }
        so_far
    }
}

impl Motion {
    /// The same hypothesis as it stood at the last reading. Of the load that came since nothing is unknown.
    fn since_last_read(&self, prior: &PopulationPrior) -> Option<Self> {
        let state = self.node.last_read?;
        let unread = Unread::default();
        let pace = prior.pace_margin * state.slope;
        let mut read = Self { pace_variance: pace * pace, unread, drift: 0.0, drift_variance: 0.0, ..*self };
        read.node.level = state.level;
        read.node.exponent = state.slope;
        read.node.level_variance = state.level_variance;
        read.node.covariance = state.covariance;
        read.node.exponent_variance = state.slope_variance;
        Some(read)
    }
}
