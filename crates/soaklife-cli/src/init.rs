//! `soaklife init`: a new logbook, from options or from questions.

use crate::args::InitArgs;
use crate::forecast::answer::today;
use crate::output::{Failure, Outcome, Run, say, typed};
use crate::values::{parse_bedrooms, parse_depth, parse_diameter, parse_occupants};
use soaklife::date::PartialDate;
use soaklife::quantity::{Length, Units};
use soaklife::wording::length;
use soaklife_records::schema::{PITS, READINGS};
use soaklife_records::{CreateError, NewPit, create};
use std::io::{self, IsTerminal as _, Write as _};
use std::path::Path;

pub(crate) fn run(args: &InitArgs) -> Run {
    refuse_a_logbook(&args.folder)?;
    let pit = new_pit(args)?;
    let refused = |reason: String| Failure::Usage(format!("{reason}; nothing was written"));
    inlet_above_bottom(pit.inlet_depth, pit.bottom_depth, pit.units).map_err(refused)?;
    pit.installed.map_or(Ok(()), not_to_come).map_err(refused)?;
    create(&args.folder, &pit).map_err(failure)?;
    let (folder, id) = (typed(&args.folder.to_string_lossy()), typed(&pit.id));
    let example = if pit.units == Units::Si { "105cm" } else { "41.5in" };
    say(&format!(
        "The logbook is in {folder}: pits.csv, readings.csv, logbook.toml (every setting explained) and datapackage.json.\n\
         Log the first reading:\n  soaklife log {folder} {id} --date {} --depth-to-liquid {example}\n\
         Read it from outside: never enter or lean into a pit, the gas kills without warning.",
        today()
    ));
    Ok(Outcome::Done)
}

pub(crate) fn failure(error: CreateError) -> Failure {
    match error {
        CreateError::Exists { .. } | CreateError::Pit { .. } => Failure::Usage(error.to_string()),
        error => Failure::ReadOrWrite(error.to_string()),
    }
}

/// Nobody is asked nine questions for a folder that is taken.
fn refuse_a_logbook(folder: &Path) -> Result<(), Failure> {
    let taken =
        [PITS.file, READINGS.file].map(|file| folder.join(file)).into_iter().find(|path| path.exists());
    taken.map_or(Ok(()), |path| Err(failure(CreateError::Exists { path })))
}

fn inlet_above_bottom(inlet: Length, bottom: Length, units: Units) -> Result<(), String> {
    if bottom > inlet {
        return Ok(());
    }
    Err(format!(
        "the pit bottom ({} below the rim) must lie below the inlet ({})",
        length(bottom, units),
        length(inlet, units)
    ))
}

fn not_to_come(installed: PartialDate) -> Result<(), String> {
    if installed.first() <= today() {
        return Ok(());
    }
    Err(format!("installed {installed} is later than today ({})", today()))
}

/// The pit from the options; what is missing is asked for if somebody is there to answer.
fn new_pit(args: &InitArgs) -> Result<NewPit, Failure> {
    if let (Some(id), Some(inlet_depth), Some(bottom_depth)) =
        (&args.pit_id, args.inlet_depth, args.bottom_depth)
    {
        return Ok(NewPit {
            id: id.clone(),
            label: args.label.clone(),
            installed: args.installed,
            inlet_depth,
            bottom_depth,
            diameter: args.diameter,
            bedrooms: args.bedrooms,
            occupants: args.occupants,
            units: args.units.into(),
        });
    }
    if io::stdin().is_terminal() {
        return asked_for(args);
    }
    Err(Failure::Usage(
        "a new logbook needs --pit-id, --inlet-depth and --bottom-depth, as in --pit-id H-1 --inlet-depth 30in \
         --bottom-depth 17ft6in"
            .to_owned(),
    ))
}

/// Every question that the options leave open.
fn asked_for(args: &InitArgs) -> Result<NewPit, Failure> {
    let units = Units::from(args.units);
    let example = |us, si| if units == Units::Si { si } else { us };
    let id = known_or(args.pit_id.clone(), || {
        ask_for("A short name for the pit", "H-1", |text| Ok(text.to_owned()))
    })?;
    let inlet_depth = known_or(args.inlet_depth, || {
        ask_for("From the rim of the port down to the inlet invert", example("30in", "75cm"), parse_depth)
    })?;
    let bottom_depth = known_or(args.bottom_depth, || {
        ask_for("From the rim down to the pit bottom", example("17ft6in", "5.3m"), |text| {
            let bottom = parse_depth(text)?;
            inlet_above_bottom(inlet_depth, bottom, units).map(|()| bottom)
        })
    })?;
    Ok(NewPit {
        id,
        label: args.label.clone(),
        inlet_depth,
        bottom_depth,
        diameter: or_ask(args.diameter, "Inside diameter", example("6ft", "1.8m"), parse_diameter)?,
        bedrooms: or_ask(args.bedrooms, "Bedrooms", "3", parse_bedrooms)?,
        occupants: or_ask(args.occupants, "People in the house", "4", parse_occupants)?,
        installed: or_ask(args.installed, "Installed", "1994", |text| {
            let installed = text.parse::<PartialDate>().map_err(|error| error.to_string())?;
            not_to_come(installed).map(|()| installed)
        })?,
        units,
    })
}

fn known_or<T>(known: Option<T>, ask: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    known.map_or_else(ask, Ok)
}

/// What is known already, or the answer to a question that may be left open.
fn or_ask<T>(
    known: Option<T>,
    question: &str,
    example: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Result<Option<T>, Failure> {
    if known.is_some() {
        return Ok(known);
    }
    ask(&format!("{question}, or nothing if not known"), example, read)
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
