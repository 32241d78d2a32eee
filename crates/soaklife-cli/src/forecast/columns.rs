//! The forecast table: the fixed columns, their order and their values, for CSV and JSON alike.

use super::answer::{Answer, Asking};
use crate::cell::{Cell, lines};
use crate::output::Failure;
use serde_json::{Map, Value};
use soaklife::forecast::Forecast;
use soaklife::history::{CloseToInlet, FoundAtInlet};
use soaklife::loading::use_ahead::UseAhead;
use soaklife::quantity::Units;
use soaklife::quantity::{Length, as_inches};
use soaklife::trend::axis::Against;
use soaklife_records::PitRecord;

/// Years ahead of the freeboard columns.
pub(super) const FREEBOARD_YEARS: [u8; 5] = [0, 1, 2, 5, 10];
/// Percents of the freeboard columns.
const FREEBOARD_PERCENTS: [u8; 3] = [10, 50, 90];
/// Percents of the columns of years.
const YEARS_PERCENTS: [u8; 7] = [5, 10, 25, 50, 75, 90, 95];
const PAIRED_PERCENTS: [u8; 7] = [5, 95, 10, 90, 25, 75, 50];
/// Years ahead of the columns of chances.
pub(super) const CHANCE_YEARS: [u8; 5] = [1, 2, 5, 10, 30];

/// Bytes of a row for which room is made at once.
pub(super) const USUAL_ROW: usize = 300;

/// What the columns of another use begin with, and the ends between which it lies.
const WHAT_IF: &str = "what_if_";
const ENDS: [&str; 2] = ["level_stays", "level_follows"];
/// Of each end fewer numbers are told.
const END_PERCENTS: [u8; 3] = [10, 50, 90];
const END_YEARS: [u8; 4] = [1, 2, 5, 10];

/// The line of names above the table.
pub(super) fn heading(asked: &Asking) -> Result<String, Failure> {
    let mut names = names(asked.units());
    if asked.what_if().is_some() {
        names.extend(names_of_what_if(asked.units()));
    }
    lines(std::iter::once(names))
}

/// Adds the row of one pit to the table.
pub(super) fn add_row(answer: &Answer<'_>, asked: &Asking, rows: &mut Vec<u8>) {
    let mut separator = &b""[..];
    let mut add = |cell: Cell<'_>| {
        rows.extend_from_slice(separator);
        cell.add_to(rows);
        separator = b",";
    };
    each_cell(answer, asked.units(), &mut add);
    if asked.what_if().is_some() {
        each_cell_of_what_if(answer, asked.units(), &mut add);
    }
    rows.push(b'\n');
}

/// The columns of one pit as JSON members.
pub(super) fn members(answer: &Answer<'_>, units: Units) -> Map<String, Value> {
    let mut names = names(units).into_iter();
    let mut members = Map::new();
    each_cell(answer, units, |cell| members.extend(names.next().map(|name| (name, cell.json()))));
    members
}

/// What a forecast tells, as JSON members of the same names as the columns.
pub(super) fn outlook_members(forecast: &Forecast, units: Units) -> Map<String, Value> {
    let mut names = outlook_names("", units).into_iter();
    let mut members = Map::new();
    each_outlook_cell(Some(forecast), units, &mut |cell| {
        members.extend(names.next().map(|name| (name, cell.json())));
    });
    members
}

/// The names of the columns, which hold for every pit.
fn names(units: Units) -> Vec<String> {
    let mut names: Vec<String> =
        ["pit_id", "as_of", "method", "readings_used", "readings_set_aside", "last_reading"]
            .map(str::to_owned)
            .to_vec();
    let unit = units.name();
    names.push(format!("effective_depth_{unit}"));
    names.extend(outlook_names("", units));
    names.extend(["basis", "problem", "label", "against"].map(str::to_owned));
    names.push(format!("action_freeboard_{unit}"));
    names.extend(["reached_on", "close_to_inlet", "use_ahead"].map(str::to_owned));
    names.extend(UseAhead::ALL.map(|use_ahead| format!("{}_years_p50", use_ahead.name().replace('-', "_"))));
    names
}

