//! What a forecast says about one number, in the form in which it is scored.

use super::COVERAGES;
use crate::band::Coverage;
use crate::forecast::Forecast;
use crate::numerics::quantile_score::{Quantile, QuantileForecast};
use crate::quantity::as_inches;
use crate::trend::CrossingSet;

/// A prediction of a reading, in inches, or of the years to the inlet.
#[derive(Debug, Clone)]
pub(super) struct Prediction {
    /// The ranges of the coverages scored; none where the method tells none. An end may be infinite.
    pub(super) ranges: [Option<Range>; COVERAGES.len()],
    /// All seven quantiles, or the median alone.
    pub(super) quantiles: QuantileForecast,
    pub(super) median: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Range {
    pub(super) lower: f64,
    pub(super) upper: f64,
}

impl Prediction {
    /// What a stick will find, so many years ahead.
    pub(super) fn of_reading(forecast: &Forecast, years: f64) -> Option<Self> {
        let median = as_inches(forecast.level_quantile(years, 0.5)?);
        let range = |coverage: Coverage| {
            let band = forecast.reading_band(years, coverage)?;
            let [lower, upper] = [band.lower, band.upper].map(as_inches);
            (lower.is_finite() && upper.is_finite()).then_some(Range { lower, upper })
        };
        Self::within(COVERAGES.map(range), median, f64::INFINITY)
    }

    /// In how many years the inlet is reached. Where that cannot be told at every coverage, there is no prediction.
    pub(super) fn of_crossing(forecast: &Forecast) -> Option<Self> {
        let horizon = forecast.question().horizon_years();
        let beyond = |years: f64| if years <= horizon { years } else { f64::INFINITY };
        let range = |coverage: Coverage| match forecast.crossing_set(coverage) {
            CrossingSet::Unbounded => None,
            CrossingSet::Never => Some(Range { lower: f64::INFINITY, upper: f64::INFINITY }),
            CrossingSet::NotBefore { earliest } => {
                Some(Range { lower: beyond(earliest), upper: f64::INFINITY })
            }
            CrossingSet::Between { earliest, latest } => {
                Some(Range { lower: beyond(earliest), upper: beyond(latest) })
            }
        };
        let median = forecast.years_to_inlet(0.5).unwrap_or(f64::INFINITY);
        let ranges = COVERAGES.map(range);
        let is_told = ranges.iter().all(Option::is_some);
        if is_told { Self::within(ranges, median, horizon) } else { None }
    }

    /// What lies beyond `farthest` is scored as lying there.
    fn within(ranges: [Option<Range>; COVERAGES.len()], median: f64, farthest: f64) -> Option<Self> {
        let median = median.min(farthest);
        let mut quantiles = vec![(0.5, median)];
        if ranges.iter().all(Option::is_some) {
            for (coverage, range) in
                COVERAGES.into_iter().zip(ranges).filter_map(|(c, range)| Some((c, range?)))
            {
                quantiles.push((coverage.lower_tail(), range.lower.min(farthest)));
                quantiles.push((coverage.upper_tail(), range.upper.min(farthest)));
            }
        }
        let mut probabilities: Vec<f64> = quantiles.iter().map(|quantile| quantile.0).collect();
        let mut values: Vec<f64> = quantiles.iter().map(|quantile| quantile.1).collect();
        probabilities.sort_by(f64::total_cmp);
        // A trend by ranks takes its limits from a table with steps: they may cross, and are scored in order.
        values.sort_by(f64::total_cmp);
        let quantiles =
            probabilities.into_iter().zip(values).map(|(probability, value)| Quantile { probability, value });
        let quantiles = QuantileForecast::new(quantiles.collect()).ok()?;
        Some(Self { ranges, quantiles, median })
    }

    /// The quantiles of 5 and 10 %: the lower ends of the ranges of 90 and 80 %.
    pub(super) fn early_limits(&self) -> [Option<f64>; 2] {
        let [_, eighty, ninety] = self.ranges;
        [ninety, eighty].map(|range| range.map(|range| range.lower))
    }
}
