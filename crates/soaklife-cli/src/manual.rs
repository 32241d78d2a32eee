//! `soaklife manual`: one page in the manual's own language, made from the command line's help.

use crate::args::{Args, ManualArgs};
use crate::output::{Failure, Outcome, Run, deliver};
use clap::CommandFactory as _;
use clap_mangen::Man;
use std::io;

/// Neither hyphens nor wider spaces: a command of the page can be copied.
const LINES_AS_TYPED: &str = ".nh\n.ad l\n";

pub(crate) fn run(args: &ManualArgs) -> Run {
    let page = page().map_err(|error| Failure::ReadOrWrite(format!("the manual cannot be made: {error}")))?;
    deliver(page.as_bytes(), args.output.as_deref())?;
    Ok(Outcome::Done)
}

/// Name and purpose, then a section for each verb: one page is searched more easily than a dozen.
fn page() -> io::Result<String> {
    let mut command = Args::command().disable_help_subcommand(true).subcommand_value_name("verb");
    command.build();
    let man = Man::new(command.clone()).manual("soaklife");
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    page.extend_from_slice(LINES_AS_TYPED.as_bytes());
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    let mut page = text(page)?;
    for verb in command.get_subcommands() {
        page.push_str(&section(verb)?);
    }
    let mut end = Vec::new();
    man.render_extra_section(&mut end)?;
    page.push_str(&text(end)?.replace(".SH EXTRA", ".SH \"EXIT CODES\"").replace("Exit codes: ", ""));
    Ok(page)
}

/// A verb's synopsis, options and examples, as parts of one section.
fn section(verb: &clap::Command) -> io::Result<String> {
    let name = verb.get_name().to_uppercase();
    let man = Man::new(verb.clone());
    let mut parts = Vec::new();
    man.render_synopsis_section(&mut parts)?;
    man.render_description_section(&mut parts)?;
    man.render_options_section(&mut parts)?;
    man.render_extra_section(&mut parts)?;
    let parts = text(parts)?
        .replace(".SH SYNOPSIS\n", "")
        .replace(".SH DESCRIPTION\n", ".PP\n")
        .replace(".SH EXTRA\n", ".PP\n")
        .replace(".SH ", ".SS ");
    Ok(format!(".SH {name}\n{parts}"))
}

fn text(page: Vec<u8>) -> io::Result<String> {
    String::from_utf8(page).map_err(io::Error::other)
}
