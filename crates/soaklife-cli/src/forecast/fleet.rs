//! Every pit of a logbook of any size, in the order of `pits.csv`, on every core and in bounded memory.

use super::answer::{Answer, Asking, open_fleet, question};
use super::summary::Summary;
use super::{columns, json, text};
use crate::args::{ForecastArgs, Format};
use crate::output::{Failure, Progress, Sheet, cores};
use soaklife_records::{Findings, Fleet, Stretch, WalkError};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;

/// How many pits were answered, and what was wrong.
pub(super) struct Tally {
    pub(super) pits: usize,
    pub(super) without_answer: usize,
    pub(super) has_errors: bool,
}

/// The answers of neighbouring pits, told.
struct Told {
    pits: usize,
    without_answer: usize,
    form: Form,
}

enum Form {
    /// Ready to be written.
    Ready(String),
    /// Lines for the summary, and the only pit in full where there is but one.
    Lines(Summary, Option<String>),
}

/// Answers every pit and writes what is asked for.
pub(super) fn run(folder: &Path, args: &ForecastArgs) -> Result<Tally, Failure> {
    let question = question(&args.question)?;
    let threads = args.threads.unwrap_or_else(cores);
    let fleet = open_fleet(folder, question.as_of())?;
    let mut sheet = Sheet::open(args.output.as_deref())?;
    if sheet.is_stdout() && args.format != Format::Text {
        // What has been printed cannot be taken back.
        fleet.find_order().map_err(failure)?;
    }
    let asked = Asking::of_fleet(&fleet, &args.question, question, threads)?;
    let walk = Walk { fleet: &fleet, asked: &asked, format: args.format, threads };
    let tally = match walk.write(&mut sheet)? {
        Some(tally) => tally,
        None => {
            sheet.start_again()?;
            walk.write(&mut sheet)?.ok_or_else(|| failure(WalkError::OutOfOrder))?
        }
    };
    sheet.finish()?;
    Ok(tally)
}

fn failure(error: WalkError) -> Failure {
    Failure::ReadOrWrite(error.to_string())
}

struct Walk<'a> {
    fleet: &'a Fleet,
    asked: &'a Asking,
    format: Format,
    threads: NonZeroUsize,
}

impl Walk<'_> {
    /// Writes everything; nothing comes back if the tables must be sorted first.
    fn write(&self, sheet: &mut Sheet<'_>) -> Result<Option<Tally>, Failure> {
        let mut tally = Tally { pits: 0, without_answer: 0, has_errors: false };
        let mut summary = Summary::default();
        let mut only = None;
        let (before, after) = match self.format {
            Format::Json => json::frame(self.asked),
            Format::Csv => (columns::heading(self.asked.units())?, String::new()),
            Format::Text => (String::new(), String::new()),
        };
        sheet.write(before.as_bytes())?;
        let mut progress = Progress::new();
        let found = self.each(|told| {
            let first = tally.pits == 0;
            tally.pits += told.pits;
            tally.without_answer += told.without_answer;
            progress.tell(tally.pits);
            match told.form {
                Form::Ready(text) => {
                    // Between two pits of the list stands a comma, after the last none.
                    let comma = if self.format == Format::Json && !first && told.pits > 0 { "," } else { "" };
                    sheet.write(comma.as_bytes())?;
                    sheet.write(text.as_bytes())
                }
                Form::Lines(lines, full) => {
                    only = full.filter(|_| first && told.pits == 1);
                    summary.add(lines);
                    Ok(())
                }
            }
        });
        drop(progress);
        let Some(found) = found? else { return Ok(None) };
        match self.format {
            Format::Json => {
                sheet.write(if tally.pits > 0 { json::END_OF_LIST } else { "" }.as_bytes())?;
                sheet.write(after.as_bytes())?;
            }
            Format::Text => {
                let told = only.filter(|_| tally.pits == 1).unwrap_or_else(|| summary.told(self.asked));
                sheet.write(told.as_bytes())?;
            }
            Format::Csv => {}
        }
        tally.has_errors = found.errors() > 0;
        Ok(Some(tally))
    }

    fn each(&self, mut take: impl FnMut(Told) -> Result<(), Failure>) -> Result<Option<Findings>, Failure> {
        let mut failed = None;
        let walked = self.fleet.walk(
            self.threads,
            |stretch| self.tell(stretch),
            |told| match told.and_then(&mut take) {
                Ok(()) => ControlFlow::Continue(()),
                Err(failure) => {
                    failed = Some(failure);
                    ControlFlow::Break(())
                }
            },
        );
        match (failed, walked) {
            (Some(failure), _) => Err(failure),
            (None, Err(WalkError::OutOfOrder)) => Ok(None),
            (None, walked) => walked.map(Some).map_err(failure),
        }
    }

    fn tell(&self, stretch: &Stretch) -> Result<Told, Failure> {
        let answers = stretch
            .entries()
            .iter()
            .map(|entry| self.asked.answer(entry, |pit| stretch.errors_of_row(pit.id())))
            .collect::<Result<Vec<Answer<'_>>, Failure>>()?;
        let form = match self.format {
            Format::Csv => Form::Ready(columns::rows(&answers, self.asked.units())),
            Format::Json => Form::Ready(json::pits(self.asked, &answers)),
            Format::Text => {
                let full = match &answers[..] {
                    [only] => Some(text::one_pit(self.asked, only)),
                    _ => None,
                };
                Form::Lines(Summary::of(self.asked, &answers), full)
            }
        };
        let without_answer = answers.iter().filter(|answer| answer.problem().is_some()).count();
        Ok(Told { pits: answers.len(), without_answer, form })
    }
}
