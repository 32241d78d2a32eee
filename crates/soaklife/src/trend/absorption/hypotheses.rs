//! The hypotheses, ready to compute with: shapes in order, temperaments side by side in lanes.

use super::record::Record;
use crate::numerics::branch_free::exponential;
use crate::numerics::normal;
use crate::numerics::student_t::UsualTails;
use crate::prior::{
    Course, LocalTemperament, Onset, Pace, PopulationPrior, PriorError, Rising, TEMPERAMENTS, Temperament,
};
use std::sync::Arc;

/// Filters that share a shape and run side by side: every temperament, twice.
///
/// The first half believes the first reading, the second half runs as if it were wrong.
pub(super) const LANES: usize = 2 * TEMPERAMENTS;

/// One number for each lane.
pub(super) type Lanes = [f64; LANES];

/// The population prior, validated and laid out for the filter; a clone shares it.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// use soaklife::trend::absorption::Hypotheses;
/// assert_eq!(Hypotheses::new(PopulationPrior::default())?, Hypotheses::default());
/// # Ok::<(), soaklife::prior::PriorError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Hypotheses {
    layout: Arc<Layout>,
}

#[derive(Debug, PartialEq)]
struct Layout {
    prior: PopulationPrior,
    by_load: LaneConstants,
    /// Of levels that wander, and of those that go on at their own pace.
    wandering: LaneConstants,
    recent: LaneConstants,
    /// Not of the hypotheses, but as much the same for every pit.
    usual_tails: UsualTails,
}

/// What tells the lanes apart.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LaneConstants {
    /// Variance of z by momentary use.
    pub usage: Lanes,
    /// Variance of z a year.
    pub level_wander: Lanes,
    /// Variance of the exponent a year.
    pub exponent_wander: Lanes,
    /// Variance of the exponent before any reading that lanes have of their own.
    pub exponent_variance: Lanes,
    /// Share of each temperament before any reading.
    pub weight: Lanes,
}

impl Default for Hypotheses {
    fn default() -> Self {
        Self::laid_out(PopulationPrior::default())
    }
}

impl Hypotheses {
    /// From a population prior.
    ///
    /// # Errors
    /// [`PriorError`] if a number of the prior cannot be computed with.
    ///
    /// ```
    /// use soaklife::prior::PopulationPrior;
    /// use soaklife::trend::absorption::Hypotheses;
    /// assert!(Hypotheses::new(PopulationPrior { rising: vec![], ..PopulationPrior::default() }).is_err());
    /// ```
    pub fn new(prior: PopulationPrior) -> Result<Self, PriorError> {
        prior.validated().map(Self::laid_out)
    }

    fn laid_out(prior: PopulationPrior) -> Self {
        let of = |number: fn(&Temperament) -> f64| {
            std::array::from_fn(|lane| number(&prior.temperaments[lane % TEMPERAMENTS]))
        };
        let local = |number: fn(&LocalTemperament) -> f64| {
            std::array::from_fn(|lane| number(&prior.local.temperaments[lane % TEMPERAMENTS]))
        };
        let all: f64 = prior.temperaments.iter().map(|temperament| temperament.weight).sum();
        let by_load = LaneConstants {
            usage: of(|temperament| temperament.usage * temperament.usage),
            level_wander: of(|temperament| temperament.level_wander * temperament.level_wander),
            exponent_wander: of(|temperament| temperament.exponent_wander * temperament.exponent_wander),
            exponent_variance: [0.0; LANES],
            weight: of(|temperament| temperament.weight).map(|weight: f64| weight / all),
        };
        let wandering = LaneConstants {
            usage: [prior.local.usage * prior.local.usage; LANES],
            level_wander: local(|temperament| temperament.wander * temperament.wander),
            exponent_wander: [0.0; LANES],
            exponent_variance: [0.0; LANES],
            weight: [1.0 / TEMPERAMENTS as f64; LANES],
        };
        let recent = LaneConstants {
            level_wander: local(|temperament| temperament.pace_wander * temperament.pace_wander),
            exponent_wander: local(|temperament| temperament.pace_change * temperament.pace_change),
            exponent_variance: local(|temperament| temperament.pace * temperament.pace),
            ..wandering.clone()
        };
        let layout = Layout { prior, by_load, wandering, recent, usual_tails: UsualTails::default() };
        Self { layout: Arc::new(layout) }
    }

    /// What tells the lanes of a shape apart.
    pub(super) fn lanes(&self, shape: &Shape) -> &LaneConstants {
        match shape.clock {
            Clock::Load => &self.layout.by_load,
            Clock::Wandering => &self.layout.wandering,
            Clock::Recent { .. } => &self.layout.recent,
        }
    }

