//! A trend by ranks: the median of all pairwise slopes, and an interval that assumes no distribution.
//!
//! One wild reading cannot carry it away. What it cannot give is a band for the level itself: the spread
//! shown is that of the slope alone.

use super::{CrossingSet, TrendError, TrendPoint};
use crate::band::Coverage;
use crate::numerics::mann_kendall::{MannKendall, PairsError};
use crate::numerics::theil_sen::TheilSen;

/// Places and levels beyond this leave the range of numbers as soon as a line is drawn through them.
const FARTHEST: f64 = 1e100;

/// Fewest usable readings for a rank trend.
///
/// ```
/// # use soaklife::trend::rank::RankTrend;
/// # use soaklife::trend::TrendPoint;
/// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
/// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
/// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
/// use soaklife::trend::rank::FEWEST_READINGS;
/// assert_eq!(FEWEST_READINGS, 4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub const FEWEST_READINGS: usize = 4;

/// A fitted Theil–Sen trend of level against the axis.
///
/// # Formula
/// Slope b = median of (yⱼ − yᵢ)/(xⱼ − xᵢ); the trend passes through (median x, median y) (Conover). Levels in
/// inches, x in years or design-years with 0 on the day of the forecast.
///
/// ```
/// use soaklife::trend::TrendPoint;
/// use soaklife::trend::rank::RankTrend;
///
/// // The slip in the fourth year does not move the slope.
/// let levels = [(-5.0, 90.0), (-4.0, 93.0), (-3.0, 96.0), (-2.0, 132.0), (-1.0, 102.0), (0.0, 105.0)];
/// let points = levels.map(|(x, level_in)| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 });
/// let trend = RankTrend::fit(&points)?;
/// assert!((trend.slope() - 3.0).abs() < 1e-12);
/// # Ok::<(), soaklife::trend::TrendError>(())
/// ```
///
/// # Source
/// Sen (1968), Journal of the American Statistical Association 63, 1379–1389; Conover, Practical Nonparametric
/// Statistics, for the intercept.
#[derive(Debug, Clone, PartialEq)]
pub struct RankTrend {
    theil_sen: TheilSen,
    mann_kendall: MannKendall,
}

impl RankTrend {
    /// Fits a trend through at least four points; weights and date uncertainty do not enter.
    ///
    /// # Errors
    /// [`TrendError::TooFewReadings`], [`TrendError::NoSpread`], [`TrendError::NotFinite`].
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// assert!(RankTrend::fit(&[point(0.0, 96.0)]).is_err());
    /// ```
    pub fn fit(points: &[TrendPoint]) -> Result<Self, TrendError> {
        if points.len() < FEWEST_READINGS {
            return Err(TrendError::TooFewReadings { used: points.len(), needed: FEWEST_READINGS });
        }
        if points.iter().any(|point| point.x.abs() > FARTHEST || point.level_in.abs() > FARTHEST) {
            return Err(TrendError::OutOfRange);
        }
        let x: Vec<f64> = points.iter().map(|point| point.x).collect();
        let y: Vec<f64> = points.iter().map(|point| point.level_in).collect();
        let theil_sen = TheilSen::fit(&x, &y).map_err(in_readings)?;
        let mann_kendall = MannKendall::test(&x, &y).map_err(in_readings)?;
        Ok(Self { theil_sen, mann_kendall })
    }

