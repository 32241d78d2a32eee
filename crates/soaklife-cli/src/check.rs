//! `soaklife check`: every problem of a logbook.

use crate::args::CheckArgs;
use crate::forecast::answer::{open_fleet, today};
use crate::output::{Failure, Outcome, Progress, Run, Sheet, cores, say};
use soaklife::wording::counted;
use soaklife_records::{Findings, Fleet, WalkError};
use std::ops::ControlFlow;

pub(crate) fn run(args: &CheckArgs) -> Run {
    let fleet = open_fleet(&args.folder, args.as_of.unwrap_or_else(today))?;
    let found = match walk(&fleet, args) {
        Err(WalkError::OutOfOrder) => walk(&fleet, args),
        found => found,
    };
    let found = found.map_err(|error| Failure::ReadOrWrite(error.to_string()))?;
    let mut sheet = Sheet::open(None)?;
    for problem in found.problems() {
        sheet.write(format!("{problem}\n").as_bytes())?;
    }
    sheet.finish()?;
    if found.unlisted() > 0 {
        say(&format!("… and {} more problems, not listed.", found.unlisted()));
    }
    let count = |number: u64, what: &str| counted(usize::try_from(number).unwrap_or(usize::MAX), what);
    say(&format!("{}, {}", count(found.errors(), "error"), count(found.warnings(), "warning")));
    Ok(if found.errors() > 0 { Outcome::DataProblems } else { Outcome::Done })
}

fn walk(fleet: &Fleet, args: &CheckArgs) -> Result<Findings, WalkError> {
    let mut pits = 0;
    let mut progress = Progress::new();
    fleet.walk(
        args.threads.unwrap_or_else(cores),
        |stretch| stretch.entries().len(),
        |more| {
            pits += more;
            progress.tell(pits);
            ControlFlow::Continue(())
        },
    )
}
