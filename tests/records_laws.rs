//! Laws of the logbook: the order of rows and columns, units and line ends change nothing; what is logged is read back.

use jiff::civil::Date;
use proptest::prelude::*;
use soaklife::date::PartialDate;
use soaklife::quantity::{Units, as_inches, inches};
use soaklife::reading::Condition;
use soaklife_records::{Entry, Found, Logbook, NewPit, NewReading, PitRecord, append_reading, create};
use std::fs;
use std::path::Path;

const TODAY: Date = Date::constant(2026, 6, 30);
const PITS: &str =
    "pit_id,inlet_depth_in,bottom_depth_in,occupants,bedrooms\nN-1,38,182,4,3\nN-2,42,190,3,3\n";

fn book(pits: &str, readings: &[u8]) -> (tempfile::TempDir, Logbook) {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), pits).unwrap();
    fs::write(folder.path().join("readings.csv"), readings).unwrap();
    let logbook = Logbook::read(folder.path(), TODAY, TODAY).unwrap();
    (folder, logbook)
}

fn pits(logbook: &Logbook) -> Vec<PitRecord> {
    logbook.pits().cloned().collect()
}

#[derive(Debug, Clone)]
struct Row {
    pit: &'static str,
    date: String,
    depth: f64,
}

fn any_row() -> impl Strategy<Value = Row> {
    (prop::sample::select(vec!["N-1", "N-2"]), 1990i32..2026, 1u8..=12, 1u8..=28, 60u32..180).prop_map(
        |(pit, year, month, day, depth)| Row {
            pit,
            date: format!("{year}-{month:02}-{day:02}"),
            depth: f64::from(depth),
        },
    )
}

fn csv(rows: &[Row], line_end: &str) -> String {
    let mut text = format!("pit_id,date,depth_to_liquid_in{line_end}");
    for row in rows {
        text.push_str(&format!("{},{},{}{line_end}", row.pit, row.date, row.depth));
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_rows_changes_nothing(rows in prop::collection::vec(any_row(), 0..20), turn in any::<prop::sample::Index>()) {
        let mut turned = rows.clone();
        turned.reverse();
        if !turned.is_empty() {
            let by = turn.index(turned.len());
            turned.rotate_left(by);
        }
        let one = book(PITS, csv(&rows, "\n").as_bytes());
        let other = book(PITS, csv(&turned, "\n").as_bytes());
        prop_assert_eq!(pits(&one.1), pits(&other.1));
    }

    #[test]
    fn columns_line_ends_and_marks_change_nothing(rows in prop::collection::vec(any_row(), 0..20)) {
        let plain = book(PITS, csv(&rows, "\n").as_bytes());
        let windows = book(PITS, format!("\u{feff}{}", csv(&rows, "\r\n")).as_bytes());
        prop_assert_eq!(pits(&plain.1), pits(&windows.1));
        let mut turned = "extra,depth_to_liquid_in,pit_id,date\n".to_owned();
        for row in &rows {
            turned.push_str(&format!("\"a, b\",{},\"{}\",{}\n", row.depth, row.pit, row.date));
        }
        let turned = book(PITS, turned.as_bytes());
        prop_assert_eq!(pits(&plain.1), pits(&turned.1));
    }

    #[test]
    fn units_change_nothing(rows in prop::collection::vec(any_row(), 0..20)) {
        let us = book(PITS, csv(&rows, "\n").as_bytes());
        let mut metric = "pit_id,date,depth_to_liquid_cm\n".to_owned();
        for row in &rows {
            metric.push_str(&format!("{},{},{}\n", row.pit, row.date, row.depth * 2.54));
        }
        let si = book(PITS, metric.as_bytes());
        for (us, si) in us.1.pits().zip(si.1.pits()) {
            for (a, b) in us.history().readings().iter().zip(si.history().readings()) {
                let (a, b) = (a.level(us.history().pit()), b.level(si.history().pit()));
                prop_assert!((as_inches(a) - as_inches(b)).abs() < 1e-9);
            }
        }
    }

    /// Any bytes as any table: problems perhaps, never a panic; every row is used or told.
    #[test]
    fn any_bytes_are_read_or_told(bytes in prop::collection::vec(any::<u8>(), 0..400), which in 0usize..6) {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("pits.csv"), PITS).unwrap();
        fs::write(folder.path().join("readings.csv"), "pit_id,date,depth_to_liquid_in\n").unwrap();
        let names = ["pits.csv", "readings.csv", "occupancy.csv", "events.csv", "load_tests.csv", "logbook.toml"];
        fs::write(folder.path().join(names[which]), &bytes).unwrap();
        let logbook = Logbook::read(folder.path(), TODAY, TODAY).unwrap();
        for problem in logbook.problems() {
            let raw_escape = problem.to_string().contains(char::from(27));
            prop_assert!(!raw_escape);
        }
    }

    /// The same with bytes that look like tables.
    #[test]
    fn any_table_is_read_or_told(text in "(N-1|N-2|date|pit_id|depth_to_liquid_in|state|dry|2025-0[1-9]-1[0-9]|[0-9]{1,3}|,|\n|\"|\r| ){0,60}", which in 0usize..5) {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("pits.csv"), PITS).unwrap();
        fs::write(folder.path().join("readings.csv"), "pit_id,date,depth_to_liquid_in\n").unwrap();
        let names = ["pits.csv", "readings.csv", "occupancy.csv", "events.csv", "load_tests.csv"];
        let header = ["pit_id,inlet_depth_in,bottom_depth_in\n", "pit_id,date,depth_to_liquid_in\n", "pit_id,from,occupants\n", "pit_id,date,event\n", "pit_id,time,added_gal\n"];
        fs::write(folder.path().join(names[which]), format!("{}{text}", header[which])).unwrap();
        let logbook = Logbook::read(folder.path(), TODAY, TODAY).unwrap();
        prop_assert!(logbook.problems().iter().all(|problem| !problem.message.is_empty()));
    }

    /// What is logged is read back, whatever the units of the file.
    #[test]
    fn what_is_logged_is_read_back(
        metric: bool,
        depth in 21.0..139.0f64,
        kind in 0u8..4,
        note in "[ -~\u{e9}\n]{0,30}",
        year in 1990i16..2026,
    ) {
        let folder = tempfile::tempdir().unwrap();
        let home = folder.path().join("home");
        begin(&home, if metric { Units::Si } else { Units::Us });
        let found = match kind {
            0 => Found::Dry,
            1 => Found::AtInlet,
            _ => Found::Depth(inches(depth)),
        };
        let reading = NewReading {
            pit_id: "H-1".to_owned(),
            date: PartialDate::month(year, 5).unwrap(),
            found,
            condition: Condition::AfterRain,
            note: note.clone(),
        };
        append_reading(&home, &reading, TODAY).unwrap();
        let logbook = Logbook::read(&home, TODAY, TODAY).unwrap();
        prop_assert!(!logbook.has_errors(), "{:?}", logbook.problems());
        let Some(Entry::Pit(pit)) = logbook.entry("H-1") else { panic!("no pit") };
        let read = pit.history().readings();
        prop_assert_eq!(read.len(), 1);
        prop_assert_eq!((read[0].date(), read[0].condition()), (reading.date, Condition::AfterRain));
        let level = as_inches(read[0].level(pit.history().pit()));
        let expected = match found {
            Found::Depth(depth) => 140.0 - as_inches(depth),
            Found::Dry => 0.0,
            Found::AtInlet => 120.0,
        };
        // The file keeps thousandths of its unit.
        prop_assert!((level - expected).abs() < 0.001, "{level} for {expected}");
    }
}

