//! `soaklife backtest`: how earlier forecasts from a logbook would have done, as text, CSV or JSON.

mod columns;
mod json;
mod text;

use crate::args::{BacktestArgs, Format};
use crate::every_pit;
use crate::forecast::answer::{open_fleet, read, today, unknown};
use crate::learn::{self, PartsLeftOut};
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, cores, deliver, say};
use crate::picture::titled_by_folder;
use jiff::civil::Date;
use soaklife::backtest::{Backtest, Plan, Replays};
use soaklife::quantity::Units;
use soaklife::trend::absorption::Hypotheses;
use soaklife_charts::{CoverageChart, Svg};
use soaklife_records::{Entry, Findings, Fleet, Stretch};
use std::num::NonZeroUsize;
use std::path::Path;

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/backtest-1.json");

pub(crate) fn run(args: &BacktestArgs) -> Run {
    let Some(folder) = args.folder.as_deref().filter(|_| !args.telling.json_schema) else {
        deliver(JSON_SCHEMA.as_bytes(), args.telling.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    let as_of = args.as_of.unwrap_or_else(today);
    let threads = args.threads.unwrap_or_else(cores);
    let fleet = open_fleet(folder, as_of)?;
    check_names(&fleet, threads, &args.pits, folder)?;
    let parts = if args.learnt {
        Some(learn::each_part_left_out(&fleet, as_of, threads, args.by.as_deref())?)
    } else {
        None
    };
    let (backtest, found) = replay(&fleet, threads, &plan(args, as_of), parts.as_ref(), &args.pits)?;
    args.telling.picture.draw(|| svg(&backtest, folder))?;
    let units = args.units.map_or(fleet.units(), Units::from);
    let told = match args.telling.format {
        Format::Text => text::text(&backtest, units),
        Format::Csv => columns::csv(&backtest, units)?,
        Format::Json => json::json(&backtest, units, args),
    };
    deliver(told.as_bytes(), args.telling.output.as_deref())?;
    if found.errors() > 0 {
        say(ROWS_NOT_USED);
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

fn plan(args: &BacktestArgs, as_of: Date) -> Plan {
    let plan = Plan::new(as_of).against_axis(args.against.into()).from_readings(args.from_readings);
    if args.methods.is_empty() { plan } else { plan.by(args.methods.iter().map(|&method| method.into())) }
}

/// Replays the pits named, or all, whose row could be used; the others are errors of the logbook, which are told.
fn replay(
    fleet: &Fleet,
    threads: NonZeroUsize,
    plan: &Plan,
    parts: Option<&PartsLeftOut>,
    named: &[String],
) -> Result<(Backtest, Findings), Failure> {
    let usual = Hypotheses::default();
    let of_pit = |entry: &Entry| match entry {
        Entry::Pit(pit) if is_asked(named, pit.id()) => {
            let experience = parts.map_or(&usual, |parts| parts.of(pit));
            Some(plan.replay_pit(pit.history(), experience))
        }
        _ => None,
    };
    let of_stretch = |stretch: &Stretch| Ok(stretch.entries().iter().filter_map(of_pit).collect::<Vec<_>>());
    let again = |_| Ok(Replays::none(plan));
    let take = |replays: &mut Replays, more: Vec<Replays>| {
        // Pit by pit, so that where stretches end makes no difference.
        more.iter().for_each(|of_pit| replays.merge(of_pit));
        Ok(())
    };
    let (replays, found) = every_pit::walk(fleet, threads, of_stretch, Replays::none(plan), again, take)?;
    Ok((replays.backtest(), found))
}

fn is_asked(named: &[String], id: &str) -> bool {
    named.is_empty() || named.iter().any(|name| name == id)
}

/// Refuses a name that no row of the logbook has.
fn check_names(fleet: &Fleet, threads: NonZeroUsize, named: &[String], folder: &Path) -> Result<(), Failure> {
    if named.is_empty() {
        return Ok(());
    }
    let asked = |entry: &Entry| Some(entry.id().to_owned()).filter(|id| is_asked(named, id));
    let of_stretch = |stretch: &Stretch| Ok(stretch.entries().iter().filter_map(asked).collect::<Vec<_>>());
    let take = |there: &mut Vec<String>, more| {
        there.extend::<Vec<_>>(more);
        Ok(())
    };
    let (there, _) = every_pit::walk(fleet, threads, of_stretch, Vec::new(), |_| Ok(Vec::new()), take)?;
    match named.iter().find(|name| !there.contains(name)) {
        None => Ok(()),
        Some(stranger) => Err(Failure::Usage(unknown(&read(folder, today())?, stranger))),
    }
}

fn svg(backtest: &Backtest, folder: &Path) -> Result<Svg, Failure> {
    CoverageChart::new(backtest)
        .titled(titled_by_folder(folder, "did the ranges hold?"))
        .svg()
        .map_err(|error| Failure::ReadOrWrite(format!("the backtest cannot be drawn: {error}")))
}
