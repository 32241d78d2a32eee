//! `soaklife backtest`: how earlier forecasts from a logbook would have done, as text, CSV or JSON.

mod columns;
mod json;
mod text;

use crate::args::{BacktestArgs, Format};
use crate::chart;
use crate::forecast::answer::{read, today, unknown};
use crate::learn;
use crate::output::{Failure, Outcome, Run, deliver, say};
use soaklife::backtest::{Backtest, Plan};
use soaklife::quantity::Units;
use soaklife_charts::CoverageChart;
use soaklife_records::{Entry, Logbook, PitRecord};
use std::path::Path;

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/backtest-1.json");

pub(crate) fn run(args: &BacktestArgs) -> Run {
    let Some(folder) = args.folder.as_deref().filter(|_| !args.json_schema) else {
        deliver(JSON_SCHEMA.as_bytes(), args.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    let logbook = read(folder, args.as_of.unwrap_or_else(today))?;
    let pits = pits(&logbook, &args.pits)?;
    let plan = plan(args);
    let backtest = if args.learnt {
        let parts = learn::each_part_left_out(&logbook, args.as_of.unwrap_or_else(today))?;
        plan.replay_each(pits.into_iter().map(|pit| (pit.history(), parts.of(pit.id()).clone())))
    } else {
        plan.replay(pits.into_iter().map(PitRecord::history))
    };
    if let Some(file) = &args.chart {
        draw(&backtest, folder, file)?;
    }
    let units = args.units.map_or(logbook.units(), Units::from);
    let told = match args.format {
        Format::Text => text::text(&backtest, units),
        Format::Csv => columns::csv(&backtest, units)?,
        Format::Json => json::json(&backtest, units, args),
    };
    deliver(told.as_bytes(), args.output.as_deref())?;
    if logbook.has_errors() {
        say("The logbook has rows that could not be used; `soaklife check` lists them.");
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

fn plan(args: &BacktestArgs) -> Plan {
    let plan = Plan::new(args.as_of.unwrap_or_else(today))
        .against_axis(args.against.into())
        .from_readings(args.from_readings);
    if args.methods.is_empty() { plan } else { plan.by(args.methods.iter().map(|&method| method.into())) }
}

/// The pits named, or all whose row could be used.
fn pits<'l>(logbook: &'l Logbook, named: &[String]) -> Result<Vec<&'l PitRecord>, Failure> {
    if named.is_empty() {
        return Ok(logbook.pits().collect());
    }
    let pit = |id: &String| match logbook.entry(id) {
        None => Err(Failure::Usage(unknown(logbook, id))),
        Some(Entry::Pit(record)) => Ok(Some(record.as_ref())),
        Some(Entry::Rejected(_)) => Ok(None), // the logbook has errors then, which is told
    };
    named.iter().filter_map(|id| pit(id).transpose()).collect()
}

fn draw(backtest: &Backtest, folder: &Path, file: &Path) -> Result<(), Failure> {
    let name = folder.file_name().map_or(String::new(), |name| format!("{}: ", name.to_string_lossy()));
    let title = format!("{name}did the ranges hold?");
    chart::write(file, chart::USUAL_DPI, || {
        CoverageChart::new(backtest)
            .titled(title)
            .svg()
            .map_err(|error| Failure::ReadOrWrite(format!("{} cannot be drawn: {error}", file.display())))
    })
}
