//! What if another household moved in: the real binary on the Alder Fork logbook and on one of its own.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, run_in, stdout};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::process::Output;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn forecast(further: &[&str]) -> Output {
    run(&[&["forecast", &alder_fork()], further, &AS_OF[..]].concat())
}

fn told(further: &[&str]) -> String {
    let output = forecast(further);
    assert_eq!(output.status.code(), Some(0), "{further:?}: {}", stderr(&output));
    stdout(&output)
}

/// A text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// The one row of a table, by the names of its columns.
fn row(csv: &str) -> BTreeMap<String, String> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 1);
    header.iter().map(str::to_owned).zip(rows[0].iter().map(str::to_owned)).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column} is {:?}", row[column]))
}

#[test]
fn one_pit_is_told_side_by_side() {
    let text = told(&["AF-02", "--occupants", "6", "--from", "2027-06"]);
    let flat = flat(&text);
    for said in [
        "6 persons at 58.6 gal/person/day, from 2027-06 on: 78 % of design instead of 39 %.",
        "When it begins the level rises by 0 to",
        "the pit ages 2.0 times as fast",
        "today level stays follows in full in between",
        "years to the inlet, median",
        "80 % range",
        "chance within 1 year",
        "10 years",
        "How far the level follows the flow is not known",
        "Never enter or lean into a pit",
    ] {
        assert!(flat.contains(said), "{said} is missing in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    // Today's forecast stands above it as without the question.
    let today = told(&["AF-02"]);
    let sentence = today.split("\n\n").nth(1).unwrap();
    assert!(text.contains(sentence), "{text}");
}

#[test]
fn flows_are_said_as_people_say_them() {
    let of = |flow: &str| row(&told(&["AF-02", "--flow", flow, "--format", "csv"]));
    let (gallons, litres, cubic) = (of("420gpd"), of("1590lpd"), of("1.59m3d"));
    assert_eq!(gallons["what_if_load_ratio"], "0.933");
    for other in [&litres, &cubic] {
        let difference = number(&gallons, "what_if_years_p50") - number(other, "what_if_years_p50");
        assert!(difference.abs() < 0.05, "{difference}");
    }
    let thrifty = row(&told(&["AF-02", "--flow", "420gpd", "--reduce", "25%", "--format", "csv"]));
    assert_eq!(thrifty["what_if_load_ratio"], "0.700");
    assert_eq!(thrifty["what_if"], "420 gal/day as metered, less 25 %");
    // Three bedrooms are sold to six people.
    let sold = row(&told(&["AF-02", "--sale", "--format", "csv"]));
    let six = row(&told(&["AF-02", "--occupants", "6", "--format", "csv"]));
    assert_eq!(sold["what_if_years_p50"], six["what_if_years_p50"]);
    assert_eq!(sold["what_if"], "sold to a full household, 6 persons at 58.6 gal/person/day");
}

/// The new columns come after all others, so that whoever reads the table by its first columns or by names reads on.
#[test]
fn the_table_keeps_its_columns_and_gets_more() {
    let plain = told(&["AF-02", "--format", "csv"]);
    let asked = told(&["AF-02", "--occupants", "6", "--format", "csv"]);
    for (plain, asked) in plain.lines().zip(asked.lines()) {
        assert!(asked.starts_with(plain), "{asked}");
    }
    let row = row(&asked);
    let of = |prefix: &str, column: &str| number(&row, &format!("{prefix}{column}"));
    for years in [1, 2, 5, 10] {
        let chance = |prefix: &str| of(prefix, &format!("chance_{years}y"));
        let (stays, follows) = (chance("what_if_level_stays_"), chance("what_if_level_follows_"));
        assert!(chance("") <= stays && stays <= chance("what_if_") && chance("what_if_") <= follows);
    }
    assert!(of("what_if_", "years_p50") < of("", "years_p50"));
    assert_eq!((row["what_if_level_stays_step_in"].as_str(), row["what_if_problem"].as_str()), ("0.00", ""));
}

#[test]
fn todays_household_changes_nothing() {
    let asked = row(&told(&["AF-02", "--occupants", "3", "--format", "csv"]));
    for (name, value) in &asked {
        if let Some(today) = name.strip_prefix("what_if_").and_then(|name| asked.get(name)) {
            assert!(name == "what_if_problem" || value == today, "{name}: {value} {today}");
        }
    }
    let text = told(&["AF-02", "--occupants", "3"]);
    assert!(flat(&text).contains("that is what the house uses today"), "{text}");
    let over = told(&["AF-02", "--occupants", "6", "--from", "2020", "--until", "2021"]);
    assert!(flat(&over).contains("it is over before the day of the forecast"), "{over}");
    let past = told(&["AF-02", "--occupants", "6", "--from", "2020"]);
    assert!(flat(&past).contains("It counts from the day of the forecast"), "{past}");
}

#[test]
fn json_fits_its_published_schema() {
    let schema: Value = serde_json::from_str(&stdout(&run(&["forecast", "--json-schema"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for further in [
        &["--occupants", "6", "--from", "2027-06"][..],
        &["--vacant", "--until", "2030", "--units", "si"],
        &["--reduce", "20%", "--method", "line"],
        &["--occupants", "6", "--method", "rank", "--against", "time"],
        &["--sale", "--coverage", "0.5"],
    ] {
        let pits = ["AF-01", "AF-02", "AF-04", "AF-05", "AF-08", "AF-11", "AF-12", "--format", "json"];
        let document: Value = serde_json::from_str(&stdout(&forecast(&[&pits, further].concat()))).unwrap();
        let faults: Vec<String> = validator.iter_errors(&document).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{further:?} {faults:?}");
        let asked = document["pits"].as_array().unwrap().iter().filter(|pit| pit["what_if"].is_object());
        assert!(asked.count() >= 3, "{further:?}");
    }
    let text = stdout(&forecast(&["AF-02", "--occupants", "6", "--format", "json"]));
    let mut document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(document["pits"][0]["what_if"]["ends"][1]["share_followed"], 1.0);
    document["pits"][0]["what_if"]["ends"][1]["share_followed"] = Value::from(2.0);
    assert!(!validator.is_valid(&document), "the schema can refuse");
    let plain: Value = serde_json::from_str(&told(&["AF-02", "--format", "json"])).unwrap();
    assert!(plain["pits"][0].get("what_if").is_none());
}

#[test]
fn several_pits_stand_in_one_table() {
    let text = told(&["AF-01", "AF-02", "AF-11", "--sale"]);
    assert!(
        text.contains("What if: sold to a full household, 2 persons a bedroom from 2026-06-30 on"),
        "{text}"
    );
    for (id, load) in [("AF-01", "52 to 78 %"), ("AF-02", "39 to 78 %")] {
        assert!(text.lines().any(|line| line.starts_with(id) && line.contains(load)), "{text}");
    }
    assert!(text.contains("no substitute for an inspection"));
}

#[test]
fn a_line_ages_and_takes_no_step() {
    let text = told(&["AF-02", "--occupants", "6", "--method", "line"]);
    assert!(flat(&text).contains("This method knows no step of the level"), "{text}");
    let asked = row(&told(&["AF-02", "--occupants", "6", "--method", "line", "--format", "csv"]));
    // Twice the people, half the years.
    assert!((number(&asked, "what_if_years_p50") - 0.5 * number(&asked, "years_p50")).abs() < 0.01);
    let against_time = forecast(&["AF-02", "--occupants", "6", "--method", "line", "--against", "time"]);
    assert_eq!(against_time.status.code(), Some(1));
    assert!(stdout(&against_time).contains("a trend against time knows no load"));
}

#[test]
fn what_cannot_be_asked_says_why() {
    for (further, said) in [
        (&["--occupants", "6"][..], "asked of pits by name"),
        (&["AF-01", "--from", "2027"], "--occupants"),
        (&["AF-01", "--occupants", "six"], "write a number"),
        (&["AF-01", "--occupants", "-1"], "write a number"),
        (&["AF-01", "--occupants", "6", "--vacant"], "cannot be used with"),
        (&["AF-01", "--reduce", "20"], "as in 20%"),
        (&["AF-01", "--flow", "420"], "420gpd"),
        (&["AF-01", "--vacant", "--from", "next year"], "2026-05-14"),
    ] {
        let output = forecast(further);
        assert_eq!(output.status.code(), Some(2), "{further:?}");
        assert!(stderr(&output).contains(said), "{further:?}: {}", stderr(&output));
    }
    for (further, said) in [
        (&["AF-01", "--occupants", "60"][..], "times the design flow"),
        (&["AF-01", "--vacant", "--from", "2030", "--until", "2028"], "before it begins"),
    ] {
        let output = forecast(further);
        assert_eq!(output.status.code(), Some(1), "{further:?}");
        let flat = flat(&stdout(&output));
        assert!(flat.contains("What if no answer") && flat.contains(said), "{further:?}: {flat}");
    }
}

/// A pit of which only the design is known takes the typical load for today's; one without any takes shares of it alone.
#[test]
fn a_pit_without_recorded_occupancy_is_answered_where_a_ratio_can_be_made() {
    let folder = tempfile::tempdir().unwrap();
    let write = |file: &str, text: &str| fs::write(folder.path().join(file), text).unwrap();
    write(
        "pits.csv",
        "pit_id,installed,inlet_depth_in,bottom_depth_in,bedrooms,design_flow_gpd\n\
         D,1998,36,156,,450\nN,1998,36,156,,\n",
    );
    write("readings.csv", "pit_id,date,depth_to_liquid_in\nD,2026-05-01,96\nN,2026-05-01,96\n");
    let ask = |further: &[&str]| run_in(folder.path(), &[&["forecast", "."], further, &AS_OF[..]].concat());
    let flat = |output: &Output| flat(&stdout(output));
    let known = ask(&["D", "--occupants", "6"]);
    assert!(
        flat(&known).contains("instead of 45 % (today's use is not known and taken as typical)"),
        "{}",
        flat(&known)
    );
    assert_eq!(known.status.code(), Some(0));
    let unknown = ask(&["N", "--occupants", "6"]);
    assert!(flat(&unknown).contains("What if no answer: what the system was designed for is not known"));
    assert_eq!(unknown.status.code(), Some(1));
    let sale = ask(&["D", "--sale"]);
    assert!(flat(&sale).contains("how many bedrooms the house has is not known"));
    let empty = ask(&["N", "--vacant"]);
    assert_eq!(empty.status.code(), Some(0));
    assert!(flat(&empty).contains("While it lasts no sewage ages the pit."));
}

#[test]
fn the_chart_has_two_fans_and_two_captions() {
    let folder = tempfile::tempdir().unwrap();
    let picture = folder.path().join("six.svg");
    let asked = ["AF-02", "--occupants", "6", "--from", "2028", "-o", picture.to_str().unwrap()];
    let output = run(&[&["chart", &alder_fork()], &asked[..], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let svg = fs::read_to_string(&picture).unwrap();
    for said in
        ["Today's use: ", "What if 6 persons at 58.6 gal/person/day, from 2028 on", "what if: ", "today: "]
    {
        assert!(svg.contains(said) || svg.contains(&said.replace('\'', "&apos;")), "{said}");
    }
    let refused = ["AF-02", "--occupants", "90", "-o", picture.to_str().unwrap()];
    let output = run(&[&["chart", &alder_fork()], &refused[..], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("times the design flow"), "{}", stderr(&output));
}