    /// What lines ask for pit after pit.
    pub(crate) fn usual_tails(&self) -> &UsualTails {
        &self.layout.usual_tails
    }

    /// The prior they were made from.
    ///
    /// ```
    /// use soaklife::trend::absorption::Hypotheses;
    /// assert!(Hypotheses::default().prior().typical_load_ratio > 0.0);
    /// ```
    #[must_use]
    pub fn prior(&self) -> &PopulationPrior {
        &self.layout.prior
    }
}

/// Quantiles between which the load at the onset is looked for, the early ones closer: they make the early failures.
const LATE_STRATA: [f64; 5] = [0.0, 0.12, 0.37, 0.63, 1.0];
const FILLING_STRATA: [f64; 6] = [0.0, 0.04, 0.14, 0.34, 0.64, 1.0];
/// A deeper pit stands higher after the same load, by this power of its depth.
const LEVEL_BY_DEPTH: f64 = 0.7;
/// What the record leaves of an onset is never quite nothing.
const LEAST_ROOM: f64 = 1e-6;
/// Least load at an onset, design-years.
const LEAST_ONSET: f64 = 1e-3;

/// What moves the level of a shape on.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Clock {
    /// The load absorbed.
    Load,
    /// Chance alone.
    Wandering,
    /// Time, at a pace that fades.
    Recent { fading_years: f64 },
}

/// From one moment to another, as a shape has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stride {
    /// By how many exponents the level moves.
    pub gain: f64,
    /// What is left of the exponent, or of the pace, at its end.
    pub fade: f64,
}

/// A shape in a pit: its parameters, where its logarithm of the load stands, and where it starts from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shape {
    pub course: Course,
    pub exponent: f64,
    pub exponent_variance: f64,
    pub load_response: f64,
    pub load_response_spread: f64,
    /// Its weight before any height was read.
    pub weight: f64,
    clock: Clock,
    onset: f64,
    width: f64,
    /// ℓ at which the level before any reading is known best; that level, as z, and its variance.
    reference: f64,
    pub reference_level: f64,
    pub reference_variance: f64,
}

impl Hypotheses {
    pub(super) fn number_of_shapes(&self) -> usize {
        self.prior().rising.len() + LATE_STRATA.len() - 1 + FILLING_STRATA.len() - 1 + LOCAL
    }

    /// Every shape in the pit of this record.
    pub(super) fn shapes(&self, record: &Record) -> Vec<Shape> {
        let prior = self.prior();
        let mut shapes = Vec::with_capacity(self.number_of_shapes());
        let soil = prior.soils.of(record.soil);
        let in_soil = |onset: &Onset, odds: f64| Onset {
            median_load: onset.median_load * soil.onset,
            weight: onset.weight * odds,
            ..*onset
        };
        let (late, filling) =
            (in_soil(&prior.late, soil.late_odds), in_soil(&prior.filling, soil.filling_odds));
        shapes.extend(prior.rising.iter().map(|rising| Shape::rising(rising, prior, record, soil.level)));
        shapes.extend(Shape::strata(&LATE_STRATA, Course::Late, &late, prior, record));
        shapes.extend(Shape::strata(&FILLING_STRATA, Course::Filling, &filling, prior, record));
        // Of a pit that nobody has read they would say no more than the others.
        if !record.soundings.is_empty() {
            shapes.extend(Shape::local(prior, record, soil.level));
        }
        shapes
    }
}

/// Shapes that run of their own.
const LOCAL: usize = 2;
/// Standard deviation of the share of a recorded step of the load that such a level follows.
const LOCAL_RESPONSE: f64 = 0.4;

impl Shape {
    fn rising(rising: &Rising, prior: &PopulationPrior, record: &Record, soil: f64) -> Self {
        let level =
            soil * prior.reference_level_in * (record.effective_depth_in / 100.0).powf(LEVEL_BY_DEPTH);
        let spread = prior.reference_level_spread * level / (level + prior.offset_in);
        Self {
            course: rising.course,
            exponent: rising.exponent,
            exponent_variance: rising.exponent_spread * rising.exponent_spread,
            load_response: rising.load_response,
            load_response_spread: rising.load_response_spread,
            weight: rising.weight,
            clock: Clock::Load,
            onset: 0.0,
            width: rising.width,
            reference: (prior.reference_load + rising.width).ln(),
            reference_level: ((level + prior.offset_in) / record.full_in).ln(),
            reference_variance: spread * spread,
        }
    }

