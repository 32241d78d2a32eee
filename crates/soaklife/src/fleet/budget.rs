//! The budget: counts and money of the whole fleet and of its groups, fed pit by pit.

use super::calendar::YearsAhead;
use super::common_factor::CommonFactor;
use super::costs::CostModel;
use super::counts::CountDistribution;
use super::replacements::{ChancesError, Replacements};
use super::reserve::{Outlays, Reserve};
use crate::numerics::compound_sum::CompoundSum;
use std::collections::BTreeMap;
use thiserror::Error;

/// More groups than this are surely not meant: the column names pits, not groups of them.
pub(super) const MOST_GROUPS: usize = 500;

/// Counts and money of a fleet, as a whole and by group.
///
/// Memory is bounded: up to [`super::MOST_EXACT`] pits' chances a group, and no more than 500 groups.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
/// let years = YearsAhead::new(date(2026, 6, 30), 2)?;
/// let mut budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
/// for _ in 0..50 {
///     budget.add(&[0.01, 0.03, 0.05], 15_000.0, Some("loam"))?;
/// }
/// let next = budget.whole().year(1);
/// assert_eq!((next.calendar_year, next.count.p50), (2027, 1.0));
/// assert!((next.count.expected - 1.0).abs() < 1e-12 && next.money.p90 > next.money.expected);
/// assert_eq!(budget.groups().count(), 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Budget {
    whole: Fleet,
    groups: BTreeMap<String, Fleet>,
}

/// A number of pits taken together.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
/// # let years = YearsAhead::new(date(2026, 6, 30), 2)?;
/// let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
/// assert_eq!(budget.whole().pits(), 0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Fleet {
    years: YearsAhead,
    replacements: Replacements,
    outlays: Outlays,
}

/// Why a pit cannot be added.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::fleet::{Budget, CommonFactor, CostModel, GroupError, YearsAhead};
/// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
/// let mut budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
/// assert!(matches!(budget.add(&[0.1], 15_000.0, None), Err(GroupError::Pit(_))));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum GroupError {
    /// Its chances or its cost cannot be used.
    #[error(transparent)]
    Pit(#[from] ChancesError),
    /// Too many different groups.
    #[error(transparent)]
    TooMany(#[from] TooManyGroups),
}

/// Too many different groups: the column names pits, not groups of them.
///
/// ```
/// use soaklife::fleet::TooManyGroups;
/// assert!(TooManyGroups.to_string().contains("more than 500"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("there are more than {MOST_GROUPS} different groups: choose a column that many pits share")]
pub struct TooManyGroups;

/// One year of a budget.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
/// # let years = YearsAhead::new(date(2026, 6, 30), 2)?;
/// # let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
/// assert_eq!(budget.whole().year(2).calendar_year, 2028);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct YearBudget {
    /// The calendar year.
    pub calendar_year: i16,
    /// Pits that reach their inlet in it, or by its end.
    pub count: Spread,
    /// What that costs, in money of the year.
    pub money: Spread,
}

/// An uncertain number in short.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
/// # let years = YearsAhead::new(date(2026, 6, 30), 2)?;
/// # let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
/// let count = budget.whole().year(0).count;
/// assert_eq!((count.expected, count.p90), (0.0, 0.0)); // no pit yet
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The mean.
    pub expected: f64,
    /// The standard deviation.
    pub standard_deviation: f64,
    /// The lower end of the middle 95 %.
    pub p025: f64,
    /// The lower end of the middle 80 %.
    pub p10: f64,
    /// The median.
    pub p50: f64,
    /// The upper end of the middle 80 %.
    pub p90: f64,
    /// The upper end of the middle 95 %.
    pub p975: f64,
}

impl Spread {
    fn of_count(count: &CountDistribution) -> Self {
        let quantile = |probability| count.quantile(probability).unwrap_or_default() as f64;
        Self::of(count.expected(), count.standard_deviation(), quantile)
    }

    fn of_money(money: &CompoundSum) -> Self {
        Self::of(money.mean(), money.standard_deviation(), |probability| money.quantile(probability))
    }

    fn of(expected: f64, standard_deviation: f64, quantile: impl Fn(f64) -> f64) -> Self {
        let [p025, p10, p50, p90, p975] = [0.025, 0.1, 0.5, 0.9, 0.975].map(quantile);
        Self { expected, standard_deviation, p025, p10, p50, p90, p975 }
    }
}

