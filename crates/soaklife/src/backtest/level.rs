//! Later readings against their predictions.

use super::horizon::Horizon;
use super::losses::{Comparison, Losses};
use super::origin::{LaterReading, Origin};
use super::prediction::Prediction;
use super::tally::{RangeScore, Tally};
use super::{COVERAGES, range_scores};
use crate::quantity::{Length, inches};

/// How later readings with a height came out against their predictions, summed over pits.
///
/// What is predicted is a reading of the stick, so the ranges are [`crate::Forecast::reading_band`]. A method that
/// gives none is scored by its median alone.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::backtest::Plan;
/// # use soaklife::quantity::{as_inches, inches};
/// # use soaklife::{History, Method, Pit, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// // Two inches a year to the day, so that the next reading is where a line says.
/// let read = (0..8i32).map(|n| {
///     let day = date(2018, 5, 10).checked_add(jiff::Span::new().days(365 * n)).ok()?;
///     Reading::at_level(&pit, day, inches(60.0 + 2.0 * f64::from(n))).ok()
/// });
/// let history = History::new(pit).with_readings(read.collect::<Option<Vec<_>>>().ok_or("no reading")?);
/// let backtest = Plan::new(date(2026, 6, 30)).by([Method::Line]).replay([&history]);
/// let next = &backtest.methods[0].levels[0];
/// assert_eq!((next.cases, next.answered), (5, 5));
/// assert!(next.error.is_some_and(|error| as_inches(error) < 1e-9));
/// assert!(next.no_change_error.is_some_and(|error| (as_inches(error) - 2.0).abs() < 1e-9));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LevelScore {
    /// Which later reading.
    pub horizon: Horizon,
    /// Pits with a prediction.
    pub pits: usize,
    /// Later readings to be predicted.
    pub cases: usize,
    /// How many the method predicted.
    pub answered: usize,
    /// How often its ranges of 50, 80 and 90 % held what was found.
    pub ranges: [RangeScore; COVERAGES.len()],
    /// Mean distance of the median.
    pub error: Option<Length>,
    /// Mean pinball loss over the quantiles 5, 10, 25, 50, 75, 90 and 95 %.
    pub pinball: Option<Length>,
    /// Mean continuous ranked probability score from the same quantiles.
    pub crps: Option<Length>,
    /// Mean distance of "the last level stays", which as a point is its score too, on the cases predicted.
    pub no_change_error: Option<Length>,
    /// 1 − score ÷ score of the line, on the cases both predicted.
    pub skill_over_line: Option<f64>,
    /// 1 − score ÷ score of "the last level stays".
    pub skill_over_no_change: Option<f64>,
}

/// What is summed on the way to a [`LevelScore`].
#[derive(Debug, Clone)]
pub(super) struct LevelSums {
    horizon: Horizon,
    pits: usize,
    cases: usize,
    answered: usize,
    tallies: [Tally; COVERAGES.len()],
    losses: Losses,
    over_line: Comparison,
    over_no_change: Comparison,
}

impl LevelSums {
    pub(super) fn new(horizon: Horizon) -> Self {
        Self {
            horizon,
            pits: 0,
            cases: 0,
            answered: 0,
            tallies: Default::default(),
            losses: Losses::default(),
            over_line: Comparison::default(),
            over_no_change: Comparison::default(),
        }
    }

    pub(super) fn horizon(&self) -> Horizon {
        self.horizon
    }

    pub(super) fn add(
        &mut self,
        origin: &Origin,
        found: LaterReading,
        predicted: Option<&Prediction>,
        by_line: Option<&Prediction>,
    ) {
        self.cases += 1;
        let Some(predicted) = predicted else { return };
        let found_in = found.level_in;
        self.answered += 1;
        for (tally, range) in self.tallies.iter_mut().zip(predicted.ranges) {
            if let Some(range) = range {
                tally.count(range.lower <= found_in && found_in <= range.upper);
            }
        }
        self.losses.add(predicted, found_in);
        let score = predicted.quantiles.crps(found_in);
        if let Some(line) = by_line {
            self.over_line.add(score, line.quantiles.crps(found_in));
        }
        self.over_no_change.add(score, (found_in - origin.level_in).abs());
    }

    /// All cases so far were of one pit.
    pub(super) fn end_pit(&mut self) {
        self.pits = usize::from(self.answered > 0);
    }

    pub(super) fn merge(&mut self, next: &Self) {
        self.pits += next.pits;
        self.cases += next.cases;
        self.answered += next.answered;
        for (own, other) in self.tallies.iter_mut().zip(next.tallies) {
            own.merge(other);
        }
        self.losses.merge(&next.losses);
        self.over_line.merge(&next.over_line);
        self.over_no_change.merge(&next.over_no_change);
    }

    pub(super) fn score(&self) -> LevelScore {
        let means = self.losses.means();
        LevelScore {
            horizon: self.horizon,
            pits: self.pits,
            cases: self.cases,
            answered: self.answered,
            ranges: range_scores(self.tallies),
            error: means.map(|means| inches(means.error)),
            pinball: means.map(|means| inches(means.pinball)),
            crps: means.map(|means| inches(means.crps)),
            no_change_error: self.over_no_change.reference().map(inches),
            skill_over_line: self.over_line.skill(),
            skill_over_no_change: self.over_no_change.skill(),
        }
    }
}
