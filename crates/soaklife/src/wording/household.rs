//! What a forecast takes for granted of the household, and what it would say otherwise.

use super::sentence::goal;
use super::{about_when, with_noun};
use crate::forecast::Forecast;
use crate::loading::use_ahead::UseAhead;
use crate::quantity::Units;
use jiff::civil::Date;

/// A use this close to the typical one, as a share of it, has nowhere to drift.
const SAME: f64 = 0.01;
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
    if forecast.load_ratio().is_some_and(|ratio| (ratio / other.typical_ratio() - 1.0).abs() < SAME) {
        return format!(
            "the use is typical already ({typical}); the answer is the same whether it drifts or stays."
        );
    }
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

/// When a pit under another use gets there with an even chance, by either end of how far its level may follow the flow: none is more than
/// a supposition, so that none is said as what will be.
///
/// ```
/// use jiff::civil::date;
/// use soaklife::quantity::{Units, gallons_per_day, inches};
/// use soaklife::whatif::{OtherUse, WhatIf};
/// use soaklife::wording::household::either_end;
/// use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
///
/// let (pit, design) = (Pit::new(inches(30.0), inches(210.0))?, gallons_per_day(450.0));
/// let reading = Reading::at_depth(&pit, date(2026, 5, 1), inches(84.0))?;
/// let history = History::new(pit).with_readings([reading]).with_load(LoadHistory::constant(design, gallons_per_day(117.2))?);
/// let today = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
/// let six = WhatIf::of(OtherUse::household(6.0, 58.6)?).beside(&today, Some(design))?;
/// let told = either_end(six.level_stays(), six.level_follows(), Units::Us);
/// assert!(told.ends_with("if it follows in full, at once. In between every share is taken as equally likely."));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[must_use]
pub fn either_end(stays: &Forecast, follows: &Forecast, units: Units) -> String {
    let question = stays.question();
    let goal = goal(question.action_freeboard(), units);
    let [stays, follows] = [stays, follows].map(|end| reached(end, question.as_of()));
    if stays == follows {
        return format!(
            "Whether the level follows the flow or not, the even chance of reaching {goal} is {stays}."
        );
    }
    format!(
        "How far the level follows the flow is not known. If it does not follow at all, the even chance of reaching {goal} is \
         {stays}; if it follows in full, {follows}. In between every share is taken as equally likely."
    )
}

fn reached(forecast: &Forecast, as_of: Date) -> String {
    match forecast.years_to_inlet(0.5) {
        Some(years) if years <= 0.0 => "at once".to_owned(),
        Some(years) => about_when(as_of, years),
        None => format!("not {}", within_sight(forecast.question().horizon_years())),
    }
}

fn within_sight(years: f64) -> String {
    format!("within {}", with_noun(&format!("{years:.0}"), "year"))
}
