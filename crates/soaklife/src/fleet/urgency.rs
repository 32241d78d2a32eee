//! How soon a pit may need somebody: the one measure by which every list of pits is sorted.

use crate::band::Coverage;
use crate::forecast::{Basis, Forecast};
use crate::quantity::as_inches;
use crate::trend::CrossingSet;
use crate::wording::range_in_list;
use std::cmp::Ordering;

/// Somebody must come before the failure does where it is this likely within [`SOON_YEARS`]: the same 10 % by which a forecast
/// asks for the next reading early.
pub(crate) const SOON: f64 = 0.10;
/// What is soon, years.
pub const SOON_YEARS: f64 = 2.0;
/// How far a forecast sees at most, years.
const FARTHEST: f64 = 60.0;
/// Ahead of which the chances are compared, years: those within the first two together, then that within the last.
const AHEAD: [f64; 3] = [SOON_YEARS, 5.0, 10.0];

/// How soon the level of a pit reaches its goal: the inlet, or the action freeboard where the pit has one.
///
/// A pit that is there comes first; then the pits by how likely they are there soon, which is the sum of their chances within two and within
/// five years: two years alone would put a pit that nobody has read, with its small chance of anything, before one that is five years from its
/// inlet for sure. Where that is equal they stand by the chance within ten years; then by the earlier median. What remains equal stays in the order in which it comes, which is
/// that of `pits.csv`.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::fleet::Urgency;
/// use soaklife::quantity::inches;
/// use soaklife::{Forecast, History, Pit, Question, Reading};
///
/// let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let question = Question::new(date(2026, 6, 30));
/// let urgency = |depth_in: f64| -> Result<Urgency, Box<dyn std::error::Error>> {
///     let reading = Reading::at_depth(&pit, date(2026, 5, 10), inches(depth_in))?;
///     Ok(Urgency::of(&Forecast::of(&History::new(pit).with_readings([reading]), &question)?))
/// };
/// let (high, low) = (urgency(40.0)?, urgency(150.0)?);
/// assert!(high.soon() > low.soon() && high.compared(&low).is_lt());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Urgency {
    /// Whether it is there.
    pub reached: Reached,
    /// Whether the goal is an action freeboard.
    pub acts_early: bool,
    /// Chances of having reached the goal within 2, 5 and 10 years.
    pub chances: [f64; 3],
    /// Years to the goal with 10, 50 and 90 % probability; nothing beyond what a forecast sees.
    pub years: [Option<f64>; 3],
    /// The 80 % range of those years, also where a straight line has no quantiles; open where no forecast sees its late end.
    pub range: CrossingSet,
    /// How far the forecast sees, years.
    pub sight: f64,
}

/// Whether a pit stands at its goal.
///
/// ```
/// use soaklife::fleet::{Reached, Urgency};
/// assert_eq!(Urgency::at_inlet().reached, Reached::Inlet);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Most likely it does not.
    NotYet,
    /// Most likely it stands at its action freeboard.
    ActionFreeboard,
    /// It stands at its inlet, by the last reading or most likely.
    Inlet,
}

impl Reached {
    /// Where it stands, in words.
    ///
    /// ```
    /// # use soaklife::fleet::Reached;
    /// assert_eq!(Reached::ActionFreeboard.in_words(), "at its action freeboard");
    /// ```
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::NotYet => "below",
            Self::ActionFreeboard => "at its action freeboard",
            Self::Inlet => "at its inlet",
        }
    }
}

