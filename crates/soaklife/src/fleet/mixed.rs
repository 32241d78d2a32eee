//! A line for every pit, and one for the fleet: the linear mixed model with random intercept and slope.
//!
//! A company that fits each pit alone believes every chance slope; one that pools them all believes none. The mixed model
//! lets each pit's line lean towards the fleet's the more, the less its own readings say. It is the classical answer, for
//! analysts who ask for it; the forecast itself does not use it, because levels do not rise in straight lines.
//!
//! # Equations
//! y = (β₀ + u₀) + (β₁ + u₁) x + e in each group, e ~ N(0, σ²), (u₀, u₁) ~ N(0, D), D = σ² Λ Λᵀ with Λ lower triangular.
//! With A = ZᵀZ and c = Zᵀy of a group and M = ΛᵀAΛ + I, Woodbury's identity gives XᵀV⁻¹X = A − AΛM⁻¹ΛᵀA and so on; sums over the groups give
//! β̂ and the residual sum of squares, and the criterion profiled over β and σ² is
//!
//! ln-likelihood × −2 = Σ ln det M + ln det P + (N − 2)(1 + ln 2πS/(N − 2)), P = Σ XᵀV⁻¹X,
//!
//! by restricted likelihood; by likelihood without ln det P and with N for N − 2. It is smooth and even in the diagonal of Λ,
//! so it is minimised without bounds by a damped Newton method in three variables. A pit enters by six sums: no reading is kept.
//!
//! # Source
//! Laird & Ware (1982), Biometrics 38, 963–974; Bates, Mächler, Bolker & Walker (2015), Journal of Statistical Software 67(1),
//! for the criterion in Λ; Henderson (1975) for the errors of prediction.

mod criterion;
mod newton;

use criterion::{Profile, Scaled, profile};
use thiserror::Error;

/// A pair of numbers: intercept and slope.
pub type Pair = [f64; 2];
/// A symmetric matrix over intercept and slope.
pub type Covariance = [[f64; 2]; 2];

/// Λ from which the search starts: a few groups may leave more than one valley, with D of full rank and without.
const STARTS: [[f64; 3]; 5] =
    [[1.0, 0.0, 1.0], [2.0, -0.7, 0.1], [2.0, 0.7, 0.1], [0.1, 0.0, 1.0], [8.0, 0.0, 4.0]];
/// Where the search goes on beside a boundary: its sign being nothing, an entry of 0 is level ground, from which no way leads down.
const BESIDE_BOUNDARY: [f64; 3] = [0.1, 0.3, 1.0];
/// Diagonal entries of Λ below this, in units of the residual, are nothing.
const NOTHING: f64 = 1e-5;

/// What is made as likely as possible.
///
/// ```
/// use soaklife::fleet::mixed::Criterion;
/// assert_eq!(Criterion::default(), Criterion::RestrictedLikelihood);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Criterion {
    /// The restricted likelihood, which does not take the variances for too small (REML).
    #[default]
    RestrictedLikelihood,
    /// The likelihood (ML), for comparing fleets of different fixed lines.
    Likelihood,
}

/// Why there is no fit.
///
/// ```
/// use soaklife::fleet::mixed::{Criterion, MixedError, MixedLines};
/// assert_eq!(MixedLines::new().fit(Criterion::default()), Err(MixedError::TooFewGroups { found: 0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum MixedError {
    /// A number is not finite, or too large to be squared.
    #[error("reading {place} of group {group}: ({x}, {y}) cannot be computed with")]
    NotFinite {
        /// Group, counted from 0.
        group: usize,
        /// Reading in it, counted from 0.
        place: usize,
        /// Its x.
        x: f64,
        /// Its y.
        y: f64,
    },
    /// One group or none.
    #[error("a fleet line takes at least two groups, not {found}")]
    TooFewGroups {
        /// Groups with readings.
        found: usize,
    },
    /// Not more readings than numbers to be found.
    #[error("six numbers cannot be told from {found} readings")]
    TooFewReadings {
        /// Readings in all groups.
        found: usize,
    },
    /// All readings at one x: no slope.
    #[error("all readings lie at the same x: there is no slope")]
    OneX,
    /// The lines go through all readings: no residual to weigh them by.
    #[error("the lines go through all readings: nothing is left to judge them by")]
    NoResidual,
    /// The search did not settle.
    #[error("the variances did not settle within {steps} steps")]
    NotConverged {
        /// Steps taken.
        steps: usize,
    },
}

