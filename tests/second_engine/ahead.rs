//! What lies ahead by the second engine: one law of having reached a goal and of the level below it.

use super::account::Account;
use super::belief::{After, Followed, Part, followed};
use super::hypotheses::{Hypothesis, Mood, Shape, Strata, below};
use soaklife::History;
use soaklife::loading::use_ahead::UseAhead;
use soaklife::prior::PopulationPrior;

/// Years ahead that are followed.
pub const HORIZON: f64 = 60.0;

/// The moments at which the method computes its law, years ahead.
pub const OF_THE_METHOD: [f64; 56] = [
    0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.36, 0.42, 0.5, 0.58, 0.66, 0.75, 0.87, 1.0, 1.1, 1.2, 1.32, 1.45,
    1.6, 1.8, 2.0, 2.2, 2.45, 2.7, 3.0, 3.3, 3.65, 4.0, 4.5, 5.0, 5.5, 6.0, 6.6, 7.3, 8.0, 9.0, 10.0, 11.0,
    12.0, 13.3, 14.6, 16.0, 18.0, 20.0, 22.0, 24.3, 27.0, 30.0, 33.0, 36.5, 40.0, 44.0, 49.0, 54.0, 60.0,
];

/// One normal distribution of one hypothesis, with the weight that the readings leave it.
struct Node {
    weight: f64,
    hypothesis: Hypothesis,
    part: Part,
    last_seen: Option<Part>,
}

pub struct Ahead {
    account: Account,
    prior: PopulationPrior,
    use_ahead: UseAhead,
    nodes: Vec<Node>,
}

/// μ and √V of a node at a moment.
#[derive(Clone, Copy)]
struct Bell {
    mean: f64,
    spread: f64,
}

/// What is left of a node at a moment: its weight times 1 − C, and its normal distribution.
struct Left {
    weight: f64,
    bell: Bell,
}

/// The law of one goal at some moments, mixed in between.
pub struct Law {
    goal: f64,
    goal_in: f64,
    full_in: f64,
    offset_in: f64,
    moments: Vec<f64>,
    /// At each moment what is left of each node.
    left: Vec<Vec<Left>>,
    /// Σ W (1 − a).
    serving: f64,
}

impl Ahead {
    pub fn of(history: &History, after: After, strata: Strata) -> Self {
        let prior = PopulationPrior::default();
        let account = Account::of(history, &prior);
        let hypotheses = Hypothesis::all(&account, &prior, prior.soils.of(history.soil()), strata);
        let followed = followed(&account, &hypotheses, &prior.local, after);
        let most = followed.iter().map(|node| node.today.log_weight).fold(f64::NEG_INFINITY, f64::max);
        let node = |Followed { hypothesis, today, last_seen }: Followed| Node {
            weight: (today.log_weight - most).exp(),
            hypothesis,
            part: today,
            last_seen,
        };
        let nodes = followed.into_iter().map(node).collect();
        // A mixture has a hundred times the parts: it goes without those that carry nothing.
        let least = if matches!(after, After::Mixture(_)) { 1e-5 } else { 0.0 };
        Self { account, prior, use_ahead: UseAhead::Drifts, nodes }.without_less_than(least)
    }

    /// Without the hypotheses of less than this share of the best one's weight.
    pub fn without_less_than(mut self, share: f64) -> Self {
        self.nodes.retain(|node| node.weight >= share);
        self
    }

    pub fn with_use(self, use_ahead: UseAhead) -> Self {
        Self { use_ahead, ..self }
    }

    /// The law of the inlet at these moments.
    pub fn to_inlet(&self, moments: &[f64]) -> Law {
        self.law(self.account.depth, moments)
    }

    /// The law of a height at these moments.
    pub fn law(&self, goal_in: f64, moments: &[f64]) -> Law {
        let (full_in, offset_in) = (self.account.full, self.prior.offset_in);
        let goal = ((goal_in + offset_in) / full_in).ln().min(0.0);
        let mut left: Vec<Vec<Left>> = moments.iter().map(|_| Vec::new()).collect();
        let mut serving = 0.0;
        for node in &self.nodes {
            let served = if self.account.sights.is_empty() {
                let Bell { mean, spread } = self.bell(node, 0.0);
                0.9 * below(mean / spread)
            } else {
                0.0
            };
            serving += node.weight * (1.0 - served);
            let mut so_far = self.unwatched(node, goal);
            let anchors = self.anchors(node);
            for (left, &years) in left.iter_mut().zip(moments) {
                let bell = self.bell(node, years);
                let risk = straight_between(&anchors, years) + self.dry_risk(node, self.load(years));
                so_far.comes_to(years, risk, bell, goal);
                left.push(Left { weight: node.weight * so_far.below_goal, bell });
            }
        }
        Law { goal, goal_in, full_in, offset_in, moments: moments.to_vec(), left, serving }
    }

