//! `soaklife init`: a new logbook, from options or from questions.

use crate::args::InitArgs;
use crate::output::{Failure, Outcome, Run, say};
use soaklife::Pit;
use soaklife::quantity::Length;
use soaklife_records::measure::parse_length;
use soaklife_records::{CreateError, NewPit, create};
use std::io::{self, IsTerminal as _, Write as _};
use std::str::FromStr;

pub(crate) fn run(args: &InitArgs) -> Run {
    let pit = new_pit(args)?;
    Pit::new(pit.inlet_depth, pit.bottom_depth).map_err(|error| Failure::Usage(error.to_string()))?;
    create(&args.folder, &pit).map_err(failure)?;
    let (folder, id) = (args.folder.display(), &pit.id);
    say(&format!(
        "The logbook is in {folder}: pits.csv, readings.csv, logbook.toml (every setting explained) and datapackage.json.\n\
         Log the first reading:\n  soaklife log {folder} {id} --date 2026-05-14 --depth-to-liquid 41.5in"
    ));
    Ok(Outcome::Done)
}

pub(crate) fn failure(error: CreateError) -> Failure {
    match error {
        CreateError::Exists { .. } | CreateError::Pit { .. } => Failure::Usage(error.to_string()),
        error => Failure::ReadOrWrite(error.to_string()),
    }
}

/// The pit from the options; what is missing is asked for if somebody is there to answer.
fn new_pit(args: &InitArgs) -> Result<NewPit, Failure> {
    let mut pit = NewPit {
        id: args.pit_id.clone().unwrap_or_default(),
        label: args.label.clone(),
        installed: args.installed,
        inlet_depth: args.inlet_depth.unwrap_or_default(),
        bottom_depth: args.bottom_depth.unwrap_or_default(),
        diameter: args.diameter,
        bedrooms: args.bedrooms,
        occupants: args.occupants,
        units: args.units.into(),
    };
    if args.pit_id.is_some() && args.inlet_depth.is_some() && args.bottom_depth.is_some() {
        return Ok(pit);
    }
    if !io::stdin().is_terminal() {
        return Err(Failure::Usage(
            "a new logbook needs --pit-id, --inlet-depth and --bottom-depth, as in --pit-id H-1 --inlet-depth 30in \
             --bottom-depth 17ft6in"
                .to_owned(),
        ));
    }
    if args.pit_id.is_none() {
        pit.id = ask_for("A short name for the pit", "H-1", |text| Ok::<_, String>(text.to_owned()))?;
    }
    if args.inlet_depth.is_none() {
        pit.inlet_depth =
            ask_for("From the rim of the port down to the inlet pipe's bottom", "30in", said_length)?;
    }
    if args.bottom_depth.is_none() {
        pit.bottom_depth = ask_for("From the rim down to the pit bottom", "17ft6in", said_length)?;
    }
    pit.diameter = pit
        .diameter
        .map_or_else(|| ask("Inside diameter, if known", "6ft", said_length), |known| Ok(Some(known)))?;
    pit.bedrooms =
        pit.bedrooms.map_or_else(|| ask("Bedrooms, if known", "3", said::<f64>), |known| Ok(Some(known)))?;
    pit.occupants = pit
        .occupants
        .map_or_else(|| ask("People in the house, if known", "4", said::<f64>), |known| Ok(Some(known)))?;
    pit.installed =
        pit.installed.map_or_else(|| ask("Installed, if known", "1994", said), |known| Ok(Some(known)))?;
    Ok(pit)
}

fn said_length(text: &str) -> Result<Length, String> {
    parse_length(text).map_err(|error| error.to_string())
}

fn said<T: FromStr>(text: &str) -> Result<T, String>
where
    T::Err: std::fmt::Display,
{
    text.parse().map_err(|error: T::Err| error.to_string())
}

/// Asks until something is said.
fn ask_for<T>(question: &str, example: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<T, Failure> {
    loop {
        if let Some(answer) = ask(question, example, &read)? {
            return Ok(answer);
        }
    }
}

/// Asks until the answer can be read; an empty one is none.
fn ask<T>(
    question: &str,
    example: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<T>, Failure> {
    loop {
        let mut stderr = io::stderr().lock();
        let _ = write!(stderr, "{question} (as in {example}): ");
        let _ = stderr.flush();
        let mut line = String::new();
        let length =
            io::stdin().read_line(&mut line).map_err(|error| Failure::ReadOrWrite(error.to_string()))?;
        if length == 0 {
            return Err(Failure::Usage("the questions were not answered; nothing was written".to_owned()));
        }
        let text = line.trim();
        if text.is_empty() {
            return Ok(None);
        }
        match read(text) {
            Ok(answer) => return Ok(Some(answer)),
            Err(reason) => {
                let _ = writeln!(stderr, "{reason}");
            }
        }
    }
}
