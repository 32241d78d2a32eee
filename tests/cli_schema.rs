//! What the JSON Schemas say about every member, and that the page which lists them lists them all.
#![allow(clippy::unwrap_used, reason = "that is how a test fails")]

mod run;

use run::{fixtures, run, stdout};
use serde_json::Value;
use std::fs;

/// The verbs that print JSON.
const VERBS: [&str; 4] = ["forecast", "loadtest", "backtest", "budget"];

/// Words by which a description says the unit of a number that is no count.
const UNITS: [&str; 17] = [
    "inches",
    "gallons",
    "years",
    "Years",
    "hours",
    "days",
    "share",
    "Share",
    "Probability",
    "ratio",
    "0 to 1",
    "0 or 1",
    "currency",
    "money",
    "pits",
    "How many",
    "unit of found",
];

/// A member as the schema describes it, with where it stands.
struct Member<'s> {
    place: String,
    schema: &'s Value,
}

/// Every property below a part of a schema; of names told by a pattern too.
fn members<'s>(part: &'s Value, place: &str, found: &mut Vec<Member<'s>>) {
    match part {
        Value::Object(keys) => {
            for (key, value) in keys {
                let named = matches!(key.as_str(), "properties" | "patternProperties");
                for (name, schema) in value.as_object().filter(|_| named).into_iter().flatten() {
                    let place = format!("{place}/{name}");
                    found.push(Member { place: place.clone(), schema });
                    members(schema, &place, found);
                }
                if !named {
                    let place = if key == "$defs" { String::new() } else { place.to_owned() };
                    members(value, &place, found);
                }
            }
        }
        Value::Array(parts) => parts.iter().for_each(|part| members(part, place, found)),
        _ => {}
    }
}

fn schema_of(verb: &str) -> Value {
    serde_json::from_str(&stdout(&run(&[verb, "--json-schema"]))).unwrap()
}

/// A whole number counts what its description names.
fn is_number(schema: &Value) -> bool {
    let kinds = match &schema["type"] {
        Value::Array(kinds) => kinds.clone(),
        kind => vec![kind.clone()],
    };
    kinds.iter().any(|kind| kind == "number")
}

#[test]
fn every_member_is_described_and_every_number_has_its_unit() {
    for verb in VERBS {
        let schema = schema_of(verb);
        let mut found = Vec::new();
        members(&schema, "", &mut found);
        assert!(found.len() > 30, "{verb}: {} members", found.len());
        for Member { place, schema } in found {
            let description = schema["description"].as_str().unwrap_or_default();
            let is_sentence = description.len() > 8 && description.ends_with('.');
            assert!(is_sentence, "{verb}: {place} is not described: {description:?}");
            let has_unit = UNITS.iter().any(|unit| description.contains(unit));
            assert!(!is_number(schema) || has_unit, "{verb}: {place} has no unit: {description:?}");
        }
    }
}

/// A file in the folder, a verb that prints it and a line on the page: all three, or none.
#[test]
fn the_page_lists_every_schema() {
    let root = fixtures().join("..");
    let page = fs::read_to_string(root.join("README.md")).unwrap();
    let mut files: Vec<String> = fs::read_dir(root.join("crates/soaklife-cli/schema"))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    files.sort();
    let mut printed: Vec<String> = VERBS
        .iter()
        .map(|verb| {
            let title = schema_of(verb)["title"].as_str().unwrap().to_owned();
            format!("{}.json", title.trim_start_matches("soaklife ").replace(' ', "-"))
        })
        .collect();
    printed.sort();
    assert_eq!(files, printed);
    for (file, verb) in files.iter().zip(["backtest", "budget", "forecast", "loadtest"]) {
        assert!(page.contains(&format!("](crates/soaklife-cli/schema/{file})")), "{file}");
        assert!(page.contains(&format!("soaklife {verb} --json-schema")), "{verb}");
    }
}
