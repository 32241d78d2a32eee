//! `soaklife budget` end to end: on the Alder Fork logbook, and on logbooks whose budget can be worked by hand.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, run_in, stdout};
use serde_json::Value;
use std::fs;
use std::path::Path;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn budget(further: &[&str]) -> String {
    let output = run(&[&["budget", &alder_fork()], &AS_OF[..], further].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    stdout(&output)
}

fn json(further: &[&str]) -> Value {
    serde_json::from_str(&budget(&[&["--format", "json"], further].concat())).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A logbook of pits that stand at their inlets, with the costs given; empty is the usual one.
fn at_their_inlets(folder: &Path, costs: &[&str]) {
    let (mut pits, mut readings) = (String::new(), String::new());
    for (place, cost) in costs.iter().enumerate() {
        pits += &format!("P-{place},30,210,{cost}\n");
        readings += &format!("P-{place},2026-05-10,at_inlet\n");
    }
    fs::write(
        folder.join("pits.csv"),
        format!("pit_id,inlet_depth_in,bottom_depth_in,replacement_cost\n{pits}"),
    )
    .unwrap();
    fs::write(folder.join("readings.csv"), format!("pit_id,date,state\n{readings}")).unwrap();
}

/// Where hardly a failure is expected, no digit of what it costs is known, and none is told.
#[test]
fn money_is_told_no_more_exactly_than_the_failures_behind_it() {
    let folder = tempfile::tempdir().unwrap();
    let pits = "pit_id,inlet_depth_in,bottom_depth_in,installed\nN,30,210,2024-05-01\n";
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    fs::write(folder.path().join("readings.csv"), "pit_id,date,state\nN,2025-05-10,dry\nN,2026-05-10,dry\n")
        .unwrap();
    let place = folder.path().to_str().unwrap();
    let told = unbroken(&stdout(&run(&[&["budget", place, "--years", "2"], &AS_OF[..]].concat())));
    assert!(told.contains("expect under 0.1 of 1 pit to reach the inlet"), "{told}");
    assert!(told.contains("would cost under USD 1,"), "{told}");
}

#[test]
fn json_fits_its_published_schema() {
    let schema: Value = serde_json::from_str(&stdout(&run(&["budget", "--json-schema"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for further in [&[][..], &["--by", "soil"], &["--by", "road", "--visits", "0"], &["--years", "50"]] {
        let told = json(further);
        let faults: Vec<String> = validator.iter_errors(&told).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
    }
    let mut wrong = json(&[]);
    wrong["fleet"]["years"][0]["count"]["p10"] = Value::from(0.5);
    assert!(!validator.is_valid(&wrong), "the schema can refuse");
}

/// The expected counts are the sums of what `forecast` says of each pit.
#[test]
fn counts_are_sums_of_forecasts() {
    let told = json(&["--years", "2"]);
    let years = told["fleet"]["years"].as_array().unwrap();
    assert_eq!(years.iter().map(|year| number(&year["year"]) as i64).collect::<Vec<_>>(), [2026, 2027, 2028]);

    let forecast = run(&[&["forecast", &alder_fork(), "--format", "csv"], &AS_OF[..]].concat());
    let mut reader = csv::Reader::from_reader(forecast.stdout.as_slice());
    let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let column = |name: &str| header.iter().position(|column| column == name).unwrap();
    let (basis, one, two) = (column("basis"), column("chance_1y"), column("chance_2y"));
    let (mut by_one, mut by_two) = (0.0, 0.0);
    for row in reader.records().map(Result::unwrap) {
        let there = row[basis] == *"at inlet";
        let chance = |column: usize| if there { 1.0 } else { row[column].parse::<f64>().unwrap() };
        by_one += chance(one);
        by_two += chance(two);
    }
    // The years end 0.5, 1.5 and 2.5 years ahead: the sums at one and two years lie between.
    let by_end: Vec<f64> = years.iter().map(|year| number(&year["count_by_end"]["expected"])).collect();
    assert!(
        by_end[0] <= by_one && by_one <= by_end[1] && by_end[1] <= by_two && by_two <= by_end[2],
        "{by_end:?}"
    );
}

#[test]
fn numbers_of_alder_fork_agree_with_one_another() {
    let told = json(&["--by", "soil"]);
    let fleet = &told["fleet"];
    let years = fleet["years"].as_array().unwrap();
    assert_eq!((years.len(), fleet["pits"].as_u64(), told["at_inlet"].as_u64()), (11, Some(24), Some(1)));
    let last = years.last().unwrap();
    for (in_year, by_end) in [("count", "count_by_end"), ("cost", "cost_by_end")] {
        let sum: f64 = years.iter().map(|year| number(&year[in_year]["expected"])).sum();
        assert!((sum / number(&last[by_end]["expected"]) - 1.0).abs() < 1e-3, "{in_year}: {sum}");
        for year in years {
            let ends = ["p025", "p10", "p50", "p90", "p975"].map(|end| number(&year[in_year][end]));
            assert!(ends.windows(2).all(|pair| pair[0] <= pair[1]), "{ends:?}");
        }
    }
    let groups = told["groups"].as_array().unwrap();
    let of_groups = |what: &dyn Fn(&Value) -> f64| groups.iter().map(what).sum::<f64>();
    assert_eq!(of_groups(&|group| number(&group["pits"])), 24.0);
    let by_groups = of_groups(&|group| number(&group["years"][10]["count_by_end"]["expected"]));
    assert!((by_groups - number(&last["count_by_end"]["expected"])).abs() < 1e-3, "{by_groups}");
    let levels: Vec<f64> =
        fleet["reserve"]["levels"].as_array().unwrap().iter().map(|level| number(&level["a_year"])).collect();
    assert!(levels.len() == 3 && levels.windows(2).all(|pair| pair[0] < pair[1]), "{levels:?}");
    assert!(number(&last["expected_fund"]).abs() < 0.01, "the fund ends at nothing");
}

#[test]
fn the_most_urgent_are_seen_first() {
    let told = json(&["--visits", "4"]);
    let visits = told["visits"].as_array().unwrap();
    let ids: Vec<&str> = visits.iter().map(|visit| visit["pit_id"].as_str().unwrap()).collect();
    // AF-13 stands at its inlet and AF-18 is a foot from it: the scenario's README.
    assert_eq!((ids.len(), &ids[..2]), (4, &["AF-13", "AF-18"][..]));
    assert!(visits[..2].iter().all(|visit| visit["reason"] == "may_fail"));
    assert_eq!(number(&visits[0]["chance_2y"]), 1.0);
    let worth: Vec<f64> = visits[2..].iter().map(|visit| number(&visit["worth_of_reading"])).collect();
    assert!(worth[0] >= worth[1] && worth[1] > 0.0, "{worth:?}");
}

#[test]
fn the_visits_are_a_table_of_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("visits.csv");
    let text = budget(&["--visits", "5", "--visit-list", file.to_str().unwrap()]);
    assert!(unbroken(&text).contains("AF-13 6 Schoolhouse Hill now 2 months ago at its inlet"), "{text}");
    let table = fs::read_to_string(&file).unwrap();
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    assert_eq!(
        reader.headers().unwrap(),
        [
            "rank",
            "pit_id",
            "label",
            "why",
            "chance_2y",
            "years_p10",
            "years_p50",
            "years_p90",
            "years_since_reading"
        ]
        .as_slice()
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let told = json(&["--visits", "5"]);
    let visits = told["visits"].as_array().unwrap();
    assert_eq!(rows.len(), 5);
    for (place, (row, visit)) in rows.iter().zip(visits).enumerate() {
        assert_eq!(
            (row[0].parse(), &row[1], &row[2]),
            (Ok(place + 1), visit["pit_id"].as_str().unwrap(), visit["label"].as_str().unwrap())
        );
        for (cell, name) in [(4, "chance_2y"), (5, "years_p10"), (6, "years_p50"), (8, "years_since_reading")]
        {
            assert_eq!(row[cell].parse::<f64>().ok(), visit[name].as_f64(), "{name} of {row:?}");
        }
    }
    assert_eq!((&rows[0][3], &rows[1][3]), ("at inlet", "may fail"), "AF-13 stands at its inlet");
}

#[test]
fn csv_has_two_rows_a_year_and_group() {
    let text = budget(&["--by", "soil", "--years", "3", "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(
        reader.headers().unwrap().iter().take(6).collect::<Vec<_>>(),
        ["group", "as_of", "pits", "year", "span", "count_expected"]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), (1 + 6) * 4 * 2, "the fleet and six soils, four years, in it and by its end");
    let reserves = rows.iter().filter(|row| !row[row.len() - 1].is_empty()).count();
    assert_eq!(reserves, 7, "one reserve for all years together");
}

#[test]
fn it_reads_as_an_office_would_have_it() {
    let text = budget(&["--by", "decade", "--visits", "3"]);
    for said in [
        "Budget of 24 pits as of 2026-06-30",
        "By the end of 2036 expect",
        "of 24 pits to reach the inlet or action freeboard; 3 to 5 with 80 % confidence",
        "1 pit stands at its inlet today.",
        "Set aside USD",
        "rest of 2026",
        "By decade, to the end of 2036",
        "1980s",
        "not given",
        "Whom to see first, 3 visits a year, and when each reaches the inlet or action freeboard",
        "AF-13 6 Schoolhouse Hill",
        "Never enter or lean into a tank or pit",
        "A pit replaced once is not replaced again.",
        "--common-factor",
        "licensed practitioners decide",
    ] {
        assert!(unbroken(&text).contains(said), "{said:?} is missing in:\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
    assert_eq!(text, budget(&["--by", "decade", "--visits", "3"]), "the same twice");
}

/// Three pits at their inlets, one of 10,000 and two of the usual 15,000: due in the rest of this year, at 3 %
/// a year for a quarter of a year (half of the 185 days that are left), 40,000 × 1.03^0.2533 = 40,300. Worked
/// by hand.
#[test]
fn what_is_due_is_due_now() {
    let folder = tempfile::tempdir().unwrap();
    at_their_inlets(folder.path(), &["10000", "", ""]);
    let args =
        [&["budget", ".", "--years", "1", "--cost-spread", "0", "--format", "json"], &AS_OF[..]].concat();
    let told: Value = serde_json::from_str(&stdout(&run_in(folder.path(), &args))).unwrap();
    let first = &told["fleet"]["years"][0];
    assert_eq!((first["count"]["p10"].as_u64(), first["count"]["p90"].as_u64()), (Some(3), Some(3)));
    assert!((number(&first["cost"]["expected"]) - 40_300.0).abs() < 5.0, "{first:#}");
    assert_eq!(number(&told["fleet"]["years"][1]["count"]["expected"]), 0.0);
    assert_eq!(told["assumptions"]["pits_with_own_cost"], Value::from(1));
}

/// A homeowner has one pit: what to set aside until it fails, surer the earlier it must be ready.
#[test]
fn one_pit_has_a_sinking_fund() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nP,30,210\n").unwrap();
    let rows: String =
        (2018..2027).map(|year| format!("P,{year}-05-10,{}\n", 6 * (2026 - year) + 84)).collect();
    fs::write(folder.path().join("readings.csv"), format!("pit_id,date,depth_to_liquid_in\n{rows}")).unwrap();
    let args = [&["budget", "."], &AS_OF[..]].concat();
    let text = unbroken(&stdout(&run_in(folder.path(), &args)));
    assert!(text.contains("For this pit alone, set aside until it fails: to be 50 % sure, USD"), "{text}");
    let args = [&args[..], &["--format", "json"]].concat();
    let told: Value = serde_json::from_str(&stdout(&run_in(folder.path(), &args))).unwrap();
    let funds = told["sinking_fund"].as_array().unwrap();
    let a_year: Vec<f64> = funds.iter().map(|fund| number(&fund["a_year"])).collect();
    assert!(a_year[0] < a_year[1] && a_year[1] < a_year[2], "{a_year:?}");
    for fund in funds {
        // A = 15,000 · 1.03^T · 0.02/(1.02^T − 1), by hand from the years told.
        let years = number(&fund["years"]);
        let by_hand = 15_000.0 * 1.03f64.powf(years) * 0.02 / (1.02f64.powf(years) - 1.0);
        // The years are told to a hundredth.
        assert!((number(&fund["a_year"]) / by_hand - 1.0).abs() < 0.005, "{fund:#}");
    }
}

#[test]
fn the_chart_is_the_same_bytes_twice_and_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for name in ["a.svg", "b.svg", "a.png"] {
        budget(&["--chart", &file(name)]);
    }
    assert_eq!(fs::read(file("a.svg")).unwrap(), fs::read(file("b.svg")).unwrap());
    assert!(fs::read(file("a.png")).unwrap().starts_with(b"\x89PNG"));
    let svg = fs::read_to_string(file("a.svg")).unwrap();
    assert!(svg.contains("alder-fork: replacements ahead") && svg.contains("AF-18"));
}

#[test]
fn usage_is_explained_and_problems_have_their_exit_code() {
    let cases: [(&[&str], i32, &str); 6] = [
        (&["budget", &alder_fork(), "--by", "sol"], 2, "was soil meant?"),
        (&["budget", &alder_fork(), "--by", "moon"], 2, "there are soil, decade, road"),
        (&["budget", &alder_fork(), "--years", "51"], 2, "51"),
        (&["budget", &alder_fork(), "--common-factor", "10"], 2, "0 to 0.25"),
        (&["budget", &alder_fork(), "--chart", "a.gif"], 2, ".svg, .png or .pdf"),
        (&["budget", "no-such-folder"], 3, "there is no such folder"),
    ];
    for (args, code, said) in cases {
        let output = run(args);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{args:?}: {told}");
        assert!(told.contains(said), "{args:?}: {told}");
    }
    let folder = tempfile::tempdir().unwrap();
    at_their_inlets(folder.path(), &["10000", "-5"]);
    let output = run_in(folder.path(), &[&["budget", "."], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(1), "a cost below zero: the pit or its cost is left out");
    assert!(stdout(&output).contains("Budget of"), "{}", stdout(&output));
}

#[test]
fn no_pit_is_nothing_to_budget_for() {
    let folder = tempfile::tempdir().unwrap();
    at_their_inlets(folder.path(), &[]);
    let output = run_in(folder.path(), &[&["budget", "."], &AS_OF[..]].concat());
    assert!(unbroken(&stdout(&output)).contains("There is no pit with a forecast"), "{}", stdout(&output));
}
