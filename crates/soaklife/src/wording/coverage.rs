//! How often ranges held, in words that claim no more than the replays can tell.

use super::with_noun;
use crate::backtest::{RangeScore, Tally};

/// How many were held, with what luck alone can do: "80 % ranges held 31 of 42 later readings (74 %; between 58 and
/// 86 % by chance alone)".
///
/// ```
/// use soaklife::Coverage;
/// use soaklife::backtest::{RangeScore, Tally};
/// use soaklife::wording::coverage::held;
/// let score = RangeScore { coverage: Coverage::EIGHTY, tally: Tally { held: 31, of: 42 } };
/// assert_eq!(held(&score), "80 % ranges held 31 of 42 later readings (74 %; between 58 and 86 % by chance alone)");
/// ```
#[must_use]
pub fn held(score: &RangeScore) -> String {
    let Tally { held, of } = score.tally;
    let readings = with_noun(&of.to_string(), "later reading");
    let told = format!("{} ranges held {held} of {readings}", percent(score.coverage.value()));
    let Some(share) = score.tally.share() else { return told };
    let luck = score.tally.interval();
    let (lower, upper) = (luck.lower * 100.0, percent(luck.upper));
    format!("{told} ({}; between {lower:.0} and {upper} by chance alone)", percent(share))
}

/// What that says about the claim.
///
/// ```
/// use soaklife::Coverage;
/// use soaklife::backtest::{RangeScore, Tally};
/// use soaklife::wording::coverage::verdict;
/// let after = |held, of| verdict(&RangeScore { coverage: Coverage::EIGHTY, tally: Tally { held, of } });
/// assert_eq!([after(31, 42), after(20, 42)], ["as often as they claim", "less often than they claim"]);
/// assert_eq!([after(42, 42), after(8, 10)], ["more often than they claim", "too few to tell"]);
/// ```
#[must_use]
pub fn verdict(score: &RangeScore) -> &'static str {
    let luck = score.tally.interval();
    let claim = score.coverage.value();
    if luck.upper < claim {
        "less often than they claim"
    } else if luck.lower > claim {
        "more often than they claim"
    } else if score.can_tell() {
        "as often as they claim"
    } else {
        "too few to tell"
    }
}

/// A share in whole percents.
///
/// ```
/// assert_eq!(soaklife::wording::coverage::percent(0.738), "74 %");
/// ```
#[must_use]
pub fn percent(share: f64) -> String {
    // Adding nothing makes of "-0" a 0.
    format!("{:.0} %", (share * 100.0).round() + 0.0)
}
