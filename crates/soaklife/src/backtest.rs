//! How earlier forecasts from the same readings would have done.
//!
//! On each day on which a pit was read, a forecast is made from what could be known then, and compared with what later
//! readings showed: their levels, and when one of them stood at the inlet. An *origin* is such a day. It is asked for
//! a forecast if enough readings spoke for the pit by then, the reading of that day is one of them, and it found
//! freeboard left.
//!
//! Nothing later reaches a forecast ([`History::known_by`]): no reading, no event, no other load. Only the pit itself is
//! as it is described today; days on which the rim or the pit was another are left out. A reading is compared with
//! earlier forecasts only until a repair, a rest or another fresh start; one that the history sets aside on its own day
//! is not compared.
//!
//! What this cannot show: replays of one pit share most of their readings, so they are worth fewer than their number,
//! and pits that failed and were replaced are missing among those replayed.

mod crossing;
mod horizon;
mod level;
mod losses;
mod origin;
mod prediction;
mod replays;
mod tally;

pub use crossing::{CrossingScore, EarlyMisses};
pub use horizon::Horizon;
pub use level::LevelScore;
pub use replays::Replays;
pub use tally::{RangeScore, Tally};

use crate::band::Coverage;
use crate::forecast::{Forecast, Method, Question};
use crate::history::History;
use crate::trend::absorption::Hypotheses;
use crate::trend::axis::Against;
use jiff::civil::Date;
use origin::Origin;

/// Coverages of the ranges scored.
const COVERAGES: [Coverage; 3] = [Coverage::HALF, Coverage::EIGHTY, Coverage::NINETY];

/// Readings an origin needs unless asked otherwise: those of a line.
const FEWEST_READINGS: usize = crate::trend::line::FEWEST_READINGS;

/// What is replayed: which methods, against what, from how many readings on, and up to which day.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::backtest::{Horizon, Plan};
/// use soaklife::quantity::{as_inches, inches};
/// use soaklife::{History, Method, Pit, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2020, 104.0), (2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// let readings = depths
///     .into_iter()
///     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
///     .collect::<Result<Vec<_>, _>>()?;
/// let history = History::new(pit).with_readings(readings);
///
/// let backtest = Plan::new(date(2026, 6, 30)).by([Method::Line]).replay([&history]);
/// assert_eq!(backtest.replays, 4); // asked in 2022, 2023, 2024 and 2025
/// let next = &backtest.methods[0].levels[0];
/// assert_eq!((next.horizon, next.answered), (Horizon::NextReading, 4));
/// assert!(next.error.is_some_and(|error| as_inches(error) < 2.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    as_of: Date,
    methods: Vec<Method>,
    against: Against,
    fewest_readings: usize,
    experience: Hypotheses,
}

/// How the forecasts of the past came out.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::backtest::Plan;
/// # use soaklife::Method;
/// let nothing = Plan::new(date(2026, 6, 30)).replay([]);
/// assert_eq!((nothing.replays, nothing.methods.len()), (0, Method::ALL.len()));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Backtest {
    /// Nothing later counted at all.
    pub as_of: Date,
    /// Pits with an origin.
    pub pits: usize,
    /// Origins, over all pits.
    pub replays: usize,
    /// The first and the last of them.
    pub span: Option<(Date, Date)>,
    /// Days of readings left out because the rim or the pit was another then.
    pub left_out: usize,
    /// One score a method, in the order of the plan.
    pub methods: Vec<MethodScore>,
}

/// How one method came out.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::backtest::{Horizon, Plan};
/// let nothing = Plan::new(date(2026, 6, 30)).replay([]);
/// let horizons: Vec<Horizon> = nothing.methods[0].levels.iter().map(|score| score.horizon).collect();
/// assert_eq!(horizons, Horizon::ALL);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct MethodScore {
    /// The method.
    pub method: Method,
    /// Its predictions of readings, one score a horizon in the order of [`Horizon::ALL`].
    pub levels: Vec<LevelScore>,
    /// Its predictions of the years to the inlet.
    pub crossing: CrossingScore,
}

impl Plan {
    /// Every method, against load where it is known, from three readings on, with what was known on a day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// assert_eq!(Plan::new(date(2026, 6, 30)).replay([]).as_of, date(2026, 6, 30));
    /// ```
    #[must_use]
    pub fn new(as_of: Date) -> Self {
        Self {
            as_of,
            methods: Method::ALL.to_vec(),
            against: Against::default(),
            fewest_readings: FEWEST_READINGS,
            experience: Hypotheses::default(),
        }
    }

