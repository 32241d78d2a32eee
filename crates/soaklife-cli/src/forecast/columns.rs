//! The forecast table: the fixed columns, their order and their values, for CSV and JSON alike.

use super::answer::Answer;
use crate::cell::{Cell, lines};
use crate::output::Failure;
use serde_json::{Map, Value};
use soaklife::forecast::Forecast;
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

/// The line of names above the table.
pub(super) fn heading(units: Units) -> Result<String, Failure> {
    lines(std::iter::once(names(units)))
}

/// Adds the row of one pit to the table.
pub(super) fn add_row(answer: &Answer<'_>, units: Units, rows: &mut Vec<u8>) {
    let mut separator = &b""[..];
    each_cell(answer, units, |cell| {
        rows.extend_from_slice(separator);
        cell.add_to(rows);
        separator = b",";
    });
    rows.push(b'\n');
}

/// The columns of one pit as JSON members.
pub(super) fn members(answer: &Answer<'_>, units: Units) -> Map<String, Value> {
    let mut names = names(units).into_iter();
    let mut members = Map::new();
    each_cell(answer, units, |cell| members.extend(names.next().map(|name| (name, cell.json()))));
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
    names.push("load_ratio".to_owned());
    names.push(format!("pace_{unit}_per_year"));
    for years in FREEBOARD_YEARS {
        names.extend(FREEBOARD_PERCENTS.map(|percent| format!("freeboard_{years}y_p{percent}_{unit}")));
    }
    names.extend(YEARS_PERCENTS.map(|percent| format!("years_p{percent:02}")));
    names.extend(CHANCE_YEARS.map(|years| format!("chance_{years}y")));
    names.extend(["basis", "problem", "label", "against"].map(str::to_owned));
    names.push(format!("action_freeboard_{unit}"));
    names
}

/// Hands on the columns of one pit in their order.
fn each_cell<'a>(answer: &'a Answer<'_>, units: Units, mut take: impl FnMut(Cell<'a>)) {
    let told = |length: Option<Length>| Cell::number(length.map(|length| units.count(length)), 2);
    let forecast = answer.forecast.as_ref().ok();
    let history = answer.record.map(PitRecord::history);
    take(Cell::Text(answer.id.into()));
    take(Cell::Text(answer.question.as_of().to_string().into()));
    take(Cell::Text(answer.question.method().name().into()));
    take(forecast.map_or(Cell::Empty, |forecast| Cell::Count(forecast.readings_used())));
    take(forecast.map_or(Cell::Empty, |forecast| Cell::Count(forecast.readings_set_aside())));
    take(Cell::text(forecast.and_then(Forecast::latest).map(|reading| reading.date().to_string())));
    take(told(forecast.and(history).map(|history| history.pit().effective_depth())));
    take(Cell::number(forecast.and_then(Forecast::load_ratio), 3));
    take(told(forecast.and_then(Forecast::pace_per_year)));
    for years in FREEBOARD_YEARS {
        let shares = FREEBOARD_PERCENTS.map(share);
        let quantiles = forecast.map(|forecast| forecast.freeboard_quantiles(f64::from(years), shares));
        quantiles.unwrap_or_default().into_iter().for_each(|freeboard| take(told(freeboard)));
    }
    // Those as far from the median side by side, because they are cheaper together.
    let years = forecast.map(|forecast| forecast.years_to_inlet_at(PAIRED_PERCENTS.map(share)));
    let [p05, p95, p10, p90, p25, p75, p50] = years.unwrap_or_default();
    [p05, p10, p25, p50, p75, p90, p95].into_iter().for_each(|years| take(Cell::number(years, 2)));
    for years in CHANCE_YEARS {
        take(Cell::number(forecast.map(|forecast| forecast.chance_by(f64::from(years))), 4));
    }
    take(Cell::text(forecast.map(|forecast| forecast.basis().to_string())));
    take(Cell::text(answer.problem()));
    take(Cell::text(answer.record.and_then(PitRecord::label)));
    take(Cell::text(forecast.map(against)));
    let action = answer.question.action_freeboard();
    take(told(Some(action).filter(|action| as_inches(*action) > 0.0)));
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
