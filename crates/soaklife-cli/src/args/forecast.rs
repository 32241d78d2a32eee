//! The options of `forecast`, and what is asked of a forecast by other verbs too.

use super::{TellingArgs, UnitsArg};
use crate::values::{
    parse_action_freeboard, parse_coverage, parse_horizon, parse_metered_flow, parse_occupants,
    parse_reduction,
};
use clap::{ArgGroup, Args, ValueEnum};
use jiff::civil::Date;
use soaklife::Coverage;
use soaklife::date::PartialDate;
use soaklife::forecast::Method;
use soaklife::loading::use_ahead::UseAhead;
use soaklife::quantity::{Length, VolumeRate};
use soaklife::trend::axis::Against;
use std::num::NonZeroUsize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct ForecastArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Pits to forecast [default: all]
    pub(crate) pits: Vec<String>,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    #[command(flatten)]
    pub(crate) what_if: WhatIfArgs,
    #[command(flatten)]
    pub(crate) telling: TellingArgs,
    /// Threads to work with [default: one a core]
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<NonZeroUsize>,
}

/// What is asked of a forecast.
#[derive(Debug, Clone, Args)]
pub(crate) struct QuestionArgs {
    /// Day of the forecast [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// How the level is fitted
    #[arg(long, value_enum, default_value_t = MethodArg::Absorption)]
    pub(crate) method: MethodArg,
    /// A population prior to use instead of the logbook's, as a .toml file; it may tell groups of pits apart (learn --by)
    #[arg(long, value_name = "FILE")]
    pub(crate) prior: Option<PathBuf>,
    /// What a line or ranks are fitted against; time is taken where the load is not known
    #[arg(long, value_enum, default_value_t = AgainstArg::Load)]
    pub(crate) against: AgainstArg,
    /// How far ahead to look, whole years, at most 60
    #[arg(long, value_name = "YEARS", default_value = "60", value_parser = parse_horizon, allow_hyphen_values = true)]
    pub(crate) horizon: f64,
    /// How often the range told in words should hold, 0.01 to 0.99
    #[arg(long, value_name = "SHARE", default_value = "0.8", value_parser = parse_coverage)]
    pub(crate) coverage: Coverage,
    /// Freeboard at which to act, as in 6in [default: the pit's own, or that of logbook.toml]
    #[arg(long, value_name = "LENGTH", value_parser = parse_action_freeboard, allow_hyphen_values = true)]
    pub(crate) action_freeboard: Option<Length>,
    /// What is assumed of the household from now on, by the absorption method where the load is known
    #[arg(long, value_enum, default_value_t = HouseholdArg::Drifts)]
    pub(crate) household: HouseholdArg,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum MethodArg {
    /// Many simple hypotheses weighed by the readings; speaks from none at all
    Absorption,
    /// Least squares, with Student-t bands
    Line,
    /// Median of pairwise slopes; one wild reading does not move it
    Rank,
}

impl From<MethodArg> for Method {
    fn from(method: MethodArg) -> Self {
        match method {
            MethodArg::Absorption => Self::Absorption,
            MethodArg::Line => Self::Line,
            MethodArg::Rank => Self::Rank,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum HouseholdArg {
    /// People come and go, so that the use drifts toward a typical one
    Drifts,
    /// The use of today stays; an empty house stays empty
    AsToday,
}

impl From<HouseholdArg> for UseAhead {
    fn from(household: HouseholdArg) -> Self {
        match household {
            HouseholdArg::Drifts => Self::Drifts,
            HouseholdArg::AsToday => Self::AsToday,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum AgainstArg {
    /// Cumulative load
    Load,
    /// Calendar time
    Time,
}

impl From<AgainstArg> for Against {
    fn from(against: AgainstArg) -> Self {
        match against {
            AgainstArg::Load => Self::Load,
            AgainstArg::Time => Self::Time,
        }
    }
}

/// Heading of the options of a what-if.
const WHAT_IF: &str = "What if";

/// Another use of the house, told beside today's forecast of the pits named.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("other_use").multiple(true).args(["occupants", "flow", "reduce", "vacant", "sale"]))]
pub(crate) struct WhatIfArgs {
    /// So many people live there
    #[arg(long, value_name = "NUMBER", help_heading = WHAT_IF, value_parser = parse_occupants, allow_hyphen_values = true, conflicts_with_all = ["flow", "vacant", "sale"])]
    pub(crate) occupants: Option<f64>,
    /// This much flows, as metered: 420gpd, 1590lpd or 1.6m3d
    #[arg(long, value_name = "FLOW", help_heading = WHAT_IF, value_parser = parse_metered_flow, allow_hyphen_values = true, conflicts_with_all = ["vacant", "sale"])]
    pub(crate) flow: Option<VolumeRate>,
    /// Fixtures use less, as in 20%: less than today, or than --occupants, --flow or --sale say
    #[arg(long, value_name = "PERCENT", help_heading = WHAT_IF, value_parser = parse_reduction, allow_hyphen_values = true, conflicts_with = "vacant")]
    pub(crate) reduce: Option<f64>,
    /// Nobody lives there
    #[arg(long, help_heading = WHAT_IF, conflicts_with = "sale")]
    pub(crate) vacant: bool,
    /// Sold to a full household: two persons a bedroom
    #[arg(long, help_heading = WHAT_IF)]
    pub(crate) sale: bool,
    /// From this day on: 2027-06-15, 2027-06 or 2027 [default: the day of the forecast]
    #[arg(long, value_name = "DATE", help_heading = WHAT_IF, requires = "other_use")]
    pub(crate) from: Option<PartialDate>,
    /// Until this day, when today's use returns [default: for good]
    #[arg(long, value_name = "DATE", help_heading = WHAT_IF, requires = "other_use")]
    pub(crate) until: Option<PartialDate>,
}