    /// From the last reading to now.
    fn unwatched(&self, node: &Node, goal: f64) -> SoFar {
        let mut so_far = SoFar { risk: 0.0, below_goal: 1.0, before: None };
        let Some(last_seen) = node.last_seen else { return so_far };
        for moment in &self.account.unwatched {
            let gain = node.hypothesis.shape.gain(moment.years, [self.account.load_seen, moment.load]);
            let margin = self.prior.pace_margin * last_seen.g * gain;
            let variance =
                last_seen.variance_after(moment.years, gain, &node.hypothesis.mood) + margin * margin;
            let bell = Bell::of(last_seen.z + last_seen.g * gain, variance, &node.hypothesis.mood);
            so_far.stands(bell, goal);
            so_far.risk += moment.lasts * self.risk(node, bell.mean, [moment.load, moment.ratio]);
        }
        so_far
    }

    /// What nobody foresees, a year: more near the inlet, and more in a pit that is still dry.
    fn risk(&self, node: &Node, mean: f64, load: [f64; 2]) -> f64 {
        self.background_risk(mean) + self.dry_risk(node, load)
    }

    fn background_risk(&self, mean: f64) -> f64 {
        self.prior.background_risk * below(mean.min(0.0) / self.prior.background_reach)
    }

    fn dry_risk(&self, node: &Node, [load, ratio]: [f64; 2]) -> f64 {
        if node.hypothesis.shape.is_dry(load) { self.prior.dry_risk * ratio } else { 0.0 }
    }

    /// The background risk at every fifth of the method's moments.
    fn anchors(&self, node: &Node) -> Vec<(f64, f64)> {
        let at = |&years: &f64| (years, self.background_risk(self.bell(node, years).mean));
        OF_THE_METHOD.iter().step_by(5).map(at).collect()
    }

    /// Load absorbed by then and the ratio then: the household drifts toward the one ahead.
    fn load(&self, years: f64) -> [f64; 2] {
        let (now, ahead) = match self.use_ahead {
            UseAhead::AsToday => (self.account.ratio_if_it_stays, self.account.ratio_if_it_stays),
            _ => (self.account.ratio_now, self.account.ratio_ahead),
        };
        let tenure = self.prior.tenure_years;
        let kept = (-years / tenure).exp();
        let load = self.account.load_now + ahead * years + (now - ahead) * tenure * (1.0 - kept);
        [load, ahead + (now - ahead) * kept]
    }

    /// Years and gain from the last reading to the day of the forecast, of a shape that ages with the load.
    fn since_last_reading(&self, shape: &Shape) -> [f64; 2] {
        let years: f64 = self.account.unwatched.iter().map(|moment| moment.lasts).sum();
        if years <= 0.0 || shape.is_local() {
            return [0.0, 0.0];
        }
        [years, shape.gain(years, [self.account.load_seen, self.account.load_now])]
    }

    /// μ and √V.
    fn bell(&self, node: &Node, years: f64) -> Bell {
        let Node { part, hypothesis: Hypothesis { shape, mood, .. }, .. } = node;
        let kept = (-years / self.prior.tenure_years).exp();
        let gain = shape.gain(years, [self.account.load_now, self.load(years)[0]]);
        let drift = match self.use_ahead {
            UseAhead::AsToday => 0.0,
            _ => (self.account.ratio_ahead / self.account.ratio_now).ln(),
        };
        let mean = part.z + part.g * gain + 0.5 * shape.load_response * drift * (1.0 - kept);
        let [unread, so_far] = self.since_last_reading(shape);
        // The wander of the exponent as if from the last reading on in one piece: in two it comes to less.
        let in_one_piece = (unread + years) * (so_far + gain).powi(2) / 3.0;
        let in_two =
            unread * (so_far * so_far / 3.0 + so_far * gain + gain * gain) + years * gain * gain / 3.0;
        let variance = part.variance_after(years, gain, mood)
            + mood.pace_wander.powi(2) * (in_one_piece - in_two)
            + (self.prior.pace_margin * part.g * (so_far + gain)).powi(2)
            + (0.3 * shape.load_response).powi(2) * (1.0 - kept * kept);
        Bell::of(mean, variance, mood)
    }
}

