//! Why a file was not written, in words that say what became of it and what to do.

use std::io::{self, ErrorKind};
use std::path::PathBuf;
use thiserror::Error;

/// Why a file was not written, or not surely.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum WriteError {
    /// The operating system refused. The old file is as it was, and nothing half-written is left.
    #[error("{}: cannot be written: {source}{}; nothing was changed", path.display(), mend(source))]
    Refused {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The new file is in its place, but the disk did not confirm that it is there to stay.
    #[error("{}: was written, but the disk does not confirm it: {source}. Look into the file before you write again", path.display())]
    Unconfirmed {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// A device or a pipe would not take it; it may have taken some.
    #[error("{}: cannot be written: {source}{}", path.display(), mend(source))]
    Stream {
        /// The device.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

impl WriteError {
    /// Whether whoever read a pipe has stopped reading.
    ///
    /// ```
    /// use soaklife_records::durable::WriteError;
    /// let closed = std::io::ErrorKind::BrokenPipe.into();
    /// assert!(WriteError::Stream { path: "/dev/stdout".into(), source: closed }.is_closed_pipe());
    /// ```
    #[must_use]
    pub fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Stream { source, .. } if source.kind() == ErrorKind::BrokenPipe)
    }
}

/// What can be done about it.
fn mend(source: &io::Error) -> &'static str {
    match source.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            ". Make room on the disk or write to another one, then run the command again"
        }
        ErrorKind::FileTooLarge => {
            ". No file may grow so long here: raise the limit (see `ulimit -f`) or write to another disk, then run the command again"
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            ". Write to a folder that you may change, or have it opened to you"
        }
        ErrorKind::NotFound | ErrorKind::NotADirectory => ". Make the folder first",
        ErrorKind::IsADirectory => ". A folder has this name: choose another one, or move the folder away",
        ErrorKind::AlreadyExists => ". A file has this name: choose another one, or move the file away",
        ErrorKind::InvalidFilename => ". Choose a shorter name",
        ErrorKind::BrokenPipe => "",
        _ => ". Look after the disk or the network it is on, then run the command again",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_refusal_is_told_with_what_can_be_done() {
        for (kind, advice) in [
            (ErrorKind::StorageFull, "Make room on the disk"),
            (ErrorKind::QuotaExceeded, "Make room on the disk"),
            (ErrorKind::FileTooLarge, "raise the limit"),
            (ErrorKind::PermissionDenied, "a folder that you may change"),
            (ErrorKind::ReadOnlyFilesystem, "a folder that you may change"),
            (ErrorKind::NotFound, "Make the folder first"),
            (ErrorKind::NotADirectory, "Make the folder first"),
            (ErrorKind::IsADirectory, "A folder has this name"),
            (ErrorKind::AlreadyExists, "A file has this name"),
            (ErrorKind::InvalidFilename, "a shorter name"),
            (ErrorKind::TimedOut, "Look after the disk"),
        ] {
            let told = WriteError::Refused { path: "of-2026.csv".into(), source: kind.into() }.to_string();
            assert!(told.contains(advice) && told.contains("of-2026.csv"), "{kind:?}: {told}");
        }
    }
}
