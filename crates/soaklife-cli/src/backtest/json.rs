//! Everything about the replays, for other programs; the shape is published in `schema/backtest-1.json`.

use super::columns::{inlet_members, level_members};
use crate::args::{AgainstArg, BacktestArgs};
use crate::cell::Cell;
use serde_json::{Value, json};
use soaklife::backtest::{Backtest, LevelScore, MethodScore, RangeScore};
use soaklife::quantity::Units;

/// The name and version of the shape; a change that breaks readers raises the number.
const SCHEMA: &str = "soaklife backtest 1";

pub(super) fn json(backtest: &Backtest, units: Units, args: &BacktestArgs) -> String {
    let methods: Vec<Value> = backtest.methods.iter().map(|score| method(score, units)).collect();
    let told = json!({
        "schema": SCHEMA,
        "as_of": backtest.as_of.to_string(),
        "units": match units { Units::Us => "us", Units::Si => "si" },
        "against": match args.against { AgainstArg::Load => "load", AgainstArg::Time => "time" },
        "from_readings": args.from_readings,
        "pits": backtest.pits,
        "replays": backtest.replays,
        "first": backtest.span.map(|(first, _)| first.to_string()),
        "last": backtest.span.map(|(_, last)| last.to_string()),
        "left_out": backtest.left_out,
        "methods": methods,
    });
    format!("{told:#}\n")
}

fn method(score: &MethodScore, units: Units) -> Value {
    let level = |level: &LevelScore| {
        let mut members = level_members(level, units);
        members.insert("ranges".to_owned(), ranges(&level.ranges));
        Value::Object(members)
    };
    let mut inlet = inlet_members(&score.crossing);
    inlet.insert("ranges".to_owned(), ranges(&score.crossing.ranges));
    json!({
        "method": score.method.name(),
        "levels": score.levels.iter().map(level).collect::<Vec<_>>(),
        "inlet": inlet,
    })
}

fn ranges(ranges: &[RangeScore]) -> Value {
    let range = |score: &RangeScore| {
        let luck = Some(score.tally.interval()).filter(|_| score.tally.of > 0);
        json!({
            "coverage": score.coverage.value(),
            "held": score.tally.held,
            "judged": score.tally.of,
            "share": Cell::number(score.tally.share(), 4).json(),
            "share_lower": Cell::number(luck.map(|luck| luck.lower), 4).json(),
            "share_upper": Cell::number(luck.map(|luck| luck.upper), 4).json(),
        })
    };
    Value::from(ranges.iter().map(range).collect::<Vec<_>>())
}
