//! `soaklife forecast`: every pit asked for, answered as text, CSV or JSON.

pub(crate) mod answer;
mod columns;
mod fleet;
mod json;
mod summary;
pub(crate) mod text;
pub(crate) mod urgency;
pub(crate) mod what_if;

use crate::args::{ForecastArgs, Format};
use crate::chart;
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, deliver, say};
use answer::{Answer, Asked};
use fleet::Tally;
use soaklife::wording::counted;
use soaklife::wording::fleet::grouped;
use std::path::Path;
use summary::Summary;

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/forecast-1.json");

pub(crate) fn run(args: &ForecastArgs) -> Run {
    let Some(folder) = args.folder.as_deref().filter(|_| !args.telling.json_schema) else {
        deliver(JSON_SCHEMA.as_bytes(), args.telling.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    if args.what_if.is_asked() && args.pits.is_empty() {
        let message = "A what-if is asked of pits by name: put one or more after the folder.";
        return Err(Failure::Usage(message.to_owned()));
    }
    let tally = if args.pits.is_empty() && args.telling.picture.chart.is_none() {
        fleet::run(folder, args)?
    } else {
        named_pits(folder, args)?
    };
    if tally.without_answer > 0 && args.telling.format != Format::Text {
        say(&format!(
            "{} of {} without a forecast; `problem` says why.",
            grouped(tally.without_answer as f64),
            counted(tally.pits, "pit")
        ));
    }
    if tally.has_errors {
        say(ROWS_NOT_USED);
    }
    Ok(if tally.without_answer > 0 || tally.has_errors { Outcome::DataProblems } else { Outcome::Done })
}

/// The pits named, or the one to be drawn, from a logbook read whole.
fn named_pits(folder: &Path, args: &ForecastArgs) -> Result<Tally, Failure> {
    let asked = Asked::open_with(folder, &args.question, Some(&args.what_if))?;
    let answers = asked.answers(&args.pits)?;
    args.telling.picture.draw(|| match &answers[..] {
        [only] => chart::svg(&asked, only),
        _ => Err(Failure::Usage("--chart draws one pit: name the pit".to_owned())),
    })?;
    let told = match args.telling.format {
        Format::Text => match &answers[..] {
            [only] => text::one_pit(&asked, only).into_bytes(),
            many => Summary::of(&asked, many).told_with(&asked, &what_if::summary(&asked, many)).into_bytes(),
        },
        Format::Csv => {
            let mut table = columns::heading(&asked)?.into_bytes();
            answers.iter().for_each(|answer| columns::add_row(answer, &asked, &mut table));
            table
        }
        Format::Json => json::whole(&asked, &answers).into_bytes(),
    };
    deliver(&told, args.telling.output.as_deref())?;
    let is_silent = |answer: &&Answer<'_>| answer.problem().or_else(|| answer.problem_of_what_if()).is_some();
    let without_answer = answers.iter().filter(is_silent).count();
    Ok(Tally { pits: answers.len(), without_answer, has_errors: asked.logbook().has_errors() })
}
