//! When a level is reached, as chances.

use super::law::Law;
use super::outlook::YEARS;
use crate::band::Coverage;
use crate::trend::CrossingSet;

/// When the level reaches a height: a chance for every year ahead, up to 60.
///
/// Chances are computed at 56 moments, a twentieth of a year apart at first and by about a tenth of the years ahead later on, and run
/// straight in between. A smoother curve would need fewer moments, but might say of two households that the larger one takes
/// longer; straight lines keep every order.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::trend::absorption::{Absorption, Hypotheses};
/// # use soaklife::{History, Pit};
/// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// # let unread = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default());
/// let passage = unread.reaches(180.0).ok_or("no forecast")?;
/// let early = passage.years(0.05).ok_or("never")?;
/// assert!((passage.chance_within(early) - 0.05).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    law: Law,
    /// What is reached, inches above the bottom.
    goal_in: f64,
}

impl Passage {
    /// By the law of a goal; nothing if one of its chances is not a number.
    pub(super) fn new(law: Law, goal_in: f64) -> Option<Self> {
        law.reached.iter().all(|chance| chance.is_finite()).then_some(Self { law, goal_in })
    }

    pub(super) fn law(&self) -> &Law {
        &self.law
    }

    /// The height that is reached, inches above the bottom.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let unread = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default());
    /// assert_eq!(unread.reaches(170.0).ok_or("no forecast")?.goal_in(), 170.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn goal_in(&self) -> f64 {
        self.goal_in
    }

    /// Chance of having got there within so many years; never falls with time, and stays as it is beyond 60 years.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let unread = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default());
    /// # let passage = unread.reaches(180.0).ok_or("no forecast")?;
    /// assert!(passage.chance_within(10.0) < passage.chance_within(20.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_within(&self, years: f64) -> f64 {
        self.law.chance_within(years)
    }

    /// Years within which it gets there with this probability; nothing beyond 60.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let unread = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default());
    /// # let passage = unread.reaches(180.0).ok_or("no forecast")?;
    /// assert!(passage.years(0.05) < passage.years(0.25));
    /// assert_eq!(passage.years(0.999_999), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years(&self, probability: f64) -> Option<f64> {
        let reached = &self.law.reached;
        let after = reached.iter().position(|&chance| chance >= probability)?;
        let Some(before) = after.checked_sub(1) else { return Some(0.0) };
        let (low, high) = (reached[before], reached[after]);
        Some(YEARS[before] + (YEARS[after] - YEARS[before]) * (probability - low) / (high - low))
    }

    /// The central range of the years, open where its late end lies beyond 60.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::trend::absorption::{Absorption, Hypotheses};
    /// # use soaklife::{Coverage, History, Pit};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let unread = Absorption::follow(&history, date(2026, 6, 30), &Hypotheses::default());
    /// # let passage = unread.reaches(180.0).ok_or("no forecast")?;
    /// use soaklife::trend::CrossingSet;
    /// assert!(matches!(passage.range(Coverage::EIGHTY), CrossingSet::NotBefore { .. }));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn range(&self, coverage: Coverage) -> CrossingSet {
        match (self.years(coverage.lower_tail()), self.years(coverage.upper_tail())) {
            (Some(earliest), Some(latest)) => CrossingSet::Between { earliest, latest },
            (Some(earliest), None) => CrossingSet::NotBefore { earliest },
            (None, _) => CrossingSet::NotBefore { earliest: f64::INFINITY },
        }
    }
}
