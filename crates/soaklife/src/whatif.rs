//! The same pit under another household or flow, beside today's forecast.
//!
//! The record, the prior and the hypotheses stay as they are; only the load to come is another. It acts twice:
//!
//! - **At once** the level takes a step: z moves by e ln(new ÷ old ratio), z the logarithm of the level as in
//!   [`crate::trend::absorption`], e the share of a change of flow that the level follows. At equilibrium inflow equals
//!   acceptance times wetted wall, so e would be 1; where acceptance itself rises with the head, about a half. What e a
//!   record shows is near 0, because the number of occupants is a poor proxy for the water they use: a what-if cannot lean on
//!   it. So both ends stand in the answer, e = 0 ([`Alternative::level_stays`]) and e = 1 ([`Alternative::level_follows`]),
//!   and the headline ([`Alternative::forecast`]) takes 0, ¼, ½, ¾ and 1 as equally likely. A pit that stands dry
//!   has no level that could step.
//! - **In the long run** it ages at another pace: the load absorbed, in design-years, runs at the new ratio.
//!
//! # What is taken for granted
//!
//! - Another household drifts as today's does ([`crate::loading::use_ahead`]): toward a typical use, over a tenure of some 14
//!   years counted from the day on which it moves in, or not at all where today's is taken to stay. Today's number of
//!   people, from the day of the forecast on, gives today's forecast to the last bit; from a later day on it does so
//!   only where today's household stays, because else it meets one that has drifted. More people than today's forecast
//!   has come to by then never make a pit last longer, and fewer never make it fail sooner.
//! - Where both drift, the two uses draw near each other, and a level that follows the flow takes its step back meanwhile. What
//!   has reached the inlet by then has reached it.
//! - A share of today's flow (fixtures that use less, or nobody at home) holds whoever lives there: the whole load to come is
//!   reduced, and a house that is left for good stays empty.
//! - After its end, today's use returns, and with it the level; what has been absorbed meanwhile stays absorbed.
//! - A change dated before the day of the forecast acts from that day on: what is past belongs in the record.
//! - An empty house adds no load. Its step counts as one down to a load ratio of 0.05, the least that a record knows,
//!   because a logarithm needs a floor; at e = 1 that empties most pits. The small risk of what nobody foresees stays.
//! - Where the house is empty today, its level is still held for that of the use before, as the record's readings tell
//!   it, and a household that fills it again steps from there.
//! - A load above three times the design is refused: no record knows it.
//! - By a line or by ranks against load only the ageing changes: they know no step. Against time they know no load
//!   at all, and there is no answer.
//! - Where the load is not known, that of today is the typical one, and the answer says so
//!   ([`Alternative::is_today_typical`]).
//! - Between two moments of the absorption method's grid (a twentieth of a year now, six years at the far end) chances
//!   run straight, so that a beginning within such a step acts a little early.
//!
//! # What doubling the household does
//!
//! The same load leads to the same level: a household doubled today, of which the level follows a share e, stands at the
//! inlet once as much is absorbed as takes today's household to the level that 2^e lifts to the inlet. The years are those in
//! which the doubled household absorbs that load: at e = 0 the factor is 2 where both households stay, and 1.6 to 1.7 where both
//! drift, because the doubled one drifts back. The one seen is of this module's medians; the wander of the level and
//! the risk a year run by the calendar, so that the two differ a little (`tests/whatif_laws.rs`). Pits 120 in deep, at half their
//! design, twelve yearly readings; years to the inlet as the median with its 80 % range.
//!
//! | level, rise | household | today | e = 0 | headline | e = 1 | factor seen (stated), e = 0 | e = 1 |
//! | --- | --- | --- | --- | --- | --- | --- | --- |
//! | 45 in, 3 inches a year | drifts | 22.0 (14.0 to over 60) | 13.0 (8.0–38.8) | 7.6 (1.3–29.7) | 1.4 (0.7–4.0) | 1.69 (1.70) | 16.2 |
//! | | stays | 20.9 (13.5–54.5) | 10.5 (7.0–22.0) | 5.0 (0.9–12.9) | 0.9 (0.5–1.6) | 1.99 (2.00) | 24.4 (24.4) |
//! | 48 in, 2.5 inches a year | drifts | 27.8 (16.9 to over 60) | 17.3 (10.0 to over 60) | 10.3 (1.0 to over 60) | 1.0 (0.2–35.6) | 1.61 (1.63) | 29.0 |
//! | | stays | 26.2 (16.3 to over 60) | 13.2 (8.5–33.2) | 5.9 (0.5–16.8) | 0.5 (0.1–1.2) | 1.99 (2.00) | 49.9 (49.9) |
//! | 34 in, 3 inches a year | drifts | 25.1 (15.1 to over 60) | 15.2 (8.8 to over 60) | 10.3 (3.7 to over 60) | 4.3 (2.3 to over 60) | 1.65 (1.66) | 5.9 |
//! | | stays | 23.8 (14.6 to over 60) | 12.0 (7.6–35.8) | 6.6 (2.5–17.6) | 2.5 (1.7–4.5) | 1.99 (2.00) | 9.4 (9.4) |
//!
//! Of a drifting household at e = 1 no factor is stated: the step is taken back while the level rises.