fn begin(home: &Path, units: Units) {
    let pit = NewPit {
        id: "H-1".to_owned(),
        label: "Home, \"the\" barn".to_owned(),
        installed: PartialDate::year(1980).ok(),
        inlet_depth: inches(20.0),
        bottom_depth: inches(140.0),
        diameter: Some(inches(72.0)),
        bedrooms: Some(3.0),
        occupants: Some(4.0),
        units,
    };
    create(home, &pit).unwrap();
}

#[test]
fn a_new_logbook_is_read_without_a_problem() {
    for units in [Units::Us, Units::Si] {
        let folder = tempfile::tempdir().unwrap();
        let home = folder.path().join("home");
        begin(&home, units);
        let logbook = Logbook::read(&home, TODAY, TODAY).unwrap();
        assert_eq!(logbook.problems(), []);
        assert_eq!(logbook.units(), units);
        let Some(Entry::Pit(pit)) = logbook.entry("H-1") else { panic!("no pit") };
        assert!((as_inches(pit.history().pit().effective_depth()) - 120.0).abs() < 0.001);
        assert_eq!(pit.label(), Some("Home, \"the\" barn"));
    }
}

/// A name is kept whole, however long; what a terminal would obey is spelled out.
#[test]
fn a_long_name_is_kept_whole() {
    let name = "Sixty readings behind the old creamery at the ford, second gate on the left";
    let pits = format!(
        "pit_id,label,inlet_depth_in,bottom_depth_in\nN-1,\"{name}\",38,182\nN-2,a\u{1b}[2Jb,42,190\n"
    );
    let (_folder, logbook) = book(&pits, b"pit_id,date,depth_to_liquid_in\n");
    let labels: Vec<Option<&str>> = logbook.pits().map(PitRecord::label).collect();
    assert_eq!(labels, [Some(name), Some("a\\u{1b}[2Jb")]);
}

/// Nor is the name of a pit obeyed that a message takes for the one that was meant.
#[test]
fn the_pit_that_was_meant_is_spelled_out() {
    let pits = "pit_id,inlet_depth_in,bottom_depth_in\n\u{1b}N-2,42,190\n";
    let (_folder, logbook) = book(pits, b"pit_id,date,depth_to_liquid_in\nN-2,2025-05-14,88\n");
    let told: Vec<String> = logbook.problems().iter().map(ToString::to_string).collect();
    assert!(told.concat().contains("was \\u{1b}N-2 meant?"), "{told:?}");
    assert!(!told.concat().contains('\u{1b}'), "{told:?}");
}
