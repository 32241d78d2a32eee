//! Running the real binary.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The repository's fixtures.
#[allow(dead_code, reason = "not every test file looks for the same fixture")]
pub(crate) fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures")
}

/// The Alder Fork logbook.
#[allow(dead_code, reason = "not every test file looks for the same fixture")]
pub(crate) fn alder_fork() -> String {
    fixtures().join("logbooks/alder-fork").to_str().unwrap().to_owned()
}

/// A command of the binary that nobody answers.
pub(crate) fn soaklife() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_soaklife"));
    command.stdin(Stdio::null());
    command
}

/// Runs it to its end.
#[allow(dead_code, reason = "not every test file runs it the same way")]
pub(crate) fn run(args: &[&str]) -> Output {
    soaklife().args(args).output().unwrap()
}

/// Runs it in a folder.
#[allow(dead_code, reason = "not every test file runs it the same way")]
pub(crate) fn run_in(folder: &Path, args: &[&str]) -> Output {
    soaklife().current_dir(folder).args(args).output().unwrap()
}

/// What it printed.
#[allow(dead_code, reason = "not every test file reads it")]
pub(crate) fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}
