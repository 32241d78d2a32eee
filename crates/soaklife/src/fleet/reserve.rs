//! Money: what the failures of each year cost, what they are worth today, what to set aside each year.

use super::calendar::YearsAhead;
use super::costs::CostModel;
use super::counts::CountDistribution;
use super::replacements::{ChancesError, checked};
use crate::numerics::compound_sum::CompoundSum;

/// What the failures of a fleet cost, fed pit by pit.
///
/// What fails in a year is paid at its middle, at the prices of then. Kept are three sums a year: Σq, Σqc and
/// Σqc² of the chance q of failing in it and the cost c. A sum of money is a number of failures times what a
/// failing pit costs: the mean and spread of one payment follow from the three sums and the spread of one cost;
/// the number from the [`CountDistribution`].
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
/// let years = YearsAhead::new(date(2027, 1, 1), 1)?; // two whole years
/// let mut fleet = Replacements::new(2, CommonFactor::NONE);
/// let mut outlays = Outlays::new(&years, CostModel::new(0.0, 0.0, 0.3)?);
/// for _ in 0..40 {
///     fleet.add(&[0.1, 0.2])?;
///     outlays.add(&[0.1, 0.2], 15_000.0)?;
/// }
/// let money = outlays.in_year(0, &fleet.in_year(0));
/// assert!((money.mean() - 60_000.0).abs() < 1e-6);
/// let reserve = outlays.reserve(&fleet.by_end_of(1));
/// let (even, safe) = (reserve.level(0.5).unwrap(), reserve.level(0.95).unwrap());
/// assert!(even < safe && (55_000.0..62_000.0).contains(&even));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Outlays {
    costs: CostModel,
    years: Vec<Year>,
}

/// One year: how long, when its payments fall due on average, and the sums over its failures.
#[derive(Debug, Clone, Copy)]
struct Year {
    length: f64,
    middle: f64,
    failures: f64,
    cost: f64,
    squared_cost: f64,
}

impl Outlays {
    /// No pit yet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// let nothing = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 5)?, CostModel::new(0.03, 0.02, 0.3)?);
    /// let nobody = Replacements::new(6, CommonFactor::default());
    /// assert_eq!(nothing.in_year(0, &nobody.in_year(0)).mean(), 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(years: &YearsAhead, costs: CostModel) -> Self {
        let year = |place: usize| {
            let (length, middle) = years.length_and_middle(place);
            Year { length, middle, failures: 0.0, cost: 0.0, squared_cost: 0.0 }
        };
        Self { costs, years: (0..years.len()).map(year).collect() }
    }

    /// One pit more: the chances that it has failed by the end of each year, and what its replacement costs
    /// today.
    ///
    /// # Errors
    /// [`ChancesError`], as [`super::Replacements::add`], and for a cost below zero or above a million
    /// millions.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CostModel, Outlays, YearsAhead};
    /// let mut outlays = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 1)?, CostModel::new(0.03, 0.02, 0.3)?);
    /// assert!(outlays.add(&[0.1, 0.2], 15_000.0).is_ok() && outlays.add(&[0.1, 0.2], -1.0).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn add(&mut self, chances: &[f64], cost: f64) -> Result<(), ChancesError> {
        const MOST: f64 = 1e12;
        checked(chances, self.years.len())?;
        if !(0.0..=MOST).contains(&cost) {
            return Err(ChancesError::Cost { found: cost });
        }
        let mut before = 0.0;
        for (year, &chance) in self.years.iter_mut().zip(chances) {
            let failing = chance - before;
            year.failures += failing;
            year.cost += failing * cost;
            year.squared_cost += failing * cost * cost;
            before = chance;
        }
        Ok(())
    }

    /// The same years and costs without a pit.
    pub(crate) fn emptied(&self) -> Self {
        let empty = |year: &Year| Year { failures: 0.0, cost: 0.0, squared_cost: 0.0, ..*year };
        Self { costs: self.costs, years: self.years.iter().map(empty).collect() }
    }

    /// What the failures of the year at a place cost, at its prices, when their number is as distributed.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let years = YearsAhead::new(date(2027, 1, 1), 1)?;
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// # let mut outlays = Outlays::new(&years, CostModel::new(0.0, 0.0, 0.0)?);
    /// fleet.add(&[0.5, 0.5])?;
    /// outlays.add(&[0.5, 0.5], 10_000.0)?;
    /// assert_eq!(outlays.in_year(0, &fleet.in_year(0)).mean(), 5_000.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn in_year(&self, place: usize, count: &CountDistribution) -> CompoundSum {
        let year = self.years.get(place..=place).unwrap_or_default();
        self.paid(year, count, |year| self.costs.cost_in(1.0, year.middle))
    }

    /// What the failures cost by the end of the year at a place, each at the prices of its year.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let years = YearsAhead::new(date(2027, 1, 1), 1)?;
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// # let mut outlays = Outlays::new(&years, CostModel::new(0.0, 0.0, 0.0)?);
    /// fleet.add(&[0.25, 0.5])?;
    /// outlays.add(&[0.25, 0.5], 10_000.0)?;
    /// assert_eq!(outlays.by_end_of(1, &fleet.by_end_of(1)).mean(), 5_000.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn by_end_of(&self, place: usize, count: &CountDistribution) -> CompoundSum {
        let years = self.years.get(..=place).unwrap_or(&self.years);
        self.paid(years, count, |year| self.costs.cost_in(1.0, year.middle))
    }

    /// What all failures are worth today, and the level reserve that follows.
    ///
    /// A pit fails once at most, so the payments are as many as pits fail in all: their exact number is
    /// compounded with the mean and spread of one discounted payment. That the common factor also moves
    /// failures from year to year is left out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let years = YearsAhead::new(date(2027, 1, 1), 1)?;
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// # let mut outlays = Outlays::new(&years, CostModel::new(0.0, 0.0, 0.0)?);
    /// fleet.add(&[0.5, 1.0])?;
    /// outlays.add(&[0.5, 1.0], 10_000.0)?;
    /// let reserve = outlays.reserve(&fleet.by_end_of(1));
    /// assert!((reserve.level_of_expected() - 5_000.0).abs() < 4.0); // a year has 365.25 days
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reserve(&self, failed_in_all: &CountDistribution) -> Reserve {
        let worth = |year: &Year| self.costs.cost_in(1.0, year.middle) * self.costs.worth_of(year.middle);
        let one_a_year = self.years.iter().map(|year| year.length * self.costs.worth_of(year.middle)).sum();
        let mut fund = Vec::with_capacity(self.years.len());
        let mut reserve = Reserve {
            present_worth: self.paid(&self.years, failed_in_all, worth),
            one_a_year,
            fund: Vec::new(),
        };
        let level = reserve.level_of_expected();
        let mut held = 0.0;
        for year in &self.years {
            // Paid in and out at the middle of the year, with interest to its end.
            let growth = (year.length * self.costs.interest().ln_1p()).exp();
            let paid_out = year.cost * self.costs.cost_in(1.0, year.middle);
            held = held * growth + (level * year.length - paid_out) * growth.sqrt();
            fund.push(held);
        }
        reserve.fund = fund;
        reserve
    }

    /// Payments of some years, each multiplied by a factor of its year.
    fn paid(&self, years: &[Year], count: &CountDistribution, factor: impl Fn(&Year) -> f64) -> CompoundSum {
        let sum = |of: &dyn Fn(&Year) -> f64| years.iter().map(of).sum::<f64>();
        let failures = sum(&|year| year.failures);
        if failures <= 0.0 {
            return CompoundSum::new([(0.0, 1.0)], 0.0, 0.0);
        }
        let each = sum(&|year| year.cost * factor(year)) / failures;
        let squared = sum(&|year| year.squared_cost * factor(year).powi(2)) / failures;
        let variance = squared * (1.0 + self.costs.spread() * self.costs.spread()) - each * each;
        // Equal costs differ by a rounding.
        let spread = if variance > 1e-12 * squared { variance.sqrt() } else { 0.0 };
        CompoundSum::new(count.points(), each, spread)
    }
}

