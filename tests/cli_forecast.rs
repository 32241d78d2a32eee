//! `soaklife forecast` on the Alder Fork logbook and on logbooks of its own: table, JSON, sentences, and who comes first.
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
    assert_eq!(reasons[0].as_deref(), Some("nothing_sooner"));
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
        "It reaches the inlet about 2031 (in 5 years), with 8 chances in 10 between 2029 and 2035 (in 3 to 9 years).",
        "17 readings",
        "the pit's own record",
        "Course",
        "Hand check",
        "2 persons per bedroom at 75 gal/person/day",
        "Measure by June 2027: once a year, as the inlet may be reached within ten years.",
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

/// Of a range without a late end the early end alone is told, as the chance that it is, and how likely the pit lasts longer than a
/// forecast sees.
#[test]
fn a_range_without_a_late_end_is_told_as_the_chance_of_its_early_end() {
    let told = |pit: &str| stdout(&run(&[&["forecast", &alder_fork(), pit], &AS_OF[..]].concat()));
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let open = flat(told("AF-02"));
    assert!(open.contains(", with 1 chance in 10 before 20"), "{open}");
    assert!(open.contains("The chance that it does not get there within 60 years is"), "{open}");
    let late = flat(told("AF-06"));
    assert!(
        late.contains("More likely than not (")
            && late.contains("; there is 1 chance in 10 that it does before 20"),
        "{late}"
    );
    let early = flat(told("AF-17"));
    assert!(early.contains("It reaches its action freeboard of 6 inches about 20"), "{early}");
    for text in [open, late, early] {
        for wrong in ["confidence", "perhaps never", "not before", "in 10 between"] {
            assert!(!text.contains(wrong), "{wrong} in {text}");
        }
    }
}

/// Years from now and calendar years of one sentence, of every pit by every method, lie less than two years apart.
#[test]
fn years_ahead_and_calendar_years_agree() {
    let mut told = 0;
    for method in ["absorption", "line", "rank"] {
        for pit in 1..=24 {
            let (id, logbook) = (format!("AF-{pit:02}"), alder_fork());
            let text = stdout(&run(&[&["forecast", &logbook, &id, "--method", method], &AS_OF[..]].concat()));
            let flat =
                text.split("Rests on").next().unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
            for (before, within) in flat.split(" (").zip(flat.split(" (").skip(1)) {
                let within = within.split(')').next().unwrap();
                let numbers = |text: &str| -> Vec<f64> {
                    text.split(|c: char| !c.is_ascii_digit()).filter_map(|word| word.parse().ok()).collect()
                };
                let ahead = numbers(within);
                if !within.contains("year") || within.contains("month") || ahead.is_empty() {
                    continue;
                }
                let calendar: Vec<f64> = numbers(before).into_iter().filter(|year| *year > 2025.5).collect();
                // A range within one year of the calendar has that year once.
                let last = calendar.last().unwrap();
                let calendar = [vec![*last; ahead.len().saturating_sub(calendar.len())], calendar].concat();
                for (calendar, ahead) in calendar.iter().rev().zip(ahead.iter().rev()) {
                    assert!((calendar - 2026.0 - ahead).abs() < 2.0, "{method}, {id}: {flat}");
                    told += 1;
                }
            }
        }
    }
    assert!(told > 60, "{told}");
}

/// The list tells of a pit the same early end as its own page and the visit list, and never "-0.0".
#[test]
fn lists_and_pages_tell_the_same_early_end() {
    let list = stdout(&run(&[&["forecast", &alder_fork()], &AS_OF[..]].concat()));
    assert!(!list.contains("-0.0"), "{list}");
    let visits = stdout(&run(&[&["budget", &alder_fork(), "--visits", "24"], &AS_OF[..]].concat()));
    let visits = visits.split("Whom to see first").nth(1).unwrap();
    let line =
        |text: &str, id: &str| text.lines().find(|line| line.trim_start().starts_with(id)).map(str::to_owned);
    let mut compared = 0;
    for pit in 1..=24 {
        let id = format!("AF-{pit:02}");
        let Some(in_list) = line(&list, &id) else { continue };
        let range = in_list.split("  ").map(str::trim).find(|cell| {
            cell.contains(" to ") || cell.starts_with("1 in 10 within") || cell.starts_with("under 1 in 10")
        });
        let Some(range) = range else { continue };
        if let Some(visit) = line(visits, &id) {
            assert!(visit.contains(range), "{range} is missing in {visit}");
        }
        let page = stdout(&run(&[&["forecast", &alder_fork(), &id], &AS_OF[..]].concat()));
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        let early = range.trim_start_matches("1 in 10 ");
        assert!(
            page.contains(&format!("({early})")) || page.contains(&format!("(in {early})")),
            "{early} is missing in {page}"
        );
        compared += 1;
    }
    assert!(compared > 20, "{compared}");
}

