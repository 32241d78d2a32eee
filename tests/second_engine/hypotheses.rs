//! The hypotheses of a pit: shapes z = constant + g ℓ(L), ℓ(L) = ln(max(L − onset, 0) + width), and levels that run of their own
//! in time, each with every temperament.

use super::account::Account;
use soaklife::prior::{Onset, Pace, PopulationPrior, SoilEffect};
use statrs::function::erf::{erfc, erfc_inv};
use std::f64::consts::SQRT_2;

/// By what a level runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Clock {
    /// By the load.
    Load { onset: f64, width: f64 },
    /// By nothing: it wanders.
    Still,
    /// By time, at a pace that fades to 1/e within so many years.
    Fading { years: f64 },
}

/// How far a level strays.
#[derive(Debug, Clone, Copy)]
pub struct Mood {
    pub usage: f64,
    pub level_wander: f64,
    pub pace_wander: f64,
}

/// A shape with a temperament.
#[derive(Debug, Clone, Copy)]
pub struct Hypothesis {
    /// Which shape: four hypotheses share one.
    pub number: usize,
    pub shape: Shape,
    pub mood: Mood,
}

#[derive(Debug, Clone, Copy)]
pub struct Shape {
    pub log_weight: f64,
    pub clock: Clock,
    pub exponent: f64,
    pub exponent_variance: f64,
    pub load_response: f64,
    pub load_response_spread: f64,
    /// Where z is known best before any reading: at this ℓ it is this, with this variance.
    pub known_at: f64,
    pub known_level: f64,
    pub known_variance: f64,
}

/// At which shares of its distribution an onset is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strata {
    /// As the method has them: the early ones closer.
    OfTheMethod,
    /// So many of equal weight.
    Even(u32),
}

impl Strata {
    fn ends(self, of_the_method: &[f64]) -> Vec<f64> {
        match self {
            Self::OfTheMethod => of_the_method.to_vec(),
            Self::Even(count) => (0..=count).map(|place| f64::from(place) / f64::from(count)).collect(),
        }
    }
}

pub fn below(u: f64) -> f64 {
    0.5 * erfc(-u / SQRT_2)
}

fn quantile(probability: f64) -> f64 {
    -SQRT_2 * erfc_inv(2.0 * probability)
}

impl Hypothesis {
    /// Every shape with every temperament; levels that run of their own only where somebody has looked into the pit.
    pub fn all(account: &Account, prior: &PopulationPrior, soil: SoilEffect, strata: Strata) -> Vec<Self> {
        let shapes = Shape::by_load(account, prior, soil, strata);
        let restless: f64 = prior.temperaments.iter().map(|temperament| temperament.weight).sum();
        let mut all = Vec::new();
        for (number, shape) in shapes.iter().enumerate() {
            for temperament in prior.temperaments {
                let mood = Mood {
                    usage: temperament.usage,
                    level_wander: temperament.level_wander,
                    pace_wander: temperament.exponent_wander,
                };
                let log_weight = shape.log_weight + (temperament.weight / restless).ln();
                all.push(Self { number, shape: Shape { log_weight, ..*shape }, mood });
            }
        }
        if !account.sights.is_empty() {
            all.extend(Self::local(shapes.len(), &shapes[0], prior));
        }
        all
    }

    /// Levels that run of their own, from where the first rising shape stands at its reference load.
    fn local(number: usize, rising: &Shape, prior: &PopulationPrior) -> Vec<Self> {
        let local = &prior.local;
        let still = Shape {
            log_weight: 0.0,
            clock: Clock::Still,
            exponent: 0.0,
            exponent_variance: 0.0,
            load_response: 0.0,
            load_response_spread: 0.4,
            known_at: 0.0,
            known_level: rising.known_level,
            known_variance: local.level_spread.powi(2),
        };
        let mut all = Vec::new();
        for temperament in local.temperaments {
            let mood = Mood { usage: local.usage, level_wander: temperament.wander, pace_wander: 0.0 };
            let shape = Shape { log_weight: (local.wandering_weight / 4.0).ln(), ..still };
            all.push(Self { number, shape, mood });
            let shape = Shape {
                log_weight: (local.recent_weight / 4.0).ln(),
                clock: Clock::Fading { years: local.fading_years },
                exponent_variance: temperament.pace.powi(2),
                ..still
            };
            let mood = Mood {
                usage: local.usage,
                level_wander: temperament.pace_wander,
                pace_wander: temperament.pace_change,
            };
            all.push(Self { number: number + 1, shape, mood });
        }
        all
    }
}

