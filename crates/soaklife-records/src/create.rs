//! Beginning a logbook: an empty one for a first pit, or the Alder Fork scenario to try things on.

use crate::append::quoted_if_needed;
use crate::datapackage;
use crate::durable::disk::ask;
use crate::durable::{self, WriteError};
use crate::folder::SETTINGS_FILE;
use crate::measure::Unit;
use crate::pits::Pits;
use crate::problem::{Problem, Problems, Severity};
use crate::schema::{PITS, READINGS, TABLES};
use crate::settings::{self, Settings};
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::quantity::{Length, Units};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// The first pit of a new logbook.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPit {
    /// Its identifier.
    pub id: String,
    /// What people call it; may be empty.
    pub label: String,
    /// When it was put into service, if known.
    pub installed: Option<PartialDate>,
    /// Rim down to the inlet invert.
    pub inlet_depth: Length,
    /// Rim down to the pit bottom.
    pub bottom_depth: Length,
    /// Inside diameter, if known.
    pub diameter: Option<Length>,
    /// Bedrooms the system was sized for, if known.
    pub bedrooms: Option<f64>,
    /// People living in the house, if known.
    pub occupants: Option<f64>,
    /// The units the logbook is kept in.
    pub units: Units,
}

/// Why a logbook was not begun.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CreateError {
    /// The folder has a file of a logbook already.
    #[error("{} is there already; nothing was written. Choose an empty folder", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// The pit cannot be as described; nothing was written.
    #[error("{}; nothing was written", .problems.iter().map(|problem| problem.message.as_str()).collect::<Vec<_>>().join("; "))]
    Pit {
        /// What is wrong with it.
        problems: Vec<Problem>,
    },
    /// The operating system refused; what had been written by then is gone again.
    #[error(transparent)]
    Unwritable(#[from] WriteError),
}

/// Begins a logbook with one pit and no reading: `pits.csv`, `readings.csv`, `logbook.toml`, `datapackage.json`.
///
/// # Errors
/// [`CreateError::Exists`] if the folder has one of these already, or somebody else begins a logbook there at the same moment;
/// [`CreateError::Pit`] if the row of the pit could not be read back without an error; [`CreateError::Unwritable`].
pub fn create(folder: &Path, pit: &NewPit) -> Result<(), CreateError> {
    let length = if pit.units == Units::Si { Unit::Centimetre } else { Unit::Inch };
    let width = if pit.units == Units::Si { Unit::Metre } else { Unit::Foot };
    let readings = format!("pit_id,date,depth_to_liquid_{},state,condition,note\n", length.suffix());
    let pits = pits_csv(pit, length, width).into_bytes();
    check_pit(&pits)?;
    let files = [
        (PITS.file, pits),
        (READINGS.file, readings.into_bytes()),
        (SETTINGS_FILE, settings::TEMPLATE.as_bytes().to_vec()),
        (datapackage::FILE, datapackage::describe("logbook", length, width).into_bytes()),
    ];
    write_all(folder, &files)
}

/// Reads the row back as `check` will. A day of installation still to come is for the reader to say.
fn check_pit(pits: &[u8]) -> Result<(), CreateError> {
    let mut found = Problems::new(PITS.file);
    // Reading from memory does not fail.
    let _ = Pits::read(pits, Date::MAX, &Settings::default(), &mut found);
    let mut problems = found.into_sorted();
    problems.retain(|problem| problem.severity == Severity::Error);
    if problems.is_empty() { Ok(()) } else { Err(CreateError::Pit { problems }) }
}

fn pits_csv(pit: &NewPit, length: Unit, width: Unit) -> String {
    let number = |value: Option<f64>| value.map_or(String::new(), |value| value.to_string());
    let in_unit = |value: Length, unit: Unit| {
        format!("{}", (unit.count_in(value).unwrap_or_default() * 1000.0).round() / 1000.0)
    };
    let (length_suffix, width_suffix) = (length.suffix(), width.suffix());
    let header = format!(
        "pit_id,label,installed,inlet_depth_{length_suffix},bottom_depth_{length_suffix},diameter_{width_suffix},\
         bedrooms,occupants,soil,replacement_cost\n"
    );
    let fields = [
        quoted_if_needed(&pit.id),
        quoted_if_needed(&pit.label),
        pit.installed.map_or(String::new(), |date| date.to_string()),
        in_unit(pit.inlet_depth, length),
        in_unit(pit.bottom_depth, length),
        pit.diameter.map_or(String::new(), |diameter| in_unit(diameter, width)),
        number(pit.bedrooms),
        number(pit.occupants),
        String::new(),
        String::new(),
    ];
    format!("{header}{}\n", fields.join(","))
}

/// The Alder Fork scenario: an invented company with 24 pits.
const ALDER_FORK: [(&str, &[u8]); 8] = [
    ("pits.csv", include_bytes!("../../../fixtures/logbooks/alder-fork/pits.csv")),
    ("readings.csv", include_bytes!("../../../fixtures/logbooks/alder-fork/readings.csv")),
    ("occupancy.csv", include_bytes!("../../../fixtures/logbooks/alder-fork/occupancy.csv")),
    ("events.csv", include_bytes!("../../../fixtures/logbooks/alder-fork/events.csv")),
    ("load_tests.csv", include_bytes!("../../../fixtures/logbooks/alder-fork/load_tests.csv")),
    ("logbook.toml", include_bytes!("../../../fixtures/logbooks/alder-fork/logbook.toml")),
    ("datapackage.json", include_bytes!("../../../fixtures/logbooks/alder-fork/datapackage.json")),
    ("README.md", include_bytes!("../../../fixtures/logbooks/alder-fork/README.md")),
];

/// Writes the Alder Fork logbook into a folder.
///
/// # Errors
/// As [`create`].
pub fn write_demo(folder: &Path) -> Result<(), CreateError> {
    let files: Vec<(&str, Vec<u8>)> =
        ALDER_FORK.iter().map(|(name, bytes)| (*name, bytes.to_vec())).collect();
    write_all(folder, &files)
}

fn write_all(folder: &Path, files: &[(&str, Vec<u8>)]) -> Result<(), CreateError> {
    let names = files.iter().map(|(name, _)| *name).chain(TABLES.iter().map(|table| table.file));
    if let Some(path) = names.map(|name| folder.join(name)).find(|path| fs::symlink_metadata(path).is_ok()) {
        return Err(CreateError::Exists { path });
    }
    let is_new = !folder.exists();
    if let Err(source) = ask(|| fs::create_dir_all(folder)) {
        return Err(WriteError::Refused { path: folder.to_owned(), source }.into());
    }
    for (written, (name, bytes)) in files.iter().enumerate() {
        match durable::write_new(&folder.join(name), bytes) {
            // All of them are there; whether they stay is the disk's affair.
            Err(error) if !matches!(error, WriteError::Unconfirmed { .. }) => {
                // Half a logbook would only be in the way of the next try. The first file goes last: while it is there
                // nobody else begins, so that what is removed is our own.
                let ours = files.iter().take(written).rev();
                ours.for_each(|(name, _)| drop(fs::remove_file(folder.join(name))));
                if is_new {
                    let _ = fs::remove_dir(folder);
                }
                return Err(refused(error));
            }
            _ => {}
        }
    }
    Ok(())
}

/// A file that was not there a moment ago is somebody else's, who begins a logbook in the same folder.
fn refused(error: WriteError) -> CreateError {
    match error {
        WriteError::Refused { path, source } if source.kind() == ErrorKind::AlreadyExists => {
            CreateError::Exists { path }
        }
        error => error.into(),
    }
}

#[cfg(test)]
mod tests;
