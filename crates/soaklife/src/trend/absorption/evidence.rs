//! What a pit's record says of the population prior itself: its likelihood, and which hypotheses carry it.

use super::filter::{Followed, follow};
use super::hypotheses::Hypotheses;
use super::outlook::IN_SERVICE;
use super::record::Record;
use crate::numerics::branch_free::cdf;
use crate::prior::{Course, TEMPERAMENTS};

/// Chances by course and temperament.
pub(crate) type Shares = [[f64; TEMPERAMENTS]; Course::ALL.len()];

/// What one record says of the prior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Evidence {
    /// Logarithm of the likelihood of the readings of a pit that is in service, up to a constant of the record.
    pub log_likelihood: f64,
    /// Chances of the hypotheses after the readings.
    pub after: Shares,
    /// Pits of each kind that began for each one that is still in service, less the one.
    pub gone: Shares,
}

impl Record {
    /// The record held against a prior: ln Σ w L (1 − a) − ln Σ w (1 − a), L the likelihood of the readings and a the
    /// chance of being at the inlet by now, in the first sum after the readings, in the second before any.
    ///
    /// The second sum is there because a fleet shows only those that have lasted: without it every fleet would teach that
    /// pits last.
    pub(crate) fn evidence(&self, hypotheses: &Hypotheses) -> Evidence {
        let read = self.weigh(hypotheses);
        let unread = self.unread().weigh(hypotheses);
        let total = |shares: &Shares| shares.iter().flatten().sum::<f64>();
        let (likelihood, kept) = (total(&read.serving), total(&unread.serving));
        let mut gone = unread.all;
        for (gone, serving) in gone.iter_mut().flatten().zip(unread.serving.iter().flatten()) {
            *gone = (*gone - serving) / kept;
        }
        Evidence {
            log_likelihood: read.log_scale + likelihood.ln() - unread.log_scale - kept.ln(),
            after: read.serving.map(|row| row.map(|share| share / likelihood)),
            gone,
        }
    }

    fn weigh(&self, hypotheses: &Hypotheses) -> Weighed {
        let shapes = hypotheses.shapes(self);
        let Followed { filters, log_scale } = follow(self, &shapes, hypotheses.lanes(), |_, _, _| ());
        let mut weighed = Weighed { log_scale, all: Shares::default(), serving: Shares::default() };
        for filter in &filters {
            let course = shapes.get(filter.shape).map(|shape| shape.course);
            let Some(row) = Course::ALL.iter().position(|known| Some(*known) == course) else { continue };
            for (lane, weight) in filter.weight.iter().enumerate() {
                let variance = filter.level_variance[lane] + hypotheses.lanes().usage[lane];
                let served = if self.ends_at_inlet {
                    0.0
                } else {
                    IN_SERVICE * cdf(filter.level[lane] / variance.sqrt())
                };
                weighed.all[row][lane % TEMPERAMENTS] += weight;
                weighed.serving[row][lane % TEMPERAMENTS] += weight * (1.0 - served);
            }
        }
        weighed
    }
}

/// Weights of the hypotheses by course and temperament, divided by e to the `log_scale`.
struct Weighed {
    log_scale: f64,
    all: Shares,
    serving: Shares,
}
