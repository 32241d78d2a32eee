//! The fingerprint of a logbook: which files, to the byte, a page was made from.

use crate::output::Failure;
use sha2::{Digest as _, Sha256};
use soaklife_records::schema::{EVENTS_TABLE, LOAD_TESTS, OCCUPANCY, PITS, READINGS};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, ErrorKind};
use std::path::Path;

/// The files that a forecast is made from, in alphabetical order.
const FILES: [&str; 6] =
    [EVENTS_TABLE.file, LOAD_TESTS.file, "logbook.toml", OCCUPANCY.file, PITS.file, READINGS.file];

/// Hexadecimal digits shown: two logbooks agree in them by chance once in 2⁶⁴.
const SHOWN: usize = 16;

/// The first digits of the SHA-256 of what `sha256sum events.csv load_tests.csv logbook.toml occupancy.csv pits.csv readings.csv`
/// prints in the folder, so that anybody can check it with `… | sha256sum`; files that are not there are left out.
pub(super) fn of(folder: &Path) -> Result<String, Failure> {
    let mut sums = String::new();
    for name in FILES {
        let path = folder.join(name);
        match sum(&path) {
            Ok(sum) => _ = writeln!(sums, "{sum}  {name}"),
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => {
                return Err(Failure::ReadOrWrite(format!("{}: cannot be read: {error}", path.display())));
            }
        }
    }
    let mut digits = hexadecimal(&Sha256::digest(sums));
    digits.truncate(SHOWN);
    Ok(digits)
}

fn sum(path: &Path) -> io::Result<String> {
    let mut hasher = Sink(Sha256::new());
    io::copy(&mut File::open(path)?, &mut hasher)?;
    Ok(hexadecimal(&hasher.0.finalize()))
}

/// A hash that can be written to.
struct Sink(Sha256);

impl io::Write for Sink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut digits, byte| {
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_those_of_the_standard() {
        // FIPS 180-4's example for SHA-256: the message "abc" (NIST, "Examples with Intermediate Values").
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("abc");
        std::fs::write(&file, "abc").unwrap();
        assert_eq!(sum(&file).unwrap(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn whoever_has_sha256sum_can_check_it() {
        // GNU coreutils 9.1: `sha256sum pits.csv readings.csv | sha256sum` on these two files.
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("pits.csv"), "abc").unwrap();
        std::fs::write(folder.path().join("readings.csv"), "").unwrap();
        std::fs::write(folder.path().join("notes.txt"), "no part of the logbook").unwrap();
        assert_eq!(of(folder.path()).unwrap(), "393620bfb71b1dfc");
    }
}
