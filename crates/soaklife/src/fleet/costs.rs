//! How prices and interest run, and what the owner of one pit sets aside.

use crate::numerics::compound_interest::{FactorError, Factors};
use thiserror::Error;

/// How prices and interest run, and how far one replacement may cost more or less than thought.
///
/// ```
/// use soaklife::fleet::CostModel;
/// let costs = CostModel::new(0.03, 0.02, 0.3)?;
/// assert_eq!(costs.interest(), 0.02);
/// # Ok::<(), soaklife::fleet::CostError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostModel {
    escalation: f64,
    interest: f64,
    spread: f64,
}

/// A rate or spread that cannot be used.
///
/// ```
/// use soaklife::fleet::{CostError, CostModel};
/// assert_eq!(CostModel::new(3.0, 0.02, 0.3), Err(CostError::Rate { found: 3.0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum CostError {
    /// A yearly rate that is surely a slip.
    #[error("a yearly rate lies between -0.5 and 1, as in 0.03 for 3 %, not {found}")]
    Rate {
        /// Rate found.
        found: f64,
    },
    /// A coefficient of variation out of bounds.
    #[error("the spread of a cost lies between 0 and 2, as in 0.3 for 30 %, not {found}")]
    Spread {
        /// Spread found.
        found: f64,
    },
}

impl CostModel {
    /// The yearly rise of costs and the yearly interest, fractions, and the coefficient of variation of one
    /// cost.
    ///
    /// # Errors
    /// [`CostError`] unless both rates lie from −0.5 to below 1 and the spread in 0–2.
    ///
    /// ```
    /// # use soaklife::fleet::CostModel;
    /// assert!(CostModel::new(0.0, 0.0, 0.0).is_ok());
    /// ```
    pub fn new(escalation: f64, interest: f64, spread: f64) -> Result<Self, CostError> {
        if let Some(found) = [escalation, interest].into_iter().find(|rate| !(-0.5..1.0).contains(rate)) {
            return Err(CostError::Rate { found });
        }
        if !(0.0..=2.0).contains(&spread) {
            return Err(CostError::Spread { found: spread });
        }
        Ok(Self { escalation, interest, spread })
    }

    /// The yearly rise of costs, a fraction.
    ///
    /// ```
    /// # use soaklife::fleet::CostModel;
    /// assert_eq!(CostModel::new(0.03, 0.02, 0.3).map(|costs| costs.escalation()), Ok(0.03));
    /// ```
    #[must_use]
    pub fn escalation(&self) -> f64 {
        self.escalation
    }

    /// The yearly interest, a fraction.
    ///
    /// ```
    /// # use soaklife::fleet::CostModel;
    /// assert_eq!(CostModel::new(0.03, 0.02, 0.3).map(|costs| costs.interest()), Ok(0.02));
    /// ```
    #[must_use]
    pub fn interest(&self) -> f64 {
        self.interest
    }

    /// The coefficient of variation of one cost.
    ///
    /// ```
    /// # use soaklife::fleet::CostModel;
    /// assert_eq!(CostModel::new(0.03, 0.02, 0.3).map(|costs| costs.spread()), Ok(0.3));
    /// ```
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.spread
    }

    /// What a cost of today has become in so many years: cost × (1 + escalation)^years.
    ///
    /// ```
    /// # use soaklife::fleet::CostModel;
    /// let costs = CostModel::new(0.035, 0.0, 0.0)?;
    /// assert!((costs.cost_in(1_250.0, 3.25) - 1_397.87).abs() < 0.01); // an examination question, see tests/fleet_money.rs
    /// # Ok::<(), soaklife::fleet::CostError>(())
    /// ```
    #[must_use]
    pub fn cost_in(&self, cost: f64, years: f64) -> f64 {
        cost * (years * self.escalation.ln_1p()).exp()
    }

    /// What one in so many years is worth today: (1 + interest)^−years.
    pub(super) fn worth_of(&self, years: f64) -> f64 {
        (-years * self.interest.ln_1p()).exp()
    }
}

/// What the owner of one pit sets aside at the end of each year to have its replacement paid when it fails in
/// so many years.
///
/// # Formula
/// A = cost (1 + e)ᵀ · i/((1 + i)ᵀ − 1): the escalated cost times A/F. For a reserve that is enough with a
/// probability, T is the year by which the pit fails with the rest of it: 80 % enough means the year that 20 %
/// fail before.
///
/// # Errors
/// [`FactorError`] unless the years are above zero and the factors can be told.
///
/// # Example
/// ```
/// use soaklife::fleet::{CostModel, sinking_fund};
/// let costs = CostModel::new(0.03, 0.02, 0.0)?;
/// assert!((sinking_fund(10_000.0, &costs, 12.0)? - 1_063.04).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Source
/// A/F of [`Factors`]; the example is worked by hand in `tests/fleet_money.rs`.
pub fn sinking_fund(cost: f64, costs: &CostModel, years: f64) -> Result<f64, FactorError> {
    let factors = Factors::new(costs.interest, years)?;
    let set_aside = costs.cost_in(cost, years) * factors.sinking_fund;
    if set_aside.is_finite() {
        Ok(set_aside)
    } else {
        Err(FactorError::TooLarge { rate: costs.escalation, periods: years })
    }
}
