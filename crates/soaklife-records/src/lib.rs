//! The logbook on disk: a folder of plain CSV files, read with every problem told and written at one stroke.
//!
//! | you want to | go to |
//! | --- | --- |
//! | read a logbook whole | [`Logbook`] |
//! | walk one of any size, pit by pit on every core | [`Fleet`] |
//! | begin one, or add a reading | [`create`](fn@create), [`append_reading`] |
//! | know its tables and columns | [`schema`]; a new logbook's `datapackage.json` is written from it |
//! | understand a depth as people say it | [`measure`] |
//! | replace any file so that it is never half written | [`durable`] |
//!
//! Nothing here reads a clock: the caller says which day it is, because what is dated later is an error.
//!
//! # From CSV files to a table
//!
//! Every pit of a logbook, forecast and written as a table of one's own. The files are the demo's; a bad row is told and the rest is used.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::trend::absorption::Hypotheses;
//! use soaklife::{Forecast, Question};
//! use soaklife_records::{Logbook, write_demo};
//!
//! let home = tempfile::tempdir()?;
//! let folder = home.path().join("alder-fork");
//! write_demo(&folder)?;
//!
//! let day = date(2026, 6, 30);
//! let logbook = Logbook::read(&folder, day, day)?;
//! logbook.problems().iter().for_each(|problem| println!("{problem}"));
//! let experience = Hypotheses::new(logbook.prior())?; // as the command takes it: with the usual load of these pits
//! let mut table = String::from("pit_id,years_p50,chance_5y\n");
//! for pit in logbook.pits() {
//!     let forecast = Forecast::by_experience(pit.history(), &Question::new(day), &experience)?;
//!     let median = forecast.years_to_inlet(0.5).map_or(String::new(), |years| format!("{years:.1}"));
//!     table.push_str(&format!("{},{median},{:.2}\n", pit.id(), forecast.chance_by(5.0)));
//! }
//! assert_eq!(table.lines().count(), 25);
//! assert_eq!(table.lines().nth(1), Some("AF-01,5.2,0.45"));
//! assert_eq!(table.lines().nth(4), Some("AF-04,,0.01")); // no median within 60 years
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # A reading more
//!
//! What somebody says is understood, held against the whole logbook, and appended so that a crash loses nothing. (At the pit: never enter or lean
//! into it, never alone, no open flame; sewage gas kills without warning.)
//!
//! ```
//! # use jiff::civil::date;
//! # use soaklife_records::write_demo;
//! use soaklife::reading::Condition;
//! use soaklife_records::measure::parse_length;
//! use soaklife_records::{Found, Logbook, NewReading, append_reading};
//! # let home = tempfile::tempdir()?;
//! # let folder = home.path().join("alder-fork");
//! # write_demo(&folder)?;
//!
//! let today = date(2026, 7, 1);
//! let before = Logbook::read(&folder, today, today)?.pits().map(|pit| pit.history().readings().len()).sum::<usize>();
//! let reading = NewReading {
//!     pit_id: "AF-01".to_owned(),
//!     date: today.into(),
//!     found: Found::Depth(parse_length("3ft 9in")?),
//!     condition: Condition::Normal,
//!     note: "by the owner".to_owned(),
//! };
//! assert_eq!(append_reading(&folder, &reading, today)?.warnings, []);
//! let after = Logbook::read(&folder, today, today)?.pits().map(|pit| pit.history().readings().len()).sum::<usize>();
//! assert_eq!(after, before + 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

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
