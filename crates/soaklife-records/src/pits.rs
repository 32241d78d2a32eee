//! `pits.csv`: one row a pit, and the index by which the other tables find theirs.

use crate::field;
use crate::header::Header;
use crate::problem::{Fault, Place, ProblemKind, Problems, quoted, shown};
use crate::row::{Check, Row};
use crate::schema::{PITS, SOILS};
use crate::settings::Settings;
use crate::table::{Outcome, read_table};
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::pit::{CrossSection, Pit, PitError};
use soaklife::quantity::{Length, VolumeRate, as_feet, as_inches, inches};
use std::cell::Cell;
use std::collections::{BTreeMap, HashMap};
use std::io::{self, Read};

/// Places of the columns in [`PITS`].
mod column {
    pub(super) const PIT_ID: usize = 0;
    pub(super) const LABEL: usize = 1;
    pub(super) const INSTALLED: usize = 2;
    pub(super) const INLET_DEPTH: usize = 3;
    pub(super) const BOTTOM_DEPTH: usize = 4;
    pub(super) const DIAMETER: usize = 5;
    pub(super) const LENGTH: usize = 6;
    pub(super) const WIDTH: usize = 7;
    pub(super) const LIQUID_FRACTION: usize = 8;
    pub(super) const BEDROOMS: usize = 9;
    pub(super) const DESIGN_FLOW: usize = 10;
    pub(super) const OCCUPANTS: usize = 11;
    pub(super) const SOIL: usize = 12;
    pub(super) const ACTION_FREEBOARD: usize = 13;
    pub(super) const REPLACEMENT_COST: usize = 14;
}

const ROW_OUT: &str = "Pit left out";
const VALUE_OUT: &str = "Taken as unknown";
const WIDEST_PIT_FT: f64 = 30.0;
/// After so many comparisons no more names are suggested: a file with thousands of strange identifiers is another's.
const MOST_COMPARED: usize = 1_000_000;

/// Soil around a pit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Soil {
    /// Gravel.
    Gravel,
    /// Sand.
    Sand,
    /// Loam.
    Loam,
    /// Silt.
    Silt,
    /// Clay.
    Clay,
    /// Not known.
    #[default]
    Unknown,
}

/// In the order of [`SOILS`].
const SOIL_KINDS: [Soil; SOILS.len()] =
    [Soil::Gravel, Soil::Sand, Soil::Loam, Soil::Silt, Soil::Clay, Soil::Unknown];

/// One row, checked.
#[derive(Debug)]
pub(crate) struct PitRow {
    pub(crate) id: String,
    pub(crate) line: u64,
    pub(crate) label: Option<String>,
    pub(crate) installed: Option<PartialDate>,
    pub(crate) pit: Pit,
    pub(crate) bedrooms: Option<f64>,
    pub(crate) design_flow: Option<VolumeRate>,
    pub(crate) occupants: Option<f64>,
    pub(crate) soil: Soil,
    pub(crate) action_freeboard: Option<Length>,
    pub(crate) replacement_cost: Option<f64>,
    pub(crate) further: Vec<(String, String)>,
}

/// A pit whose row could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RejectedPit {
    pub(crate) id: String,
    pub(crate) line: u64,
    pub(crate) reason: String,
}

impl RejectedPit {
    /// Its identifier.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Why its row could not be used, in words.
    #[must_use]
    pub fn reason(&self) -> &str {
        &self.reason
    }
}

/// Every row of the file in order.
#[derive(Debug)]
pub(crate) enum PitEntry {
    Sound(PitRow),
    Rejected(RejectedPit),
}

/// The pits of a logbook, found by identifier.
#[derive(Debug, Default)]
pub(crate) struct Pits {
    pub(crate) entries: Vec<PitEntry>,
    places: HashMap<String, usize>,
    /// Names compared so far in search of what a mistyped identifier meant.
    compared: Cell<usize>,
    pub(crate) metric: bool,
}

/// What an identifier of another table leads to.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Lookup<'p> {
    Sound(usize, &'p PitRow),
    Rejected(usize),
    Unknown,
}

impl Pits {
    pub(crate) fn read(
        source: impl Read,
        today: Date,
        settings: &Settings,
        problems: &mut Problems,
    ) -> io::Result<Self> {
        let mut pits = Self::default();
        let outcome =
            read_table(source, &PITS, problems, |row, problems| pits.take(row, today, settings, problems))?;
        if let Outcome::Table { header } = outcome {
            pits.metric = is_metric(&header);
            if pits.entries.is_empty() {
                let fault = Fault::new(ProblemKind::NoRow, "there is no pit in the file: add one row a pit");
                problems.error(Place::line(1), None, fault);
            }
        }
        Ok(pits)
    }

