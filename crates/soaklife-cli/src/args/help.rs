//! The options of what helps to use the program: `completions` and `manual`.

use clap::Args;
use clap_complete::Shell;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct CompletionsArgs {
    /// The shell
    pub(crate) shell: Shell,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct ManualArgs {
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
}
