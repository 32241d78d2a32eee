//! What the pit takes in a day, and how fast its wetted wall takes it.

use super::balance::{BalanceRow, Phase, measured, row};
use super::clogging::{USUAL_SUCTION_M, resistance_days};
use super::phases::{Phases, Point};
use super::recession::Recession;
use super::verdict::{pit_rose_little, tank_rose};
use super::{Measured, m3_per_day};
use crate::acceptance::MeasuredAcceptance;
use crate::band::Coverage;
use crate::quantity::{
    Area, Length, Volume, VolumeRate, as_gallons_per_day, as_square_feet, cubic_metres, cubic_metres_per_day,
    metres,
};
use jiff::civil::Date;

/// A volume counts as a day's, as it was measured, up to so many hours; over longer times its rate does.
const HOURS_OF_A_DAY: f64 = 30.0;

/// A flow with a larger relative standard error is not told to a forecast.
const HARDLY_KNOWN: f64 = 0.5;

/// How a day's intake was found.
///
/// ```
/// use soaklife::load_test::intake::Form;
/// assert_ne!(Form::Refilled, Form::Fall);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Form {
    /// The volume that brought the level back to the high of the day before (Penn State Extension's procedure). Needs no
    /// diameter.
    Refilled,
    /// The fall of the level times the open area.
    Fall,
    /// All water added, less what the pit and the tank still hold.
    Whole,
    /// The fitted fall, because nobody came back after a day: an expectation, not a measurement.
    Expected,
}

/// What the pit takes in a day.
///
/// The page of [`load_test`](super) tells how to come by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DailyIntake {
    /// How it was found.
    pub form: Form,
    /// The volume of a day.
    pub volume: Measured,
    /// What it is at least, given what the tank may have held back.
    pub least: Volume,
    /// What it is at most.
    pub most: Volume,
    /// Hours over which it was measured.
    pub hours: f64,
}

/// A day's intake from the best of what was measured.
pub(super) fn daily(phases: &Phases<'_>, recession: Option<&Recession>) -> Option<DailyIntake> {
    let (start, high) = (phases.start?, phases.high?);
    let restricted = tank_rose(phases) && pit_rose_little(phases);
    let last = phases.points.iter().rev().find(|point| point.level.is_some()).copied();
    if restricted {
        return from_row(Form::Whole, &row(phases, Phase::Whole, start, last?));
    }
    if let Some(refilled) = phases.refilled {
        let back = row(phases, Phase::Standing, high, refilled);
        if let Some(intake) = from_row(Form::Refilled, &back) {
            return Some(intake);
        }
    }
    // A pit found dry has taken all it was given; how much of its fall it would have gone on to take is not known.
    let dry = phases.fall.iter().find(|point| point.is_dry() && point.day > high.day);
    let all_taken = dry.filter(|dry| (dry.day - high.day) * 24.0 <= HOURS_OF_A_DAY);
    if let Some(dry) = all_taken {
        return from_row(Form::Whole, &row(phases, Phase::Whole, start, *dry));
    }
    let fall = fall_of_a_day(phases, high)
        .and_then(|next| from_row(Form::Fall, &row(phases, Phase::Standing, high, next)));
    let whole = || {
        // Without a diameter: all that went in, if the level is back.
        let back = phases.back_at_start().or(phases.next_day())?;
        from_row(Form::Whole, &row(phases, Phase::Whole, start, back)).filter(|whole| whole.hours >= 12.0)
    };
    fall.or_else(whole).or_else(|| expected(phases, recession?))
}

/// The look that closes a day of fall: the next day's, or a later one.
fn fall_of_a_day(phases: &Phases<'_>, high: Point) -> Option<Point> {
    let later = phases.fall.last().filter(|point| (point.day - high.day) * 24.0 > HOURS_OF_A_DAY);
    phases.next_day().or(later.copied())
}

fn from_row(form: Form, row: &BalanceRow) -> Option<DailyIntake> {
    let absorbed = row.absorbed?;
    let (least, most) = row.absorbed_between()?;
    // A fall goes by its rate; what was poured counts as it was poured.
    let counts_as_poured = form != Form::Fall && row.hours <= HOURS_OF_A_DAY;
    let days = if counts_as_poured { 1.0 } else { row.hours / 24.0 };
    let volume = Measured { volume: absorbed.volume / days, standard_error: absorbed.standard_error / days };
    let none = cubic_metres(0.0);
    let intake = DailyIntake {
        form,
        volume,
        least: (least / days).max(none),
        most: (most / days).max(none),
        hours: row.hours,
    };
    [volume.volume, volume.standard_error, intake.least, intake.most]
        .iter()
        .all(|volume| volume.is_finite())
        .then_some(intake)
}

fn expected(phases: &Phases<'_>, recession: &Recession) -> Option<DailyIntake> {
    let area = phases.open_area()?;
    let high = phases.high?.level?;
    let next = recession.level_after(1.0, Coverage::EIGHTY)?;
    let volume = area * (high - next.value.value);
    // The range of 80 % is 2.563 standard errors wide.
    let error = area * (next.upper.value - next.lower.value) / 2.563;
    let taken = measured((volume, error));
    Some(DailyIntake {
        form: Form::Expected,
        volume: taken,
        least: taken.volume,
        most: taken.volume,
        hours: phases.fall.last().map_or(0.0, |last| (last.day - phases.high.map_or(0.0, |h| h.day)) * 24.0),
    })
}

