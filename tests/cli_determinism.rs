//! The same question has the same answer, byte for byte: again, on any number of threads, in any language, time zone or terminal,
//! from any folder, and with the rows of a fleet in any order.
#![allow(clippy::unwrap_used, clippy::panic, reason = "that is how a test fails")]

mod many_pits;
mod run;

use many_pits::{rows, shuffled, write};
use run::{alder_fork, soaklife};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

const PITS: usize = 1700;

/// Of the 24 pits of Alder Fork. BOOK is the logbook, OUT a folder for what is written; THREADS says that the verb works with several.
const OF_ALDER_FORK: [&str; 44] = [
    "check BOOK THREADS",
    "forecast BOOK THREADS",
    "forecast BOOK --format csv THREADS",
    "forecast BOOK --format json THREADS",
    "forecast BOOK --format csv --method line -o OUT/line.csv THREADS",
    "forecast BOOK --format json --method rank --against time -o OUT/rank.json THREADS",
    "forecast BOOK AF-01 --chart OUT/one.svg",
    "forecast BOOK AF-01 AF-05 --sale --from 2027-06 --format json",
    "forecast BOOK AF-01 --occupants 6 --format csv",
    "loadtest BOOK AF-12",
    "loadtest BOOK AF-12 --format csv",
    "loadtest BOOK AF-12 --format json -o OUT/test.json --chart OUT/test.svg",
    "chart BOOK AF-01 -o OUT/forecast.svg",
    "chart BOOK AF-01 -o OUT/forecast.png",
    "chart BOOK AF-01 -o OUT/forecast.pdf",
    "chart BOOK AF-01 --occupants 6 -o OUT/what-if.svg",
    "chart BOOK AF-01 --figure section -o OUT/section.png",
    "chart BOOK AF-01 --figure line-check -o OUT/line-check.pdf",
    "chart BOOK --figure ladder -o OUT/ladder.svg",
    "chart BOOK --figure ladder -o OUT/ladder.pdf",
    "chart BOOK --figure small-multiples -o OUT/small-multiples.svg",
    "chart BOOK --figure small-multiples -o OUT/small-multiples.png",
    "report BOOK AF-01 -o OUT/page.pdf",
    "report BOOK AF-01 -o OUT/page.html --paper a4 --units si",
    "report BOOK -o OUT/fleet.pdf THREADS",
    "report BOOK -o OUT/fleet.html --paper a4 THREADS",
    "report BOOK --each -o OUT/pages THREADS",
    "report BOOK --each --format html -o OUT/pages THREADS",
    "backtest BOOK THREADS",
    "backtest BOOK --methods line,rank --format csv THREADS",
    "backtest BOOK --methods line --format json --chart OUT/coverage.svg THREADS",
    "backtest BOOK --methods absorption --learnt --format json THREADS",
    "learn BOOK THREADS",
    "learn BOOK --by soil -o OUT/prior.toml THREADS",
    "learn BOOK --leave-out 2/5 THREADS",
    "budget BOOK THREADS",
    "budget BOOK --by soil --format csv THREADS",
    "budget BOOK --format json --visit-list OUT/visits.csv --chart OUT/budget.svg THREADS",
    "demo OUT/alder-fork",
    "forecast --json-schema",
    "completions bash",
    "completions zsh -o OUT/_soaklife",
    "manual",
    "manual -o OUT/soaklife.1",
];

/// Of a fleet of many pits.
const OF_A_FLEET: [&str; 9] = [
    "check BOOK THREADS",
    "forecast BOOK --method line THREADS",
    "forecast BOOK --method line --format csv THREADS",
    "forecast BOOK --method line --format csv -o OUT/forecast.csv THREADS",
    "forecast BOOK --method line --format json THREADS",
    "budget BOOK --by decade --visits 300 --format json --visit-list OUT/visits.csv THREADS",
    "backtest BOOK --methods line --format json THREADS",
    "report BOOK -o OUT/fleet.html THREADS",
    "report BOOK -o OUT/fleet.pdf THREADS",
];

