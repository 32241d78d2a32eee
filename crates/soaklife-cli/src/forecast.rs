//! `soaklife forecast`: every pit asked for, answered as text, CSV or JSON.

pub(crate) mod answer;
mod columns;
mod json;
mod summary;
pub(crate) mod text;
mod urgency;

use crate::args::{ForecastArgs, Format};
use crate::chart;
use crate::output::{Failure, Outcome, Run, deliver, say};
use answer::{Answer, Asked};
use soaklife::wording::counted;

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/forecast-1.json");

pub(crate) fn run(args: &ForecastArgs) -> Run {
    let Some(folder) = args.folder.as_deref().filter(|_| !args.json_schema) else {
        deliver(JSON_SCHEMA.as_bytes(), args.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    let asked = Asked::open(folder, &args.question)?;
    let answers = asked.answers(&args.pits)?;
    if let Some(file) = &args.chart {
        draw(&asked, &answers, file)?;
    }
    let told = match args.format {
        Format::Text => told_as_text(&asked, &answers),
        Format::Csv => columns::csv(&answers, asked.units())?,
        Format::Json => json::json(&asked, &answers),
    };
    deliver(told.as_bytes(), args.output.as_deref())?;
    let without_answer = answers.iter().filter(|answer| answer.problem().is_some()).count();
    if without_answer > 0 && args.format != Format::Text {
        say(&format!(
            "{without_answer} of {} without a forecast; `problem` says why.",
            counted(answers.len(), "pit")
        ));
    }
    if asked.logbook().has_errors() {
        say("The logbook has rows that could not be used; `soaklife check` lists them.");
    }
    Ok(if without_answer > 0 || asked.logbook().has_errors() { Outcome::DataProblems } else { Outcome::Done })
}

fn told_as_text(asked: &Asked, answers: &[Answer<'_>]) -> String {
    match answers {
        [only] => text::one_pit(asked, only),
        many => summary::many_pits(asked, many),
    }
}

fn draw(asked: &Asked, answers: &[Answer<'_>], file: &std::path::Path) -> Result<(), Failure> {
    let [only] = answers else {
        return Err(Failure::Usage("--chart draws one pit: name the pit".to_owned()));
    };
    chart::draw(asked, only, file, chart::USUAL_DPI)
}
