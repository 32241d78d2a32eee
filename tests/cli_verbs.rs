//! Every verb of the real binary on the Alder Fork logbook and on logbooks of its own.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, run_in, stdout};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

/// The published columns: their names and order are fixed, more may follow.
const FIXED_COLUMNS: &str = "pit_id,as_of,method,readings_used,readings_set_aside,last_reading,effective_depth_in,load_ratio,\
pace_in_per_year,freeboard_0y_p10_in,freeboard_0y_p50_in,freeboard_0y_p90_in,freeboard_1y_p10_in,freeboard_1y_p50_in,\
freeboard_1y_p90_in,freeboard_2y_p10_in,freeboard_2y_p50_in,freeboard_2y_p90_in,freeboard_5y_p10_in,freeboard_5y_p50_in,\
freeboard_5y_p90_in,freeboard_10y_p10_in,freeboard_10y_p50_in,freeboard_10y_p90_in,years_p05,years_p10,years_p25,years_p50,\
years_p75,years_p90,years_p95,chance_1y,chance_2y,chance_5y,chance_10y,chance_30y,basis,problem";

fn forecast_csv(further: &[&str]) -> (Vec<String>, Vec<Vec<String>>) {
    let output = run(&[&["forecast", &alder_fork(), "--format", "csv"], &AS_OF[..], further].concat());
    let text = stdout(&output);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows = reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    (header, rows)
}

fn cell<'r>(header: &[String], row: &'r [String], column: &str) -> &'r str {
    &row[header.iter().position(|name| name == column).unwrap()]
}

#[test]
fn csv_has_the_fixed_columns_and_one_row_a_pit_in_order() {
    let (header, rows) = forecast_csv(&[]);
    assert!(header.join(",").starts_with(FIXED_COLUMNS));
    let pits = fs::read_to_string(format!("{}/pits.csv", alder_fork())).unwrap();
    let ids: Vec<&str> = pits.lines().skip(1).map(|line| line.split(',').next().unwrap()).collect();
    let told: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
    assert_eq!(told, ids);
    assert_eq!(rows.len(), 24);
}

