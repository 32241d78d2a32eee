//! How fast the level moves, in words that agree with the levels forecast for the years ahead.

use super::{counted, pace, pace_number};
use crate::forecast::{Basis, Forecast, Method};
use crate::quantity::{Units, as_inches, inches};
use crate::reading::Observation;

/// A pace under this rounds to nothing, inches a year.
const NOTHING: f64 = 0.05;
/// A level hardly moves where its median moves less than this either way, and the ends of its pace do, inches a year. Judgement,
/// no source.
const HARDLY: f64 = 1.0;
/// Ahead of which the median is compared with today's, years.
const AHEAD: [f64; 3] = [1.0, 2.0, 5.0];
/// A median pace of more than this fills a pit within a few years, inches a year. Judgement, no source.
const FAST: f64 = 12.0;

pub(super) fn moving(forecast: &Forecast, units: Units) -> String {
    match forecast.question().method() {
        Method::Absorption => by_experience(forecast, units),
        Method::Line => by_trend(forecast, "By a straight line through", units),
        Method::Rank => by_trend(forecast, "By the median trend of", units),
    }
}

fn by_trend(forecast: &Forecast, basis: &str, units: Units) -> String {
    let Some(rise) = forecast.pace_per_year() else { return String::new() };
    let direction = match as_inches(rise) {
        rise if rise > NOTHING => "rises",
        rise if rise < -NOTHING => "falls",
        _ => "rises or falls",
    };
    let readings = counted(forecast.readings_used(), "reading");
    format!("{basis} {readings} the level {direction} {}.", pace(rise, units))
}

/// The pace with its range; nothing is made up where there is no reading to tell it from.
fn by_experience(forecast: &Forecast, units: Units) -> String {
    if forecast.basis() == Basis::TypicalExperience {
        let tested = forecast.explanation().is_some_and(|told| !told.load_tests().is_empty());
        let and_test = if tested { ", and what the load test says" } else { "" };
        return format!(
            "No reading yet: this is what is typical of pits of its age, depth and use{and_test}."
        );
    }
    if forecast.latest().is_some_and(|latest| latest.observation() == Observation::Dry) {
        return "A dry stick says that it has not begun to fill, and little of when it will.".to_owned();
    }
    match [0.1, 0.5, 0.9].map(|probability| forecast.pace_quantile(probability).map(as_inches)) {
        [Some(slow), Some(middle), Some(fast)] if middle >= FAST => {
            format!("The pit fills fast. {}", between(slow, fast, median_moves(forecast), units))
        }
        [Some(slow), _, Some(fast)] => {
            let words = between(slow, fast, median_moves(forecast), units);
            let in_ten_years = as_inches(forecast.level(10.0) - forecast.level(0.0)) / 10.0;
            // The pace of today is that of today's use.
            if in_ten_years > fast.max(0.0) + NOTHING {
                format!("{} today, and faster as the use grows.", words.trim_end_matches('.'))
            } else {
                words
            }
        }
        _ => String::new(),
    }
}

/// How fast the median of the level moves at most, up or down, in the years ahead, inches a year.
fn median_moves(forecast: &Forecast) -> f64 {
    let today = as_inches(forecast.level(0.0));
    let pace = |years| ((as_inches(forecast.level(years)) - today) / years).abs();
    AHEAD.map(pace).into_iter().fold(0.0, f64::max)
}

/// The 10 and 90 % points of the pace in words, beside how fast the median moves, inches a year.
fn between(slow: f64, fast: f64, median_moves: f64, units: Units) -> String {
    let told = |rise: f64| pace(inches(rise), units);
    let range = |low: f64, high: f64| match (pace_number(inches(low), units), told(high)) {
        (low, high) if high.starts_with(&format!("{low} ")) => high,
        (low, high) => format!("{low} to {high}"),
    };
    let may_rise = fast >= NOTHING;
    let may_fall = slow <= -NOTHING;
    let hardly = [median_moves, slow.abs(), fast.abs()].into_iter().all(|moves| moves < HARDLY);
    match (may_fall, may_rise) {
        (false, false) if hardly => "The level hardly moves.".to_owned(),
        (false, false) => format!("Today the level rises or falls {}.", told(fast)),
        (true, true) if hardly => {
            let (down, up) = (pace_number(inches(slow), units), told(fast));
            format!("The level hardly moves: it falls by up to {down} or rises by up to {up}.")
        }
        (true, true) => {
            let (down, up) = (pace_number(inches(slow), units), told(fast));
            format!("The level may fall by up to {down} or rise by up to {up}.")
        }
        (false, true) if slow < NOTHING => format!("The level rises by up to {}.", told(fast)),
        (false, true) => format!("The level rises {}.", range(slow, fast)),
        (true, false) if fast > -NOTHING => format!("The level falls by up to {}.", told(slow)),
        (true, false) => format!("The level falls {}.", range(fast, slow)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(slow: f64, fast: f64, median_moves: f64) -> String {
        between(slow, fast, median_moves, Units::Us)
    }

    #[test]
    fn a_level_that_falls_is_said_to_fall() {
        assert_eq!(said(-3.04, -1.2, 2.0), "The level falls 1.2 to 3.0 inches a year.");
        assert_eq!(said(-3.04, 0.0, 2.0), "The level falls by up to 3.0 inches a year.");
        assert_eq!(said(-3.0, -3.0, 3.0), "The level falls 3.0 inches a year.");
    }

    #[test]
    fn a_level_hardly_moves_only_where_neither_its_median_nor_its_pace_does() {
        assert_eq!(said(-0.01, 0.02, 0.3), "The level hardly moves.");
        assert_eq!(
            said(-0.2, 0.3, 0.9),
            "The level hardly moves: it falls by up to 0.2 or rises by up to 0.3 inches a year."
        );
        for moves in [(-0.01, 0.02, 1.1), (-4.0, 0.02, 0.3), (-0.2, 2.0, 0.3)] {
            assert!(!said(moves.0, moves.1, moves.2).contains("hardly"), "{moves:?}");
        }
    }

    #[test]
    fn a_level_that_may_do_either_is_said_to_do_neither_for_sure() {
        assert_eq!(
            said(-1.0, 2.0, 0.3),
            "The level may fall by up to 1.0 or rise by up to 2.0 inches a year."
        );
        assert_eq!(said(0.02, 0.8, 0.3), "The level rises by up to 0.8 inches a year.");
        assert_eq!(said(2.7, 3.4, 3.0), "The level rises 2.7 to 3.4 inches a year.");
    }
}
