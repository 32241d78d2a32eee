//! How many pits fail: a distribution over whole numbers.

use crate::numerics::lattice_normal::Cumulants;

/// Points by which a refined normal is told to whoever adds up money.
const POINTS: f64 = 400.0;
/// How far those reach, in standard deviations.
const REACH: f64 = 7.0;
/// A mass that is not told to whoever adds up money.
const NEGLIGIBLE: f64 = 1e-13;

/// The distribution of a number of first failures.
///
/// ```
/// use soaklife::fleet::{CommonFactor, Replacements};
/// let mut fleet = Replacements::new(1, CommonFactor::NONE);
/// for chance in [0.5, 0.25, 0.125] {
///     fleet.add(&[chance])?;
/// }
/// let count = fleet.in_year(0);
/// assert_eq!((count.expected(), count.chance_of(0)), (0.875, 21.0 / 64.0));
/// assert_eq!((count.quantile(0.1), count.quantile(0.9)), (Some(0), Some(2)));
/// # Ok::<(), soaklife::fleet::ChancesError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CountDistribution {
    pub(super) expected: f64,
    pub(super) variance: f64,
    pub(super) form: Form,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Form {
    /// Masses from a first count on.
    Exact { first: u64, masses: Vec<f64> },
    /// Refined normals, each with its weight, for so many pits.
    Refined { parts: Vec<(f64, Cumulants)>, pits: u64 },
}

impl CountDistribution {
    /// The expected number.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(1, CommonFactor::default());
    /// fleet.add(&[0.25])?;
    /// assert_eq!(fleet.in_year(0).expected(), 0.25);
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    #[must_use]
    pub fn expected(&self) -> f64 {
        self.expected
    }

    /// The standard deviation, the shared error included.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(1, CommonFactor::NONE);
    /// fleet.add(&[0.5])?;
    /// assert_eq!(fleet.in_year(0).standard_deviation(), 0.5);
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    #[must_use]
    pub fn standard_deviation(&self) -> f64 {
        self.variance.sqrt()
    }

    /// Whether it is the exact distribution, and not the refined normal of very many pits.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// assert!(Replacements::new(1, CommonFactor::NONE).in_year(0).is_exact());
    /// ```
    #[must_use]
    pub fn is_exact(&self) -> bool {
        matches!(self.form, Form::Exact { .. })
    }

    /// The chance of exactly so many.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// assert_eq!(Replacements::new(1, CommonFactor::NONE).in_year(0).chance_of(0), 1.0);
    /// ```
    #[must_use]
    pub fn chance_of(&self, count: u64) -> f64 {
        match &self.form {
            Form::Exact { first, masses } => {
                let place = count.checked_sub(*first).and_then(|place| usize::try_from(place).ok());
                place.and_then(|place| masses.get(place)).copied().unwrap_or_default()
            }
            Form::Refined { .. } => {
                let below = count.checked_sub(1).map_or(0.0, |before| self.chance_of_at_most(before));
                (self.chance_of_at_most(count) - below).max(0.0)
            }
        }
    }

    /// The chance of so many or fewer.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// # let mut fleet = Replacements::new(1, CommonFactor::NONE);
    /// fleet.add(&[0.25])?;
    /// assert_eq!((fleet.in_year(0).chance_of_at_most(0), fleet.in_year(0).chance_of_at_most(1)), (0.75, 1.0));
    /// # Ok::<(), soaklife::fleet::ChancesError>(())
    /// ```
    #[must_use]
    pub fn chance_of_at_most(&self, count: u64) -> f64 {
        match &self.form {
            Form::Exact { first, masses } => {
                let Some(place) = count.checked_sub(*first) else { return 0.0 };
                let held = usize::try_from(place).unwrap_or(usize::MAX).saturating_add(1);
                masses.iter().take(held).sum::<f64>().min(1.0)
            }
            Form::Refined { pits, .. } if count >= *pits => 1.0,
            Form::Refined { parts, .. } => {
                parts.iter().map(|(weight, part)| weight * part.at_most(count as f64)).sum::<f64>().min(1.0)
            }
        }
    }

    /// The smallest number that is not exceeded with a probability; nothing unless it lies in 0–1.
    ///
    /// ```
    /// # use soaklife::fleet::{CommonFactor, Replacements};
    /// let nobody = Replacements::new(1, CommonFactor::NONE).in_year(0);
    /// assert_eq!((nobody.quantile(0.9), nobody.quantile(1.1)), (Some(0), None));
    /// ```
    #[must_use]
    pub fn quantile(&self, probability: f64) -> Option<u64> {
        // Masses add up to one to about 1e-15 only.
        const SLACK: f64 = 1e-13;
        if !(0.0..=1.0).contains(&probability) {
            return None;
        }
        match &self.form {
            Form::Exact { first, masses } => {
                let mut sum = 0.0;
                let reached = |mass: &f64| {
                    sum += mass;
                    sum + SLACK >= probability
                };
                let place = masses.iter().position(reached).unwrap_or(masses.len().saturating_sub(1));
                Some(first.saturating_add(place as u64))
            }
            Form::Refined { pits, .. } => {
                let (mut below, mut enough) = (-1i128, i128::from(*pits));
                while enough - below > 1 {
                    let middle = (below + enough) / 2;
                    let count = u64::try_from(middle).unwrap_or_default();
                    if self.chance_of_at_most(count) + SLACK >= probability {
                        enough = middle
                    } else {
                        below = middle
                    }
                }
                u64::try_from(enough).ok()
            }
        }
    }

    /// Numbers with their chances, few enough to add up money over: every count if exact, else some hundred
    /// steps.
    pub(crate) fn points(&self) -> Vec<(f64, f64)> {
        match &self.form {
            Form::Exact { first, masses } => {
                let counts = (*first..).map(|count| count as f64);
                counts.zip(masses.iter().copied()).filter(|(_, mass)| *mass > NEGLIGIBLE).collect()
            }
            Form::Refined { pits, .. } => {
                let sd = self.standard_deviation().max(1.0);
                let step = (2.0 * REACH * sd / POINTS).ceil().max(1.0) as u64;
                let begin = (self.expected - REACH * sd).max(0.0) as u64;
                let end = ((self.expected + REACH * sd).ceil() as u64).min(*pits);
                let mut below = begin.checked_sub(1).map_or(0.0, |count| self.chance_of_at_most(count));
                let mut points = Vec::new();
                let mut count = begin;
                while count <= end {
                    let last = count.saturating_add(step - 1).min(*pits);
                    let by_then = self.chance_of_at_most(last).max(below);
                    points.push((f64::midpoint(count as f64, last as f64), by_then - below));
                    below = by_then;
                    count = last.saturating_add(1);
                }
                points
            }
        }
    }
}
