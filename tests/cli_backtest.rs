//! `soaklife backtest` end to end: on the Alder Fork logbook, and on logbooks whose replays can be counted by hand.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, run_in, stdout};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn backtest(further: &[&str]) -> String {
    let output = run(&[&["backtest", &alder_fork()], &AS_OF[..], further].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    stdout(&output)
}

fn json(further: &[&str]) -> Value {
    serde_json::from_str(&backtest(&[&["--format", "json"], further].concat())).unwrap()
}

/// A logbook of one pit, 30 in to the inlet and 210 in to the bottom, with yearly readings from a year on.
fn logbook(folder: &Path, first_year: i16, depths_in: &[f64]) {
    let rows = depths_in.iter().zip(first_year..).map(|(depth, year)| format!("P,{year}-05-10,{depth}\n"));
    let readings = rows.fold("pit_id,date,depth_to_liquid_in\n".to_owned(), |text, row| text + &row);
    fs::write(folder.join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nP,30,210\n").unwrap();
    fs::write(folder.join("readings.csv"), readings).unwrap();
}

fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn json_fits_its_published_schema() {
    let schema: Value = serde_json::from_str(&stdout(&run(&["backtest", "--json-schema"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for further in [&[][..], &["--units", "si"], &["--methods", "rank"], &["--against", "time"], &["AF-11"]] {
        let told = json(further);
        let faults: Vec<String> = validator.iter_errors(&told).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
    }
    let mut wrong = json(&["AF-01"]);
    wrong["methods"][0]["levels"][0]["ranges"][0]["share"] = Value::from(1.5);
    assert!(!validator.is_valid(&wrong), "the schema can refuse");
}

#[test]
fn scores_of_alder_fork_are_possible_and_agree_with_one_another() {
    let told = json(&["--methods", "line,rank"]);
    let names: Vec<&str> =
        told["methods"].as_array().unwrap().iter().map(|method| method["method"].as_str().unwrap()).collect();
    assert_eq!(names, ["line", "rank"]);
    assert!(told["replays"].as_u64().unwrap() > 150, "{told:#}");
    // AF-21 got another rim and AF-22 is another pit: their older readings are not replayed.
    assert_eq!(told["left_out"], Value::from(9));
    for method in told["methods"].as_array().unwrap() {
        for score in method["levels"].as_array().unwrap().iter().chain([&method["inlet"]]) {
            let count = |key: &str| score[key].as_u64().unwrap();
            assert!(count("answered") <= count("cases") && count("pits") <= 24, "{score:#}");
            assert!(score["crps"].as_f64().unwrap() <= score["error"].as_f64().unwrap() + 1e-3, "{score:#}");
            let ranges = score["ranges"].as_array().unwrap();
            let held: Vec<u64> = ranges.iter().map(|range| range["held"].as_u64().unwrap()).collect();
            assert!(held.windows(2).all(|pair| pair[0] <= pair[1]), "wider ranges hold more: {held:?}");
            for range in ranges.iter().filter(|range| range["judged"].as_u64() > Some(0)) {
                let share = |key: &str| range[key].as_f64().unwrap();
                assert!(share("share_lower") <= share("share") && share("share") <= share("share_upper"));
            }
        }
    }
    // The pits creep: any method must beat "the last level stays".
    assert!(told["methods"][0]["levels"][0]["skill_over_no_change"].as_f64().unwrap() > 0.2);
}

#[test]
fn csv_has_a_row_for_each_method_and_horizon() {
    let text = backtest(&["--methods", "line,rank", "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(
        reader.headers().unwrap().iter().take(4).collect::<Vec<_>>(),
        ["method", "predicted", "horizon", "pits"]
    );
    let rows: Vec<Vec<String>> =
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    let keys: BTreeSet<String> = rows.iter().map(|row| row[..3].join(" ").trim_end().to_owned()).collect();
    let expected = ["line", "rank"].iter().flat_map(|method| {
        ["level next", "level 1y", "level 2y", "level 5y", "inlet"].map(|what| format!("{method} {what}"))
    });
    assert_eq!((keys, rows.len()), (expected.collect(), 10));
}

#[test]
fn centimetres_are_the_same_scores() {
    let (us, si) = (json(&["--methods", "line"]), json(&["--methods", "line", "--units", "si"]));
    let (us, si) = (&us["methods"][0]["levels"][0], &si["methods"][0]["levels"][0]);
    let number = |score: &Value, key: &str| score[key].as_f64().unwrap();
    assert!((number(us, "error") * 2.54 - number(si, "error")).abs() < 0.003);
    assert_eq!(us["ranges"], si["ranges"]);
}

#[test]
fn it_is_told_in_plain_sentences() {
    let text = backtest(&["--methods", "line"]);
    for said in [
        "By a line (--method line)",
        "80 % ranges held",
        "by chance alone)",
        "less often than they claim",
        "The median was off by",
        "The inlet: after",
        "Replays of one pit share most of their readings",
    ] {
        assert!(unbroken(&text).contains(said), "{said:?} is missing in:\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert_eq!(text, backtest(&["--methods", "line"]), "the same twice");
}

/// Six readings 2 in apart, each May: replays at the third, fourth and fifth, each predicting the next within weeks.
#[test]
fn few_replays_are_said_to_be_few() {
    let folder = tempfile::tempdir().unwrap();
    logbook(folder.path(), 2020, &[100.0, 98.0, 96.1, 94.0, 91.9, 90.0]);
    let text =
        stdout(&run_in(folder.path(), &[&["backtest", ".", "--methods", "line"], &AS_OF[..]].concat()));
    let said = unbroken(&text);
    assert!(said.starts_with("How earlier forecasts would have done, as of 2026-06-30 3 replays on 1 pit, 2022-05-10 to 2024-05-10"), "{text}");
    assert!(said.contains("80 % ranges held 3 of 3 later readings (100 %; between 29 and 100 % by chance alone), too few to tell"), "{text}");
    assert!(said.contains("taking the last level for the next, by 2.0 in"), "{text}");
}

#[test]
fn what_comes_after_the_day_of_the_backtest_changes_nothing() {
    let (short, long) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let depths = [100.0, 98.0, 96.1, 94.0, 91.9, 90.0, 40.0, 30.0];
    logbook(short.path(), 2016, &depths[..6]);
    logbook(long.path(), 2016, &depths);
    let told = |folder: &Path| {
        stdout(&run_in(folder, &["backtest", ".", "--as-of", "2021-12-31", "--format", "csv"]))
    };
    assert_eq!(told(short.path()), told(long.path()));
}

#[test]
fn a_logbook_without_history_says_so() {
    let folder = tempfile::tempdir().unwrap();
    logbook(folder.path(), 2025, &[100.0, 98.0]);
    let output = run_in(folder.path(), &[&["backtest", "."], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(0));
    assert!(stdout(&output).contains("Nothing can be replayed yet"), "{}", stdout(&output));
}

#[test]
fn the_chart_is_the_same_bytes_twice_and_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for name in ["a.svg", "b.svg", "a.png"] {
        backtest(&["--chart", &file(name)]);
    }
    assert_eq!(fs::read(file("a.svg")).unwrap(), fs::read(file("b.svg")).unwrap());
    assert!(fs::read(file("a.png")).unwrap().starts_with(b"\x89PNG"));
    let svg = fs::read_to_string(file("a.svg")).unwrap();
    assert!(svg.contains("held as claimed") && svg.contains("alder-fork: did the ranges hold?"));
}

#[test]
fn usage_is_explained_and_problems_have_their_exit_code() {
    let folder = tempfile::tempdir().unwrap();
    let gif = folder.path().join("a.gif").to_str().unwrap().to_owned();
    let cases: [(&[&str], i32, &str); 4] = [
        (&["backtest", &alder_fork(), "AF-O1"], 2, "was AF-01 meant?"),
        (&["backtest", &alder_fork(), "--chart", &gif], 2, ".svg, .png or .pdf"),
        (&["backtest", &alder_fork(), "--methods", "curve"], 2, "possible values"),
        (&["backtest", "no-such-folder"], 3, "there is no such folder"),
    ];
    for (args, code, said) in cases {
        let output = run(args);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{args:?}: {told}");
        assert!(told.contains(said), "{args:?}: {told}");
    }
    logbook(folder.path(), 2020, &[100.0, 98.0, 96.1, 94.0, 300.0]);
    let output = run_in(folder.path(), &[&["backtest", "."], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(1), "a reading below the bottom");
    assert!(String::from_utf8_lossy(&output.stderr).contains("soaklife check"));
    assert!(stdout(&output).contains("1 replay on 1 pit"), "{}", stdout(&output));
}