/// Where and how a command is run.
#[derive(Debug, Clone, Copy)]
struct Circumstances<'a> {
    working_folder: &'a Path,
    logbook: &'a str,
    threads: &'a str,
    environment: Environment,
}

fn usually<'a>(logbook: &'a str, threads: &'a str) -> Circumstances<'a> {
    Circumstances { working_folder: Path::new("."), logbook, threads, environment: Environment::Usual }
}

#[derive(Debug, Clone, Copy)]
enum Environment {
    Usual,
    Empty,
    Of(&'static [(&'static str, &'static str)]),
}

const ELSEWHERE: [(&str, &str); 9] = [
    ("TZ", "Pacific/Kiritimati"),
    ("LANG", "de_DE.UTF-8"),
    ("LC_ALL", "tr_TR.UTF-8"),
    ("HOME", "/nowhere"),
    ("COLUMNS", "40"),
    ("TERM", "xterm-256color"),
    ("NO_COLOR", "1"),
    ("SOURCE_DATE_EPOCH", "86400"),
    ("RUST_BACKTRACE", "1"),
];

/// All that a run leaves.
struct Left {
    code: Option<i32>,
    stdout: Vec<u8>,
    stderr: String,
    files: BTreeMap<String, Vec<u8>>,
}

impl Left {
    fn by(command: &str, circumstances: Circumstances<'_>) -> Self {
        let out = tempfile::tempdir().unwrap();
        let out_name = out.path().to_str().unwrap();
        let mut run = soaklife();
        match circumstances.environment {
            Environment::Usual => {}
            Environment::Empty => drop(run.env_clear()),
            Environment::Of(variables) => drop(run.envs(variables.iter().copied())),
        }
        for word in command.split(' ') {
            match word {
                "BOOK" => run.arg(circumstances.logbook).args(["--as-of", "2026-06-30"]),
                "THREADS" => run.args(["--threads", circumstances.threads]),
                word => run.arg(word.replace("OUT", out_name)),
            };
        }
        let output = run.current_dir(circumstances.working_folder).output().unwrap();
        let mut files = BTreeMap::new();
        gather(out.path(), out.path(), &mut files);
        let stderr = String::from_utf8(output.stderr).unwrap().replace(out_name, "OUT");
        Self { code: output.status.code(), stdout: output.stdout, stderr, files }
    }

    /// What differs, in a word.
    fn difference(&self, other: &Self) -> Option<String> {
        if self.code != other.code || self.stderr != other.stderr {
            return Some(format!("{:?} {}\n{:?} {}", self.code, self.stderr, other.code, other.stderr));
        }
        if self.stdout != other.stdout {
            return Some("standard output".to_owned());
        }
        let names = self.files.keys().chain(other.files.keys());
        names.clone().find(|&name| self.files.get(name) != other.files.get(name)).cloned()
    }
}

/// Every file of a folder and the folders in it.
fn gather(root: &Path, folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(root, &path, files);
        } else {
            let name = path.strip_prefix(root).unwrap().to_str().unwrap().to_owned();
            files.insert(name, fs::read(&path).unwrap());
        }
    }
}