use crate::date::years_between;
use crate::forecast::{Forecast, ForecastError};
use crate::loading::LoadingError;
use crate::loading::measured_use::household_flow;
use crate::quantity::{Length, VolumeRate, as_gallons_per_day};
use crate::trend::absorption::MOST_RATIO;
use jiff::civil::Date;
use thiserror::Error;

/// Persons for whom a bedroom is designed; common practice, no source.
///
/// ```
/// assert_eq!(soaklife::whatif::PERSONS_PER_BEDROOM * 3.0, 6.0);
/// ```
pub const PERSONS_PER_BEDROOM: f64 = 2.0;

/// Shares of a change of flow that the level follows, each as likely as another: the headline.
const FOLLOWED: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// Farthest horizon of any forecast, years.
const FARTHEST_HORIZON: f64 = 60.0;
/// Ratios closer than this, as a share, are the same said in other units.
const SAME_RATIO: f64 = 1e-9;

/// What the house uses instead.
///
/// ```
/// use soaklife::quantity::{as_gallons_per_day, gallons_per_day};
/// use soaklife::whatif::OtherUse;
/// let thrifty = OtherUse::household(6.0, 58.6)?.reduced_by(0.2)?;
/// assert_eq!(thrifty.flow().map(as_gallons_per_day).map(f64::round), Some(281.0));
/// assert_eq!(OtherUse::as_today().reduced_by(0.2)?.flow(), None); // a share of a flow not named
/// # Ok::<(), soaklife::whatif::WhatIfError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherUse {
    flow: Option<VolumeRate>,
    kept: f64,
}

/// Another use of the house, from a day on and perhaps until another.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::{gallons_per_day, inches};
/// use soaklife::whatif::{OtherUse, WhatIf};
/// use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// let design = gallons_per_day(450.0);
/// let history = History::new(pit)
///     .with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?)
///     .with_load(LoadHistory::constant(design, gallons_per_day(175.8))?);
/// let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
///
/// let six_people = WhatIf::of(OtherUse::household(6.0, 58.6)?).starting(date(2027, 6, 1));
/// let then = six_people.beside(&today, Some(design))?;
/// assert!(then.forecast().years_to_inlet(0.5) < today.years_to_inlet(0.5));
/// assert!(then.level_follows().chance_by(10.0) > then.level_stays().chance_by(10.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WhatIf {
    other: OtherUse,
    from: Option<Date>,
    until: Option<Date>,
}

/// The other future of a pit.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::whatif::{Effect, OtherUse, WhatIf};
/// # use soaklife::{Forecast, History, Pit, Question};
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
/// let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None)?;
/// assert!(empty.is_today_typical() && empty.effect() == Effect::Changes);
/// assert!(empty.forecast().chance_by(20.0) < today.chance_by(20.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    mixed: Forecast,
    stays: Forecast,
    follows: Forecast,
    ratio_today: f64,
    ratio: f64,
    is_today_typical: bool,
    from_years: f64,
    until_years: f64,
    effect: Effect,
    steps: [Length; 2],
}

/// Whether the other use makes any difference, and if not, why.
///
/// ```
/// use soaklife::whatif::Effect;
/// assert_eq!(Effect::SameUse.to_string(), "that is what the house uses today");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Effect {
    /// It does.
    Changes,
    /// The load is that of today.
    SameUse,
    /// It ends before it begins to count.
    Over,
    /// It begins beyond the horizon of any forecast.
    BeyondHorizon,
    /// Today's forecast expects as much of a change by then.
    ExpectedAnyway,
}