/// The names of what one forecast tells.
fn outlook_names(prefix: &str, units: Units) -> Vec<String> {
    let unit = units.name();
    let mut names = vec![format!("{prefix}load_ratio"), format!("{prefix}pace_{unit}_per_year")];
    for years in FREEBOARD_YEARS {
        let name = |percent| format!("{prefix}freeboard_{years}y_p{percent}_{unit}");
        names.extend(FREEBOARD_PERCENTS.map(name));
    }
    names.extend(YEARS_PERCENTS.map(|percent| format!("{prefix}years_p{percent:02}")));
    names.extend(CHANCE_YEARS.map(|years| format!("{prefix}chance_{years}y")));
    names
}

/// The columns of another use, after all others: a reader of the table without them reads it still.
fn names_of_what_if(units: Units) -> Vec<String> {
    let mut names = vec!["what_if".to_owned()];
    names.extend(["from", "until"].map(|name| format!("{WHAT_IF}{name}")));
    names.extend(outlook_names(WHAT_IF, units));
    for end in ENDS {
        names.push(format!("{WHAT_IF}{end}_step_{}", units.name()));
        names.extend(END_PERCENTS.map(|percent| format!("{WHAT_IF}{end}_years_p{percent:02}")));
        names.extend(END_YEARS.map(|years| format!("{WHAT_IF}{end}_chance_{years}y")));
    }
    names.push(format!("{WHAT_IF}problem"));
    names
}

/// Hands on the columns of one pit in their order.
fn each_cell<'a>(answer: &'a Answer<'_>, units: Units, mut take: impl FnMut(Cell<'a>)) {
    let forecast = answer.forecast.as_ref().ok();
    let history = answer.record.map(PitRecord::history);
    take(Cell::Text(answer.id.into()));
    take(Cell::Text(answer.question.as_of().to_string().into()));
    take(Cell::Text(answer.question.method().name().into()));
    take(forecast.map_or(Cell::Empty, |forecast| Cell::Count(forecast.readings_used())));
    take(forecast.map_or(Cell::Empty, |forecast| Cell::Count(forecast.readings_set_aside())));
    take(Cell::text(forecast.and_then(Forecast::latest).map(|reading| reading.date().to_string())));
    take(counted(forecast.and(history).map(|history| history.pit().effective_depth()), units));
    each_outlook_cell(forecast, units, &mut take);
    take(Cell::text(forecast.map(|forecast| forecast.basis().to_string())));
    take(Cell::text(answer.problem()));
    take(Cell::text(answer.record.and_then(PitRecord::label)));
    take(Cell::text(forecast.map(against)));
    let action = answer.question.action_freeboard();
    take(counted(Some(action).filter(|action| as_inches(*action) > 0.0), units));
    take(Cell::text(forecast.and_then(reached_on)));
    take(Cell::text(forecast.and_then(Forecast::close_to_inlet).map(|close| how_close(&close))));
    each_cell_of_use(forecast, &mut take);
}

/// The household that is assumed, and the median under either assumption; empty where nothing hangs on it.
fn each_cell_of_use<'a>(forecast: Option<&Forecast>, take: &mut impl FnMut(Cell<'a>)) {
    let beside = forecast.and_then(Forecast::beside);
    let assumed = forecast.filter(|_| beside.is_some());
    take(Cell::text(assumed.map(|forecast| forecast.use_ahead().name())));
    for use_ahead in UseAhead::ALL {
        let years = assumed.zip(beside.as_ref()).and_then(|(forecast, beside)| match use_ahead {
            assumed if assumed == forecast.use_ahead() => forecast.years_to_inlet(0.5),
            _ => beside.years_to_inlet(0.5),
        });
        take(Cell::number(years, 2));
    }
}

