//! A folder of thousands of pits, messy as real ones are: every fault told with its line, and the rest forecast.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod many_pits;
mod run;

use many_pits::{rows, shuffled, write};
use run::{run, soaklife, stdout};
use std::fs;
use std::process::{Output, Stdio};

const PITS: usize = 3000;
const DAY: &str = "2026-06-30";

fn forecast(folder: &str, further: &[&str]) -> Output {
    run(&[&["forecast", folder, "--as-of", DAY, "--method", "line"], further].concat())
}

#[test]
fn pits_stand_in_the_order_of_pits_csv() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &shuffled(&pits), &readings);
    let told = stdout(&forecast(&folder, &["--format", "csv"]));
    let ids = |text: &str| text.lines().map(|line| line[..5].to_owned()).collect::<Vec<_>>();
    let asked: Vec<String> = shuffled(&pits)
        .iter()
        .filter(|row| row.matches(',').count() > 1)
        .map(|row| row[..5].to_owned())
        .collect();
    assert_eq!(ids(told.split_once('\n').unwrap().1), asked);
}

#[test]
fn a_broken_pit_a_broken_row_and_an_unknown_pit_are_told_and_the_rest_is_forecast() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &pits, &readings);
    let checked = run(&["check", &folder, "--as-of", DAY, "--threads", "2"]);
    assert_eq!(checked.status.code(), Some(1));
    let told = stdout(&checked);
    // P0017 stands in line 19; the first broken readings are found by their text.
    assert!(
        told.contains("pits.csv:19:3: error: bottom_depth_in 40 is not below inlet_depth_in 190"),
        "{told:.300}"
    );
    assert!(told.contains("pits.csv:20: error: 2 fields where the header has 8"), "{told:.300}");
    let file = fs::read_to_string(home.path().join("readings.csv")).unwrap();
    let line_of = |what: &str| 1 + file.lines().position(|line| line.contains(what)).unwrap();
    assert!(
        told.contains(&format!("readings.csv:{}:3: error: depth_to_liquid_in \"88 in\"", line_of("88 in")))
    );
    let unknown = file.lines().find(|line| line.as_bytes()[5] == b'x').unwrap();
    let line = line_of(unknown);
    assert!(
        told.contains(&format!(
            "readings.csv:{line}:1: error: pit_id \"{}\" is not in pits.csv",
            &unknown[..6]
        ))
    );
    let shuffled_folder = write(&home.path().join("mixed"), &pits, &shuffled(&readings));
    let mixed = stdout(&run(&["check", &shuffled_folder, "--as-of", DAY]));
    assert_eq!(mixed.lines().count(), told.lines().count());

    let csv = stdout(&forecast(&folder, &["--format", "csv"]));
    assert_eq!(csv.lines().count(), 1 + PITS - PITS / 500);
    let broken = csv.lines().find(|line| line.starts_with("P0017,")).unwrap();
    assert!(broken.contains("is not below inlet_depth_in"), "{broken}");
}

#[test]
fn many_pits_are_told_in_bounded_text() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &pits, &readings);
    let told = stdout(&forecast(&folder, &[]));
    assert!(told.contains(" more; --format csv has all."), "{told:.200}");
    assert!(told.lines().count() < 2100, "{}", told.lines().count());
}

#[test]
fn a_reader_that_stops_ends_the_run_quietly() {
    use std::io::Read as _;
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &pits, &readings);
    let mut child = soaklife()
        .args(["forecast", &folder, "--as-of", DAY, "--format", "csv", "--threads", "2"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut first = [0; 100];
    child.stdout.take().unwrap().read_exact(&mut first).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

/// A full disk is told, ends with 3 and leaves the old file.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_told() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &pits, &readings);
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = soaklife()
        .args(["forecast", &folder, "--as-of", DAY, "--method", "line", "--format", "csv"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be written"));
}

/// A writer that is killed leaves no half of a file under the name asked for, nor (on Linux) under any other.
#[test]
#[cfg(unix)]
fn a_killed_run_leaves_the_old_file() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let folder = write(home.path(), &pits, &readings);
    let file = home.path().join("forecast.csv");
    fs::write(&file, "old").unwrap();
    for milliseconds in [1, 5, 20, 60] {
        let mut child = soaklife()
            .args(["forecast", &folder, "--as-of", DAY, "--format", "csv", "-o", file.to_str().unwrap()])
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(milliseconds));
        let is_over = child.try_wait().unwrap().is_some();
        child.kill().unwrap();
        child.wait().unwrap();
        assert!(is_over || fs::read_to_string(&file).unwrap() == "old", "{milliseconds} ms");
    }
    if cfg!(target_os = "linux") {
        let mut left: Vec<_> =
            fs::read_dir(home.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
        left.sort();
        assert_eq!(left, ["forecast.csv", "pits.csv", "readings.csv"]);
    }
}
