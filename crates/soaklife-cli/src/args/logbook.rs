//! The options of the verbs that keep a logbook: `init`, `log`, `check`, `demo`.

use super::UnitsArg;
use crate::values::{parse_bedrooms, parse_depth, parse_diameter, parse_occupants};
use clap::{ArgGroup, Args, ValueEnum};
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::quantity::Length;
use soaklife_records::measure::parse_length;
use std::num::NonZeroUsize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct InitArgs {
    /// Folder for the new logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the first pit
    #[arg(long, value_name = "ID")]
    pub(crate) pit_id: Option<String>,
    /// What people call it
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub(crate) label: String,
    /// Rim down to the inlet invert, as in 30in
    #[arg(long, value_name = "LENGTH", value_parser = parse_depth, allow_hyphen_values = true)]
    pub(crate) inlet_depth: Option<Length>,
    /// Rim down to the pit bottom, as in 17ft6in
    #[arg(long, value_name = "LENGTH", value_parser = parse_depth, allow_hyphen_values = true)]
    pub(crate) bottom_depth: Option<Length>,
    /// Inside diameter of a round pit, as in 6ft
    #[arg(long, value_name = "LENGTH", value_parser = parse_diameter, allow_hyphen_values = true)]
    pub(crate) diameter: Option<Length>,
    /// When it was put into service: 2009-06-14, 2009-06 or 2009
    #[arg(long, value_name = "DATE")]
    pub(crate) installed: Option<PartialDate>,
    /// Bedrooms the system was sized for
    #[arg(long, value_name = "NUMBER", value_parser = parse_bedrooms, allow_hyphen_values = true)]
    pub(crate) bedrooms: Option<f64>,
    /// People living in the house
    #[arg(long, value_name = "NUMBER", value_parser = parse_occupants, allow_hyphen_values = true)]
    pub(crate) occupants: Option<f64>,
    /// Units the logbook is kept in
    #[arg(long, value_enum, default_value_t = UnitsArg::Us)]
    pub(crate) units: UnitsArg,
}

#[derive(Debug, Args)]
#[command(group = ArgGroup::new("found").required(true).args(["depth_to_liquid", "dry", "at_inlet"]))]
pub(crate) struct LogArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the pit
    pub(crate) pit: String,
    /// Day of the reading: 2026-05-14
    #[arg(long, value_name = "DATE")]
    pub(crate) date: PartialDate,
    /// Rim down to the liquid: 41.5in, 3ft 5.5in, 3'5.5", 105cm
    #[arg(long, value_name = "LENGTH", value_parser = parse_length)]
    pub(crate) depth_to_liquid: Option<Length>,
    /// No liquid stands in the pit
    #[arg(long)]
    pub(crate) dry: bool,
    /// The liquid stands at the inlet invert
    #[arg(long)]
    pub(crate) at_inlet: bool,
    /// In what condition the pit was
    #[arg(long, value_enum, default_value_t = ConditionArg::Normal)]
    pub(crate) condition: ConditionArg,
    /// Anything worth keeping
    #[arg(long, value_name = "TEXT", default_value = "", hide_default_value = true)]
    pub(crate) note: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ConditionArg {
    /// Days of normal use
    Normal,
    /// Rain enough to raise the level
    AfterRain,
    /// Nobody at home for days
    Vacant,
    /// Pumped out shortly before
    AfterPumping,
    /// You doubt it yourself
    Suspect,
}

#[derive(Debug, Args)]
pub(crate) struct CheckArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Day of the forecast: what is dated later is counted [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

#[derive(Debug, Args)]
pub(crate) struct DemoArgs {
    /// Folder to write it to; must not hold a logbook already
    pub(crate) folder: PathBuf,
}
