//! The falling level fitted: when it is back where it was, and where it stands next morning.
//!
//! Two shapes are fitted by least squares: a flow in proportion to the head, H = H₀ exp(−λ t), and the clogged wall of
//! [`clogging`](super::clogging). A few hours of fall cannot tell them apart, so a range told for later covers both; a wall with
//! a quite different suction behind it can lie outside.

use super::clogging::{USUAL_SUCTION_M, fallen};
use super::phases::Phases;
use crate::band::Coverage;
use crate::numerics::levenberg_marquardt::NonlinearFit;
use crate::numerics::normal;
use crate::numerics::student_t::StudentT;
use crate::quantity::{Length, metres};
use thiserror::Error;

/// Steps by which a derivative of the logarithm of a level is found, relative to a parameter.
const DERIVATIVE_STEP: f64 = 1e-5;

/// The shape of a fall.
///
/// ```
/// assert_eq!(soaklife::load_test::recession::Shape::BOTH.len(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Flow in proportion to the head: exponential.
    Exponential,
    /// The clogged wall, with the usual suction behind it.
    Wall,
}

impl Shape {
    /// Both shapes; the first is the one told.
    pub const BOTH: [Self; 2] = [Self::Exponential, Self::Wall];

    /// The level after so many days from a level and a rate (per day, or per metre and day).
    fn level(self, start: f64, rate: f64, days: f64) -> f64 {
        match self {
            Self::Exponential => start * (-rate * days).exp(),
            Self::Wall => fallen(start, rate, USUAL_SUCTION_M, days),
        }
    }

    /// Days from one level down to another.
    fn days(self, start: f64, end: f64, rate: f64) -> f64 {
        let share = |level: f64| level / (level + 2.0 * USUAL_SUCTION_M);
        match self {
            Self::Exponential => (start / end).ln() / rate,
            Self::Wall => (share(start) / share(end)).ln() / (USUAL_SUCTION_M * rate),
        }
    }

    /// The rate by which a level falls to another in so many days.
    fn rate(self, start: f64, end: f64, days: f64) -> f64 {
        self.days(start, end, 1.0) / days
    }
}

/// Why a fall was not fitted.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::load_test::{Household, LoadTest, Look, recession::NoRecession};
/// # use soaklife::{Pit, quantity::inches};
/// let one = LoadTest::new(vec![Look::at(date(2026, 5, 5).at(9, 0, 0, 0)).with_depth(inches(90.0))])?;
/// let study = one.study(&Pit::new(inches(30.0), inches(210.0))?, &Household::default());
/// assert_eq!(study.recession, Err(NoRecession::TooFewLevels));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NoRecession {
    /// Fewer than two levels above the bottom without water going in.
    #[error("fewer than two levels were read while no water went in")]
    TooFewLevels,
    /// The level did not fall by more than the stick's error.
    #[error("the level did not fall by more than a stick can tell")]
    NotFalling,
    /// The tank drained into the pit meanwhile.
    #[error("the tank drained into the pit meanwhile, so the fall does not show what the pit takes")]
    TankDraining,
    /// No curve was found.
    #[error("no curve was found through the levels")]
    NotFitted,
}

/// A value with its range.
///
/// ```
/// use soaklife::load_test::recession::Ranged;
/// let days = Ranged { value: 0.8, lower: 0.7, upper: 0.9 };
/// assert!(days.lower < days.value);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranged<T> {
    /// The value.
    pub value: T,
    /// Lower end of its range.
    pub lower: T,
    /// Upper end of its range.
    pub upper: T,
}

/// The falling level, fitted.
///
/// # Formula
/// Least squares over the levels without inflow, from H₀ and rate both free. Errors are those of the stick, or of the scatter
/// about the curve (with Student's t) where that is larger; ranges of levels and times by the
/// derivatives of their logarithms; to a level the stick's own error is added in quadrature.
///
/// # Example
/// ```
/// use jiff::civil::date;
/// use soaklife::load_test::{Household, LoadTest, Look};
/// use soaklife::quantity::{as_inches, inches};
/// use soaklife::{Coverage, Pit};
///
/// let pit = Pit::new(inches(42.0), inches(186.0))?;
/// // 64 in above the bottom, halved every six hours.
/// let looks = [(8, 64.0), (14, 32.0), (20, 16.0)]
///     .map(|(hour, level)| Look::at(date(2026, 5, 5).at(hour, 0, 0, 0)).with_depth(inches(186.0 - level)));
/// let recession = LoadTest::new(looks.to_vec())?.study(&pit, &Household::default()).recession?;
/// let half = recession.half_life_days(Coverage::EIGHTY).ok_or("none")?;
/// assert!((half.value - 0.25).abs() < 1e-6 && half.lower < 0.25 && half.upper > 0.25);
/// let next_day = recession.level_after(1.0, Coverage::EIGHTY).ok_or("none")?;
/// assert!((as_inches(next_day.value) - 4.0).abs() < 1e-6);
/// let back = recession.days_to(inches(8.0), Coverage::EIGHTY).ok_or("none")?;
/// assert!((back.value - 0.75).abs() < 1e-6);
/// assert_eq!(recession.levels(), 3);
/// assert!(recession.rate_per_day().is_some_and(|(rate, error)| (rate - 2.7726).abs() < 1e-4 && error > 0.0));
/// assert!(recession.wall_rate().is_some_and(|rate| rate > 0.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Recession {
    falls: Vec<Fall>,
    stick: f64,
    levels: usize,
}

