//! A logbook is begun whole or not at all: whatever the disk refuses, and only if it can be read back.

use super::*;
#[cfg(unix)]
use crate::durable::disk::refusals::{self, REFUSALS, names};

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
