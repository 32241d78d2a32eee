//! A folder of thousands of pits, messy as real ones are: the same bytes on any number of threads and in any order of rows,
//! every fault told with its line, and the rest forecast.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{run, soaklife, stdout};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Output, Stdio};

const PITS: usize = 3000;
const DAY: &str = "2026-06-30";

/// Rows of `pits.csv` and `readings.csv` without their headers; now and then one is broken.
fn rows() -> (Vec<String>, Vec<String>) {
    let (mut pits, mut readings) = (Vec::new(), Vec::new());
    for pit in 0..PITS {
        let id = format!("P{pit:04}");
        pits.push(match pit % 500 {
            17 => format!("{id},190,40,6,4,3,"), // the bottom above the inlet
            18 => format!("{id},38"),
            _ => format!("{id},38,182,6,{},3,\"Lot {pit}, upper road\"", 1 + pit % 6),
        });
        for year in 0..(pit * 7) % 9 {
            let depth = 150 - 9 * year + (pit * 31 + year * 17) % 7;
            readings.push(match (pit + year) % 211 {
                5 => format!("{id},{}-05-14,88 in,", 2016 + year),
                6 => format!("{id}x,{}-05-14,{depth},", 2016 + year),
                7 => format!("{id},{}-05-14,{depth},\"two\nlines\"", 2016 + year),
                _ => format!("{id},{}-05-14,{depth}.5,", 2016 + year),
            });
        }
    }
    (pits, readings)
}

fn write(folder: &Path, pits: &[String], readings: &[String]) -> String {
    let text = |header: &str, rows: &[String]| {
        rows.iter().fold(format!("{header}\n"), |mut text, row| {
            let _ = writeln!(text, "{row}");
            text
        })
    };
    fs::create_dir_all(folder).unwrap();
    let header = "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,occupants,bedrooms,label";
    fs::write(folder.join("pits.csv"), text(header, pits)).unwrap();
    fs::write(folder.join("readings.csv"), text("pit_id,date,depth_to_liquid_in,note", readings)).unwrap();
    folder.to_str().unwrap().to_owned()
}

fn forecast(folder: &str, further: &[&str]) -> Output {
    run(&[&["forecast", folder, "--as-of", DAY, "--method", "line"], further].concat())
}

/// A pseudo-random order that is the same on every run.
fn shuffled(rows: &[String]) -> Vec<String> {
    let mut keyed: Vec<(u64, &String)> = rows
        .iter()
        .enumerate()
        .map(|(place, row)| ((place as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29), row))
        .collect();
    keyed.sort();
    keyed.into_iter().map(|(_, row)| row.clone()).collect()
}

#[test]
fn any_number_of_threads_and_any_order_of_readings_give_the_same_bytes() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows();
    let sorted = write(&home.path().join("sorted"), &pits, &readings);
    let mixed = write(&home.path().join("mixed"), &pits, &shuffled(&readings));
    for format in ["csv", "json", "text"] {
        let one = forecast(&sorted, &["--format", format, "--threads", "1"]);
        assert_eq!(one.status.code(), Some(1), "{}", String::from_utf8_lossy(&one.stderr));
        for (folder, threads) in [(&sorted, "2"), (&sorted, "5"), (&mixed, "1"), (&mixed, "3")] {
            let other = forecast(folder, &["--format", format, "--threads", threads]);
            assert!(other.stdout == one.stdout, "{format} of {folder} with {threads} threads");
        }
        let file = home.path().join(format!("told.{format}"));
        for folder in [&sorted, &mixed] {
            forecast(folder, &["--format", format, "-o", file.to_str().unwrap()]);
            assert!(fs::read(&file).unwrap() == one.stdout, "{format} of {folder} in a file");
        }
    }
    let json: serde_json::Value =
        serde_json::from_slice(&forecast(&mixed, &["--format", "json"]).stdout).unwrap();
    assert_eq!(json["pits"].as_array().map(Vec::len), Some(PITS - PITS / 500));
}

/// The same of the verbs that add up: sums of floating numbers depend on their order.
#[test]
fn a_budget_and_a_backtest_are_the_same_bytes_however_many_threads_and_in_any_order() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows();
    let sorted = write(&home.path().join("sorted"), &pits, &readings);
    let mixed = write(&home.path().join("mixed"), &pits, &shuffled(&readings));
    let questions: [&[&str]; 3] = [
        &["budget", "--by", "decade", "--visits", "300", "--format", "json"],
        &["budget", "--by", "soil", "--format", "csv"],
        &["backtest", "--methods", "line", "--format", "json"],
    ];
    for question in questions {
        let ask = |folder: &str, threads: &str| {
            run(&[question, &[folder, "--as-of", DAY, "--threads", threads]].concat())
        };
        let one = ask(&sorted, "1");
        assert_eq!(one.status.code(), Some(1), "{question:?}: broken rows are told");
        assert!(one.stdout.len() > 1000);
        for (folder, threads) in [(&sorted, "3"), (&mixed, "1"), (&mixed, "4")] {
            assert!(
                ask(folder, threads).stdout == one.stdout,
                "{question:?} of {folder} with {threads} threads"
            );
        }
    }
}

#[test]
fn pits_stand_in_the_order_of_pits_csv() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows();
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
    let (pits, readings) = rows();
    let folder = write(home.path(), &pits, &readings);
    let checked = run(&["check", &folder, "--as-of", DAY, "--threads", "2"]);
    assert_eq!(checked.status.code(), Some(1));
    let told = stdout(&checked);
    // P0017 stands in line 19; the first broken readings are found by their text.
    assert!(
        told.contains("pits.csv:19:3: error: bottom_depth_in 40 is not below inlet_depth_in 190"),
        "{told:.300}"
    );
    assert!(told.contains("pits.csv:20: error: 2 fields where the header has 7"), "{told:.300}");
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
    let (pits, readings) = rows();
    let folder = write(home.path(), &pits, &readings);
    let told = stdout(&forecast(&folder, &[]));
    assert!(told.contains(" more; --format csv has all."), "{told:.200}");
    assert!(told.lines().count() < 2100, "{}", told.lines().count());
}

#[test]
fn a_reader_that_stops_ends_the_run_quietly() {
    use std::io::Read as _;
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows();
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
    let (pits, readings) = rows();
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
    let (pits, readings) = rows();
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