/// Sums of one group about its own means.
#[derive(Debug, Clone, Copy, PartialEq)]
struct GroupSums {
    readings: f64,
    mean_x: f64,
    mean_y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

/// Beyond this a square, or a sum of squares, may overflow.
const LARGEST: f64 = 1e100;

/// The readings of a fleet, six sums a pit.
///
/// ```
/// use soaklife::fleet::mixed::{Criterion, MixedLines};
/// let mut lines = MixedLines::new();
/// for (intercept, slope) in [(10.0, 1.0), (12.0, 1.6), (9.0, 0.7), (14.0, 1.2)] {
///     let wiggle = |x: f64| 0.3 * (7.0 * (x + intercept)).sin();
///     let points: Vec<_> = (0..6).map(f64::from).map(|x| (x, intercept + slope * x + wiggle(x))).collect();
///     lines.add(&points)?;
/// }
/// let fit = lines.fit(Criterion::RestrictedLikelihood)?;
/// let [_, slope] = fit.fixed();
/// assert!((slope - 1.125).abs() < 0.1); // the mean of the four
/// let [_, steepest] = fit.groups()[1].line;
/// assert!(slope < steepest && steepest < 1.7); // leans towards the fleet
/// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MixedLines {
    groups: Vec<GroupSums>,
}

impl MixedLines {
    /// No pit yet.
    ///
    /// ```
    /// use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// assert!(MixedLines::new().fit(Criterion::default()).is_err());
    /// ```
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a pit: its readings as (x, y), in any order and units. One without readings is no group.
    ///
    /// # Errors
    /// [`MixedError::NotFinite`] for a number that cannot be computed with; the pit is not added then.
    ///
    /// ```
    /// use soaklife::fleet::mixed::MixedLines;
    /// let mut lines = MixedLines::new();
    /// assert!(lines.add(&[(2020.0, 41.5), (2021.0, f64::NAN)]).is_err());
    /// ```
    pub fn add(&mut self, points: &[(f64, f64)]) -> Result<(), MixedError> {
        let group = self.groups.len();
        let wild = |number: f64| !number.is_finite() || number.abs() > LARGEST;
        if let Some((place, &(x, y))) =
            points.iter().enumerate().find(|(_, point)| wild(point.0) || wild(point.1))
        {
            return Err(MixedError::NotFinite { group, place, x, y });
        }
        if points.is_empty() {
            return Ok(());
        }
        let readings = points.len() as f64;
        let mean_x = points.iter().map(|point| point.0).sum::<f64>() / readings;
        let mean_y = points.iter().map(|point| point.1).sum::<f64>() / readings;
        let mut sums = GroupSums { readings, mean_x, mean_y, xx: 0.0, xy: 0.0, yy: 0.0 };
        for (x, y) in points.iter().map(|point| (point.0 - mean_x, point.1 - mean_y)) {
            sums.xx += x * x;
            sums.xy += x * y;
            sums.yy += y * y;
        }
        self.groups.push(sums);
        Ok(())
    }

    /// Fits the fleet's line and every pit's.
    ///
    /// # Errors
    /// [`MixedError`] if the readings cannot tell them, or the search does not settle.
    ///
    /// ```
    /// use soaklife::fleet::mixed::{Criterion, MixedError, MixedLines};
    /// let mut lines = MixedLines::new();
    /// for pit in 0..3 {
    ///     lines.add(&[(1.0, f64::from(pit)), (1.0, 5.0), (1.0, 7.0)])?;
    /// }
    /// assert_eq!(lines.fit(Criterion::Likelihood), Err(MixedError::OneX));
    /// # Ok::<(), MixedError>(())
    /// ```
    pub fn fit(&self, criterion: Criterion) -> Result<MixedFit, MixedError> {
        let scaled = Scaled::of(&self.groups)?;
        let deviance = |factor: [f64; 3]| profile(&scaled, factor, criterion).map(|profile| profile.deviance);
        let factor = newton::lowest_from(deviance, &STARTS)?;
        let factor = beside_boundary(deviance, factor);
        let profile = profile(&scaled, factor, criterion).ok_or(MixedError::NoResidual)?;
        Ok(MixedFit::of(&scaled, factor, &profile, criterion))
    }
}

