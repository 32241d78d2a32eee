//! What the line leaves over, in inches, and where normal residuals would stand.

use soaklife::Forecast;
use soaklife::history::Verdict;
use soaklife::numerics::binomial::exact_interval;
use soaklife::numerics::normal;
use soaklife::quantity::as_inches;

/// Share of dots that the band should hold.
const SHARE: f64 = 0.8;

/// One reading that counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Left {
    /// From the day of the forecast.
    pub(super) years: f64,
    /// Level above the line, inches.
    pub(super) over_in: f64,
    pub(super) weight: f64,
}

/// One residual in the order of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ordered {
    /// Standard normal quantile of its place.
    pub(super) quantile: f64,
    /// With the weight of its reading, inches.
    pub(super) over_in: f64,
    /// Where luck alone puts it, inches.
    pub(super) luck_in: (f64, f64),
}

/// All of them, oldest first.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Residuals {
    pub(super) left: Vec<Left>,
    /// Residual standard deviation, inches.
    pub(super) scatter_in: f64,
}

impl Residuals {
    /// Of a forecast by a line.
    pub(super) fn of(forecast: &Forecast) -> Option<Self> {
        let scatter_in = forecast.line()?.scatter();
        let left = forecast.readings().iter().filter_map(|taken| {
            let Verdict::Used { weight } = taken.verdict else { return None };
            let years = forecast.years_of(&taken.reading);
            let over = taken.reading.level(forecast.pit()) - forecast.level(years);
            Some(Left { years, over_in: as_inches(over), weight })
        });
        Some(Self { left: left.collect(), scatter_in })
    }

    /// Half the width that 80 % of residuals should keep to, inches.
    pub(super) fn usual_in(&self) -> f64 {
        normal::quantile(0.5 + SHARE / 2.0).unwrap_or_default() * self.scatter_in
    }

    /// In order, each beside the place that a normal one would have.
    pub(super) fn ordered(&self) -> Vec<Ordered> {
        let mut over: Vec<f64> = self.left.iter().map(|left| left.over_in * left.weight.sqrt()).collect();
        over.sort_by(f64::total_cmp);
        let count = u32::try_from(over.len()).unwrap_or(u32::MAX);
        let place = |(place, over_in): (u32, f64)| {
            let (low, high) = luck(place, count)?;
            let normal_in = |share: f64| Some(normal::quantile(share).ok()? * self.scatter_in);
            Some(Ordered {
                quantile: normal::quantile(median(place, count)).ok()?,
                over_in,
                luck_in: (normal_in(low)?, normal_in(high)?),
            })
        };
        (1..=count).zip(over).filter_map(place).collect()
    }

    /// How often the side of the line changes from one reading to the next, and how many steps there are.
    pub(super) fn changes_of_side(&self) -> (usize, usize) {
        let pairs = || self.left.iter().zip(self.left.iter().skip(1));
        let changes = pairs().filter(|(a, b)| (a.over_in > 0.0) != (b.over_in > 0.0)).count();
        (changes, pairs().count())
    }
}

/// Filliben's approximation to the median of the i-th of n uniform values.
pub(super) fn median(place: u32, count: u32) -> f64 {
    let n = f64::from(count);
    let outermost = 0.5f64.powf(1.0 / n);
    match place {
        _ if count == 1 => 0.5,
        place if place == count => outermost,
        1 => 1.0 - outermost,
        place => (f64::from(place) - 0.3175) / (n + 0.365),
    }
}

/// Quantiles 10 and 90 % of the i-th of n uniform values: Beta(i, n + 1 − i), whose quantiles are limits of Clopper and Pearson.
fn luck(place: u32, count: u32) -> Option<(f64, f64)> {
    let lower = exact_interval(place, count, SHARE).ok()?.lower;
    let upper = exact_interval(place - 1, count, SHARE).ok()?.upper;
    Some((lower, upper))
}
