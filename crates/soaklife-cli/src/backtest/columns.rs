//! The table of scores, one row a method and horizon, and one a method for the inlet.

use crate::cell::{Cell, table};
use crate::output::Failure;
use serde_json::{Map, Value};
use soaklife::backtest::{Backtest, CrossingScore, LevelScore, MethodScore, RangeScore};
use soaklife::quantity::{Length, Units};

/// The table as CSV.
pub(super) fn csv(backtest: &Backtest, units: Units) -> Result<String, Failure> {
    let rows: Vec<Vec<(String, Cell<'static>)>> =
        backtest.methods.iter().flat_map(|method| method_rows(method, units)).collect();
    let names = rows.first().map_or(Vec::new(), |row| row.iter().map(|(name, _)| name.clone()).collect());
    table(names, rows.iter().map(|row| row.iter().map(|(_, cell)| cell.csv()).collect()))
}

fn method_rows(score: &MethodScore, units: Units) -> Vec<Vec<(String, Cell<'static>)>> {
    let method = || ("method".to_owned(), Cell::Text(score.method.name().into()));
    let levels = score.levels.iter().map(|level| row(method(), level_cells(level, units), &level.ranges));
    let inlet = row(method(), inlet_cells(&score.crossing), &score.crossing.ranges);
    levels.chain([inlet]).collect()
}

fn row(method: (String, Cell<'static>), cells: Cells, ranges: &[RangeScore]) -> Vec<(String, Cell<'static>)> {
    let named = cells.into_iter().map(|(name, cell)| (name.to_owned(), cell));
    std::iter::once(method).chain(named).chain(ranges.iter().flat_map(range_cells)).collect()
}

type Cells = Vec<(&'static str, Cell<'static>)>;

/// The columns of a horizon, the same as those of the inlet.
fn level_cells(score: &LevelScore, units: Units) -> Cells {
    let told = |length: Option<Length>| Cell::number(length.map(|length| units.count(length)), 3);
    vec![
        ("predicted", Cell::Text("level".into())),
        ("horizon", Cell::Text(score.horizon.name().into())),
        ("pits", Cell::Count(score.pits)),
        ("cases", Cell::Count(score.cases)),
        ("answered", Cell::Count(score.answered)),
        ("unit", Cell::Text(units.name().into())),
        ("error", told(score.error)),
        ("pinball", told(score.pinball)),
        ("crps", told(score.crps)),
        ("no_change_error", told(score.no_change_error)),
        ("skill_over_line", Cell::number(score.skill_over_line, 4)),
        ("skill_over_no_change", Cell::number(score.skill_over_no_change, 4)),
        ("reached", Cell::Empty),
        ("expected", Cell::Empty),
        ("early_p05", Cell::Empty),
        ("early_p10", Cell::Empty),
    ]
}

fn inlet_cells(score: &CrossingScore) -> Cells {
    let [five, ten] = score.early;
    vec![
        ("predicted", Cell::Text("inlet".into())),
        ("horizon", Cell::Empty),
        ("pits", Cell::Count(score.pits)),
        ("cases", Cell::Count(score.cases)),
        ("answered", Cell::Count(score.answered)),
        ("unit", Cell::Text("years".into())),
        ("error", Cell::number(score.error_years, 3)),
        ("pinball", Cell::number(score.pinball_years, 3)),
        ("crps", Cell::number(score.crps_years, 3)),
        ("no_change_error", Cell::Empty),
        ("skill_over_line", Cell::number(score.skill_over_line, 4)),
        ("skill_over_no_change", Cell::Empty),
        ("reached", Cell::Count(score.reached)),
        ("expected", Cell::number(Some(score.expected), 2)),
        ("early_p05", Cell::Count(five.missed)),
        ("early_p10", Cell::Count(ten.missed)),
    ]
}

/// How often a range held; the two limits are what luck alone can do.
fn range_cells(score: &RangeScore) -> Vec<(String, Cell<'static>)> {
    let percent = (score.coverage.value() * 100.0).round();
    let name = |what: &str| format!("{what}_{percent:.0}");
    let luck = Some(score.tally.interval()).filter(|_| score.tally.of > 0);
    vec![
        (name("held"), Cell::Count(score.tally.held)),
        (name("judged"), Cell::Count(score.tally.of)),
        (name("share"), Cell::number(score.tally.share(), 4)),
        (name("share_lower"), Cell::number(luck.map(|luck| luck.lower), 4)),
        (name("share_upper"), Cell::number(luck.map(|luck| luck.upper), 4)),
    ]
}

/// The score of a horizon as JSON members.
pub(super) fn level_members(score: &LevelScore, units: Units) -> Map<String, Value> {
    members(level_cells(score, units), &["reached", "expected", "early_p05", "early_p10"])
}

/// The score of the inlet as JSON members.
pub(super) fn inlet_members(score: &CrossingScore) -> Map<String, Value> {
    members(inlet_cells(score), &["horizon", "no_change_error", "skill_over_no_change"])
}

fn members(cells: Cells, without: &[&str]) -> Map<String, Value> {
    let kept = cells.into_iter().filter(|(name, _)| *name != "predicted" && !without.contains(name));
    kept.map(|(name, cell)| (name.to_owned(), cell.json())).collect()
}