impl Urgency {
    /// That of a forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::Urgency;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// assert_eq!(Urgency::of(&forecast).soon(), forecast.chance_by(2.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of(forecast: &Forecast) -> Self {
        Self::by_chances(forecast).with_years_of(forecast)
    }

    /// The same without the years, which take the longest to find and decide only between equal chances.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::Urgency;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let quick = Urgency::by_chances(&forecast);
    /// assert_eq!(quick.years, [None; 3]);
    /// assert_eq!(quick.with_years_of(&forecast), Urgency::of(&forecast));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn by_chances(forecast: &Forecast) -> Self {
        let acts_early = as_inches(forecast.question().action_freeboard()) > 0.0;
        if forecast.basis() == Basis::AtInlet {
            // Whatever is left of the chance that it was read wrong.
            return Self { acts_early, ..Self::at_inlet() };
        }
        let reached = match forecast.chance_by(0.0) >= 0.5 {
            true if acts_early => Reached::ActionFreeboard,
            true => Reached::Inlet,
            false => Reached::NotYet,
        };
        let chances = AHEAD.map(|years| forecast.chance_by(years));
        let sight = forecast.question().horizon_years();
        Self { reached, acts_early, sight, ..Self::to_inlet(chances, [None; 3]) }
    }

    /// The same with the years to the goal.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::fleet::Urgency;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let urgency = Urgency::by_chances(&forecast).with_years_of(&forecast);
    /// assert_eq!(urgency.years[0], forecast.years_to_inlet(0.1));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_years_of(self, forecast: &Forecast) -> Self {
        if forecast.basis() == Basis::AtInlet {
            return self;
        }
        let years = forecast.years_to_inlet_at([0.1, 0.5, 0.9]);
        Self { years, range: forecast.crossing_set(Coverage::EIGHTY), ..self }
    }

    /// That of a pit that was found at its inlet.
    ///
    /// ```
    /// use soaklife::fleet::Urgency;
    /// assert_eq!(Urgency::at_inlet().soon(), 1.0);
    /// ```
    #[must_use]
    pub fn at_inlet() -> Self {
        Self { reached: Reached::Inlet, ..Self::to_inlet([1.0; 3], [Some(0.0); 3]) }
    }

    /// That of a pit that goes to its inlet with these chances within 2, 5 and 10 years, and in these years with 10, 50 and 90 %.
    ///
    /// ```
    /// use soaklife::fleet::Urgency;
    /// let urgency = Urgency::to_inlet([0.1, 0.4, 0.9], [Some(2.0), Some(5.5), Some(10.0)]);
    /// assert!(!urgency.is_there() && urgency.soon() == 0.1);
    /// ```
    #[must_use]
    pub fn to_inlet(chances: [f64; 3], years: [Option<f64>; 3]) -> Self {
        let range = match years {
            [Some(earliest), _, Some(latest)] => CrossingSet::Between { earliest, latest },
            [early, ..] => CrossingSet::NotBefore { earliest: early.unwrap_or(f64::INFINITY) },
        };
        Self { reached: Reached::NotYet, acts_early: false, chances, years, range, sight: FARTHEST }
    }

    /// Whether the pit stands at its goal.
    ///
    /// ```
    /// # use soaklife::fleet::Urgency;
    /// assert!(Urgency::at_inlet().is_there());
    /// ```
    #[must_use]
    pub fn is_there(&self) -> bool {
        self.reached != Reached::NotYet
    }

    /// The chance of having reached the goal within two years; 0 where it is no number.
    ///
    /// ```
    /// # use soaklife::fleet::Urgency;
    /// assert_eq!(Urgency::to_inlet([f64::NAN; 3], [None; 3]).soon(), 0.0);
    /// ```
    #[must_use]
    pub fn soon(&self) -> f64 {
        known(self.chances[0])
    }

    /// The 80 % range of the years to the goal as a list has it; where it is open, how likely what lies before its early end is.
    ///
    /// ```
    /// # use soaklife::fleet::Urgency;
    /// let told = |years| Urgency::to_inlet([0.0; 3], years).range_in_list();
    /// assert_eq!(told([Some(3.4), Some(5.0), Some(8.7)]), "3 to 9 years");
    /// assert_eq!(told([Some(12.9), Some(41.0), None]), "1 in 10 within 12 years");
    /// ```
    #[must_use]
    pub fn range_in_list(&self) -> String {
        match self.range {
            _ if self.is_there() => "now".to_owned(),
            CrossingSet::Unbounded => "cannot be told".to_owned(),
            range => range_in_list(range, Coverage::EIGHTY, self.sight),
        }
    }

    /// The order of a list: the more urgent first.
    ///
    /// ```
    /// # use soaklife::fleet::Urgency;
    /// let (near, unread) = ([0.0, 0.45, 0.9], [0.02, 0.04, 0.07]);
    /// assert!(Urgency::to_inlet(near, [None; 3]).compared(&Urgency::to_inlet(unread, [None; 3])).is_lt());
    /// ```
    #[must_use]
    pub fn compared(&self, other: &Self) -> Ordering {
        let median =
            |urgency: &Self| urgency.years[1].filter(|years| !years.is_nan()).unwrap_or(f64::INFINITY);
        let likely_soon = |urgency: &Self| known(urgency.chances[0]) + known(urgency.chances[1]);
        let likely_later = |urgency: &Self| known(urgency.chances[2]);
        let order = other.is_there().cmp(&self.is_there());
        order
            .then_with(|| likely_soon(other).total_cmp(&likely_soon(self)))
            .then_with(|| likely_later(other).total_cmp(&likely_later(self)))
            .then_with(|| median(self).total_cmp(&median(other)))
    }
}

/// A chance, never less than nothing or "-0".
fn known(chance: f64) -> f64 {
    if chance > 0.0 { chance } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_likelier_soon_comes_first_whatever_the_early_end_of_its_range() {
        let unread = Urgency::to_inlet([0.02, 0.04, 0.07], [Some(0.5), None, None]);
        let ten_inches_left = Urgency::to_inlet([0.3, 0.9, 1.0], [Some(1.5), Some(2.5), Some(4.0)]);
        assert!(ten_inches_left.compared(&unread).is_lt() && unread.compared(&ten_inches_left).is_gt());
    }

    #[test]
    fn equal_chances_are_told_apart_by_later_ones_and_then_by_the_median() {
        let order = [
            Urgency::at_inlet(),
            Urgency::to_inlet([1.0, 1.0, 1.0], [Some(0.1); 3]),
            Urgency::to_inlet([0.0, 0.2, 0.3], [None; 3]),
            Urgency::to_inlet([0.0, 0.1, 0.9], [None; 3]),
            Urgency::to_inlet([0.0, 0.1, 0.2], [None; 3]),
            Urgency::to_inlet([0.0, 0.0, 0.0], [Some(20.0), Some(30.0), None]),
            Urgency::to_inlet([-0.0, f64::NAN, 0.0], [Some(12.0), Some(40.0), None]),
            Urgency::to_inlet([0.0, 0.0, 0.0], [Some(1.0), None, None]),
        ];
        for pair in order.windows(2) {
            assert!(pair[0].compared(&pair[1]).is_lt() && pair[1].compared(&pair[0]).is_gt(), "{pair:?}");
        }
        let last = order[order.len() - 1];
        assert!(last.compared(&last).is_eq());
    }

    #[test]
    fn a_pit_that_is_there_comes_first_even_if_its_chance_is_told_as_smaller() {
        let likely =
            Urgency { reached: Reached::ActionFreeboard, ..Urgency::to_inlet([0.9, 0.95, 0.97], [None; 3]) };
        let sure = Urgency::to_inlet([1.0; 3], [Some(0.5); 3]);
        assert!(likely.compared(&sure).is_lt());
    }
}
