//! A reading is added whole or not at all, whatever the disk refuses.
#![cfg(unix)]

use super::*;
use crate::durable::disk::refusals::{self, REFUSALS, names};

const TODAY: Date = Date::constant(2026, 6, 30);
const PITS: &str = "pit_id,inlet_depth_in,bottom_depth_in\nN-1,38,182\n";
const OLD: &str = "pit_id,date,depth_to_liquid_in,state\nN-1,2024-05-14,90,\n";

fn logbook() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("pits.csv"), PITS).unwrap();
    fs::write(folder.path().join("readings.csv"), OLD).unwrap();
    folder
}

fn append(folder: &Path) -> Result<Appended, AppendError> {
    let reading = NewReading {
        pit_id: "N-1".to_owned(),
        date: PartialDate::day(Date::constant(2025, 5, 14)),
        found: Found::Dry,
        condition: Condition::Normal,
        note: String::new(),
    };
    append_reading(folder, &reading, TODAY)
}

#[test]
fn a_reading_is_added_whole_or_not_at_all() {
    let folder = logbook();
    let path = folder.path().join("readings.csv");
    let new = format!("{OLD}N-1,2025-05-14,,dry\n");
    for (code, _) in REFUSALS {
        refusals::each_in_turn(
            code,
            || {
                fs::write(&path, OLD).unwrap();
                append(folder.path())
            },
            |outcome, refused| {
                let left = fs::read_to_string(&path).unwrap();
                let told = outcome.as_ref().map_or_else(ToString::to_string, |_| String::new());
                match outcome {
                    Ok(_) | Err(AppendError::Unwritable(WriteError::Unconfirmed { .. })) => {
                        assert_eq!(left, new, "{refused:?}: {told}");
                    }
                    Err(_) => assert_eq!(left, OLD, "{refused:?}: {told}"),
                }
                let whose = [".logbook.lock", "readings.csv"].iter().any(|name| told.contains(name));
                assert!(whose || told.is_empty(), "{refused:?}: {told}");
                let left = names(folder.path());
                assert!(
                    left.iter()
                        .all(|name| [".logbook.lock", "pits.csv", "readings.csv"].contains(&&name[..])),
                    "{refused:?}: {left:?}"
                );
            },
        );
    }
}

#[test]
fn a_file_system_without_locks_is_explained() {
    for code in [37, 95] {
        // ENOLCK and ENOTSUP; the lock is opened first and taken next.
        let folder = logbook();
        let (outcome, _) = refusals::with(refusals::Refused::Only(1), code, || append(folder.path()));
        let told = outcome.unwrap_err().to_string();
        assert!(told.contains(".logbook.lock: cannot be locked"), "{told}");
        assert!(told.contains("nothing was changed. Move the logbook to a disk of this computer"), "{told}");
        assert_eq!(fs::read_to_string(folder.path().join("readings.csv")).unwrap(), OLD);
    }
}

/// A slow disk and many writers: whoever waits does so as long as readings are added, however long that takes.
#[test]
fn a_lock_is_waited_for_while_others_get_on() {
    let folder = logbook();
    let path = folder.path().join("readings.csv");
    let held = lock(folder.path()).unwrap();
    std::thread::scope(|scope| {
        let waiting = scope.spawn(|| append(folder.path()));
        let mut text = OLD.to_owned();
        for day in 1..=30 {
            std::thread::sleep(PATIENCE / 10);
            text.push_str(&format!("N-1,2024-06-{day:02},90,\n"));
            fs::write(&path, &text).unwrap();
        }
        drop(held);
        waiting.join().unwrap().unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), format!("{text}N-1,2025-05-14,,dry\n"));
    });
}

#[test]
fn a_lock_that_is_held_without_a_stir_is_given_up() {
    let folder = logbook();
    let _held = lock(folder.path()).unwrap();
    let told = append(folder.path()).unwrap_err().to_string();
    assert!(
        told.contains(".logbook.lock has been held by another program for 1 s; nothing was written"),
        "{told}"
    );
    assert_eq!(fs::read_to_string(folder.path().join("readings.csv")).unwrap(), OLD);
}
