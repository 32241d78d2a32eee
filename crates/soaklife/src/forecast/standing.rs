//! How the level stands and moves: the record as one of the methods understood it.

use super::{ForecastError, Method, Question};
use crate::date::PartialDate;
use crate::history::{History, ReadingUse, Verdict};
use crate::loading::use_ahead::UseAhead;
use crate::pit::Pit;
use crate::quantity::as_inches;
use crate::trend::absorption::{Absorption, Hypotheses, Passage};
use crate::trend::axis::Axis;
use crate::trend::line::LineTrend;
use crate::trend::rank::RankTrend;
use crate::trend::{TrendError, TrendPoint};

/// How the level stands and moves.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Standing {
    /// The pit has reached its inlet: a line has nothing left to forecast.
    AtInlet,
    Absorption(Box<Absorbed>),
    Line(LineTrend),
    Rank(RankTrend),
}

/// The absorption method's answer: the record followed, and when it reaches what was asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Absorbed {
    pub(super) absorption: Absorption,
    /// To the goal.
    pub(super) passage: Passage,
    /// To the inlet, where the goal is an action freeboard.
    to_inlet: Option<Passage>,
}

impl Absorbed {
    pub(super) fn follow(
        history: &History,
        question: &Question,
        experience: &Hypotheses,
    ) -> Result<(Self, Vec<ReadingUse>), ForecastError> {
        let (absorption, readings) = Absorption::follow_with_verdicts(history, question.as_of(), experience);
        let absorption = match question.use_ahead() {
            UseAhead::Drifts => absorption,
            stated => absorption.with_use(stated),
        };
        Ok((Self::ahead(absorption, history.pit(), question)?, readings))
    }

    /// What lies ahead by the record as it was followed.
    pub(super) fn ahead(
        absorption: Absorption,
        pit: &Pit,
        question: &Question,
    ) -> Result<Self, ForecastError> {
        let depth_in = as_inches(pit.effective_depth());
        let action_in = as_inches(question.action_freeboard());
        let goal_in = if action_in > 0.0 {
            as_inches(pit.effective_depth() - question.action_freeboard())
        } else {
            depth_in
        };
        let reaches = |level_in: f64| absorption.reaches(level_in).ok_or(ForecastError::NotFinite);
        let passage = reaches(goal_in)?;
        let to_inlet = if action_in > 0.0 { Some(reaches(depth_in)?) } else { None };
        absorption.levels_until(&passage, 0.0, [0.5]).ok_or(ForecastError::NotFinite)?;
        Ok(Self { absorption, passage, to_inlet })
    }

    /// Levels that shares of pits like this lie below, inches above the bottom.
    ///
    /// Until the goal is reached by the law of the goal; beyond an action freeboard by the law of the inlet.
    pub(super) fn levels_in<const N: usize>(&self, years: f64, probabilities: [f64; N]) -> Option<[f64; N]> {
        let levels = self.absorption.levels_until(&self.passage, years, probabilities)?;
        let Some(to_inlet) = &self.to_inlet else { return Some(levels) };
        let goal_in = self.passage.goal_in();
        if levels.iter().all(|&level| level < goal_in) {
            return Some(levels);
        }
        let beyond = self.absorption.levels_until(to_inlet, years, probabilities)?;
        let mut both = levels;
        for (level, beyond) in both.iter_mut().zip(beyond) {
            if *level >= goal_in {
                *level = goal_in.max(beyond);
            }
        }
        Some(both)
    }

    pub(super) fn level_in(&self, years: f64, probability: f64) -> f64 {
        // That there is a level today was checked when the record was followed.
        self.levels_in(years.max(0.0), [probability]).map_or(0.0, |[level]| level)
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