    /// Median slope, inches per axis unit.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!((trend.slope() - 3.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn slope(&self) -> f64 {
        self.theil_sen.slope()
    }

    /// The Mann–Kendall test for a trend in either direction.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert_eq!(trend.mann_kendall().score(), 10); // all ten pairs rise
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn mann_kendall(&self) -> &MannKendall {
        &self.mann_kendall
    }

    /// Level on the trend at a place, inches.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!((trend.level(-2.0) - 103.0).abs() < 1e-12); // through the medians
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level(&self, x: f64) -> f64 {
        self.theil_sen.value_at(x)
    }

    fn median_level(&self) -> f64 {
        self.theil_sen.value_at(self.theil_sen.median_x())
    }

    /// Quantile of the level on the trend, from Sen's limits of the slope, inches; nothing where the readings
    /// are too few for a limit at that probability.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!(trend.level_quantile(5.0, 0.9) > trend.level_quantile(5.0, 0.1));
    /// assert_eq!(trend.level_quantile(5.0, 0.9999), None); // too few readings for so sure a limit
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn level_quantile(&self, x: f64, probability: f64) -> Option<f64> {
        let probability = if x >= self.theil_sen.median_x() { probability } else { 1.0 - probability };
        let slope = self.slope_quantile(probability)?;
        Some(self.median_level() + slope * (x - self.theil_sen.median_x()))
    }

    fn slope_quantile(&self, probability: f64) -> Option<f64> {
        if probability == 0.5 {
            return Some(self.slope());
        }
        let limits = self.theil_sen.interval((2.0 * probability - 1.0).abs()).ok()?;
        let limit = if probability < 0.5 { limits.lower } else { limits.upper };
        limits.reaches_coverage.then_some(limit)
    }

    /// Probability that the level on the trend is at `threshold_in` or above, from the confidence distribution
    /// of the slope.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!(trend.chance_at_or_above(10.0, 120.0) > 0.9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn chance_at_or_above(&self, x: f64, threshold_in: f64) -> f64 {
        let ahead = x - self.theil_sen.median_x();
        let needed = (threshold_in - self.median_level()) / ahead;
        if !needed.is_finite() {
            return f64::from(u8::from(self.median_level() >= threshold_in));
        }
        let steeper = self.theil_sen.probability_slope_exceeds(needed);
        if ahead > 0.0 { steeper } else { 1.0 - steeper }
    }

    /// Place where the trend meets a level; nothing if it is flat.
    ///
    /// ```
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::TrendPoint;
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!((trend.place_of(118.0).ok_or("flat")? - 3.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn place_of(&self, threshold_in: f64) -> Option<f64> {
        self.place_with_slope(self.slope(), threshold_in)
    }

    fn place_with_slope(&self, slope: f64, threshold_in: f64) -> Option<f64> {
        let place = self.theil_sen.median_x() + (threshold_in - self.median_level()) / slope;
        place.is_finite().then_some(place)
    }

    /// When the trend may meet `threshold_in`, from Sen's interval of the slope, with `pace` axis units a year.
    ///
    /// ```
    /// # use soaklife::band::Coverage;
    /// # use soaklife::trend::rank::RankTrend;
    /// # use soaklife::trend::{CrossingSet, TrendPoint};
    /// # let point = |x: f64, level_in: f64| TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 };
    /// # let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
    /// # let trend = RankTrend::fit(&levels.map(|(x, level_in)| point(x, level_in)))?;
    /// assert!(matches!(trend.crossing(118.0, Coverage::HALF, 1.0), CrossingSet::Between { .. }));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn crossing(&self, threshold_in: f64, coverage: Coverage, pace: f64) -> CrossingSet {
        if self.level(0.0) >= threshold_in {
            return CrossingSet::Between { earliest: 0.0, latest: 0.0 };
        }
        if pace <= 0.0 {
            return CrossingSet::Never;
        }
        let limits = match self.theil_sen.interval(coverage.value()) {
            Ok(limits) if limits.reaches_coverage => limits,
            _ => return CrossingSet::Unbounded,
        };
        let years = |slope: f64| {
            let place = if slope > 0.0 { self.place_with_slope(slope, threshold_in) } else { None };
            place.map(|x| (x / pace).max(0.0))
        };
        match (years(limits.upper), years(limits.lower)) {
            (Some(one), Some(other)) => {
                CrossingSet::Between { earliest: one.min(other), latest: one.max(other) }
            }
            (Some(earliest), None) => CrossingSet::NotBefore { earliest },
            (None, _) => CrossingSet::Never,
        }
    }
}

fn in_readings(error: PairsError) -> TrendError {
    match error {
        PairsError::NotFinite { index, .. } => TrendError::NotFinite { index },
        PairsError::TooManyPoints { found, most } => TrendError::TooManyReadings { used: found, most },
        PairsError::SlopeOverflows { .. } => TrendError::OutOfRange,
        _ => TrendError::NoSpread,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point((x, level_in): (f64, f64)) -> TrendPoint {
        TrendPoint { x, x_standard_deviation: 0.0, level_in, weight: 1.0 }
    }

    #[test]
    fn before_the_middle_of_the_readings_a_steeper_line_lies_lower() {
        let levels = [(-4.0, 96.0), (-3.0, 99.0), (-2.0, 103.0), (-1.0, 105.0), (0.0, 108.0)];
        let trend = RankTrend::fit(&levels.map(point)).unwrap();
        for x in [-12.0, -3.0, -1.0, 8.0] {
            let [low, middle, high] =
                [0.1, 0.5, 0.9].map(|probability| trend.level_quantile(x, probability).unwrap());
            assert!(low < middle && middle < high, "{x}: {low} {middle} {high}");
            assert_eq!(middle, trend.level(x));
            let chances = [20.0, 0.1, -0.1, -20.0].map(|above| trend.chance_at_or_above(x, middle + above));
            assert!(
                chances.is_sorted() && chances[0] < 0.1 && chances[3] > 0.9 && chances[3] <= 1.0,
                "{x}: {chances:?}"
            );
        }
        // At the middle itself the line turns, and its level is certain.
        assert_eq!([102.0, 103.0, 104.0].map(|level| trend.chance_at_or_above(-2.0, level)), [1.0, 1.0, 0.0]);
    }

    #[test]
    fn readings_too_many_to_pair_are_refused_in_the_trades_words() {
        let points: Vec<TrendPoint> = (0..5_000).map(|place| point((f64::from(place), 90.0))).collect();
        assert!(matches!(RankTrend::fit(&points), Err(TrendError::TooManyReadings { used: 5_000, .. })));
    }
}
