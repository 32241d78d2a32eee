//! Every pit of a logbook of any size, in the order of `pits.csv`, on every core and in bounded memory.

use super::answer::{Answer, Asking, open_fleet, question};
use super::summary::Summary;
use super::{columns, json, text};
use crate::args::{ForecastArgs, Format};
use crate::every_pit;
use crate::output::{Failure, Sheet, cores};
use soaklife_records::Stretch;
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
    Ready(Vec<u8>),
    /// Lines for the summary, and the only pit in full where there is but one.
    Lines(Summary, Option<String>),
}

/// Answers every pit and writes what is asked for.
pub(super) fn run(folder: &Path, args: &ForecastArgs) -> Result<Tally, Failure> {
    let question = question(&args.question)?;
    let threads = args.threads.unwrap_or_else(cores);
    let fleet = open_fleet(folder, question.as_of())?;
    let mut sheet = Sheet::open(args.telling.output.as_deref())?;
    if sheet.is_stdout() && args.telling.format != Format::Text {
        // What has been printed cannot be taken back.
        fleet.find_order(threads).map_err(every_pit::failure)?;
    }
    let asked = Asking::of_fleet(&fleet, &args.question, question, threads)?;
    let telling = Telling { asked: &asked, format: args.telling.format };
    let writing = telling.begin(&mut sheet)?;
    let (writing, found) = every_pit::walk(
        &fleet,
        threads,
        |stretch| telling.tell(stretch),
        writing,
        |writing| telling.begin_again(writing),
        |writing, told| writing.take(args.telling.format, told),
    )?;
    let mut tally = telling.end(writing)?;
    tally.has_errors = found.errors() > 0;
    sheet.finish()?;
    Ok(tally)
}

/// What has been written so far.
struct Writing<'s> {
    sheet: &'s mut Sheet,
    tally: Tally,
    summary: Summary,
    /// The only pit in full, as long as there is but one.
    only: Option<String>,
}

impl Writing<'_> {
    fn take(&mut self, format: Format, told: Told) -> Result<(), Failure> {
        let first = self.tally.pits == 0;
        self.tally.pits += told.pits;
        self.tally.without_answer += told.without_answer;
        match told.form {
            Form::Ready(text) => {
                // Between two pits of the list stands a comma, after the last none.
                let comma = if format == Format::Json && !first && told.pits > 0 { "," } else { "" };
                self.sheet.write(comma.as_bytes())?;
                self.sheet.write(&text)
            }
            Form::Lines(lines, full) => {
                self.only = full.filter(|_| first && told.pits == 1);
                self.summary.add(lines);
                Ok(())
            }
        }
    }
}

struct Telling<'a> {
    asked: &'a Asking,
    format: Format,
}

impl Telling<'_> {
    /// Writes what stands before the pits.
    fn begin<'s>(&self, sheet: &'s mut Sheet) -> Result<Writing<'s>, Failure> {
        let before = match self.format {
            Format::Json => json::frame(self.asked).0,
            Format::Csv => columns::heading(self.asked)?,
            Format::Text => String::new(),
        };
        sheet.write(before.as_bytes())?;
        let tally = Tally { pits: 0, without_answer: 0, has_errors: false };
        Ok(Writing { sheet, tally, summary: Summary::default(), only: None })
    }

    fn begin_again<'s>(&self, writing: Writing<'s>) -> Result<Writing<'s>, Failure> {
        writing.sheet.start_again()?;
        self.begin(writing.sheet)
    }

    /// Writes what stands after them.
    fn end(&self, writing: Writing<'_>) -> Result<Tally, Failure> {
        let Writing { sheet, tally, summary, only } = writing;
        let after = match self.format {
            Format::Json => {
                let end = if tally.pits > 0 { json::END_OF_LIST } else { "" };
                format!("{end}{}", json::frame(self.asked).1)
            }
            Format::Text => only.filter(|_| tally.pits == 1).unwrap_or_else(|| summary.told(self.asked)),
            Format::Csv => String::new(),
        };
        sheet.write(after.as_bytes())?;
        Ok(tally)
    }

    fn tell(&self, stretch: &Stretch) -> Result<Told, Failure> {
        if self.format == Format::Csv {
            return self.tell_rows(stretch);
        }
        let answers = self.asked.answers_of(stretch).collect::<Result<Vec<Answer<'_>>, Failure>>()?;
        let form = if self.format == Format::Json {
            Form::Ready(json::pits(self.asked, &answers).into_bytes())
        } else {
            let full = match &answers[..] {
                [only] => Some(text::one_pit(self.asked, only)),
                _ => None,
            };
            Form::Lines(Summary::of(self.asked, &answers), full)
        };
        let without_answer = answers.iter().filter(|answer| answer.problem().is_some()).count();
        Ok(Told { pits: answers.len(), without_answer, form })
    }

    /// The table needs no answer for longer than its row.
    fn tell_rows(&self, stretch: &Stretch) -> Result<Told, Failure> {
        let mut rows = Vec::with_capacity(stretch.entries().len() * columns::USUAL_ROW);
        let mut without_answer = 0;
        for answer in self.asked.answers_of(stretch) {
            let answer = answer?;
            columns::add_row(&answer, self.asked, &mut rows);
            without_answer += usize::from(answer.problem().is_some());
        }
        Ok(Told { pits: stretch.entries().len(), without_answer, form: Form::Ready(rows) })
    }
}
