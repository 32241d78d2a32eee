//! `soaklife check`: every problem of a logbook.

use crate::args::CheckArgs;
use crate::every_pit;
use crate::forecast::answer::{open_fleet, today};
use crate::output::{Outcome, Run, Sheet, cores, say};
use soaklife::wording::counted;

pub(crate) fn run(args: &CheckArgs) -> Run {
    let fleet = open_fleet(&args.folder, args.as_of.unwrap_or_else(today))?;
    let threads = args.threads.unwrap_or_else(cores);
    let ((), found) = every_pit::walk(&fleet, threads, |_| Ok(()), (), Ok, |(), ()| Ok(()))?;
    let mut sheet = Sheet::open(None)?;
    for problem in found.problems() {
        sheet.write(format!("{problem}\n").as_bytes())?;
    }
    sheet.finish()?;
    let count = |number: u64, what: &str| counted(usize::try_from(number).unwrap_or(usize::MAX), what);
    if found.unlisted() > 0 {
        say(&format!("… and {}, not listed.", count(found.unlisted(), "more problem")));
    }
    say(&format!("{}, {}", count(found.errors(), "error"), count(found.warnings(), "warning")));
    Ok(if found.errors() > 0 { Outcome::DataProblems } else { Outcome::Done })
}
