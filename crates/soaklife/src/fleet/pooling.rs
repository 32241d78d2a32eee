//! What a company's own pits teach about all of them: the population prior, learnt.
//!
//! Every record is held against the prior; what would have made the records likelier moves it. A lesson counts only if
//! what one half of the fleet teaches makes the other half likelier, and every number is held back by typical
//! experience, as if 200 pits had been seen before: 30 pits teach next to nothing, 1,000 a good deal.
//!
//! # Equations
//! A prior θ is worth Σᵢ ln P(readings of i | in service, θ) − penalty. Weights w of temperaments and courses: expectation
//! and maximisation, w ← (Σ r + Σ g + 200 w₀)/(…), r the chances of the hypotheses given a record, g the pits of each kind
//! that would have begun for it and are no longer in service. Rates and onsets: a factor eˣ each, penalty x²/(2σ²).

use crate::history::History;
use crate::prior::{Course, Pace, PopulationPrior, TEMPERAMENTS};
use crate::trend::absorption::{Hypotheses, Record, Shares};
use jiff::civil::Date;

/// Pits seen before: what typical experience counts for against a fleet.
const PITS_SEEN_BEFORE: f64 = 200.0;
/// Most records kept; of a larger fleet every second, fourth, … pit teaches.
const MOST_RECORDS: usize = 8192;
/// Gain of the log-likelihood of the other half that makes a lesson worth taking.
const LEAST_GAIN: f64 = 3.0;
const EXPECTATION_ROUNDS: usize = 25;
const ROUNDS: usize = 2;

/// The records of a fleet, ready to learn from.
#[derive(Debug, Clone)]
pub struct Experience {
    prior: PopulationPrior,
    records: Vec<Record>,
    stride: usize,
    seen: usize,
}

impl Experience {
    /// None yet; `prior` is what is known before.
    #[must_use]
    pub fn new(prior: PopulationPrior) -> Self {
        Self { prior, records: Vec::new(), stride: 1, seen: 0 }
    }

    /// Adds a pit as known on a day. One without readings teaches nothing.
    pub fn add(&mut self, history: &History, as_of: Date) {
        if history.readings().is_empty() {
            return;
        }
        if self.seen.is_multiple_of(self.stride) {
            if self.records.len() == MOST_RECORDS {
                let mut place = 0;
                self.records.retain(|_| {
                    place += 1;
                    place % 2 == 1
                });
                self.stride *= 2;
            }
            if self.seen.is_multiple_of(self.stride) {
                self.records.push(Record::of(history, as_of, &self.prior));
            }
        }
        self.seen += 1;
    }

