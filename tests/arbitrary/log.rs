//! A reading logged to any bytes: it is there once and every byte before it is as it was, or nothing has changed.

use super::TODAY;
use super::bundle::{Bundle, Drawn};
use soaklife::date::PartialDate;
use soaklife::quantity::{as_inches, inches};
use soaklife::reading::{Condition, Observation};
use soaklife_records::{Entry, Found, Logbook, NewReading, PitRecord, append_reading};
use std::fs;
use std::path::Path;

/// The first bytes say the reading, the others are the file.
pub(super) const BYTES_OF_READING: usize = 12;

pub(super) fn check(bytes: &[u8]) {
    let (of_reading, file) = bytes.split_at(bytes.len().min(BYTES_OF_READING));
    let reading = reading(&mut Drawn::from(of_reading));
    let folder = Bundle::sound().with("readings.csv", file).written();
    let path = folder.path().join("readings.csv");
    let before = pit_of(folder.path(), &reading.pit_id);
    match append_reading(folder.path(), &reading, TODAY) {
        Ok(_) => {
            let written = fs::read(&path).expect("it was there");
            assert!(written.starts_with(file), "bytes before the new row have changed");
            let after = pit_of(folder.path(), &reading.pit_id);
            let (before, after) = before.zip(after).expect("a reading is taken for a known pit only");
            assert_one_more(&before, &after, &reading);
        }
        Err(reason) => {
            assert_eq!(fs::read(&path).expect("it was there"), file, "refused and yet written: {reason}");
            assert!(!reason.to_string().is_empty());
        }
    }
    let files = fs::read_dir(folder.path()).expect("a folder").flatten().map(|file| file.file_name());
    let left: Vec<_> = files.filter(|name| name.to_string_lossy().contains("tmp")).collect();
    assert!(left.is_empty(), "{left:?}");
}

fn reading(drawn: &mut Drawn<'_>) -> NewReading {
    let conditions = [
        Condition::Normal,
        Condition::AfterRain,
        Condition::Vacant,
        Condition::AfterPumping,
        Condition::Suspect,
    ];
    let (year, month, day) = (1950 + i16::from(drawn.byte() % 80), 1 + drawn.byte() as i8 % 12, drawn.byte());
    let date = match day % 31 {
        0 => PartialDate::year(year).ok(),
        1 => PartialDate::month(year, month).ok(),
        day => jiff::civil::Date::new(year, month, day as i8).ok().map(PartialDate::from),
    };
    let found = match drawn.byte() % 4 {
        0 => Found::Dry,
        1 => Found::AtInlet,
        _ => Found::Depth(inches(drawn.number(0.0, 400.0))),
    };
    NewReading {
        pit_id: drawn.one_of(&["N-1", "N-2", "N-3", "", "N-1\u{1b}"]).to_owned(),
        date: date.unwrap_or(PartialDate::from(TODAY)),
        found,
        condition: conditions[usize::from(drawn.byte()) % conditions.len()],
        note: drawn.one_of(&["", "port, found", "a \"quote\"\nand a line", "\r", " x ", "=1+1"]).to_owned(),
    }
}

fn pit_of(folder: &Path, pit_id: &str) -> Option<PitRecord> {
    let logbook = Logbook::read(folder, TODAY, TODAY).expect("both required files are there");
    match logbook.entry(pit_id) {
        Some(Entry::Pit(pit)) => Some(pit.as_ref().clone()),
        _ => None,
    }
}

/// What was read before is still read, and beside it the new one.
fn assert_one_more(before: &PitRecord, after: &PitRecord, new: &NewReading) {
    let mut readings = after.history().readings().to_vec();
    for old in before.history().readings() {
        let place = readings.iter().position(|reading| reading == old);
        readings.remove(place.unwrap_or_else(|| panic!("no longer read: {old:?}")));
    }
    let [added] = readings.as_slice() else { panic!("{} readings more, not one", readings.len()) };
    assert_eq!((added.date(), added.condition()), (new.date, new.condition));
    match (added.observation(), new.found) {
        (Observation::Dry, Found::Dry) | (Observation::AtInlet, Found::AtInlet) => {}
        (Observation::Liquid { level }, Found::Depth(depth)) => {
            // The file keeps thousandths of its unit, at most of a metre; a stick may sink a little into the bottom.
            let told = as_inches(after.history().pit().level_at_depth(depth)).max(0.0);
            assert!((as_inches(level) - told).abs() < 0.02, "{level:?} for {new:?}");
        }
        (read, _) => panic!("{read:?} of {new:?}"),
    }
}
