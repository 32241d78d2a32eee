//! Writing so that a crash leaves the old file or the new one, whole.

use std::ffi::{OsStr, OsString};
use std::fs::{self, File};
use std::io::{self, Seek as _, Write as _};
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
/// # Ok::<(), std::io::Error>(())
/// ```
///
/// # Errors
/// Whatever the operating system says; the old file is then untouched and nothing half-written is left.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut draft = Draft::beside(path)?;
    draft.write_all(bytes)?;
    draft.put_in_place()
}

/// A file being written beside the one it will replace; dropped, it leaves nothing behind. Where the system can write files that
/// have no name yet (Linux), a killed writer leaves nothing either.
///
/// ```
/// use std::io::Write as _;
/// # let folder = tempfile::tempdir()?;
/// let path = folder.path().join("forecast.csv");
/// let mut draft = soaklife_records::durable::Draft::beside(&path)?;
/// draft.write_all(b"pit_id\n")?;
/// assert!(!path.exists());
/// draft.put_in_place()?;
/// assert_eq!(std::fs::read(&path)?, b"pit_id\n");
/// # Ok::<(), std::io::Error>(())
/// ```
#[derive(Debug)]
pub struct Draft {
    body: Body,
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
    /// Whatever the operating system says.
    pub fn beside(path: &Path) -> io::Result<Self> {
        let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let is_stream = fs::metadata(&target).is_ok_and(|existing| !existing.is_file());
        let body = if is_stream {
            Body::Unnamed(tempfile::tempfile()?)
        } else {
            match unnamed::create(&folder_of(&target)) {
                Ok(file) => Body::Unnamed(file),
                Err(_) => Body::Named(named_beside(&target)?),
            }
        };
        Ok(Self { body, target, is_stream })
    }

    /// Forgets what has been written.
    ///
    /// # Errors
    /// Whatever the operating system says.
    pub fn start_again(&mut self) -> io::Result<()> {
        self.body.file().set_len(0)?;
        self.body.file_mut().rewind()
    }

    /// Flushes the file to disk and renames it over the old one.
    ///
    /// # Errors
    /// Whatever the operating system says; the old file is then untouched and nothing half-written is left.
    pub fn put_in_place(mut self) -> io::Result<()> {
        if self.is_stream {
            let file = self.body.file_mut();
            file.rewind()?;
            let mut stream = File::options().write(true).open(&self.target)?;
            return io::copy(file, &mut stream).map(|_| ());
        }
        if let Ok(existing) = fs::metadata(&self.target) {
            self.body.file().set_permissions(existing.permissions())?;
        }
        self.body.file().sync_all()?;
        match self.body {
            Body::Named(file) => file.persist(&self.target).map_err(|error| error.error).map(drop)?,
            Body::Unnamed(file) => builder(&prefix(&self.target))
                .make_in(folder_of(&self.target), |path| unnamed::link(&file, path))?
                .persist(&self.target)
                .map_err(|error| error.error)?,
        }
        sync_folder(&folder_of(&self.target))
    }
}

impl io::Write for Draft {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.body.file_mut().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.body.file_mut().flush()
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
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Elsewhere a folder cannot be flushed; the rename is as durable as the system makes it.
#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_is_written_to_and_not_replaced() {
        use std::os::unix::fs::FileTypeExt as _;
        let device = Path::new("/dev/full");
        let refused = write(device, b"pit_id\n").unwrap_err();
        assert_eq!(refused.kind(), io::ErrorKind::StorageFull);
        assert!(fs::metadata(device).unwrap().file_type().is_char_device());
    }

    #[test]
    fn what_was_left_unfinished_is_removed_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("readings.csv");
        for name in ["readings.csv", ".readings.csv.x1.tmp", ".pits.csv.x1.tmp", "readings.csv.bak"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        remove_unfinished(&path);
        let mut left: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        assert_eq!(left, [".pits.csv.x1.tmp", "readings.csv", "readings.csv.bak"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_new_file_is_an_ordinary_one_and_named_only_when_whole() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let ordinary = folder.path().join("ordinary");
        fs::write(&ordinary, "x").unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let seen = || fs::read_dir(folder.path()).unwrap().count();
        let path = folder.path().join("forecast.csv");
        let unnamed = || unnamed::create(folder.path()).map(Body::Unnamed);
        let named = || named_beside(&path).map(Body::Named);
        // A file system without unnamed files is no fault.
        for body in [&unnamed as &dyn Fn() -> io::Result<Body>, &named].iter().filter_map(|body| body().ok())
        {
            let named = usize::from(matches!(body, Body::Named(_)));
            let mut draft = Draft { body, target: path.clone(), is_stream: false };
            draft.write_all(b"whole").unwrap();
            assert_eq!((path.exists(), seen()), (false, 1 + named));
            draft.put_in_place().unwrap();
            assert_eq!(
                (fs::read(&path).unwrap(), mode(&path), seen()),
                (b"whole".to_vec(), mode(&ordinary), 2)
            );
            fs::remove_file(&path).unwrap();
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real.csv"), folder.path().join("link.csv"));
        fs::write(&real, "old").unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        write(&link, b"new").unwrap();
        assert_eq!(fs::read(&real).unwrap(), b"new");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
    }
}