/// The lowest point, looked for beside the boundary too if it lies there.
fn beside_boundary(deviance: impl Fn([f64; 3]) -> Option<f64>, lowest: [f64; 3]) -> [f64; 3] {
    let [intercept, both, slope] = lowest;
    if slope.abs() >= NOTHING {
        return lowest;
    }
    let starts = BESIDE_BOUNDARY.map(|slope| [intercept, both, slope]);
    let beside = newton::lowest_from(&deviance, &starts).ok();
    let is_lower = |beside: &[f64; 3]| deviance(*beside) < deviance(lowest);
    beside.filter(is_lower).unwrap_or(lowest)
}

/// The fleet's line, how the pits' lines scatter about it, and each of them.
///
/// Lines are intercept and slope, in the units of y and y per x.
///
/// ```
/// # use soaklife::fleet::mixed::{Criterion, MixedLines};
/// # let mut lines = MixedLines::new();
/// # for pit in 0..5 {
/// #     let start = 10.0 + f64::from(pit * pit % 3);
/// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
/// # }
/// let fit = lines.fit(Criterion::RestrictedLikelihood)?;
/// assert_eq!(fit.groups().len(), 5);
/// assert!(fit.residual_variance() > 0.0);
/// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct MixedFit {
    fixed: Pair,
    fixed_covariance: Covariance,
    scatter: Covariance,
    residual_variance: f64,
    log_likelihood: f64,
    is_at_boundary: bool,
    groups: Vec<GroupLine>,
}

/// One pit's line.
///
/// ```
/// # use soaklife::fleet::mixed::GroupLine;
/// let line = GroupLine {
///     readings: 4,
///     departure: [1.0, 0.5],
///     line: [10.0, 2.0],
///     departure_covariance: [[0.4, 0.0], [0.0, 0.1]],
///     line_error_covariance: [[0.5, 0.0], [0.0, 0.1]],
/// };
/// let (level, error) = line.at(2.0);
/// assert_eq!(level, 14.0);
/// assert!((error - 0.9_f64.sqrt()).abs() < 1e-15);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupLine {
    /// Readings.
    pub readings: usize,
    /// How far it departs from the fleet's line: the best linear unbiased prediction of (u₀, u₁).
    pub departure: Pair,
    /// The line.
    pub line: Pair,
    /// Covariance of the departure given the fleet's line.
    pub departure_covariance: Covariance,
    /// Covariance of the error of the line, that of the fleet's line included; the variances are taken as known.
    pub line_error_covariance: Covariance,
}

impl GroupLine {
    /// The line at x, and the standard error of it.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::GroupLine;
    /// # let none = [[0.0; 2]; 2];
    /// let line = GroupLine { readings: 1, departure: [0.0; 2], line: [3.0, 1.0], departure_covariance: none, line_error_covariance: none };
    /// assert_eq!(line.at(4.0), (7.0, 0.0));
    /// ```
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let [[intercept, both], [_, slope]] = self.line_error_covariance;
        let variance = intercept + x * (2.0 * both + x * slope);
        (self.line[0] + self.line[1] * x, variance.max(0.0).sqrt())
    }
}

