//! What a forecast takes for granted of the household, and what it would say otherwise.

use super::sentence::goal;
use super::{about_when, with_noun};
use crate::forecast::Forecast;
use crate::loading::use_ahead::UseAhead;
use crate::quantity::Units;

/// A house that sends less than this share of its design flow is as good as empty.
const EMPTY: f64 = 0.005;

/// What is assumed of the household from now on, and the even chance under the other assumption; empty where nothing hangs on it.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::{Units, gallons_per_day, inches};
/// use soaklife::wording::household::assumed;
/// use soaklife::{Forecast, History, LoadHistory, Pit, Question};
///
/// let light = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(120.0))?;
/// let history = History::new(Pit::new(inches(30.0), inches(210.0))?).with_load(light);
/// let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// assert!(assumed(&forecast, Units::Us).starts_with("people come and go, so that the use drifts toward a typical 45 %"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn assumed(forecast: &Forecast, units: Units) -> String {
    let Some(other) = forecast.beside() else { return String::new() };
    let goal = goal(forecast.question().action_freeboard(), units);
    let otherwise = match other.years_to_inlet(0.5) {
        Some(years) if years <= 0.0 => format!("{goal} is reached already, more likely than not"),
        Some(years) => format!(
            "the even chance of reaching {goal} is {}",
            about_when(forecast.question().as_of(), years)
        ),
        None => {
            let sight = with_noun(&format!("{:.0}", forecast.question().horizon_years()), "year");
            format!("{goal} is not reached within {sight}, more likely than not")
        }
    };
    let typical = format!("{:.0} % of the design flow", other.typical_ratio() * 100.0);
    let is_empty = forecast.load_ratio().is_some_and(|ratio| ratio < EMPTY);
    match (other.use_ahead(), is_empty) {
        (UseAhead::AsToday, true) => format!(
            "the house is empty today. People are taken to move in again, and the use to drift toward a typical {typical}. While it \
             stays empty no sewage ages the pit: {otherwise}."
        ),
        (UseAhead::AsToday, false) => format!(
            "people come and go, so that the use drifts toward a typical {typical}. If it stays as today, {otherwise}."
        ),
        (UseAhead::Drifts, true) => format!(
            "the house is taken to stay empty, so that no sewage ages the pit. If people move in again and the use drifts toward a \
             typical {typical}, {otherwise}."
        ),
        (UseAhead::Drifts, false) => format!(
            "the use is taken to stay as today. If it drifts toward a typical {typical}, as people come and go, {otherwise}."
        ),
    }
}
