//! A logbook is begun whole or not at all: whatever the disk refuses, and only if it can be read back.

use super::*;
#[cfg(unix)]
use crate::durable::disk::refusals::{self, REFUSALS, names};
use serde_json::json;

fn new_pit() -> NewPit {
    NewPit {
        id: "H-1".to_owned(),
        label: String::new(),
        installed: None,
        inlet_depth: soaklife::quantity::inches(20.0),
        bottom_depth: soaklife::quantity::inches(140.0),
        diameter: None,
        bedrooms: None,
        occupants: None,
        units: Units::Us,
    }
}

#[cfg(unix)]
#[test]
fn a_logbook_is_begun_whole_or_not_at_all() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("book");
    let whole = ["datapackage.json", "logbook.toml", "pits.csv", "readings.csv"];
    let pit = new_pit();
    for was_there in [false, true] {
        for (code, _) in REFUSALS {
            refusals::each_in_turn(
                code,
                || {
                    let _ = fs::remove_dir_all(&folder);
                    if was_there {
                        fs::create_dir(&folder).unwrap();
                    }
                    create(&folder, &pit)
                },
                |outcome, refused| match outcome {
                    Ok(()) => assert_eq!(names(&folder), whole, "{refused:?}"),
                    Err(CreateError::Unwritable(error)) => {
                        assert_eq!(folder.exists(), was_there, "{refused:?}: {error}");
                        assert!(!was_there || names(&folder).is_empty(), "{refused:?}: {error}");
                        assert!(error.to_string().starts_with(folder.to_str().unwrap()), "{error}");
                    }
                    Err(error) => panic!("{refused:?}: {error}"),
                },
            );
        }
    }
}

#[test]
fn a_pit_that_could_not_be_read_back_is_not_written() {
    let pit = new_pit();
    let swapped = NewPit { inlet_depth: pit.bottom_depth, bottom_depth: pit.inlet_depth, ..pit.clone() };
    let bad = [
        NewPit { id: " ".to_owned(), ..pit.clone() },
        NewPit { bedrooms: Some(f64::NAN), ..pit.clone() },
        NewPit { occupants: Some(-1.0), ..pit.clone() },
        swapped,
    ];
    let home = tempfile::tempdir().unwrap();
    for pit in bad {
        let refused = create(home.path(), &pit);
        assert!(matches!(refused, Err(CreateError::Pit { .. })), "{refused:?}");
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    }
    create(home.path(), &pit).unwrap();
}

/// What a general tool is told of the tables is what stands in them: the same columns in the same order, and the keys.
#[test]
fn the_description_is_that_of_the_files_beside_it() {
    for (units, depth, diameter) in [(Units::Us, "in", "ft"), (Units::Si, "cm", "m")] {
        let home = tempfile::tempdir().unwrap();
        create(home.path(), &NewPit { units, ..new_pit() }).unwrap();
        let text = |name: &str| fs::read_to_string(home.path().join(name)).unwrap();
        let package: serde_json::Value = serde_json::from_str(&text("datapackage.json")).unwrap();
        let resources = package["resources"].as_array().unwrap();
        let paths: Vec<&str> = resources.iter().filter_map(|resource| resource["path"].as_str()).collect();
        assert_eq!(paths, ["pits.csv", "readings.csv"]);
        for (resource, path) in resources.iter().zip(paths) {
            let fields = resource["schema"]["fields"].as_array().unwrap();
            let names: Vec<&str> = fields.iter().filter_map(|field| field["name"].as_str()).collect();
            assert_eq!(text(path).lines().next().unwrap(), names.join(","));
        }
        let [pits, readings] = [0, 1].map(|table| &resources[table]["schema"]);
        assert_eq!(
            (&pits["primaryKey"], &readings["foreignKeys"][0]["fields"]),
            (&json!("pit_id"), &json!("pit_id"))
        );
        assert!(pits["foreignKeys"].is_null() && readings["primaryKey"].is_null());
        let field = |schema: &serde_json::Value, name: &str| {
            let fields = schema["fields"].as_array().unwrap();
            fields.iter().find(|field| field["name"] == name).unwrap().clone()
        };
        for number in [format!("inlet_depth_{depth}"), format!("diameter_{diameter}"), "bedrooms".to_owned()]
        {
            let field = field(pits, &number);
            assert_eq!((&field["type"], &field["constraints"]["minimum"]), (&json!("number"), &json!(0)));
        }
        let date = field(readings, "date");
        assert_eq!((&date["type"], &date["constraints"]["required"]), (&json!("string"), &json!(true)));
        assert_eq!(field(readings, "state")["constraints"]["enum"], json!(["liquid", "dry", "at_inlet"]));
        assert_eq!(field(pits, "label")["constraints"], json!({}));
    }
}