/// Why there is no other future.
///
/// ```
/// use soaklife::whatif::{OtherUse, WhatIfError};
/// assert_eq!(OtherUse::as_today().reduced_by(1.2), Err(WhatIfError::Reduction { found: 1.2 }));
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum WhatIfError {
    /// A flow or a number of persons makes no load ratio without a design flow.
    #[error(
        "what the system was designed for is not known, so that another flow makes no load ratio: give bedrooms or a design flow"
    )]
    DesignUnknown,
    /// A full household follows from the bedrooms.
    #[error("how many bedrooms the house has is not known, so that a full household cannot be told")]
    BedroomsUnknown,
    /// A number of persons or a flow that cannot be.
    #[error(transparent)]
    Loading(#[from] LoadingError),
    /// A reduction is a share from 0 to 1.
    #[error("a flow is reduced by a share from 0 to 1, not {found}")]
    Reduction {
        /// Share given.
        found: f64,
    },
    /// More than three times the design flow.
    #[error("that is {ratio:.1} times the design flow: beyond {most} times no record of a pit is known")]
    TooMuch {
        /// Load ratio asked for.
        ratio: f64,
        /// Largest load ratio that is answered.
        most: f64,
    },
    /// It ends before it begins.
    #[error("it ends on {until}, before it begins on {from}")]
    EndsBeforeItBegins {
        /// First day.
        from: Date,
        /// Day on which today's use returns.
        until: Date,
    },
    /// A line or ranks against time.
    #[error(
        "a trend against time knows no load: ask by the absorption method, or against load where it is known"
    )]
    AgainstTime,
    /// The other load is too large to compute with.
    #[error(transparent)]
    Forecast(#[from] ForecastError),
}

/// Another load to come, as a forecast takes it: years from its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LoadChange {
    pub ratio: NewRatio,
    pub from: f64,
    /// Infinite if it stays.
    pub until: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NewRatio {
    /// Actual ÷ design flow, whatever today's is.
    Stated(f64),
    /// A share of the load as it is forecast today.
    Share(f64),
}

impl OtherUse {
    /// So many persons, at so many US gallons a day each.
    ///
    /// # Errors
    /// [`WhatIfError::Loading`] unless both are zero or more and finite.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert!(OtherUse::household(6.0, 58.6).is_ok() && OtherUse::household(-1.0, 58.6).is_err());
    /// ```
    pub fn household(persons: f64, gallons_per_person: f64) -> Result<Self, WhatIfError> {
        Ok(Self { flow: Some(household_flow(persons, gallons_per_person)?), kept: 1.0 })
    }

    /// A full household, as after a sale: two persons a bedroom, by which houses are designed.
    ///
    /// # Errors
    /// [`WhatIfError::Loading`] unless both numbers are zero or more and finite.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert_eq!(OtherUse::full_house(3.0, 58.6)?, OtherUse::household(6.0, 58.6)?);
    /// # Ok::<(), soaklife::whatif::WhatIfError>(())
    /// ```
    pub fn full_house(bedrooms: f64, gallons_per_person: f64) -> Result<Self, WhatIfError> {
        Self::household(bedrooms * PERSONS_PER_BEDROOM, gallons_per_person)
    }

    /// A flow as metered.
    ///
    /// ```
    /// # use soaklife::quantity::gallons_per_day;
    /// # use soaklife::whatif::OtherUse;
    /// assert_eq!(OtherUse::metered(gallons_per_day(420.0)).flow(), Some(gallons_per_day(420.0)));
    /// ```
    #[must_use]
    pub fn metered(flow: VolumeRate) -> Self {
        Self { flow: Some(flow), kept: 1.0 }
    }

    /// Nobody lives there.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert_eq!(OtherUse::vacant(), OtherUse::as_today().reduced_by(1.0)?);
    /// # Ok::<(), soaklife::whatif::WhatIfError>(())
    /// ```
    #[must_use]
    pub fn vacant() -> Self {
        Self { flow: None, kept: 0.0 }
    }

    /// Whoever lives there today, and whoever is expected to.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert_eq!(OtherUse::as_today().flow(), None);
    /// ```
    #[must_use]
    pub fn as_today() -> Self {
        Self { flow: None, kept: 1.0 }
    }

    /// The same with fixtures that use less, by a share: 0.2 is a fifth less.
    ///
    /// # Errors
    /// [`WhatIfError::Reduction`] unless the share lies in 0–1.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert!(OtherUse::as_today().reduced_by(0.2).is_ok());
    /// ```
    pub fn reduced_by(self, share: f64) -> Result<Self, WhatIfError> {
        if (0.0..=1.0).contains(&share) {
            Ok(Self { kept: self.kept * (1.0 - share), ..self })
        } else {
            Err(WhatIfError::Reduction { found: share })
        }
    }

