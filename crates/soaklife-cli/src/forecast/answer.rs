//! The logbook asked: one answer a pit, a forecast or the reason why there is none.

use super::what_if::{Asked as OtherUseAsked, Told};
use crate::args::{QuestionArgs, WhatIfArgs};
use crate::every_pit;
use crate::output::Failure;
use crate::typical::Typical;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use soaklife::forecast::{Method, NextReading};
use soaklife::quantity::Length;
use soaklife::quantity::Units;
use soaklife::trend::absorption::Hypotheses;
use soaklife::{Coverage, Forecast, Question};
use soaklife_records::schema::PITS;
use soaklife_records::{
    Entry, Fleet, Logbook, PitRecord, PriorFile, Problem, RejectedPit, Settings, Severity, Stretch,
};
use std::borrow::Cow;
use std::num::NonZeroUsize;
use std::ops::Deref;
use std::path::Path;

/// A logbook read whole, and what is asked of every pit in it.
#[derive(Debug)]
pub(crate) struct Asked {
    logbook: Logbook,
    asking: Asking,
}

/// What is asked of every pit.
#[derive(Debug)]
pub(crate) struct Asking {
    question: Question,
    coverage: Coverage,
    action_freeboard: Option<Length>,
    units: Units,
    typical: Typical,
    what_if: Option<OtherUseAsked>,
}

/// The answer of one pit.
#[derive(Debug)]
pub(crate) struct Answer<'l> {
    pub(crate) id: &'l str,
    /// The pit, unless its row could not be used.
    pub(crate) record: Option<&'l PitRecord>,
    pub(crate) question: Question,
    /// The group of pits whose experience it was asked by, if not that of all.
    pub(crate) group: Option<Cow<'l, str>>,
    /// The forecast, or why there is none, in words.
    pub(crate) forecast: Result<Forecast, String>,
    /// The same under another use, if one was asked for, or why there is no answer.
    pub(crate) what_if: Option<Result<Box<Told>, String>>,
}

impl Answer<'_> {
    /// Why there is no forecast.
    pub(crate) fn problem(&self) -> Option<&str> {
        self.forecast.as_ref().err().map(String::as_str)
    }

    /// The same under another use, where there is an answer.
    pub(crate) fn told_what_if(&self) -> Option<&Told> {
        self.what_if.as_ref()?.as_deref().ok()
    }

    /// Why there is no answer for another use.
    pub(crate) fn problem_of_what_if(&self) -> Option<&str> {
        self.what_if.as_ref()?.as_ref().err().map(String::as_str)
    }

    /// What people call the pit, after its identifier.
    pub(crate) fn title(&self) -> String {
        match self.record.and_then(PitRecord::label) {
            Some(label) => format!("{}, {label}", self.id),
            None => self.id.to_owned(),
        }
    }
}

/// The present day, by the clock of this machine.
pub(crate) fn today() -> Date {
    ZonedDateTime::now().date()
}

impl Asked {
    /// Opens a logbook with a question.
    pub(crate) fn open(folder: &Path, args: &QuestionArgs) -> Result<Self, Failure> {
        Self::open_with(folder, args, None)
    }

    /// The same, asked about another use as well.
    pub(crate) fn open_with(
        folder: &Path,
        args: &QuestionArgs,
        what_if: Option<&WhatIfArgs>,
    ) -> Result<Self, Failure> {
        let question = question(args)?;
        let logbook = read(folder, question.as_of())?;
        let at_load = |priors: PriorFile| Ok(priors.at_load(logbook.typical_load_ratio()));
        let typical = typical(args.prior.as_deref(), logbook.settings(), at_load)?;
        let mut asking = Asking::new(args, question, typical, logbook.units());
        asking.what_if =
            what_if.and_then(|what_if| OtherUseAsked::of(what_if, logbook.settings(), asking.units));
        Ok(Self { logbook, asking })
    }

    pub(crate) fn logbook(&self) -> &Logbook {
        &self.logbook
    }

