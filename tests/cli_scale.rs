//! Files that no sane export writes: they are told in a few lines, within a memory that does not grow with them.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::stdout;
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};

const PITS: &str = "pit_id,inlet_depth_in,bottom_depth_in\n";
const PIT: &str = "P-1,30,210\n";
const READINGS: &str = "pit_id,date,depth_to_liquid_in,state,condition,note\n";
/// Memory that the program may ask for, KiB: code, stacks and all. Kept whole, what is wrong with most of these takes more.
const ENOUGH_KIB: u32 = 300_000;

/// A file: its head, and a piece so many times.
fn write(folder: &Path, name: &str, head: &str, piece: &[u8], times: usize) {
    let mut file = BufWriter::new(File::create(folder.join(name)).unwrap());
    file.write_all(head.as_bytes()).unwrap();
    for _ in 0..times {
        file.write_all(piece).unwrap();
    }
    file.flush().unwrap();
}

/// A logbook of one pit with such readings.
fn readings(head: &str, piece: &[u8], times: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "pits.csv", PITS, PIT.as_bytes(), 1);
    write(folder.path(), "readings.csv", head, piece, times);
    folder
}

/// What a verb says of a logbook when it cannot have more memory.
fn cramped(verb: &str, folder: &Path, more: &[&str]) -> Output {
    let mut command = Command::new("sh");
    let script = format!("ulimit -v {ENOUGH_KIB}; exec \"$0\" \"$@\"");
    command.args(["-c", &script, env!("CARGO_BIN_EXE_soaklife"), verb]).arg(folder).args(more);
    command.args(["--as-of", "2026-06-30"]);
    // Else every thread reserves addresses that it never uses.
    command.env("MALLOC_ARENA_MAX", "1").stdin(Stdio::null()).output().unwrap()
}

/// The same of every way to read it: pit by pit, and a named pit. The last lines of `check` are returned.
fn survives(folder: &Path, exit: i32) -> String {
    let checked = cramped("check", folder, &[]);
    for output in [
        &checked,
        &cramped("forecast", folder, &["--format", "csv"]),
        &cramped("forecast", folder, &["--format", "csv", "P-1"]),
    ] {
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(exit), "{} {told}", output.status);
        assert!(told.len() < 4_000, "{told}");
    }
    let listed = stdout(&checked);
    let lines: Vec<&str> = listed.lines().collect();
    let last = lines.get(lines.len().saturating_sub(4)..).unwrap_or_default().join("\n");
    last + &String::from_utf8_lossy(&checked.stderr)
}

#[test]
fn a_field_of_a_gigabyte() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "pits.csv", PITS, PIT.as_bytes(), 1);
    write(folder.path(), "readings.csv", READINGS, b"", 0);
    // A hole in the file: a gigabyte of NUL that no disk has to hold.
    let file = File::options().append(true).open(folder.path().join("readings.csv")).unwrap();
    file.set_len(1 << 30).unwrap();
    let told = survives(folder.path(), 1);
    assert!(told.contains("readings.csv:2: error: no line end for 16 MB"), "{told}");
}

#[test]
fn a_header_without_an_end() {
    let book = readings("", &b"x,".repeat(1 << 19), 64);
    let told = survives(book.path(), 1);
    assert!(told.contains("readings.csv:1: error: no line end for 16 MB"), "{told}");
}

#[test]
fn a_quote_that_is_never_closed() {
    let book = readings(&format!("{READINGS}\""), &b"x\n".repeat(1 << 19), 64);
    let told = survives(book.path(), 1);
    assert!(told.contains("readings.csv:2"), "{told}");
}

#[test]
fn a_hundred_thousand_columns_and_a_row_of_them() {
    let mut header = READINGS.trim_end().to_owned();
    (0..100_000).for_each(|column| header.push_str(&format!(",c{column}")));
    let row = format!("P-1,2026-05-01,100,,,{}\n", ",".repeat(100_000));
    let book = readings(&format!("{header}\n{row}"), b"", 0);
    survives(book.path(), 0);
}

#[test]
fn six_hundred_thousand_rows_of_one_pit_each_with_an_error() {
    let book = readings(READINGS, &b"P-1,2026-13-45,deep,,,\n".repeat(10_000), 60);
    let told = survives(book.path(), 1);
    // Both the date and the depth of each row.
    assert!(told.contains("1,195,000 more problems"), "{told}");
}

#[test]
fn half_a_million_pits_that_are_not_there() {
    let mut rows = String::new();
    (0..500_000).for_each(|pit| rows.push_str(&format!("Q-{pit},2026-05-01,40,,,\n")));
    let book = readings(&format!("{READINGS}{rows}"), b"", 0);
    let told = survives(book.path(), 1);
    assert!(told.contains("495,000 more problems"), "{told}");
}

#[test]
fn a_hundred_thousand_pits_that_cannot_be_used() {
    let mut rows = String::from("P-1,deep,210\n");
    (0..100_000).for_each(|pit| rows.push_str(&format!("Q-{pit},deep,deeper\n")));
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "pits.csv", &format!("{PITS}{rows}"), b"", 0);
    write(folder.path(), "readings.csv", READINGS, b"", 0);
    let told = survives(folder.path(), 1);
    assert!(told.contains("195,001 more problems"), "{told}");
}

#[test]
fn five_million_blank_lines() {
    let book = readings(READINGS, &b"\n".repeat(1 << 20), 5);
    survives(book.path(), 0);
}
