//! Load: how much water the household really sends to the pit against what it was designed for.
//!
//! A pit ages with the water it has taken, not with the calendar. Load ratio = actual ÷ design flow; its
//! integral over time is the cumulative load, in *design-years*. What counts as design flow differs between
//! codes by a factor of more than two for the same house ([`design_rule`]), so a ratio means nothing without
//! its rule.

pub mod design_rule;
pub mod measured_use;
pub mod use_ahead;

use crate::date::years_between;
use crate::quantity::{VolumeRate, as_gallons_per_day};
use jiff::civil::Date;
use thiserror::Error;

/// The load ratio over time: constant between changes of household or metered flow.
///
/// Before its first step the first ratio applies back to installation; the last one goes on.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::loading::LoadHistory;
/// use soaklife::quantity::gallons_per_day;
///
/// // A three-bedroom design (450 gal/day) used by two people, then by four.
/// let load = LoadHistory::new(
///     gallons_per_day(450.0),
///     [(date(2010, 1, 1), gallons_per_day(117.2)), (date(2020, 1, 1), gallons_per_day(234.4))],
/// )?;
/// assert!((load.ratio_at(date(2026, 6, 30)) - 0.52).abs() < 0.001);
/// let design_years = load.cumulative(date(2018, 1, 1), date(2022, 1, 1));
/// assert!((design_years - 2.0 * (117.2 + 234.4) / 450.0).abs() < 0.001);
/// # Ok::<(), soaklife::loading::LoadingError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LoadHistory {
    design_flow: VolumeRate,
    steps: Steps,
}

/// Steps, oldest first: most often one, which is not worth a list.
#[derive(Debug, Clone, PartialEq)]
enum Steps {
    One([LoadStep; 1]),
    Many(Vec<LoadStep>),
}

/// From a day on, this load ratio.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::loading::{LoadHistory, LoadStep};
/// # use soaklife::quantity::gallons_per_day;
/// # let design = gallons_per_day(400.0);
/// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
/// # let load = LoadHistory::new(design, flows)?;
/// assert_eq!(load.steps()[1], LoadStep { from: date(2020, 1, 1), ratio: 0.5 });
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadStep {
    /// First day of the ratio.
    pub from: Date,
    /// Actual ÷ design flow.
    pub ratio: f64,
}

/// Why a load cannot be told. Flows are in US gallons a day.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::loading::{LoadHistory, LoadingError};
/// # use soaklife::quantity::gallons_per_day;
/// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
/// let nothing = LoadHistory::new(gallons_per_day(0.0), flows);
/// assert!(matches!(nothing, Err(LoadingError::DesignFlow { .. })));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum LoadingError {
    /// The design flow is zero, negative or not a number.
    #[error("a design flow of {found_gpd} gal/day cannot be: give one above zero")]
    DesignFlow {
        /// Flow given.
        found_gpd: f64,
    },
    /// An actual flow is negative, not a number, or so many times the design flow that loads would be no numbers any more.
    #[error("an actual flow of {found_gpd} gal/day from {from} cannot be: give zero or more")]
    ActualFlow {
        /// Flow given.
        found_gpd: f64,
        /// First day of the flow.
        from: Date,
    },
    /// A design rule was asked for a number of bedrooms that is not above zero.
    #[error("{found} bedrooms cannot be: give a number above zero")]
    Bedrooms {
        /// Number given.
        found: f64,
    },
    /// A flow per person, or a number of persons, is negative or not a number.
    #[error("{found} cannot be a number of persons or a flow per person: give zero or more")]
    Persons {
        /// Number given.
        found: f64,
    },
    /// There is no flow at all to make a history from.
    #[error("a load history needs at least one flow")]
    NoFlow,
}

/// Beyond this ratio, or flow in gallons a day, the load of all the calendar's years might be no number any more; far below it is already no record of a house.
const MOST_RATIO: f64 = 1e303;