/// The day on which the pit was first found at its inlet, if it has reached it.
pub(super) fn reached_on(forecast: &Forecast) -> Option<String> {
    match forecast.found_at_inlet() {
        Some(FoundAtInlet::Reached { since }) => Some(since.date().to_string()),
        _ => None,
    }
}

/// By which of the published limits the last reading is close to the inlet.
pub(super) fn how_close(close: &CloseToInlet) -> &'static str {
    match (close.is_within_six_inches, close.is_within_half_a_day()) {
        (true, true) => "6 in and half a day",
        (true, false) => "6 in",
        _ => "half a day",
    }
}

/// What one forecast tells, in the order of its names.
fn each_outlook_cell<'a>(forecast: Option<&Forecast>, units: Units, take: &mut impl FnMut(Cell<'a>)) {
    take(Cell::number(forecast.and_then(Forecast::load_ratio), 3));
    take(counted(forecast.and_then(Forecast::pace_per_year), units));
    for years in FREEBOARD_YEARS {
        let shares = FREEBOARD_PERCENTS.map(share);
        let quantiles = forecast.map(|forecast| forecast.freeboard_quantiles(f64::from(years), shares));
        quantiles.unwrap_or_default().into_iter().for_each(|freeboard| take(counted(freeboard, units)));
    }
    // Those as far from the median side by side, because they are cheaper together.
    let years = forecast.map(|forecast| forecast.years_to_inlet_at(PAIRED_PERCENTS.map(share)));
    let [p05, p95, p10, p90, p25, p75, p50] = years.unwrap_or_default();
    [p05, p10, p25, p50, p75, p90, p95].into_iter().for_each(|years| take(Cell::number(years, 2)));
    for years in CHANCE_YEARS {
        take(Cell::number(forecast.map(|forecast| forecast.chance_by(f64::from(years))), 4));
    }
}

/// Hands on the columns of another use in their order.
fn each_cell_of_what_if<'a>(answer: &'a Answer<'_>, units: Units, take: &mut impl FnMut(Cell<'a>)) {
    let told = answer.told_what_if();
    take(Cell::text(told.map(|told| told.what.as_str())));
    take(Cell::text(told.and_then(|told| told.from).map(|from| from.to_string())));
    take(Cell::text(told.and_then(|told| told.until).map(|until| until.to_string())));
    each_outlook_cell(told.map(|told| told.alternative.forecast()), units, take);
    for end in 0..ENDS.len() {
        let forecast = told.map(|told| told.ends()[end]);
        take(counted(told.map(|told| told.alternative.steps()[end]), units));
        let years = forecast.map(|forecast| forecast.years_to_inlet_at(END_PERCENTS.map(share)));
        years.unwrap_or_default().into_iter().for_each(|years| take(Cell::number(years, 2)));
        for years in END_YEARS {
            take(Cell::number(forecast.map(|forecast| forecast.chance_by(f64::from(years))), 4));
        }
    }
    take(Cell::text(answer.problem_of_what_if()));
}

fn counted<'a>(length: Option<Length>, units: Units) -> Cell<'a> {
    Cell::number(length.map(|length| units.count(length)), 2)
}

fn share(percent: u8) -> f64 {
    f64::from(percent) / 100.0
}

/// What the level was really fitted against.
pub(super) fn against(forecast: &Forecast) -> &'static str {
    match forecast.against() {
        Against::Load => "load",
        Against::Time => "time",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fixed_columns_come_first_and_in_order() {
        let names = names(Units::Us);
        assert_eq!(names[..3], ["pit_id", "as_of", "method"]);
        assert_eq!(names[9..12], ["freeboard_0y_p10_in", "freeboard_0y_p50_in", "freeboard_0y_p90_in"]);
        assert_eq!(
            names[24..31].join(" "),
            "years_p05 years_p10 years_p25 years_p50 years_p75 years_p90 years_p95"
        );
        assert_eq!(names[36..38], ["basis", "problem"]);
    }
}
