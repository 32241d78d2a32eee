//! The report of a fleet: the real binary on the Alder Fork logbooks, on one pit, on many, and on broken ones.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod run;

use run::{alder_fork, fixtures, run, stdout};
use soaklife::wording::fleet::{amount_number, count_number, expected_number};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Output;
use tempfile::tempdir;

const AS_OF: [&str; 2] = ["--as-of", "2026-06-30"];

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn report(logbook: &str, file: &Path, further: &[&str]) -> Output {
    run(&[&["report", logbook, "-o", file.to_str().unwrap()], further, &AS_OF[..]].concat())
}

/// The report as HTML with the exit code expected.
fn html(logbook: &str, further: &[&str], code: i32) -> String {
    let folder = tempdir().unwrap();
    let file = folder.path().join("fleet.html");
    let output = report(logbook, &file, further);
    assert_eq!(output.status.code(), Some(code), "{}", stderr(&output));
    assert_eq!(stdout(&output), "");
    fs::read_to_string(file).unwrap()
}

fn pdf(logbook: &str, further: &[&str]) -> Vec<u8> {
    let folder = tempdir().unwrap();
    let file = folder.path().join("fleet.pdf");
    let output = report(logbook, &file, further);
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", stderr(&output));
    fs::read(file).unwrap()
}

/// The number of pages that a PDF says it has (ISO 32000-1, 7.7.3.2: the largest `Count` of its page tree).
fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    let counts = text.split("/Type/Pages/Count ").skip(1);
    let number =
        |count: &str| count.split(|letter: char| !letter.is_ascii_digit()).next().unwrap().parse().unwrap();
    counts.map(number).max().unwrap()
}

/// The cells of the rows of a table, each row begun by its heading.
fn rows(html: &str, caption: &str) -> Vec<Vec<String>> {
    let table =
        html.split(&format!("<caption>{caption}")).nth(1).unwrap_or_else(|| panic!("no table {caption}"));
    let body = table.split("<tbody>").nth(1).unwrap().split("</tbody>").next().unwrap();
    let cells = |row: &str| {
        row.split("</t")
            .filter_map(|cell| cell.rsplit_once('>').map(|(_, text)| text.to_owned()))
            .filter(|text| !text.trim().is_empty())
            .collect()
    };
    body.split("<tr>").skip(1).map(|row| cells(row.split("</tr>").next().unwrap())).collect()
}

/// A row of `budget --format csv` from now to the end of a year: expected count, its range, expected cost, its range.
fn budgeted(csv: &str, year: &str) -> [String; 4] {
    let mut rows = csv.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let names = rows.next().unwrap();
    let place = |name: &str| names.iter().position(|known| *known == name).unwrap();
    let is_it = |row: &Vec<&str>| row[place("year")] == year && row[place("span")].starts_with("from now");
    let row = rows.find(is_it).unwrap_or_else(|| panic!("no row of {year}"));
    let number = |name: &str| row[place(name)].parse::<f64>().unwrap();
    let range = |of: &str, told: fn(f64) -> String| {
        let (low, high) = (told(number(&format!("{of}_p10"))), told(number(&format!("{of}_p90"))));
        if low == high { low } else { format!("{low} to {high}") }
    };
    [
        expected_number(number("count_expected")),
        range("count", count_number),
        amount_number(number("cost_expected")),
        range("cost", amount_number),
    ]
}

/// A folder with a logbook of so many pits, each with three readings.
fn fleet(folder: &Path, pits: usize) -> String {
    let mut rows = "pit_id,label,inlet_depth_in,bottom_depth_in\n".to_owned();
    let mut readings = "pit_id,date,depth_to_liquid_in\n".to_owned();
    for place in 0..pits {
        let _ = writeln!(rows, "P-{place:04},{} Quarry Road,30,210", place + 1);
        for (year, further) in [(2022, 9.0), (2024, 4.0), (2026, 0.0)] {
            let depth = 40.0 + (place * 7919 % 1300) as f64 / 10.0 + further;
            let _ = writeln!(readings, "P-{place:04},{year}-05-10,{depth:.1}");
        }
    }
    fs::write(folder.join("pits.csv"), rows).unwrap();
    fs::write(folder.join("readings.csv"), readings).unwrap();
    folder.to_str().unwrap().to_owned()
}

