//! What a search begins with: the logbooks of `fixtures`, and the words that they are made of.

use super::bundle::MARK;
use super::log::BYTES_OF_READING;
use crate::fixture;
use soaklife_records::PriorFile;
use soaklife_records::schema::{Kind, TABLES};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Lines of a long table that are enough to begin with.
const MOST_LINES: usize = 40;

/// What the target of a name begins with, no two alike.
///
/// # Panics
/// If a fixture cannot be read.
#[must_use]
pub fn seeds(target: &str) -> BTreeSet<Vec<u8>> {
    let folders = folders();
    let files = |file: &str| -> Vec<Vec<u8>> {
        folders
            .iter()
            .filter_map(|folder| fs::read(folder.join(file)).ok())
            .map(|bytes| first_lines(&bytes))
            .collect()
    };
    match target {
        "prior" => priors().map(String::into_bytes).into(),
        "settings" => files("logbook.toml").into_iter().collect(),
        "log" => {
            files("readings.csv").into_iter().enumerate().map(|(place, file)| logged(place, &file)).collect()
        }
        "forecasts" | "figures" | "pages" => {
            folders.iter().map(|folder| bundle(folder)).chain(drawn()).collect()
        }
        table => files(&format!("{table}.csv")).into_iter().collect(),
    }
}

/// Column names with each of their units, and the words that columns know.
#[must_use]
pub fn words() -> BTreeSet<String> {
    let mut words = BTreeSet::from(
        [MARK, "N-1", "N-2", "2026-05-14", "2025-05", "\"", "\r\n", "[prior]", "[groups."].map(str::to_owned),
    );
    for column in TABLES.iter().flat_map(|table| table.columns) {
        match column.kind {
            Kind::Word(known) => words.extend(known.iter().map(|word| (*word).to_owned())),
            kind => {
                words.extend(kind.suffixes().split_whitespace().map(|unit| format!("{}{unit}", column.name)))
            }
        }
        words.insert(column.name.to_owned());
    }
    words
}

/// Every broken logbook and the demonstration.
fn folders() -> Vec<PathBuf> {
    let within = |name: &str| {
        let folder = fs::read_dir(fixture(name)).expect("fixtures are part of the repository");
        folder.flatten().map(|entry| entry.path()).filter(|path| path.is_dir())
    };
    let mut folders: Vec<PathBuf> = within("hostile").chain(within("logbooks")).collect();
    folders.sort();
    folders
}

fn first_lines(bytes: &[u8]) -> Vec<u8> {
    bytes.split_inclusive(|byte| *byte == b'\n').take(MOST_LINES).flatten().copied().collect()
}

fn bundle(folder: &Path) -> Vec<u8> {
    let mut text = Vec::new();
    for file in TABLES.iter().map(|table| table.file).chain(["logbook.toml"]) {
        if let Ok(bytes) = fs::read(folder.join(file)) {
            text.extend_from_slice(format!("{MARK}{file}\n").as_bytes());
            text.extend(first_lines(&bytes));
        }
    }
    text
}

/// Bytes that logbooks are drawn from: short and long, calm and wild.
fn drawn() -> impl Iterator<Item = Vec<u8>> {
    [20u32, 60, 200, 400].into_iter().flat_map(|length| {
        (1..=4u32).map(move |step| {
            (0..length).map(|place| (place.wrapping_mul(step * step * 37) >> step) as u8).collect()
        })
    })
}

/// A reading to be logged before the file that it is logged to.
fn logged(place: usize, file: &[u8]) -> Vec<u8> {
    let reading = (0..BYTES_OF_READING).map(|byte| (place * 31 + byte * 7) as u8);
    reading.chain(file.iter().copied()).collect()
}

fn priors() -> [String; 3] {
    let plain = PriorFile::default().write("Typical experience.").expect("the default can be written");
    let grouped = format!(
        "by = \"soil\"\n{plain}\n[groups.sand]\nreference_load = 9.4\n[groups.clay]\ntenure_years = 20\n"
    );
    [plain, grouped, "typical_load_ratio = -1".to_owned()]
}
