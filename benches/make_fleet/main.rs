//! An invented logbook of any size, as messy as real ones are: `make_fleet FOLDER PITS [--seed N] [--clean]`.
//!
//! The same seed gives the same bytes, and more pits only add to fewer. What went wrong, and how often, is told at the end;
//! `--clean` leaves all of it out. Pits rise, level off or stay dry for years ([`life`]); [`mess`] says what goes wrong how often.

mod life;
mod mess;
mod random;
mod tables;

use life::Pit;
use mess::{Mess, Messing};
use random::Random;
use std::error::Error;
use std::io::{self, Write as _};
use std::path::Path;
use tables::{Invented, Tables};

const USAGE: &str = "make_fleet FOLDER PITS [--seed N] [--clean]";
/// Identifiers have eight digits, so that they rise.
const MOST_PITS: u64 = 99_999_999;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let (Some(folder), Some(pits)) = (args.next(), args.next()) else { return Err(USAGE.into()) };
    let (mut seed, mut is_clean) = (1, false);
    while let Some(option) = args.next() {
        match (&option[..], args.len()) {
            ("--clean", _) => is_clean = true,
            ("--seed", 1..) => seed = args.next().unwrap_or_default().parse()?,
            _ => return Err(USAGE.into()),
        }
    }
    let pits = pits.parse()?;
    let (readings, messing) = make(folder.as_ref(), pits, seed, is_clean)?;
    tell(pits, readings, &messing)?;
    Ok(())
}

/// Writes the logbook; how many readings it has, and what is wrong with it.
fn make(folder: &Path, pits: u64, seed: u64, is_clean: bool) -> io::Result<(u64, Messing)> {
    if pits > MOST_PITS {
        return Err(io::Error::other(format!("at most {MOST_PITS} pits")));
    }
    let (mut tables, mut messing) = (Tables::create(folder)?, Messing::new(is_clean));
    for place in 1..=pits {
        let mut random = Random::new(seed, place);
        let pit = Pit::invent(&mut random);
        let id = format!("P{place:08}");
        tables.write(Invented { id: &id, pit: &pit, random: &mut random, messing: &mut messing })?;
    }
    let readings = tables.count_of_readings;
    tables.finish()?;
    Ok((readings, messing))
}

fn tell(pits: u64, readings: u64, messing: &Messing) -> io::Result<()> {
    let mut out = io::stdout().lock();
    writeln!(out, "{pits} pits, {readings} readings")?;
    for mess in Mess::ALL.into_iter().filter(|&mess| messing.count(mess) > 0) {
        writeln!(out, "{:>9} {}", messing.count(mess), mess.description().trim())?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::Date;
    use soaklife_records::{Findings, Fleet, ProblemKind, Severity};
    use std::fs;
    use std::ops::ControlFlow;

    const DAY: Date = Date::constant(2026, 6, 30);

    fn found(folder: &Path) -> Findings {
        let fleet = Fleet::open(folder, DAY, DAY).unwrap();
        fleet.walk(2.try_into().unwrap(), |_| (), |()| ControlFlow::Continue(())).unwrap()
    }

    /// Every fault that the generator says it made is found, and no other: rows that could not be used one by one.
    #[test]
    fn the_faults_made_are_the_faults_found() {
        let folder = tempfile::tempdir().unwrap();
        let (readings, messing) = make(folder.path(), 20_000, 7, false).unwrap();
        assert!((200_000..280_000).contains(&readings), "about 12 a pit: {readings}");
        let found = found(folder.path());
        let of = |kind: ProblemKind, severity| {
            let same =
                |problem: &&soaklife_records::Problem| problem.kind == kind && problem.severity == severity;
            found.problems().iter().filter(same).count() as u64
        };
        let made: [(ProblemKind, &[Mess]); 9] = [
            (ProblemKind::Geometry, &[Mess::DepthsSwapped]),
            (ProblemKind::Number, &[Mess::WordForBottom, Mess::WordsForDepth]),
            (ProblemKind::Word, &[Mess::SoilMisspelt, Mess::UnknownEvent]),
            (ProblemKind::BelowBottom, &[Mess::BelowBottom]),
            (ProblemKind::UnknownPit, &[Mess::UnknownPit]),
            (ProblemKind::RaggedRow, &[Mess::CutShort]),
            (ProblemKind::Date, &[Mess::DateWithSlashes]),
            (ProblemKind::LaterThanToday, &[Mess::CenturyTooLate]),
            (ProblemKind::MissingValue, &[Mess::NobodyCounted]),
        ];
        let mut errors = 0;
        for (kind, messes) in made {
            let count: u64 = messes.iter().map(|&mess| messing.count(mess)).sum();
            assert!(count > 0, "{messes:?} came");
            assert_eq!(of(kind, Severity::Error), count, "{kind:?}");
            errors += count;
        }
        assert_eq!(found.errors(), errors);
        assert_eq!(of(ProblemKind::SameDay, Severity::Warning), messing.count(Mess::Twice));
    }

    #[test]
    fn nothing_is_wrong_with_a_clean_fleet() {
        let folder = tempfile::tempdir().unwrap();
        make(folder.path(), 5000, 1, true).unwrap();
        assert_eq!(found(folder.path()).problems(), []);
    }

    #[test]
    fn a_seed_gives_the_same_bytes_and_more_pits_only_add() {
        let home = tempfile::tempdir().unwrap();
        let made = |name: &str, pits, seed| {
            let folder = home.path().join(name);
            make(&folder, pits, seed, false).unwrap();
            ["pits.csv", "readings.csv", "occupancy.csv", "events.csv"]
                .map(|file| fs::read(folder.join(file)).unwrap())
        };
        let once = made("once", 500, 3);
        assert_eq!(once, made("again", 500, 3));
        assert_ne!(once, made("other", 500, 4));
        for (more, fewer) in made("more", 600, 3).iter().zip(&once) {
            assert!(more.len() > fewer.len() && more.starts_with(fewer));
        }
    }

    /// The fleet of the tables for notebooks. `SNAPSHOTS=overwrite` makes it again.
    #[test]
    fn the_fleet_for_notebooks_is_what_is_made_now() {
        let published = Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks-data/fleet/logbook");
        let folder = tempfile::tempdir().unwrap();
        make(folder.path(), 1000, 1, false).unwrap();
        for file in ["pits.csv", "readings.csv", "occupancy.csv", "events.csv"] {
            let (made, kept) = (fs::read(folder.path().join(file)).unwrap(), published.join(file));
            if std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite") {
                fs::write(&kept, &made).unwrap();
            }
            assert!(fs::read(kept).unwrap() == made, "{file}: run with SNAPSHOTS=overwrite");
        }
    }

    #[test]
    fn a_logbook_that_is_there_is_not_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("readings.csv"), "mine").unwrap();
        assert!(make(folder.path(), 1, 1, false).is_err());
        assert_eq!(fs::read(folder.path().join("readings.csv")).unwrap(), b"mine");
    }
}