#[test]
fn the_report_of_the_valley_has_every_part() {
    let html = html(&alder_fork(), &[], 0);
    for said in [
        "<h1>Seepage pits: alder-fork</h1>",
        "as of 2026-06-30",
        "<h2>Summary</h2>",
        "<h2>Budget</h2>",
        "<h2>When each pit reaches its inlet or action freeboard</h2>",
        "<h2>Readings and forecast of each pit</h2>",
        "Set aside USD",
        "What is assumed:",
        "Counted are first failures",
        "Sewage gas kills without warning".to_lowercase().as_str(),
        "Local code and licensed practitioners decide",
        "Prepared with soaklife ",
        "fingerprint of the logbook ",
        "alder-fork: years to the inlet or action freeboard, 24 pits",
        "alder-fork: readings and forecasts, 24 pits",
    ] {
        assert!(html.contains(said), "the report lacks {said}");
    }
    assert!(!html.contains("<h2>Pits not in the budget</h2>") && !html.contains("are not shown"));
    for pit in 1..=24 {
        let id = format!("AF-{pit:02}");
        // The ladder, the panel, and both of their descriptions.
        assert!(html.matches(&id).count() >= 4, "{id}");
    }
}

#[test]
fn its_numbers_are_those_of_the_budget() {
    for further in [&[][..], &["--years", "7", "--common-factor", "0.1", "--cost-spread", "0.5"]] {
        let csv =
            stdout(&run(&[&["budget", &alder_fork(), "--format", "csv"], further, &AS_OF[..]].concat()));
        let html = html(&alder_fork(), further, 0);
        let due = rows(&html, "Pits due");
        let ends: Vec<&str> = due.iter().map(|row| row[0].as_str()).collect();
        let last = if further.is_empty() { "by end of 2036" } else { "by end of 2033" };
        assert_eq!(ends, ["by end of 2027", "by end of 2028", "by end of 2031", last]);
        for row in due {
            let year = row[0].trim_start_matches("by end of ");
            assert_eq!(row[1..], budgeted(&csv, year), "{year}");
        }
    }
}

#[test]
fn whom_to_see_first_is_the_visit_list_of_the_budget() {
    let folder = tempdir().unwrap();
    let list = folder.path().join("visits.csv");
    let visits = |count: &str| {
        let file = list.to_str().unwrap();
        let output =
            run(&[&["budget", &alder_fork(), "--visits", count, "--visit-list", file], &AS_OF[..]].concat());
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        let text = fs::read_to_string(&list).unwrap();
        let ids: Vec<String> =
            text.lines().skip(1).map(|row| row.split(',').nth(1).unwrap().to_owned()).collect();
        ids
    };
    let told = |html: &str, caption: &str| -> Vec<String> {
        rows(html, caption).into_iter().map(|row| row[0].clone()).collect()
    };
    let usual = html(&alder_fork(), &[], 0);
    assert_eq!(told(&usual, "Whom to see first"), visits("10"));
    let many = html(&alder_fork(), &["--visits", "20"], 0);
    let all = visits("20");
    assert_eq!(told(&many, "Whom to see first: the first 10 of 20 visits"), all[..10]);
    assert_eq!(told(&many, "20 visits a year, the most urgent first"), all);
    assert!(!html(&alder_fork(), &["--visits", "0"], 0).contains("Whom to see first"));
}

#[test]
fn a_pdf_has_the_same_bytes_at_any_number_of_threads() {
    let folder = tempdir().unwrap();
    let many = fleet(folder.path(), 300);
    for (logbook, count) in [(alder_fork(), 4), (many, 23)] {
        let first = pdf(&logbook, &["--threads", "1"]);
        assert!(first == pdf(&logbook, &["--threads", "3"]) && first == pdf(&logbook, &[]), "{logbook}");
        let text = String::from_utf8_lossy(&first);
        assert!(text.starts_with("%PDF-") && text.contains("/Outlines"), "{logbook}");
        assert_eq!(pages(&first), count, "{logbook}");
    }
}

#[test]
fn one_pit_and_metric_logbooks_have_a_report_too() {
    let folder = tempdir().unwrap();
    let one = html(&fleet(folder.path(), 1), &["--paper", "a4"], 0);
    assert!(one.contains("of 1 pit to reach the inlet") && one.contains("For this pit alone, set aside"));
    assert!(one.contains("size: A4"));
    let metric = fixtures().join("logbooks/alder-fork-metric");
    let own = html(metric.to_str().unwrap(), &[], 0);
    assert!(own.contains("down: freeboard, cm"));
    assert!(html(&alder_fork(), &["--units", "si"], 0).contains("down: freeboard, cm"));
}