impl Bell {
    fn of(mean: f64, variance: f64, mood: &Mood) -> Self {
        Self { mean, spread: (variance + mood.usage.powi(2)).max(1e-6).sqrt() }
    }
}

/// What has come of a node so far: R, and 1 − C.
struct SoFar {
    risk: f64,
    below_goal: f64,
    /// The moment before, and the risk a year at that moment.
    before: Option<(f64, f64)>,
}

impl SoFar {
    fn comes_to(&mut self, years: f64, risk: f64, bell: Bell, goal: f64) {
        if let Some((before, risk_before)) = self.before {
            self.risk += 0.5 * (years - before) * (risk + risk_before);
        }
        self.before = Some((years, risk));
        self.stands(bell, goal);
    }

    fn stands(&mut self, Bell { mean, spread }: Bell, goal: f64) {
        self.below_goal = self.below_goal.min(below((goal - mean) / spread) * f64::exp(-self.risk));
    }
}

/// Between the anchors around a moment.
fn straight_between(anchors: &[(f64, f64)], years: f64) -> f64 {
    let after = anchors.iter().position(|anchor| anchor.0 >= years).unwrap_or(anchors.len() - 1).max(1);
    let ((from, low), (to, high)) = (anchors[after - 1], anchors[after]);
    low + (high - low) * (years - from) / (to - from)
}

/// The moments ahead in steps of so many years.
pub fn in_steps(step: f64) -> Vec<f64> {
    let count = (HORIZON / step).round() as usize;
    (0..=count).map(|place| step * place as f64).collect()
}

impl Law {
    /// 1 − F at one of the moments.
    fn below_goal_at(&self, place: usize) -> f64 {
        self.left[place].iter().map(|left| left.weight).sum::<f64>() / self.serving
    }

    /// The moment before, the one after, and how far between them.
    fn around(&self, years: f64) -> (usize, usize, f64) {
        let after = self.moments.iter().position(|&moment| moment >= years).unwrap_or(self.moments.len() - 1);
        let before = after.saturating_sub(1);
        if before == after {
            return (after, after, 0.0);
        }
        let share = (years - self.moments[before]) / (self.moments[after] - self.moments[before]);
        (before, after, share.min(1.0))
    }

    /// The chance of having reached the goal by then, straight between two moments.
    pub fn chance_within(&self, years: f64) -> f64 {
        let (before, after, share) = self.around(years);
        1.0 - (1.0 - share) * self.below_goal_at(before) - share * self.below_goal_at(after)
    }

    /// Years at which it comes to these chances; infinite beyond the horizon.
    pub fn years<const N: usize>(&self, probabilities: [f64; N]) -> [f64; N] {
        let chances: Vec<f64> =
            (0..self.moments.len()).map(|place| 1.0 - self.below_goal_at(place)).collect();
        probabilities.map(|probability| {
            let after = chances.iter().position(|&chance| chance >= probability);
            let Some(after) = after else { return f64::INFINITY };
            let Some(before) = after.checked_sub(1) else { return 0.0 };
            let share = (probability - chances[before]) / (chances[after] - chances[before]);
            self.moments[before] + share * (self.moments[after] - self.moments[before])
        })
    }

    /// Levels of a day, inches above the bottom, below which these shares lie; at the goal for those that have reached it.
    pub fn levels<const N: usize>(&self, years: f64, probabilities: [f64; N]) -> [f64; N] {
        let (before, after, share) = self.around(years);
        let at = |z: f64| {
            let law =
                |place: usize| self.left[place].iter().map(|left| left.below(z, self.goal)).sum::<f64>();
            ((1.0 - share) * law(before) + share * law(after)) / self.serving
        };
        let standing_below = 1.0 - self.chance_within(years);
        probabilities.map(|probability| {
            if probability >= standing_below {
                return self.goal_in;
            }
            let (mut low, mut high) = (-30.0, self.goal);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if at(middle) < probability { low = middle } else { high = middle }
            }
            (self.full_in * f64::exp(low) - self.offset_in).clamp(0.0, self.goal_in)
        })
    }
}

impl Left {
    /// What is left of the node below a z, as its normal distribution below the goal.
    fn below(&self, z: f64, goal: f64) -> f64 {
        let of_all = below((goal - self.bell.mean) / self.bell.spread);
        if of_all == 0.0 {
            return 0.0;
        }
        self.weight * below((z - self.bell.mean) / self.bell.spread) / of_all
    }
}
