//! What is typical of seepage pits before any reading: the population prior, as data.
//!
//! It is weak on purpose and its numbers are known to one digit at best: they were found on simulated pits and rounded. A
//! company may replace any of them; with a few years of readings a pit's own record outweighs them.
//!
//! What it says of a new pit, by depth from inlet to bottom:
//!
//! | depth | median life at design load | serving 20 years at .45 of it |
//! | ---: | ---: | ---: |
//! | 48 in | 27 years | 86 % |
//! | 72 in | 32 years | 88 % |
//! | 100 in | 37 years | 89 % |
//! | 144 in | 44 years | 90 % |
//! | 200 in | 50 years | 91 % |
//! | 240 in | 55 years | 91 % |
//!
//! # Source
//! Published figures to hold it against: more than 80 % of systems serving beyond 20 years (Dix & Hoxie 2001, over 145,000
//! permits in Maine), half-lives of 27 and 38 years (Hill & Frink 1974, 1980; from memory); 30 to 40 years at design load:
//! common practice, no source. All of them speak of trenches and beds for the most part; no survival study of seepage pits
//! was found. `tests/population_prior.rs` computes the table.

use crate::soil::Soil;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Temperaments a pit may have: from one that never strays to a restless one.
pub const TEMPERAMENTS: usize = 4;

/// Typical experience with seepage pits, to be moved by readings.
///
/// Levels enter as z = ln((x + c)/(H + c)), x above the bottom, H the effective depth, c [`PopulationPrior::offset_in`];
/// z = 0 at the inlet. Loads are in design-years.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let busy = PopulationPrior { typical_load_ratio: 0.8, ..PopulationPrior::default() };
/// assert!(busy.validated().is_ok());
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PopulationPrior {
    /// Typical actual ÷ design flow: what a household drifts toward and what an unknown load is taken for.
    pub typical_load_ratio: f64,
    /// Years over which a household's use drifts toward the typical one (tenure).
    pub tenure_years: f64,
    /// c, inches: below it a level's error counts in inches, above it in proportion.
    pub offset_in: f64,
    /// Standard deviation of a stick reading, inches.
    pub stick_in: f64,
    /// Standard deviation of a gross error (wrong datum, wrong unit), inches.
    pub gross_error_in: f64,
    /// Share of readings that are grossly wrong.
    pub gross_error_share: f64,
    /// The same for a reading marked as suspect.
    pub suspect_error_share: f64,
    /// Median level after [`PopulationPrior::reference_load`] in a pit of 100 in, inches; grows with the power 0.7 of the depth.
    pub reference_level_in: f64,
    /// Standard deviation of that level as a share of it.
    pub reference_level_spread: f64,
    /// Load at which the reference level stands, design-years.
    pub reference_load: f64,
    /// Standard deviation of the logarithm of the level of a pit that is still dry.
    pub dry_spread: f64,
    /// Background risk a year of a pit that stands at its inlet but for what nobody foresees; less below it.
    pub background_risk: f64,
    /// How far below the inlet that risk still counts, in z.
    pub background_reach: f64,
    /// Risk, a design-year, that a pit which is still dry is at its inlet by then for reasons no shape knows: a dry stick says
    /// almost nothing, and of all systems one or two in a hundred fail in a year.
    pub dry_risk: f64,
    /// Share of the pace by which the future pace may differ for reasons unknown.
    pub pace_margin: f64,
    /// How the level may run in pits that rise from the start.
    pub rising: Vec<Rising>,
    /// Pits that stay dry for years and then creep up.
    pub late: Onset,
    /// Pits that stay dry for years (coarse soil) and then fill within a few.
    pub filling: Onset,
    /// What the soil does to all this, where it is known.
    pub soils: Soils,
    /// How restless pits are.
    pub temperaments: [Temperament; TEMPERAMENTS],
    /// Levels that run of their own for a while, whatever load the pit has taken.
    pub local: Local,
}

/// One way in which a pit's level may rise from the start, against the load L absorbed.
///
/// z = constant + g ln(L + width): an exponent g near ½ levels off, near 1 creeps on, above 1 speeds up.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// assert!(PopulationPrior::default().rising.iter().all(|rising| rising.width < 1.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rising {
    /// What it looks like.
    pub course: Course,
    /// Width, design-years.
    pub width: f64,
    /// Mean exponent.
    pub exponent: f64,
    /// Its standard deviation.
    pub exponent_spread: f64,
    /// Share of a recorded step of the load, ln(new/old), that the level follows at once.
    pub load_response: f64,
    /// Its standard deviation.
    pub load_response_spread: f64,
    /// Weight before any reading, relative to all others.
    pub weight: f64,
}