    /// One shape a stratum of the onset, laid where the record leaves room: the share of the log-normal distribution
    /// between the last dry stick and the first liquid is a factor of the weight.
    fn strata(
        strata: &[f64],
        course: Course,
        onset: &Onset,
        prior: &PopulationPrior,
        record: &Record,
    ) -> impl Iterator<Item = Self> {
        let share_below = |load: f64| normal::cdf((load / onset.median_load).ln() / onset.spread);
        let from = share_below(record.dry_until);
        let room = (share_below(record.liquid_from) - from).max(LEAST_ROOM);
        let width = match onset.pace {
            Pace::Width(width) => width,
            Pace::DepthShare(share) => prior.offset_in / (share * record.effective_depth_in),
        };
        let (onset, dry_variance) = (*onset, prior.dry_spread * prior.dry_spread);
        let dry_level = (prior.offset_in / record.full_in).ln();
        strata.windows(2).map(move |ends| {
            let [low, high] = [ends[0], ends[1]];
            let place = normal::quantile((from + room * f64::midpoint(low, high)).clamp(1e-9, 1.0 - 1e-9));
            let load = onset.median_load * (onset.spread * place.unwrap_or_default()).exp();
            Self {
                course,
                exponent: onset.exponent,
                exponent_variance: onset.exponent_spread * onset.exponent_spread,
                load_response: 0.0,
                load_response_spread: onset.load_response_spread,
                weight: onset.weight * (high - low) * room,
                clock: Clock::Load,
                onset: load.max(LEAST_ONSET),
                width,
                reference: width.ln(),
                reference_level: dry_level,
                reference_variance: dry_variance,
            }
        })
    }

    /// A level that wanders, and one that goes on at a pace of its own; before any reading it may stand anywhere.
    fn local(prior: &PopulationPrior, record: &Record, soil: f64) -> Vec<Self> {
        let local = &prior.local;
        let Some(usual) = prior.rising.first() else { return Vec::new() };
        let anywhere = Self {
            clock: Clock::Wandering,
            course: Course::Wandering,
            exponent: 0.0,
            exponent_variance: 0.0,
            load_response: 0.0,
            load_response_spread: LOCAL_RESPONSE,
            weight: local.wandering_weight,
            reference_variance: local.level_spread * local.level_spread,
            ..Self::rising(usual, prior, record, soil)
        };
        let recent = Self {
            clock: Clock::Recent { fading_years: local.fading_years },
            course: Course::Recent,
            weight: local.recent_weight,
            ..anywhere
        };
        vec![anywhere, recent]
    }

    /// From a moment to another so many years later: ℓ then, and the stride.
    #[inline]
    pub(super) fn stride(&self, log_load: f64, load: f64, years: f64) -> Stride {
        match self.clock {
            Clock::Load => Stride { gain: self.log_load(load) - log_load, fade: 1.0 },
            Clock::Wandering => Stride { gain: 0.0, fade: 1.0 },
            Clock::Recent { fading_years } => {
                let fade = exponential(-years / fading_years);
                Stride { gain: fading_years * (1.0 - fade), fade }
            }
        }
    }

    /// Whether it stands for levels that take up a pace of their own; the last of a pit's shapes.
    pub(super) fn is_taken_up(&self) -> bool {
        matches!(self.clock, Clock::Recent { .. })
    }

    /// Whether the load absorbed moves it on.
    pub(super) fn ages(&self) -> bool {
        self.clock == Clock::Load
    }

    /// ℓ(L) = ln(max(L − onset, 0) + width).
    #[inline]
    pub(super) fn log_load(&self, load: f64) -> f64 {
        ((load - self.onset).max(0.0) + self.width).ln()
    }

    /// ℓ(L) − ℓ at the reference; 0 where the load does not move the level.
    pub(super) fn beyond_reference(&self, load: f64) -> f64 {
        if self.ages() { self.log_load(load) - self.reference } else { 0.0 }
    }

    /// Whether the pit is dry until more load than this has come.
    pub(super) fn is_dry_at(&self, load: f64) -> bool {
        load < self.onset
    }

    /// dℓ/dL, nothing before the onset.
    fn log_load_slope(&self, load: f64) -> f64 {
        if self.is_dry_at(load) { 0.0 } else { 1.0 / (load - self.onset + self.width) }
    }

    /// Exponents a year by which the level moves at this load and ratio.
    pub(super) fn swiftness(&self, load: f64, ratio: f64) -> f64 {
        match self.clock {
            Clock::Load => self.log_load_slope(load) * ratio,
            Clock::Wandering => 0.0,
            Clock::Recent { .. } => 1.0,
        }
    }
}
