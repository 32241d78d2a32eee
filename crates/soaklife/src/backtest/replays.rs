//! What is summed on the way to a [`Backtest`], pit by pit.

use super::crossing::CrossingSums;
use super::horizon::Horizon;
use super::level::LevelSums;
use super::origin::Origin;
use super::prediction::Prediction;
use super::{Backtest, MethodScore, Plan};
use crate::forecast::{Forecast, Method};
use jiff::civil::Date;

/// Sums over the replays of some pits.
///
/// [Merged](Self::merge) in another order they may differ in the last digits; in the same order they are the same bits,
/// whichever thread made them.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::backtest::{Plan, Replays};
/// let plan = Plan::new(date(2026, 6, 30));
/// assert_eq!(Replays::none(&plan).backtest(), plan.replay([]));
/// ```
#[derive(Debug, Clone)]
pub struct Replays {
    as_of: Date,
    pits: usize,
    replays: usize,
    span: Option<(Date, Date)>,
    left_out: usize,
    methods: Vec<MethodSums>,
}

impl Replays {
    /// None yet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::{Plan, Replays};
    /// assert_eq!(Replays::none(&Plan::new(date(2026, 6, 30))).backtest().replays, 0);
    /// ```
    #[must_use]
    pub fn none(plan: &Plan) -> Self {
        let methods = plan.methods.iter().copied().map(MethodSums::new).collect();
        Self { as_of: plan.as_of, pits: 0, replays: 0, span: None, left_out: 0, methods }
    }

    /// Adds the replays of pits that come after these, of the same plan.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::{Plan, Replays};
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let dry = (2016..=2026).map(|year| Reading::dry(date(year, 5, 1)));
    /// # let history = History::new(pit).with_readings(dry);
    /// let plan = Plan::new(date(2026, 6, 30));
    /// let of_pit = plan.replay_pit(&history, &Hypotheses::default());
    /// let mut of_both = of_pit.clone();
    /// of_both.merge(&of_pit);
    /// assert_eq!((of_both.backtest().pits, of_both.backtest().replays), (2, 16)); // eight of each
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn merge(&mut self, next: &Self) {
        self.pits += next.pits;
        self.replays += next.replays;
        self.left_out += next.left_out;
        self.span = match (self.span, next.span) {
            (Some((first, last)), Some((other_first, other_last))) => {
                Some((first.min(other_first), last.max(other_last)))
            }
            (own, other) => own.or(other),
        };
        for (own, other) in self.methods.iter_mut().zip(&next.methods) {
            own.merge(other);
        }
    }

    /// How the forecasts came out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::{Plan, Replays};
    /// # use soaklife::Method;
    /// let backtest = Replays::none(&Plan::new(date(2026, 6, 30))).backtest();
    /// assert_eq!(backtest.methods.len(), Method::ALL.len());
    /// ```
    #[must_use]
    pub fn backtest(&self) -> Backtest {
        Backtest {
            as_of: self.as_of,
            pits: self.pits,
            replays: self.replays,
            span: self.span,
            left_out: self.left_out,
            methods: self.methods.iter().map(MethodSums::score).collect(),
        }
    }

    /// One pit, replayed from these origins.
    pub(super) fn of_pit(
        plan: &Plan,
        (origins, left_out): &(Vec<Origin>, usize),
        forecast: impl Fn(&Origin, Method) -> Option<Forecast>,
    ) -> Self {
        let days = || origins.iter().map(|origin| origin.day);
        let mut replays = Self {
            pits: usize::from(!origins.is_empty()),
            replays: origins.len(),
            span: days().min().zip(days().max()),
            left_out: *left_out,
            ..Self::none(plan)
        };
        for origin in origins {
            let by_line = forecast(origin, Method::Line);
            for sums in &mut replays.methods {
                match sums.method {
                    Method::Line => sums.add(origin, by_line.as_ref(), by_line.as_ref()),
                    method => sums.add(origin, forecast(origin, method).as_ref(), by_line.as_ref()),
                }
            }
        }
        replays.methods.iter_mut().for_each(MethodSums::end_pit);
        replays
    }
}

/// What is summed on the way to a [`MethodScore`].
#[derive(Debug, Clone)]
struct MethodSums {
    method: Method,
    levels: [LevelSums; Horizon::ALL.len()],
    crossing: CrossingSums,
}

impl MethodSums {
    fn new(method: Method) -> Self {
        Self { method, levels: Horizon::ALL.map(LevelSums::new), crossing: CrossingSums::default() }
    }

    fn add(&mut self, origin: &Origin, forecast: Option<&Forecast>, by_line: Option<&Forecast>) {
        for level in &mut self.levels {
            let Some(found) = level.horizon().of(&origin.later) else { continue };
            let predicted = |forecast| Prediction::of_reading(forecast, found.years);
            let (own, line) = (forecast.and_then(predicted), by_line.and_then(predicted));
            level.add(origin, found, own.as_ref(), line.as_ref());
        }
        let own = forecast.and_then(|forecast| {
            Some((Prediction::of_crossing(forecast)?, forecast.chance_by(origin.inlet.followed)))
        });
        let line = by_line.and_then(Prediction::of_crossing);
        let own = own.as_ref().map(|(prediction, chance)| (prediction, *chance));
        self.crossing.add(origin.inlet, own, line.as_ref());
    }

    /// Counts the pit where it was answered.
    fn end_pit(&mut self) {
        self.levels.iter_mut().for_each(LevelSums::end_pit);
        self.crossing.end_pit();
    }

    fn merge(&mut self, next: &Self) {
        for (own, other) in self.levels.iter_mut().zip(&next.levels) {
            own.merge(other);
        }
        self.crossing.merge(&next.crossing);
    }

    fn score(&self) -> MethodScore {
        MethodScore {
            method: self.method,
            levels: self.levels.iter().map(LevelSums::score).collect(),
            crossing: self.crossing.score(),
        }
    }
}
