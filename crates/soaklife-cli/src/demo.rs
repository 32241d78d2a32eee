//! `soaklife demo`: the Alder Fork logbook.

use crate::args::DemoArgs;
use crate::init::failure;
use crate::output::{Outcome, Run, say, typed};
use soaklife_records::write_demo;

pub(crate) fn run(args: &DemoArgs) -> Run {
    write_demo(&args.folder).map_err(failure)?;
    let folder = typed(&args.folder.to_string_lossy());
    say(&format!(
        "The Alder Fork logbook is in {folder}: an invented company with 24 pits; its README.md tells their stories. Try:\n  \
         soaklife forecast {folder} --as-of 2026-06-30\n  \
         soaklife forecast {folder} AF-01 --as-of 2026-06-30 --chart af-01.svg\n  \
         soaklife loadtest {folder} AF-08 --as-of 2026-06-30\n  \
         soaklife check {folder} --as-of 2026-06-30"
    ));
    Ok(Outcome::Done)
}