    /// The answers of the pits named, or of all.
    pub(crate) fn answers<'l>(&'l self, pits: &[String]) -> Result<Vec<Answer<'l>>, Failure> {
        if pits.is_empty() {
            return self.logbook.entries().iter().map(|entry| self.answer(entry)).collect();
        }
        pits.iter().map(|id| self.answer_of(id)).collect()
    }

    /// The answer of the pit named.
    pub(crate) fn answer_of<'l>(&'l self, id: &str) -> Result<Answer<'l>, Failure> {
        let entry = self.logbook.entry(id).ok_or_else(|| Failure::Usage(unknown(&self.logbook, id)))?;
        self.answer(entry)
    }

    fn answer<'l>(&'l self, entry: &'l Entry) -> Result<Answer<'l>, Failure> {
        self.asking.answer(entry, |pit| errors_of_row(&self.logbook, pit))
    }
}

impl Deref for Asked {
    type Target = Asking;

    fn deref(&self) -> &Asking {
        &self.asking
    }
}

impl Asking {
    /// What is asked of a logbook of any size.
    pub(crate) fn of_fleet(
        fleet: &Fleet,
        args: &QuestionArgs,
        question: Question,
        threads: NonZeroUsize,
    ) -> Result<Self, Failure> {
        // Only the absorption method asks what is typical.
        let at_load = |priors: PriorFile| match question.method() {
            Method::Absorption => {
                Ok(priors.at_load(fleet.typical_load_ratio(threads).map_err(every_pit::failure)?))
            }
            _ => Ok(priors),
        };
        let typical = typical(args.prior.as_deref(), fleet.settings(), at_load)?;
        Ok(Self::new(args, question, typical, fleet.units()))
    }

    fn new(args: &QuestionArgs, question: Question, typical: Typical, units: Units) -> Self {
        Self {
            question,
            coverage: args.coverage,
            action_freeboard: args.action_freeboard,
            units: args.units.map_or(units, Units::from),
            typical,
            what_if: None,
        }
    }

    pub(crate) fn units(&self) -> Units {
        self.units
    }

    /// The coverage of the ranges told in words.
    pub(crate) fn coverage(&self) -> Coverage {
        self.coverage
    }

    pub(crate) fn as_of(&self) -> Date {
        self.question.as_of()
    }

    /// The other use that is asked about.
    pub(crate) fn what_if(&self) -> Option<&OtherUseAsked> {
        self.what_if.as_ref()
    }

    /// The column that says the group, if pits are asked by the experience of their groups.
    pub(crate) fn grouped_by(&self) -> Option<&str> {
        self.typical.column().filter(|_| self.question.method() == Method::Absorption)
    }

    /// The answers of neighbouring pits.
    pub(crate) fn answers_of<'l>(
        &self,
        stretch: &'l Stretch,
    ) -> impl Iterator<Item = Result<Answer<'l>, Failure>> {
        let answer = |entry| self.answer(entry, |pit| stretch.errors_of_row(pit.id()));
        stretch.entries().iter().map(answer)
    }

    /// The answer of one pit; `errors_of_row` says what is wrong with its row, as `check` says it.
    fn answer<'l>(
        &self,
        entry: &'l Entry,
        errors_of_row: impl FnOnce(&'l RejectedPit) -> Vec<&'l str>,
    ) -> Result<Answer<'l>, Failure> {
        let record = match entry {
            Entry::Rejected(pit) => {
                let faults = errors_of_row(pit);
                let why = if faults.is_empty() { pit.reason().to_owned() } else { faults.join("; ") };
                return Ok(Answer {
                    id: pit.id(),
                    record: None,
                    question: self.question,
                    group: None,
                    forecast: Err(why),
                    what_if: None,
                });
            }
            Entry::Pit(record) => record.as_ref(),
        };
        let action = self.action_freeboard.unwrap_or(record.action_freeboard());
        let question = self.question.down_to(action).map_err(|error| Failure::Usage(error.to_string()))?;
        let (experience, group) = self.experience_of(record);
        let forecast = Forecast::by_experience(record.history(), &question, experience)
            .map_err(|reason| reason.to_string());
        let what_if = match (&self.what_if, &forecast) {
            (Some(asked), Ok(forecast)) => Some(asked.told(record, forecast).map(Box::new)),
            _ => None,
        };
        Ok(Answer { id: record.id(), record: Some(record), question, group, forecast, what_if })
    }

    fn experience_of<'l>(&self, record: &'l PitRecord) -> (&Hypotheses, Option<Cow<'l, str>>) {
        match self.question.method() {
            Method::Absorption => self.typical.of(record),
            _ => (self.typical.whole(), None),
        }
    }

    /// When to measure a pit next, where readings ahead can be weighed. It costs some hundred forecasts.
    pub(super) fn next_reading(&self, answer: &Answer<'_>) -> Option<NextReading> {
        let record = answer.record.filter(|_| answer.forecast.is_ok())?;
        NextReading::plan(record.history(), &answer.question, self.experience_of(record).0)
    }
}

