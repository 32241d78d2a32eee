//! When a hypothesis first meets a level: the chance of standing there, the background risk, and both made to run upward.

use super::unwatched::SoFar;
use super::{ByYear, Moment, Moments, Motion, YEARS};
use crate::numerics::branch_free::{cdf, exponential};
use crate::prior::PopulationPrior;

/// Every so many of [`YEARS`] the background risk is computed: it is small and runs smoothly.
const EVERY: usize = 5;
const ANCHORS: usize = (YEARS.len() - 1) / EVERY + 1;

/// The background risk a year by how far below the inlet the level stands, straight between every fifth of [`YEARS`].
#[inline]
fn background_risks(below: &ByYear, background_risk: f64) -> ByYear {
    let mut anchors = [0.0; ANCHORS];
    for (place, anchor) in anchors.iter_mut().enumerate() {
        *anchor = background_risk * cdf(below[EVERY * place]);
    }
    let mut risks = [anchors[ANCHORS - 1]; YEARS.len()];
    let between = risks.chunks_exact_mut(EVERY).zip(BETWEEN_ANCHORS.chunks_exact(EVERY));
    for ((risks, shares), ends) in between.zip(anchors.windows(2)) {
        for (risk, share) in risks.iter_mut().zip(shares) {
            *risk = ends[0] + (ends[1] - ends[0]) * share;
        }
    }
    risks
}

/// How far each of [`YEARS`] lies between the anchors around it.
const BETWEEN_ANCHORS: ByYear = {
    let (mut shares, mut place) = ([0.0; YEARS.len()], 0);
    while place < YEARS.len() - 1 {
        let (from, to) = (YEARS[place / EVERY * EVERY], YEARS[(place / EVERY + 1) * EVERY]);
        shares[place] = (YEARS[place] - from) / (to - from);
        place += 1;
    }
    shares
};

impl Motion {
    /// Chance of standing at the inlet.
    pub(super) fn at_inlet(&self, moment: Moment) -> f64 {
        let (mean, variance) = self.at(moment);
        cdf(mean / variance.sqrt())
    }

    /// `level` says at what z a mean stands at each of [`YEARS`]: there, unless the load has changed.
    #[inline]
    pub(super) fn first_passage(
        &self,
        so_far: SoFar,
        moments: &Moments,
        threshold: f64,
        prior: &PopulationPrior,
        level: impl Fn(usize, f64) -> f64,
    ) -> ByYear {
        let per_reach = 1.0 / prior.background_reach;
        // One short loop after the other: each of them vectorises, and its constants stay in registers.
        let (mut chances, mut below) = ([0.0; YEARS.len()], [0.0; YEARS.len()]);
        for place in 0..YEARS.len() {
            let (mean, variance) = self.at(moments.at(place));
            let mean = level(place, mean);
            chances[place] = (mean - threshold) / variance.sqrt();
            below[place] = mean.min(0.0) * per_reach;
        }
        for chance in &mut chances {
            *chance = cdf(*chance);
        }
        let mut risks = background_risks(&below, prior.background_risk);
        for (risk, dry_ratio) in risks.iter_mut().zip(&moments.dry_ratio) {
            *risk += prior.dry_risk * dry_ratio;
        }
        let mut risks_so_far = [so_far.risks; YEARS.len()];
        for place in 1..YEARS.len() {
            let step = YEARS[place] - YEARS[place - 1];
            risks_so_far[place] = risks_so_far[place - 1] + 0.5 * (risks[place] + risks[place - 1]) * step;
        }
        for place in 0..YEARS.len() {
            chances[place] = 1.0 - (1.0 - chances[place]) * exponential(-risks_so_far[place]);
        }
        let mut run = so_far.reached;
        chances.map(|chance| {
            run = if chance > run { chance } else { run };
            run
        })
    }
}
