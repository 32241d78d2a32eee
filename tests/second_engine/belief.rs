//! What the hypotheses believe of (z, g): each a mixture of normal distributions with logarithms for weights.

use super::account::{Account, Between, Says, Sight};
use super::hypotheses::{Clock, Hypothesis, Mood};
use soaklife::prior::Local;
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
    /// So, without shapes that have become hopeless.
    MomentsOfLikely,
    /// It stays one; only parts that hardly differ are put together, the finer this number, the fewer.
    Mixture(u8),
}

/// Parts of less than this share of all are dropped, as logarithm.
const NEGLIGIBLE: f64 = -14.0;

/// The likelihood of a bound that is wrong: as good as a bound that the pit keeps once in seven times.
const WRONG_BOUND: f64 = 0.15;

/// A part of a hypothesis's belief today, and what it was after the last sight; `None` if it has taken up its pace since.
#[derive(Debug, Clone, Copy)]
pub struct Followed {
    pub hypothesis: Hypothesis,
    pub today: Part,
    pub last_seen: Option<Part>,
}

/// What a hypothesis believes, the first reading being right, wrong or either.
#[derive(Clone)]
struct Belief {
    hypothesis: Hypothesis,
    parts: Vec<Part>,
    /// Of each part what it was after the last sight.
    seen: Vec<Option<Part>>,
}

/// The beliefs of all hypotheses today: each twice where the first reading is believed by one and doubted by the other.
pub fn followed(account: &Account, hypotheses: &[Hypothesis], local: &Local, after: After) -> Vec<Followed> {
    // Where everything stays a mixture, "right" and "wrong" of the first reading are parts as those of any other.
    let halves: &[Option<bool>] = match after {
        After::Mixture(_) => &[None],
        _ if account.sights.is_empty() => &[None],
        _ => &[Some(true), Some(false)],
    };
    let begun = |hypothesis: &Hypothesis| Belief {
        hypothesis: *hypothesis,
        parts: vec![start(account, hypothesis)],
        seen: vec![None],
    };
    let mut halves: Vec<(Option<bool>, Vec<Belief>)> =
        halves.iter().map(|&right| (right, hypotheses.iter().map(begun).collect())).collect();
    let local_share = share_of_local(halves.iter().flat_map(|(_, beliefs)| beliefs));
    let mut load = account.first_load;
    for (place, (sight, next)) in account.sights.iter().zip(&account.between).enumerate() {
        for (right, beliefs) in &mut halves {
            let right = if place == 0 { *right } else { None };
            for belief in beliefs {
                belief.sees(sight, place == 0, right, after);
            }
        }
        if place == 0 {
            keep_share_of_local(&mut halves, local_share);
        }
        if after == After::MomentsOfLikely && place >= 3 {
            drop_hopeless(&mut halves);
        }
        for (_, beliefs) in &mut halves {
            for belief in &mut *beliefs {
                belief.steps(next, load, account.full);
            }
            // What nobody has looked at yet has taken up none.
            if place + 1 < account.sights.len() {
                take_up_a_pace(beliefs, next.years, local, after);
            }
        }
        load = next.load_after;
    }
    halves.into_iter().flat_map(|(_, beliefs)| beliefs).flat_map(Belief::today).collect()
}

/// Before the first reading: z known at the reference, g about its mean, and some wander since.
fn start(account: &Account, Hypothesis { shape, mood, .. }: &Hypothesis) -> Part {
    let x = if shape.is_local() { 0.0 } else { shape.log_load(account.first_load) - shape.known_at };
    let wandered = account.first_age.min(3.0);
    Part {
        log_weight: shape.log_weight,
        z: shape.known_level + shape.exponent * x,
        g: shape.exponent,
        zz: shape.known_variance + x * x * shape.exponent_variance + mood.level_wander.powi(2) * wandered,
        zg: x * shape.exponent_variance,
        gg: shape.exponent_variance,
    }
}

/// What the weights of these parts come to, as logarithm.
fn total<'a>(parts: impl Iterator<Item = &'a Part> + Clone) -> f64 {
    let most = parts.clone().map(|part| part.log_weight).fold(f64::NEG_INFINITY, f64::max);
    most + parts.map(|part| (part.log_weight - most).exp()).sum::<f64>().ln()
}

/// The share of the weight that levels running of their own have, as logarithms: theirs, and that of the others.
fn share_of_local<'a>(beliefs: impl Iterator<Item = &'a Belief> + Clone) -> [f64; 2] {
    [true, false].map(|local| {
        total(beliefs.clone().filter(|b| b.hypothesis.shape.is_local() == local).flat_map(|b| &b.parts))
    })
}

