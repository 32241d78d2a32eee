//! Nothing is silently dropped, guessed or shown raw: small logbooks, each with one trap.

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

/// What is told of readings a while and a rise apart, with an event on a day.
fn told_of_two(later: &str, depth_in: &str, further: &str) -> Vec<String> {
    let readings = format!(
        "pit_id,date,depth_to_liquid_in,condition\nN-1,2020-05-14,90,\nN-1,{later},{depth_in},{further}\n"
    );
    told(&read(&[("readings.csv", &readings)], TODAY))
}

#[test]
fn neighbours_are_held_against_each_other_up_to_the_bound_and_not_at_it() {
    // Twelve inches in a year or less, twice as many in two; five years without a reading.
    for (later, depth_in) in
        [("2021-05-14", "78"), ("2021-05-14", "102"), ("2020-05-15", "78"), ("2025-05-14", "80")]
    {
        assert_eq!(told_of_two(later, depth_in, ""), [""; 0], "{later}, {depth_in}");
    }
    for (later, depth_in, said) in [
        ("2021-05-14", "77.9", "12.1 in higher than on 2020-05-14 (line 2)"),
        ("2020-05-15", "77.9", "12.1 in higher"),
        ("2021-05-14", "102.1", "12.1 in lower"),
        ("2022-05-14", "65", "25 in higher"),
        ("2025-05-16", "80", "no reading for 5 years before this one (2020-05-14 to 2025-05-16)"),
        ("2020-05-14", "90", "line 2 has an identical reading of 2020-05-14. Both are used"),
        ("2020-05-14", "60", "line 2 has another reading of 2020-05-14. Both are used"),
    ] {
        let told = told_of_two(later, depth_in, "");
        assert!(told.len() == 1 && told[0].contains(said), "{later}, {depth_in}: {told:?}");
        assert!(told[0].starts_with("readings.csv:3:3: warning: "), "{told:?}");
    }
    assert_eq!(told_of_two("2022-05-14", "67", ""), [""; 0]);
    for excused in ["vacant", "after_pumping"] {
        assert_eq!(told_of_two("2021-05-14", "60", excused), [""; 0], "{excused}");
    }
    assert_eq!(told_of_two("2021-05-14", "60", "after_rain").len(), 1);
}

