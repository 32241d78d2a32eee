//! The exhibit: the real binary on the Alder Fork logbooks and on broken ones.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, fixtures, run, run_in, stdout};
use std::fs;
use std::path::Path;
use std::process::Output;
use tempfile::{TempDir, tempdir};

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A copy of the Alder Fork logbook, and a folder to write to.
fn copied() -> (TempDir, String) {
    let folder = tempdir().unwrap();
    for file in fs::read_dir(alder_fork()).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
    }
    let path = folder.path().to_str().unwrap().to_owned();
    (folder, path)
}

fn report(logbook: &str, pit: &str, file: &Path, further: &[&str]) -> Output {
    run(&[&["report", logbook, pit, "-o", file.to_str().unwrap()], further, &AS_OF[..]].concat())
}

/// The page, which must come without a complaint.
fn page(logbook: &str, pit: &str, further: &[&str]) -> String {
    let folder = tempdir().unwrap();
    let file = folder.path().join("page.html");
    let output = report(logbook, pit, &file, further);
    assert_eq!(output.status.code(), Some(0), "{pit}: {}", stderr(&output));
    assert_eq!(stdout(&output), "");
    fs::read_to_string(file).unwrap()
}

#[test]
fn every_pit_of_the_valley_has_its_page() {
    for number in 1..=24 {
        let pit = format!("AF-{number:02}");
        let page = page(&alder_fork(), &pit, &[]);
        let title = format!("<h1>Seepage pit {pit}, ");
        for said in [
            title.as_str(),
            "Forecast as of 2026-06-30",
            "<svg ",
            "Readings: ",
            "<dt>Rests on</dt>",
            "<dt>Load</dt>",
            "<dt>Pit</dt>",
            "<dt>Measure next</dt>",
            "<dt>Method</dt>",
            "<dt>Cautions</dt>",
            "Licence number",
            "Prepared with soaklife ",
        ] {
            assert!(page.contains(said), "{pit} lacks {said}");
        }
        let has_outlook = page.contains("chance of reaching");
        assert_eq!(has_outlook, pit != "AF-13", "{pit}: nothing is left to chance at the inlet");
    }
}

#[test]
fn the_page_says_what_the_forecast_says() {
    let page = page(&alder_fork(), "AF-01", &[]);
    let told = stdout(&run(&["forecast", &alder_fork(), "AF-01", "--as-of", "2026-06-30"]));
    let sentence = told.split("\n\n").nth(1).unwrap().replace('\n', " ");
    assert!(page.contains(&format!("<p class=\"answer\">{sentence}</p>")), "{sentence}");
    assert!(page.contains("Readings: the last 12; 5 earlier ones not shown"));
    let chances = "<td class=\"number\">45 %</td><td class=\"number\">94 %</td>";
    assert!(page.contains(chances), "chances within 5 and 10 years");
    assert!(page.contains("2 persons per bedroom at 75 gal/person/day"), "the rule of the design");
}

#[test]
fn pits_with_little_to_tell_are_told_too() {
    let logbook = alder_fork();
    let none = page(&logbook, "AF-11", &[]);
    assert!(none.contains("Readings: none yet") && none.contains("Typical experience alone"));
    let at_inlet = page(&logbook, "AF-13", &[]);
    assert!(at_inlet.contains("there is no freeboard left"));
    assert!(at_inlet.contains("have the system looked at by a licensed practitioner"));
    assert!(
        at_inlet
            .contains("<dt>Load test</dt><dd>2025-10-14: The water reaches the pit, but the soil takes too")
    );
    let one = page(&logbook, "AF-10", &[]);
    assert!(one.contains("chance of reaching 6 in") && one.contains("its action freeboard of 6 inches"));
    let rectangular = page(&logbook, "AF-17", &[]);
    assert!(rectangular.contains("96 in by 72 in"));
}

#[test]
fn readings_set_aside_say_why() {
    let page = page(&alder_fork(), "AF-09", &[]);
    let slip = "<th scope=\"row\">2019-";
    let row = page.split("<tr>").find(|row| row.contains(slip) && row.contains(">89</td>")).unwrap();
    assert!(
        row.contains("<td class=\"long\">no: out of line with the others, most likely misread</td>"),
        "{row}"
    );
}

#[test]
fn units_and_paper_are_those_asked_for() {
    let metric = fixtures().join("logbooks/alder-fork-metric");
    let own = page(metric.to_str().unwrap(), "AM-01", &["--paper", "a4"]);
    assert!(own.contains("size: A4") && own.contains("rim to liquid, cm"));
    let asked = page(&alder_fork(), "AF-01", &["--units", "si"]);
    assert!(asked.contains("size: letter") && asked.contains("freeboard, cm"));
}