    fn take(&mut self, row: Row<'_>, today: Date, settings: &Settings, problems: &mut Problems) {
        let id = row.raw(column::PIT_ID);
        if id.is_empty() {
            row.check(problems, id, ROW_OUT).missing(column::PIT_ID);
            return;
        }
        if let Some(first) = self.places.get(id).and_then(|&place| self.entries.get(place)) {
            let (line, consequence) = match first {
                PitEntry::Sound(row) => (row.line, "The row in that line is used, this one is left out"),
                PitEntry::Rejected(pit) => (pit.line, "Neither row is used"),
            };
            let message = format!("pit_id {} stands in line {line} already", quoted(id));
            let mut check = row.check(problems, id, consequence);
            check.fault(column::PIT_ID, ProblemKind::DuplicatePit, message);
            return;
        }
        let entry = match PitRow::parse(row, id, today, settings, problems) {
            Ok(sound) => PitEntry::Sound(sound),
            Err(reason) => PitEntry::Rejected(RejectedPit { id: id.to_owned(), line: row.line(), reason }),
        };
        self.places.insert(id.to_owned(), self.entries.len());
        self.entries.push(entry);
    }

    pub(crate) fn lookup(&self, id: &str) -> Lookup<'_> {
        match self.places.get(id).and_then(|&place| Some((place, self.entries.get(place)?))) {
            Some((place, PitEntry::Sound(row))) => Lookup::Sound(place, row),
            Some((place, PitEntry::Rejected(_))) => Lookup::Rejected(place),
            None => Lookup::Unknown,
        }
    }

    /// What is wrong with an identifier that no pit has.
    pub(crate) fn unknown(&self, name: &str, id: &str) -> Fault {
        let visible = id.trim_matches(|c: char| c.is_whitespace() || c == '\u{200b}');
        let compared = self.compared.get();
        let near = (compared < MOST_COMPARED)
            .then(|| field::nearest(visible, self.entries.iter().map(PitEntry::id)))
            .flatten();
        self.compared.set(compared.saturating_add(self.entries.len()));
        let hint = near.map_or(String::new(), |near| format!(": was {near} meant?"));
        Fault::new(ProblemKind::UnknownPit, format!("{name} {} is not in pits.csv{hint}", quoted(id)))
    }
}

/// Rows of other tables whose pit was left out, or that have no pits at all: told once, not one by one.
#[derive(Debug, Default)]
pub(crate) struct Homeless {
    /// By the place of the pit.
    of_rejected: BTreeMap<usize, u64>,
    without_pits: u64,
}

impl Homeless {
    /// The pit of a row; none, and the row is counted, if nothing more need be said about it.
    pub(crate) fn lookup<'p>(&mut self, pits: &'p Pits, id: &str) -> Option<Lookup<'p>> {
        if pits.entries.is_empty() {
            self.without_pits += 1;
            return None;
        }
        let lookup = pits.lookup(id);
        if let Lookup::Rejected(place) = lookup {
            *self.of_rejected.entry(place).or_default() += 1;
            return None;
        }
        Some(lookup)
    }

    pub(crate) fn say(&self, pits: &Pits, problems: &mut Problems) {
        for (&place, &rows) in &self.of_rejected {
            let id = pits.entries.get(place).map_or("", PitEntry::id);
            let (rows, are) =
                if rows == 1 { ("1 row".to_owned(), "is") } else { (format!("{rows} rows"), "are") };
            let message = format!("{rows} of {} {are} not used, because the pit was left out", shown(id));
            problems.warning(Place::default(), Some(id), Fault::new(ProblemKind::PitLeftOut, message));
        }
        if self.without_pits > 0 {
            let rows = counted(self.without_pits, "row is", "rows are");
            let message = format!("{rows} not used, because pits.csv has no pit");
            problems.warning(Place::default(), None, Fault::new(ProblemKind::PitLeftOut, message));
        }
    }
}

