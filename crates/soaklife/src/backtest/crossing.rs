//! The inlet: when it was reached against when it was to be.

use super::losses::{Comparison, Losses};
use super::origin::InletOutcome;
use super::prediction::{Prediction, Range};
use super::tally::{RangeScore, Tally};
use super::{COVERAGES, range_scores};

/// Quantiles of the years to the inlet before which it should rarely be reached.
const EARLY: [f64; 2] = [0.05, 0.1];

/// How predictions of the years to the inlet came out, summed over pits.
///
/// It counts as reached on the day of the first reading that found it so, although that may have been some time later.
/// Where it has not been reached yet, a range whose upper end has passed was wrong; any other is undecided and not
/// counted. Years beyond the farthest horizon are scored as lying there.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::backtest::Plan;
/// # use soaklife::quantity::inches;
/// # use soaklife::{History, Method, Pit, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2020, 46.0), (2021, 43.5), (2022, 39.5), (2023, 37.0), (2024, 33.5), (2025, 30.0)];
/// let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// let inlet = &Plan::new(date(2026, 6, 30)).by([Method::Line]).replay([&history]).methods[0].crossing;
/// assert_eq!((inlet.cases, inlet.reached), (3, inlet.answered)); // asked in 2022, 2023 and 2024, reached in 2025
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CrossingScore {
    /// Pits with a prediction.
    pub pits: usize,
    /// Forecasts asked for.
    pub cases: usize,
    /// How many the method answered with all its ranges.
    pub answered: usize,
    /// After how many of those the inlet was reached.
    pub reached: usize,
    /// After how many of those it was to be reached by the last comparable reading: the sum of
    /// [`crate::Forecast::chance_by`].
    pub expected: f64,
    /// How often its ranges of 50, 80 and 90 % held, of those that could be judged.
    pub ranges: [RangeScore; COVERAGES.len()],
    /// How often it was reached before the quantiles of 5 and 10 %.
    pub early: [EarlyMisses; EARLY.len()],
    /// Mean distance of the median, years, where it was reached.
    pub error_years: Option<f64>,
    /// Mean pinball loss over the quantiles 5, 10, 25, 50, 75, 90 and 95 %, years, where it was reached.
    pub pinball_years: Option<f64>,
    /// Mean continuous ranked probability score from the same quantiles, years, where it was reached.
    pub crps_years: Option<f64>,
    /// 1 − score ÷ score of the line, on the cases both answered and the inlet was reached.
    pub skill_over_line: Option<f64>,
}

/// How often the inlet was reached earlier than it should but rarely be.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::backtest::Plan;
/// let nothing = Plan::new(date(2026, 6, 30)).replay([]);
/// let early = nothing.methods[0].crossing.early;
/// assert_eq!(early.map(|early| (early.probability, early.missed, early.of)), [(0.05, 0, 0), (0.1, 0, 0)]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarlyMisses {
    /// The probability of the quantile.
    pub probability: f64,
    /// How many were reached before it so far.
    pub missed: usize,
    /// Of how many forecasts.
    pub of: usize,
}

/// What is summed on the way to a [`CrossingScore`].
#[derive(Debug, Clone, Default)]
pub(super) struct CrossingSums {
    pits: usize,
    cases: usize,
    answered: usize,
    reached: usize,
    expected: f64,
    tallies: [Tally; COVERAGES.len()],
    missed_early: [usize; EARLY.len()],
    losses: Losses,
    over_line: Comparison,
}

impl CrossingSums {
    pub(super) fn add(
        &mut self,
        outcome: InletOutcome,
        predicted: Option<(&Prediction, f64)>,
        by_line: Option<&Prediction>,
    ) {
        self.cases += 1;
        let Some((predicted, chance)) = predicted else { return };
        self.answered += 1;
        self.expected += chance;
        for (tally, range) in self.tallies.iter_mut().zip(predicted.ranges) {
            if let Some(held) = range.and_then(|range| holds(range, outcome)) {
                tally.count(held);
            }
        }
        let Some(years) = outcome.reached else { return };
        self.reached += 1;
        for (missed, limit) in self.missed_early.iter_mut().zip(predicted.early_limits()) {
            *missed += usize::from(limit.is_some_and(|limit| years < limit));
        }
        self.losses.add(predicted, years);
        if let Some(line) = by_line {
            self.over_line.add(predicted.quantiles.crps(years), line.quantiles.crps(years));
        }
    }

    /// All cases so far were of one pit.
    pub(super) fn end_pit(&mut self) {
        self.pits = usize::from(self.answered > 0);
    }

    pub(super) fn merge(&mut self, next: &Self) {
        self.pits += next.pits;
        self.cases += next.cases;
        self.answered += next.answered;
        self.reached += next.reached;
        self.expected += next.expected;
        for (own, other) in self.tallies.iter_mut().zip(next.tallies) {
            own.merge(other);
        }
        for (own, other) in self.missed_early.iter_mut().zip(next.missed_early) {
            *own += other;
        }
        self.losses.merge(&next.losses);
        self.over_line.merge(&next.over_line);
    }

    pub(super) fn score(&self) -> CrossingScore {
        let means = self.losses.means();
        let early = |(probability, missed)| EarlyMisses { probability, missed, of: self.answered };
        let [five, ten] = self.missed_early;
        CrossingScore {
            pits: self.pits,
            cases: self.cases,
            answered: self.answered,
            reached: self.reached,
            expected: self.expected,
            ranges: range_scores(self.tallies),
            early: [(EARLY[0], five), (EARLY[1], ten)].map(early),
            error_years: means.map(|means| means.error),
            pinball_years: means.map(|means| means.pinball),
            crps_years: means.map(|means| means.crps),
            skill_over_line: self.over_line.skill(),
        }
    }
}

/// Whether a range of years held, if that is decided.
fn holds(range: Range, outcome: InletOutcome) -> Option<bool> {
    match outcome.reached {
        Some(years) => Some(range.lower <= years && years <= range.upper),
        None if range.upper < outcome.followed => Some(false),
        None => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_not_come_yet_counts_only_against_a_range_that_has_passed() {
        let range = Range { lower: 2.0, upper: 4.0 };
        let outcome = |reached, followed| InletOutcome { reached, followed };
        for (found, held) in [
            (outcome(None, 1.0), None),
            (outcome(None, 3.0), None),
            (outcome(None, 4.0), None),
            (outcome(None, 4.5), Some(false)),
            (outcome(Some(1.0), 5.0), Some(false)),
            (outcome(Some(2.0), 5.0), Some(true)),
            (outcome(Some(4.0), 5.0), Some(true)),
            (outcome(Some(4.5), 5.0), Some(false)),
        ] {
            assert_eq!(holds(range, found), held, "{found:?}");
        }
        let never = Range { lower: f64::INFINITY, upper: f64::INFINITY };
        assert_eq!(holds(never, outcome(None, 30.0)), None);
        assert_eq!(holds(never, outcome(Some(30.0), 30.0)), Some(false));
    }
}