/// By the chances of being there within two and five years; a pit at its inlet first.
#[test]
fn the_list_is_sorted_by_the_chance_of_being_there_soon() {
    let list = stdout(&run(&[&["forecast", &alder_fork()], &AS_OF[..]].concat()));
    let title = "24 pits as of 2026-06-30, by the chances of reaching the inlet or action freeboard within 2 and 5 years";
    assert!(list.starts_with(title), "{list}");
    let shown: Vec<&str> =
        list.lines().filter(|line| line.starts_with("AF-")).map(|line| &line[..5]).collect();
    assert_eq!((shown.len(), shown[0]), (24, "AF-13"));
    let (header, rows) = forecast_csv(&[]);
    let soon = |id: &str| {
        let row = rows.iter().find(|row| row[0] == *id).unwrap();
        ["chance_2y", "chance_5y"]
            .map(|name| cell(&header, row, name).parse::<f64>().unwrap())
            .iter()
            .sum::<f64>()
    };
    for pair in shown[1..].windows(2) {
        // Chances are printed with four decimals.
        assert!(soon(pair[0]) >= soon(pair[1]) - 2e-4, "{pair:?}\n{list}");
    }
}

/// A logbook of one pit, with depths read on two days.
fn one_pit(depths: [f64; 2]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let pits = "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,installed,bedrooms,occupants\nP,30,210,4,1990,3,5\n";
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    let readings =
        format!("pit_id,date,depth_to_liquid_in\nP,2024-05-10,{}\nP,2026-05-10,{}\n", depths[0], depths[1]);
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    folder
}

fn told_of_one_pit(depths: [f64; 2]) -> String {
    let text = stdout(&run_in(one_pit(depths).path(), &[&["forecast", ".", "P"], &AS_OF[..]].concat()));
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Three pits in the order of `pits.csv`: never read, with ten inches left, and above its action freeboard.
#[test]
fn a_pit_at_its_action_freeboard_comes_first_and_one_never_read_after_one_that_is_near() {
    let folder = tempfile::tempdir().unwrap();
    let pits = "pit_id,inlet_depth_in,bottom_depth_in,installed,action_freeboard_in\nNEW,30,210,2026,\nNEAR,30,210,1990,\nTHERE,30,210,1990,6\n";
    let rows = [2022, 2023, 2024, 2025, 2026].into_iter().zip(0..).map(|(year, years)| {
        format!("NEAR,{year}-05-10,{}\nTHERE,{year}-05-10,{}\n", 56 - 4 * years, 46 - 3 * years)
    });
    let readings = rows.fold("pit_id,date,depth_to_liquid_in\n".to_owned(), |text, row| text + &row);
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    let told = |words: &[&str]| stdout(&run_in(folder.path(), &[words, &AS_OF[..]].concat()));
    let first_words = |text: &str| -> Vec<String> {
        let known = |line: &str| {
            ["NEW", "NEAR", "THERE"].contains(&line.split_whitespace().next().unwrap_or_default())
        };
        text.lines()
            .filter(|line| known(line))
            .map(|line| line.split_whitespace().next().unwrap().to_owned())
            .collect()
    };
    let (list, budget) = (told(&["forecast", "."]), told(&["budget", "."]));
    assert_eq!(first_words(&list), ["THERE", "NEAR", "NEW"], "{list}");
    assert_eq!(first_words(&budget)[0], "THERE", "{budget}");
    assert!(list.contains("reached") && budget.contains("at its action freeboard"), "{list}{budget}");
    let there = told(&["forecast", ".", "THERE"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(there.contains("stands at its action freeboard of 6 inches already"), "{there}");
}

/// Little is said to be little, not nothing.
#[test]
fn a_level_just_below_the_inlet_is_told_without_a_nought() {
    let text = told_of_one_pit([31.0, 30.1]);
    for said in ["stood less than half an inch below the inlet", "less than 10 gal", "in less than 0.1 days"]
    {
        assert!(text.contains(said), "{said} is missing in {text}");
    }
    assert!(!text.contains("0.0 days") && !text.contains(" 0 inches"), "{text}");
}

/// Of a level that did not rise between two readings nobody says that its rise has lately been faster.
#[test]
fn a_level_that_fell_is_not_said_to_have_risen_faster() {
    let text = told_of_one_pit([60.0, 61.0]);
    assert!(
        text.contains("no rise between 2024-05-10 and 2026-05-10. The forecast is shorter: no rise"),
        "{text}"
    );
    assert!(!text.contains("lately been faster"), "{text}");
    let stands = stdout(&run(&[&["forecast", &alder_fork(), "AF-06"], &AS_OF[..]].concat()));
    let stands = stands.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        stands.contains("The level hardly moves: it falls by up to 0.9 or rises by up to 0.8 inches a year."),
        "{stands}"
    );
    assert!(stands.contains("The forecast is longer: the level has lately risen less"), "{stands}");
}

/// Without any action freeboard a list says "inlet" alone.
#[test]
fn a_list_of_pits_without_action_freeboards_says_inlet_alone() {
    let pits = ["AF-01", "AF-02"];
    let list = stdout(&run(&[&["forecast", &alder_fork()], &pits[..], &AS_OF[..]].concat()));
    assert!(
        list.contains("reaching the inlet within 2 and 5 years") && !list.contains("action freeboard"),
        "{list}"
    );
    let all = stdout(&run(&[&["forecast", &alder_fork(), "--action-freeboard", "0in"], &AS_OF[..]].concat()));
    assert!(!all.contains("action freeboard"), "{all}");
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
