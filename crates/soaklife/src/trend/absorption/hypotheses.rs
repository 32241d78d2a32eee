//! The hypotheses, ready to compute with: shapes in order, temperaments side by side in lanes.

use super::record::Record;
use crate::numerics::normal;
use crate::numerics::student_t::UsualTails;
use crate::prior::{Course, Onset, Pace, PopulationPrior, PriorError, Rising, TEMPERAMENTS};
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
    lanes: LaneConstants,
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
        let of = |number: fn(&crate::prior::Temperament) -> f64| {
            std::array::from_fn(|lane| number(&prior.temperaments[lane % TEMPERAMENTS]))
        };
        let temperaments: f64 = prior.temperaments.iter().map(|temperament| temperament.weight).sum();
        let layout = Layout {
            lanes: LaneConstants {
                usage: of(|temperament| temperament.usage * temperament.usage),
                level_wander: of(|temperament| temperament.level_wander * temperament.level_wander),
                exponent_wander: of(|temperament| temperament.exponent_wander * temperament.exponent_wander),
                weight: of(|temperament| temperament.weight).map(|weight: f64| weight / temperaments),
            },
            prior,
            usual_tails: UsualTails::default(),
        };
        Self { layout: Arc::new(layout) }
    }

    pub(super) fn lanes(&self) -> &LaneConstants {
        &self.layout.lanes
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
    onset: f64,
    width: f64,
    /// ℓ at which the level before any reading is known best; that level, as z, and its variance.
    reference: f64,
    pub reference_level: f64,
    pub reference_variance: f64,
}

impl Hypotheses {
    pub(super) fn number_of_shapes(&self) -> usize {
        self.prior().rising.len() + LATE_STRATA.len() - 1 + FILLING_STRATA.len() - 1
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
        shapes
    }
}

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
                onset: load.max(LEAST_ONSET),
                width,
                reference: width.ln(),
                reference_level: dry_level,
                reference_variance: dry_variance,
            }
        })
    }

    /// ℓ(L) = ln(max(L − onset, 0) + width).
    #[inline]
    pub(super) fn log_load(&self, load: f64) -> f64 {
        ((load - self.onset).max(0.0) + self.width).ln()
    }

    /// ℓ(L) − ℓ at the reference.
    pub(super) fn beyond_reference(&self, load: f64) -> f64 {
        self.log_load(load) - self.reference
    }

    /// Whether the pit is dry until more load than this has come.
    pub(super) fn is_dry_at(&self, load: f64) -> bool {
        load < self.onset
    }

    /// dℓ/dL, nothing before the onset.
    pub(super) fn log_load_slope(&self, load: f64) -> f64 {
        if self.is_dry_at(load) { 0.0 } else { 1.0 / (load - self.onset + self.width) }
    }
}
