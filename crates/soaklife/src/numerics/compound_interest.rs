//! Compound interest: the six factors by which sums at different times are compared.

use thiserror::Error;

/// The factors of one rate over so many periods.
///
/// ```
/// use soaklife::numerics::compound_interest::Factors;
/// // Twenty periods at a quarter per cent: 1.0512 and 0.04882 in a printed factor table.
/// let factors = Factors::new(0.0025, 20.0)?;
/// assert_eq!((factors.compound_amount * 1e4).round(), 10_512.0);
/// assert_eq!((factors.sinking_fund * 1e5).round(), 4_882.0);
/// # Ok::<(), soaklife::numerics::compound_interest::FactorError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors {
    /// F/P: what one becomes.
    pub compound_amount: f64,
    /// P/F: what one at the end is worth now.
    pub present_worth: f64,
    /// A/F: what to set aside at the end of each period to have one at the end.
    pub sinking_fund: f64,
    /// F/A: what one at the end of each period becomes.
    pub series_compound_amount: f64,
    /// A/P: what repays one in equal parts at the end of each period.
    pub capital_recovery: f64,
    /// P/A: what one at the end of each period is worth now.
    pub series_present_worth: f64,
}

/// Why there are no factors.
///
/// ```
/// use soaklife::numerics::compound_interest::{FactorError, Factors};
/// assert_eq!(Factors::new(-1.0, 5.0), Err(FactorError::Rate { found: -1.0 }));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum FactorError {
    /// The rate is not a number above −1.
    #[error("a rate of {found} a period cannot be: give a fraction above -1, as in 0.02")]
    Rate {
        /// Rate found.
        found: f64,
    },
    /// The number of periods is not above zero.
    #[error("{found} periods cannot be: give a number above zero")]
    Periods {
        /// Periods found.
        found: f64,
    },
    /// A factor is too large or too small for a number.
    #[error("the factors of a rate of {rate} over {periods} periods are too large to compute with")]
    TooLarge {
        /// Rate given.
        rate: f64,
        /// Periods given.
        periods: f64,
    },
}

impl Factors {
    /// The factors of a rate i a period, a fraction, over n periods, which need not be whole.
    ///
    /// # Formula
    /// F/P = (1 + i)ⁿ, P/F its inverse; F/A = ((1 + i)ⁿ − 1)/i, A/F its inverse; P/A = (1 − (1 + i)⁻ⁿ)/i, A/P
    /// its inverse. At i = 0 the series factors are n. Differences are taken without cancellation, so that a
    /// rate of 1e-12 keeps all digits.
    ///
    /// # Errors
    /// [`FactorError`]: a rate of −1 or less, no period, or factors beyond the range of numbers.
    ///
    /// # Example
    /// ```
    /// use soaklife::numerics::compound_interest::Factors;
    /// let factors = Factors::new(0.02, 12.0)?;
    /// assert!((14_257.61 * factors.sinking_fund - 1_063.04).abs() < 0.01);
    /// assert_eq!(Factors::new(0.0, 12.0)?.series_present_worth, 12.0);
    /// # Ok::<(), soaklife::numerics::compound_interest::FactorError>(())
    /// ```
    ///
    /// # Source
    /// The discrete-compounding factors of any engineering-economics text; printed rows in
    /// `fixtures/published/trade/60_economic_factors.csv`.
    pub fn new(rate: f64, periods: f64) -> Result<Self, FactorError> {
        if !(rate.is_finite() && rate > -1.0) {
            return Err(FactorError::Rate { found: rate });
        }
        if !(periods.is_finite() && periods > 0.0) {
            return Err(FactorError::Periods { found: periods });
        }
        let growth = periods * rate.ln_1p();
        let (series_compound_amount, series_present_worth) = if rate == 0.0 {
            (periods, periods)
        } else {
            (growth.exp_m1() / rate, -(-growth).exp_m1() / rate)
        };
        let factors = Self {
            compound_amount: growth.exp(),
            present_worth: (-growth).exp(),
            sinking_fund: 1.0 / series_compound_amount,
            series_compound_amount,
            capital_recovery: 1.0 / series_present_worth,
            series_present_worth,
        };
        if factors.all().iter().all(|factor| factor.is_finite()) {
            Ok(factors)
        } else {
            Err(FactorError::TooLarge { rate, periods })
        }
    }

    fn all(&self) -> [f64; 6] {
        [
            self.compound_amount,
            self.present_worth,
            self.sinking_fund,
            self.series_compound_amount,
            self.capital_recovery,
            self.series_present_worth,
        ]
    }
}
