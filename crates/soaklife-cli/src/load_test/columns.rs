//! The water balance as a table: one row a phase, the whole test last. What is said of the test and of each rule stands in every row.

use super::Tested;
use super::amounts::{count, unit};
use super::json::{finding_name, went_name};
use crate::cell::{Cell, table};
use crate::output::Failure;
use soaklife::load_test::balance::BalanceRow;
use soaklife::load_test::rules::{RULES, Rule};
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
    let names = names.chain(volumes.map(|name| format!("{name}_{unit}")));
    let names = names.chain(["went", "borderline"].map(str::to_owned));
    let names = names.chain(RULES.map(|rule| format!("rule_{}", rule.key))).collect();
    table(names, tested.study.balance.iter().map(|row| cells(tested, row)))
}

fn cells(tested: &Tested<'_>, row: &BalanceRow) -> Vec<String> {
    let told = |volume: Option<Volume>| Cell::number(volume.map(|told| count(told, tested.units)), 1).csv();
    let bounds = row.absorbed_between();
    let of_the_phase = [
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
    ];
    let verdict = &tested.study.verdict;
    let of_the_test = [went_name(verdict.went).to_owned(), verdict.borderline.to_string()];
    let of_the_rules = RULES.map(|rule| finding(tested, rule).to_owned());
    of_the_phase.into_iter().chain(of_the_test).chain(of_the_rules).collect()
}

/// What is said of a rule; empty where it does not apply to this house.
fn finding(tested: &Tested<'_>, rule: Rule) -> &'static str {
    let judged = tested.study.rules.iter().find(|judged| judged.rule.check == rule.check);
    judged.map_or("", |judged| finding_name(judged.finding))
}