    /// The flow, if it is one of its own and no share of today's.
    ///
    /// ```
    /// # use soaklife::whatif::OtherUse;
    /// assert_eq!(OtherUse::vacant().flow(), None);
    /// ```
    #[must_use]
    pub fn flow(&self) -> Option<VolumeRate> {
        self.flow.map(|flow| flow * self.kept)
    }

    /// As a load ratio, or a share of today's.
    fn ratio(&self, design_flow: Option<VolumeRate>) -> Result<NewRatio, WhatIfError> {
        let Some(flow) = self.flow() else { return Ok(NewRatio::Share(self.kept)) };
        let flow_gpd = as_gallons_per_day(flow);
        if flow_gpd == 0.0 {
            return Ok(NewRatio::Share(0.0));
        }
        let design_gpd = as_gallons_per_day(design_flow.ok_or(WhatIfError::DesignUnknown)?);
        if !(design_gpd > 0.0 && design_gpd.is_finite()) {
            return Err(LoadingError::DesignFlow { found_gpd: design_gpd }.into());
        }
        match flow_gpd / design_gpd {
            ratio if ratio > MOST_RATIO => Err(WhatIfError::TooMuch { ratio, most: MOST_RATIO }),
            ratio if ratio >= 0.0 => Ok(NewRatio::Stated(ratio)),
            _ => Err(LoadingError::Persons { found: flow_gpd }.into()),
        }
    }
}

impl WhatIf {
    /// From the day of the forecast on, for good.
    ///
    /// ```
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::vacant()).other(), OtherUse::vacant());
    /// ```
    #[must_use]
    pub fn of(other: OtherUse) -> Self {
        Self { other, from: None, until: None }
    }

    /// The same from another day on; a day before that of the forecast counts as that day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::vacant()).starting(date(2027, 6, 1)).from(), Some(date(2027, 6, 1)));
    /// ```
    #[must_use]
    pub fn starting(self, from: Date) -> Self {
        Self { from: Some(from), ..self }
    }

    /// The same until a day on which today's use returns.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::vacant()).ending(date(2028, 6, 1)).until(), Some(date(2028, 6, 1)));
    /// ```
    #[must_use]
    pub fn ending(self, until: Date) -> Self {
        Self { until: Some(until), ..self }
    }

    /// What the house uses instead.
    ///
    /// ```
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::as_today()).other(), OtherUse::as_today());
    /// ```
    #[must_use]
    pub fn other(&self) -> OtherUse {
        self.other
    }

    /// Its first day, if it is not that of the forecast.
    ///
    /// ```
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::vacant()).from(), None);
    /// ```
    #[must_use]
    pub fn from(&self) -> Option<Date> {
        self.from
    }

    /// The day on which today's use returns, if it does.
    ///
    /// ```
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// assert_eq!(WhatIf::of(OtherUse::vacant()).until(), None);
    /// ```
    #[must_use]
    pub fn until(&self) -> Option<Date> {
        self.until
    }

    /// The other future beside today's forecast, which is asked by the same question and the same experience.
    ///
    /// # Errors
    /// [`WhatIfError`], in words that can be shown to the owner.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::whatif::{OtherUse, WhatIf, WhatIfError};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let metered = WhatIf::of(OtherUse::metered(gallons_per_day(420.0)));
    /// assert_eq!(metered.beside(&today, None), Err(WhatIfError::DesignUnknown));
    /// assert!(metered.beside(&today, Some(gallons_per_day(450.0))).is_ok());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn beside(
        &self,
        today: &Forecast,
        design_flow: Option<VolumeRate>,
    ) -> Result<Alternative, WhatIfError> {
        let as_of = today.question().as_of();
        if let (Some(from), Some(until)) = (self.from, self.until)
            && until < from
        {
            return Err(WhatIfError::EndsBeforeItBegins { from, until });
        }
        let new = self.other.ratio(design_flow)?;
        let ratio_today = today.ratio_now().ok_or(WhatIfError::AgainstTime)?;
        let change = LoadChange {
            ratio: new,
            from: self.from.map_or(0.0, |from| years_between(as_of, from)).max(0.0),
            until: self.until.map_or(f64::INFINITY, |until| years_between(as_of, until)),
        };
        let recorded = today.load_ratio().unwrap_or(ratio_today);
        let ratio = match new {
            NewRatio::Stated(ratio) => ratio,
            NewRatio::Share(share) => share * recorded,
        };
        let under = |followed: &[f64]| today.under(&change, ratio, followed);
        let [mixed, stays, follows] = [under(&FOLLOWED)?, under(&[0.0])?, under(&[1.0])?];
        let begun = today.moment_from(change.from);
        // Against the level that stays, so that what it ages until the next moment of the grid is no step.
        let step = |changed: &Forecast| changed.level(begun) - stays.level(begun);
        Ok(Alternative {
            effect: Effect::of(&change, ratio, ratio_today, &mixed),
            steps: [step(&stays), step(&follows)],
            mixed,
            stays,
            follows,
            ratio_today: recorded,
            ratio,
            is_today_typical: today.load_ratio().is_none(),
            from_years: change.from,
            until_years: change.until,
        })
    }
}

