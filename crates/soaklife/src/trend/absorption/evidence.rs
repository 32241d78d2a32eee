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
        let Followed { filters, log_scale, .. } = follow(self, &shapes, hypotheses, |_, _, _| ());
        let mut weighed = Weighed { log_scale, all: Shares::default(), serving: Shares::default() };
        for filter in &filters {
            let Some(shape) = shapes.get(filter.shape) else { continue };
            let course = Some(shape.course);
            let Some(row) = Course::ALL.iter().position(|known| Some(*known) == course) else { continue };
            for (lane, weight) in filter.weight.iter().enumerate() {
                let variance = filter.level_variance[lane] + hypotheses.lanes(shape).usage[lane];
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::History;
    use crate::pit::Pit;
    use crate::prior::PopulationPrior;
    use crate::quantity::inches;
    use crate::reading::Reading;
    use jiff::civil::{Date, date};

    fn evidence(levels_in: &[f64]) -> Evidence {
        let pit = Pit::new(inches(20.0), inches(140.0)).unwrap();
        let reading =
            |(year, &level): (i16, &f64)| Reading::at_level(&pit, date(year, 6, 1), inches(level)).unwrap();
        let history = History::new(pit)
            .with_installed(date(2000, 6, 1))
            .with_readings((2020..).zip(levels_in).map(reading).collect::<Vec<_>>());
        let as_of = Date::constant(2026, 6, 1);
        Record::of(&history, as_of, &PopulationPrior::default()).evidence(&Hypotheses::default())
    }

    #[test]
    fn a_pit_that_was_never_read_says_nothing() {
        let nothing = evidence(&[]);
        assert!(nothing.log_likelihood.abs() < 1e-12, "{nothing:?}");
        let chances = nothing.after.iter().flatten();
        assert!((chances.sum::<f64>() - 1.0).abs() < 1e-12);
        // Some pits of each kind are gone by now; none has come back. Levels that run of their own are known by readings only.
        let is_gone = |(course, gone): (Course, &[f64; TEMPERAMENTS])| {
            gone.iter().all(|&gone| if course.is_local() { gone == 0.0 } else { gone > 0.0 })
        };
        assert!(Course::ALL.into_iter().zip(&nothing.gone).all(is_gone) && nothing.gone != nothing.after);
    }

    #[test]
    fn readings_as_expected_say_more_than_wild_ones() {
        let [calm, wild] = [&[30.0, 32.0, 34.0, 37.0][..], &[30.0, 90.0, 20.0, 100.0]].map(evidence);
        assert!(calm.log_likelihood > wild.log_likelihood + 5.0, "{calm:?}, {wild:?}");
        for found in [&calm, &wild] {
            assert!((found.after.iter().flatten().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        // What is gone is a matter of pits like it, not of its own readings.
        assert_eq!(calm.gone, wild.gone);
    }
}