#[test]
fn a_pdf_holds_one_page_and_the_same_bytes_every_time() {
    let folder = tempdir().unwrap();
    let file = folder.path().join("page.pdf");
    for pit in ["AF-01", "AF-10", "AF-11", "AF-13"] {
        let made = || {
            let output = report(&alder_fork(), pit, &file, &["--paper", "a4"]);
            assert_eq!(output.status.code(), Some(0), "{pit}: {}", stderr(&output));
            fs::read(&file).unwrap()
        };
        let page = made();
        assert_eq!(page, made(), "{pit}");
        let text = String::from_utf8_lossy(&page);
        assert!(text.starts_with("%PDF-") && text.contains("/Count 1"), "{pit}");
        assert!(page.len() < 300_000, "{pit}: {} bytes", page.len());
    }
}

#[test]
fn the_fingerprint_changes_with_the_logbook_and_with_nothing_else() {
    let (folder, logbook) = copied();
    let first = page(&logbook, "AF-01", &[]);
    assert_eq!(first, page(&alder_fork(), "AF-01", &[]), "the same files elsewhere");
    let notes = folder.path().join("notes.txt");
    fs::write(notes, "no part of it").unwrap();
    assert_eq!(first, page(&logbook, "AF-01", &[]));
    let readings = folder.path().join("readings.csv");
    let mut text = fs::read_to_string(&readings).unwrap();
    text.push('\n');
    fs::write(readings, text).unwrap();
    let after = page(&logbook, "AF-01", &[]);
    let digits = |page: &str| page.split("fingerprint of the logbook ").nth(1).unwrap()[..16].to_owned();
    assert_ne!(digits(&first), digits(&after));
    assert!(digits(&first).chars().all(|digit| digit.is_ascii_hexdigit()));
}

#[test]
fn labels_are_text_and_nothing_else() {
    let (folder, logbook) = copied();
    let pits = folder.path().join("pits.csv");
    let text = fs::read_to_string(&pits).unwrap();
    fs::write(&pits, text.replace("4 Mill Race Lane", "<script src=//x></script> & <b>'4 Mill'</b>"))
        .unwrap();
    let page = page(&logbook, "AF-01", &[]);
    assert!(page.contains("&lt;script src=//x&gt;&lt;/script&gt; &amp; &lt;b&gt;'4 Mill'&lt;/b&gt;"));
    assert!(!page.contains("<script") && !page.contains("<b>"));
}

#[test]
fn a_rim_that_was_changed_is_told() {
    let raised = page(&alder_fork(), "AF-21", &[]);
    assert!(raised.contains("<dt>Rim</dt><dd>Changed 2016-05-24. Depths read before are below the old rim"));
    assert!(raised.contains(">127</td><td class=\"number\">other rim</td>"));
    assert!(!page(&alder_fork(), "AF-01", &[]).contains("<dt>Rim</dt>"));
}

#[test]
fn the_pit_is_drawn_beside_the_chart() {
    let page = page(&alder_fork(), "AF-01", &[]);
    assert_eq!(page.matches("<svg ").count(), 2);
    assert!(
        page.contains("AF-01, 4 Mill Race Lane: section as of 2026-06-30") && page.contains("6 ft across")
    );
}

#[test]
fn each_pit_gets_the_page_it_gets_alone() {
    let (logbook_folder, logbook) = copied();
    let readings = logbook_folder.path().join("readings.csv");
    let text = fs::read_to_string(&readings).unwrap();
    fs::write(readings, text.replacen("AF-01,2026-05-22,", "AF-01,2026-05-32,", 1)).unwrap();
    let folder = tempdir().unwrap();
    let single = folder.path().join("page.html");
    for (format, threads) in [("html", "1"), ("pdf", "2")] {
        let pages = folder.path().join(format!("new/{format}"));
        let further = ["--each", "--format", format, "--threads", threads, "-o", pages.to_str().unwrap()];
        let output = run(&[&["report", &logbook], &further[..], &AS_OF[..]].concat());
        assert_eq!(output.status.code(), Some(1), "a row is broken: {}", stderr(&output));
        assert_eq!(stdout(&output), "");
        assert!(stderr(&output).contains("`soaklife check` says which"));
        assert_eq!(fs::read_dir(&pages).unwrap().count(), 24);
        for pit in ["AF-01", "AF-13", "AF-24"] {
            let single = single.with_extension(format);
            report(&logbook, pit, &single, &[]);
            let together = fs::read(pages.join(format!("{pit}.{format}"))).unwrap();
            assert_eq!(together, fs::read(&single).unwrap(), "{pit}");
        }
    }
    let page = fs::read_to_string(folder.path().join("new/html/AF-01.html")).unwrap();
    assert!(page.contains("<dt>Left out</dt><dd>1 row of the logbook about this pit"));
}

