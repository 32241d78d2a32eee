//! Adding one reading to a logbook: checked against all of it first, written at one stroke, under a lock.

use crate::durable::disk::ask;
use crate::durable::{self, WriteError};
use crate::folder::LogbookError;
use crate::header::{Header, read_header_of};
use crate::logbook::{Entry, Logbook};
use crate::measure::Unit;
use crate::problem::{Problem, ProblemKind, Problems, Severity, Whole};
use crate::readings::{CONDITION_KINDS, Days, column};
use crate::record::{Flaw, Record, RecordReader};
use crate::schema::{CONDITIONS, READINGS};
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::pit::Pit;
use soaklife::quantity::Length;
use soaklife::reading::Condition;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use thiserror::Error;

/// The file whose lock keeps two writers apart; it is empty and stays.
const LOCK_FILE: &str = ".logbook.lock";
/// How long to wait for another writer that adds nothing.
const PATIENCE: Duration = Duration::from_secs(if cfg!(test) { 1 } else { 20 });
const BETWEEN_TRIES: Duration = Duration::from_millis(10);

/// A reading to be added.
#[derive(Debug, Clone, PartialEq)]
pub struct NewReading {
    /// The pit.
    pub pit_id: String,
    /// When it was taken.
    pub date: PartialDate,
    /// What the stick found.
    pub found: Found,
    /// In what condition.
    pub condition: Condition,
    /// Anything worth keeping; may be empty.
    pub note: String,
}

/// What the stick found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// Liquid this far below the rim.
    Depth(Length),
    /// Nothing standing.
    Dry,
    /// Liquid at the inlet invert.
    AtInlet,
}

/// A reading that was added.
#[derive(Debug, Clone, PartialEq)]
pub struct Appended {
    /// What deserves a word although the reading was added.
    pub warnings: Vec<Problem>,
}

