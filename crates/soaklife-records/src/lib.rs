//! The logbook on disk.

mod append;
mod assembly;
mod create;
mod datapackage;
pub mod durable;
mod events;
mod field;
mod fleet;
mod folder;
mod header;
mod load_ratio;
mod load_tests;
mod logbook;
pub mod measure;
mod occupancy;
mod pit_row;
mod pits;
mod prior_file;
mod problem;
mod readings;
mod record;
mod row;
pub mod schema;
mod settings;
mod table;

pub use append::{AppendError, Appended, Found, NewReading, append_reading};
pub use create::{CreateError, NewPit, create, write_demo};
pub use fleet::{Findings, Fleet, Stretch, WalkError};
pub use folder::LogbookError;
pub use logbook::{CurrentUse, DesignBasis, Entry, Logbook, PitRecord};
pub use pits::RejectedPit;
pub use prior_file::{GroupPriors, PriorFile};
pub use problem::{Problem, ProblemKind, Problems, Severity};
pub use settings::Settings;

/// The name among `names` that a mistyped one probably meant: at most two slips away.
///
/// ```
/// assert_eq!(soaklife_records::nearest_name("AF-O1", &["AF-01", "AF-24"]), Some("AF-01"));
/// assert_eq!(soaklife_records::nearest_name("barn", &["AF-01"]), None);
/// ```
#[must_use]
pub fn nearest_name<'n>(mistyped: &str, names: &[&'n str]) -> Option<&'n str> {
    field::nearest(mistyped, names.iter().copied())
}