/// The first reading says how high a pit stands for its age and load, of which a local level knows nothing: together they keep
/// the share that they had.
fn keep_share_of_local(halves: &mut [(Option<bool>, Vec<Belief>)], [local_before, others_before]: [f64; 2]) {
    let [local, others] = share_of_local(halves.iter().flat_map(|(_, beliefs)| beliefs));
    let factor = (local_before - others_before) - (local - others);
    let beliefs = halves.iter_mut().flat_map(|(_, beliefs)| beliefs);
    for belief in beliefs.filter(|belief| belief.hypothesis.shape.is_local()) {
        for part in &mut belief.parts {
            part.log_weight += factor;
        }
    }
}

/// Shapes of less than a millionth of the best one's weight are not followed on, but for that which others may become.
fn drop_hopeless(halves: &mut [(Option<bool>, Vec<Belief>)]) {
    let mut best_of: BTreeMap<usize, f64> = BTreeMap::new();
    for belief in halves.iter().flat_map(|(_, beliefs)| beliefs) {
        let best = best_of.entry(belief.hypothesis.number).or_insert(f64::NEG_INFINITY);
        *best = best.max(belief.parts[0].log_weight);
    }
    let best = best_of.values().copied().fold(f64::NEG_INFINITY, f64::max);
    for (_, beliefs) in halves {
        beliefs.retain(|belief| {
            let Hypothesis { number, shape, .. } = belief.hypothesis;
            best_of[&number] > best + NEGLIGIBLE || matches!(shape.clock, Clock::Fading { .. })
        });
    }
}

/// Any level may take up a pace of its own: those that have one take in what comes.
fn take_up_a_pace(beliefs: &mut [Belief], years: f64, local: &Local, after: After) {
    let all: Vec<Part> = beliefs.iter().flat_map(|belief| &belief.parts).copied().collect();
    let whole = moments(&all);
    let share = (local.change_of_pace * years).min(0.5) / 4.0;
    for belief in beliefs {
        let shape = &belief.hypothesis.shape;
        if !matches!(shape.clock, Clock::Fading { .. }) || share <= 0.0 {
            continue;
        }
        let log_weight = whole.log_weight + share.ln();
        belief.parts.push(Part { log_weight, g: 0.0, zg: 0.0, gg: shape.exponent_variance, ..whole });
        if !matches!(after, After::Mixture(_)) {
            belief.parts = vec![moments(&belief.parts)];
        } else {
            belief.seen.push(None);
        }
    }
}

impl Belief {
    fn sees(&mut self, sight: &Sight, is_first: bool, right: Option<bool>, after: After) {
        let mood = self.hypothesis.mood;
        if sight.leaves_open {
            self.parts = together(in_service(&self.parts, &mood, after), after);
        }
        let doubted = |parts: Vec<Part>| {
            let first_height = is_first && sight.says == Says::Height;
            if first_height { together(in_service(&parts, &mood, after), after) } else { parts }
        };
        let mut left = Vec::new();
        if right != Some(false) {
            left.extend(self.parts.iter().flat_map(|part| part.if_right(sight, &mood, after)));
        }
        if right != Some(true) && sight.says != Says::Nothing {
            left.extend(
                doubted(self.parts.clone()).iter().flat_map(|part| part.if_wrong(sight, &mood, after)),
            );
        }
        if sight.says != Says::Nothing {
            self.parts = together(left, after);
        }
    }

    fn steps(&mut self, next: &Between, load: f64, full: f64) {
        let hypothesis = self.hypothesis;
        self.seen = self.parts.iter().map(|part| Some(*part)).collect();
        self.parts = self.parts.iter().map(|part| part.stepping(next, load, &hypothesis, full)).collect();
    }

    fn today(self) -> impl Iterator<Item = Followed> {
        let hypothesis = self.hypothesis;
        self.parts.into_iter().zip(self.seen).map(move |(part, last_seen)| Followed {
            hypothesis,
            today: Part { zz: part.zz.max(1e-6), gg: part.gg.max(1e-6), ..part },
            last_seen,
        })
    }
}

/// Who looks into a pit finds it in service: z, with the household's momentary use, below 0, but for one in ten.
fn in_service(parts: &[Part], mood: &Mood, after: After) -> Vec<Part> {
    let noise = mood.usage.powi(2);
    let below = |part: &Part| weighed(part.beyond(0.0, -1.0, noise, after), 0.9);
    parts.iter().flat_map(|part| [below(part), weighed(vec![*part], 0.1)].concat()).collect()
}

impl Part {
    /// Growth, then the step of the load, then events, then another datum.
    pub fn stepping(
        &self,
        next: &Between,
        load: f64,
        Hypothesis { shape, mood, .. }: &Hypothesis,
        full: f64,
    ) -> Self {
        let gain = shape.gain(next.years, [load, next.load_after]);
        let kept = shape.kept(next.years);
        let wander = mood.pace_wander.powi(2) * next.years;
        let z = self.z + self.g * gain + shape.load_response * next.log_ratio_step + next.shift;
        let datum = if next.new_datum { (12.0 / (full * z.exp())).powi(2) } else { 0.0 };
        Self {
            log_weight: self.log_weight,
            z,
            g: kept * self.g,
            zz: self.variance_after(next.years, gain, mood)
                + (shape.load_response_spread * next.log_ratio_step).powi(2)
                + next.shift_variance
                + datum,
            zg: kept * (self.zg + gain * self.gg + wander * gain / 2.0),
            gg: kept * kept * (self.gg + wander),
        }
    }

