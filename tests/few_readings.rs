//! A logbook of pits with hardly a reading: none, one or two, of every kind, with and without all else that a record may hold.
//!
//! Where little is known, every rule of a method shows. Readings near the inlet and near the bottom come more often than in a
//! valley, and so do events, because answers turn there.

use crate::simulated_pits::random::Random;
use jiff::civil::{Date, date};
use soaklife::date::date_after;
use soaklife_records::schema::{CONDITIONS, EVENTS, SOILS};
use std::fs;
use std::io;
use std::path::Path;

/// No reading, event or household is later.
pub const LAST_DAY: Date = date(2026, 6, 30);

/// Where the liquid is found.
#[derive(Debug, Clone, Copy)]
enum Found {
    Anywhere,
    NearInlet,
    NearBottom,
    Dry,
    AtInlet,
}

/// What the tables say of one pit, a row a line.
#[derive(Debug, Default)]
struct Rows {
    pits: String,
    readings: String,
    occupancy: String,
    events: String,
}

/// Writes `pits.csv`, `readings.csv`, `occupancy.csv` and `events.csv` into a folder, which is made if there is none; the same
/// seed gives the same bytes, and more pits only add to fewer.
///
/// # Errors
/// If the folder cannot be written.
pub fn write(folder: &Path, pits: u64, seed: u64) -> io::Result<()> {
    let mut tables = Rows {
        pits: "pit_id,installed,inlet_depth_in,bottom_depth_in,diameter_ft,bedrooms,design_flow_gpd,occupants,soil,\
               action_freeboard_in\n"
            .to_owned(),
        readings: "pit_id,date,depth_to_liquid_in,state,condition\n".to_owned(),
        occupancy: "pit_id,from,occupants,flow_gpd\n".to_owned(),
        events: "pit_id,date,event\n".to_owned(),
    };
    for place in 0..pits {
        tables.add(&format!("F{:05}", place + 1), &mut Random::new(seed, place));
    }
    fs::create_dir_all(folder)?;
    for (file, rows) in [
        ("pits.csv", tables.pits),
        ("readings.csv", tables.readings),
        ("occupancy.csv", tables.occupancy),
        ("events.csv", tables.events),
    ] {
        fs::write(folder.join(file), rows)?;
    }
    Ok(())
}

impl Rows {
    fn add(&mut self, id: &str, random: &mut Random) {
        let inlet_in = random.between(10.0, 60.0).round();
        let depth_in = random.between(48.0, 240.0).round();
        let age = random.between(1.0, 55.0);
        self.add_pit(id, random, [inlet_in, depth_in, age]);
        self.add_household(id, random, age);
        self.add_events(id, random, age);
        self.add_readings(id, random, [inlet_in, depth_in, age]);
    }

    fn add_pit(&mut self, id: &str, random: &mut Random, [inlet_in, depth_in, age]: [f64; 3]) {
        let installed = if random.chance(0.7) { day(random, age) } else { String::new() };
        let diameter = random.pick(&[(0.4, ""), (0.3, "6"), (0.3, "5")]);
        let design = random.pick(&[(0.6, "3,"), (0.15, "5,"), (0.15, ",450"), (0.1, ",")]);
        let occupants = random.pick(&[(0.4, ""), (0.2, "3"), (0.2, "4"), (0.1, "1"), (0.1, "7")]);
        let soil = SOILS[(random.bits() % SOILS.len() as u64) as usize];
        let keeps = random.pick(&[(0.7, ""), (0.1, "6"), (0.1, "12"), (0.1, "24.5")]);
        let bottom_in = inlet_in + depth_in;
        self.pits += &format!(
            "{id},{installed},{inlet_in},{bottom_in},{diameter},{design},{occupants},{soil},{keeps}\n"
        );
    }

    fn add_household(&mut self, id: &str, random: &mut Random, age: f64) {
        for _ in 0..random.pick(&[(0.6, 0), (0.25, 1), (0.15, 2)]) {
            let (ago, people) = (random.between(0.0, age), random.pick(&[(0.1, 0), (0.4, 2), (0.5, 5)]));
            self.occupancy += &match random.chance(0.8) {
                true => format!("{id},{},{people},\n", day(random, ago)),
                false => format!("{id},{},,{:.0}\n", day(random, ago), random.between(20.0, 600.0)),
            };
        }
    }

