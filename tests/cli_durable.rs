//! A logbook survives: killed writers leave the old file or the new one, and two writers lose nothing.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{run, soaklife};
use std::fs;
use std::process::Stdio;
use std::time::Duration;

fn logbook() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("home").to_str().unwrap().to_owned();
    let begun = run(&["init", &home, "--pit-id", "H-1", "--inlet-depth", "20in", "--bottom-depth", "140in"]);
    assert_eq!(begun.status.code(), Some(0));
    (folder, home)
}

/// A row that `log` writes for a depth of so many inches.
fn row(depth: u32) -> String {
    format!("H-1,2026-05-01,{depth},,,")
}

/// Kill -9 at 200 moments between the start and the end of a run: the file is always a header and whole rows.
#[test]
fn a_killed_writer_leaves_a_whole_file() {
    let (_folder, home) = logbook();
    let file = format!("{home}/readings.csv");
    let header = fs::read_to_string(&file).unwrap();
    let usual = {
        let start = std::time::Instant::now();
        run(&["log", &home, "H-1", "--date", "2026-05-01", "--depth-to-liquid", "100in"]);
        start.elapsed()
    };
    let (mut old_left, mut new_left) = (0, 0);
    for turn in 0..200u32 {
        let before = fs::read_to_string(&file).unwrap();
        let depth = 30 + turn % 100;
        let mut child = soaklife()
            .args(["log", &home, "H-1", "--date", "2026-05-01", "--depth-to-liquid", &format!("{depth}in")])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(usual.mul_f64(f64::from(turn) / 160.0).min(Duration::from_millis(500)));
        child.kill().unwrap();
        child.wait().unwrap();
        let after = fs::read_to_string(&file).unwrap();
        if after == before {
            old_left += 1;
        } else {
            assert_eq!(after, format!("{before}{}\n", row(depth)), "turn {turn}");
            new_left += 1;
        }
        if turn % 20 == 19 {
            // Small again, so that every run takes the same time.
            fs::write(&file, &header).unwrap();
        }
    }
    assert!(
        old_left > 0 && new_left > 0,
        "{old_left} old, {new_left} new: the kills came too early or too late"
    );
    let logged = run(&["log", &home, "H-1", "--date", "2026-05-02", "--dry"]);
    assert_eq!(logged.status.code(), Some(0), "a killed writer must not leave the logbook locked");
    let unfinished = fs::read_dir(&home).unwrap().filter(|entry| {
        entry.as_ref().is_ok_and(|entry| entry.file_name().to_string_lossy().ends_with(".tmp"))
    });
    assert_eq!(unfinished.count(), 0, "the next writer clears away what a killed one left");
}

/// Eight writers, ten rows each, at once: all eighty rows are there, once.
#[test]
fn writers_at_once_lose_nothing() {
    let (_folder, home) = logbook();
    std::thread::scope(|scope| {
        for writer in 0..8u32 {
            let home = &home;
            scope.spawn(move || {
                for reading in 0..10u32 {
                    let depth = format!("{}in", 30 + writer * 10 + reading);
                    let output =
                        run(&["log", home, "H-1", "--date", "2026-05-01", "--depth-to-liquid", &depth]);
                    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
                }
            });
        }
    });
    let text = fs::read_to_string(format!("{home}/readings.csv")).unwrap();
    let mut rows: Vec<&str> = text.lines().skip(1).collect();
    rows.sort_unstable();
    let mut expected: Vec<String> = (30..110).map(row).collect();
    expected.sort_unstable();
    assert_eq!(rows, expected);
}
