//! The shapes of a pit: z = constant + g ℓ(L), ℓ(L) = ln(max(L − onset, 0) + width).

use super::account::Account;
use soaklife::prior::{Onset, Pace, PopulationPrior, SoilEffect};
use statrs::function::erf::{erfc, erfc_inv};
use std::f64::consts::SQRT_2;

#[derive(Debug, Clone, Copy)]
pub struct Shape {
    pub log_weight: f64,
    pub onset: f64,
    pub width: f64,
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

impl Shape {
    pub fn all(account: &Account, prior: &PopulationPrior, soil: SoilEffect, strata: Strata) -> Vec<Self> {
        let full = account.depth + prior.offset_in;
        let level = soil.level * prior.reference_level_in * (account.depth / 100.0).powf(0.7);
        let level_spread = prior.reference_level_spread * level / (level + prior.offset_in);
        let rising = prior.rising.iter().map(|rising| Self {
            log_weight: rising.weight.ln(),
            onset: 0.0,
            width: rising.width,
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
        let mut shapes: Vec<Self> = rising.collect();
        shapes.extend(Self::dry_first(account, prior, &prior.late, soil.onset, soil.late_odds, &late));
        shapes.extend(Self::dry_first(
            account,
            prior,
            &prior.filling,
            soil.onset,
            soil.filling_odds,
            &filling,
        ));
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
            Self {
                log_weight: (onset.weight * odds * room * (ends[1] - ends[0])).ln(),
                onset: (median * (onset.spread * quantile(place)).exp()).max(1e-3),
                width,
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

    pub fn log_load(&self, load: f64) -> f64 {
        ((load - self.onset).max(0.0) + self.width).ln()
    }
}