    /// The same with other methods; one named twice counts once.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::Method;
    /// let scores = Plan::new(date(2026, 6, 30)).by([Method::Rank, Method::Rank]).replay([]).methods;
    /// assert_eq!(scores.iter().map(|score| score.method).collect::<Vec<_>>(), [Method::Rank]);
    /// ```
    #[must_use]
    pub fn by(self, methods: impl IntoIterator<Item = Method>) -> Self {
        let mut once = Vec::new();
        for method in methods {
            if !once.contains(&method) {
                once.push(method);
            }
        }
        Self { methods: once, ..self }
    }

    /// The same, fitted against time or cumulative load.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::trend::axis::Against;
    /// let plan = Plan::new(date(2026, 6, 30));
    /// assert_ne!(plan.clone().against_axis(Against::Time), plan);
    /// ```
    #[must_use]
    pub fn against_axis(self, against: Against) -> Self {
        Self { against, ..self }
    }

    /// The same from another number of readings on; dry and at-inlet readings count, those set aside do not.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let dry = [2024, 2025, 2026].map(|year| Reading::dry(date(year, 5, 10)));
    /// # let history = History::new(pit).with_readings(dry);
    /// let plan = Plan::new(date(2026, 6, 30));
    /// assert_eq!(plan.clone().replay([&history]).replays, 0); // nothing came after the third reading
    /// assert_eq!(plan.from_readings(1).replay([&history]).replays, 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn from_readings(self, fewest_readings: usize) -> Self {
        Self { fewest_readings, ..self }
    }

    /// The same with a population prior of one's own; only [`Method::Absorption`] asks it. One learnt from the very pits
    /// that are replayed has seen what came, and flatters.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::prior::PopulationPrior;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// let busy = Hypotheses::new(PopulationPrior { typical_load_ratio: 0.9, ..PopulationPrior::default() })?;
    /// let plan = Plan::new(date(2026, 6, 30));
    /// assert_ne!(plan.clone().by_experience(busy), plan);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn by_experience(self, experience: Hypotheses) -> Self {
        Self { experience, ..self }
    }

    /// Makes every forecast of the past again and sums up how it came out.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// let never_read = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// assert_eq!(Plan::new(date(2026, 6, 30)).replay([&never_read]).pits, 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn replay<'h>(&self, histories: impl IntoIterator<Item = &'h History>) -> Backtest {
        self.replay_each(histories.into_iter().map(|history| (history, self.experience.clone())))
    }

    /// The same, each pit with a population prior of its own: one that other pits have taught.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::backtest::Plan;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::Hypotheses;
    /// # use soaklife::{History, Pit, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let dry = (2016..=2026).map(|year| Reading::dry(date(year, 5, 1)));
    /// # let history = History::new(pit).with_readings(dry);
    /// let plan = Plan::new(date(2026, 6, 30));
    /// assert_eq!(plan.replay_each([(&history, Hypotheses::default())]), plan.replay([&history]));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn replay_each<'h>(
        &self,
        histories: impl IntoIterator<Item = (&'h History, Hypotheses)>,
    ) -> Backtest {
        let mut replays = Replays::none(self);
        for (history, experience) in histories {
            replays.merge(&self.replay_pit(history, &experience));
        }
        replays.backtest()
    }

    /// The replays of one pit, to be [merged](Replays::merge) with those of others: the work that threads can share.
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
    /// let mut replays = Replays::none(&plan);
    /// replays.merge(&plan.replay_pit(&history, &Hypotheses::default()));
    /// assert_eq!(replays.backtest(), plan.replay([&history]));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn replay_pit(&self, history: &History, experience: &Hypotheses) -> Replays {
        let origins = origin::origins(&history.known_by(self.as_of), self.fewest_readings);
        Replays::of_pit(self, &origins, |origin, method| self.forecast(origin, method, experience))
    }

    fn forecast(&self, origin: &Origin, method: Method, experience: &Hypotheses) -> Option<Forecast> {
        let question = Question::new(origin.day).by(method).against_axis(self.against);
        Forecast::by_experience(&origin.known, &question, experience).ok()
    }
}

fn range_scores(tallies: [Tally; COVERAGES.len()]) -> [RangeScore; COVERAGES.len()] {
    let mut scores = COVERAGES.map(|coverage| RangeScore { coverage, tally: Tally::default() });
    for (score, tally) in scores.iter_mut().zip(tallies) {
        score.tally = tally;
    }
    scores
}

#[cfg(test)]
mod tests;
