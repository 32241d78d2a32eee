//! `soaklife learn` end to end, and what takes its file.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, stdout};
use soaklife_records::PriorFile;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn learn(further: &[&str]) -> String {
    let output = run(&[&["learn", &alder_fork()], &AS_OF[..], further].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    stdout(&output)
}

#[test]
fn a_small_company_is_told_that_its_pits_teach_little_and_keeps_typical_experience() {
    let output = run(&[&["learn", &alder_fork()], &AS_OF[..]].concat());
    assert!(String::from_utf8_lossy(&output.stderr).contains("23 pits with readings teach little"));
    let taught = stdout(&output);
    assert!(taught.starts_with("# Population prior learnt from 23 pits as of 2026-06-30.\n"), "{taught}");
    assert!(taught.contains("# - how restless they are: not worth taking, left as typical\n"), "{taught}");
}

#[test]
fn forecasts_take_the_file_that_learn_writes() {
    let folder = tempfile::tempdir().unwrap();
    let prior = folder.path().join("prior.toml");
    learn(&["-o", prior.to_str().unwrap()]);
    let ask = |further: &[&str]| {
        let question = ["forecast", &alder_fork(), "--format", "csv"];
        stdout(&run(&[&question[..], &AS_OF, further].concat()))
    };
    // Nothing was worth taking, so the file says what the logbook says.
    assert_eq!(ask(&["--prior", prior.to_str().unwrap()]), ask(&[]));
}

#[test]
fn a_part_left_out_teaches_nothing() {
    let taught_by = |text: &str| -> usize {
        let line = text.lines().next().unwrap();
        line.split_whitespace().find_map(|word| word.parse().ok()).unwrap()
    };
    let without = |part: &str| taught_by(&learn(&["--leave-out", part]));
    // Each of 23 pits is left out once in five.
    let parts = ["1/5", "2/5", "3/5", "4/5", "5/5"];
    assert_eq!(parts.map(without).iter().sum::<usize>(), 4 * 23);
    for wrong in ["0/5", "6/5", "1/1", "half"] {
        let refused = run(&[&["learn", &alder_fork(), "--leave-out", wrong], &AS_OF[..]].concat());
        assert_eq!(refused.status.code(), Some(2), "{wrong}");
    }
}

#[test]
fn backtest_replays_with_what_the_other_pits_teach() {
    let replayed = |further: &[&str]| {
        let output =
            run(&[&["backtest", &alder_fork(), "--methods", "absorption"], &AS_OF[..], further].concat());
        assert_eq!(output.status.code(), Some(0));
        stdout(&output)
    };
    assert!(replayed(&["--learnt"]).contains("215 replays on 21 pits"));
}

/// Pits of two makers read three or four times, those of Reyes rising four times as fast; a pit of each that nobody has read yet,
/// and one of a third maker.
fn two_makers(folder: &Path) -> String {
    let mut pits = String::from("pit_id,installed,inlet_depth_in,bottom_depth_in,bedrooms,occupants,maker\n");
    let mut readings = String::from("pit_id,date,depth_to_liquid_in\n");
    for (maker, inches_a_year) in [("Hale", 1.5), ("Reyes", 6.0)] {
        for number in 0..100 {
            let installed = 2014 + number * 7 % 9;
            let _ = writeln!(pits, "{maker}-{number},{installed}-05-01,30,200,3,3,{maker}");
            let pace = inches_a_year * (0.6 + 0.1 * f64::from(number * 3 % 8));
            for year in (installed + 1).max(2022)..2026 {
                let level = 4.0 + pace * f64::from(year - installed);
                let _ = writeln!(readings, "{maker}-{number},{year}-05-01,{:.1}", 200.0 - level);
            }
        }
        let _ = writeln!(pits, "{maker}-new,2020-05-01,30,200,3,3,{maker}");
    }
    let _ = writeln!(pits, "Smith-new,2020-05-01,30,200,3,3,Smith");
    fs::write(folder.join("pits.csv"), pits).unwrap();
    fs::write(folder.join("readings.csv"), readings).unwrap();
    folder.to_str().unwrap().to_owned()
}

fn ask(args: &[&str]) -> String {
    let output = run(&[args, &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    stdout(&output)
}

/// Years to the inlet, with 10 % probability, of the pits that nobody has read.
fn years_of_new_pits(folder: &str, prior: &str) -> [f64; 3] {
    let table = ask(&["forecast", folder, "--prior", prior, "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let early = reader.headers().unwrap().iter().position(|name| name == "years_p10").unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    ["Hale-new", "Reyes-new", "Smith-new"].map(|id| {
        let row = rows.iter().find(|row| row[0] == *id).unwrap();
        row[early].parse().unwrap()
    })
}

#[test]
fn makers_that_differ_are_told_apart_by_every_verb_that_takes_the_file() {
    let home = tempfile::tempdir().unwrap();
    let folder = two_makers(home.path());
    let file = |name: &str| home.path().join(name).to_str().unwrap().to_owned();
    let (grouped, fleet_only) = (file("grouped.toml"), file("fleet.toml"));
    ask(&["learn", &folder, "--by", "maker", "-o", &grouped]);
    ask(&["learn", &folder, "-o", &fleet_only]);

    let text = fs::read_to_string(&grouped).unwrap();
    for said in [
        "# Population prior learnt from 200 pits",
        "# Groups by \"maker\", each learnt on top of the fleet.",
        "# - \"Reyes\", 100 pits: ",
        "\nby = \"maker\"\n",
        "\n[groups.Reyes",
    ] {
        assert!(text.contains(said), "{said:?} is missing in:\n{text}");
    }
    let priors = PriorFile::read(&text).unwrap();
    assert_eq!(priors.whole, PriorFile::read(&fs::read_to_string(&fleet_only).unwrap()).unwrap().whole);
    let groups = priors.groups.unwrap().priors;
    let load = |maker: &str| groups[maker].reference_load;
    // Reyes reaches the same level with less load.
    assert!(
        load("Reyes") < priors.whole.reference_load && priors.whole.reference_load < load("Hale"),
        "{text}"
    );

    let [slow, swift, other] = years_of_new_pits(&folder, &grouped);
    let alone = years_of_new_pits(&folder, &fleet_only);
    assert!(alone.iter().all(|years| *years == alone[0]), "the same pit three times: {alone:?}");
    assert_eq!(other, alone[2], "a group that is not in the file is as the fleet");
    assert!(swift < other && other < slow, "{swift}, {other}, {slow}");

    let told = |pit: &str| ask(&["forecast", &folder, pit, "--prior", &grouped]);
    assert!(told("Reyes-new").contains("experience is that of the pits with maker \"Reyes\""));
    assert!(told("Smith-new").contains("experience is that of the whole fleet"));

    let expected = |prior: &str| -> Vec<f64> {
        let told = ask(&["budget", &folder, "--by", "maker", "--prior", prior, "--format", "json"]);
        let told: serde_json::Value = serde_json::from_str(&told).unwrap();
        let groups = told["groups"].as_array().unwrap();
        groups.iter().map(|group| group["years"][10]["count_by_end"]["expected"].as_f64().unwrap()).collect()
    };
    let (by_group, by_fleet) = (expected(&grouped), expected(&fleet_only));
    assert!(by_group[0] < by_fleet[0] && by_group[1] > by_fleet[1], "{by_group:?} and {by_fleet:?}");
    assert_eq!(by_group[2], by_fleet[2]);

    let replays = ask(&["backtest", &folder, "--methods", "absorption", "--learnt", "--by", "maker"]);
    assert_ne!(replays, ask(&["backtest", &folder, "--methods", "absorption", "--learnt"]));
}

#[test]
fn what_is_learnt_is_the_same_on_any_number_of_threads_and_in_any_order_of_readings() {
    let home = tempfile::tempdir().unwrap();
    let folder = two_makers(home.path());
    let learn = |threads: &str| ask(&["learn", &folder, "--by", "maker", "--threads", threads]);
    let one = learn("1");
    assert!(one == learn("3"));
    let readings = fs::read_to_string(home.path().join("readings.csv")).unwrap();
    let mut rows: Vec<&str> = readings.lines().collect();
    rows[1..].reverse();
    fs::write(home.path().join("readings.csv"), rows.join("\n") + "\n").unwrap();
    assert!(one == learn("2"));
}

#[test]
fn a_logbook_without_the_column_is_asked_by_the_whole_fleet_with_one_warning() {
    let home = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = home.path().join(name);
        fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let fleet = file("fleet.toml", "reference_load = 9.0\n");
    let grouped =
        file("grouped.toml", "by = \"moon\"\nreference_load = 9.0\n[groups.full]\nreference_load = 4.0\n");
    let question = ["forecast", &alder_fork(), "--format", "csv", "--as-of", "2026-06-30", "--prior"];
    let output = run(&[&question[..], &[&grouped]].concat());
    assert_eq!(output.stdout, run(&[&question[..], &[&fleet]].concat()).stdout);
    let warned = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(
        (warned.matches("There is no column \"moon\"").count(), output.status.code()),
        (1, Some(0)),
        "{warned}"
    );

    let broken = file("broken.toml", "by = \"soil\"\n\n[groups.sand]\nstik_in = 2\n");
    let refused = run(&[&question[..], &[&broken]].concat());
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        told.contains("broken.toml: line 4, column 1: group \"sand\": unknown field `stik_in`"),
        "{told}"
    );
}

#[test]
fn a_column_that_cannot_group_is_refused() {
    let home = tempfile::tempdir().unwrap();
    let rows = |row: &dyn Fn(usize) -> String| (0..501).map(row).collect::<String>();
    let pits = rows(&|pit| format!("P{pit},30,200,lot {pit}\n"));
    fs::write(home.path().join("pits.csv"), format!("pit_id,inlet_depth_in,bottom_depth_in,lot\n{pits}"))
        .unwrap();
    let readings = rows(&|pit| format!("P{pit},2024-05-01,150\n"));
    fs::write(home.path().join("readings.csv"), format!("pit_id,date,depth_to_liquid_in\n{readings}"))
        .unwrap();
    let folder = home.path().to_str().unwrap();
    for (args, said) in [
        (
            &["learn", folder, "--by", "lot"][..],
            "more than 500 different groups: choose a column that many pits share",
        ),
        (&["learn", folder, "--by", "lott"], "There is no column \"lott\" to group by: was lot meant?"),
        (&["backtest", folder, "--by", "lot"], "--learnt"),
    ] {
        let output = run(args);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{args:?}: {told}");
        assert!(told.contains(said), "{args:?}: {told}");
    }
}
