//! A logbook survives: killed writers leave the old file or the new one, and two writers lose nothing.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{run, soaklife};
use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};
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

/// Fifty writers, twenty rows each, at once: all thousand rows are there, once.
#[test]
fn fifty_writers_at_once_lose_nothing() {
    let (_folder, home) = logbook();
    std::thread::scope(|scope| {
        for writer in 0..50u32 {
            let home = &home;
            scope.spawn(move || {
                for reading in 0..20u32 {
                    let note = format!("{writer}-{reading}");
                    let depth = ["--depth-to-liquid", "41.5in", "--note", &note];
                    let output = run(&[&["log", home, "H-1", "--date", "2026-05-01"], &depth[..]].concat());
                    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
                }
            });
        }
    });
    let text = fs::read_to_string(format!("{home}/readings.csv")).unwrap();
    let mut rows: Vec<&str> = text.lines().skip(1).collect();
    rows.sort_unstable();
    let all = (0..50).flat_map(|writer| (0..20).map(move |reading| (writer, reading)));
    let mut expected: Vec<String> =
        all.map(|(writer, reading)| format!("H-1,2026-05-01,41.5,,,{writer}-{reading}")).collect();
    expected.sort_unstable();
    assert_eq!(rows, expected);
}

/// Whoever waits for a lock is told in the end, and nothing is changed.
#[test]
fn a_logbook_that_another_program_holds_is_told() {
    let (_folder, home) = logbook();
    let before = fs::read(format!("{home}/readings.csv")).unwrap();
    let lock = fs::File::create(format!("{home}/.logbook.lock")).unwrap();
    lock.lock().unwrap();
    let output = run(&["log", &home, "H-1", "--date", "2026-05-01", "--dry"]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.contains(".logbook.lock has been held by another program for 20 s"), "{told}");
    assert!(told.contains("nothing was written. Try again when it is done"), "{told}");
    assert_eq!(fs::read(format!("{home}/readings.csv")).unwrap(), before);
    drop(lock);
    let logged = run(&["log", &home, "H-1", "--date", "2026-05-01", "--dry"]);
    assert_eq!(logged.status.code(), Some(0), "{}", String::from_utf8_lossy(&logged.stderr));
}

/// A lock that can only be refused is told at once.
#[test]
fn a_folder_in_place_of_the_lock_is_told() {
    let (_folder, home) = logbook();
    let before = fs::read(format!("{home}/readings.csv")).unwrap();
    fs::create_dir(format!("{home}/.logbook.lock")).unwrap();
    let output = run(&["log", &home, "H-1", "--date", "2026-05-01", "--dry"]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.starts_with(&format!("{home}/.logbook.lock: cannot be written: ")), "{told}");
    assert!(told.contains("A folder has this name") && told.contains("; nothing was changed"), "{told}");
    assert_eq!(fs::read(format!("{home}/readings.csv")).unwrap(), before);
}

/// Begins a logbook: the demo, or one with a pit and in units of its own.
fn begin(home: &Path, writer: usize) -> Child {
    let id = format!("H-{writer}");
    let units = if writer.is_multiple_of(2) { "si" } else { "us" };
    let pit = ["--pit-id", &id, "--inlet-depth", "20in", "--bottom-depth", "140in", "--units", units];
    let mut command = soaklife();
    match writer {
        0 => command.arg("demo").arg(home),
        _ => command.arg("init").arg(home).args(pit),
    };
    command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

/// Every file in the folder is of the one who began it.
fn is_begun_by(home: &Path, writer: usize) {
    let text = |file: &str| fs::read_to_string(home.join(file)).unwrap();
    let (pit, unit, files) = match writer {
        0 => ("\nAF-01,".to_owned(), "_in", 8),
        _ => (format!("\nH-{writer},"), if writer.is_multiple_of(2) { "_cm" } else { "_in" }, 4),
    };
    assert!(text("pits.csv").contains(&pit), "{writer}: {:.300}", text("pits.csv"));
    for file in ["readings.csv", "datapackage.json"] {
        assert!(text(file).contains(&format!("depth_to_liquid{unit}")), "{writer}: {:.300}", text(file));
    }
    assert_eq!(fs::read_dir(home).unwrap().count(), files, "{writer}");
}

/// Of five that begin a logbook in one folder at once one does, and the others are told.
#[test]
fn a_logbook_is_begun_once() {
    let place = tempfile::tempdir().unwrap();
    for round in 0..40 {
        let home = place.path().join(format!("home-{round}"));
        if round % 2 == 1 {
            fs::create_dir(&home).unwrap();
        }
        // Each has its turn to come first.
        let writers = (0..5).map(|place| (place + round) % 5);
        let children: Vec<(usize, Child)> = writers.map(|writer| (writer, begin(&home, writer))).collect();
        let mut began = Vec::new();
        for (writer, child) in children {
            let output = child.wait_with_output().unwrap();
            let told = String::from_utf8_lossy(&output.stderr);
            match output.status.code() {
                Some(0) => began.push(writer),
                Some(2) => assert!(told.contains("is there already; nothing was written"), "{told}"),
                other => panic!("{other:?}: {told}"),
            }
        }
        assert_eq!(began.len(), 1, "round {round}: {began:?} began it");
        is_begun_by(&home, began[0]);
    }
}