/// What all failures are worth today, and what to set aside each year for them.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
/// # let outlays = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 5)?, CostModel::new(0.03, 0.02, 0.3)?);
/// let reserve = outlays.reserve(&Replacements::new(6, CommonFactor::default()).by_end_of(5));
/// assert_eq!(reserve.level(0.95), Some(0.0)); // no pit, no money
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Reserve {
    present_worth: CompoundSum,
    /// Worth today of one set aside a year.
    one_a_year: f64,
    fund: Vec<f64>,
}

impl Reserve {
    /// What all payments are worth today.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let outlays = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 5)?, CostModel::new(0.03, 0.02, 0.3)?);
    /// # let reserve = outlays.reserve(&Replacements::new(6, CommonFactor::default()).by_end_of(5));
    /// assert_eq!(reserve.present_worth().mean(), 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn present_worth(&self) -> &CompoundSum {
        &self.present_worth
    }

    /// The level amount a year that pays for everything with a probability; nothing unless it lies between 0
    /// and 1.
    ///
    /// It is set aside evenly through the years, for the rest of the present one in proportion. Enough in the
    /// end does not mean enough in every year: [`Reserve::expected_fund`] says when the fund is likely to be
    /// short.
    ///
    /// # Formula
    /// Quantile of the present worth ÷ Σ lengthᵧ (1 + i)^−middleᵧ.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let outlays = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 5)?, CostModel::new(0.03, 0.02, 0.3)?);
    /// # let reserve = outlays.reserve(&Replacements::new(6, CommonFactor::default()).by_end_of(5));
    /// assert_eq!(reserve.level(1.0), None); // nothing is certain
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, coverage: f64) -> Option<f64> {
        (coverage > 0.0 && coverage < 1.0).then(|| self.present_worth.quantile(coverage) / self.one_a_year)
    }

    /// The level amount a year whose worth is the expected one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let outlays = Outlays::new(&YearsAhead::new(date(2026, 6, 30), 5)?, CostModel::new(0.03, 0.02, 0.3)?);
    /// # let reserve = outlays.reserve(&Replacements::new(6, CommonFactor::default()).by_end_of(5));
    /// assert_eq!(reserve.level_of_expected(), 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_of_expected(&self) -> f64 {
        self.present_worth.mean() / self.one_a_year
    }

    /// What a fund fed with [`Reserve::level_of_expected`] holds at the end of each year, if what is expected
    /// is paid; below zero it is short. It begins and ends at nothing.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::{CommonFactor, CostModel, Outlays, Replacements, YearsAhead};
    /// # let years = YearsAhead::new(date(2027, 1, 1), 1)?;
    /// # let mut fleet = Replacements::new(2, CommonFactor::NONE);
    /// # let mut outlays = Outlays::new(&years, CostModel::new(0.03, 0.02, 0.0)?);
    /// fleet.add(&[0.2, 1.0])?;
    /// outlays.add(&[0.2, 1.0], 10_000.0)?;
    /// let reserve = outlays.reserve(&fleet.by_end_of(1));
    /// let fund = reserve.expected_fund();
    /// assert!(fund[0] > 2_000.0 && fund[1].abs() < 1e-6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn expected_fund(&self) -> &[f64] {
        &self.fund
    }
}