/// The question that the options put.
pub(crate) fn question(args: &QuestionArgs) -> Result<Question, Failure> {
    Question::new(args.as_of.unwrap_or_else(today))
        .by(args.method.into())
        .against_axis(args.against.into())
        .if_use(args.household.into())
        .within(args.horizon)
        .map_err(|error| Failure::Usage(error.to_string()))
}

/// Reads a logbook. A question about a later day than the clock's is asked as if that day had come.
pub(crate) fn read(folder: &Path, as_of: Date) -> Result<Logbook, Failure> {
    Logbook::read(folder, today().max(as_of), as_of).map_err(|error| Failure::ReadOrWrite(error.to_string()))
}

/// Opens a logbook of any size, likewise.
pub(crate) fn open_fleet(folder: &Path, as_of: Date) -> Result<Fleet, Failure> {
    Fleet::open(folder, today().max(as_of), as_of).map_err(|error| Failure::ReadOrWrite(error.to_string()))
}

/// What is typical of pits like these: the file asked for, or what the logbook says.
fn typical(
    file: Option<&Path>,
    own: &Settings,
    at_load: impl FnOnce(PriorFile) -> Result<PriorFile, Failure>,
) -> Result<Typical, Failure> {
    let Some(file) = file else {
        let own = PriorFile { whole: own.prior().cloned().unwrap_or_default(), groups: None };
        return Typical::new(at_load(own)?).map_err(|error| Failure::Usage(error.to_string()));
    };
    let name = file.display();
    let text = std::fs::read_to_string(file)
        .map_err(|error| Failure::ReadOrWrite(format!("{name}: cannot be read: {error}")))?;
    let priors = PriorFile::read(&text).map_err(|reason| Failure::Usage(format!("{name}: {reason}")))?;
    Typical::new(at_load(priors)?).map_err(|error| Failure::Usage(format!("{name}: {error}")))
}

/// What is wrong with the row of a pit, as `check` says it.
fn errors_of_row<'l>(logbook: &'l Logbook, pit: &RejectedPit) -> Vec<&'l str> {
    let of_its_row = |problem: &&Problem| {
        problem.file == PITS.file && problem.severity == Severity::Error && problem.is_of(pit.id())
    };
    logbook.problems().iter().filter(of_its_row).map(|problem| problem.message.as_str()).collect()
}

/// What to say about a pit that the logbook does not have.
pub(crate) fn unknown(logbook: &Logbook, id: &str) -> String {
    let names: Vec<&str> = logbook.entries().iter().map(Entry::id).collect();
    match soaklife_records::nearest_name(id, &names) {
        Some(near) => format!("There is no pit {id:?} in this logbook: was {near} meant?"),
        None => format!("There is no pit {id:?} in this logbook; it has {}", some_of(&names)),
    }
}

fn some_of(names: &[&str]) -> String {
    const SHOWN: usize = 8;
    match names {
        [] => "none".to_owned(),
        names if names.len() <= SHOWN => names.join(", "),
        names => format!("{} and {} more", names[..SHOWN].join(", "), names.len() - SHOWN),
    }
}
