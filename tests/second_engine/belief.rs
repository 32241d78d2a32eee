//! What one hypothesis believes of (z, g): a mixture of normal distributions with logarithms for weights.

use super::account::{Account, Between, Says, Sight};
use super::hypotheses::Shape;
use soaklife::prior::Temperament;
use std::collections::BTreeMap;
use std::f64::consts::{LN_10, TAU};

#[derive(Debug, Clone, Copy)]
pub struct Part {
    pub log_weight: f64,
    pub z: f64,
    pub g: f64,
    pub zz: f64,
    pub zg: f64,
    pub gg: f64,
}

/// What becomes of the mixture that a reading leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum After {
    /// One normal distribution of the same mean and covariance, as the method has it.
    Moments,
    /// It stays one; only parts that hardly differ are put together, the finer this number, the fewer.
    Mixture(u8),
}

impl After {
    /// Steps by which a bound is integrated over the heights that it allows.
    fn heights(self) -> usize {
        match self {
            Self::Moments => 400,
            Self::Mixture(fineness) => 24 * usize::from(fineness),
        }
    }
}

/// Parts of less than this share of all are dropped, as logarithm.
const NEGLIGIBLE: f64 = -14.0;

/// The beliefs of a hypothesis today: two where the first reading is believed by one and doubted by the other.
pub fn followed(account: &Account, shape: &Shape, mood: &Temperament, after: After) -> Vec<Part> {
    let start = start(account, shape, mood);
    // Where everything stays a mixture, "right" and "wrong" of the first reading are parts as those of any other.
    let doubts: &[Option<bool>] = if after == After::Moments { &[Some(true), Some(false)] } else { &[None] };
    doubts.iter().flat_map(|&right| along(account, shape, mood, after, start, right)).collect()
}

fn along(
    account: &Account,
    shape: &Shape,
    mood: &Temperament,
    after: After,
    start: Part,
    first_is_right: Option<bool>,
) -> Vec<Part> {
    let mut parts = vec![start];
    let mut log_load = shape.log_load(account.first_load);
    for (place, (sight, next)) in account.sights.iter().zip(&account.between).enumerate() {
        let only = if place == 0 { first_is_right } else { None };
        parts =
            together(parts.iter().flat_map(|part| part.seeing(sight, mood, after, only)).collect(), after);
        let gain = shape.log_load(next.load_after) - log_load;
        log_load += gain;
        parts = parts.iter().map(|part| part.stepping(next, gain, shape, mood, account.full)).collect();
    }
    parts.iter().map(|part| Part { zz: part.zz.max(1e-6), gg: part.gg.max(1e-6), ..*part }).collect()
}

/// Before the first reading: z known at the reference, g about its mean, and some wander since.
fn start(account: &Account, shape: &Shape, mood: &Temperament) -> Part {
    let x = shape.log_load(account.first_load) - shape.known_at;
    Part {
        log_weight: shape.log_weight + mood.weight.ln(),
        z: shape.known_level + shape.exponent * x,
        g: shape.exponent,
        zz: shape.known_variance
            + x * x * shape.exponent_variance
            + mood.level_wander.powi(2) * account.first_age.min(3.0),
        zg: x * shape.exponent_variance,
        gg: shape.exponent_variance,
    }
}

impl Part {
    /// Growth, then the step of the load, then events, then another datum.
    fn stepping(&self, next: &Between, gain: f64, shape: &Shape, mood: &Temperament, full: f64) -> Self {
        let wander = mood.exponent_wander.powi(2) * next.years;
        let z = self.z + self.g * gain + shape.load_response * next.log_ratio_step + next.shift;
        let datum = if next.new_datum { (12.0 / (full * z.exp())).powi(2) } else { 0.0 };
        Self {
            log_weight: self.log_weight,
            z,
            g: self.g,
            zz: self.zz
                + 2.0 * gain * self.zg
                + gain * gain * self.gg
                + mood.level_wander.powi(2) * next.years
                + wander * gain * gain / 3.0
                + (shape.load_response_spread * next.log_ratio_step).powi(2)
                + next.shift_variance
                + datum,
            zg: self.zg + gain * self.gg + wander * gain / 2.0,
            gg: self.gg + wander,
        }
    }

