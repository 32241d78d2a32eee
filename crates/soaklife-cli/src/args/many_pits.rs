//! The options of the verbs that speak of many pits: `backtest`, `learn`, `budget`.

use super::{AgainstArg, MethodArg, TellingArgs, UnitsArg};
use crate::values::{parse_common_factor, parse_cost_spread};
use clap::Args;
use jiff::civil::Date;
use soaklife::fleet::CommonFactor;
use std::num::NonZeroUsize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct BacktestArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Pits to replay [default: all]
    pub(crate) pits: Vec<String>,
    /// Methods to replay, separated by commas [default: all]
    #[arg(long, value_enum, value_name = "METHOD", value_delimiter = ',')]
    pub(crate) methods: Vec<MethodArg>,
    /// Day of the backtest: what is dated later does not count at all [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// What the level is fitted against; time is taken where the load is not known
    #[arg(long, value_enum, default_value_t = AgainstArg::Load)]
    pub(crate) against: AgainstArg,
    /// Fewest readings known at a replay
    #[arg(long, value_name = "NUMBER", default_value_t = 3)]
    pub(crate) from_readings: usize,
    /// Replay each pit with what the other pits teach: five parts, each judged by the prior learnt from the other four
    #[arg(long)]
    pub(crate) learnt: bool,
    /// With --learnt, learn by group: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN", requires = "learnt")]
    pub(crate) by: Option<String>,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
    #[command(flatten)]
    pub(crate) telling: TellingArgs,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, Args)]
pub(crate) struct LearnArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Day of the lesson: what is dated later does not count [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Learn by group as well: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN")]
    pub(crate) by: Option<String>,
    /// Learn without one part of the pits, as in 2/5: the second of five
    #[arg(long, value_name = "PART/PARTS", value_parser = parse_part)]
    pub(crate) leave_out: Option<(u64, u64)>,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// `2/5`: a part, counted from 1, of so many.
fn parse_part(text: &str) -> Result<(u64, u64), String> {
    let numbers =
        text.split_once('/').and_then(|(part, parts)| Some((part.parse().ok()?, parts.parse().ok()?)));
    match numbers {
        Some((part, parts)) if (1..=parts).contains(&part) && parts >= 2 => Ok((part, parts)),
        _ => Err("a part of at least two, as in 2/5".to_owned()),
    }
}

#[derive(Debug, Args)]
pub(crate) struct BudgetArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) planning: PlanningArgs,
    /// Group by: soil, decade (of installation) or any further column of pits.csv
    #[arg(long, value_name = "COLUMN")]
    pub(crate) by: Option<String>,
    /// Also write the visits as a table, the most urgent first, to this .csv file
    #[arg(long, value_name = "FILE")]
    pub(crate) visit_list: Option<PathBuf>,
    /// A population prior to use instead of the logbook's, as a .toml file; it may tell groups of pits apart (learn --by)
    #[arg(long, value_name = "FILE")]
    pub(crate) prior: Option<PathBuf>,
    /// Day of the budget [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    #[command(flatten)]
    pub(crate) telling: TellingArgs,
}

/// How far a budget looks and what it takes for granted.
#[derive(Debug, Args)]
pub(crate) struct PlanningArgs {
    /// Whole calendar years to look ahead, after what is left of this one, at most 50
    #[arg(long, value_name = "NUMBER", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..=50))]
    pub(crate) years: u8,
    /// Visits that can be made in a year
    #[arg(long, value_name = "NUMBER", default_value_t = 10, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub(crate) visits: u32,
    /// Error that all chances may share, 0 to 0.25 of themselves
    #[arg(long, value_name = "SHARE", default_value = "0.04", value_parser = parse_common_factor)]
    pub(crate) common_factor: CommonFactor,
    /// How far one replacement may cost more or less than thought, 0 to 2 of itself (a standard deviation)
    #[arg(long, value_name = "SHARE", default_value = "0.3", value_parser = parse_cost_spread)]
    pub(crate) cost_spread: f64,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}
