//! `soaklife report`: the exhibit, one page about one pit for an inspector's report; without a pit, the report of the fleet.

mod each;
mod fingerprint;
mod fleet;

use crate::args::{PageFormat, ReportArgs};
use crate::chart;
use crate::forecast::answer::{Answer, Asked, Asking};
use crate::forecast::{text, urgency};
use crate::load_test;
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, deliver, say};
use jiff::civil::Date;
use soaklife::History;
use soaklife::forecast::Basis;
use soaklife::history::{Event, EventKind};
use soaklife::pit::CrossSection;
use soaklife::wording::{counted, length};
use soaklife_charts::{ChartError, Exhibit, Paper, Table};
use soaklife_records::PitRecord;
use std::path::Path;

const PROGRAM: &str = concat!("soaklife ", env!("CARGO_PKG_VERSION"));

pub(crate) fn run(args: &ReportArgs) -> Run {
    match &args.pit {
        Some(pit) => of_one_pit(args, pit, format_of(&args.output)?),
        None if args.each => each::run(args),
        None => fleet::run(args, format_of(&args.output)?),
    }
}

fn of_one_pit(args: &ReportArgs, pit: &str, format: PageFormat) -> Run {
    let asked = Asked::open(&args.folder, &args.question)?;
    let answer = asked.answer_of(pit)?;
    let Some(record) = answer.record else {
        say(&unusable(&answer));
        return Ok(Outcome::DataProblems);
    };
    let sheet = Sheet { paper: Paper::from(args.paper), format, fingerprint: fingerprint::of(&args.folder)? };
    let page = sheet
        .page(&asked, &answer, record, asked.logbook().rows_left_out(record.id()))
        .map_err(Failure::ReadOrWrite)?;
    deliver(&page, Some(&args.output))?;
    if let Some(problem) = answer.problem() {
        say(&format!("The page shows the readings alone: {problem}."));
        return Ok(Outcome::DataProblems);
    }
    if asked.logbook().has_errors() {
        say(ROWS_NOT_USED);
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

/// The format that the name of the file says.
fn format_of(file: &Path) -> Result<PageFormat, Failure> {
    let extension = file.extension().and_then(|extension| extension.to_str()).map(str::to_ascii_lowercase);
    match extension.as_deref() {
        Some("html") => Ok(PageFormat::Html),
        Some("pdf") => Ok(PageFormat::Pdf),
        _ => {
            let name = file.display();
            Err(Failure::Usage(format!(
                "{name}: a report is written as .html or .pdf; end the name in one of them"
            )))
        }
    }
}

/// Why a pit has no page.
fn unusable(answer: &Answer<'_>) -> String {
    format!("{}: its row in pits.csv cannot be used: {}", answer.id, answer.problem().unwrap_or_default())
}

/// What every page is written on.
struct Sheet {
    paper: Paper,
    format: PageFormat,
    fingerprint: String,
}

impl Sheet {
    /// The page of a pit, or why it cannot be drawn.
    fn page(
        &self,
        asked: &Asking,
        answer: &Answer<'_>,
        record: &PitRecord,
        left_out: usize,
    ) -> Result<Vec<u8>, String> {
        let refused = |error: ChartError| format!("{} cannot be drawn: {error}", answer.id);
        let exhibit =
            exhibit(asked, answer, record, left_out).map_err(refused)?.sealed(&self.fingerprint, PROGRAM);
        match self.format {
            PageFormat::Html => Ok(exhibit.to_html(self.paper).into_bytes()),
            PageFormat::Pdf => exhibit.to_pdf(self.paper).map_err(refused),
        }
    }
}

/// What the page says.
fn exhibit(
    asked: &Asking,
    answer: &Answer<'_>,
    record: &PitRecord,
    left_out: usize,
) -> Result<Exhibit, ChartError> {
    let (units, as_of) = (asked.units(), asked.as_of());
    let history = record.history();
    let readings = match &answer.forecast {
        Ok(forecast) => forecast.readings().to_vec(),
        Err(_) => history.readings_for_a_line(as_of),
    };
    let chart = chart::of_forecast(asked, answer, history).bare().svg()?;
    let section = chart::section(asked, answer, history).bare().svg()?;
    let mut exhibit = Exhibit::new(&answer.title(), as_of, &text::one_line(asked, answer), chart)
        .with_section(section)
        .by_method(answer.question.method())
        .with_readings(Table::of_readings(&readings, history, units))
        .noting_of_the_pit("Pit", &dimensions(asked, record))
        .noting_of_the_pit("Rim", &rim(history, as_of))
        .noting_of_the_pit("Left out", &told_left_out(left_out));
    if let Some([said, rules]) = load_test::last_in_words(record, units, as_of) {
        exhibit = exhibit.noting("Load test", &said).noting("Test rules", &rules);
    }
    if let Ok(forecast) = &answer.forecast {
        if forecast.basis() != Basis::AtInlet {
            let [headings, rows @ ..] =
                text::outlook(asked, answer, forecast).map(|row| row.map(|cell| short(&cell)));
            let outlook = Table::new("Outlook", headings);
            exhibit = exhibit.with_outlook(rows.into_iter().fold(outlook, Table::with_row));
        }
        exhibit = exhibit
            .noting("Test and years", &load_test::beside_forecast(Some(record), forecast, units))
            .noting("Rests on", &text::rests_on(forecast))
            .noting("Typical", &text::whose_experience(asked, answer))
            .noting("Course", &text::course_of(forecast));
    }
    Ok(exhibit
        .noting("Hand check", &text::hand_check_of(asked, answer))
        .noting("Load", &text::load_of(asked, answer))
        .noting("Household", &text::household_of(asked, answer))
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

fn told_left_out(rows: usize) -> String {
    match rows {
        0 => String::new(),
        rows => format!("{} of the logbook about this pit that could not be used.", counted(rows, "row")),
    }
}

/// What a change of the rim does to what was read before.
fn rim(history: &History, as_of: Date) -> String {
    let changes = |event: &&Event| event.kind == EventKind::DatumChanged && event.date.middle() <= as_of;
    let Some(changed) = history.events().iter().rfind(changes) else { return String::new() };
    if !history.readings().iter().any(|reading| reading.date().middle() < changed.date.middle()) {
        return String::new();
    }
    format!(
        "changed {}. Depths read before are below the old rim, so their freeboard is not known; the chart draws them as if the \
         rim had stayed. A forecast does not take the step for a rise.",
        changed.date
    )
}

/// What is known of the pit itself.
fn dimensions(asked: &Asking, record: &PitRecord) -> String {
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