    /// What a reading makes of it: a part for each way in which the reading may have come about.
    fn seeing(&self, sight: &Sight, mood: &Temperament, after: After, only: Option<bool>) -> Vec<Self> {
        if sight.says == Says::Nothing {
            return vec![*self];
        }
        let noise = sight.stick_variance + mood.usage.powi(2);
        let steps = after.heights();
        let right = match sight.says {
            Says::Height | Says::HeightOrSunk => vec![self.given(sight.z, noise)],
            Says::AtLeast => self.beyond(sight.z, 1.0, noise, steps),
            Says::AtMost => self.beyond(sight.z, -1.0, noise, steps),
            Says::Nothing => vec![*self],
        };
        let wrong = match sight.says {
            Says::Height => vec![self.given(sight.z, noise + sight.gross_variance)],
            // Sunk to anywhere below where it stands in use: as likely at one z as at another, from empty to full.
            Says::HeightOrSunk => weighed(self.beyond(sight.z, 1.0, noise, steps), 1.0 / LN_10),
            Says::AtLeast | Says::AtMost | Says::Nothing => weighed(vec![*self], 0.15),
        };
        let right = weighed(right, 1.0 - sight.gross_share);
        let wrong = weighed(wrong, sight.gross_share);
        match only {
            Some(true) => right,
            Some(false) => wrong,
            None => [right, wrong].concat(),
        }
    }

    /// Given a height with this error (Kalman's update), its density in the weight.
    fn given(&self, height: f64, noise: f64) -> Self {
        let variance = self.zz + noise;
        let away = height - self.z;
        Self {
            log_weight: self.log_weight - 0.5 * (away * away / variance + (TAU * variance).ln()),
            z: self.z + self.zz / variance * away,
            g: self.g + self.zg / variance * away,
            zz: self.zz - self.zz * self.zz / variance,
            zg: self.zg - self.zz * self.zg / variance,
            gg: self.gg - self.zg * self.zg / variance,
        }
    }

    /// Given that the height, with its error, lies on one side of a bound: every height there, by Simpson's rule.
    fn beyond(&self, bound: f64, side: f64, noise: f64, steps: usize) -> Vec<Self> {
        let spread = (self.zz + noise).sqrt();
        // In standard deviations toward the side that is allowed; so far out that e⁻⁴⁰ of the density is left.
        let from = (side * (bound - self.z) / spread).max(-9.0);
        let to = (from.max(0.0).powi(2) + 80.0).sqrt();
        let width = (to - from) / steps as f64;
        let at = |place: usize| {
            let simpson = match place {
                0 => 1.0,
                last if last == steps => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let height = self.z + side * spread * (from + width * place as f64);
            let part = self.given(height, noise);
            Self { log_weight: part.log_weight + (simpson / 3.0 * width * spread).ln(), ..part }
        };
        (0..=steps).map(at).collect()
    }
}

fn weighed(parts: Vec<Part>, share: f64) -> Vec<Part> {
    parts.into_iter().map(|part| Part { log_weight: part.log_weight + share.ln(), ..part }).collect()
}

fn together(parts: Vec<Part>, after: After) -> Vec<Part> {
    match after {
        After::Moments => vec![moments(&parts)],
        After::Mixture(fineness) => alike_together(&parts, 6.0 * f64::from(fineness)),
    }
}

/// The normal distribution with the mean and covariance of all of them.
fn moments(parts: &[Part]) -> Part {
    let most = parts.iter().map(|part| part.log_weight).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = parts.iter().map(|part| (part.log_weight - most).exp()).sum();
    let mean = |of: &dyn Fn(&Part) -> f64| {
        parts.iter().map(|part| (part.log_weight - most).exp() / total * of(part)).sum::<f64>()
    };
    let (z, g) = (mean(&|part| part.z), mean(&|part| part.g));
    Part {
        log_weight: most + total.ln(),
        z,
        g,
        zz: mean(&|part| part.zz + (part.z - z).powi(2)),
        zg: mean(&|part| part.zg + (part.z - z) * (part.g - g)),
        gg: mean(&|part| part.gg + (part.g - g).powi(2)),
    }
}

/// Parts that are about as wide and lie in one cell, so many cells to the standard deviation of them all, along and across,
/// become one of the same mean and covariance.
fn alike_together(parts: &[Part], cells: f64) -> Vec<Part> {
    let whole = moments(parts);
    let slope = whole.zg / whole.zz;
    let (along, across) = (whole.zz.sqrt() / cells, (whole.gg - slope * whole.zg).max(1e-12).sqrt() / cells);
    let mut groups: BTreeMap<[i64; 3], Vec<Part>> = BTreeMap::new();
    for part in parts.iter().filter(|part| part.log_weight > whole.log_weight + NEGLIGIBLE) {
        let place = [
            part.zz.ln(),
            (part.z - whole.z) / along,
            (part.g - whole.g - slope * (part.z - whole.z)) / across,
        ];
        groups.entry(place.map(|place| place.round() as i64)).or_default().push(*part);
    }
    groups.values().map(|group| moments(group)).collect()
}
