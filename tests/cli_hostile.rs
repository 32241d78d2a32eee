//! Broken logbooks: each problem is told with file, line and column, nothing panics, and the rest is done.
//!
//! What `check` says of each folder in `fixtures/hostile` is kept beside it as `expected.txt`; run with
//! `SNAPSHOTS=overwrite` to rewrite them, then read every one.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{fixtures, run, soaklife};
use snapbox::assert_data_eq;
use std::fs;
use std::path::Path;
use std::process::Stdio;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn hostile_folders() -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(fixtures().join("hostile")).unwrap().map(|entry| entry.unwrap().path());
    let mut folders: Vec<_> = entries.filter(|path| path.is_dir()).collect();
    folders.sort();
    folders
}

/// Exit code, stdout and stderr of a check, with the paths of this machine and the day of the test taken out.
fn told(folder: &Path) -> String {
    let output = run(&["check", folder.to_str().unwrap(), AS_OF[0], AS_OF[1]]);
    let here = format!("{}/", fixtures().join("hostile").display());
    let told = format!(
        "exit code {}\n{}{}",
        output.status.code().unwrap_or(-1),
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    let day = told
        .find("later than today (")
        .and_then(|at| told.get(at + 18..at + 28))
        .unwrap_or("today")
        .to_owned();
    told.replace(&here, "").replace(&day, "today")
}

#[test]
fn every_hostile_logbook_is_told_as_expected() {
    let folders = hostile_folders();
    assert!(folders.len() >= 40, "{} folders", folders.len());
    for folder in folders {
        let expected = snapbox::Data::read_from(&folder.join("expected.txt"), None);
        assert_data_eq!(told(&folder), expected.raw());
    }
}

/// Whatever the logbook, its JSON keeps to the published schema, pits left out included.
#[test]
fn a_forecast_of_a_hostile_logbook_never_panics() {
    let schema = serde_json::from_slice(&run(&["forecast", "--json-schema"]).stdout).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for folder in hostile_folders() {
        for format in ["text", "csv", "json"] {
            let output =
                run(&[&["forecast", folder.to_str().unwrap(), "--format", format], &AS_OF[..]].concat());
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert!(matches!(output.status.code(), Some(0 | 1 | 3)), "{}: {said}", folder.display());
            assert!(!said.contains("panicked"), "{}: {said}", folder.display());
            if format == "json" && output.status.code() != Some(3) {
                let told = serde_json::from_slice(&output.stdout).unwrap();
                let faults: Vec<String> =
                    validator.iter_errors(&told).map(|fault| fault.to_string()).collect();
                assert!(faults.is_empty(), "{}: {faults:?}", folder.display());
            }
        }
    }
}

/// The table says why a pit was left out, not only that it was.
#[test]
fn the_problem_of_a_pit_left_out_is_told() {
    let cases = [
        ("inlet-below-bottom", "N-2", "bottom_depth_in 42 is not below inlet_depth_in 190"),
        ("inlet-depth-missing", "N-2", "inlet_depth_in is empty"),
        ("every-pit-bad", "N-1", "bottom_depth_in \"NaN\" is not a finite number"),
    ];
    for (name, pit, why) in cases {
        let folder = fixtures().join("hostile").join(name);
        let output = run(&[&["forecast", folder.to_str().unwrap(), "--format", "csv"], &AS_OF[..]].concat());
        let mut reader = csv::Reader::from_reader(output.stdout.as_slice());
        let problem = reader.headers().unwrap().iter().position(|column| column == "problem").unwrap();
        let row = reader.records().map(Result::unwrap).find(|row| &row[0] == pit).unwrap();
        assert!(row[problem].starts_with(why), "{name}: {}", &row[problem]);
    }
}

/// The sound pit of each folder is forecast whatever its neighbour looks like.
#[test]
fn a_broken_pit_does_not_stop_the_others() {
    let cases = [
        ("inlet-below-bottom", "N-1"),
        ("inlet-depth-missing", "N-1"),
        ("many-problems", "N-2"),
        ("problems-in-every-file", "N-1"),
        ("windows-1252", "N-2"),
    ];
    for (name, pit) in cases {
        let folder = fixtures().join("hostile").join(name);
        let output = run(&[&["forecast", folder.to_str().unwrap(), "--format", "csv"], &AS_OF[..]].concat());
        let table = String::from_utf8(output.stdout).unwrap();
        let row = table.lines().find(|line| line.starts_with(&format!("{pit},"))).unwrap();
        assert!(row.contains(",few readings,") || row.contains(",readings,"), "{name}: {row}");
    }
}

#[cfg(unix)]
mod only_a_test_can_make {
    use super::*;
    use std::os::unix::fs::symlink;

    const PITS: &str = "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\n";

    fn logbook() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("pits.csv"), PITS).unwrap();
        folder
    }

    fn assert_unreadable(folder: &Path, said: &str) {
        let output = run(&["check", folder.to_str().unwrap()]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(3), "{told}");
        assert!(told.contains(said), "{told}");
    }

    #[test]
    fn a_link_to_itself() {
        let folder = logbook();
        symlink("readings.csv", folder.path().join("readings.csv")).unwrap();
        assert_unreadable(folder.path(), "cannot be read");
    }

    #[test]
    fn a_link_that_leads_nowhere() {
        let folder = logbook();
        symlink("gone.csv", folder.path().join("readings.csv")).unwrap();
        assert_unreadable(folder.path(), "a link that leads nowhere");
    }

    #[test]
    fn a_folder_in_place_of_a_file() {
        let folder = logbook();
        fs::create_dir(folder.path().join("readings.csv")).unwrap();
        assert_unreadable(folder.path(), "a folder where a file must be");
    }

    #[test]
    fn a_device_without_end() {
        let folder = logbook();
        symlink("/dev/zero", folder.path().join("readings.csv")).unwrap();
        assert_unreadable(folder.path(), "no ordinary file");
    }

    #[test]
    fn a_pipe_that_nobody_writes_to() {
        let folder = logbook();
        let made =
            std::process::Command::new("mkfifo").arg(folder.path().join("readings.csv")).status().unwrap();
        assert!(made.success());
        assert_unreadable(folder.path(), "no ordinary file");
    }

    #[test]
    fn a_file_in_place_of_the_folder() {
        let folder = logbook();
        assert_unreadable(&folder.path().join("pits.csv"), "a logbook is a folder");
    }

    /// Root reads every file, so for root this shows only that the good case is not refused.
    #[test]
    fn a_file_that_may_not_be_read() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = logbook();
        let file = folder.path().join("readings.csv");
        fs::write(&file, "pit_id,date,depth_to_liquid_in\n").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o000)).unwrap();
        if fs::File::open(&file).is_ok() {
            let output = run(&["check", folder.path().to_str().unwrap()]);
            assert!(matches!(output.status.code(), Some(0 | 1)));
        } else {
            assert_unreadable(folder.path(), "cannot be read");
        }
    }

    #[test]
    fn an_optional_file_that_is_a_folder_is_a_problem_and_no_more() {
        let folder = logbook();
        fs::write(folder.path().join("readings.csv"), "pit_id,date,depth_to_liquid_in\n").unwrap();
        fs::create_dir(folder.path().join("events.csv")).unwrap();
        let output = run(&["check", folder.path().to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(1));
        assert!(
            String::from_utf8_lossy(&output.stdout).contains("events.csv: error: the file cannot be read")
        );
    }
}

/// Whoever reads the output may stop at any line.
#[cfg(unix)]
#[test]
fn a_reader_that_stops_early_is_no_error() {
    let folder = fixtures().join("hostile/two-thousand-bad-rows");
    for verb in ["check", "forecast"] {
        let mut child = soaklife()
            .args([verb, folder.to_str().unwrap(), AS_OF[0], AS_OF[1]])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!((output.status.code(), said.as_str()), (Some(0), ""), "{verb}");
    }
}
