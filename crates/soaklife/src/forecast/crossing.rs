//! When the level reaches the inlet, or the action freeboard: whether, in how many years, with what chance.

use super::{Forecast, Standing};
use crate::band::Coverage;
use crate::quantity::as_inches;
use crate::reading::Reading;
use crate::trend::CrossingSet;

/// Whether and when the level reaches the inlet, or the action freeboard if one was asked for.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question, Reading};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
/// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
/// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
/// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
/// use soaklife::{Coverage, Crossing};
/// assert!(matches!(forecast.crossing(Coverage::EIGHTY), Crossing::Expected { years, .. } if years.round() == 18.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Crossing {
    /// It stands there already, by the last reading.
    AlreadyAtInlet {
        /// The reading that found it there.
        since: Reading,
    },
    /// Expected within the horizon.
    Expected {
        /// Years from the day of the forecast, 0 if the trend already stands there.
        years: f64,
        /// The range for the coverage asked for.
        range: CrossingSet,
    },
    /// The level rises, but does not get there within the horizon.
    NotWithinHorizon {
        /// The horizon, years.
        horizon: f64,
        /// The range for the coverage asked for.
        range: CrossingSet,
    },
    /// The trend is flat or falls.
    NotHeadingThere {
        /// The range for the coverage asked for: the readings may still allow a rise.
        range: CrossingSet,
    },
}

