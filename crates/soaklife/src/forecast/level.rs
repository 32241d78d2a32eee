//! Where the level stands, on any day: its median, its quantiles, and what a stick would find.

use super::{Forecast, Standing};
use crate::band::{Band, BandKind, Coverage};
use crate::quantity::{Length, as_inches, inches};

impl Forecast {
    /// Fitted standing level above the bottom, `years` from the day of the forecast.
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
    /// assert!(forecast.level(1.0) > forecast.level(0.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, years: f64) -> Length {
        let x = self.axis.at_years(years);
        match &self.standing {
            _ if self.has_reached() => self.pit.effective_depth(),
            Standing::AtInlet => self.pit.effective_depth(),
            Standing::Absorption(absorbed) => self.height(absorbed.level_in(years, 0.5)),
            Standing::Line(line) => inches(line.level(x)),
            Standing::Rank(rank) => inches(rank.level(x)),
        }
    }

    /// Quantile of the standing level; nothing where the method has none at that probability.
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
    /// assert!(forecast.level_quantile(1.0, 0.9) > forecast.level_quantile(1.0, 0.1));
    /// assert_eq!(forecast.level_quantile(1.0, 1.0), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantile(&self, years: f64, probability: f64) -> Option<Length> {
        if !(probability > 0.0 && probability < 1.0) {
            return None;
        }
        let x = self.axis.at_years(years);
        match &self.standing {
            Standing::Absorption(_) if years < 0.0 => None,
            _ if self.has_reached() => Some(self.pit.effective_depth()),
            Standing::AtInlet => Some(self.pit.effective_depth()),
            Standing::Absorption(absorbed) => Some(self.height(absorbed.level_in(years, probability))),
            Standing::Line(line) => finite_level(line.level_quantile(x, probability)),
            Standing::Rank(rank) => rank.level_quantile(x, probability).and_then(finite_level),
        }
    }

    /// Several quantiles of the standing level at one moment, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [low, high] = forecast.level_quantiles(1.0, [0.1, 0.9]);
    /// assert_eq!((low, high), (forecast.level_quantile(1.0, 0.1), forecast.level_quantile(1.0, 0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantiles<const N: usize>(
        &self,
        years: f64,
        probabilities: [f64; N],
    ) -> [Option<Length>; N] {
        let at_once = match &self.standing {
            _ if self.has_reached() => None,
            Standing::Absorption(absorbed) => {
                let levels = absorbed.levels_in(years, probabilities);
                return levels.map_or([None; N], |levels| levels.map(|level| Some(self.height(level))));
            }
            Standing::Line(line) if probabilities.iter().all(|&p| p > 0.0 && p < 1.0) => {
                Some(line.level_quantiles(self.axis.at_years(years), probabilities))
            }
            Standing::AtInlet | Standing::Line(_) | Standing::Rank(_) => None,
        };
        match at_once {
            Some(levels) => levels.map(finite_level),
            None => probabilities.map(|probability| self.level_quantile(years, probability)),
        }
    }

    /// Quantile of the freeboard: what is left is less than this with the given probability.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let median = as_inches(forecast.freeboard_quantile(0.0, 0.5).ok_or("none")?);
    /// assert!((median - 56.5).abs() < 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn freeboard_quantile(&self, years: f64, probability: f64) -> Option<Length> {
        Some(self.pit.freeboard(self.level_quantile(years, 1.0 - probability)?))
    }

    /// Several quantiles of the freeboard at one moment, cheaper than one by one.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{Forecast, History, Pit, Question};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
    /// let [low, high] = forecast.freeboard_quantiles(1.0, [0.1, 0.9]);
    /// assert_eq!((low, high), (forecast.freeboard_quantile(1.0, 0.1), forecast.freeboard_quantile(1.0, 0.9)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn freeboard_quantiles<const N: usize>(
        &self,
        years: f64,
        probabilities: [f64; N],
    ) -> [Option<Length>; N] {
        let levels = self.level_quantiles(years, probabilities.map(|probability| 1.0 - probability));
        levels.map(|level| Some(self.pit.freeboard(level?)))
    }

    /// Central range of the standing level.
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
    /// use soaklife::Coverage;
    /// let near = forecast.level_band(1.0, Coverage::EIGHTY).ok_or("none")?;
    /// let far = forecast.level_band(10.0, Coverage::EIGHTY).ok_or("none")?;
    /// assert!(far.upper - far.lower > near.upper - near.lower);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_band(&self, years: f64, coverage: Coverage) -> Option<Band> {
        let [lower, upper] = self.level_quantiles(years, [coverage.lower_tail(), coverage.upper_tail()]);
        Some(Band { lower: lower?, upper: upper?, coverage, kind: BandKind::Confidence })
    }

    /// Central range of the next stick reading; only a line has one.
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
    /// use soaklife::Coverage;
    /// let next = forecast.reading_band(1.0, Coverage::EIGHTY).ok_or("none")?;
    /// assert!(next.lower < forecast.level(1.0) && forecast.level(1.0) < next.upper);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reading_band(&self, years: f64, coverage: Coverage) -> Option<Band> {
        let lower = inches(self.reading_quantile_in(years, coverage.lower_tail())?);
        let upper = inches(self.reading_quantile_in(years, coverage.upper_tail())?);
        Some(Band { lower, upper, coverage, kind: BandKind::Prediction })
    }

    /// Rise in a year at the present load; nothing if the pit stands at its inlet.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::{as_inches, inches};
    /// # use soaklife::{Forecast, History, Pit, Question, Reading};
    /// # let pit = Pit::new(inches(30.0), inches(210.0))?;
    /// # let depths = [(2021, 102.0), (2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)];
    /// # let read = depths.map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
    /// # let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
    /// # let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)).by(soaklife::Method::Line))?;
    /// let pace = as_inches(forecast.pace_per_year().ok_or("at the inlet")?);
    /// assert!((pace - 3.1).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_per_year(&self) -> Option<Length> {
        let slope = match &self.standing {
            _ if self.has_reached() => return None,
            Standing::AtInlet => return None,
            Standing::Absorption(absorbed) => return absorbed.absorption.pace_in(0.5).map(inches),
            Standing::Line(line) => line.slope(),
            Standing::Rank(rank) => rank.slope(),
        };
        Some(inches(slope * self.axis.pace()))
    }

    /// Rise in a year that a share `probability` lies below, by the absorption method; a line has one pace only.
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
    /// assert!(forecast.pace_quantile(0.1) < forecast.pace_quantile(0.9));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn pace_quantile(&self, probability: f64) -> Option<Length> {
        match &self.standing {
            _ if self.has_reached() => None,
            Standing::Absorption(absorbed) => absorbed.absorption.pace_in(probability).map(inches),
            Standing::AtInlet | Standing::Line(_) | Standing::Rank(_) => None,
        }
    }

    fn reading_quantile_in(&self, years: f64, probability: f64) -> Option<f64> {
        match &self.standing {
            Standing::Absorption(absorbed) => absorbed.absorption.reading_in(years, probability),
            Standing::Line(line) => Some(line.reading_quantile(self.axis.at_years(years), probability)),
            Standing::AtInlet | Standing::Rank(_) => None,
        }
    }

    /// A height of the absorption method; exactly the pit's own where the level stands at the inlet or at the goal.
    fn height(&self, level_in: f64) -> Length {
        let (depth, goal) = (self.pit.effective_depth(), self.threshold());
        match level_in {
            at_inlet if at_inlet >= as_inches(depth) => depth,
            at_goal if at_goal == as_inches(goal) => goal,
            below => inches(below),
        }
    }
}

/// A share so near 0 or 1 that no level of a line is a number is no quantile.
fn finite_level(level_in: f64) -> Option<Length> {
    level_in.is_finite().then(|| inches(level_in))
}
