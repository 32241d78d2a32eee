//! `readings.csv`: one row a look into a pit, and what only shows when the looks are put side by side.

mod found;
mod usual;

use crate::measure::Unit;
use crate::pit_row::PitRow;
use crate::pits::{Homeless, Lookup, Pits, counted};
use crate::problem::{Fault, Place, ProblemKind, Problems};
use crate::row::Row;
use crate::schema::{CONDITIONS, READINGS};
use crate::table::{Rows, RowsAtHand, TakeRows};
use found::Found;
use jiff::civil::Date;
use soaklife::date::{DAYS_PER_YEAR, PartialDate};
use soaklife::history::Event;
use soaklife::quantity::{Length, as_inches, inches};
use soaklife::reading::{Condition, Reading};
use std::io;
use usual::{AtPit, Layout, Usual};

/// Places of the columns in [`READINGS`].
pub(crate) mod column {
    pub(crate) const PIT_ID: usize = 0;
    pub(crate) const DATE: usize = 1;
    pub(crate) const DEPTH: usize = 2;
    pub(crate) const LEVEL: usize = 3;
    pub(crate) const STATE: usize = 4;
    pub(crate) const CONDITION: usize = 5;
    pub(crate) const NOTE: usize = 6;
}

/// In the order of [`CONDITIONS`].
pub(crate) const CONDITION_KINDS: [Condition; CONDITIONS.len()] =
    [Condition::Normal, Condition::AfterRain, Condition::Vacant, Condition::AfterPumping, Condition::Suspect];

const ROW_OUT: &str = "Row left out";

/// How far below the bottom a stick may seem to reach, inches. Common practice, no source.
const STICK_TOLERANCE_IN: f64 = 1.0;
/// What the conversion of units may add or take away, inches.
const ROUNDING_IN: f64 = 1e-6;
/// Rise or fall in a year beyond which a reading is questioned, inches. Common practice, no source.
const IMPLAUSIBLE_IN_PER_YEAR: f64 = 12.0;
/// Years without a reading that deserve a word.
const LONG_GAP_YEARS: f64 = 5.0;

/// The readings of every pit.
#[derive(Debug, Default)]
pub(crate) struct ReadingsByPit {
    /// By the pit's place in `pits.csv`, then as they stand in the file.
    filed: Vec<FiledReading>,
    /// Those of the pits asked so far.
    taken: usize,
}

/// A reading and where it stands in the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FiledReading {
    /// The pit's place in `pits.csv`.
    place: u32,
    pub(crate) reading: Reading,
    line: u64,
    /// The number of the field; 0 if the file has no such column.
    column: u32,
    unit: Unit,
}

impl ReadingsByPit {
    /// Takes all out, but keeps the memory.
    pub(crate) fn clear(&mut self) {
        self.filed.clear();
        self.taken = 0;
    }

    fn sort(&mut self) {
        if !self.filed.is_sorted_by_key(|filed| filed.place) {
            self.filed.sort_by_key(|filed| filed.place);
        }
    }

    /// Those of a pit; the pits are asked in their order.
    pub(crate) fn next_of(&mut self, place: usize) -> &mut [FiledReading] {
        let rest = &mut self.filed[self.taken..];
        let count = rest.iter().take_while(|filed| filed.place as usize <= place).count();
        self.taken += count;
        &mut rest[..count]
    }
}

/// What is known when a reading is judged.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Days {
    pub(crate) today: Date,
    pub(crate) as_of: Date,
}

impl Days {
    /// Says once how many rows are dated between the day of the forecast and today.
    pub(crate) fn say_after_as_of(self, counted: String, count: u64, problems: &mut Problems) {
        if count > 0 {
            let message =
                format!("{counted} dated after the day of the forecast ({}) and not used", self.as_of);
            problems.warning(Place::default(), None, Fault::new(ProblemKind::AfterAsOf, message));
        }
    }
}

/// Files the readings of the rows; what is told of once for the whole file is counted.
pub(crate) fn read(
    rows: impl Rows,
    pits: &Pits,
    days: Days,
    readings: &mut ReadingsByPit,
    problems: &mut Problems,
) -> io::Result<Counts> {
    let mut filing = Filing {
        pits,
        days,
        readings: &mut readings.filed,
        counts: Counts::default(),
        homeless: Homeless::default(),
        layout: None,
        at: None,
    };
    rows.hand_to(&READINGS, problems, &mut filing)?;
    filing.homeless.say(pits, problems);
    let counts = filing.counts;
    readings.sort();
    Ok(counts)
}