impl Budget {
    /// No pit yet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// let years = YearsAhead::new(date(2026, 6, 30), 10)?;
    /// let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// assert_eq!(budget.whole().years().len(), 11);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(years: YearsAhead, factor: CommonFactor, costs: CostModel) -> Self {
        let replacements = Replacements::new(years.len(), factor);
        let outlays = Outlays::new(&years, costs);
        Self { whole: Fleet { years, replacements, outlays }, groups: BTreeMap::new() }
    }

    /// One pit more: its chances of having reached the inlet by the end of each year, the cost of its
    /// replacement today, and the group it belongs to.
    ///
    /// # Errors
    /// [`GroupError`]; nothing of the pit is added then.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// budget.add(&[0.0, 0.1], 15_000.0, None)?;
    /// assert_eq!(budget.whole().pits(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn add(&mut self, chances: &[f64], cost: f64, group: Option<&str>) -> Result<(), GroupError> {
        if let Some(name) = group {
            if self.groups.len() >= MOST_GROUPS && !self.groups.contains_key(name) {
                return Err(TooManyGroups.into());
            }
            let fresh = || self.whole.emptied();
            match self.groups.get_mut(name) {
                Some(fleet) => fleet.add(chances, cost)?,
                None => {
                    let mut fleet = fresh();
                    fleet.add(chances, cost)?;
                    self.groups.insert(name.to_owned(), fleet);
                }
            }
        }
        Ok(self.whole.add(chances, cost)?)
    }

    /// All pits.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// budget.add(&[0.0, 0.1], 15_000.0, Some("clay"))?;
    /// assert_eq!(budget.whole().by_end_of(1).count.expected, 0.1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn whole(&self) -> &Fleet {
        &self.whole
    }

    /// The groups by name.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// budget.add(&[0.0, 0.1], 15_000.0, Some("clay"))?;
    /// assert!(budget.groups().map(|(name, fleet)| (name, fleet.pits())).eq([("clay", 1)]));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn groups(&self) -> impl Iterator<Item = (&str, &Fleet)> {
        self.groups.iter().map(|(name, fleet)| (name.as_str(), fleet))
    }
}

impl Fleet {
    fn emptied(&self) -> Self {
        let replacements = self.replacements.emptied();
        Self { years: self.years.clone(), replacements, outlays: self.outlays.emptied() }
    }

    fn add(&mut self, chances: &[f64], cost: f64) -> Result<(), ChancesError> {
        // The outlays check all that the replacements check, and the cost besides.
        self.outlays.add(chances, cost)?;
        self.replacements.add(chances)
    }

    /// How many pits there are.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// assert_eq!(budget.whole().pits(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pits(&self) -> u64 {
        self.replacements.pits()
    }

    /// The years it looks at.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// assert_eq!(budget.whole().years().as_of(), date(2026, 6, 30));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years(&self) -> &YearsAhead {
        &self.years
    }

    /// How many fail, as whole distributions.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let budget = Budget::new(years, CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3)?);
    /// assert!(budget.whole().replacements().in_year(0).is_exact());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn replacements(&self) -> &Replacements {
        &self.replacements
    }

    /// The year at a place, from 0 for the rest of the present one on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::NONE, CostModel::new(0.0, 0.02, 0.0)?);
    /// budget.add(&[1.0, 1.0], 15_000.0, None)?;
    /// assert_eq!(budget.whole().year(0).money.expected, 15_000.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn year(&self, place: usize) -> YearBudget {
        let count = self.replacements.in_year(place);
        self.told(place, &count, &self.outlays.in_year(place, &count))
    }

    /// Everything up to the end of the year at a place.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::NONE, CostModel::new(0.0, 0.02, 0.0)?);
    /// budget.add(&[0.25, 0.5], 15_000.0, None)?;
    /// assert_eq!(budget.whole().by_end_of(1).money.expected, 7_500.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn by_end_of(&self, place: usize) -> YearBudget {
        let count = self.replacements.by_end_of(place);
        self.told(place, &count, &self.outlays.by_end_of(place, &count))
    }

    fn told(&self, place: usize, count: &CountDistribution, money: &CompoundSum) -> YearBudget {
        YearBudget {
            calendar_year: self.years.calendar_year(place),
            count: Spread::of_count(count),
            money: Spread::of_money(money),
        }
    }

    /// What to set aside each year for all of it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{Budget, CommonFactor, CostModel, YearsAhead};
    /// # let years = YearsAhead::new(date(2026, 6, 30), 1)?;
    /// # let mut budget = Budget::new(years, CommonFactor::NONE, CostModel::new(0.0, 0.0, 0.0)?);
    /// budget.add(&[0.25, 1.0], 15_000.0, None)?;
    /// assert!((budget.whole().reserve().level_of_expected() - 10_000.0).abs() < 100.0); // in one year and a half
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reserve(&self) -> Reserve {
        self.outlays.reserve(&self.replacements.by_end_of(self.years.len().saturating_sub(1)))
    }
}