#[test]
fn a_pit_without_a_page_keeps_no_other_from_its_own() {
    let (logbook_folder, logbook) = copied();
    let pits = logbook_folder.path().join("pits.csv");
    let text = fs::read_to_string(&pits).unwrap();
    let broken = text.replacen(",1984,38.0,182.0,", ",1984,182.0,38.0,", 1);
    // No stick reaches so far, and no scale could be read.
    let broken = broken.replacen("AF-02,", "AF-02/a,", 1).replacen(",46.0,202.0,", ",46.0,2000000.0,", 1);
    fs::write(&pits, broken).unwrap();
    let folder = tempdir().unwrap();
    let pages = folder.path().join("pages");
    let output = run(&[&["report", &logbook, "--each", "-o", pages.to_str().unwrap()], &AS_OF[..]].concat());
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("AF-01: its row in pits.csv cannot be used: "), "{}", stderr(&output));
    assert!(!pages.join("AF-01.pdf").exists() && !pages.join("AF-21.pdf").exists(), "{}", stderr(&output));
    assert!(pages.join("AF-02%2Fa.pdf").exists() && pages.join("AF-24.pdf").exists());
    assert_eq!(fs::read_dir(&pages).unwrap().count(), 22);
}

#[test]
fn each_and_a_pit_are_not_asked_together() {
    let folder = tempdir().unwrap();
    let at = folder.path().join("x.pdf");
    let at = at.to_str().unwrap();
    for wrong in [
        ["report", &alder_fork(), "AF-01", "--each", "-o", at].to_vec(),
        ["report", &alder_fork(), "AF-01", "--format", "html", "-o", at].to_vec(),
    ] {
        assert_eq!(run(&wrong).status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn what_cannot_be_done_is_said_with_its_code() {
    let folder = tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let logbook = alder_fork();
    for (pit, file, code, said) in [
        ("AF-O1", "page.html", 2, "There is no pit \"AF-O1\" in this logbook: was AF-01 meant?"),
        ("AF-01", "page.doc", 2, "a report is written as .html or .pdf"),
        ("AF-01", "page", 2, "a report is written as .html or .pdf"),
        ("AF-01", "no/such/page.html", 3, "cannot be written: there is no folder"),
    ] {
        let output = report(&logbook, pit, &at(file), &[]);
        assert_eq!(output.status.code(), Some(code), "{pit} {file}: {}", stderr(&output));
        assert!(stderr(&output).contains(said), "{}", stderr(&output));
        assert!(!at(file).exists());
    }
    let missing = run_in(folder.path(), &["report", "nowhere", "AF-01", "-o", "page.html"]);
    assert_eq!(missing.status.code(), Some(3), "{}", stderr(&missing));
}

#[test]
fn a_broken_pit_has_no_page_and_a_broken_row_is_told_on_it() {
    let (folder, logbook) = copied();
    let broken = |file: &str, from: &str, to: &str| {
        let path = folder.path().join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} lacks {from}");
        fs::write(path, text.replacen(from, to, 1)).unwrap();
    };
    broken("readings.csv", "AF-01,2026-05-22,", "AF-01,2026-05-32,");
    let file = folder.path().join("page.html");
    let output = report(&logbook, "AF-01", &file, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("`soaklife check` says which"));
    let page = fs::read_to_string(&file).unwrap();
    assert!(
        page.contains("<dt>Left out</dt><dd>1 row of the logbook about this pit that could not be used."),
        "{page}"
    );

    fs::remove_file(&file).unwrap();
    let pits = fs::read_to_string(folder.path().join("pits.csv")).unwrap();
    let row = pits.lines().find(|line| line.starts_with("AF-02,")).unwrap();
    let cells = row.split(',').count();
    broken("pits.csv", row, &format!("AF-02{}", ",".repeat(cells - 1)));
    let output = report(&logbook, "AF-02", &file, &[]);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert!(
        stderr(&output).starts_with("AF-02: its row in pits.csv cannot be used: "),
        "{}",
        stderr(&output)
    );
    assert!(!file.exists());
}

#[test]
fn without_a_forecast_the_readings_are_shown() {
    let folder = tempdir().unwrap();
    let file = folder.path().join("page.html");
    let output = report(&alder_fork(), "AF-11", &file, &["--method", "line"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).starts_with("The page shows the readings alone: "), "{}", stderr(&output));
    assert!(fs::read_to_string(file).unwrap().contains("No forecast yet: "));
}
