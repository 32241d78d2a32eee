//! `soaklife loadtest`: what one hydraulic load test says, as text, CSV, JSON or a picture.

mod amounts;
mod columns;
mod json;
mod next;
mod sentence;
mod text;

use crate::args::{Format, LoadTestArgs};
use crate::forecast::answer::{read, today, unknown};
use crate::output::{Failure, Outcome, ROWS_NOT_USED, Run, deliver, say};
use jiff::civil::Date;
use soaklife::Forecast;
use soaklife::date::{PartialDate, years_between};
use soaklife::history::{Event, EventKind, RECOVERY_AFTER_PUMPING_YEARS};
use soaklife::load_test::{Household, LoadTest, Study};
use soaklife::quantity::Units;
use soaklife::wording::load_test::{beside_a_long_forecast, rules_in_short};
use soaklife_charts::{LoadTestChart, Svg};
use soaklife_records::{Entry, Logbook, PitRecord};

/// The published schema of `--format json`.
const JSON_SCHEMA: &str = include_str!("../schema/loadtest-1.json");

/// A test with what it says.
struct Tested<'l> {
    record: &'l PitRecord,
    test: LoadTest,
    household: Household,
    study: Study,
    units: Units,
    as_of: Date,
}

pub(crate) fn run(args: &LoadTestArgs) -> Run {
    let asked = args.folder.as_deref().zip(args.pit.as_deref()).filter(|_| !args.telling.json_schema);
    let Some((folder, pit)) = asked else {
        deliver(JSON_SCHEMA.as_bytes(), args.telling.output.as_deref())?;
        return Ok(Outcome::Done);
    };
    let as_of = args.as_of.unwrap_or_else(today);
    let logbook = read(folder, as_of)?;
    let record = match logbook.entry(pit) {
        Some(Entry::Pit(record)) => record,
        Some(Entry::Rejected(pit)) => {
            say(&format!("{}: its row in pits.csv cannot be used: {}", pit.id(), pit.reason()));
            return Ok(Outcome::DataProblems);
        }
        None => return Err(Failure::Usage(unknown(&logbook, pit))),
    };
    let test = chosen(&logbook, record, args.date, as_of)?;
    let tested = Tested::new(record, test, args.units.map_or(logbook.units(), Units::from), as_of);
    args.telling.picture.draw(|| tested.svg())?;
    let told = match args.telling.format {
        Format::Text => text::text(&tested),
        Format::Csv => columns::csv(&tested)?,
        Format::Json => json::json(&tested),
    };
    deliver(told.as_bytes(), args.telling.output.as_deref())?;
    if logbook.has_errors() {
        say(ROWS_NOT_USED);
        return Ok(Outcome::DataProblems);
    }
    Ok(Outcome::Done)
}

/// What the last test of a pit says, in one or two sentences after its day; and in short what is said of each rule.
pub(crate) fn last_in_words(record: &PitRecord, units: Units, as_of: Date) -> Option<[String; 2]> {
    let tested = Tested::last(record, units, as_of)?;
    let said = format!("{}: {}", tested.test.date(), sentence::sentence(&tested));
    Some([said, rules_in_short(&tested.study, units)])
}

/// How a long forecast stands beside the last test of its pit, if that falls short; empty otherwise.
pub(crate) fn beside_forecast(record: Option<&PitRecord>, forecast: &Forecast, units: Units) -> String {
    let tested = record.and_then(|record| Tested::last(record, units, forecast.question().as_of()));
    let told = tested.and_then(|tested| {
        let since = tested.since().filter(|event| makes_another_system(event.kind)).last();
        let day = tested.test.date();
        beside_a_long_forecast(day, &tested.study, &tested.household, since, forecast, units)
    });
    told.unwrap_or_default()
}

/// Whether a test from before says little of the time after.
fn makes_another_system(kind: EventKind) -> bool {
    !matches!(kind, EventKind::PumpedOut | EventKind::DatumChanged)
}

/// The test of the day asked for, or the last one.
fn chosen<'l>(
    logbook: &Logbook,
    record: &'l PitRecord,
    date: Option<Date>,
    as_of: Date,
) -> Result<&'l LoadTest, Failure> {
    let known = || record.load_tests().iter().filter(|test| test.last_date() <= as_of);
    let is_chosen =
        |test: &&LoadTest| date.is_none_or(|date| (test.date()..=test.last_date()).contains(&date));
    known().rfind(is_chosen).ok_or_else(|| {
        let dates: Vec<String> = known().map(|test| test.date().to_string()).collect();
        let id = record.id();
        Failure::Usage(match (date, dates.is_empty()) {
            (Some(date), false) => {
                format!("{id} has no load test on {date}; it has {}", dates.join(", "))
            }
            _ => format!("{id} has no load test by {as_of}{}", elsewhere(logbook)),
        })
    })
}

/// Which pits have a test.
fn elsewhere(logbook: &Logbook) -> String {
    let tested: Vec<&str> =
        logbook.pits().filter(|pit| !pit.load_tests().is_empty()).map(PitRecord::id).take(8).collect();
    match tested.is_empty() {
        true => ": load_tests.csv holds the looks of such tests, a row each".to_owned(),
        false => format!("; those that have: {}", tested.join(", ")),
    }
}

impl<'l> Tested<'l> {
    fn new(record: &'l PitRecord, test: &LoadTest, units: Units, as_of: Date) -> Self {
        let (history, design_flow) = (record.history(), record.design().map(|design| design.flow));
        let test = test.clone().in_weather_of(history);
        let household = Household::during(&test, history, design_flow);
        let study = test.study(history.pit(), &household);
        Self { record, test, household, study, units, as_of }
    }

    /// The last test of a pit that had ended by a day.
    fn last(record: &'l PitRecord, units: Units, as_of: Date) -> Option<Self> {
        let test = record.load_tests().iter().rfind(|test| test.last_date() <= as_of)?;
        Some(Self::new(record, test, units, as_of))
    }

    /// The name of the pit.
    fn title(&self) -> String {
        match self.record.label() {
            Some(label) => format!("{}, {label}", self.record.id()),
            None => self.record.id().to_owned(),
        }
    }

    fn svg(&self) -> Result<Svg, Failure> {
        LoadTestChart::new(&self.test, &self.study, self.record.history().pit())
            .titled(self.title())
            .answering(sentence::sentence(self))
            .judging(rules_in_short(&self.study, self.units))
            .in_units(self.units)
            .svg()
            .map_err(|error| Failure::ReadOrWrite(format!("{} cannot be drawn: {error}", self.record.id())))
    }

    /// What was done to the system since the test.
    fn since(&self) -> impl Iterator<Item = &'l Event> {
        let (from, to) = (self.test.last_date(), self.as_of);
        let events = self.record.history().events().iter();
        events.filter(move |event| event.date.middle() > from && event.date.first() <= to)
    }

    /// When the pit was pumped out, if its level was still on its way back.
    fn pumped_before(&self) -> Option<PartialDate> {
        let recovering = |event: &&Event| {
            let years = years_between(event.date.middle(), self.test.date());
            event.kind == EventKind::PumpedOut && (0.0..RECOVERY_AFTER_PUMPING_YEARS).contains(&years)
        };
        self.record.history().events().iter().rfind(recovering).map(|event| event.date)
    }
}
