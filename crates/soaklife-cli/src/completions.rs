//! `soaklife completions`: what a shell needs to complete verbs and options.

use crate::args::{Args, CompletionsArgs};
use crate::output::{Outcome, Run, deliver};
use clap::CommandFactory as _;

pub(crate) fn run(args: &CompletionsArgs) -> Run {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "soaklife", &mut script);
    deliver(&script, args.output.as_deref())?;
    Ok(Outcome::Done)
}