/// How fast the wetted wall takes water.
///
/// ```
/// use soaklife::load_test::intake::Acceptance;
/// use soaklife::quantity::{feet, gallons_per_day};
/// let six_feet_wide = feet(6.0) * std::f64::consts::PI;
/// let acceptance = Acceptance {
///     flow: gallons_per_day(440.0),
///     relative_standard_error: 0.02,
///     mean_level: feet(2.0),
///     wetted_area: Some(six_feet_wide * feet(2.0)),
///     resistance_days: None,
/// };
/// assert!(acceptance.gallons_per_day_per_square_foot().is_some_and(|rate| (rate - 11.67).abs() < 0.01));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acceptance {
    /// Water taken per day.
    pub flow: VolumeRate,
    /// Its relative standard error, from stick and meter. What a wrong diameter adds is not in it.
    pub relative_standard_error: f64,
    /// The mean level meanwhile.
    pub mean_level: Length,
    /// The wall wetted to that level, if the diameter is known. The floor is not counted.
    pub wetted_area: Option<Area>,
    /// Resistance of the clogged layer, days, with the [usual suction](USUAL_SUCTION_M) behind it.
    pub resistance_days: Option<f64>,
}

impl Acceptance {
    /// Gallons a day over each square foot of wetted wall.
    ///
    /// The page of [`Acceptance`] has an example.
    #[must_use]
    pub fn gallons_per_day_per_square_foot(&self) -> Option<f64> {
        let rate = as_gallons_per_day(self.flow) / as_square_feet(self.wetted_area?);
        rate.is_finite().then_some(rate)
    }

    /// Centimetres a day through the wetted wall.
    ///
    /// ```
    /// # use soaklife::load_test::intake::Acceptance;
    /// # use soaklife::quantity::{cubic_metres_per_day, metres};
    /// # let mean_level = metres(1.0);
    /// # let (relative_standard_error, resistance_days) = (0.1, None);
    /// let (flow, wetted_area) = (cubic_metres_per_day(0.5), Some(metres(2.0) * metres(5.0)));
    /// let acceptance = Acceptance { flow, relative_standard_error, mean_level, wetted_area, resistance_days };
    /// assert!(acceptance.centimetres_per_day().is_some_and(|rate| (rate - 5.0).abs() < 1e-9));
    /// ```
    #[must_use]
    pub fn centimetres_per_day(&self) -> Option<f64> {
        let rate = 100.0 * m3_per_day(self.flow) / self.wetted_area?.value;
        rate.is_finite().then_some(rate)
    }

    /// As a forecast may use it; none where it is hardly known.
    pub(super) fn measured(&self, date: Date) -> Option<MeasuredAcceptance> {
        let error = Some(self.relative_standard_error).filter(|&error| error < HARDLY_KNOWN)?;
        MeasuredAcceptance::new(date, self.mean_level, self.flow, error).ok()
    }
}

/// Acceptance while the level fell or, without a diameter, between the high and the refill to it.
pub(super) fn acceptance(phases: &Phases<'_>) -> Option<Acceptance> {
    if tank_rose(phases) && pit_rose_little(phases) {
        return None;
    }
    let first = *phases.fall.first()?;
    // When a pit ran dry nobody saw, so a dry look says nothing of its rate.
    let dry = phases.fall.iter().position(|point| point.is_dry());
    let wet = phases.fall.get(..dry.unwrap_or(phases.fall.len()))?;
    let last = *wet.last().filter(|last| last.day > first.day)?;
    let fall = row(phases, Phase::Standing, first, last);
    let (balance, points) = match (fall.stored, phases.refilled) {
        (Some(_), _) => (fall, wet.to_vec()),
        (None, Some(refilled)) => {
            let points = phases.fall.iter().chain([&refilled]).copied().collect();
            (row(phases, Phase::Standing, first, refilled), points)
        }
        (None, None) => return None,
    };
    let absorbed = balance.absorbed?;
    let (flow, days) = (absorbed.volume.value / (balance.hours / 24.0), balance.hours / 24.0);
    let mean_level = metres(mean_level(&points)?);
    let error = absorbed.standard_error.value / absorbed.volume.value;
    if !(flow > 0.0 && flow.is_finite() && days > 0.0 && error.is_finite() && mean_level.value > 0.0) {
        return None;
    }
    let flow = cubic_metres_per_day(flow);
    let perimeter = phases.pit.cross_section().map(|section| section.perimeter());
    let resistance = perimeter.map(|wall| resistance_days(flow, mean_level, wall, metres(USUAL_SUCTION_M)));
    Some(Acceptance {
        flow,
        relative_standard_error: error,
        mean_level,
        wetted_area: phases.pit.wetted_area(mean_level),
        resistance_days: resistance.filter(|days| days.is_finite()),
    })
}

/// The level averaged over time, straight between looks.
fn mean_level(points: &[Point]) -> Option<f64> {
    let days = points.last()?.day - points.first()?.day;
    let sum = points.windows(2).map(|pair| match pair {
        [a, b] => 0.5 * (a.level.unwrap_or(0.0) + b.level.unwrap_or(0.0)) * (b.day - a.day),
        _ => 0.0,
    });
    let mean = sum.sum::<f64>() / days;
    mean.is_finite().then_some(mean)
}
