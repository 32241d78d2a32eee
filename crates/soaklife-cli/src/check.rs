//! `soaklife check`: every problem of a logbook.

use crate::args::CheckArgs;
use crate::forecast::answer::{read, today};
use crate::output::{Outcome, Run, deliver, say};
use soaklife::wording::counted;
use soaklife_records::Severity;
use std::fmt::Write as _;

pub(crate) fn run(args: &CheckArgs) -> Run {
    let logbook = read(&args.folder, args.as_of.unwrap_or_else(today))?;
    let mut told = String::new();
    for problem in logbook.problems() {
        let _ = writeln!(told, "{problem}");
    }
    deliver(told.as_bytes(), None)?;
    let errors = logbook.problems().iter().filter(|problem| problem.severity == Severity::Error).count();
    let warnings = logbook.problems().len() - errors;
    say(&format!("{}, {}", counted(errors, "error"), counted(warnings, "warning")));
    Ok(if errors > 0 { Outcome::DataProblems } else { Outcome::Done })
}
