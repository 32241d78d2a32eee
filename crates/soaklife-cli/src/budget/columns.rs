//! The table of a budget: for the whole fleet and each group, a row a year and a row from now to the end of
//! that year.

use super::outlook::{COVERAGES, Outlook};
use super::walk::Walked;
use crate::cell::{Cell, table};
use crate::output::Failure;
use serde_json::{Map, Value};
use soaklife::fleet::{Spread, YearBudget};

pub(super) fn csv(walked: &Walked, outlook: &Outlook) -> Result<String, Failure> {
    let mut rows = fleet_rows("", outlook, walked);
    for (name, fleet) in walked.budget.groups() {
        rows.extend(fleet_rows(name, &Outlook::of(fleet), walked));
    }
    let names = rows.first().map_or(Vec::new(), |row| row.iter().map(|(name, _)| name.clone()).collect());
    table(names, rows.iter().map(|row| row.iter().map(|(_, cell)| cell.csv()).collect()))
}

type Cells = Vec<(String, Cell<'static>)>;

fn fleet_rows(group: &str, outlook: &Outlook, walked: &Walked) -> Vec<Cells> {
    let last = outlook.by_ends.len().saturating_sub(1);
    let rows = outlook.in_years.iter().zip(&outlook.by_ends).enumerate();
    let both = rows.flat_map(|(place, (in_year, by_end))| {
        let within = if place == 0 { "rest of year" } else { "year" };
        let reserve = (place == last).then(|| outlook.levels());
        [(within, in_year, None), ("from now to end of year", by_end, reserve)]
    });
    both.map(|(span, year, reserve)| row(group, outlook, walked, span, year, reserve)).collect()
}

fn row(
    group: &str,
    outlook: &Outlook,
    walked: &Walked,
    span: &str,
    year: &YearBudget,
    reserve: Option<[f64; 3]>,
) -> Cells {
    let text = |name: &str, value: &str| (name.to_owned(), Cell::text(Some(value.to_owned())));
    let mut cells = vec![
        text("group", group),
        text("as_of", &walked.as_of.to_string()),
        ("pits".to_owned(), Cell::Count(usize::try_from(outlook.pits).unwrap_or(usize::MAX))),
        text("year", &year.calendar_year.to_string()),
        text("span", span),
    ];
    cells.extend(spread("count", &year.count, 4));
    cells.extend(spread("cost", &year.money, 2));
    cells.push(text("currency", &walked.currency));
    for (place, coverage) in COVERAGES.into_iter().enumerate() {
        let level = reserve.and_then(|levels| levels.get(place).copied());
        cells.push((format!("reserve_a_year_{:.0}", coverage * 100.0), Cell::number(level, 2)));
    }
    cells
}

/// Expected value, spread and quantiles under a name of their own; the counts of a quantile are whole.
fn spread(of: &str, told: &Spread, decimals: usize) -> Cells {
    let quantile = |value: f64| match of {
        "count" => Cell::Count(value as usize),
        _ => Cell::number(Some(value), decimals),
    };
    let cells = [
        ("expected", Cell::number(Some(told.expected), decimals)),
        ("sd", Cell::number(Some(told.standard_deviation), decimals)),
        ("p025", quantile(told.p025)),
        ("p10", quantile(told.p10)),
        ("p50", quantile(told.p50)),
        ("p90", quantile(told.p90)),
        ("p975", quantile(told.p975)),
    ];
    cells.into_iter().map(|(name, cell)| (format!("{of}_{name}"), cell)).collect()
}

/// The same as JSON members, without the name in front.
pub(super) fn members(of: &str, told: &Spread) -> Value {
    let decimals = if of == "count" { 4 } else { 2 };
    let named = |(name, cell): (String, Cell<'static>)| {
        (name.split('_').next_back().unwrap_or_default().to_owned(), cell.json())
    };
    Value::Object(spread(of, told, decimals).into_iter().map(named).collect::<Map<_, _>>())
}
