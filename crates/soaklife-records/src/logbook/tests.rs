//! Nothing is silently dropped, guessed or shown raw: small logbooks, each with one trap.

mod bounds;

use super::*;
use crate::append::{AppendError, Found, NewReading, append_reading};
use crate::problem::ProblemKind;
use soaklife::reading::{Condition, Observation};
use std::fs;
use std::time::Instant;

const TODAY: Date = Date::constant(2026, 6, 30);
const PITS: &str = "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,occupants,bedrooms\nN-1,38,182,6,4,3\n";
const READINGS: &str = "pit_id,date,depth_to_liquid_in,state,note\nN-1,2024-05-14,90,,\n";

/// A logbook of files given by name and text.
fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("pits.csv", PITS), ("readings.csv", READINGS)].iter().chain(files) {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn read(files: &[(&str, &str)], as_of: Date) -> Logbook {
    Logbook::read(folder(files).path(), TODAY, as_of).unwrap()
}

fn told(logbook: &Logbook) -> Vec<String> {
    logbook.problems().iter().map(ToString::to_string).collect()
}

#[test]
fn what_was_read_never_reaches_a_terminal_raw_or_at_length() {
    let zeros = "0".repeat(100_000);
    let readings = [
        format!("{READINGS}N-1,2025-05-14,\u{1b}[2J88,dry,\n"), // contradicts its state and is no number
        format!("{READINGS}N-1,2025-05-14,{zeros}500,,\n"),     // far below the bottom
        format!("{READINGS}N-1,2025-05-14,{zeros}20,,\n"),      // above the inlet
    ];
    for text in readings {
        let told = told(&read(&[("readings.csv", &text)], TODAY));
        assert!(!told.is_empty());
        for line in told {
            assert!(!line.contains('\u{1b}') && line.len() < 400, "{} bytes: {line:.80}", line.len());
        }
    }
    let pits = format!("{PITS}X\u{1b}[2J,38,182,,,\nY\u{1b}[2J,190,40,,,\n");
    let readings = format!("{READINGS}Y\u{1b}[2J,2024-05-14,90,,\n");
    let told = told(&read(&[("pits.csv", &pits), ("readings.csv", &readings)], TODAY));
    assert_eq!(told.len(), 5, "{told:?}");
    assert!(told.iter().all(|line| !line.contains('\u{1b}')), "{told:?}");
}

#[test]
fn a_pit_listed_again_after_a_bad_row_is_told_with_that_row() {
    let pits = format!("{PITS}N-3,190,40,,,\nN-3,38,182,,,\n");
    let logbook = read(&[("pits.csv", &pits)], TODAY);
    let again = told(&logbook).pop().unwrap_or_default();
    assert!(again.starts_with("pits.csv:4:1: error: pit_id \"N-3\" stands in line 3 already"), "{again}");
    assert!(again.ends_with("Neither row is used"), "{again}");
    assert!(matches!(logbook.entry("N-3"), Some(Entry::Rejected(_))));
}

#[test]
fn each_column_of_a_pit_arrives_as_it_was_written() {
    let pits = "pit_id,label,road,inlet_depth_in,bottom_depth_in,length_ft,width_m,liquid_fraction,bedrooms,\
                design_flow_gpd,occupants,soil,action_freeboard_cm,replacement_cost\n\
                N-1,Mill,East,38,182,8,1.5,0.5,3,360,2,clay,30.48,16500\n\
                N-2,,,40,200,8,2,,4,,5,,,\nN-3,,,40,200,8,2,,1,,1,,,\nN-4,,,40,200,8,2,,,,,,,\n";
    let readings = "pit_id,date,depth_to_liquid_in\nN-1,2024-05-14,90\n";
    let logbook = read(&[("pits.csv", pits), ("readings.csv", readings)], TODAY);
    let pit = logbook.pits().next().unwrap();
    assert_eq!((pit.id(), pit.label(), pit.soil()), ("N-1", Some("Mill"), Soil::Clay));
    assert_eq!(pit.further(), [("road".to_owned(), "East".to_owned())]);
    assert_eq!((pit.bedrooms(), pit.replacement_cost()), (Some(3.0), Some(16_500.0)));
    assert_eq!((soaklife::quantity::as_inches(pit.action_freeboard()) * 1e6).round(), 12e6);
    let gallons = |flow: soaklife::quantity::VolumeRate| {
        (soaklife::quantity::as_gallons_per_day(flow) * 1e6).round() / 1e6
    };
    let uses = |pit: &PitRecord| pit.current_use().map(|now| (gallons(now.flow), now.basis.to_string()));
    let designs = |pit: &PitRecord| pit.design().map(|design| gallons(design.flow));
    // A stated design goes before bedrooms; 58.6 gal a person and day is what the settings say.
    let words = |number: &str| Some(format!("{number} at 58.6 gal/person/day"));
    let expected = [
        (Some(360.0), Some(117.2), words("2 persons")),
        (Some(600.0), Some(293.0), words("5 persons")),
        (Some(150.0), Some(58.6), words("1 person")),
        (None, None, None),
    ];
    for (pit, (design, flow, basis)) in logbook.pits().zip(expected) {
        let now = uses(pit);
        assert_eq!(designs(pit), design, "{}", pit.id());
        assert_eq!((now.as_ref().map(|now| now.0), now.map(|now| now.1)), (flow, basis), "{}", pit.id());
    }
    let others: Vec<_> = logbook.pits().skip(1).collect();
    assert!(others.iter().all(|pit| pit.soil() == Soil::Unknown && pit.replacement_cost().is_none()));
    assert_eq!(others.iter().map(|pit| pit.bedrooms()).collect::<Vec<_>>(), [Some(4.0), Some(1.0), None]);
    assert!(!logbook.has_errors());
    let told = told(&logbook);
    assert!(
        told.len() == 2 && told.iter().all(|line| line.starts_with("pits.csv:5: warning: N-4: ")),
        "{told:?}"
    );
}

#[test]
fn settings_and_reasons_can_be_asked_for() {
    let pits = format!("{PITS}N-3,190,40,,,\n");
    let settings = "[money]\ncurrency = \"CAD\"\n";
    let logbook = read(&[("pits.csv", &pits), ("logbook.toml", settings)], TODAY);
    assert_eq!((logbook.settings().currency(), logbook.has_errors()), ("CAD", true));
    let Some(Entry::Rejected(pit)) = logbook.entry("N-3") else { panic!("the inlet is below the bottom") };
    assert!(pit.id() == "N-3" && pit.reason().contains("could not be used"), "{}", pit.reason());
}

#[test]
fn a_further_column_may_begin_like_a_known_one() {
    let pits = "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,occupants,bedrooms,inlet_depth_note\n\
                N-1,38,182,6,4,3,drawing\n";
    let logbook = read(&[("pits.csv", pits)], TODAY);
    assert_eq!(told(&logbook), [""; 0]);
    let pit = logbook.pits().next().unwrap();
    assert_eq!(pit.further(), [("inlet_depth_note".to_owned(), "drawing".to_owned())]);
    // A unit that is not one of ours is still refused.
    let told = told(&read(&[("pits.csv", &pits.replace("inlet_depth_in", "inlet_depth_mm"))], TODAY));
    assert!(told.iter().any(|line| line.contains("a unit that is not understood")), "{told:?}");
}

#[test]
fn a_value_with_text_after_its_closing_quote_is_not_used() {
    let readings = format!("{READINGS}N-1,2025-05-14,\"8\"8,,\nN-1,2026-05-14,85,,\"lid\"stuck\n");
    let logbook = read(&[("readings.csv", &readings)], TODAY);
    let pit = logbook.pits().next().unwrap();
    assert_eq!(pit.history().readings().len(), 2, "the note costs no reading, the depth does");
    let told = told(&logbook);
    assert!(told[0].starts_with("readings.csv:3:3: error: text follows a closing quote"), "{told:?}");
    assert!(told[1].starts_with("readings.csv:4:5: warning: text follows a closing quote"), "{told:?}");
}

#[test]
fn rows_of_a_pit_that_was_left_out_are_counted_in_every_table() {
    let pits = format!("{PITS}N-3,190,40,,,\n");
    let files = [
        ("pits.csv", pits.as_str()),
        ("readings.csv", "pit_id,date,depth_to_liquid_in\nN-3,2024-05-14,90\n"),
        ("occupancy.csv", "pit_id,from,occupants\nN-3,2020,4\n"),
        ("events.csv", "pit_id,date,event\nN-3,2020-05-05,pumped_out\nN-3,2021-05-05,pumped_out\n"),
        ("load_tests.csv", "pit_id,time,added_gal\nN-3,2020-05-05T09:00,0\n"),
    ];
    let with_pit = read(&files, TODAY);
    let counted = |logbook: &Logbook| {
        let of_kind = logbook.problems().iter().filter(|problem| problem.kind == ProblemKind::PitLeftOut);
        of_kind.map(|problem| problem.file.clone()).collect::<Vec<_>>()
    };
    assert_eq!(counted(&with_pit), ["readings.csv", "occupancy.csv", "events.csv", "load_tests.csv"]);
    assert!(told(&with_pit).iter().any(|line| line.contains("events.csv: warning: 2 rows of N-3")));
    let mut no_pit = files;
    no_pit[0].1 = "pit_id,inlet_depth_in,bottom_depth_in\n";
    assert_eq!(counted(&read(&no_pit, TODAY)).len(), 4);
}

#[test]
fn a_household_still_to_come_on_the_day_of_the_forecast_says_nothing_about_the_load() {
    let occupancy = "pit_id,from,occupants\nN-1,2026-03-01,9\n";
    let as_of = Date::constant(2026, 1, 1);
    let earlier = read(&[("occupancy.csv", occupancy)], as_of);
    // 4 persons at 58.6 gal/day of a design of 450 gal/day.
    let ratio =
        |logbook: &Logbook, day| logbook.pits().next().unwrap().history().load().unwrap().ratio_at(day);
    assert!((ratio(&earlier, as_of) - 4.0 * 58.6 / 450.0).abs() < 1e-12);
    assert_eq!(
        told(&earlier),
        ["occupancy.csv: warning: 1 row is dated after the day of the forecast (2026-01-01) and not used"]
    );
    let later = read(&[("occupancy.csv", occupancy)], TODAY);
    assert!((ratio(&later, TODAY) - 9.0 * 58.6 / 450.0).abs() < 1e-12);
}

#[test]
fn a_number_too_large_for_a_load_is_told() {
    let occupancy = "pit_id,from,occupants\nN-1,2020,1e307\n";
    let told_of = |files: &[(&str, &str)]| told(&read(files, TODAY)).join("\n");
    assert!(told_of(&[("occupancy.csv", occupancy)]).contains("so many persons cannot live in a house"));
    let pits = PITS.replace(",4,3", ",4,1e307");
    assert!(told_of(&[("pits.csv", &pits)]).contains("so many bedrooms cannot be"));
    let pits = PITS.replace("bedrooms", "design_flow_gpd").replace(",4,3", ",4,1e-308");
    assert!(told_of(&[("pits.csv", &pits)]).contains("the load is not known"));
}

#[test]
fn at_the_bottom_a_pit_is_dry_in_any_unit() {
    for (unit, depth) in [("in", "182"), ("cm", "462.28"), ("m", "4.6228"), ("ft", "15.166666666666666")] {
        let readings = format!("pit_id,date,depth_to_liquid_{unit}\nN-1,2024-05-14,{depth}\n");
        let logbook = read(&[("readings.csv", &readings)], TODAY);
        let found = logbook.pits().next().unwrap().history().readings()[0].observation();
        assert_eq!(found, Observation::Dry, "{unit}");
        assert_eq!(told(&logbook), [""; 0], "{unit}");
    }
}

/// Twenty thousand strange identifiers against five thousand pits took 16 s when each was compared with each.
#[test]
fn strange_identifiers_by_the_thousand_cost_little() {
    let mut pits = PITS.to_owned();
    let mut readings = READINGS.to_owned();
    for number in 0..5_000 {
        pits.push_str(&format!("P-{number:06},38,182,6,4,3\n"));
    }
    for number in 0..20_000 {
        readings.push_str(&format!("P-{:05}x{number},2024-05-14,90,,\n", number % 5_000));
    }
    let start = Instant::now();
    let logbook = read(&[("pits.csv", &pits), ("readings.csv", &readings)], TODAY);
    assert_eq!(logbook.problems().len() as u64 + logbook.unlisted(), 20_000);
    assert!(start.elapsed().as_secs() < 5, "{:?}", start.elapsed());
}

fn reading(date: &str, depth_in: f64, note: &str) -> NewReading {
    NewReading {
        pit_id: "N-1".to_owned(),
        date: date.parse().unwrap(),
        found: Found::Depth(soaklife::quantity::inches(depth_in)),
        condition: Condition::Normal,
        note: note.to_owned(),
    }
}

#[test]
fn a_reading_logged_late_is_held_against_the_next_one_too() {
    let book = folder(&[]);
    let added = append_reading(book.path(), &reading("2023-05-14", 150.0, ""), TODAY).unwrap();
    let kinds: Vec<ProblemKind> = added.warnings.iter().map(|problem| problem.kind).collect();
    assert_eq!(kinds, [ProblemKind::ImplausibleJump], "{:?}", added.warnings);
}

/// What a reading newly says of its neighbours is told among thousands of warnings about other pits, and nothing else is.
#[test]
fn a_warning_about_neighbours_is_not_lost_among_thousands() {
    let mut pits = PITS.to_owned();
    let mut readings = READINGS.to_owned();
    for pit in 0..6_000 {
        pits.push_str(&format!("A-{pit},38,182,6,4,3\n"));
        readings.push_str(&format!("A-{pit},2024-05-14,90,,\nA-{pit},2024-05-14,91,,\n"));
    }
    readings.push_str("N-1,2005-05-14,120,,\nN-1,2024-05-14,90,,\n");
    let book = folder(&[("pits.csv", &pits), ("readings.csv", &readings)]);
    let added = append_reading(book.path(), &reading("2023-05-14", 150.0, ""), TODAY).unwrap();
    let told: Vec<_> = added.warnings.iter().map(|problem| (problem.kind, problem.is_of("N-1"))).collect();
    assert!(told.contains(&(ProblemKind::ImplausibleJump, true)), "{told:?}");
    assert!(told.iter().all(|(_, is_of_it)| *is_of_it), "{told:?}");
}

/// Of a file with thousands of problems not all are listed, but those of the row to be added are.
#[test]
fn a_reading_is_refused_for_its_own_row_however_many_are_broken() {
    let broken = format!("{READINGS}{}", "N-1,2024-05-14,deep,,\n".repeat(6_000));
    let book = folder(&[("readings.csv", &broken)]);
    let refused = append_reading(book.path(), &reading("2026-05-14", 1_000.0, ""), TODAY);
    let Err(AppendError::Refused { problems }) = refused else { panic!("{refused:?}") };
    assert_eq!(
        problems.first().and_then(|problem| problem.line),
        Some(READINGS.lines().count() as u64 + 6_001)
    );
    assert_eq!(fs::read_to_string(book.path().join("readings.csv")).unwrap(), broken);
    append_reading(book.path(), &reading("2026-05-14", 85.0, ""), TODAY).unwrap();
}

#[test]
fn nothing_is_added_inside_an_open_quote() {
    // A note could close the quote and so hide both rows in one.
    let text = format!("{READINGS}N-1,2025-05-14,88,,\"lid\n");
    let book = folder(&[("readings.csv", &text)]);
    for note in ["", ",x", "\"", ",\",\""] {
        let refused = append_reading(book.path(), &reading("2026-05-14", 85.0, note), TODAY);
        assert!(matches!(refused, Err(AppendError::Columns { .. })), "{note}: {refused:?}");
        assert_eq!(fs::read_to_string(book.path().join("readings.csv")).unwrap(), text);
    }
}

#[test]
fn the_old_bytes_survive_whatever_they_are() {
    for old in [
        "\u{feff}crew,pit_id,note,date,depth_to_liquid_cm\r\nA;B,N-1,\"two\r\nlines, \"\"quoted\"\"\",2024-05-14,200\r\n",
        "pit_id,date,depth_to_liquid_in,note\nN-1,2024-05-14,90,no line end",
        "pit_id,date,depth_to_liquid_in,note\rN-1,2024-05-14,90,\r\r",
        "sep=,\npit_id,date,depth_to_liquid_in,note\nnot a row\n",
    ] {
        let book = folder(&[("readings.csv", old)]);
        append_reading(book.path(), &reading("2025-05-14", 85.0, "a, b"), TODAY).unwrap();
        let new = fs::read_to_string(book.path().join("readings.csv")).unwrap();
        assert!(new.starts_with(old), "{new:?}");
        let logbook = Logbook::read(book.path(), TODAY, TODAY).unwrap();
        let newest = *logbook.pits().next().unwrap().history().readings().last().unwrap();
        assert_eq!(newest.date().to_string(), "2025-05-14", "{new:?}");
    }
}