impl Forecast {
    /// Whether and when the level reaches the inlet, or the action freeboard.
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
    /// use soaklife::{Coverage, Crossing};
    /// assert!(matches!(forecast.crossing(Coverage::EIGHTY), Crossing::Expected { .. }));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing(&self, coverage: Coverage) -> Crossing {
        if let Some(since) = self.reached_since() {
            return Crossing::AlreadyAtInlet { since };
        }
        let range = self.crossing_set(coverage);
        // A mixture of hypotheses always holds some that rise.
        let rising = matches!(self.standing, Standing::Absorption(_))
            || self.pace_per_year().is_some_and(|pace| as_inches(pace) > 0.0);
        let horizon = self.question.horizon_years();
        match self.trend_years() {
            Some(years) if years <= horizon => Crossing::Expected { years, range },
            Some(_) | None if rising => Crossing::NotWithinHorizon { horizon, range },
            _ => Crossing::NotHeadingThere { range },
        }
    }

    /// The confidence set of the time to the inlet, or to the action freeboard.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// use soaklife::{Coverage, trend::CrossingSet};
    /// let set = forecast.crossing_set(Coverage::EIGHTY);
    /// assert!(matches!(set, CrossingSet::Between { earliest, latest } if earliest > 15.0 && latest < 21.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing_set(&self, coverage: Coverage) -> CrossingSet {
        // Under another load the set is found on the axis itself, and its ends are told in years after that.
        let is_changed = self.axis.is_changed();
        let (threshold, pace) = (self.threshold_in(), if is_changed { 1.0 } else { self.axis.pace() });
        let set = match &self.standing {
            _ if self.has_reached() => CrossingSet::Between { earliest: 0.0, latest: 0.0 },
            Standing::AtInlet => CrossingSet::Between { earliest: 0.0, latest: 0.0 },
            Standing::Absorption(absorbed) => absorbed.passage.range(coverage),
            Standing::Line(line) => line.crossing(threshold, coverage, pace),
            Standing::Rank(rank) => rank.crossing(threshold, coverage, pace),
        };
        if is_changed { self.in_years(set) } else { set }
    }

    /// A set on the axis, in years; an end that is never reached is open.
    fn in_years(&self, set: CrossingSet) -> CrossingSet {
        match set {
            CrossingSet::Between { earliest, latest } => {
                let (earliest, latest) = (self.axis.years_to(earliest), self.axis.years_to(latest));
                if latest.is_finite() {
                    CrossingSet::Between { earliest, latest }
                } else {
                    CrossingSet::NotBefore { earliest }
                }
            }
            CrossingSet::NotBefore { earliest } => {
                CrossingSet::NotBefore { earliest: self.axis.years_to(earliest) }
            }
            CrossingSet::Never | CrossingSet::Unbounded => set,
        }
    }

    /// Years until the trend itself gets there, however far; 0 if it stands there, nothing if it never does.
    fn trend_years(&self) -> Option<f64> {
        if self.has_reached() {
            return Some(0.0);
        }
        if let Standing::Absorption(absorbed) = &self.standing {
            return absorbed.passage.years(0.5);
        }
        let threshold = self.threshold_in();
        if as_inches(self.level(0.0)) >= threshold {
            return Some(0.0);
        }
        let place = match &self.standing {
            Standing::AtInlet | Standing::Absorption(_) => Some(0.0),
            Standing::Line(line) => line.place_of(threshold),
            Standing::Rank(rank) => rank.place_of(threshold),
        }?;
        let years = self.axis.years_to(place);
        (years >= 0.0 && years.is_finite()).then_some(years)
    }

    /// Quantile of the years to the inlet, or to the action freeboard; nothing beyond the horizon, or where the
    /// confidence set is one-sided or unbounded.
    ///
    /// The median is the trend's own crossing; other quantiles are the ends of the set of their coverage.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// assert_eq!(forecast.years_to_inlet(0.5).map(f64::round), Some(18.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_to_inlet(&self, probability: f64) -> Option<f64> {
        let [years] = self.years_to_inlet_at([probability]);
        years
    }

    /// Several quantiles of the years to the inlet, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [early, late] = forecast.years_to_inlet_at([0.1, 0.9]);
    /// assert_eq!((early, late), (forecast.years_to_inlet(0.1), forecast.years_to_inlet(0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn years_to_inlet_at<const N: usize>(&self, probabilities: [f64; N]) -> [Option<f64>; N] {
        // Two quantiles as far from the median are the ends of one set.
        let mut last = None;
        let mut set_of = |coverage: Coverage| match last {
            Some((known, set)) if known == coverage => set,
            _ => last.insert((coverage, self.crossing_set(coverage))).1,
        };
        let mut years = |probability: f64| match &self.standing {
            _ if self.has_reached() => Some(0.0),
            Standing::Absorption(absorbed) => absorbed.passage.years(probability),
            _ if probability == 0.5 => self.trend_years(),
            _ => match set_of(coverage_between(probability, 1.0 - probability)?) {
                CrossingSet::Between { earliest, .. } if probability < 0.5 => Some(earliest),
                CrossingSet::Between { latest, .. } => Some(latest),
                _ => None,
            },
        };
        let horizon = self.question.horizon_years();
        probabilities.map(|probability| years(probability).filter(|&years| years <= horizon))
    }

    /// Probability that the level has reached the inlet, or the action freeboard, within so many years.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// assert!(forecast.chance_by(1.0) < 0.01 && forecast.chance_by(30.0) > 0.99);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_by(&self, years: f64) -> f64 {
        if years.is_nan() || years < 0.0 {
            return 0.0;
        }
        if self.has_reached() {
            return 1.0;
        }
        if let Standing::Absorption(absorbed) = &self.standing {
            return absorbed.passage.chance_within(years);
        }
        // "By then" cannot become less likely with time; the chance of being there can: of a falling line, and of one that stood
        // above the goal already, far ahead. It turns once at most.
        self.chance_now.max(self.chance_at(years)).max(self.chance_on_the_way(years))
    }

    /// The chance of being there where it is largest between now and then, if it has a peak on the way.
    fn chance_on_the_way(&self, years: f64) -> f64 {
        let Standing::Line(line) = &self.standing else { return 0.0 };
        let (now, then, threshold) =
            (self.axis.at_years(0.0), self.axis.at_years(years), self.threshold_in());
        let peak = line.likeliest_at_or_above(threshold).filter(|peak| (now..then).contains(peak));
        peak.map_or(0.0, |peak| line.chance_at_or_above(peak, threshold))
    }

    /// The chance of standing at the threshold or above then, by a method that has no first passage.
    pub(super) fn chance_at(&self, years: f64) -> f64 {
        let (x, threshold) = (self.axis.at_years(years), self.threshold_in());
        match &self.standing {
            Standing::AtInlet | Standing::Absorption(_) => 1.0,
            Standing::Line(line) => line.chance_at_or_above(x, threshold),
            Standing::Rank(rank) => rank.chance_at_or_above(x, threshold),
        }
    }
}

/// The coverage between two probabilities, the same from either side whatever their last digit.
fn coverage_between(one: f64, other: f64) -> Option<Coverage> {
    const DIGITS: f64 = 1e12;
    Coverage::new(((one - other).abs() * DIGITS).round() / DIGITS).ok()
}
