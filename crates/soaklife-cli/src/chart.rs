//! `soaklife chart`: the forecast of one pit as a picture.

use crate::args::ChartArgs;
use crate::forecast::answer::{Answer, Asked};
use crate::output::{Failure, Outcome, Run, deliver, say};
use soaklife_charts::{ForecastChart, Svg};
use std::path::Path;

/// Dots per inch of a PNG unless asked otherwise.
pub(crate) const USUAL_DPI: f64 = 200.0;

pub(crate) fn run(args: &ChartArgs) -> Run {
    let asked = Asked::open_with(&args.folder, &args.question, Some(&args.what_if))?;
    let answer = asked.answer_of(&args.pit)?;
    draw(&asked, &answer, &args.output, args.dpi)?;
    if let Some(problem) = answer.problem() {
        say(&format!("The chart shows the readings alone: {problem}."));
        return Ok(Outcome::DataProblems);
    }
    if let Some(problem) = answer.problem_of_what_if() {
        say(&format!("The chart shows today's use alone; what if has no answer: {problem}."));
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

/// Draws the answer of one pit into a file whose name says the format.
pub(crate) fn draw(asked: &Asked, answer: &Answer<'_>, file: &Path, dpi: f64) -> Result<(), Failure> {
    write(file, dpi, || svg(asked, answer))
}

/// Writes a drawing into a file whose name says the format; it is not made for a name that says none.
pub(crate) fn write(
    file: &Path,
    dpi: f64,
    drawing: impl FnOnce() -> Result<Svg, Failure>,
) -> Result<(), Failure> {
    let extension = file.extension().and_then(|extension| extension.to_str()).map(str::to_ascii_lowercase);
    let picture = match extension.as_deref() {
        Some("svg") => drawing()?.as_str().as_bytes().to_vec(),
        Some("png") => drawing()?.to_png(dpi).map_err(|error| Failure::Usage(error.to_string()))?,
        _ => {
            let name = file.display();
            return Err(Failure::Usage(format!(
                "{name}: a chart is written as .svg or .png; end the name in one of them"
            )));
        }
    };
    deliver(&picture, Some(file))
}

/// The chart of one pit's answer.
pub(crate) fn svg(asked: &Asked, answer: &Answer<'_>) -> Result<Svg, Failure> {
    let no_chart = |reason: String| Failure::ReadOrWrite(format!("{} cannot be drawn: {reason}", answer.id));
    let history = answer.record.map(soaklife_records::PitRecord::history);
    let history = history.ok_or_else(|| no_chart(answer.problem().unwrap_or_default().to_owned()))?;
    let chart = match &answer.forecast {
        Ok(forecast) => match answer.told_what_if() {
            Some(other) => ForecastChart::new(forecast, history)
                .beside(&other.alternative, format!("{}, {}", other.what, other.span())),
            None => ForecastChart::new(forecast, history),
        },
        Err(reason) => ForecastChart::of_readings(history, asked.as_of(), reason),
    };
    chart
        .titled(answer.title())
        .in_units(asked.units())
        .covering(asked.coverage())
        .svg()
        .map_err(|error| no_chart(error.to_string()))
}
