//! `soaklife chart`: a figure of one pit, or of many.

use crate::args::{ChartArgs, FigureArg};
use crate::budget::candidate;
use crate::forecast::answer::{Answer, Asked, Asking};
use crate::output::{Failure, Outcome, Run, say};
use crate::picture::folder_name;
use soaklife::fleet::{Candidate, Urgency};
use soaklife::forecast::Method;
use soaklife::wording::counted;
use soaklife::{Forecast, History};
use soaklife_charts::{
    ForecastChart, LadderChart, LineCheckChart, PitPanel, PitSection, SmallMultiples, Svg,
};
use soaklife_records::PitRecord;

pub(crate) fn run(args: &ChartArgs) -> Run {
    if args.figure != FigureArg::Forecast && args.what_if.is_asked() {
        return Err(Failure::Usage("What if is drawn by --figure forecast alone.".to_owned()));
    }
    if matches!(args.figure, FigureArg::Ladder | FigureArg::SmallMultiples) {
        return of_many(args);
    }
    let [pit] = &args.pits[..] else {
        let message = "This figure shows one pit: name it after the folder. Many are shown by --figure ladder and small-multiples";
        return Err(Failure::Usage(message.to_owned()));
    };
    let asked = Asked::open_with(&args.folder, &args.question, Some(&args.what_if))?;
    let answer = asked.answer_of(pit)?;
    let drawing = match args.figure {
        FigureArg::Section => {
            let section = section(&asked, &answer, history(&answer)?);
            section.svg().map_err(|error| undrawn(&answer, &error))?
        }
        FigureArg::LineCheck => line_check(&asked, &answer)?,
        FigureArg::Forecast | FigureArg::Ladder | FigureArg::SmallMultiples => svg(&asked, &answer)?,
    };
    args.output.write(&drawing, args.dpi)?;
    Ok(if args.figure == FigureArg::LineCheck { Outcome::Done } else { told_of(&answer) })
}

/// Says what a figure of the forecast lacks.
fn told_of(answer: &Answer<'_>) -> Outcome {
    if let Some(problem) = answer.problem() {
        say(&format!("The chart shows the readings alone: {problem}."));
        return Outcome::DataProblems;
    }
    if let Some(problem) = answer.problem_of_what_if() {
        say(&format!("The chart shows today's use alone; what if has no answer: {problem}."));
        return Outcome::DataProblems;
    }
    Outcome::Done
}

/// The chart of one pit's answer, drawn.
pub(crate) fn svg(asked: &Asking, answer: &Answer<'_>) -> Result<Svg, Failure> {
    let chart = of_forecast(asked, answer, history(answer)?);
    chart.svg().map_err(|error| undrawn(answer, &error))
}

/// The chart of one pit's answer.
pub(crate) fn of_forecast<'a>(
    asked: &Asking,
    answer: &'a Answer<'_>,
    history: &History,
) -> ForecastChart<'a> {
    let chart = match &answer.forecast {
        Ok(forecast) => match answer.told_what_if() {
            Some(other) => ForecastChart::new(forecast, history)
                .beside(&other.alternative, format!("{}, {}", other.what, other.span())),
            None => ForecastChart::new(forecast, history),
        },
        Err(reason) => ForecastChart::of_readings(history, asked.as_of(), reason),
    };
    chart.titled(answer.title()).in_units(asked.units()).covering(asked.coverage())
}

/// The section of one pit, with the level of its answer.
pub(crate) fn section(asked: &Asking, answer: &Answer<'_>, history: &History) -> PitSection {
    let section = match &answer.forecast {
        Ok(forecast) => PitSection::new(forecast, history),
        Err(_) => PitSection::of_readings(history, asked.as_of()),
    };
    section.titled(answer.title()).in_units(asked.units())
}

/// Whatever the method asked for, it is a line that is checked.
fn line_check(asked: &Asked, answer: &Answer<'_>) -> Result<Svg, Failure> {
    let by_line = Forecast::of(history(answer)?, &answer.question.by(Method::Line));
    let no_line = |reason: String| Failure::Usage(format!("{} has no line to check: {reason}", answer.id));
    let forecast = by_line.map_err(|reason| no_line(reason.to_string()))?;
    let chart = LineCheckChart::new(&forecast).ok_or_else(|| no_line("it stands at its inlet".to_owned()))?;
    let chart = chart.titled(answer.title()).in_units(asked.units());
    chart.svg().map_err(|error| undrawn(answer, &error))
}

fn history<'l>(answer: &Answer<'l>) -> Result<&'l History, Failure> {
    let no_pit = || undrawn(answer, &answer.problem().unwrap_or_default());
    answer.record.map(PitRecord::history).ok_or_else(no_pit)
}

fn undrawn(answer: &Answer<'_>, reason: &dyn std::fmt::Display) -> Failure {
    Failure::ReadOrWrite(format!("{} cannot be drawn: {reason}", answer.id))
}

/// The pits named, or all, the most urgent first.
fn of_many(args: &ChartArgs) -> Run {
    let asked = Asked::open(&args.folder, &args.question)?;
    let all: Vec<String> = asked.logbook().entries().iter().map(|entry| entry.id().to_owned()).collect();
    let named = if args.pits.is_empty() { &all } else { &args.pits };
    let (mut panels, mut silent) = (Vec::new(), 0);
    for id in named {
        let answer = asked.answer_of(id)?;
        match (answer.record, &answer.forecast) {
            (Some(record), Ok(forecast)) => {
                panels.push(PitPanel::new(candidate(record, forecast, Urgency::of(forecast)), forecast));
            }
            _ => silent += 1,
        }
    }
    let title = folder_name(&args.folder);
    let pages = if args.figure == FigureArg::Ladder {
        let pits: Vec<&Candidate> = panels.iter().map(PitPanel::pit).collect();
        LadderChart::new(asked.as_of(), &pits).titled(title).pages()
    } else {
        SmallMultiples::new(asked.as_of(), panels).titled(title).in_units(asked.units()).pages()
    };
    let pages =
        pages.map_err(|error| Failure::ReadOrWrite(format!("the pits cannot be drawn together: {error}")))?;
    args.output.write_pages(&pages, args.dpi)?;
    if pages.len() > 1 && !args.output.has_pages() {
        say(&format!("The picture shows the first of {} pages; a .pdf holds them all.", pages.len()));
    }
    if silent > 0 {
        say(&format!("{} without a forecast not drawn.", counted(silent, "pit")));
    }
    let is_whole = silent == 0 && !asked.logbook().has_errors();
    Ok(if is_whole { Outcome::Done } else { Outcome::DataProblems })
}