impl Shape {
    fn by_load(account: &Account, prior: &PopulationPrior, soil: SoilEffect, strata: Strata) -> Vec<Self> {
        let full = account.depth + prior.offset_in;
        let level = soil.level * prior.reference_level_in * (account.depth / 100.0).powf(0.7);
        let level_spread = prior.reference_level_spread * level / (level + prior.offset_in);
        let rising = prior.rising.iter().map(|rising| Self {
            log_weight: rising.weight.ln(),
            clock: Clock::Load { onset: 0.0, width: rising.width },
            exponent: rising.exponent,
            exponent_variance: rising.exponent_spread.powi(2),
            load_response: rising.load_response,
            load_response_spread: rising.load_response_spread,
            known_at: (prior.reference_load + rising.width).ln(),
            known_level: ((level + prior.offset_in) / full).ln(),
            known_variance: level_spread.powi(2),
        });
        let late = strata.ends(&[0.0, 0.12, 0.37, 0.63, 1.0]);
        let filling = strata.ends(&[0.0, 0.04, 0.14, 0.34, 0.64, 1.0]);
        let dry_first = |onset: &Onset, odds: f64, ends: &[f64]| {
            Self::dry_first(account, prior, onset, soil.onset, odds, ends)
        };
        let mut shapes: Vec<Self> = rising.collect();
        shapes.extend(dry_first(&prior.late, soil.late_odds, &late));
        shapes.extend(dry_first(&prior.filling, soil.filling_odds, &filling));
        shapes
    }

    /// The log-normal onset, where the record leaves room for it, each stratum at its middle.
    fn dry_first(
        account: &Account,
        prior: &PopulationPrior,
        onset: &Onset,
        later: f64,
        odds: f64,
        ends: &[f64],
    ) -> Vec<Self> {
        let median = onset.median_load * later;
        let share = |load: f64| below((load / median).ln() / onset.spread);
        let from = share(account.dry_until);
        let room = (share(account.liquid_from) - from).max(1e-6);
        let width = match onset.pace {
            Pace::Width(width) => width,
            Pace::DepthShare(share) => prior.offset_in / (share * account.depth),
            other => panic!("no such pace: {other:?}"),
        };
        let stratum = |ends: &[f64]| {
            let place = (from + room * 0.5 * (ends[0] + ends[1])).clamp(1e-9, 1.0 - 1e-9);
            let onset_load = (median * (onset.spread * quantile(place)).exp()).max(1e-3);
            Self {
                log_weight: (onset.weight * odds * room * (ends[1] - ends[0])).ln(),
                clock: Clock::Load { onset: onset_load, width },
                exponent: onset.exponent,
                exponent_variance: onset.exponent_spread.powi(2),
                load_response: 0.0,
                load_response_spread: onset.load_response_spread,
                known_at: width.ln(),
                known_level: (prior.offset_in / (account.depth + prior.offset_in)).ln(),
                known_variance: prior.dry_spread.powi(2),
            }
        };
        ends.windows(2).map(stratum).collect()
    }

    /// ℓ of a load; 0 where no load counts.
    pub fn log_load(&self, load: f64) -> f64 {
        match self.clock {
            Clock::Load { onset, width } => ((load - onset).max(0.0) + width).ln(),
            Clock::Still | Clock::Fading { .. } => 0.0,
        }
    }

    /// G over so many years, in which the load goes from one to another.
    pub fn gain(&self, years: f64, [from, to]: [f64; 2]) -> f64 {
        match self.clock {
            Clock::Fading { years: fading } => fading * (1.0 - (-years / fading).exp()),
            Clock::Load { .. } | Clock::Still => self.log_load(to) - self.log_load(from),
        }
    }

    /// What is left of a pace after so many years.
    pub fn kept(&self, years: f64) -> f64 {
        match self.clock {
            Clock::Fading { years: fading } => (-years / fading).exp(),
            Clock::Load { .. } | Clock::Still => 1.0,
        }
    }

    /// Whether the level runs of its own.
    pub fn is_local(&self) -> bool {
        !matches!(self.clock, Clock::Load { .. })
    }

    /// Whether a pit of this shape is still dry at a load.
    pub fn is_dry(&self, load: f64) -> bool {
        matches!(self.clock, Clock::Load { onset, .. } if load < onset)
    }
}