/// One shape fitted.
#[derive(Debug, Clone, PartialEq)]
struct Fall {
    shape: Shape,
    start: f64,
    rate: f64,
    /// Covariance of the two.
    covariance: [[f64; 2]; 2],
    /// Degrees of freedom, if the scatter and not the stick gives the error.
    scatter: Option<f64>,
}

impl Recession {
    pub(super) fn of(phases: &Phases<'_>) -> Result<Self, NoRecession> {
        let from = phases.fall.first().map_or(0.0, |point| point.day);
        let wet = phases.fall.iter().filter(|point| !point.is_dry());
        let levels: Vec<(f64, f64)> =
            wet.filter_map(|point| Some((point.day - from, point.level?))).collect();
        let (Some(first), Some(last)) = (levels.first(), levels.last()) else {
            return Err(NoRecession::TooFewLevels);
        };
        let days = last.0 - first.0;
        if levels.len() < 2 || days <= 0.0 {
            return Err(NoRecession::TooFewLevels);
        }
        let tanks = || phases.fall.iter().filter_map(|point| point.tank);
        if tanks().fold(0.0, f64::max) - tanks().next_back().unwrap_or(0.0) > super::verdict::TANK_ROSE_M {
            return Err(NoRecession::TankDraining);
        }
        if first.1 - last.1 <= phases.same_level() {
            return Err(NoRecession::NotFalling);
        }
        let fitted = |shape| Fall::fit(shape, &levels, (first.1, last.1, days), phases.stick());
        let falls: Vec<Fall> = Shape::BOTH.into_iter().filter_map(fitted).collect();
        if falls.first().is_none_or(|fall| fall.shape != Shape::Exponential) {
            return Err(NoRecession::NotFitted);
        }
        Ok(Self { falls, stick: phases.stick(), levels: levels.len() })
    }

    /// How many levels it rests on.
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn levels(&self) -> usize {
        self.levels
    }

    /// Days in which the head halves, by the exponential shape, with the range that holds as often as `coverage` says.
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn half_life_days(&self, coverage: Coverage) -> Option<Ranged<f64>> {
        let fall = self.falls.first()?;
        let value = std::f64::consts::LN_2 / fall.rate;
        ranged(value, fall.covariance[1][1] / (fall.rate * fall.rate), fall.multiplier(coverage)?)
    }

    /// The level expected so many days after the fall began, and the range in which a stick should find it: not below the
    /// bottom, and not above the level at which the fall began by more than a stick's error.
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn level_after(&self, days: f64, coverage: Coverage) -> Option<Ranged<Length>> {
        let of = |fall: &Fall| {
            let value = fall.shape.level(fall.start, fall.rate, days);
            let log = |start: f64, rate: f64| fall.shape.level(start, rate, days).ln();
            let multiplier = fall.multiplier(coverage)?;
            let (spread, stick) = (multiplier * fall.variance_of(log).sqrt(), multiplier * self.stick);
            // What the fall is off by multiplies the level, what the stick is off by adds to it.
            let up = (value * spread.exp_m1()).hypot(stick);
            let down = (value * (-spread).exp_m1()).hypot(stick);
            // Without water going in the level does not rise, and it ends at the bottom.
            let highest = (fall.start + stick).max(value);
            Some(Ranged {
                value,
                lower: (value - down).max(0.0).min(value),
                upper: (value + up).min(highest),
            })
        };
        let both = self.over_shapes(of)?;
        Some(Ranged { value: metres(both.value), lower: metres(both.lower), upper: metres(both.upper) })
    }

