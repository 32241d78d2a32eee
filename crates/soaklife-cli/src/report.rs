//! `soaklife report`: the exhibit, one page about one pit for an inspector's report; without a pit, the report of the fleet.

mod fingerprint;
mod fleet;

use crate::args::ReportArgs;
use crate::chart;
use crate::forecast::answer::{Answer, Asked};
use crate::forecast::{text, urgency};
use crate::load_test;
use crate::output::{Failure, Outcome, Run, deliver, say};
use soaklife::forecast::Basis;
use soaklife::pit::CrossSection;
use soaklife::wording::{counted, length};
use soaklife_charts::{Exhibit, Paper, Table};
use soaklife_records::{PitRecord, Problem, Severity};
use std::collections::BTreeSet;
use std::path::Path;

const PROGRAM: &str = concat!("soaklife ", env!("CARGO_PKG_VERSION"));

/// What the page is written as.
#[derive(Debug, Clone, Copy)]
enum Format {
    Html,
    Pdf,
}

pub(crate) fn run(args: &ReportArgs) -> Run {
    let format = format_of(&args.output)?;
    match &args.pit {
        Some(pit) => of_one_pit(args, pit, format),
        None => fleet::run(args, format),
    }
}

fn of_one_pit(args: &ReportArgs, pit: &str, format: Format) -> Run {
    let asked = Asked::open(&args.folder, &args.question)?;
    let answer = asked.answer_of(pit)?;
    let Some(record) = answer.record else {
        say(&format!(
            "{}: its row in pits.csv cannot be used: {}",
            answer.id,
            answer.problem().unwrap_or_default()
        ));
        return Ok(Outcome::DataProblems);
    };
    let fingerprint = fingerprint::of(&args.folder)?;
    let exhibit = exhibit(&asked, &answer, record)?.sealed(&fingerprint, PROGRAM);
    let paper = Paper::from(args.paper);
    let page = match format {
        Format::Html => exhibit.to_html(paper).into_bytes(),
        Format::Pdf => exhibit
            .to_pdf(paper)
            .map_err(|error| Failure::ReadOrWrite(format!("{} cannot be written: {error}", answer.id)))?,
    };
    deliver(&page, Some(&args.output))?;
    if let Some(problem) = answer.problem() {
        say(&format!("The page shows the readings alone: {problem}."));
        return Ok(Outcome::DataProblems);
    }
    if asked.logbook().has_errors() {
        say("The logbook has rows that could not be used; `soaklife check` lists them.");
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

/// The format that the name of the file says.
fn format_of(file: &Path) -> Result<Format, Failure> {
    let extension = file.extension().and_then(|extension| extension.to_str()).map(str::to_ascii_lowercase);
    match extension.as_deref() {
        Some("html") => Ok(Format::Html),
        Some("pdf") => Ok(Format::Pdf),
        _ => {
            let name = file.display();
            Err(Failure::Usage(format!(
                "{name}: a report is written as .html or .pdf; end the name in one of them"
            )))
        }
    }
}

/// What the page says.
fn exhibit(asked: &Asked, answer: &Answer<'_>, record: &PitRecord) -> Result<Exhibit, Failure> {
    let (units, as_of) = (asked.units(), asked.as_of());
    let history = record.history();
    let readings = match &answer.forecast {
        Ok(forecast) => forecast.readings().to_vec(),
        Err(_) => history.readings_for_a_line(as_of),
    };
    let chart = chart::svg(asked, answer)?;
    let mut exhibit = Exhibit::new(&answer.title(), as_of, &text::one_line(asked, answer), chart)
        .by_method(answer.question.method())
        .with_readings(Table::of_readings(&readings, history.pit(), units));
    if let Ok(forecast) = &answer.forecast {
        if forecast.basis() != Basis::AtInlet {
            let [headings, rows @ ..] =
                text::outlook(asked, answer, forecast).map(|row| row.map(|cell| short(&cell)));
            let outlook = Table::new("Outlook", headings);
            exhibit = exhibit.with_outlook(rows.into_iter().fold(outlook, Table::with_row));
        }
        exhibit = exhibit
            .noting("Rests on", &text::rests_on(forecast))
            .noting("Typical", &text::whose_experience(asked, answer))
            .noting("Course", &text::course_of(forecast));
    }
    Ok(exhibit
        .noting("Left out", &left_out(asked, record))
        .noting("Hand check", &text::hand_check_of(asked, answer))
        .noting("Load", &text::load_of(asked, answer))
        .noting("Load test", &load_test::last_in_words(record, units, as_of).unwrap_or_default())
        .noting("Pit", &dimensions(asked, record))
        .noting("Measure next", &urgency::next_reading(asked, answer)))
}

/// A cell of the outlook as the narrow column has room for it: "<1 %", "13–18".
fn short(cell: &str) -> String {
    let is_number = |word: &str| word.parse::<f64>().is_ok();
    match cell.split_once(" to ") {
        Some((low, high)) if is_number(low) && is_number(high) => format!("{low}–{high}"),
        _ => cell.replace("under ", "<").replace("over ", ">"),
    }
}

/// How many rows about this pit could not be used.
fn left_out(asked: &Asked, record: &PitRecord) -> String {
    let about_it = |problem: &&Problem| {
        problem.severity == Severity::Error && problem.pit_id.as_deref() == Some(record.id())
    };
    let problems = asked.logbook().problems().iter().filter(about_it);
    let rows: BTreeSet<_> = problems.map(|problem| (&problem.file, problem.line)).collect();
    match rows.len() {
        0 => String::new(),
        count => format!("{} of the logbook about this pit that could not be used.", counted(count, "row")),
    }
}

/// What is known of the pit itself.
fn dimensions(asked: &Asked, record: &PitRecord) -> String {
    let (units, history) = (asked.units(), record.history());
    let pit = history.pit();
    let told = |depth| length(depth, units);
    let across = match pit.cross_section() {
        Some(CrossSection::Round { diameter }) => format!("{} across", told(diameter)),
        Some(CrossSection::Rectangular { length, width }) => format!("{} by {}", told(length), told(width)),
        _ => "width not known".to_owned(),
    };
    let since = match history.installed() {
        Some(installed) => format!("in service since {}", installed),
        None => "age not known".to_owned(),
    };
    format!(
        "inlet invert {} and bottom {} below the rim, {across}, {since}.",
        told(pit.inlet_depth()),
        told(pit.bottom_depth())
    )
}
