//! The axis that a trend runs along: years, or the cumulative load in design-years.

use crate::date::{date_after, years_between};
use crate::history::History;
use crate::loading::LoadHistory;
use crate::whatif::{LoadChange, NewRatio};
use jiff::civil::Date;

/// What the level is fitted against.
///
/// ```
/// # use soaklife::trend::axis::Against;
/// assert_eq!(Against::default(), Against::Load);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Against {
    /// Cumulative load: a lightly used pit ages more slowly. Falls back on time where the load is unknown.
    #[default]
    Load,
    /// Calendar time.
    Time,
}

/// A place on the axis for every date, 0 on the day of the forecast.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::{gallons_per_day, inches};
/// # use soaklife::trend::axis::{Against, Axis};
/// # use soaklife::{History, LoadHistory, Pit};
/// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
/// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
/// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
/// assert_eq!(axis.at(date(2022, 5, 1)), -1.0); // four years at a quarter of the design
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    as_of: Date,
    load: Option<LoadHistory>,
    ahead: Option<OtherPace>,
}

/// Another pace than today's, from a moment ahead until another, years.
#[derive(Debug, Clone, Copy, PartialEq)]
struct OtherPace {
    from: f64,
    until: f64,
    pace: f64,
}

impl Axis {
    /// The axis of a pit, as known on the day of the forecast.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use soaklife::history::History;
    /// use soaklife::pit::Pit;
    /// use soaklife::quantity::inches;
    /// use soaklife::trend::axis::{Against, Axis};
    ///
    /// let history = History::new(Pit::new(inches(24.0), inches(120.0))?);
    /// let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!(axis.against(), Against::Time); // no load is known
    /// assert_eq!(axis.at(date(2022, 5, 1)), -4.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn new(history: &History, against: Against, as_of: Date) -> Self {
        let known = |load: &LoadHistory| load.known_by(as_of);
        let load = if against == Against::Load { history.load().map(known) } else { None };
        Self { as_of, load, ahead: None }
    }

    /// The same with another load to come; itself where no load is known, or where nothing changes.
    pub(crate) fn under(&self, change: &LoadChange) -> Self {
        let today = Self { ahead: None, ..self.clone() };
        let pace = match change.ratio {
            NewRatio::Stated(ratio) => ratio,
            NewRatio::Share(share) => share * today.pace(),
        };
        let (from, until) = (change.from.max(0.0), change.until);
        let changes =
            self.load.is_some() && from < until && (pace - today.pace()).abs() > 1e-9 * today.pace();
        Self { ahead: changes.then_some(OtherPace { from, until, pace }), ..today }
    }

    /// Years from the day of the forecast until a place ahead is reached: infinite if it never is.
    pub(crate) fn years_to(&self, x: f64) -> f64 {
        let pace = self.pace_at(self.as_of);
        let Some(other) = self.ahead else { return x / pace };
        if x <= 0.0 {
            return 0.0;
        }
        let begins = pace * other.from;
        let ends = begins + other.pace * (other.until - other.from);
        let years = if x <= begins {
            x / pace
        } else if x <= ends {
            other.from + (x - begins) / other.pace
        } else {
            other.until + (x - ends) / pace
        };
        if years.is_nan() { f64::INFINITY } else { years }
    }

    /// Whether another load than today's lies ahead.
    pub(crate) fn is_changed(&self) -> bool {
        self.ahead.is_some()
    }

    /// What the axis really is.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::trend::axis::{Against, Axis};
    /// # use soaklife::{History, LoadHistory, Pit};
    /// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
    /// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
    /// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!(axis.against(), Against::Load);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn against(&self) -> Against {
        if self.load.is_some() { Against::Load } else { Against::Time }
    }

    /// Place of a date: years, or design-years, from the day of the forecast; negative before it.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::trend::axis::{Against, Axis};
    /// # use soaklife::{History, LoadHistory, Pit};
    /// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
    /// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
    /// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!(axis.at(date(2030, 5, 1)), 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at(&self, date: Date) -> f64 {
        match &self.load {
            Some(_) if self.ahead.is_some() && date > self.as_of => {
                self.at_years(years_between(self.as_of, date))
            }
            Some(load) => load.cumulative(self.as_of, date),
            None => years_between(self.as_of, date),
        }
    }

    /// Place of a moment, in years from the day of the forecast. Ahead, the present load goes on.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::trend::axis::{Against, Axis};
    /// # use soaklife::{History, LoadHistory, Pit};
    /// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
    /// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
    /// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!((axis.at_years(8.0), axis.at_years(-4.0)), (2.0, -1.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn at_years(&self, years: f64) -> f64 {
        if let Some(other) = self.ahead.filter(|other| years > other.from) {
            let changed = years.min(other.until) - other.from;
            return (years - changed) * self.pace_at(self.as_of) + changed * other.pace;
        }
        if years >= 0.0 || self.load.is_none() {
            return years * self.pace_at(self.as_of);
        }
        date_after(self.as_of, years).map_or(years * self.pace_at(self.as_of), |date| self.at(date))
    }

    /// Axis units a year from the day of the forecast on: 1, or the present load ratio; under another use, its ratio.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::trend::axis::{Against, Axis};
    /// # use soaklife::{History, LoadHistory, Pit};
    /// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
    /// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
    /// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!(axis.pace(), 0.25);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace(&self) -> f64 {
        self.ahead.map_or_else(|| self.pace_at(self.as_of), |other| other.pace)
    }

    /// Axis units a year on a date up to that of the forecast.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{gallons_per_day, inches};
    /// # use soaklife::trend::axis::{Against, Axis};
    /// # use soaklife::{History, LoadHistory, Pit};
    /// # let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(100.0))?;
    /// # let history = History::new(Pit::new(inches(24.0), inches(120.0))?).with_load(load);
    /// # let axis = Axis::new(&history, Against::Load, date(2026, 5, 1));
    /// assert_eq!(axis.pace_at(date(2000, 1, 1)), 0.25);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_at(&self, date: Date) -> f64 {
        self.load.as_ref().map_or(1.0, |load| load.ratio_at(date))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::Pit;
    use crate::quantity::{gallons_per_day, inches};
    use jiff::civil::date;

    const AS_OF: Date = Date::constant(2026, 5, 1);

    /// A household at half the design flow that will be at its whole from the second year until the fifth.
    fn doubled_for_three_years() -> (Axis, Axis) {
        let load = LoadHistory::constant(gallons_per_day(400.0), gallons_per_day(200.0)).unwrap();
        let history = History::new(Pit::new(inches(24.0), inches(120.0)).unwrap()).with_load(load);
        let today = Axis::new(&history, Against::Load, AS_OF);
        let change = LoadChange { ratio: NewRatio::Stated(1.0), from: 2.0, until: 5.0 };
        let changed = today.under(&change);
        (today, changed)
    }

    #[test]
    fn another_load_counts_from_its_first_day_to_its_last() {
        let (today, changed) = doubled_for_three_years();
        assert!(changed.is_changed() && !today.is_changed());
        assert_eq!((changed.pace(), changed.pace_at(AS_OF), today.pace()), (1.0, 0.5, 0.5));
        // Half a design-year a year, from 2 to 5 a whole one: 1 at 2, 4 at 5, 5 at 7.
        let places = [(-4.0, -2.0), (0.0, 0.0), (1.0, 0.5), (2.0, 1.0), (3.0, 2.0), (5.0, 4.0), (7.0, 5.0)];
        for (years, place) in places {
            assert!((changed.at_years(years) - place).abs() < 1e-12, "{years}: {}", changed.at_years(years));
            let back = if years > 0.0 { years } else { 0.0 };
            assert!((changed.years_to(place) - back).abs() < 1e-12, "{place}: {}", changed.years_to(place));
        }
        // Years from 1 May to 1 May are whole ones but for leap days.
        for (years, place) in places.into_iter().filter(|(years, _)| *years != 0.0) {
            let day = date((2026.0 + years) as i16, 5, 1);
            assert!((changed.at(day) - place).abs() < 2e-3, "{day}: {}", changed.at(day));
        }
        assert_eq!((changed.at(AS_OF), today.at_years(7.0), today.years_to(3.5)), (0.0, 3.5, 7.0));
    }

    #[test]
    fn what_changes_nothing_is_no_change() {
        let (today, _) = doubled_for_three_years();
        let under = |ratio, from, until| today.under(&LoadChange { ratio, from, until });
        assert_eq!(under(NewRatio::Stated(0.5), 0.0, 9.0), today);
        assert_eq!(under(NewRatio::Share(1.0), 0.0, 9.0), today);
        assert_eq!(under(NewRatio::Stated(0.8), 3.0, 3.0), today);
        assert_eq!(under(NewRatio::Stated(0.8), -3.0, 0.0), today);
        assert_eq!(under(NewRatio::Share(0.5), 0.0, 9.0).pace(), 0.25);
        let vacant = under(NewRatio::Stated(0.0), 0.0, f64::INFINITY);
        assert_eq!(
            (vacant.at_years(9.0), vacant.years_to(0.1), vacant.years_to(0.0)),
            (0.0, f64::INFINITY, 0.0)
        );
        let by_time = Axis { load: None, ..today.clone() };
        assert_eq!(
            by_time.under(&LoadChange { ratio: NewRatio::Stated(0.8), from: 0.0, until: 9.0 }),
            by_time
        );
    }
}