/// Readings being filed under their pits.
struct Filing<'p> {
    pits: &'p Pits,
    days: Days,
    readings: &'p mut Vec<FiledReading>,
    counts: Counts,
    homeless: Homeless,
    /// Known once a row has been seen.
    layout: Option<Option<Layout>>,
    at: Option<AtPit<'p>>,
}

impl TakeRows for Filing<'_> {
    fn take(&mut self, row: Row<'_>, problems: &mut Problems) {
        let counted = (&mut self.homeless, &mut self.counts);
        self.readings.extend(parse(row, self.pits, self.days, counted, problems));
    }

    fn take_usual(&mut self, rows: RowsAtHand<'_>, problems: &mut Problems) -> (usize, u64) {
        let layout = self.layout.get_or_insert_with(|| Layout::of(rows.header, self.days));
        let Some(layout) = layout else { return (0, 0) };
        let as_of = PartialDate::day(self.days.as_of);
        let (mut bytes, mut lines) = (0, 0);
        while let Some((usual, length)) =
            layout.usual(&rows.bytes[bytes..], rows.line + lines, self.pits, &mut self.at)
        {
            match usual {
                Usual::Filed(filed) => {
                    self.counts.after_as_of += u64::from(as_of.days_to(filed.reading.date()) > 0);
                    self.readings.push(filed);
                }
                Usual::BelowBottom => {
                    let pit_id = self.at.map_or("", AtPit::pit_id);
                    if !problems.count_error(pit_id, rows.line + lines) {
                        break;
                    }
                }
            }
            bytes += length;
            lines += 1;
        }
        (bytes, lines)
    }
}

/// Rows that are told of once, not one by one.
#[derive(Debug, Default, Clone, Copy)]
pub(crate) struct Counts {
    pub(crate) after_as_of: u64,
    /// Rows that need a depth, in a file without a column for it.
    pub(crate) without_depth: u64,
}

impl Counts {
    pub(crate) fn say(self, days: Days, problems: &mut Problems) {
        let count = counted(self.after_as_of, "reading is", "readings are");
        days.say_after_as_of(count, self.after_as_of, problems);
        if self.without_depth > 0 {
            let message = format!(
                "there is neither a depth_to_liquid nor a liquid_level column (with _in, _ft, _cm or _m): {} left out",
                counted(self.without_depth, "row is", "rows are")
            );
            problems.error(Place::line(1), None, Fault::new(ProblemKind::MissingColumn, message));
        }
    }
}

fn parse(
    row: Row<'_>,
    pits: &Pits,
    days: Days,
    (homeless, counts): (&mut Homeless, &mut Counts),
    problems: &mut Problems,
) -> Option<FiledReading> {
    let id = row.raw(column::PIT_ID);
    let lookup = homeless.lookup(pits, id)?;
    if !row.header().has(column::DEPTH)
        && !row.header().has(column::LEVEL)
        && row.raw(column::STATE).is_empty()
    {
        counts.without_depth += 1;
        return None;
    }
    let (place, mut check) = row.check_of_pit(column::PIT_ID, lookup, pits, problems, ROW_OUT);
    let date = check.past_date(column::DATE, days.today);
    let found = Found::parse(row, &mut check);
    let condition = check.word(column::CONDITION).and_then(|place| CONDITION_KINDS.get(place)).copied();
    let Lookup::Sound(_, pit) = lookup else { return None };
    if !check.is_sound() {
        return None;
    }
    let (place, date, found) = (place?, date?, found?);
    let reading = found.reading(row, &pit.pit, date, &mut check)?.in_condition(condition.unwrap_or_default());
    counts.after_as_of += u64::from(date.middle() > days.as_of);
    let measured = found.column();
    Some(FiledReading {
        place: u32::try_from(place).ok()?,
        reading,
        line: row.line(),
        column: row.place(measured).column.and_then(|column| u32::try_from(column).ok()).unwrap_or_default(),
        unit: row.header().unit(measured).unwrap_or(Unit::Inch),
    })
}

/// A length in the unit of a column: "132 in".
fn said(length: Length, unit: Unit) -> String {
    let count = unit.count_in(length).unwrap_or_else(|| as_inches(length));
    format!("{} {}", (count * 10.0).round() / 10.0, unit.suffix())
}

