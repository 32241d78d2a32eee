//! Values up to a bound are taken without a word, and beyond it told: readings, events, load tests, action freeboards.

use super::*;

/// What is told of a reading of 90 in on 2020-05-14 and a later one in some condition.
fn told_of_two(later: &str, depth_in: &str, condition: &str) -> Vec<String> {
    let readings = format!(
        "pit_id,date,depth_to_liquid_in,condition\nN-1,2020-05-14,90,\nN-1,{later},{depth_in},{condition}\n"
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