/// Runs each command in all circumstances, the first of which sets what the others must leave as well.
fn same_bytes(commands: &[&str], circumstances: &[Circumstances<'_>]) {
    let (first, others) = circumstances.split_first().unwrap();
    for command in commands {
        let left = Left::by(command, *first);
        assert!(matches!(left.code, Some(0 | 1)), "{command}: {}", left.stderr);
        assert!(left.stdout.len() + left.files.values().map(Vec::len).sum::<usize>() > 200, "{command}");
        for other in others {
            let again = Left::by(command, *other);
            let difference = left.difference(&again);
            assert!(difference.is_none(), "{command}: {} differs, {other:?}", difference.unwrap_or_default());
        }
    }
}

#[test]
fn alder_fork_is_told_in_the_same_bytes_anywhere() {
    let logbook = alder_fork();
    let folder = Path::new(&logbook);
    let name = format!("./{}/", folder.file_name().unwrap().to_str().unwrap());
    let circumstances = [
        usually(&logbook, "1"),
        Circumstances {
            working_folder: folder.parent().unwrap(),
            environment: Environment::Of(&ELSEWHERE),
            ..usually(&name, "2")
        },
        Circumstances { working_folder: folder, environment: Environment::Empty, ..usually(".", "8") },
    ];
    same_bytes(&OF_ALDER_FORK, &circumstances);
}

/// Many batches of pits, between which threads race.
#[test]
fn a_fleet_is_told_in_the_same_bytes_on_any_number_of_threads() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let logbook = write(home.path(), &pits, &readings);
    write_use(home.path(), pits.len(), false);
    let with = |threads, environment| Circumstances { environment, ..usually(&logbook, threads) };
    let circumstances = [
        with("1", Environment::Usual),
        with("2", Environment::Of(&ELSEWHERE)),
        with("8", Environment::Empty),
    ];
    same_bytes(&OF_A_FLEET, &circumstances);
    let table = Left::by("forecast BOOK --method line --format csv THREADS", usually(&logbook, "2"));
    let rows = String::from_utf8(table.stdout).unwrap().lines().count() - 1;
    let is_whole = |row: &&String| row.matches(',').count() > 1;
    assert_eq!(rows, pits.iter().filter(is_whole).count(), "every pit of pits.csv has its row in the table");
}

/// Learning takes its time: fewer pits have to do.
#[test]
fn a_fleet_teaches_the_same_bytes_on_any_number_of_threads() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(600);
    let logbook = write(home.path(), &pits, &readings);
    let command = "learn BOOK --by maker -o OUT/prior.toml THREADS";
    same_bytes(&[command], &[usually(&logbook, "1"), usually(&logbook, "8")]);
}

/// Events and people of some pits, so that there is more than one table to sort.
fn write_use(folder: &Path, pits: usize, is_mixed: bool) {
    let mixed = |rows: Vec<String>| if is_mixed { shuffled(&rows) } else { rows };
    let of = |every: usize, row: fn(usize) -> String| {
        let rows = (0..pits).filter(|pit| pit % every == 3).map(|pit| format!("P{pit:04},{}\n", row(pit)));
        mixed(rows.collect()).concat()
    };
    let events = of(7, |pit| format!("{}-08-01,pumped_out,", 2018 + pit % 6));
    let people = of(5, |pit| format!("{}-03-01,{},", 2017 + pit % 8, 1 + pit % 5));
    fs::write(folder.join("events.csv"), format!("pit_id,date,event,note\n{events}")).unwrap();
    fs::write(folder.join("occupancy.csv"), format!("pit_id,from,occupants,flow_lpd\n{people}")).unwrap();
}

/// A spreadsheet may have sorted the tables in any way. What tells lines of files, or a fingerprint of them, may differ.
#[test]
fn a_fleet_with_its_rows_in_another_order_has_the_same_answers() {
    let home = tempfile::tempdir().unwrap();
    let (pits, readings) = rows(PITS);
    let sorted = write(&home.path().join("sorted"), &pits, &readings);
    let mixed = write(&home.path().join("mixed"), &pits, &shuffled(&readings));
    write_use(Path::new(&sorted), pits.len(), false);
    write_use(Path::new(&mixed), pits.len(), true);
    let commands: Vec<&str> = OF_A_FLEET
        .into_iter()
        .filter(|command| !command.starts_with("check ") && !command.starts_with("report "))
        .collect();
    same_bytes(&commands, &[usually(&sorted, "2"), usually(&mixed, "3")]);
}