/// "1 row is", "3 rows are".
pub(crate) fn counted(count: u64, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

impl PitEntry {
    pub(crate) fn id(&self) -> &str {
        match self {
            Self::Sound(row) => &row.id,
            Self::Rejected(pit) => &pit.id,
        }
    }
}

fn is_metric(header: &Header) -> bool {
    header.unit(column::INLET_DEPTH).is_some_and(crate::measure::Unit::is_metric)
}

impl PitRow {
    fn parse(
        row: Row<'_>,
        id: &str,
        today: Date,
        settings: &Settings,
        problems: &mut Problems,
    ) -> Result<Self, String> {
        let mut check = row.check(problems, id, ROW_OUT);
        let Some(pit) = geometry(row, &mut check) else {
            return Err("its row in pits.csv could not be used: run check".to_owned());
        };
        check.otherwise(VALUE_OUT);
        let pit = with_cross_section(pit, row, &mut check);
        let pit = with_liquid_fraction(pit, row, &mut check);
        let text = |column: usize| Some(row.said(column).to_owned()).filter(|text| !text.is_empty());
        Ok(Self {
            id: id.to_owned(),
            line: row.line(),
            label: text(column::LABEL),
            installed: installed(row, today, &mut check),
            bedrooms: above_zero(column::BEDROOMS, row, &mut check),
            design_flow: design_flow(row, &mut check),
            occupants: not_negative(column::OCCUPANTS, row, &mut check),
            soil: check
                .word(column::SOIL)
                .and_then(|place| SOIL_KINDS.get(place).copied())
                .unwrap_or_default(),
            action_freeboard: action_freeboard(&pit, settings, row, &mut check),
            replacement_cost: not_negative(column::REPLACEMENT_COST, row, &mut check),
            further: row
                .header()
                .further()
                .map(|(index, name)| (name.to_owned(), row.further(index).to_owned()))
                .collect(),
            pit,
        })
    }
}

/// Inlet and bottom: without them there is no pit to forecast.
fn geometry(row: Row<'_>, check: &mut Check<'_, '_>) -> Option<Pit> {
    for column in [column::INLET_DEPTH, column::BOTTOM_DEPTH] {
        if row.raw(column).is_empty() {
            check.missing(column);
        }
    }
    let inlet = check.length(column::INLET_DEPTH);
    let bottom = check.length(column::BOTTOM_DEPTH);
    let raw = |column: usize| format!("{} {}", row.name(column), row.said(column));
    match Pit::new(inlet?, bottom?) {
        Ok(pit) => Some(pit),
        Err(PitError::BottomNotBelowInlet { .. }) => {
            let message = format!(
                "{} is not below {}: depths count downward from the rim; were the two swapped?",
                raw(column::BOTTOM_DEPTH),
                raw(column::INLET_DEPTH)
            );
            check.fault(column::BOTTOM_DEPTH, ProblemKind::Geometry, message);
            None
        }
        Err(_) => {
            let message =
                format!("{} is negative: depths count downward from the rim", raw(column::INLET_DEPTH));
            check.fault(column::INLET_DEPTH, ProblemKind::Geometry, message);
            None
        }
    }
}

fn with_cross_section(pit: Pit, row: Row<'_>, check: &mut Check<'_, '_>) -> Pit {
    let sides = [column::DIAMETER, column::LENGTH, column::WIDTH].map(|column| side(column, row, check));
    let given = [column::DIAMETER, column::LENGTH, column::WIDTH].map(|column| !row.raw(column).is_empty());
    let section = match (sides, given) {
        (_, [true, false, false] | [false, false, false]) => sides[0].map(CrossSection::round),
        ([None, Some(length), Some(width)], [false, ..]) => Some(CrossSection::rectangular(length, width)),
        (_, [true, ..]) => {
            let message = "a pit is round (diameter) or rectangular (length and width), not both".to_owned();
            check.fault(column::DIAMETER, ProblemKind::Contradiction, message);
            None
        }
        (_, [false, true, true]) => None, // one of the two is no length, which has been said
        (_, [false, ..]) => {
            let lonely = if given[1] { column::LENGTH } else { column::WIDTH };
            check.fault(
                lonely,
                ProblemKind::MissingValue,
                "a rectangular pit needs both length and width".to_owned(),
            );
            None
        }
    };
    if section.is_none() && given == [false; 3] {
        let id = row.said(column::PIT_ID);
        let message = format!(
            "{id}: the cross-section of the pit is not known: inches can be forecast, gallons cannot"
        );
        check.warning(column::DIAMETER, ProblemKind::DiameterUnknown, message);
    }
    section.and_then(Result::ok).map_or(pit, |section| pit.with_cross_section(section))
}

/// A side or a diameter above zero, with a word if it is wider than any pit.
fn side(column: usize, row: Row<'_>, check: &mut Check<'_, '_>) -> Option<Length> {
    let length = check.length(column)?;
    let raw = || format!("{} {}", row.name(column), row.said(column));
    if length <= Length::default() {
        let message = format!("{} is not above zero: leave it empty if it is not known", raw());
        check.fault(column, ProblemKind::OutOfRange, message);
        return None;
    }
    if as_feet(length) > WIDEST_PIT_FT {
        check.warning(
            column,
            ProblemKind::Unlikely,
            format!("{} is wider than any pit: was it another unit? Used", raw()),
        );
    }
    Some(length)
}

fn with_liquid_fraction(pit: Pit, row: Row<'_>, check: &mut Check<'_, '_>) -> Pit {
    let Some(fraction) = check.number(column::LIQUID_FRACTION) else { return pit };
    pit.with_liquid_fraction(fraction).unwrap_or_else(|_| {
        let message = format!(
            "liquid_fraction {} is not above 0 and at most 1 (1 hollow, about 0.35 stone-filled)",
            row.said(column::LIQUID_FRACTION)
        );
        check.fault(column::LIQUID_FRACTION, ProblemKind::OutOfRange, message);
        pit
    })
}

fn installed(row: Row<'_>, today: Date, check: &mut Check<'_, '_>) -> Option<PartialDate> {
    let installed = check.date(column::INSTALLED)?;
    if installed.first() > today {
        let message = format!("installed {} is later than today ({today})", row.said(column::INSTALLED));
        check.fault(column::INSTALLED, ProblemKind::LaterThanToday, message);
        return None;
    }
    Some(installed)
}

fn above_zero(column: usize, row: Row<'_>, check: &mut Check<'_, '_>) -> Option<f64> {
    let value = check.number(column)?;
    if value > 0.0 {
        return Some(value);
    }
    let message = format!(
        "{} {} is not above zero: leave it empty if it is not known",
        row.name(column),
        row.said(column)
    );
    check.fault(column, ProblemKind::OutOfRange, message);
    None
}

fn not_negative(column: usize, row: Row<'_>, check: &mut Check<'_, '_>) -> Option<f64> {
    let value = check.number(column)?;
    if value >= 0.0 {
        return Some(value);
    }
    check.fault(
        column,
        ProblemKind::OutOfRange,
        format!("{} {} is negative", row.name(column), row.said(column)),
    );
    None
}

fn design_flow(row: Row<'_>, check: &mut Check<'_, '_>) -> Option<VolumeRate> {
    let flow = check.flow(column::DESIGN_FLOW)?;
    if flow.value > 0.0 {
        return Some(flow);
    }
    let name = row.name(column::DESIGN_FLOW);
    let message = format!(
        "{name} {} is not above zero: leave it empty if it is not known",
        row.said(column::DESIGN_FLOW)
    );
    check.fault(column::DESIGN_FLOW, ProblemKind::OutOfRange, message);
    None
}

fn action_freeboard(
    pit: &Pit,
    settings: &Settings,
    row: Row<'_>,
    check: &mut Check<'_, '_>,
) -> Option<Length> {
    let freeboard = check.length(column::ACTION_FREEBOARD);
    let name = row.name(column::ACTION_FREEBOARD);
    let raw = row.said(column::ACTION_FREEBOARD);
    let deepest = as_inches(pit.effective_depth());
    match freeboard {
        Some(freeboard) if freeboard < Length::default() => {
            check.fault(
                column::ACTION_FREEBOARD,
                ProblemKind::OutOfRange,
                format!("{name} {raw} is negative"),
            );
            None
        }
        Some(freeboard) if freeboard >= pit.effective_depth() => {
            let message = format!("{name} {raw} lies below the pit bottom, {deepest:.1} in below the inlet");
            check.fault(column::ACTION_FREEBOARD, ProblemKind::OutOfRange, message);
            None
        }
        None if settings.action_freeboard() >= pit.effective_depth() => {
            let action = as_inches(settings.action_freeboard());
            let message = format!(
                "the action freeboard of logbook.toml ({action:.1} in) lies below the bottom of this pit, {deepest:.1} in below its inlet. 0 is used"
            );
            check.warning(column::ACTION_FREEBOARD, ProblemKind::OutOfRange, message);
            Some(inches(0.0))
        }
        other => other,
    }
}