/// Why a reading was not added. The logbook is then as it was, except after [`WriteError::Unconfirmed`].
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AppendError {
    /// The logbook cannot be read.
    #[error(transparent)]
    Logbook(#[from] LogbookError),
    /// The reading does not fit the logbook.
    #[error("{}", .problems.iter().map(|problem| problem.message.as_str()).collect::<Vec<_>>().join("; "))]
    Refused {
        /// What is wrong with it.
        problems: Vec<Problem>,
    },
    /// The file has no column for what is to be added, or no header at all.
    #[error("readings.csv cannot take this reading: {reason}")]
    Columns {
        /// What is missing, and the mend.
        reason: String,
    },
    /// Another program holds the logbook.
    #[error("{} has been held by another program for {} s; nothing was written. Try again when it is done", path.display(), PATIENCE.as_secs())]
    Held {
        /// The lock.
        path: PathBuf,
    },
    /// The file system knows no locks, or has none left, as network folders may.
    #[error("{}: cannot be locked: {source}, so two writers could not be kept apart; nothing was changed. Move the logbook to a \
             disk of this computer, or have locks switched on where it is", path.display())]
    Unlockable {
        /// The lock.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The operating system refused.
    #[error(transparent)]
    Unwritable(#[from] WriteError),
}

/// What shows only when readings are put side by side, and so may be said at another row than the new one.
const COMPARED: [ProblemKind; 3] = [ProblemKind::SameDay, ProblemKind::LongGap, ProblemKind::ImplausibleJump];

/// Adds one reading to the logbook in a folder.
///
/// The old bytes stay as they are: unknown columns, column order, line ends and a byte order mark survive. The row is
/// checked together with the whole logbook before anything is written.
///
/// # Errors
/// [`AppendError`]; nothing has been changed then, except after [`WriteError::Unconfirmed`].
pub fn append_reading(folder: &Path, reading: &NewReading, today: Date) -> Result<Appended, AppendError> {
    let path = folder.join(READINGS.file);
    let logbook = Logbook::read(folder, today, today)?; // says what is wrong with the folder before a lock is made
    let _lock = lock(folder)?;
    durable::remove_unfinished(&path);
    let old =
        ask(|| fs::read(&path)).map_err(|source| LogbookError::Unreadable { path: path.clone(), source })?;
    let pit = match logbook.entry(&reading.pit_id) {
        Some(Entry::Pit(pit)) => Some(*pit.history().pit()),
        _ => None,
    };
    let (new, line) = with_row(&old, reading, pit.as_ref())?;
    let readings = Box::new(io::Cursor::new(new.clone()));
    let days = Days { today, as_of: today };
    let whole = Whole { from_line: line, pit_id: reading.pit_id.clone() };
    let checked = Logbook::read_with_readings(folder, readings, Some(whole), days)?;
    // Beside the row itself, what it newly says about its neighbours in time.
    let of_row = |problem: &&Problem| {
        problem.file == READINGS.file
            && (problem.line == Some(line)
                || (COMPARED.contains(&problem.kind)
                    && problem.is_of(&reading.pit_id)
                    && !logbook.problems().contains(problem)))
    };
    let (errors, warnings): (Vec<Problem>, Vec<Problem>) = checked
        .problems()
        .iter()
        .filter(of_row)
        .cloned()
        .partition(|problem| problem.severity == Severity::Error);
    if !errors.is_empty() {
        return Err(AppendError::Refused { problems: errors });
    }
    if pit.is_none() {
        let reason = "the pit's own row in pits.csv cannot be used: run `soaklife check`".to_owned();
        return Err(AppendError::Columns { reason });
    }
    durable::write(&path, &new)?;
    Ok(Appended { warnings })
}

/// Takes the lock of the logbook; it is given back when the file is closed, even by a crash.
fn lock(folder: &Path) -> Result<File, AppendError> {
    let path = folder.join(LOCK_FILE);
    let open = || OpenOptions::new().create(true).truncate(false).write(true).open(&path);
    let file = match ask(open) {
        Ok(file) => file,
        Err(source) => return Err(WriteError::Refused { path, source }.into()),
    };
    let most_tries = PATIENCE.as_millis() / BETWEEN_TRIES.as_millis();
    let (mut tries, mut seen) = (0, state_of_readings(folder));
    while tries < most_tries {
        match ask(|| Ok(file.try_lock()?)) {
            Ok(()) => return Ok(file),
            Err(error) if error.kind() == io::ErrorKind::WouldBlock => std::thread::sleep(BETWEEN_TRIES),
            Err(source) => return Err(AppendError::Unlockable { path, source }),
        }
        // Many writers in turn may take longer on a slow disk, and each of them gets on.
        let now = state_of_readings(folder);
        tries = if now == seen { tries + 1 } else { 0 };
        seen = now;
    }
    Err(AppendError::Held { path })
}

/// What changes with every reading that is added.
fn state_of_readings(folder: &Path) -> Option<(u64, SystemTime)> {
    let readings = fs::metadata(folder.join(READINGS.file)).ok()?;
    Some((readings.len(), readings.modified().ok()?))
}

/// The bytes of the file with one row more, and the line on which that row stands.
fn with_row(old: &[u8], reading: &NewReading, pit: Option<&Pit>) -> Result<(Vec<u8>, u64), AppendError> {
    let mut found = Problems::new(READINGS.file);
    let header = read_header_of(old, &READINGS, &mut found).ok().flatten();
    let header = header.ok_or_else(|| AppendError::Columns {
        reason: "its header cannot be used: run `soaklife check`".to_owned(),
    })?;
    if ends_in_open_quote(old) {
        return Err(open_quote());
    }
    let line_end = line_end_of(old);
    let mut new = old.to_vec();
    if !old.ends_with(b"\n") && !old.ends_with(b"\r") {
        new.extend_from_slice(line_end.as_bytes());
    }
    new.extend_from_slice(row(&header, reading, pit)?.as_bytes());
    new.extend_from_slice(line_end.as_bytes());
    let line = line_of_last_record(&new).ok_or_else(open_quote)?;
    Ok((new, line))
}

/// The first line end of the file is that of the file.
fn line_end_of(bytes: &[u8]) -> &'static str {
    match bytes.iter().position(|byte| matches!(byte, b'\n' | b'\r')) {
        Some(at) if bytes.get(at) == Some(&b'\n') => "\n",
        Some(at) if bytes.get(at + 1) == Some(&b'\n') => "\r\n",
        Some(_) => "\r",
        None => "\n",
    }
}

/// A row added inside an open quote would become part of the field before it.
fn ends_in_open_quote(bytes: &[u8]) -> bool {
    let mut reader = RecordReader::new(bytes);
    let mut record = Record::default();
    while reader.read(&mut record).is_ok_and(|found| found) {
        if matches!(record.flaw(), Some(Flaw::NeverClosed { .. } | Flaw::TooLong)) {
            return true;
        }
    }
    false
}

fn open_quote() -> AppendError {
    AppendError::Columns {
        reason: "it ends inside a quote that is never closed: run `soaklife check`".to_owned(),
    }
}

fn line_of_last_record(bytes: &[u8]) -> Option<u64> {
    let mut reader = RecordReader::new(bytes);
    let mut record = Record::default();
    let mut line = None;
    while reader.read(&mut record).ok()? {
        line = if record.flaw().is_none() { Some(record.line()) } else { None };
    }
    line
}

/// The row in the column order and the units of the file.
fn row(header: &Header, reading: &NewReading, pit: Option<&Pit>) -> Result<String, AppendError> {
    let mut fields = vec![String::new(); header.width()];
    let mut put = |column: usize, value: String| -> Result<(), AppendError> {
        let missing = || AppendError::Columns {
            reason: format!(
                "it has no {} column; add one to its header and rows",
                READINGS.columns[column].name
            ),
        };
        let field = header.index(column).and_then(|index| fields.get_mut(index)).ok_or_else(missing)?;
        *field = value;
        Ok(())
    };
    put(column::PIT_ID, reading.pit_id.clone())?;
    put(column::DATE, reading.date.to_string())?;
    match reading.found {
        Found::Dry => put(column::STATE, "dry".to_owned())?,
        Found::AtInlet => put(column::STATE, "at_inlet".to_owned())?,
        Found::Depth(depth) if header.has(column::DEPTH) || pit.is_none() => {
            put(column::DEPTH, in_unit(depth, header.unit(column::DEPTH)))?;
        }
        Found::Depth(depth) => {
            let level = pit.map_or(depth, |pit| pit.level_at_depth(depth));
            put(column::LEVEL, in_unit(level, header.unit(column::LEVEL)))?;
        }
    }
    if reading.condition != Condition::Normal {
        let place = CONDITION_KINDS.iter().position(|kind| *kind == reading.condition);
        put(
            column::CONDITION,
            place.and_then(|place| CONDITIONS.get(place)).map_or(String::new(), |word| (*word).to_owned()),
        )?;
    }
    if !reading.note.is_empty() {
        put(column::NOTE, reading.note.clone())?;
    }
    Ok(fields.iter().map(|field| quoted_if_needed(field)).collect::<Vec<_>>().join(","))
}

/// A length in the unit of its column, to a thousandth.
fn in_unit(length: Length, unit: Option<Unit>) -> String {
    let count = unit.and_then(|unit| unit.count_in(length)).unwrap_or(length.value);
    format!("{}", (count * 1000.0).round() / 1000.0)
}

/// A field as RFC 4180 wants it.
pub(crate) fn quoted_if_needed(field: &str) -> String {
    let spaced = field.starts_with(' ') || field.ends_with(' ');
    if spaced || field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

#[cfg(test)]
mod tests;