#[test]
fn every_pit_gets_a_forecast_and_a_line_says_what_it_lacks() {
    let output = run(&[&["forecast", &alder_fork(), "--format", "csv"], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(0));
    let (header, rows) = forecast_csv(&[]);
    assert!(rows.iter().all(|row| cell(&header, row, "problem").is_empty()));
    let basis = |id: &str| {
        let row = rows.iter().find(|row| row[0] == id).unwrap();
        cell(&header, row, "basis").to_owned()
    };
    assert_eq!(["AF-01", "AF-10", "AF-11"].map(basis), ["readings", "few readings", "typical experience"]);

    let by_line = ["forecast", &alder_fork(), "--method", "line", "--format", "csv"];
    let output = run(&[&by_line, &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(1));
    let (header, rows) = forecast_csv(&["--method", "line"]);
    let silent: BTreeSet<&str> = rows
        .iter()
        .filter(|row| !cell(&header, row, "problem").is_empty())
        .map(|row| row[0].as_str())
        .collect();
    assert_eq!(silent, BTreeSet::from(["AF-04", "AF-10", "AF-11", "AF-12"]));
    for row in &rows {
        let problem = cell(&header, row, "problem");
        let has_answer = !cell(&header, row, "freeboard_0y_p50_in").is_empty();
        assert_eq!(problem.is_empty(), has_answer, "{}", row[0]);
        assert!(problem.is_empty() || problem.contains("usable reading"), "{problem}");
    }
    let one_good_pit = run(&[&["forecast", &alder_fork(), "AF-01", "--method", "line"], &AS_OF[..]].concat());
    assert_eq!(one_good_pit.status.code(), Some(0));
}

#[test]
fn values_of_the_table_are_ordered_and_possible() {
    let (header, rows) = forecast_csv(&[]);
    let number = |row: &[String], column: &str| cell(&header, row, column).parse::<f64>().ok();
    let mut answers = 0;
    for row in rows.iter().filter(|row| cell(&header, row, "problem").is_empty()) {
        answers += 1;
        let years: Vec<f64> = ["05", "10", "25", "50", "75", "90", "95"]
            .iter()
            .filter_map(|p| number(row, &format!("years_p{p}")))
            .collect();
        assert!(years.windows(2).all(|pair| pair[0] <= pair[1]), "{years:?}");
        let chances: Vec<f64> =
            [1, 2, 5, 10, 30].iter().filter_map(|y| number(row, &format!("chance_{y}y"))).collect();
        assert!(chances.len() == 5 && chances.windows(2).all(|pair| pair[0] <= pair[1]), "{chances:?}");
        for horizon in [0, 1, 2, 5, 10] {
            let freeboards: Vec<f64> = [10, 50, 90]
                .iter()
                .filter_map(|p| number(row, &format!("freeboard_{horizon}y_p{p}_in")))
                .collect();
            assert!(
                freeboards.len() == 3 && freeboards.windows(2).all(|pair| pair[0] <= pair[1]),
                "{freeboards:?}"
            );
        }
    }
    assert_eq!(answers, 24);
}

#[test]
fn metric_units_are_the_same_answers() {
    let (us_header, us_rows) = forecast_csv(&[]);
    let (si_header, si_rows) = forecast_csv(&["--units", "si"]);
    assert!(
        si_header.contains(&"freeboard_0y_p50_cm".to_owned())
            && !si_header.iter().any(|name| name.ends_with("_in"))
    );
    for (us, si) in us_rows.iter().zip(&si_rows) {
        let inches = cell(&us_header, us, "freeboard_5y_p50_in").parse::<f64>();
        let centimetres = cell(&si_header, si, "freeboard_5y_p50_cm").parse::<f64>();
        if let (Ok(inches), Ok(centimetres)) = (inches, centimetres) {
            assert!((inches * 2.54 - centimetres).abs() < 0.02, "{inches} in, {centimetres} cm");
        }
        assert_eq!(cell(&us_header, us, "years_p50"), cell(&si_header, si, "years_p50"));
    }
}

#[test]
fn a_pit_is_told_the_same_alone_and_in_company() {
    let (_, all) = forecast_csv(&[]);
    let (_, alone) = forecast_csv(&["AF-07"]);
    assert_eq!(alone.len(), 1);
    assert_eq!(&alone[0], all.iter().find(|row| row[0] == "AF-07").unwrap());
}

#[test]
fn json_fits_its_published_schema() {
    let schema: Value = serde_json::from_str(&stdout(&run(&["forecast", "--json-schema"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for further in
        [&[][..], &["--units", "si"], &["--method", "rank"], &["--against", "time", "--coverage", "0.5"]]
    {
        let output = run(&[&["forecast", &alder_fork(), "--format", "json"], &AS_OF[..], further].concat());
        let told: Value = serde_json::from_str(&stdout(&output)).unwrap();
        let faults: Vec<String> = validator.iter_errors(&told).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
        let pits = told["pits"].as_array().unwrap();
        assert_eq!(pits.len(), 24);
        // Readings ahead are weighed for pits asked for by name only.
        assert!(pits.iter().all(|pit| pit.get("next_reading").is_none()));
    }
    let ids: Vec<String> = (1..=24).map(|pit| format!("AF-{pit:02}")).collect();
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    let named = run(&[&["forecast", &alder_fork()], &ids[..], &["--format", "json"], &AS_OF[..]].concat());
    let named: Value = serde_json::from_str(&stdout(&named)).unwrap();
    let faults: Vec<String> = validator.iter_errors(&named).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?}");
    let next =
        |pit: &Value| pit["next_reading"].as_object().map(|next| next["reason"].as_str().unwrap().to_owned());
    let reasons: Vec<Option<String>> = named["pits"].as_array().unwrap().iter().map(next).collect();
    assert_eq!(reasons[0].as_deref(), Some("may_turn"));
    assert!(reasons.contains(&None) && reasons.contains(&Some("nothing_sooner".to_owned())), "{reasons:?}");
    // The schema can refuse.
    let mut wrong: Value = serde_json::from_str(&stdout(&run(&[
        &["forecast", &alder_fork(), "AF-01", "--format", "json"],
        &AS_OF[..],
    ]
    .concat())))
    .unwrap();
    wrong["pits"][0]["chance_5y"] = Value::from(1.5);
    assert!(!validator.is_valid(&wrong));
}

#[test]
fn one_pit_is_told_in_a_sentence() {
    let text = stdout(&run(&[&["forecast", &alder_fork(), "AF-01"], &AS_OF[..]].concat()));
    for said in [
        "On 2026-05-22 the liquid stood 15 inches below the inlet.",
        "The level rises 2.7 to 3.4 inches a year.",
        "about 5 years (2031)",
        "with 80 % confidence",
        "17 readings",
        "the pit's own record",
        "Course",
        "Hand check",
        "2 persons per bedroom at 75 gal/person/day",
        "Measure by December 2027: a reading then has a chance of",
        "change whether somebody must act within the two years after it",
        "Never enter",
    ] {
        let unbroken = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(unbroken.contains(said), "{said:?} is missing in:\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
}

#[test]
fn a_population_prior_of_ones_own_moves_the_pit_without_readings() {
    let folder = tempfile::tempdir().unwrap();
    let prior = folder.path().join("busy.toml");
    fs::write(&prior, "typical_load_ratio = 0.9\n").unwrap();
    let chance = |further: &[&str]| {
        let (header, rows) = forecast_csv(further);
        let row = rows.iter().find(|row| row[0] == "AF-11").unwrap();
        cell(&header, row, "chance_10y").parse::<f64>().unwrap()
    };
    assert!(chance(&["--prior", prior.to_str().unwrap()]) > chance(&[]));
    for (wrong, said) in [("offset = 3\n", "line 1, column 1"), ("offset_in = -3\n", "between 1 and 1000")] {
        fs::write(&prior, wrong).unwrap();
        let output = run(&["forecast", &alder_fork(), "--prior", prior.to_str().unwrap()]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(said), "{told}");
    }
}

#[test]
fn many_pits_come_by_urgency() {
    let text = stdout(&run(&[&["forecast", &alder_fork(), "--method", "line"], &AS_OF[..]].concat()));
    let order: Vec<usize> = ["AF-13", "AF-18", "AF-01", "AF-20", "No forecast:", "AF-11"]
        .iter()
        .map(|name| text.find(name).unwrap_or_else(|| panic!("{name} is missing in:\n{text}")))
        .collect();
    assert!(order.windows(2).all(|pair| pair[0] < pair[1]), "{text}");
}

#[test]
fn the_chart_is_the_same_bytes_twice_and_a_picture() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for name in ["a.svg", "b.svg", "a.png", "b.png"] {
        let output = run(&[&["chart", &alder_fork(), "AF-01", "-o", &file(name)], &AS_OF[..]].concat());
        assert_eq!(output.status.code(), Some(0));
    }
    assert_eq!(fs::read(file("a.svg")).unwrap(), fs::read(file("b.svg")).unwrap());
    assert_eq!(fs::read(file("a.png")).unwrap(), fs::read(file("b.png")).unwrap());
    assert!(fs::read(file("a.png")).unwrap().starts_with(b"\x89PNG"));
    let with_sentence =
        run(&[&["forecast", &alder_fork(), "AF-01", "--chart", &file("c.svg")], &AS_OF[..]].concat());
    assert_eq!(with_sentence.status.code(), Some(0));
    assert_eq!(fs::read(file("a.svg")).unwrap(), fs::read(file("c.svg")).unwrap());
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 5, "nothing unfinished is left behind");
}

#[test]
fn usage_is_explained_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let gif = folder.path().join("a.gif").to_str().unwrap().to_owned();
    let svg = folder.path().join("a.svg").to_str().unwrap().to_owned();
    let png = folder.path().join("a.png").to_str().unwrap().to_owned();
    let alder_fork = alder_fork();
    let nowhere = folder.path().join("no/a.svg").to_str().unwrap().to_owned();
    let home = folder.path().join("home").to_str().unwrap().to_owned();
    let begin = ["init", &home, "--pit-id", "H-1", "--inlet-depth", "30in", "--bottom-depth"];
    let cases: [(&[&str], i32, &str); 21] = [
        (&["forecast", &alder_fork, "AF-O1"], 2, "was AF-01 meant?"),
        (&["chart", &alder_fork, "AF-01", "-o", &gif], 2, ".svg, .png or .pdf"),
        (&["chart", &alder_fork, "-o", &svg], 2, "This figure shows one pit"),
        (&["chart", &alder_fork, "AF-01", "-o", &png, "--dpi", "5000"], 2, "20 to 1200 dots per inch"),
        (&["chart", &alder_fork, "AF-13", "--figure", "line-check", "-o", &svg], 2, "it stands at its inlet"),
        (
            &["chart", &alder_fork, "AF-01", "--figure", "section", "--vacant", "-o", &svg],
            2,
            "--figure forecast alone",
        ),
        (
            &["chart", &alder_fork, "--figure", "ladder", "--action-freeboard", "6in", "-o", &svg],
            2,
            "leave out",
        ),
        (&["forecast", &alder_fork, "AF-01", "--dpi", "300"], 2, "--chart"),
        (&["forecast", &alder_fork, "--horizon", "61"], 2, "at most 60 years"),
        (&["forecast", &alder_fork, "--coverage", "80"], 2, "0.8 for 80 %"),
        (&["forecast", "no-such-folder"], 3, "there is no such folder"),
        (
            &["log", &alder_fork, "AF-01", "--date", "2026-06-01", "--depth-to-liquid", "41.5"],
            2,
            "a length with its unit",
        ),
        (&["forecast", &alder_fork, "--chart", &svg], 2, "name the pit"),
        (&["forecast", &alder_fork, "--coverage", "0.999"], 2, "from 0.01 to 0.99"),
        (&["forecast", &alder_fork, "--action-freeboard", "-3in"], 2, "an action freeboard is zero or more"),
        (&["chart", &alder_fork, "AF-01", "-o", &nowhere], 3, "there is no folder"),
        (&["init", &home], 2, "needs --pit-id, --inlet-depth and --bottom-depth"),
        (
            &[&begin[..], &["20in"]].concat(),
            2,
            "the pit bottom (20 in below the rim) must lie below the inlet (30 in)",
        ),
        (&[&begin[..], &["20ft", "--installed", "2999"]].concat(), 2, "installed 2999 is later than today"),
        (&[&begin[..], &["20ft", "--bedrooms", "-1"]].concat(), 2, "a number above zero"),
        (&[&begin[..], &["20ft", "--diameter", "0ft"]].concat(), 2, "a diameter is above zero"),
    ];
    for (args, code, said) in cases {
        let output = run(args);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{args:?}: {told}");
        assert!(told.contains(said), "{args:?}: {told}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

/// Two invented pits: one steady with years to go, one near its inlet whose readings scatter so much that the set of
/// years is the whole line. The second may be near at any moment: it comes first, and is measured again at once.
#[test]
fn readings_that_cannot_say_when_do_not_rule_out_soon() {
    let folder = tempfile::tempdir().unwrap();
    let depths = [("S", [90, 87, 84, 81, 79]), ("U", [36, 44, 33, 41, 35])];
    let rows = depths.iter().flat_map(|(pit, depths)| {
        (2022..).zip(depths).map(move |(year, depth)| format!("{pit},{year}-05-10,{depth}\n"))
    });
    let readings = rows.fold("pit_id,date,depth_to_liquid_in\n".to_owned(), |text, row| text + &row);
    fs::write(folder.path().join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nS,30,210\nU,30,210\n")
        .unwrap();
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    let forecast = |further: &[&str]| {
        stdout(&run_in(
            folder.path(),
            &[&["forecast", ".", "--method", "line"], &AS_OF[..], further].concat(),
        ))
    };
    let fleet = forecast(&[]);
    let place = |start: &str| fleet.lines().position(|line| line.starts_with(start)).unwrap();
    assert!(place("U ") < place("S "), "{fleet}");
    assert!(fleet.contains("cannot be told"), "{fleet}");
    let unsure = forecast(&["U"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(unsure.contains("Measure monthly from now on: the inlet may be within reach."), "{unsure}");
    assert!(forecast(&["S"]).contains("by May 2027."));
    let json: Value = serde_json::from_str(&forecast(&["U", "--format", "json"])).unwrap();
    let eighty = &json["pits"][0]["crossing"]["ranges"][1];
    assert_eq!((eighty["coverage"].as_f64(), eighty["kind"].as_str()), (Some(0.8), Some("unbounded")));
    assert_eq!((&json["pits"][0]["years_p10"], &json["pits"][0]["years_p90"]), (&Value::Null, &Value::Null));
}

/// Three years after its last reading a pit with less than two years left is due at once, not in some months.
#[test]
fn a_pit_near_its_inlet_and_overdue_is_measured_now() {
    let text =
        stdout(&run(&["forecast", &alder_fork(), "AF-01", "--method", "line", "--as-of", "2029-06-30"]));
    let measure = text.lines().find(|line| line.starts_with("Measure")).unwrap();
    assert!(measure.starts_with("Measure     now: "), "{text}");
}

/// "Twelve inches left, three inches a year: four years." Common practice, no source. From an empty folder to the answer.
#[test]
fn twelve_inches_at_three_a_year_from_init_to_forecast() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("home").to_str().unwrap().to_owned();
    let begun = run(&[
        "init",
        &home,
        "--pit-id",
        "H-1",
        "--inlet-depth",
        "20in",
        "--bottom-depth",
        "11ft8in",
        "--bedrooms",
        "3",
        "--occupants",
        "4",
        "--diameter",
        "6ft",
        "--installed",
        "1994",
    ]);
    assert_eq!(begun.status.code(), Some(0), "{}", String::from_utf8_lossy(&begun.stderr));
    let readings = [
        ("2022-05-01", "3ft 8in"),
        ("2023-05-01", "41in"),
        ("2024-05-01", "38 in"),
        ("2025-05-01", "2'11\""),
        ("2026-05-01", "81.28cm"),
    ];
    for (date, depth) in readings {
        let logged = run(&["log", &home, "H-1", "--date", date, "--depth-to-liquid", depth]);
        assert_eq!(logged.status.code(), Some(0), "{}", String::from_utf8_lossy(&logged.stderr));
    }
    let file = fs::read_to_string(format!("{home}/readings.csv")).unwrap();
    assert_eq!(file.lines().last(), Some("H-1,2026-05-01,32,,,"));
    let output =
        run(&["forecast", &home, "H-1", "--method", "line", "--as-of", "2026-05-01", "--format", "csv"]);
    let text = stdout(&output);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let row = reader.records().next().unwrap().unwrap();
    let value =
        |column: &str| row[header.iter().position(|name| name == column).unwrap()].parse::<f64>().unwrap();
    assert_eq!((value("freeboard_0y_p50_in"), value("years_p50")), (12.0, 4.0));
    let again = run(&["init", &home]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("is there already"));
    assert_eq!(fs::read_to_string(format!("{home}/readings.csv")).unwrap(), file);
}

#[test]
fn the_demo_is_the_alder_fork_logbook() {
    let folder = tempfile::tempdir().unwrap();
    let demo = folder.path().join("demo").to_str().unwrap().to_owned();
    assert_eq!(run(&["demo", &demo]).status.code(), Some(0));
    for name in [
        "pits.csv",
        "readings.csv",
        "occupancy.csv",
        "events.csv",
        "load_tests.csv",
        "logbook.toml",
        "README.md",
    ] {
        let written = fs::read(format!("{demo}/{name}")).unwrap();
        assert_eq!(written, fs::read(format!("{}/{name}", alder_fork())).unwrap(), "{name}");
    }
    assert_eq!(run(&["demo", &demo]).status.code(), Some(2), "a logbook is never overwritten");
}

#[test]
fn a_logged_reading_keeps_the_rest_of_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let pits = "pit_id,inlet_depth_cm,bottom_depth_cm,occupants,bedrooms,diameter_m\nÅ 1,50,450,3,3,1.5\n";
    // A byte order mark, CR LF, another column order, a foreign column, quotes, and no final line end.
    let readings = "\u{feff}note,liquid_level_cm,who,date,pit_id,state\r\n\"dry, or \"\"nearly\"\"\",,Ann,2024-05-01,Å 1,dry\r\n,12,Ben,2025-05-01,Å 1,";
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    let output = run_in(
        folder.path(),
        &["log", ".", "Å 1", "--date", "2026-05-01", "--depth-to-liquid", "4m", "--note", "a \"b\", c"],
    );
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let written = fs::read_to_string(folder.path().join("readings.csv")).unwrap();
    assert_eq!(written, format!("{readings}\r\n\"a \"\"b\"\", c\",50,,2026-05-01,Å 1,\r\n"));
}

#[test]
fn a_refused_reading_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().join("home").to_str().unwrap().to_owned();
    run(&["init", &home, "--pit-id", "H-1", "--inlet-depth", "20in", "--bottom-depth", "140in"]);
    let before = fs::read(format!("{home}/readings.csv")).unwrap();
    let cases: [(&[&str], &str); 4] = [
        (&["H-1", "--date", "2026-05-01", "--depth-to-liquid", "160in"], "below the pit bottom"),
        (&["H-2", "--date", "2026-05-01", "--dry"], "was H-1 meant?"),
        (&["H-1", "--date", "2999-05-01", "--dry"], "later than today"),
        (&["H-1", "--date", "2026-05-01", "--dry", "--at-inlet"], "cannot be used with"),
    ];
    for (args, said) in cases {
        let output = run(&[&["log", &home], args].concat());
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(told.contains(said), "{told}");
        assert_eq!(fs::read(format!("{home}/readings.csv")).unwrap(), before);
    }
}

#[test]
fn every_verb_has_help_with_examples() {
    for verb in ["init", "log", "check", "forecast", "chart", "backtest", "demo"] {
        let output = run(&[verb, "--help"]);
        let help = stdout(&output);
        assert_eq!(output.status.code(), Some(0));
        assert!(help.contains("Examples:") && help.contains(&format!("soaklife {verb} ")), "{help}");
    }
    let cautions = stdout(&run(&["log", "--help"])).split_whitespace().collect::<Vec<_>>().join(" ");
    for caution in ["Never enter or lean into a tank or pit", "no open flame", "Local code"] {
        assert!(cautions.contains(caution), "{cautions}");
    }
}

/// Forty pits fit a page. The others of a larger logbook are on further ones, and nobody is left to think that there are none.
#[test]
fn a_ladder_of_many_pits_has_pages_and_says_what_a_picture_leaves_out() {
    let folder = tempfile::tempdir().unwrap();
    let logbook = folder.path().join("valley");
    fs::create_dir(&logbook).unwrap();
    let row = |pit: usize| format!("P-{pit:02},30,210\n");
    let pits: String = (1..=41).map(row).collect();
    fs::write(logbook.join("pits.csv"), format!("pit_id,inlet_depth_in,bottom_depth_in\n{pits}")).unwrap();
    fs::write(logbook.join("readings.csv"), "pit_id,date,depth_to_liquid_in\n").unwrap();
    let ladder = |file: &str, further: &[&str]| {
        let words = [&["chart", "valley", "--figure", "ladder", "-o", file], &AS_OF[..], further].concat();
        let output = run_in(folder.path(), &words);
        assert_eq!(output.status.code(), Some(0));
        String::from_utf8(output.stderr).unwrap()
    };
    assert_eq!(ladder("all.pdf", &[]), "");
    let pdf = fs::read(folder.path().join("all.pdf")).unwrap();
    assert!(String::from_utf8_lossy(&pdf).contains("/Count 2"));
    assert!(ladder("first.svg", &[]).contains("the first of 2 pages; a .pdf holds them all"));
    let first = fs::read_to_string(folder.path().join("first.svg")).unwrap();
    assert!(first.contains("valley: years to the inlet, pits 1 to 40 of 41, as of 2026-06-30"));
    assert_eq!(ladder("few.svg", &["P-02", "P-41"]), "");
    assert!(fs::read_to_string(folder.path().join("few.svg")).unwrap().contains("2 pits"));
}