impl MixedFit {
    fn of(scaled: &Scaled, factor: [f64; 3], profile: &Profile, criterion: Criterion) -> Self {
        let unit = scaled.scale_y * scaled.scale_y;
        let spread =
            |matrix: Covariance| scaled.covariance_in_units(matrix, unit * profile.residual_variance);
        let groups = scaled.groups.iter().map(|group| {
            let told = profile.line_of(group, factor);
            let line = std::array::from_fn(|at| profile.fixed[at] + told.departure[at]);
            GroupLine {
                readings: group.readings as usize,
                departure: scaled.departure_in_units(told.departure),
                line: scaled.line_in_units(line),
                departure_covariance: spread(told.departure_covariance),
                line_error_covariance: spread(told.line_error_covariance),
            }
        });
        Self {
            fixed: scaled.line_in_units(profile.fixed),
            fixed_covariance: spread(profile.fixed_covariance),
            scatter: spread(criterion::scatter(factor)),
            residual_variance: unit * profile.residual_variance,
            log_likelihood: -0.5 * scaled.deviance_in_units(profile.deviance, criterion),
            is_at_boundary: factor[0].abs() < NOTHING || factor[2].abs() < NOTHING,
            groups: groups.collect(),
        }
    }

    /// The fleet's line: intercept and slope.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// assert!(lines.fit(Criterion::default())?.fixed()[1] > 0.5);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn fixed(&self) -> Pair {
        self.fixed
    }

    /// Covariance of its error.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// assert!(lines.fit(Criterion::default())?.fixed_covariance()[1][1] > 0.0);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn fixed_covariance(&self) -> Covariance {
        self.fixed_covariance
    }

    /// D: how the pits' intercepts and slopes scatter about the fleet's.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// assert!(lines.fit(Criterion::default())?.scatter()[0][0] >= 0.0);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn scatter(&self) -> Covariance {
        self.scatter
    }

    /// Correlation of intercept and slope among the pits; nothing where one of them does not vary.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// let correlation = lines.fit(Criterion::default())?.correlation();
    /// assert!(correlation.is_none_or(|correlation| correlation.abs() <= 1.0));
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn correlation(&self) -> Option<f64> {
        let [[intercept, both], [_, slope]] = self.scatter;
        let spread = (intercept * slope).sqrt();
        (spread > 0.0).then(|| (both / spread).clamp(-1.0, 1.0))
    }

    /// σ², the variance of a reading about its pit's line.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// assert!(lines.fit(Criterion::default())?.residual_variance() < 1.0);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn residual_variance(&self) -> f64 {
        self.residual_variance
    }

    /// Logarithm of the (restricted) likelihood.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// let [restricted, full] = [Criterion::RestrictedLikelihood, Criterion::Likelihood]
    ///     .map(|criterion| lines.fit(criterion).map(|fit| fit.log_likelihood()));
    /// assert_ne!(restricted, full);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn log_likelihood(&self) -> f64 {
        self.log_likelihood
    }

    /// Whether intercepts or slopes turned out not to vary beyond what the other explains: D is singular.
    ///
    /// ```
    /// use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// let mut lines = MixedLines::new();
    /// for pit in 0..4 {
    ///     // The same line for all: only the readings scatter.
    ///     let scatter = |x: f64| (5.0 * x + 2.0 * f64::from(pit)).sin();
    ///     lines.add(&(0..8).map(f64::from).map(|x| (x, x + scatter(x))).collect::<Vec<_>>())?;
    /// }
    /// assert!(lines.fit(Criterion::default())?.is_at_boundary());
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn is_at_boundary(&self) -> bool {
        self.is_at_boundary
    }

    /// Every pit's line, in the order in which they were added.
    ///
    /// ```
    /// # use soaklife::fleet::mixed::{Criterion, MixedLines};
    /// # let mut lines = MixedLines::new();
    /// # for pit in 0..5 {
    /// #     let start = 10.0 + f64::from(pit * pit % 3);
    /// #     lines.add(&(0..5).map(f64::from).map(|x| (x, start + x + (3.0 * x + start).sin())).collect::<Vec<_>>())?;
    /// # }
    /// assert_eq!(lines.fit(Criterion::default())?.groups()[0].readings, 5);
    /// # Ok::<(), soaklife::fleet::mixed::MixedError>(())
    /// ```
    #[must_use]
    pub fn groups(&self) -> &[GroupLine] {
        &self.groups
    }
}
