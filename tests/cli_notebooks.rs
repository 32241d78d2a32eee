//! The tables for notebooks are what the commands make of two logbooks, and their description is true.
//!
//! Run with `SNAPSHOTS=overwrite` to make every table again.
#![allow(clippy::unwrap_used, reason = "that is how a test fails")]

mod run;

use run::{fixtures, run, stdout};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// A logbook, the folder of its tables, and of which pits the bands are kept.
struct Source {
    folder: &'static str,
    logbook: &'static str,
    is_kept: fn(&str) -> bool,
}

/// The bands of a thousand pits would be larger than all other tables: every tenth pit stands for them.
const SOURCES: [Source; 2] = [
    Source { folder: "alder-fork", logbook: "fixtures/logbooks/alder-fork", is_kept: |_| true },
    Source {
        folder: "fleet",
        logbook: "notebooks-data/fleet/logbook",
        is_kept: |pit_id| pit_id.ends_with('0'),
    },
];

const TABLES: [&str; 5] = ["readings_long", "forecasts", "bands", "backtest", "budget"];

/// Committed tables stay small enough to be cloned without a thought, bytes.
const LARGEST: u64 = 3_000_000;

fn root() -> PathBuf {
    fixtures().join("..")
}

fn notebooks() -> PathBuf {
    root().join("notebooks-data")
}

/// What a verb makes of a logbook. Rows that cannot be used are no reason to stop: the fleet is messy.
fn told(verb: &str, source: &Source, further: &[&str]) -> String {
    let logbook = root().join(source.logbook);
    let output = run(&[&[verb, logbook.to_str().unwrap(), "--as-of", "2026-06-30"], further].concat());
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{verb}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    stdout(&output)
}

fn table(header: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header).unwrap();
    rows.for_each(|row| writer.write_record(row).unwrap());
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

/// A number to so many decimals; empty for none.
fn number(value: &Value, decimals: usize) -> String {
    value.as_f64().map_or(String::new(), |number| format!("{number:.decimals$}"))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

fn text(value: &Value) -> String {
    value.as_str().unwrap().to_owned()
}

/// One row a reading, with how it counts.
fn readings_long(document: &Value) -> String {
    let rows = list(&document["pits"]).iter().flat_map(|pit| {
        list(&pit["readings"]).iter().map(|reading| {
            let freeboard = number(&reading["freeboard"], 2);
            let (weight, verdict) = (number(&reading["weight"], 4), text(&reading["verdict"]));
            vec![
                text(&pit["pit_id"]),
                text(&reading["date"]),
                text(&reading["found"]),
                freeboard,
                weight,
                verdict,
            ]
        })
    });
    table(&["pit_id", "date", "found", "freeboard_in", "weight", "verdict"], rows)
}

/// One row a pit, horizon, kind and coverage.
fn bands(document: &Value, is_kept: fn(&str) -> bool) -> String {
    let mut rows = Vec::new();
    for pit in list(&document["pits"]).iter().filter(|pit| is_kept(pit["pit_id"].as_str().unwrap())) {
        for band in list(&pit["bands"]) {
            for range in list(&band["ranges"]) {
                for kind in ["confidence", "prediction"].into_iter().filter(|&kind| !range[kind].is_null()) {
                    let [lower, upper] = ["lower", "upper"].map(|end| number(&range[kind][end], 2));
                    let (years, coverage) = (number(&band["years"], 0), number(&range["coverage"], 2));
                    rows.push(vec![text(&pit["pit_id"]), years, kind.to_owned(), coverage, lower, upper]);
                }
            }
        }
    }
    table(&["pit_id", "years", "kind", "coverage", "lower_in", "upper_in"], rows.into_iter())
}

fn made(source: &Source) -> [String; TABLES.len()] {
    let document: Value = serde_json::from_str(&told("forecast", source, &["--format", "json"])).unwrap();
    [
        readings_long(&document),
        told("forecast", source, &["--format", "csv"]),
        bands(&document, source.is_kept),
        told("backtest", source, &["--format", "csv"]),
        told("budget", source, &["--by", "soil", "--format", "csv"]),
    ]
}

#[test]
fn every_table_is_what_the_commands_make_now() {
    let is_overwritten = std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite");
    for source in SOURCES {
        let folder = notebooks().join(source.folder);
        for (name, made) in TABLES.iter().zip(made(&source)) {
            let file = folder.join(format!("{name}.csv"));
            if is_overwritten {
                fs::write(&file, &made).unwrap();
            }
            let is_same = fs::read_to_string(&file).unwrap() == made;
            assert!(is_same, "{} is not what is made now: run with SNAPSHOTS=overwrite", file.display());
        }
    }
}

fn size_of(folder: &Path) -> u64 {
    let size = |entry: fs::DirEntry| {
        let path = entry.path();
        if path.is_dir() { size_of(&path) } else { entry.metadata().unwrap().len() }
    };
    fs::read_dir(folder).unwrap().map(|entry| size(entry.unwrap())).sum()
}

#[test]
fn all_of_it_is_small() {
    let size = size_of(&notebooks());
    assert!(size < LARGEST, "{size} bytes");
}

/// Type, unit and meaning of every column, in the order in which they stand.
#[test]
fn the_description_names_every_column_with_its_type_and_unit() {
    let package: Value =
        serde_json::from_str(&fs::read_to_string(notebooks().join("datapackage.json")).unwrap()).unwrap();
    let mut fields_of: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    let mut paths = BTreeSet::new();
    for resource in list(&package["resources"]) {
        let path = resource["path"].as_str().unwrap();
        paths.insert(path.to_owned());
        let fields = list(&resource["schema"]["fields"]);
        let header = fs::read_to_string(notebooks().join(path)).unwrap();
        let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
        assert_eq!(names.join(","), header.lines().next().unwrap(), "{path}");
        for field in fields {
            let name = field["name"].as_str().unwrap();
            assert!(field["description"].as_str().is_some_and(|meaning| meaning.len() > 8), "{path}: {name}");
            let is_number = matches!(field["type"].as_str().unwrap(), "number" | "integer");
            assert_eq!(field["unit"].is_string(), is_number, "{path}: {name} has a unit if it is a number");
            assert!(!name.ends_with("_in") || field["unit"] == "in", "{path}: {name}");
        }
        let missing_values = &resource["schema"]["missingValues"];
        assert_eq!(missing_values, &serde_json::json!([""]), "{path}");
        let of_table = path.split('/').next_back().unwrap();
        fields_of.entry(of_table).or_default().insert(resource["schema"]["fields"].to_string());
    }
    assert!(fields_of.values().all(|described| described.len() == 1), "both logbooks alike: {fields_of:?}");
    let expected =
        SOURCES.iter().flat_map(|source| TABLES.map(|name| format!("{}/{name}.csv", source.folder)));
    assert_eq!(paths, expected.collect());
}