impl Alternative {
    /// The headline: how far the level follows the flow is not known, from not at all to in full.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let thrifty = WhatIf::of(OtherUse::as_today().reduced_by(0.2)?).beside(&today, None)?;
    /// assert!(thrifty.forecast().years_to_inlet(0.25) > today.years_to_inlet(0.25));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn forecast(&self) -> &Forecast {
        &self.mixed
    }

    /// The end e = 0: the level stays where it is, and only the ageing changes.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None)?;
    /// assert_eq!(empty.level_stays().level(0.0), today.level(0.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_stays(&self) -> &Forecast {
        &self.stays
    }

    /// The end e = 1: the level follows the flow in full.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None)?;
    /// assert!(empty.level_follows().level(0.0) < today.level(0.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_follows(&self) -> &Forecast {
        &self.follows
    }

    /// By how much the median level moves when the other use begins, at both ends: e = 0 and e = 1.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [none, full] = WhatIf::of(OtherUse::vacant()).beside(&today, None)?.steps();
    /// assert!(as_inches(none) == 0.0 && as_inches(full) < 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn steps(&self) -> [Length; 2] {
        self.steps
    }

    /// Today's load ratio: recorded, or typical.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let empty = WhatIf::of(OtherUse::vacant()).beside(&today, None)?;
    /// assert!(empty.ratio_today() > 0.0 && empty.ratio() == 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn ratio_today(&self) -> f64 {
        self.ratio_today
    }

    /// The load ratio of the other use when it begins.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let half = WhatIf::of(OtherUse::as_today().reduced_by(0.5)?).beside(&today, None)?;
    /// assert_eq!(half.ratio(), 0.5 * half.ratio_today());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn ratio(&self) -> f64 {
        self.ratio
    }

    /// Whether today's load is not known and taken as the typical one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, LoadHistory, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(200.0))?;
    /// let today = Forecast::of(&history.with_load(load), &Question::new(date(2026, 6, 30)))?;
    /// assert!(!WhatIf::of(OtherUse::vacant()).beside(&today, None)?.is_today_typical());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn is_today_typical(&self) -> bool {
        self.is_today_typical
    }

    /// Years from the day of the forecast until it begins, 0 or more, and until it ends, if it does.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let empty = WhatIf::of(OtherUse::vacant()).starting(date(2028, 6, 30)).beside(&today, None)?;
    /// assert_eq!((empty.span().0.round(), empty.span().1), (2.0, None));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn span(&self) -> (f64, Option<f64>) {
        (self.from_years, Some(self.until_years).filter(|until| until.is_finite()))
    }

    /// Whether it makes any difference.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::whatif::{Effect, OtherUse, WhatIf};
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_installed(date(2001, 5, 1));
    /// # let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let same = WhatIf::of(OtherUse::as_today()).beside(&today, None)?;
    /// assert_eq!((same.effect(), same.forecast()), (Effect::SameUse, same.level_follows()));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn effect(&self) -> Effect {
        self.effect
    }
}

impl Effect {
    fn of(change: &LoadChange, ratio: f64, ratio_today: f64, changed: &Forecast) -> Self {
        if changed.is_changed() {
            Self::Changes
        } else if change.until <= change.from {
            Self::Over
        } else if change.from >= FARTHEST_HORIZON {
            Self::BeyondHorizon
        } else if (ratio - ratio_today).abs() <= SAME_RATIO * ratio_today {
            Self::SameUse
        } else {
            Self::ExpectedAnyway
        }
    }
}

impl std::fmt::Display for Effect {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Changes => "it changes what lies ahead",
            Self::SameUse => "that is what the house uses today",
            Self::Over => "it is over before the day of the forecast, or as soon as it begins",
            Self::BeyondHorizon => "it begins later than any forecast looks",
            Self::ExpectedAnyway => "today's forecast expects as much of a change by then",
        })
    }
}
