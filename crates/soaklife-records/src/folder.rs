//! The folder of a logbook: its files opened, and why one cannot be.

use crate::problem::{Fault, Place, Problem, ProblemKind, Problems};
use crate::schema::TABLES;
use crate::settings::Settings;
use std::fs::{self, File};
use std::io::{self, BufReader};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Name of the settings file.
pub(crate) const SETTINGS_FILE: &str = "logbook.toml";

/// Why a logbook cannot be read at all.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LogbookError {
    /// The folder is not there or is no folder.
    #[error("{}: {reason}", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What is wrong, and the mend.
        reason: String,
    },
    /// A file that must be there is not, or is no file.
    #[error("{}: {reason}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What is wrong, and the mend.
        reason: String,
    },
    /// The operating system refused.
    #[error("{}: cannot be read: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Its reason.
        source: io::Error,
    },
}

/// A logbook being opened: where, and what was found wrong so far.
pub(crate) struct Opening<'f> {
    folder: &'f Path,
    problems: Vec<Problems>,
}

impl<'f> Opening<'f> {
    pub(crate) fn of(folder: &'f Path) -> Self {
        Self { folder, problems: Vec::new() }
    }

    /// Reads a file that need not be there; one that is there and cannot be read is a problem.
    pub(crate) fn optional<T>(
        &mut self,
        name: &'static str,
        read: impl FnOnce(Box<dyn io::Read>, &mut Problems) -> io::Result<T>,
    ) -> Option<T> {
        let path = self.folder.join(name);
        if fs::symlink_metadata(&path).is_err() {
            return None;
        }
        let mut found = Problems::of_file(name, None);
        let opened = open(self.folder, name).map_err(|error| error.to_string());
        let result = opened.and_then(|file| read(file, &mut found).map_err(|error| error.to_string()));
        if let Err(reason) = &result {
            let message = format!("the file cannot be read ({reason}). It is not used");
            found.error(Place::default(), None, Fault::new(ProblemKind::Unreadable, message));
        }
        self.problems.push(found);
        result.ok()
    }

    pub(crate) fn settings(&mut self) -> Settings {
        let read = self.optional(SETTINGS_FILE, |mut file, found| {
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes)?;
            match String::from_utf8(bytes) {
                Ok(text) => Ok(Settings::read(&text, found)),
                Err(_) => Err(io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8")),
            }
        });
        read.unwrap_or_default()
    }

    /// All problems listed, by file in the order of the tables, then by line; and of each file what is only counted.
    pub(crate) fn in_order(
        self,
        of_required: impl IntoIterator<Item = Problems>,
    ) -> (Vec<Problem>, Vec<Problems>) {
        let mut files: Vec<Problems> = of_required.into_iter().chain(self.problems).collect();
        let place = |file: &str| TABLES.iter().position(|table| table.file == file).unwrap_or(TABLES.len());
        files.sort_by_key(|problems| place(problems.file()));
        (files.iter_mut().flat_map(Problems::take_sorted).collect(), files)
    }
}

pub(crate) fn check_folder(folder: &Path) -> Result<(), LogbookError> {
    let reason = match fs::metadata(folder) {
        Ok(found) if found.is_dir() => return Ok(()),
        Ok(_) => "a logbook is a folder, and this is a file".to_owned(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => "there is no such folder".to_owned(),
        Err(source) => return Err(LogbookError::Unreadable { path: folder.to_owned(), source }),
    };
    Err(LogbookError::Folder { path: folder.to_owned(), reason })
}

/// Opens a file of the logbook; only a real file, so that nothing hangs or never ends.
pub(crate) fn open(folder: &Path, name: &str) -> Result<Box<dyn io::Read>, LogbookError> {
    let path = folder.join(name);
    let reason = match fs::metadata(&path) {
        Ok(found) if found.is_file() => {
            return match File::open(&path) {
                Ok(file) => Ok(Box::new(BufReader::new(file))),
                Err(source) => Err(LogbookError::Unreadable { path, source }),
            };
        }
        Ok(found) if found.is_dir() => "this is a folder where a file must be".to_owned(),
        Ok(_) => "this is no ordinary file".to_owned(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => missing(folder, name),
        Err(source) => return Err(LogbookError::Unreadable { path, source }),
    };
    Err(LogbookError::File { path, reason })
}

fn missing(folder: &Path, name: &str) -> String {
    if fs::symlink_metadata(folder.join(name)).is_ok() {
        return "this is a link that leads nowhere".to_owned();
    }
    let similar = fs::read_dir(folder).ok().and_then(|mut files| {
        files.find_map(|file| {
            let found = file.ok()?.file_name().into_string().ok()?;
            found.eq_ignore_ascii_case(name).then_some(found)
        })
    });
    match similar {
        Some(found) => format!("this file must be there; {found} was found: rename it"),
        None => "this file must be there; `soaklife init` begins a logbook".to_owned(),
    }
}

pub(crate) fn unreadable(folder: &Path, name: &'static str) -> impl FnOnce(io::Error) -> LogbookError {
    let path = folder.join(name);
    move |source| LogbookError::Unreadable { path, source }
}
