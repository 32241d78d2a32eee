//! `soaklife`: how long a seepage pit will keep absorbing, and how sure that is.

mod args;
mod backtest;
mod budget;
mod cell;
mod chart;
mod check;
mod completions;
mod demo;
mod every_pit;
mod forecast;
mod grouping;
mod init;
mod learn;
mod load_test;
mod log;
mod manual;
mod output;
mod picture;
mod report;
mod typical;
mod values;

use args::{Args, Verb};
use clap::Parser as _;
use output::{Failure, Outcome};
use std::process::ExitCode;

fn main() -> ExitCode {
    let outcome = match Args::parse().verb {
        Verb::Init(args) => init::run(&args),
        Verb::Log(args) => log::run(&args),
        Verb::Check(args) => check::run(&args),
        Verb::Forecast(args) => forecast::run(&args),
        Verb::Loadtest(args) => load_test::run(&args),
        Verb::Chart(args) => chart::run(&args),
        Verb::Report(args) => report::run(&args),
        Verb::Backtest(args) => backtest::run(&args),
        Verb::Learn(args) => learn::run(&args),
        Verb::Budget(args) => budget::run(&args),
        Verb::Demo(args) => demo::run(&args),
        Verb::Completions(args) => completions::run(&args),
        Verb::Manual(args) => manual::run(&args),
    };
    match outcome {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::DataProblems) => ExitCode::from(1),
        Err(Failure::BrokenPipe) => ExitCode::SUCCESS,
        Err(Failure::Usage(message)) => {
            output::say(&message);
            ExitCode::from(2)
        }
        Err(Failure::ReadOrWrite(message)) => {
            output::say(&message);
            ExitCode::from(3)
        }
    }
}