    fn add_events(&mut self, id: &str, random: &mut Random, age: f64) {
        for _ in 0..random.pick(&[(0.6, 0), (0.3, 1), (0.1, 2)]) {
            let ago = random.between(0.0, age.min(8.0));
            let event = EVENTS[(random.bits() % EVENTS.len() as u64) as usize];
            self.events += &format!("{id},{},{event}\n", day(random, ago));
        }
    }

    /// The second of two readings follows the first in half of the pits, and has nothing to do with it in the others.
    fn add_readings(&mut self, id: &str, random: &mut Random, [inlet_in, depth_in, age]: [f64; 3]) {
        let mut earlier: Option<(f64, f64)> = None;
        for _ in 0..random.pick(&[(0.2, 0), (0.4, 1), (0.4, 2)]) {
            let ago = match earlier {
                Some((before, _)) => before * random.between(0.0, 0.9),
                None => age * random.between(0.0, 1.0).powi(3),
            };
            let level_in = match earlier {
                Some((before, level_in)) if random.chance(0.5) => {
                    level_in + (before - ago) * random.between(-6.0, 12.0)
                }
                _ => level_in(random, depth_in),
            };
            let found = match level_in {
                low if low <= 0.0 => ",dry".to_owned(),
                high if high >= depth_in => ",at_inlet".to_owned(),
                level_in => format!("{},", rounded(random, inlet_in + depth_in - level_in)),
            };
            let condition = match random.chance(0.3) {
                true => CONDITIONS[(random.bits() % CONDITIONS.len() as u64) as usize],
                false => "",
            };
            self.readings += &format!("{id},{},{found},{condition}\n", day(random, ago));
            earlier = Some((ago, level_in));
        }
    }
}

/// Height above the bottom; 0 and less is dry, the depth of the pit and more is at the inlet.
fn level_in(random: &mut Random, depth_in: f64) -> f64 {
    let found = random.pick(&[
        (0.40, Found::Anywhere),
        (0.20, Found::NearInlet),
        (0.12, Found::NearBottom),
        (0.13, Found::Dry),
        (0.15, Found::AtInlet),
    ]);
    match found {
        Found::Anywhere => random.between(0.0, depth_in),
        Found::NearInlet => depth_in - random.between(0.0, 6.0),
        Found::NearBottom => random.between(0.0, 6.0),
        Found::Dry => 0.0,
        Found::AtInlet => depth_in,
    }
}

/// To whole, half, quarter or tenth inches, as sticks are marked.
fn rounded(random: &mut Random, depth_in: f64) -> f64 {
    let marks = random.pick(&[(0.4, 1.0), (0.3, 2.0), (0.1, 4.0), (0.2, 10.0)]);
    (depth_in * marks).round() / marks
}

/// A day of the past; of one in ten the month or the year alone is known.
fn day(random: &mut Random, years_ago: f64) -> String {
    let day = date_after(LAST_DAY, -years_ago).expect("within the calendar");
    match random.pick(&[(0.9, 'd'), (0.05, 'm'), (0.05, 'y')]) {
        'm' => format!("{:04}-{:02}", day.year(), day.month()),
        // The middle of this year is not over yet.
        'y' if day.year() < LAST_DAY.year() => format!("{:04}", day.year()),
        _ => day.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use soaklife_records::Logbook;

    #[test]
    fn every_pit_is_read_and_has_two_readings_at_most() {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), 300, 5).unwrap();
        let logbook = Logbook::read(folder.path(), LAST_DAY, LAST_DAY).unwrap();
        let readings: Vec<usize> = logbook.pits().map(|pit| pit.history().readings().len()).collect();
        assert_eq!(readings.len(), 300);
        for count in 0..=2 {
            assert!(readings.iter().filter(|&&found| found == count).count() > 40, "{count} readings");
        }
        assert!(readings.iter().all(|&count| count <= 2));
    }

    #[test]
    fn more_pits_only_add_to_fewer() {
        let [few, many] = [20, 40].map(|pits| {
            let folder = tempfile::tempdir().unwrap();
            write(folder.path(), pits, 1).unwrap();
            fs::read_to_string(folder.path().join("readings.csv")).unwrap()
        });
        assert!(many.starts_with(&few) && many.len() > few.len());
    }
}