/// Says what shows when the readings of one pit are put side by side; they are sorted by date first. The day on which the pit
/// was installed, unless a reading from before it makes it unknown.
pub(crate) fn compare(
    pit: &PitRow,
    readings: &mut [FiledReading],
    events: &[Event],
    problems: &mut Problems,
) -> Option<PartialDate> {
    let in_order = |earlier: &FiledReading, later: &FiledReading| {
        earlier.days_to(later) >= 0 && earlier.line < later.line
    };
    if !readings.is_sorted_by(in_order) {
        readings.sort_by_key(|filed| (filed.reading.date().middle(), filed.line));
    }
    let mut known_installed = pit.installed;
    if let Some(installed) = pit.installed {
        for filed in readings.iter().filter(|filed| filed.reading.date().last() < installed.first()) {
            let message = format!(
                "this reading of {} is from before the pit was installed ({installed}). Used; the installation is taken as unknown",
                filed.reading.date()
            );
            problems.warning(filed.place(), Some(&pit.id), Fault::new(ProblemKind::BeforeInstalled, message));
            known_installed = None;
        }
    }
    let [first, rest @ ..] = readings else { return known_installed };
    let mut earlier = Look::of(first, pit);
    for later in rest.iter().map(|filed| Look::of(filed, pit)) {
        if !later.is_usual_after(&earlier) {
            compare_neighbours(pit, &earlier, &later, events, problems);
        }
        earlier = later;
    }
    known_installed
}

/// A reading as it is held against its neighbours.
struct Look<'r> {
    filed: &'r FiledReading,
    level_in: f64,
}

impl<'r> Look<'r> {
    fn of(filed: &'r FiledReading, pit: &PitRow) -> Self {
        Self { filed, level_in: as_inches(filed.reading.level(&pit.pit)) }
    }

    /// Whether nothing need be said of the two.
    fn is_usual_after(&self, earlier: &Self) -> bool {
        let days = f64::from(earlier.filed.days_to(self.filed));
        days > 0.0
            && days <= LONG_GAP_YEARS * DAYS_PER_YEAR
            && (self.level_in - earlier.level_in).abs() <= IMPLAUSIBLE_IN_PER_YEAR
    }
}

fn compare_neighbours(
    pit: &PitRow,
    earlier: &Look<'_>,
    later: &Look<'_>,
    events: &[Event],
    problems: &mut Problems,
) {
    let years = f64::from(earlier.filed.days_to(later.filed)) / DAYS_PER_YEAR;
    let rise_in = later.level_in - earlier.level_in;
    let (earlier, later) = (earlier.filed, later.filed);
    let (before, after) = (earlier.reading.date(), later.reading.date());
    let mut warn = |kind: ProblemKind, message: &dyn Fn() -> String| {
        problems.warning_of(later.place(), Some(&pit.id), || Fault::new(kind, message()));
    };
    if before == after && before.is_exact() {
        let same = if earlier.reading == later.reading { "an identical" } else { "another" };
        warn(ProblemKind::SameDay, &|| {
            format!("line {} has {same} reading of {after}. Both are used", earlier.line)
        });
        return;
    }
    if years > LONG_GAP_YEARS {
        warn(ProblemKind::LongGap, &|| {
            format!("no reading for {years:.0} years before this one ({before} to {after}). Used")
        });
    }
    let explained = |event: &Event| event.date.last() >= before.first() && event.date.first() <= after.last();
    let plain = |filed: &FiledReading| {
        !matches!(filed.reading.condition(), Condition::AfterPumping | Condition::Vacant)
    };
    if rise_in.abs() > IMPLAUSIBLE_IN_PER_YEAR * years.max(1.0)
        && plain(earlier)
        && plain(later)
        && !events.iter().any(explained)
    {
        let direction = if rise_in > 0.0 { "higher" } else { "lower" };
        warn(ProblemKind::ImplausibleJump, &|| {
            format!(
                "the liquid stands {} {direction} than on {before} (line {}): same rim, same unit, or did something happen? Used",
                said(inches(rise_in.abs()), later.unit),
                earlier.line
            )
        });
    }
}

impl FiledReading {
    fn days_to(&self, later: &Self) -> i32 {
        self.reading.date().days_to(later.reading.date())
    }

    fn place(&self) -> Place {
        Place { line: Some(self.line), column: Some(u64::from(self.column)).filter(|&column| column > 0) }
    }
}
