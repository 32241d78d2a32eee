//! Every setting is read, and what cannot be used is said with its place.

use super::*;

fn read(text: &str) -> (Settings, Vec<String>) {
    let mut problems = Problems::new("logbook.toml");
    let settings = Settings::read(text, &mut problems);
    (settings, problems.into_sorted().iter().map(ToString::to_string).collect())
}

#[test]
fn the_template_says_the_defaults() {
    assert_eq!(read(TEMPLATE), (Settings::default(), vec![]));
}

#[test]
fn each_setting_is_read() {
    let (settings, told) = read(
        "[design]\npersons_per_bedroom = 1.5\ngallons_per_person_per_day = 80\n\
         [use]\ngallons_per_person_per_day = 50.5\n\
         [money]\nreplacement_cost = 0\ncurrency = \"CAD\"\ncost_escalation = -0.5\ninterest = 0.99\n\
         [action]\nfreeboard_in = 6\n[prior]\n",
    );
    assert_eq!(told, [""; 0]);
    assert_eq!(settings.design_rule(), &DesignRule::per_person(1.5, 80.0).unwrap());
    assert_eq!((settings.gallons_per_person(), settings.action_freeboard()), (50.5, inches(6.0)));
    assert_eq!((settings.replacement_cost(), settings.currency()), (0.0, "CAD"));
    assert_eq!((settings.cost_escalation(), settings.interest()), (-0.5, 0.99));
    assert_eq!((settings.prior().is_some(), Settings::default().prior()), (true, None));
    let (named, told) = read("[design]\nrule = \"two-per-bedroom-75\"\n");
    assert_eq!((named, told.len()), (Settings::default(), 0));
}

#[test]
fn what_cannot_be_used_is_said_and_the_default_stands() {
    for (text, said) in [
        ("[money]\ncurrency = \"usd\"\n", "not a code of three capitals"),
        ("[money]\ncurrency = \"US\"\n", "not a code of three capitals"),
        ("[money]\ncurrency = 5\n", "must be a text in quotes"),
        ("[money]\nreplacement_cost = -1\n", "is below 0"),
        ("[money]\ninterest = 1.0\n", "would be 100 % a year"),
        ("[use]\ngallons_per_person_per_day = 0\n", "is not above zero"),
        ("[design]\npersons_per_bedroom = 2\n", "belong together"),
        ("[design]\nrule = \"two-per-bedroom-75\"\npersons_per_bedroom = 2\n", "not both"),
        ("[design]\nrule = \"two-per-bedroom-75\"\ngallons_per_person_per_day = 70\n", "not both"),
        ("[design]\nrule = \"many\"\n", "is not one of"),
        ("design = 3\n", "write [design]"),
        ("other = 3\n", "is not a setting"),
    ] {
        let (settings, told) = read(text);
        assert_eq!(settings, Settings::default(), "{text}");
        assert!(told.len() == 1 && told[0].contains(said), "{text}: {told:?}");
    }
}

#[test]
fn nothing_in_a_message_is_obeyed_by_a_terminal() {
    for text in ["[prior]\n\u{1b}ffset_in = 18.0\n", "\"\\u001b[2J\" = 1\n", "[use]\n\"\\u0007\" = 1\n"] {
        let (_, told) = read(text);
        assert!(!told.is_empty() && !told.concat().contains(char::is_control), "{told:?}");
    }
}

#[test]
fn faults_have_line_and_column() {
    let (settings, found) = read("[money]\n  interest = 2.0\n[acton]\n");
    assert_eq!(settings, Settings::default());
    assert!(found[0].starts_with("logbook.toml:2:3: error: interest 2 would be 200 % a year"), "{found:?}");
    assert!(
        found[1].starts_with("logbook.toml:3:2: error: \"acton\" is not a setting: was action meant?"),
        "{found:?}"
    );
}