#[test]
fn a_stick_is_believed_to_the_inch_and_no_further() {
    // The rim is 38 in above the inlet and 182 in above the bottom.
    let told_of = |depth_in: &str, state: &str| {
        let readings = format!("pit_id,date,depth_to_liquid_in,state\nN-1,2024-05-14,{depth_in},{state}\n");
        let logbook = read(&[("readings.csv", &readings)], TODAY);
        let readings = logbook.pits().next().unwrap().history().readings();
        (readings.first().map(|reading| reading.observation() == Observation::Dry), told(&logbook).concat())
    };
    let unspoken = String::new();
    for (depth_in, state, is_dry) in [
        ("181.9", "", false),
        ("182", "", true),
        ("38", "", false),
        ("181", "dry", true),
        ("39", "at_inlet", false),
    ] {
        assert_eq!(told_of(depth_in, state), (Some(is_dry), unspoken.clone()), "{depth_in} {state}");
    }
    for (depth_in, state, is_dry, said) in [
        ("183", "", Some(true), "is just below the pit bottom"),
        ("183.1", "", None, "is below the pit bottom"),
        ("37.9", "", Some(false), "is above the inlet invert"),
        ("-1", "", None, "is negative"),
        ("180.9", "dry", None, "contradict each other"),
        ("39.1", "at_inlet", None, "contradict each other"),
    ] {
        let (found, told) = told_of(depth_in, state);
        assert!(found == is_dry && told.contains(said), "{depth_in} {state}: {found:?} {told}");
    }
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
fn an_event_between_two_readings_explains_a_jump() {
    let readings = "pit_id,date,depth_to_liquid_in\nN-1,2020-05-14,60\nN-1,2021-05-14,90\n";
    for (day, explains) in [
        ("2020-05-13", false),
        ("2020-05-14", true),
        ("2020-12-01", true),
        ("2021-05-14", true),
        ("2021-05-15", false),
        ("2020-05", true),
    ] {
        let events = format!("pit_id,date,event\nN-1,{day},pumped_out\n");
        let told = told(&read(&[("readings.csv", readings), ("events.csv", &events)], TODAY));
        assert_eq!(told.is_empty(), explains, "{day}: {told:?}");
    }
}

#[test]
fn a_reading_from_before_the_pit_was_there_is_told_and_used() {
    let pits = PITS.replace(",bedrooms", ",bedrooms,installed").replace(",4,3", ",4,3,2024-05-14");
    for (day, told_of_it) in [("2024-05-13", true), ("2024-05-14", false), ("2024-05", false)] {
        let readings = READINGS.replace("2024-05-14", day);
        let logbook = read(&[("pits.csv", &pits), ("readings.csv", &readings)], TODAY);
        assert_eq!(told(&logbook).concat().contains("before the pit was installed"), told_of_it, "{day}");
        let history = logbook.pits().next().unwrap().history();
        assert_eq!((history.readings().len(), history.installed().is_none()), (1, told_of_it), "{day}");
    }
}

#[test]
fn a_look_of_a_load_test_lies_within_the_pit_and_what_can_be() {
    let header = "pit_id,time,added_gal,depth_to_liquid_in,tank_rise_m\n";
    let told_of = |rows: &[&str]| {
        let rows: String = rows.iter().map(|row| format!("N-1,{row}\n")).collect();
        let logbook = read(&[("load_tests.csv", &format!("{header}{rows}"))], TODAY);
        let looks =
            logbook.pits().next().unwrap().load_tests().iter().map(|test| test.looks().len()).sum::<usize>();
        (looks, told(&logbook))
    };
    // The stick may stand an inch deeper than the bottom, 182 in, and a pipe may be of any likely length.
    for row in ["2024-05-14T09:00,0,183,0", "2024-05-14T09:00,0,90,1000", "2024-05-14T09:00,2641720,90,-1000"]
    {
        assert_eq!(told_of(&[row]), (1, vec![]), "{row}");
    }
    for (row, said) in [
        (
            "2024-05-14T09:00,0,183.1,0",
            "4: error: depth_to_liquid_in 183.1 is below the pit bottom (182.0 in)",
        ),
        ("2024-05-14T09:00,0,90,1000.1", "5: error: tank_rise_m 1000.1 cannot be"),
        ("2024-05-14T09:00,2641721,90,0", "3: error: added_gal 2641721 cannot be"),
        ("2024-05-14T09:00,-1,90,0", "3: error: added_gal -1 is negative"),
        ("2024-05-14,0,90,0", "2: error: time \"2024-05-14\" is not a day and time"),
    ] {
        let (looks, told) = told_of(&[row]);
        assert!(looks == 0 && told.concat().contains(&format!("load_tests.csv:2:{said}")), "{row}: {told:?}");
    }
    let (looks, told) = told_of(&["2024-05-14T10:00,100,80,0", "2024-05-14T09:00,0,90,0"]);
    assert!(
        looks == 2 && told.len() == 1 && told[0].contains("not in order of time. They are sorted"),
        "{told:?}"
    );
    assert_eq!(told_of(&["2024-05-14T09:00,0,90,0", "2024-05-14T09:00,0,90,0"]), (2, vec![]));
}

#[test]
fn a_rest_that_ends_has_begun() {
    let told_of = |kinds: &[&str]| {
        let rows = kinds.iter().zip(1..).map(|(kind, month)| format!("N-1,2023-{month:02}-01,{kind}\n"));
        let events = format!("pit_id,date,event\n{}", rows.collect::<String>());
        told(&read(&[("events.csv", &events)], TODAY))
    };
    assert_eq!(told_of(&["rest_started", "rest_ended", "pumped_out", "rest_started"]), [""; 0]);
    for (kinds, line) in [
        (["rest_ended", "rest_started", "rest_ended"], 2),
        (["rest_started", "rest_ended", "rest_ended"], 4),
        (["pumped_out", "rest_ended", "rest_started"], 3),
    ] {
        let told = told_of(&kinds);
        let place = format!("events.csv:{line}: warning: a rest ends here that has not started");
        assert!(told.len() == 1 && told[0].starts_with(&place), "{kinds:?}: {told:?}");
    }
}

#[test]
fn an_action_freeboard_lies_between_inlet_and_bottom() {
    // The bottom is 144 in below the inlet.
    let of_pit = |freeboard: &str, settings: &str| {
        let pits = PITS.replace(",bedrooms", ",bedrooms,action_freeboard_in");
        let pits = pits.replace(",4,3", &format!(",4,3,{freeboard}"));
        let logbook = read(&[("pits.csv", &pits), ("logbook.toml", settings)], TODAY);
        let action =
            logbook.pits().next().map(|pit| soaklife::quantity::as_inches(pit.action_freeboard()).round());
        (action, told(&logbook).concat())
    };
    assert_eq!(of_pit("", ""), (Some(0.0), String::new()));
    assert_eq!(of_pit("143", ""), (Some(143.0), String::new()));
    assert_eq!(of_pit("6", "[action]\nfreeboard_in = 12\n"), (Some(6.0), String::new()));
    assert_eq!(of_pit("", "[action]\nfreeboard_in = 12\n"), (Some(12.0), String::new()));
    for (freeboard, said) in [("-1", "is negative"), ("144", "lies below the pit bottom")] {
        let (action, told) = of_pit(freeboard, "");
        assert!(action == Some(0.0) && told.contains(said), "{freeboard}: {told}");
    }
    let (action, told) = of_pit("", "[action]\nfreeboard_in = 144\n");
    assert!(action == Some(0.0) && told.contains("0 is used"), "{told}");
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
