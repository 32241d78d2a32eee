//! How often what was said held, and how much of that may be luck.

use crate::band::Coverage;
use crate::numerics::binomial::{ProportionInterval, exact_interval};

/// Confidence of the interval around a share.
const CONFIDENCE: f64 = 0.95;

/// How many of so many held.
///
/// ```
/// # use soaklife::backtest::Tally;
/// let tally = Tally { held: 31, of: 42 };
/// let luck = tally.interval();
/// assert_eq!(tally.share().map(|share| (share * 100.0).round()), Some(74.0));
/// assert_eq!([luck.lower, luck.upper].map(|limit| (limit * 100.0).round()), [58.0, 86.0]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// How many held.
    pub held: usize,
    /// How many could be judged.
    pub of: usize,
}

/// How often ranges of one coverage held.
///
/// ```
/// # use soaklife::Coverage;
/// # use soaklife::backtest::{RangeScore, Tally};
/// let score = RangeScore { coverage: Coverage::EIGHTY, tally: Tally { held: 31, of: 42 } };
/// let luck = score.tally.interval();
/// assert!(score.can_tell() && luck.lower < 0.8 && 0.8 < luck.upper); // as often as they should, for all that can be told
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeScore {
    /// How often the ranges should hold.
    pub coverage: Coverage,
    /// How often they did.
    pub tally: Tally,
}

impl Tally {
    /// Adds one that held or did not.
    pub(super) fn count(&mut self, held: bool) {
        self.of += 1;
        self.held += usize::from(held);
    }

    pub(super) fn merge(&mut self, next: Self) {
        self.held += next.held;
        self.of += next.of;
    }

    /// The share that held; none of none.
    ///
    /// ```
    /// # use soaklife::backtest::Tally;
    /// assert_eq!([Tally { held: 3, of: 4 }, Tally::default()].map(Tally::share), [Some(0.75), None]);
    /// ```
    #[must_use]
    pub fn share(self) -> Option<f64> {
        (self.of > 0).then(|| self.held as f64 / self.of as f64)
    }

    /// The true shares that luck alone can have led here, with 95 % confidence, if each was independent of the others
    /// ([`exact_interval`]).
    ///
    /// Replays of one pit are not quite: the true uncertainty is larger.
    ///
    /// ```
    /// # use soaklife::backtest::Tally;
    /// let all_of_ten = Tally { held: 10, of: 10 }.interval();
    /// assert_eq!(all_of_ten.upper, 1.0);
    /// assert!((all_of_ten.lower - 0.025f64.powf(0.1)).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn interval(self) -> ProportionInterval {
        let counted = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let everything = ProportionInterval { lower: 0.0, upper: 1.0 };
        exact_interval(counted(self.held), counted(self.of), CONFIDENCE).unwrap_or(everything)
    }
}

impl RangeScore {
    /// Whether there were enough replays to tell: with so many, ranges that always hold would stand out from the claim.
    ///
    /// That is so where cⁿ < 0.025 for n replays and a coverage of c.
    ///
    /// ```
    /// # use soaklife::Coverage;
    /// # use soaklife::backtest::{RangeScore, Tally};
    /// let after = |of: usize| RangeScore { coverage: Coverage::EIGHTY, tally: Tally { held: of, of } }.can_tell();
    /// assert_eq!([after(16), after(17)], [false, true]); // 0.8¹⁷ = 0.0225
    /// ```
    #[must_use]
    pub fn can_tell(&self) -> bool {
        let all = Tally { held: self.tally.of, of: self.tally.of };
        all.interval().lower > self.coverage.value()
    }
}