    /// The prior that these pits teach.
    #[must_use]
    pub fn learn(&self) -> PopulationPrior {
        let all: Vec<&Record> = self.records.iter().collect();
        let halves = [0, 1].map(|half| all.iter().copied().skip(half).step_by(2).collect::<Vec<_>>());
        let mut prior = self.prior.clone();
        for _ in 0..ROUNDS {
            for lesson in Lesson::ALL {
                let gain: f64 = [(0, 1), (1, 0)]
                    .map(|(from, to)| {
                        let taught = lesson.taught(&prior, &self.prior, &halves[from]);
                        log_likelihood(&taught, &halves[to]) - log_likelihood(&prior, &halves[to])
                    })
                    .iter()
                    .sum();
                if std::env::var("LEARN").is_ok() {
                    eprintln!("{lesson:?} gain {gain:.1}");
                }
                if gain > LEAST_GAIN {
                    prior = lesson.taught(&prior, &self.prior, &all);
                }
            }
        }
        prior
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lesson {
    Temperaments,
    Pace,
    LateOnset,
    FillingOnset,
    FillingPace,
    Courses,
}

impl Lesson {
    const ALL: [Self; 6] =
        [Self::Courses, Self::FillingOnset, Self::FillingPace, Self::Pace, Self::LateOnset, Self::Temperaments];

    fn taught(self, from: &PopulationPrior, typical: &PopulationPrior, records: &[&Record]) -> PopulationPrior {
        match self {
            Self::Temperaments | Self::Courses => self.reweighed(from, typical, records),
            _ => self.rescaled(from, records),
        }
    }

    fn reweighed(self, from: &PopulationPrior, typical: &PopulationPrior, records: &[&Record]) -> PopulationPrior {
        let mut prior = from.clone();
        for _ in 0..EXPECTATION_ROUNDS / 5 {
            let Ok(hypotheses) = Hypotheses::new(prior.clone()) else { return prior };
            let mut sum = Shares::default();
            for record in records {
                let evidence = record.evidence(&hypotheses);
                for ((sum, after), gone) in
                    sum.iter_mut().flatten().zip(evidence.after.iter().flatten()).zip(evidence.gone.iter().flatten())
                {
                    *sum += after + gone;
                }
            }
            if self == Self::Temperaments {
                let before: f64 = typical.temperaments.iter().map(|temperament| temperament.weight).sum();
                for (place, temperament) in prior.temperaments.iter_mut().enumerate() {
                    temperament.weight = sum.iter().map(|row| row[place]).sum::<f64>()
                        + env("PT", 200.0) * typical.temperaments[place].weight / before;
                }
                let total: f64 = prior.temperaments.iter().map(|temperament| temperament.weight).sum();
                prior.temperaments.iter_mut().for_each(|temperament| temperament.weight /= total);
            } else {
                let before = course_weights(typical);
                let total_before: f64 = before.iter().sum();
                let now: Vec<f64> = sum
                    .iter()
                    .zip(before)
                    .map(|(row, before)| row.iter().sum::<f64>() + env("PC", 200.0) * before / total_before)
                    .collect();
                let total: f64 = now.iter().sum();
                let current = course_weights(&prior);
                for (course, factor) in
                    Course::ALL.iter().zip(now.iter().zip(current).map(|(now, current)| now / total / current))
                {
                    prior.rising.iter_mut().filter(|r| r.course == *course).for_each(|r| r.weight *= factor);
                    match course {
                        Course::Late => prior.late.weight *= factor,
                        Course::Filling => prior.filling.weight *= factor,
                        _ => {}
                    }
                }
            }
        }
        prior
    }

    fn spread(self) -> f64 {
        match self {
            Self::Pace => 0.5,
            Self::FillingPace => 0.5,
            _ => 0.3,
        }
    }

    fn scaled(self, prior: &PopulationPrior, x: f64) -> PopulationPrior {
        let mut scaled = prior.clone();
        match self {
            Self::Pace => {
                scaled.reference_load /= x.exp();
                if let Pace::Width(width) = &mut scaled.late.pace {
                    *width /= x.exp();
                }
            }
            Self::LateOnset => scaled.late.median_load *= x.exp(),
            Self::FillingOnset => scaled.filling.median_load *= x.exp(),
            Self::FillingPace => {
                if let Pace::DepthShare(share) = &mut scaled.filling.pace {
                    *share *= x.exp();
                }
            }
            _ => {}
        }
        scaled
    }

    fn rescaled(self, from: &PopulationPrior, records: &[&Record]) -> PopulationPrior {
        let spread = self.spread();
        let worth = |x: f64| log_likelihood(&self.scaled(from, x), records) - 0.5 * x * x / (spread * spread);
        let (mut low, mut high) = (-1.2, 1.2);
        let ratio = 0.618_033_988_749_895;
        let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
        let (mut at_a, mut at_b) = (worth(a), worth(b));
        for _ in 0..8 {
            if at_a > at_b {
                high = b;
                (b, at_b) = (a, at_a);
                a = high - ratio * (high - low);
                at_a = worth(a);
            } else {
                low = a;
                (a, at_a) = (b, at_b);
                b = low + ratio * (high - low);
                at_b = worth(b);
            }
        }
        self.scaled(from, if at_a > at_b { a } else { b })
    }
}

fn course_weights(prior: &PopulationPrior) -> [f64; Course::ALL.len()] {
    let mut weights = Course::ALL.map(|course| {
        prior.rising.iter().filter(|rising| rising.course == course).map(|rising| rising.weight).sum::<f64>()
    });
    weights[2] += prior.late.weight;
    weights[3] += prior.filling.weight;
    weights
}
fn env(name: &str, default: f64) -> f64 { std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(default) }

fn log_likelihood(prior: &PopulationPrior, records: &[&Record]) -> f64 {
    let Ok(hypotheses) = Hypotheses::new(prior.clone()) else { return f64::NEG_INFINITY };
    records.iter().map(|record| record.evidence(&hypotheses).log_likelihood).sum()
}
