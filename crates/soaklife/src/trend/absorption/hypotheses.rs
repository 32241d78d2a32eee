//! The hypotheses, ready to compute with: shapes in order, temperaments side by side in lanes.

use crate::prior::{Course, PopulationPrior, PriorError, Shape, TEMPERAMENTS};
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
    shape_log_weights: Vec<f64>,
    lanes: LaneConstants,
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
    /// Logarithm of the weight of each temperament.
    pub log_weight: Lanes,
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
    /// assert!(Hypotheses::new(PopulationPrior { shapes: vec![], ..PopulationPrior::default() }).is_err());
    /// ```
    pub fn new(prior: PopulationPrior) -> Result<Self, PriorError> {
        prior.validated().map(Self::laid_out)
    }

    fn laid_out(prior: PopulationPrior) -> Self {
        let of = |number: fn(&crate::prior::Temperament) -> f64| {
            std::array::from_fn(|lane| number(&prior.temperaments[lane % TEMPERAMENTS]))
        };
        let shapes: f64 = prior.shapes.iter().map(|shape| shape.weight).sum();
        let temperaments: f64 = prior.temperaments.iter().map(|temperament| temperament.weight).sum();
        let layout = Layout {
            shape_log_weights: prior.shapes.iter().map(|shape| (shape.weight / shapes).ln()).collect(),
            lanes: LaneConstants {
                usage: of(|temperament| temperament.usage * temperament.usage),
                level_wander: of(|temperament| temperament.level_wander * temperament.level_wander),
                exponent_wander: of(|temperament| temperament.exponent_wander * temperament.exponent_wander),
                log_weight: of(|temperament| temperament.weight)
                    .map(|weight: f64| (weight / temperaments).ln()),
            },
            prior,
        };
        Self { layout: Arc::new(layout) }
    }

    /// Logarithm of the weight of a shape before any reading.
    pub(super) fn shape_log_weight(&self, shape: usize) -> f64 {
        self.layout.shape_log_weights.get(shape).copied().unwrap_or(f64::NEG_INFINITY)
    }

    pub(super) fn lanes(&self) -> &LaneConstants {
        &self.layout.lanes
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

/// A shape in a pit of a given depth: where its logarithm of the load stands, and where it starts from.
#[derive(Debug, Clone, Copy)]
pub(super) struct ShapeInPit {
    onset: f64,
    width: f64,
    /// ℓ at which the level before any reading is known best.
    reference: f64,
    /// That level, as z, and its variance.
    pub reference_level: f64,
    pub reference_variance: f64,
}

impl ShapeInPit {
    pub(super) fn new(shape: &Shape, prior: &PopulationPrior, effective_depth_in: f64) -> Self {
        let full = effective_depth_in + prior.offset_in;
        let width = match shape.course {
            Course::Levelling | Course::Creeping => prior.rising_width,
            Course::Late => prior.late_width,
            Course::Filling => prior.offset_in / (prior.filling_pace * effective_depth_in),
        };
        if shape.onset > 0.0 {
            return Self {
                onset: shape.onset,
                width,
                reference: width.ln(),
                reference_level: (prior.offset_in / full).ln(),
                reference_variance: prior.dry_spread * prior.dry_spread,
            };
        }
        let level = prior.reference_level_in * (effective_depth_in / 100.0).sqrt();
        let spread = prior.reference_level_spread * level / (level + prior.offset_in);
        Self {
            onset: 0.0,
            width,
            reference: (prior.reference_load + width).ln(),
            reference_level: ((level + prior.offset_in) / full).ln(),
            reference_variance: spread * spread,
        }
    }

    /// ℓ(L) = ln(max(L − onset, 0) + width).
    #[inline]
    pub(super) fn log_load(&self, load: f64) -> f64 {
        ((load - self.onset).max(0.0) + self.width).ln()
    }

    /// ℓ(L) − ℓ at the reference.
    pub(super) fn from_reference(&self, load: f64) -> f64 {
        self.log_load(load) - self.reference
    }

    /// dℓ/dL, nothing before the onset.
    pub(super) fn log_load_slope(&self, load: f64) -> f64 {
        if load < self.onset { 0.0 } else { 1.0 / (load - self.onset + self.width) }
    }
}