    /// Days from the beginning of the fall until the level is down to `level`, with a range. None to a dry pit, which a fall
    /// that slows with the head never reaches.
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn days_to(&self, level: Length, coverage: Coverage) -> Option<Ranged<f64>> {
        let end = level.value;
        if end.is_nan() || end <= 0.0 {
            return None;
        }
        let of = |fall: &Fall| {
            let days = |start: f64, end: f64, rate: f64| fall.shape.days(start, end, rate).max(1e-6);
            let value = days(fall.start, end, fall.rate);
            let log = |start: f64, rate: f64| days(start, end, rate).ln();
            let nudged = end * (1.0 + DERIVATIVE_STEP);
            let slope = (days(fall.start, nudged, fall.rate).ln() - value.ln()) / (nudged - end);
            ranged(value, fall.variance_of(log) + (slope * self.stick).powi(2), fall.multiplier(coverage)?)
        };
        self.over_shapes(of).filter(|days| days.value > 1e-6)
    }

    /// The clogged wall's k, per metre and day, as fitted: P / (A R).
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn wall_rate(&self) -> Option<f64> {
        self.falls.iter().find(|fall| fall.shape == Shape::Wall).map(|fall| fall.rate)
    }

    /// The rate of the exponential shape, a day, with its standard error.
    ///
    /// The page of [`Recession`] has an example.
    #[must_use]
    pub fn rate_per_day(&self) -> Option<(f64, f64)> {
        self.falls.first().map(|fall| (fall.rate, fall.covariance[1][1].sqrt()))
    }

    /// The value of the first shape in a range that covers those of all.
    fn over_shapes(&self, of: impl Fn(&Fall) -> Option<Ranged<f64>>) -> Option<Ranged<f64>> {
        let mut all = self.falls.iter().filter_map(of);
        let first = all.next()?;
        let both = all.fold(first, |so_far, next| Ranged {
            value: so_far.value,
            lower: so_far.lower.min(next.lower),
            upper: so_far.upper.max(next.upper),
        });
        [both.value, both.lower, both.upper].iter().all(|value| value.is_finite()).then_some(both)
    }
}

impl Fall {
    fn fit(shape: Shape, levels: &[(f64, f64)], ends: (f64, f64, f64), stick: f64) -> Option<Self> {
        let observed: Vec<f64> = levels.iter().map(|(_, level)| *level).collect();
        let start = [ends.0, shape.rate(ends.0, ends.1, ends.2)];
        let model = |b: &[f64], row: usize| match (b, levels.get(row)) {
            (&[start, rate], Some((days, _))) => shape.level(start, rate, *days),
            _ => f64::NAN,
        };
        let fit = NonlinearFit::fit(&observed, &start, model).ok()?;
        let &[start, rate] = fit.parameters() else { return None };
        let of_stick = stick * stick;
        let of_scatter = fit.residual_variance().filter(|variance| *variance > of_stick);
        let gram = fit.inverse_gram() * of_scatter.unwrap_or(of_stick);
        let entry = |row: usize, column: usize| gram[(row, column)];
        let fall = Self {
            shape,
            start,
            rate,
            covariance: [[entry(0, 0), entry(0, 1)], [entry(1, 0), entry(1, 1)]],
            scatter: of_scatter.map(|_| fit.degrees_of_freedom() as f64),
        };
        (start > 0.0 && rate > 0.0).then_some(fall)
    }

    /// Standard errors to either side of a range.
    fn multiplier(&self, coverage: Coverage) -> Option<f64> {
        match self.scatter {
            Some(degrees) => StudentT::new(degrees).ok()?.two_sided_multiplier(coverage.value()).ok(),
            None => normal::quantile(0.5 + 0.5 * coverage.value()).ok(),
        }
    }

    /// Variance of a function of start and rate.
    fn variance_of(&self, function: impl Fn(f64, f64) -> f64) -> f64 {
        let (by_start, by_rate) = (self.start * DERIVATIVE_STEP, self.rate * DERIVATIVE_STEP);
        let along = |start: f64, rate: f64| function(self.start + start, self.rate + rate);
        let a = (along(by_start, 0.0) - along(-by_start, 0.0)) / (2.0 * by_start);
        let b = (along(0.0, by_rate) - along(0.0, -by_rate)) / (2.0 * by_rate);
        let [[aa, ab], [_, bb]] = self.covariance;
        (a * a * aa + 2.0 * a * b * ab + b * b * bb).max(0.0)
    }
}

/// A positive value whose logarithm has this variance.
fn ranged(value: f64, variance_of_log: f64, multiplier: f64) -> Option<Ranged<f64>> {
    let factor = (multiplier * variance_of_log.sqrt()).exp();
    let range = Ranged { value, lower: value / factor, upper: value * factor };
    (value > 0.0 && [value, range.lower, range.upper].iter().all(|end| end.is_finite())).then_some(range)
}