/// Pits that stay dry until an onset and rise from then on: z = constant + g ln(max(L − onset, 0) + width).
///
/// The load at the onset is log-normal. It is only ever looked for where a record leaves room: after the last dry stick,
/// before the first liquid.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let prior = PopulationPrior::default();
/// assert!(prior.late.median_load > 5.0 && prior.filling.median_load > 5.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Onset {
    /// Median load at the onset, design-years.
    pub median_load: f64,
    /// Standard deviation of its logarithm.
    pub spread: f64,
    /// How fast the level rises at first.
    pub pace: Pace,
    /// Mean exponent.
    pub exponent: f64,
    /// Its standard deviation.
    pub exponent_spread: f64,
    /// Standard deviation of the share of a recorded step of the load that the level follows; the mean is 0.
    pub load_response_spread: f64,
    /// Weight before any reading, relative to all others.
    pub weight: f64,
}

/// How fast a pit rises once it has begun to.
///
/// ```
/// use soaklife::prior::{Pace, PopulationPrior};
/// assert!(matches!(PopulationPrior::default().filling.pace, Pace::DepthShare(_)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Pace {
    /// As c ÷ width: the width in design-years, the same in every pit.
    Width(f64),
    /// A share of the effective depth a design-year.
    DepthShare(f64),
}

/// What each class of soil does to the prior.
///
/// The directions follow the long-term acceptance rates of the design codes (sand takes two to three times what clay loam
/// takes); the factors are judgements, no source. The level keeps its factor of 1: pits are sized to their soil. On
/// simulated pits of known soil they neither gain nor lose (0.1 % of the pinball loss).
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let soils = PopulationPrior::default().soils;
/// assert!(soils.sand.filling_odds > soils.clay.filling_odds);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Soils {
    /// Gravel.
    pub gravel: SoilEffect,
    /// Sand.
    pub sand: SoilEffect,
    /// Loam.
    pub loam: SoilEffect,
    /// Silt.
    pub silt: SoilEffect,
    /// Clay.
    pub clay: SoilEffect,
}

/// What a soil does to the prior: factors, 1 where it does nothing.
///
/// ```
/// use soaklife::prior::SoilEffect;
/// assert_eq!(SoilEffect::NONE.onset, 1.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoilEffect {
    /// Factor of the load at which a dry pit begins to fill.
    pub onset: f64,
    /// Factor of the level that a pit has reached after the reference load: its pace.
    pub level: f64,
    /// Factor of the weight of pits that stay dry for years.
    pub late_odds: f64,
    /// Factor of the weight of pits that stay dry for years and then fill within a few.
    pub filling_odds: f64,
}

impl SoilEffect {
    /// A soil that is not known, or as usual.
    ///
    /// ```
    /// use soaklife::prior::SoilEffect;
    /// assert_eq!(SoilEffect::NONE.level, 1.0);
    /// ```
    pub const NONE: Self = Self { onset: 1.0, level: 1.0, late_odds: 1.0, filling_odds: 1.0 };
}

impl Default for Soils {
    fn default() -> Self {
        let effect =
            |onset, level, late_odds, filling_odds| SoilEffect { onset, level, late_odds, filling_odds };
        let coarse = effect(1.2, 1.0, 1.3, 2.0);
        Self {
            gravel: coarse,
            sand: coarse,
            loam: SoilEffect::NONE,
            silt: effect(0.9, 1.0, 0.8, 0.6),
            clay: effect(0.8, 1.0, 0.6, 0.4),
        }
    }
}

impl Soils {
    /// The effect of a soil.
    ///
    /// ```
    /// use soaklife::prior::{SoilEffect, Soils};
    /// use soaklife::soil::Soil;
    /// assert_eq!(Soils::default().of(Soil::Unknown), SoilEffect::NONE);
    /// ```
    #[must_use]
    pub fn of(&self, soil: Soil) -> SoilEffect {
        match soil {
            Soil::Gravel => self.gravel,
            Soil::Sand => self.sand,
            Soil::Loam => self.loam,
            Soil::Silt => self.silt,
            Soil::Clay => self.clay,
            Soil::Unknown => SoilEffect::NONE,
        }
    }
}

