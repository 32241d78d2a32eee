//! The water balance as a table: one row a phase, the whole test last.

use super::Tested;
use super::amounts::{count, unit};
use crate::cell::{Cell, table};
use crate::output::Failure;
use soaklife::load_test::balance::BalanceRow;
use soaklife::quantity::Volume;

pub(super) fn csv(tested: &Tested<'_>) -> Result<String, Failure> {
    let unit = unit(tested.units).to_lowercase();
    let volumes = [
        "added",
        "stored",
        "stored_error",
        "held_least",
        "held_most",
        "absorbed",
        "absorbed_error",
        "absorbed_least",
        "absorbed_most",
    ];
    let names = ["pit_id", "date", "phase", "hours"].map(str::to_owned).into_iter();
    let names = names.chain(volumes.map(|name| format!("{name}_{unit}"))).collect();
    table(names, tested.study.balance.iter().map(|row| cells(tested, row)))
}

fn cells(tested: &Tested<'_>, row: &BalanceRow) -> Vec<String> {
    let told = |volume: Option<Volume>| Cell::number(volume.map(|told| count(told, tested.units)), 1).csv();
    let bounds = row.absorbed_between();
    vec![
        tested.record.id().to_owned(),
        tested.test.date().to_string(),
        row.phase.in_words().to_owned(),
        Cell::number(Some(row.hours), 2).csv(),
        told(Some(row.added)),
        told(row.stored.map(|stored| stored.volume)),
        told(row.stored.map(|stored| stored.standard_error)),
        told(row.held.map(|held| held.least)),
        told(row.held.map(|held| held.most)),
        told(row.absorbed.map(|absorbed| absorbed.volume)),
        told(row.absorbed.map(|absorbed| absorbed.standard_error)),
        told(bounds.map(|(least, _)| least)),
        told(bounds.map(|(_, most)| most)),
    ]
}
