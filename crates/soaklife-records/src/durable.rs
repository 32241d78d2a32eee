//! Writing so that a crash leaves the old file or the new one, whole.

pub(crate) mod disk;
mod write_error;

pub use write_error::WriteError;

use disk::ask;
use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Seek as _, Write as _};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// The end of the name of a file being written.
const UNFINISHED: &str = ".tmp";

/// Writes a file at one stroke: a [`Draft`], flushed to disk, then renamed over it.
///
/// An existing file keeps its permissions; a link is followed, not replaced; a device or a pipe is written to.
///
/// ```
/// # let folder = tempfile::tempdir()?;
/// let path = folder.path().join("chart.svg");
/// soaklife_records::durable::write(&path, b"<svg/>")?;
/// assert_eq!(std::fs::read(&path)?, b"<svg/>");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`WriteError`]: what the operating system says, and what has become of the file.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let mut draft = Draft::beside(path)?;
    draft.add(bytes)?;
    draft.put_in_place()
}

/// The same for a file that must not be there yet: of two writers at once one is refused with [`ErrorKind::AlreadyExists`].
pub(crate) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    let mut draft = Draft::beside(path)?;
    draft.add(bytes)?;
    draft.settle(Draft::take_name)
}

/// A file being written beside the one it will replace; dropped, it leaves nothing behind. Where the system can write files that
/// have no name yet (Linux), a killed writer leaves nothing either.
///
/// ```
/// # let folder = tempfile::tempdir()?;
/// let path = folder.path().join("forecast.csv");
/// let mut draft = soaklife_records::durable::Draft::beside(&path)?;
/// draft.add(b"pit_id\n")?;
/// assert!(!path.exists());
/// draft.put_in_place()?;
/// assert_eq!(std::fs::read(&path)?, b"pit_id\n");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Draft {
    body: Body,
    /// As it was named.
    path: PathBuf,
    /// Where that leads.
    target: PathBuf,
    /// Where to write cannot be replaced: a device, a pipe.
    is_stream: bool,
}

#[derive(Debug)]
enum Body {
    Unnamed(File),
    Named(NamedTempFile),
}

impl Body {
    fn file(&self) -> &File {
        match self {
            Self::Unnamed(file) => file,
            Self::Named(file) => file.as_file(),
        }
    }

    fn file_mut(&mut self) -> &mut File {
        match self {
            Self::Unnamed(file) => file,
            Self::Named(file) => file.as_file_mut(),
        }
    }
}

impl Draft {
    /// Begins a file that will replace the one at `path`.
    ///
    /// # Errors
    /// [`WriteError::Refused`].
    pub fn beside(path: &Path) -> Result<Self, WriteError> {
        let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let is_stream = fs::metadata(&target).is_ok_and(|existing| !existing.is_file());
        let body = if is_stream {
            ask(tempfile::tempfile).map(Body::Unnamed)
        } else {
            let unnamed = ask(|| unnamed::create(&folder_of(&target))).map(Body::Unnamed);
            unnamed.or_else(|_| ask(|| named_beside(&target)).map(Body::Named))
        };
        match body {
            Ok(body) => Ok(Self { body, path: path.to_owned(), target, is_stream }),
            Err(source) => Err(WriteError::Refused { path: path.to_owned(), source }),
        }
    }

    /// Writes more of it.
    ///
    /// # Errors
    /// [`WriteError::Refused`].
    pub fn add(&mut self, bytes: &[u8]) -> Result<(), WriteError> {
        ask(|| self.body.file_mut().write_all(bytes)).map_err(|source| self.refused(source))
    }

    /// Forgets what has been written.
    ///
    /// # Errors
    /// [`WriteError::Refused`].
    pub fn start_again(&mut self) -> Result<(), WriteError> {
        let emptied = ask(|| self.body.file().set_len(0)).and_then(|()| self.body.file_mut().rewind());
        emptied.map_err(|source| self.refused(source))
    }

    /// Flushes the file to disk and renames it over the old one.
    ///
    /// # Errors
    /// [`WriteError`].
    pub fn put_in_place(self) -> Result<(), WriteError> {
        self.settle(Self::rename)
    }

    /// Flushes the file to disk and gives it its name.
    fn settle(mut self, name: impl FnOnce(Self) -> io::Result<()>) -> Result<(), WriteError> {
        let path = std::mem::take(&mut self.path);
        if self.is_stream {
            return self.pour().map_err(|source| WriteError::Stream { path, source });
        }
        // Opened before anything is changed, so that only the flush itself can come too late to refuse.
        let folder = match self.flush().and_then(|()| open_folder(&folder_of(&self.target))) {
            Ok(folder) => folder,
            Err(source) => return Err(WriteError::Refused { path, source }),
        };
        match name(self) {
            Ok(()) => {
                flush_folder(folder.as_ref()).map_err(|source| WriteError::Unconfirmed { path, source })
            }
            Err(source) => Err(WriteError::Refused { path, source }),
        }
    }

    /// All of it to a device or a pipe.
    fn pour(mut self) -> io::Result<()> {
        let file = self.body.file_mut();
        file.rewind()?;
        let mut stream = ask(|| File::options().write(true).open(&self.target))?;
        ask(|| io::copy(file, &mut stream)).map(drop)
    }