/// What a shape looks like, in words a customer understands.
///
/// ```
/// use soaklife::prior::Course;
/// assert_eq!(Course::Filling.in_words(), "dry for years, then filling within a few");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Course {
    /// Rising ever more slowly.
    Levelling,
    /// Rising steadily, or ever faster.
    Creeping,
    /// Dry for years, then creeping up.
    Late,
    /// Dry for years (coarse soil), then full within a few.
    Filling,
    /// Up and down without a pace.
    Wandering,
    /// Going on at its own recent pace, up or down, for a while.
    Recent,
}

/// How far a pit strays from its trend.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let [calm, .., restless] = PopulationPrior::default().temperaments;
/// assert!(calm.level_wander < restless.level_wander);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Temperament {
    /// Standard deviation of z by the household's momentary use.
    pub usage: f64,
    /// Wander of z, per √year: flow and acceptance drifting for good.
    pub level_wander: f64,
    /// Wander of the exponent, per √year: the trend itself changing.
    pub exponent_wander: f64,
    /// Weight before any reading, relative to the others.
    pub weight: f64,
}

/// A level that runs of its own for a while, whatever load the pit has taken: a wall that closes within months, groundwater that
/// swings, a pit that recovers.
///
/// In time, not in load: z wanders without a pace, or goes on at a pace of its own, up or down, that fades. Weights are
/// small and spreads wide: before any reading next to no pit is of this kind, and after a few that fit no shape it is.
/// Judgement, no source.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let prior = PopulationPrior::default();
/// assert!(prior.local.recent_weight < prior.rising[0].weight);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Local {
    /// Weight of levels that wander without a pace, relative to all other shapes.
    pub wandering_weight: f64,
    /// Weight of levels that go on at a pace of their own from the first reading on.
    pub recent_weight: f64,
    /// Chance a year that a level of any kind takes up a pace of its own.
    pub change_of_pace: f64,
    /// Years over which such a pace fades to 1/e.
    pub fading_years: f64,
    /// Standard deviation of z before any reading.
    pub level_spread: f64,
    /// Standard deviation of z by the household's momentary use.
    pub usage: f64,
    /// How restless such levels are, each as likely as another.
    pub temperaments: [LocalTemperament; TEMPERAMENTS],
}

/// How far a level that runs of its own strays, and how fast.
///
/// ```
/// use soaklife::prior::PopulationPrior;
/// let [calm, .., restless] = PopulationPrior::default().local.temperaments;
/// assert!(calm.wander < restless.wander);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LocalTemperament {
    /// Wander of z, per √year, of a level without a pace.
    pub wander: f64,
    /// Standard deviation of the pace of a level that has one, z a year.
    pub pace: f64,
    /// Wander of z, per √year, about that pace.
    pub pace_wander: f64,
    /// Wander of the pace, z a year per √year.
    pub pace_change: f64,
}

/// Why a population prior cannot be used.
///
/// ```
/// use soaklife::prior::{PopulationPrior, PriorError};
/// let nobody = PopulationPrior { typical_load_ratio: -1.0, ..PopulationPrior::default() };
/// assert!(matches!(nobody.validated(), Err(PriorError::OutOfRange { name: "typical_load_ratio", .. })));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum PriorError {
    /// A number lies outside what it can be.
    #[error("{name} of the population prior must lie between {least} and {most}, not {found}")]
    OutOfRange {
        /// Field.
        name: &'static str,
        /// Value given.
        found: f64,
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        most: f64,
    },
    /// No shape that rises from the start, or more than can be followed.
    #[error("the population prior must have between 1 and {MOST_RISING} rising shapes, not {found}")]
    Rising {
        /// Number given.
        found: usize,
    },
}

/// Most rising shapes a prior may have.
const MOST_RISING: usize = 32;

impl Course {
    /// Every course, from the mildest.
    ///
    /// ```
    /// assert_eq!(soaklife::prior::Course::ALL.len(), 6);
    /// ```
    pub const ALL: [Self; 6] =
        [Self::Levelling, Self::Creeping, Self::Late, Self::Filling, Self::Wandering, Self::Recent];

