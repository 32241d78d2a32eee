//! How the level stands and moves: the record as one of the methods understood it.

use super::{ForecastError, Method, Question};
use crate::date::PartialDate;
use crate::history::{History, ReadingUse, Verdict};
use crate::pit::Pit;
use crate::quantity::as_inches;
use crate::reading::Reading;
use crate::trend::absorption::{Absorption, Hypotheses, Passage};
use crate::trend::axis::Axis;
use crate::trend::line::LineTrend;
use crate::trend::rank::RankTrend;
use crate::trend::{TrendError, TrendPoint};

/// How the level stands and moves.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Standing {
    /// The last reading found it at the inlet: there is nothing left to forecast.
    AtInlet {
        since: Reading,
    },
    Absorption(Box<Absorbed>),
    Line(LineTrend),
    Rank(RankTrend),
}

/// The absorption method's answer: the record followed, and when it reaches what was asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Absorbed {
    pub(super) absorption: Absorption,
    pub(super) passage: Passage,
    /// The last reading, if it found the liquid at the inlet and is likely to be right.
    pub(super) at_inlet: Option<Reading>,
}

impl Absorbed {
    pub(super) fn follow(
        history: &History,
        question: &Question,
        at_inlet: Option<Reading>,
        experience: &Hypotheses,
    ) -> Result<(Self, Vec<ReadingUse>), ForecastError> {
        let (absorption, readings) = Absorption::follow_with_verdicts(history, question.as_of(), experience);
        let threshold = history.pit().effective_depth() - question.action_freeboard();
        let passage = absorption.reaches(as_inches(threshold)).ok_or(ForecastError::NotFinite)?;
        absorption.level_in(0.0, 0.5).ok_or(ForecastError::NotFinite)?;
        let is_right =
            |taken: &ReadingUse| Some(taken.reading) == at_inlet && taken.verdict.weight().is_some();
        let at_inlet = at_inlet.filter(|_| readings.iter().any(is_right));
        Ok((Self { absorption, passage, at_inlet }, readings))
    }

    pub(super) fn level_in(&self, years: f64, probability: f64) -> f64 {
        // That there is a level today was checked when the record was followed.
        self.absorption.level_in(years.max(0.0), probability).unwrap_or_default()
    }
}

pub(super) fn fit<T>(
    pit: &Pit,
    axis: &Axis,
    readings: &[ReadingUse],
    method: Method,
    trend: impl FnOnce(&[TrendPoint]) -> Result<T, TrendError>,
) -> Result<T, ForecastError> {
    let mut points = Vec::with_capacity(readings.len());
    points.extend(readings.iter().filter_map(|taken| trend_point(pit, axis, taken)));
    let fitted = trend(&points);
    fitted.map_err(|error| match error {
        TrendError::TooFewReadings { used, needed } => {
            ForecastError::TooFewReadings { method, used, needed, set_aside: readings.len() - points.len() }
        }
        TrendError::TooManyReadings { used, most } => ForecastError::TooManyReadings { method, used, most },
        TrendError::NoSpread => ForecastError::NoSpread,
        TrendError::NotFinite { .. } | TrendError::OutOfRange => ForecastError::NotFinite,
    })
}

fn trend_point(pit: &Pit, axis: &Axis, reading: &ReadingUse) -> Option<TrendPoint> {
    let Verdict::Used { weight } = reading.verdict else { return None };
    let date = reading.reading.date();
    let spread = |date: PartialDate| date.standard_deviation_years() * axis.pace_at(date.middle());
    Some(TrendPoint {
        x: axis.at(date.middle()),
        x_standard_deviation: if date.is_exact() { 0.0 } else { spread(date) },
        level_in: as_inches(reading.reading.level(pit)),
        weight,
    })
}