impl LoadHistory {
    /// A history from a design flow and the actual flows, each with its first day, in any order.
    ///
    /// # Errors
    /// [`LoadingError::DesignFlow`], [`LoadingError::ActualFlow`], [`LoadingError::NoFlow`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::{LoadHistory, LoadingError};
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
    /// # let load = LoadHistory::new(design, flows)?;
    /// assert_eq!(load.steps().len(), 2);
    /// assert_eq!(LoadHistory::new(design, []), Err(LoadingError::NoFlow));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        design_flow: VolumeRate,
        actual_flows: impl IntoIterator<Item = (Date, VolumeRate)>,
    ) -> Result<Self, LoadingError> {
        let design_gpd = as_gallons_per_day(design_flow);
        if !(design_gpd > 0.0 && design_gpd.is_finite()) {
            return Err(LoadingError::DesignFlow { found_gpd: design_gpd });
        }
        let step = |(from, flow): (Date, VolumeRate)| {
            let found_gpd = as_gallons_per_day(flow);
            let ratio = found_gpd / design_gpd;
            let can_be = (0.0..=MOST_RATIO).contains(&ratio) && found_gpd <= MOST_RATIO;
            can_be.then_some(LoadStep { from, ratio }).ok_or(LoadingError::ActualFlow { found_gpd, from })
        };
        let mut flows = actual_flows.into_iter();
        let first = step(flows.next().ok_or(LoadingError::NoFlow)?)?;
        let Some(second) = flows.next() else {
            return Ok(Self { design_flow, steps: Steps::One([first]) });
        };
        let mut steps = vec![first, step(second)?];
        for flow in flows {
            steps.push(step(flow)?);
        }
        steps.sort_by(|a, b| a.from.cmp(&b.from).then(a.ratio.total_cmp(&b.ratio)));
        Ok(Self { design_flow, steps: Steps::Many(steps) })
    }

    /// A history of one ratio for good.
    ///
    /// # Errors
    /// [`LoadingError::DesignFlow`], [`LoadingError::ActualFlow`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// assert_eq!(LoadHistory::constant(design, design)?.ratio_at(date(1950, 1, 1)), 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn constant(design_flow: VolumeRate, actual_flow: VolumeRate) -> Result<Self, LoadingError> {
        Self::new(design_flow, [(Date::MIN, actual_flow)])
    }

    /// What the system was designed for.
    ///
    /// ```
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(180.0))?;
    /// assert_eq!(load.design_flow(), gallons_per_day(450.0));
    /// # Ok::<(), soaklife::loading::LoadingError>(())
    /// ```
    #[must_use]
    pub fn design_flow(&self) -> VolumeRate {
        self.design_flow
    }

    /// The steps, oldest first; never empty.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
    /// # let load = LoadHistory::new(design, flows)?;
    /// assert_eq!(load.steps()[0].ratio, 0.25);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn steps(&self) -> &[LoadStep] {
        match &self.steps {
            Steps::One(one) => one,
            Steps::Many(many) => many,
        }
    }

    /// What was known of the load on a day: later steps are left out, but the first always stays.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
    /// # let load = LoadHistory::new(design, flows)?;
    /// assert_eq!(load.known_by(date(2015, 1, 1)).ratio_at(date(2026, 1, 1)), 0.25);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn known_by(&self, as_of: Date) -> Self {
        let known = self.steps().iter().take_while(|step| step.from <= as_of).count().max(1);
        let steps = match self.steps().get(..known) {
            Some(&[one]) => Steps::One([one]),
            Some(many) => Steps::Many(many.to_vec()),
            None => self.steps.clone(),
        };
        Self { steps, ..*self }
    }

    /// Load ratio in force on a day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
    /// # let load = LoadHistory::new(design, flows)?;
    /// assert_eq!((load.ratio_at(date(2000, 1, 1)), load.ratio_at(date(2026, 1, 1))), (0.25, 0.5));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn ratio_at(&self, date: Date) -> f64 {
        let begun = self.steps().iter().take_while(|step| step.from <= date).last();
        begun.or(self.steps().first()).map_or(0.0, |step| step.ratio)
    }

    /// Actual flow on a day.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::{as_gallons_per_day, gallons_per_day};
    /// let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(225.0))?;
    /// assert_eq!(as_gallons_per_day(load.flow_at(date(2026, 1, 1))).round(), 225.0);
    /// # Ok::<(), soaklife::loading::LoadingError>(())
    /// ```
    #[must_use]
    pub fn flow_at(&self, date: Date) -> VolumeRate {
        self.design_flow * self.ratio_at(date)
    }

    /// Cumulative load from one day to another, ∫ ratio dt, in design-years; negative if `to` is earlier.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::loading::LoadHistory;
    /// # use soaklife::quantity::gallons_per_day;
    /// # let design = gallons_per_day(400.0);
    /// # let flows = [(date(2010, 1, 1), gallons_per_day(100.0)), (date(2020, 1, 1), gallons_per_day(200.0))];
    /// # let load = LoadHistory::new(design, flows)?;
    /// assert_eq!(load.cumulative(date(2021, 5, 1), date(2025, 5, 1)), 2.0); // four years at a half
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn cumulative(&self, from: Date, to: Date) -> f64 {
        if to < from {
            return -self.cumulative(to, from);
        }
        let mut begin = from;
        let mut total = 0.0;
        for step in self.steps().iter().filter(|step| step.from > from && step.from < to) {
            total += self.ratio_at(begin) * years_between(begin, step.from);
            begin = step.from;
        }
        total + self.ratio_at(begin) * years_between(begin, to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::gallons_per_day;
    use jiff::civil::date;

    #[test]
    fn the_first_ratio_applies_back_to_installation() {
        let load = LoadHistory::new(
            gallons_per_day(300.0),
            [(date(2020, 1, 1), gallons_per_day(300.0)), (date(2010, 1, 1), gallons_per_day(150.0))],
        )
        .unwrap();
        assert_eq!(load.ratio_at(date(1990, 1, 1)), 0.5);
        assert_eq!(load.ratio_at(date(2020, 1, 1)), 1.0);
        let expected = 0.5 * years_between(date(2000, 1, 1), date(2020, 1, 1)) + 1.0;
        assert!((load.cumulative(date(2000, 1, 1), date(2020, 12, 31)) - expected).abs() < 0.001);
        assert_eq!(load.known_by(date(2015, 1, 1)).ratio_at(date(2030, 1, 1)), 0.5);
    }

    #[test]
    fn refuses_flows_that_cannot_be() {
        let day = date(2020, 1, 1);
        let flow = gallons_per_day(100.0);
        assert!(matches!(LoadHistory::new(flow, []), Err(LoadingError::NoFlow)));
        assert!(matches!(
            LoadHistory::new(gallons_per_day(0.0), [(day, flow)]),
            Err(LoadingError::DesignFlow { .. })
        ));
        for bad in [-1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(
                LoadHistory::new(flow, [(day, gallons_per_day(bad))]),
                Err(LoadingError::ActualFlow { .. })
            ));
        }
    }
}
