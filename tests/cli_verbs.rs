//! Figures, usage, help and the verbs that keep a logbook, by the real binary.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, run, run_in, stdout};
use std::fs;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

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
    let cases: [(&[&str], i32, &str); 20] = [
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

/// The ladder goes to what the list goes to: the inlet, or the action freeboard of a pit that has one or is asked for one.
#[test]
fn a_ladder_names_the_action_freeboards_to_which_it_counts() {
    let folder = tempfile::tempdir().unwrap();
    let (logbook, file) = (alder_fork(), folder.path().join("ladder.svg").to_str().unwrap().to_owned());
    let ladder = |further: &[&str]| {
        let words = [&["chart", &logbook, "--figure", "ladder", "-o", &file], &AS_OF[..], further].concat();
        assert_eq!(run(&words).status.code(), Some(0));
        fs::read_to_string(&file).unwrap()
    };
    assert!(ladder(&[]).contains("years to the inlet or action freeboard, 24 pits"));
    assert!(!ladder(&["AF-01", "AF-02"]).contains("action freeboard"));
    assert!(
        ladder(&["AF-01", "AF-02", "--action-freeboard", "6in"])
            .contains("inlet or action freeboard, 2 pits")
    );
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