    /// Whether the level runs of its own, whatever load the pit has taken.
    ///
    /// ```
    /// use soaklife::prior::Course;
    /// assert!(Course::Recent.is_local() && !Course::Creeping.is_local());
    /// ```
    #[must_use]
    pub fn is_local(self) -> bool {
        matches!(self, Self::Wandering | Self::Recent)
    }

    /// In words.
    ///
    /// ```
    /// assert_eq!(soaklife::prior::Course::Levelling.in_words(), "levelling off");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Levelling => "levelling off",
            Self::Creeping => "steady creep or speeding up",
            Self::Late => "dry for years, then creeping up",
            Self::Filling => "dry for years, then filling within a few",
            Self::Wandering => "up and down without a trend",
            Self::Recent => "going on at its own recent pace for a while",
        }
    }
}

impl Default for PopulationPrior {
    fn default() -> Self {
        let temperament = |usage, level_wander, exponent_wander, weight| Temperament {
            usage,
            level_wander,
            exponent_wander,
            weight,
        };
        Self {
            typical_load_ratio: 0.45,
            tenure_years: 14.0,
            offset_in: 18.0,
            stick_in: 1.8,
            gross_error_in: 20.0,
            gross_error_share: 0.03,
            suspect_error_share: 0.4,
            reference_level_in: 39.0,
            reference_level_spread: 0.58,
            reference_load: 12.9,
            dry_spread: 0.24,
            background_risk: 0.0025,
            background_reach: 1.8,
            dry_risk: 0.003,
            pace_margin: 0.2,
            rising: vec![
                Rising::usual(Course::Levelling, [0.5, 0.05], [0.05, 0.5], 0.085),
                Rising::usual(Course::Levelling, [0.62, 0.21], [0.05, 0.5], 0.24),
                Rising::usual(Course::Creeping, [0.9, 0.31], [0.02, 0.05], 0.135),
            ],
            late: Onset {
                median_load: 18.2,
                spread: 0.5,
                pace: Pace::Width(5.3),
                exponent: 1.03,
                exponent_spread: 0.14,
                load_response_spread: 0.4,
                weight: 0.42,
            },
            filling: Onset {
                median_load: 11.0,
                spread: 0.53,
                pace: Pace::DepthShare(0.21),
                exponent: 1.15,
                exponent_spread: 0.3,
                load_response_spread: 0.4,
                weight: 0.17,
            },
            soils: Soils::default(),
            temperaments: [
                temperament(0.008, 0.003, 0.02, 0.13),
                temperament(0.010, 0.0097, 0.108, 0.52),
                temperament(0.072, 0.045, 0.083, 0.25),
                temperament(0.040, 0.140, 0.155, 0.125),
            ],
            local: Local::default(),
        }
    }
}

impl Default for Local {
    fn default() -> Self {
        let temperament = |wander, pace, pace_wander, pace_change| LocalTemperament {
            wander,
            pace,
            pace_wander,
            pace_change,
        };
        Self {
            wandering_weight: 0.03,
            recent_weight: 0.004,
            change_of_pace: 0.005,
            fading_years: 2.0,
            level_spread: 0.7,
            usage: 0.03,
            temperaments: [
                temperament(0.05, 0.3, 0.02, 0.08),
                temperament(0.1, 0.6, 0.02, 0.08),
                temperament(0.2, 1.0, 0.03, 0.08),
                temperament(0.4, 1.5, 0.06, 0.0),
            ],
        }
    }
}

impl Rising {
    fn usual(
        course: Course,
        [exponent, exponent_spread]: [f64; 2],
        [load_response, load_response_spread]: [f64; 2],
        weight: f64,
    ) -> Self {
        Self { course, width: 0.3, exponent, exponent_spread, load_response, load_response_spread, weight }
    }
}

impl PopulationPrior {
    /// The same, if every number is one that can be computed with.
    ///
    /// # Errors
    /// [`PriorError`] naming the first field that cannot be.
    ///
    /// ```
    /// use soaklife::prior::PopulationPrior;
    /// assert!(PopulationPrior { rising: Vec::new(), ..PopulationPrior::default() }.validated().is_err());
    /// ```
    pub fn validated(self) -> Result<Self, PriorError> {
        if self.rising.is_empty() || self.rising.len() > MOST_RISING {
            return Err(PriorError::Rising { found: self.rising.len() });
        }
        for (name, found, least, most) in self.numbers() {
            if !(least..=most).contains(&found) {
                return Err(PriorError::OutOfRange { name, found, least, most });
            }
        }
        Ok(self)
    }

