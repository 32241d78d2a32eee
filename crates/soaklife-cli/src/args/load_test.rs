//! The options of `loadtest`.

use super::{TellingArgs, UnitsArg};
use clap::Args;
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct LoadTestArgs {
    /// Folder of the logbook
    #[arg(required_unless_present = "json_schema")]
    pub(crate) folder: Option<PathBuf>,
    /// Identifier of the pit
    #[arg(required_unless_present = "json_schema")]
    pub(crate) pit: Option<String>,
    /// A day of the test [default: the last test]
    #[arg(long, value_name = "DATE")]
    pub(crate) date: Option<Date>,
    /// Tests that ended later do not count [default: today]
    #[arg(long, value_name = "DATE")]
    pub(crate) as_of: Option<Date>,
    /// Units of what is told [default: those of the logbook]
    #[arg(long, value_enum)]
    pub(crate) units: Option<UnitsArg>,
    #[command(flatten)]
    pub(crate) telling: TellingArgs,
}