    /// To disk, with the permissions of the file it replaces.
    fn flush(&self) -> io::Result<()> {
        if let Ok(existing) = fs::metadata(&self.target) {
            ask(|| self.body.file().set_permissions(existing.permissions()))?;
        }
        ask(|| self.body.file().sync_all())
    }

    fn rename(self) -> io::Result<()> {
        let Self { body, target, .. } = self;
        let named = match body {
            Body::Named(file) => file.into_temp_path(),
            Body::Unnamed(file) => {
                let prefix = prefix(&target);
                let linked = builder(&prefix)
                    .make_in(folder_of(&target), |path| ask(|| unnamed::link(&file, path)))?;
                linked.into_temp_path()
            }
        };
        ask(|| named.persist(&target).map_err(|error| error.error))
    }

    /// Takes a name that nobody has.
    fn take_name(self) -> io::Result<()> {
        let Self { body, target, .. } = self;
        let linked = match &body {
            Body::Unnamed(file) => ask(|| unnamed::link(file, &target)),
            Body::Named(file) => ask(|| fs::hard_link(file.path(), &target)),
        };
        match (linked, body) {
            (Err(error), Body::Named(file)) if error.kind() != ErrorKind::AlreadyExists => {
                // Not every file system knows links: there an empty file takes the name, and then its place is taken. Killed between
                // the two, the empty file stays.
                ask(|| File::create_new(&target))?;
                ask(|| file.into_temp_path().persist(&target).map_err(|error| error.error)).inspect_err(
                    |_| {
                        let _ = fs::remove_file(&target);
                    },
                )
            }
            (linked, _) => linked,
        }
    }

    fn refused(&self, source: io::Error) -> WriteError {
        WriteError::Refused { path: self.path.clone(), source }
    }
}

/// Removes what a writer that was killed has left beside a file. Only under the lock of the logbook.
pub(crate) fn remove_unfinished(path: &Path) {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let Some(name) = target.file_name().and_then(|name| name.to_str()) else { return };
    let prefix = format!(".{name}.");
    let Ok(files) = fs::read_dir(folder_of(&target)) else { return };
    for file in files.flatten() {
        let left_over = file
            .file_name()
            .to_str()
            .is_some_and(|found| found.starts_with(&prefix) && found.ends_with(UNFINISHED));
        if left_over {
            // If it cannot be removed it does no harm.
            let _ = fs::remove_file(file.path());
        }
    }
}

/// How the names of files that will become the target begin.
fn prefix(target: &Path) -> OsString {
    let mut prefix = OsString::from(".");
    prefix.push(target.file_name().unwrap_or_default());
    prefix.push(".");
    prefix
}

fn builder(prefix: &OsStr) -> Builder<'_, 'static> {
    let mut builder = Builder::new();
    builder.prefix(prefix).suffix(UNFINISHED);
    builder
}

fn named_beside(target: &Path) -> io::Result<NamedTempFile> {
    let prefix = prefix(target);
    let mut builder = builder(&prefix);
    with_usual_permissions(&mut builder);
    builder.tempfile_in(folder_of(target))
}

/// Files without a name, which the system forgets with the process that writes them.
#[cfg(target_os = "linux")]
mod unnamed {
    use rustix::fs::{AtFlags, CWD, Mode, OFlags, linkat, open};
    use std::fs::File;
    use std::io;
    use std::os::fd::AsRawFd as _;
    use std::path::Path;

    /// Not on every file system, and only where such a file can be given a name.
    pub(super) fn create(folder: &Path) -> io::Result<File> {
        if !Path::new("/proc/self/fd").is_dir() {
            return Err(io::ErrorKind::Unsupported.into());
        }
        let flags = OFlags::TMPFILE | OFlags::RDWR | OFlags::CLOEXEC;
        Ok(open(folder, flags, Mode::from_raw_mode(0o666))?.into())
    }

    pub(super) fn link(file: &File, path: &Path) -> io::Result<()> {
        let descriptor = format!("/proc/self/fd/{}", file.as_raw_fd());
        Ok(linkat(CWD, descriptor, CWD, path, AtFlags::SYMLINK_FOLLOW)?)
    }
}

#[cfg(not(target_os = "linux"))]
mod unnamed {
    use std::fs::File;
    use std::io;
    use std::path::Path;

    pub(super) fn create(_: &Path) -> io::Result<File> {
        Err(io::ErrorKind::Unsupported.into())
    }

    pub(super) fn link(_: &File, _: &Path) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }
}

fn folder_of(path: &Path) -> PathBuf {
    path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new(".")).to_owned()
}

/// Temporary files are private by default; a chart or a logbook is an ordinary file, subject to the umask.
#[cfg(unix)]
fn with_usual_permissions(builder: &mut Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt as _;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn with_usual_permissions(_: &mut Builder<'_, '_>) {}

#[cfg(unix)]
fn open_folder(folder: &Path) -> io::Result<Option<File>> {
    ask(|| File::open(folder)).map(Some)
}

/// Elsewhere a folder cannot be flushed; the rename is as durable as the system makes it.
#[cfg(not(unix))]
fn open_folder(_: &Path) -> io::Result<Option<File>> {
    Ok(None)
}

/// Network folders that know no such thing say so.
fn flush_folder(folder: Option<&File>) -> io::Result<()> {
    let Some(folder) = folder else { return Ok(()) };
    match ask(|| folder.sync_all()) {
        Err(error) if matches!(error.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => Ok(()),
        other => other,
    }
}

#[cfg(test)]
mod tests;