#[test]
fn of_many_pits_the_most_urgent_are_shown_and_the_others_counted() {
    let folder = tempdir().unwrap();
    let logbook = fleet(folder.path(), 2300);
    let html = html(&logbook, &[], 0);
    let counted =
        "Shown are the 1,000 pits that are the likeliest to be there soon; 1,300 more are not shown.";
    assert_eq!(html.matches(counted).count(), 2);
    assert!(html.contains("pits 961 to 1,000 of 1,000") && html.contains("of 2,300 pits to reach the inlet"));
    // The pits shown are those that are the likeliest to be there soon in the table of the forecast.
    let csv = stdout(&run(&[&["forecast", &logbook, "--format", "csv"], &AS_OF[..]].concat()));
    let mut lines = csv.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let names = lines.next().unwrap();
    let column = |row: &[&str], name: &str| {
        let place = names.iter().position(|known| *known == name).unwrap();
        row[place].parse::<f64>().unwrap_or(f64::INFINITY)
    };
    let key = |row: &[&str]| {
        let chances = ["chance_2y", "chance_5y", "chance_10y"].map(|name| -column(row, name));
        [chances[0], chances[1], chances[2], column(row, "years_p50")]
    };
    let mut pits: Vec<([f64; 4], &str)> = lines.map(|row| (key(&row), row[0])).collect();
    pits.sort_by(|a, b| a.0.partial_cmp(&b.0).unwrap().then(a.1.cmp(b.1)));
    let shown = |id: &str| html.contains(&format!("{id}: "));
    // The table rounds, so who stands at the border may stand on either side of it.
    assert!(pits[..980].iter().all(|(_, id)| shown(id)));
    assert!(pits[1020..].iter().all(|(_, id)| !shown(id)));
}

#[test]
fn tables_in_another_order_than_the_pits_give_the_same_report() {
    let folder = tempdir().unwrap();
    let logbook = fleet(folder.path(), 2300);
    let without_fingerprint = |html: String| {
        html.lines()
            .filter(|line| !line.contains("fingerprint of the logbook"))
            .collect::<Vec<_>>()
            .join("\n")
    };
    let ordered = without_fingerprint(html(&logbook, &[], 0));
    let file = folder.path().join("readings.csv");
    let text = fs::read_to_string(&file).unwrap();
    let (heading, rows) = text.split_once('\n').unwrap();
    let backward: Vec<&str> = rows.lines().rev().collect();
    fs::write(&file, format!("{heading}\n{}\n", backward.join("\n"))).unwrap();
    assert!(ordered == without_fingerprint(html(&logbook, &[], 0)));
}

#[test]
fn pits_without_a_forecast_are_listed_with_the_reason() {
    let folder = tempdir().unwrap();
    for file in fs::read_dir(alder_fork()).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
    }
    let pits = folder.path().join("pits.csv");
    let text = fs::read_to_string(&pits).unwrap();
    let changed =
        text.replace("1991,42.0,210.0", "1991,42.0,twelve feet").replace("4 Mill Race Lane", "<b>4 & 5</b>");
    assert_ne!(text, changed);
    fs::write(&pits, changed).unwrap();
    let logbook = folder.path().to_str().unwrap();
    let html = html(logbook, &[], 1);
    let section = html.split("<h2>Pits not in the budget</h2>").nth(1).unwrap();
    assert!(section.contains("Without a forecast: 1 pit."));
    assert!(
        section.contains("<dt>AF-02</dt><dd>bottom_depth_in &quot;twelve feet&quot; is not a number"),
        "{section}"
    );
    assert!(html.contains("Not in these numbers: 1 pit; the last section says why."));
    assert!(html.contains("of 23 pits to reach the inlet"));
    assert!(html.contains("&lt;b&gt;4 &amp; 5&lt;/b&gt;") && !html.contains("<b>"));

    let output = report(logbook, &folder.path().join("fleet.pdf"), &[]);
    assert!(stderr(&output).contains("1 pit not in the budget"), "{}", stderr(&output));
}

#[test]
fn a_logbook_without_a_usable_pit_says_so() {
    let folder = tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), "pit_id,inlet_depth_in,bottom_depth_in\nA,200,20\n").unwrap();
    fs::write(folder.path().join("readings.csv"), "pit_id,date,depth_to_liquid_in\n").unwrap();
    let html = html(folder.path().to_str().unwrap(), &[], 1);
    assert!(html.contains("There is no pit with a forecast"));
    assert!(html.contains("<dt>A</dt>") && !html.contains("<svg "));
}

#[test]
fn options_of_the_one_are_refused_by_the_other() {
    let folder = tempdir().unwrap();
    let file = folder.path().join("fleet.pdf");
    for (further, said) in [
        (&["--method", "line"][..], "<PIT|--each>"),
        (&["--coverage", "0.9"], "<PIT|--each>"),
        (&["--format", "html"], "--each"),
        (&["--each", "--visits", "5"], "--visits"),
        (&["AF-01", "--years", "5"], "--years"),
        (&["AF-01", "--threads", "1"], "--threads"),
    ] {
        let output = report(&alder_fork(), &file, further);
        assert_eq!(output.status.code(), Some(2), "{further:?}: {}", stderr(&output));
        assert!(stderr(&output).contains(said), "{further:?}: {}", stderr(&output));
        assert!(!file.exists());
    }
    let missing = report("nowhere", &file, &[]);
    assert_eq!(missing.status.code(), Some(3), "{}", stderr(&missing));
}