    /// The variance of z that so many years and a gain leave.
    pub fn variance_after(&self, years: f64, gain: f64, mood: &Mood) -> f64 {
        let wander = mood.pace_wander.powi(2) * years;
        self.zz
            + 2.0 * gain * self.zg
            + gain * gain * self.gg
            + mood.level_wander.powi(2) * years
            + wander * gain * gain / 3.0
    }

    /// What a reading makes of it, if it is right.
    fn if_right(&self, sight: &Sight, mood: &Mood, after: After) -> Vec<Self> {
        let noise = sight.stick_variance + mood.usage.powi(2);
        let parts = match sight.says {
            Says::Height | Says::HeightOrSunk => vec![self.given(sight.z, noise)],
            Says::AtLeast => self.beyond(sight.z, 1.0, noise, after),
            Says::AtMost => self.beyond(sight.z, -1.0, noise, after),
            Says::Nothing => return vec![*self],
        };
        weighed(parts, 1.0 - sight.gross_share)
    }

    /// And if it is wrong: a part for each way in which it may have come about.
    fn if_wrong(&self, sight: &Sight, mood: &Mood, after: After) -> Vec<Self> {
        let noise = sight.stick_variance + mood.usage.powi(2);
        let parts = match sight.says {
            // Nothing bounds a gross error: one that is far off is taken for as large as half of that.
            Says::Height => {
                let gross_variance = sight.gross_variance.max((sight.z - self.z).powi(2) / 4.0);
                vec![self.given(sight.z, noise + gross_variance)]
            }
            // Sunk to anywhere below where it stands in use: as likely at one z as at another, from empty to full.
            Says::HeightOrSunk => weighed(self.beyond(sight.z, 1.0, noise, after), 1.0 / LN_10),
            Says::AtLeast | Says::AtMost => weighed(vec![*self], WRONG_BOUND),
            Says::Nothing => vec![*self],
        };
        weighed(parts, sight.gross_share)
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

    /// Given that the height, with its error, lies on one side of a bound: every height there.
    fn beyond(&self, bound: f64, side: f64, noise: f64, after: After) -> Vec<Self> {
        let spread = (self.zz + noise).sqrt();
        // In standard deviations toward the side that is allowed.
        let from = side * (bound - self.z) / spread;
        match after {
            After::Moments | After::MomentsOfLikely => self.every_height(from, side, noise),
            After::Mixture(fineness) => self.strips(from, side, noise, 48 * usize::from(fineness)),
        }
    }

    /// Heights so far out that e⁻⁴⁰ of the density is left, by Simpson's rule.
    fn every_height(&self, from: f64, side: f64, noise: f64) -> Vec<Self> {
        const STEPS: usize = 1200;
        let spread = (self.zz + noise).sqrt();
        let from = from.max(-9.0);
        let width = ((from.max(0.0).powi(2) + 80.0).sqrt() - from) / STEPS as f64;
        let at = |place: usize| {
            let simpson = match place {
                0 | STEPS => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let part = self.given(self.z + side * spread * (from + width * place as f64), noise);
            part.times(simpson / 3.0 * width * spread)
        };
        (0..=STEPS).map(at).collect()
    }

    /// Strips of heights, each as wide as half of a normal distribution, so that together they leave no gaps.
    fn strips(&self, from: f64, side: f64, noise: f64, count: usize) -> Vec<Self> {
        let spread = (self.zz + noise).sqrt();
        let from = from.max(-5.5);
        let width = ((from.max(0.0).powi(2) + 30.0).sqrt() - from) / count as f64;
        let within = (0.5 * width * spread).powi(2);
        let [by_z, by_g] = [self.zz, self.zg].map(|covariance| covariance / (self.zz + noise));
        let at = |place: usize| {
            let part = self.given(self.z + side * spread * (from + width * (place as f64 + 0.5)), noise);
            Self {
                zz: part.zz + by_z * by_z * within,
                zg: part.zg + by_z * by_g * within,
                gg: part.gg + by_g * by_g * within,
                ..part.times(width * spread)
            }
        };
        (0..count).map(at).collect()
    }

    fn times(self, factor: f64) -> Self {
        Self { log_weight: self.log_weight + factor.ln(), ..self }
    }
}

fn weighed(parts: Vec<Part>, share: f64) -> Vec<Part> {
    parts.into_iter().map(|part| part.times(share)).collect()
}

fn together(parts: Vec<Part>, after: After) -> Vec<Part> {
    match after {
        After::Moments | After::MomentsOfLikely => vec![moments(&parts)],
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