    fn numbers(&self) -> Vec<(&'static str, f64, f64, f64)> {
        let mut numbers = vec![
            ("typical_load_ratio", self.typical_load_ratio, 0.05, 3.0),
            ("tenure_years", self.tenure_years, 0.1, 1e4),
            ("offset_in", self.offset_in, 1.0, 1e3),
            ("stick_in", self.stick_in, 0.01, 100.0),
            ("gross_error_in", self.gross_error_in, 0.1, 1e3),
            ("gross_error_share", self.gross_error_share, 0.0, 0.9),
            ("suspect_error_share", self.suspect_error_share, 0.0, 0.99),
            ("reference_level_in", self.reference_level_in, 0.1, 1e4),
            ("reference_level_spread", self.reference_level_spread, 0.01, 10.0),
            ("reference_load", self.reference_load, 0.1, 1e3),
            ("dry_spread", self.dry_spread, 0.001, 10.0),
            ("background_risk", self.background_risk, 0.0, 1.0),
            ("background_reach", self.background_reach, 0.01, 10.0),
            ("dry_risk", self.dry_risk, 0.0, 1.0),
            ("pace_margin", self.pace_margin, 0.0, 2.0),
        ];
        for rising in &self.rising {
            numbers.extend([
                ("width", rising.width, 0.01, 100.0),
                ("exponent", rising.exponent, 0.01, 10.0),
                ("exponent_spread", rising.exponent_spread, 0.001, 5.0),
                ("load_response", rising.load_response, -2.0, 2.0),
                ("load_response_spread", rising.load_response_spread, 0.0, 2.0),
                ("weight of a rising shape", rising.weight, 1e-12, 1e6),
            ]);
        }
        for onset in [&self.late, &self.filling] {
            let pace = match onset.pace {
                Pace::Width(width) => ("width", width, 0.01, 100.0),
                Pace::DepthShare(share) => ("depth_share", share, 0.001, 100.0),
            };
            numbers.extend([
                pace,
                ("median_load", onset.median_load, 0.01, 1e3),
                ("spread", onset.spread, 0.01, 5.0),
                ("exponent", onset.exponent, 0.01, 10.0),
                ("exponent_spread", onset.exponent_spread, 0.001, 5.0),
                ("load_response_spread", onset.load_response_spread, 0.0, 2.0),
                ("weight of an onset", onset.weight, 1e-12, 1e6),
            ]);
        }
        for soil in
            [&self.soils.gravel, &self.soils.sand, &self.soils.loam, &self.soils.silt, &self.soils.clay]
        {
            numbers.extend([
                ("onset of a soil", soil.onset, 0.01, 100.0),
                ("level of a soil", soil.level, 0.01, 100.0),
                ("late_odds of a soil", soil.late_odds, 1e-9, 1e6),
                ("filling_odds of a soil", soil.filling_odds, 1e-9, 1e6),
            ]);
        }
        for temperament in &self.temperaments {
            numbers.extend([
                ("usage", temperament.usage, 0.0, 2.0),
                ("level_wander", temperament.level_wander, 0.0, 2.0),
                ("exponent_wander", temperament.exponent_wander, 0.0, 5.0),
                ("weight of a temperament", temperament.weight, 1e-12, 1e6),
            ]);
        }
        numbers.extend([
            ("wandering_weight", self.local.wandering_weight, 1e-12, 1e6),
            ("recent_weight", self.local.recent_weight, 1e-12, 1e6),
            ("change_of_pace", self.local.change_of_pace, 0.0, 1.0),
            ("fading_years", self.local.fading_years, 0.01, 100.0),
            ("level_spread", self.local.level_spread, 0.01, 10.0),
            ("usage of local levels", self.local.usage, 0.0, 2.0),
        ]);
        for temperament in &self.local.temperaments {
            numbers.extend([
                ("wander", temperament.wander, 0.0, 2.0),
                ("pace", temperament.pace, 0.0, 5.0),
                ("pace_wander", temperament.pace_wander, 0.0, 2.0),
                ("pace_change", temperament.pace_change, 0.0, 5.0),
            ]);
        }
        numbers
    }
}
