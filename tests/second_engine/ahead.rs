//! What lies ahead by the second engine: the chance of having reached the inlet, and the level of a day.

use super::account::Account;
use super::belief::{After, Part, followed};
use super::hypotheses::{Shape, Strata, below};
use soaklife::History;
use soaklife::prior::{PopulationPrior, Temperament};

/// Years ahead that are followed.
const HORIZON: f64 = 60.0;

/// One normal distribution of one hypothesis, with the weight that the readings leave it.
struct Node {
    weight: f64,
    part: Part,
    shape: Shape,
    mood: Temperament,
}

pub struct Ahead {
    account: Account,
    prior: PopulationPrior,
    nodes: Vec<Node>,
}

/// The chance of having reached the inlet by some moments, straight in between.
pub struct Curve {
    moments: Vec<f64>,
    chances: Vec<f64>,
}

impl Ahead {
    pub fn of(history: &History, after: After, strata: Strata) -> Self {
        let prior = PopulationPrior::default();
        let account = Account::of(history, &prior);
        let mut nodes = Vec::new();
        for shape in Shape::all(&account, &prior, prior.soils.of(history.soil()), strata) {
            for mood in prior.temperaments {
                let parts = followed(&account, &shape, &mood, after);
                nodes.extend(parts.into_iter().map(|part| Node {
                    weight: part.log_weight,
                    part,
                    shape,
                    mood,
                }));
            }
        }
        let most = nodes.iter().map(|node| node.weight).fold(f64::NEG_INFINITY, f64::max);
        for node in &mut nodes {
            node.weight = (node.weight - most).exp();
        }
        // A mixture has a hundred times the parts: it goes without those that carry nothing.
        let least = if after == After::Moments { 0.0 } else { 1e-5 };
        Self { account, prior, nodes }.without_less_than(least)
    }

    /// Without the hypotheses of less than this share of the best one's weight.
    pub fn without_less_than(mut self, share: f64) -> Self {
        self.nodes.retain(|node| node.weight >= share);
        self
    }

    /// F = Σ W (C − a) / Σ W (1 − a), in steps of so many years.
    pub fn reached(&self, step: f64) -> Curve {
        let count = (HORIZON / step).round() as usize;
        let moments: Vec<f64> = (0..=count).map(|place| step * place as f64).collect();
        let (mut sums, mut serving) = (vec![0.0; count + 1], 0.0);
        for node in &self.nodes {
            let (mean, variance) = self.level_of(node, 0.0);
            let served = if self.account.ends_at_inlet { 0.0 } else { 0.9 * below(mean / variance.sqrt()) };
            let (mut risk_so_far, mut risk_before, mut most) = (0.0, self.risk(node, mean, 0.0), 0.0_f64);
            for (sum, &years) in sums.iter_mut().zip(&moments) {
                let (mean, variance) = self.level_of(node, years);
                if years > 0.0 {
                    let risk = self.risk(node, mean, years);
                    risk_so_far += 0.5 * step * (risk + risk_before);
                    risk_before = risk;
                }
                let chance = 1.0 - (1.0 - below(mean / variance.sqrt())) * f64::exp(-risk_so_far);
                most = most.max(chance);
                *sum += node.weight * (most - served);
            }
            serving += node.weight * (1.0 - served);
        }
        Curve { moments, chances: sums.into_iter().map(|sum| sum / serving).collect() }
    }

    /// What nobody foresees, a year: more near the inlet, and more in a pit that is still dry.
    fn risk(&self, node: &Node, mean: f64, years: f64) -> f64 {
        let (load, ratio) = self.load(years);
        let dry = if load < node.shape.onset { self.prior.dry_risk * ratio } else { 0.0 };
        self.prior.background_risk * below(mean.min(0.0) / self.prior.background_reach) + dry
    }

    /// Load absorbed by then and the ratio then: the household drifts toward the typical one.
    fn load(&self, years: f64) -> (f64, f64) {
        let (now, typical) = (self.account.ratio_now, self.account.ratio_ahead);
        let tenure = self.prior.tenure_years;
        let kept = (-years / tenure).exp();
        let load = self.account.load_now + typical * years + (now - typical) * tenure * (1.0 - kept);
        (load, typical + (now - typical) * kept)
    }

    /// μ and V.
    fn level_of(&self, node: &Node, years: f64) -> (f64, f64) {
        let Node { part, shape, mood, .. } = node;
        let kept = (-years / self.prior.tenure_years).exp();
        let gain = shape.log_load(self.load(years).0) - shape.log_load(self.account.load_now);
        let drift = (self.account.ratio_ahead / self.account.ratio_now).ln();
        let mean = part.z + part.g * gain + 0.5 * shape.load_response * drift * (1.0 - kept);
        let variance = part.zz
            + 2.0 * gain * part.zg
            + gain * gain * part.gg
            + mood.exponent_wander.powi(2) * years * gain * gain / 3.0
            + (self.prior.pace_margin * part.g * gain).powi(2)
            + mood.level_wander.powi(2) * years
            + (0.3 * shape.load_response).powi(2) * (1.0 - kept * kept)
            + mood.usage.powi(2);
        (mean, variance.max(1e-6))
    }

    /// Levels of a day, inches above the bottom, below which these shares lie.
    pub fn levels<const N: usize>(&self, years: f64, probabilities: [f64; N]) -> [f64; N] {
        let bells: Vec<(f64, f64, f64)> = self
            .nodes
            .iter()
            .map(|node| {
                let (mean, variance) = self.level_of(node, years);
                (node.weight, mean, variance.sqrt())
            })
            .collect();
        let total: f64 = bells.iter().map(|bell| bell.0).sum();
        let share = |z: f64| {
            bells.iter().map(|(weight, mean, spread)| weight * below((z - mean) / spread)).sum::<f64>()
        };
        let offset = self.prior.offset_in;
        probabilities.map(|probability| {
            let (mut low, mut high) = (-30.0, 30.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if share(middle) < probability * total { low = middle } else { high = middle }
            }
            ((self.account.depth + offset) * f64::exp(low) - offset).clamp(0.0, self.account.depth)
        })
    }
}

impl Curve {
    /// Years at which it comes to these chances; infinite beyond the horizon.
    pub fn years<const N: usize>(&self, probabilities: [f64; N]) -> [f64; N] {
        probabilities.map(|probability| {
            let after = self.chances.iter().position(|&chance| chance >= probability);
            let Some(after) = after else { return f64::INFINITY };
            let Some(before) = after.checked_sub(1) else { return 0.0 };
            let share = (probability - self.chances[before]) / (self.chances[after] - self.chances[before]);
            self.moments[before] + share * (self.moments[after] - self.moments[before])
        })
    }
}
