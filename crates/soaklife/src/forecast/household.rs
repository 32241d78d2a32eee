//! What a forecast assumes of the household from now on, and what it would say under the other assumption.

use super::{Forecast, Standing};
use crate::loading::use_ahead::UseAhead;
use crate::trend::absorption::Passage;

/// When the goal is reached if the household is another than the forecast assumes.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::{gallons_per_day, inches};
/// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
/// use soaklife::loading::use_ahead::UseAhead;
/// let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(60.0))?;
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light).with_installed(date(1996, 5, 1));
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let stays = forecast.beside().ok_or("no load")?;
/// assert_eq!(stays.use_ahead(), UseAhead::AsToday);
/// assert!(stays.chance_by(20.0) < forecast.chance_by(20.0)); // most households use more than this one
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct IfUse {
    use_ahead: UseAhead,
    passage: Passage,
    horizon_years: f64,
    typical_ratio: f64,
}

impl IfUse {
    /// What is assumed of the household.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
    /// # let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(60.0))?;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.beside().map(|other| other.use_ahead()), Some(forecast.use_ahead().other()));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn use_ahead(&self) -> UseAhead {
        self.use_ahead
    }

    /// The typical load ratio, toward which households drift.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
    /// # let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(60.0))?;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.beside().map(|other| other.typical_ratio()), Some(0.45));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn typical_ratio(&self) -> f64 {
        self.typical_ratio
    }

    /// Years to the inlet, or to the action freeboard, as [`Forecast::years_to_inlet`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
    /// # let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(60.0))?;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let stays = forecast.beside().ok_or("no load")?;
    /// assert!(stays.years_to_inlet(0.1) > forecast.years_to_inlet(0.1));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_to_inlet(&self, probability: f64) -> Option<f64> {
        self.passage.years(probability).filter(|&years| years <= self.horizon_years)
    }

    /// Probability of having reached the inlet, or the action freeboard, within some years, as [`Forecast::chance_by`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
    /// # let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(60.0))?;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let stays = forecast.beside().ok_or("no load")?;
    /// assert!((0.0..=1.0).contains(&stays.chance_by(10.0)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_by(&self, years: f64) -> f64 {
        if years >= 0.0 { self.passage.chance_within(years) } else { 0.0 }
    }
}

impl Forecast {
    /// What it assumes of the household from now on. A line or a trend by ranks knows no other use than today's.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// use soaklife::loading::use_ahead::UseAhead;
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.use_ahead(), UseAhead::Drifts);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn use_ahead(&self) -> UseAhead {
        match &self.standing {
            Standing::Absorption(_) => self.question.use_ahead(),
            Standing::AtInlet | Standing::Line(_) | Standing::Rank(_) => UseAhead::AsToday,
        }
    }

    /// What it would say under the other assumption. `None` where nothing hangs on the household: where the load is not known, the
    /// pit has reached its inlet, another load was asked for, or another method than absorption.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(forecast.beside(), None); // nobody knows who lives there
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn beside(&self) -> Option<IfUse> {
        let Standing::Absorption(absorbed) = &self.standing else { return None };
        if self.has_reached() || self.is_changed() || self.load_ratio.is_none() {
            return None;
        }
        let use_ahead = self.use_ahead().other();
        let absorption = &absorbed.absorption;
        let passage = absorption.reaches_if(use_ahead, &absorbed.passage)?;
        let typical_ratio = absorption.typical_ratio();
        Some(IfUse { use_ahead, passage, horizon_years: self.question.horizon_years(), typical_ratio })
    }
}
