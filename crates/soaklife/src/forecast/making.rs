//! How a forecast is made: of a history, by what is typical of pits, and again under another load.

use super::standing::{Absorbed, Standing, fit};
use super::{Forecast, ForecastError, Method, Question};
use crate::date::years_between;
use crate::history::{CLOSE_TO_INLET_IN, FoundAtInlet, HandCheck, History, Reason, Verdict};
use crate::pit::Pit;
use crate::quantity::as_inches;
use crate::reading::Reading;
use crate::trend::TrendPoint;
use crate::trend::absorption::Hypotheses;
use crate::trend::axis::Axis;
use crate::trend::line::LineTrend;
use crate::trend::rank::RankTrend;
use crate::whatif::LoadChange;

/// A reading this many years before the last one is no news any more. Judgement, no source.
const LATELY_YEARS: f64 = 2.01;

impl Forecast {
    /// Forecasts one pit.
    ///
    /// # Errors
    /// [`ForecastError`], in words that can be shown to the owner.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.readings_used(), 6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(history: &History, question: &Question) -> Result<Self, ForecastError> {
        Self::by_experience(history, question, &Hypotheses::default())
    }

    /// The same with a population prior of one's own; only [`Method::Absorption`] asks it.
    ///
    /// # Errors
    /// As [`Forecast::of`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// use soaklife::prior::PopulationPrior;
    /// use soaklife::trend::absorption::Hypotheses;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2016, 5, 1));
    /// let busy = Hypotheses::new(PopulationPrior { typical_load_ratio: 0.9, ..PopulationPrior::default() })?;
    /// let question = Question::new(date(2026, 6, 30));
    /// let (usual, busy) = (Forecast::of(&history, &question)?, Forecast::by_experience(&history, &question, &busy)?);
    /// assert!(busy.chance_by(20.0) > usual.chance_by(20.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn by_experience(
        history: &History,
        question: &Question,
        experience: &Hypotheses,
    ) -> Result<Self, ForecastError> {
        let pit = *history.pit();
        refuse_unfit_action_freeboard(&pit, question)?;
        let as_of = question.as_of();
        let axis = Axis::new(history, question.against(), as_of);
        let for_a_line = history.readings_for_a_line(as_of);
        let hand_check = HandCheck::of_used(&pit, &for_a_line);
        let latest = history.latest_standing(as_of);
        let found = |is_credible: &dyn Fn(&Reading) -> bool| {
            history.found_at_inlet_by(as_of, question.action_freeboard(), is_credible)
        };
        let by_all = found(&|_| true);
        let has_reached = matches!(by_all, Some(FoundAtInlet::Reached { .. }));
        let (standing, readings, found_at_inlet) = match question.method() {
            Method::Absorption => {
                let (absorbed, readings) = Absorbed::follow(history, question, experience)?;
                let set_aside = |reading: &Reading| {
                    let of = readings.iter().find(|taken| taken.reading == *reading);
                    of.is_some_and(|taken| taken.verdict == Verdict::SetAside(Reason::OutOfLine))
                };
                let found = by_all.and_then(|_| found(&|reading| !set_aside(reading)));
                let found = found.map(|found| back_at_inlet(found, latest.as_ref(), &absorbed, &pit));
                (Standing::Absorption(Box::new(absorbed)), readings, found)
            }
            _ if has_reached => (Standing::AtInlet, for_a_line, by_all),
            method @ Method::Line => {
                let trend =
                    |points: &[TrendPoint]| LineTrend::fit_among_many(points, experience.usual_tails());
                (Standing::Line(fit(&pit, &axis, &for_a_line, method, trend)?), for_a_line, by_all)
            }
            method @ Method::Rank => {
                (Standing::Rank(fit(&pit, &axis, &for_a_line, method, RankTrend::fit)?), for_a_line, by_all)
            }
        };
        let mut forecast = Self {
            question: *question,
            pit,
            axis,
            hand_check,
            readings,
            latest,
            load_ratio: history.load().map(|load| load.ratio_at(as_of)),
            standing,
            found_at_inlet,
            close_to_inlet: latest.and_then(|latest| history.is_close_to_inlet(latest)),
            chance_now: 1.0,
        };
        forecast.chance_now = forecast.chance_at(0.0);
        Ok(forecast)
    }

    /// The same record and method under another load to come, of this ratio; by the absorption method the level follows
    /// it by each of these shares, each as likely as another.
    pub(crate) fn under(
        &self,
        change: &LoadChange,
        ratio: f64,
        followed: &[f64],
    ) -> Result<Self, ForecastError> {
        let mut changed = self.clone();
        changed.load_ratio = Some(ratio);
        if let Standing::Absorption(absorbed) = &mut changed.standing {
            let absorption = absorbed.absorption.under(change, followed);
            **absorbed = Absorbed::ahead(absorption, &self.pit, &self.question)?;
        } else {
            changed.axis = self.axis.under(change);
        }
        Ok(changed)
    }
}

/// A pit that was seen at its inlet lately, and then somewhat lower, is back where it stands close to the goal again, more likely than not.
fn back_at_inlet(
    found: FoundAtInlet,
    latest: Option<&Reading>,
    absorbed: &Absorbed,
    pit: &Pit,
) -> FoundAtInlet {
    let FoundAtInlet::Left { was, .. } = found else { return found };
    let lately = latest
        .is_some_and(|latest| years_between(was.date().middle(), latest.date().middle()) <= LATELY_YEARS);
    let close_in = absorbed.passage.goal_in().min(as_inches(pit.effective_depth())) - CLOSE_TO_INLET_IN;
    if lately && absorbed.level_in(0.0, 0.5) >= close_in {
        FoundAtInlet::Reached { since: was }
    } else {
        found
    }
}

fn refuse_unfit_action_freeboard(pit: &Pit, question: &Question) -> Result<(), ForecastError> {
    if question.action_freeboard() < pit.effective_depth() {
        return Ok(());
    }
    Err(ForecastError::ActionFreeboard {
        action_in: as_inches(question.action_freeboard()),
        effective_in: as_inches(pit.effective_depth()),
    })
}
