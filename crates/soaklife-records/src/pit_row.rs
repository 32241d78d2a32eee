//! One row of `pits.csv`: the pit it describes, or why there is none.

mod usual;

use crate::problem::{ProblemKind, Problems, spelled_out};
use crate::row::{Check, Row};
use crate::schema::SOILS;
use crate::settings::Settings;
use jiff::civil::Date;
use soaklife::date::PartialDate;
use soaklife::pit::{CrossSection, Pit, PitError};
use soaklife::quantity::{Length, VolumeRate, as_feet, as_inches, inches};
use soaklife::soil::Soil;

pub(crate) use usual::Layout;

/// Places of the columns in [`PITS`](crate::schema::PITS).
pub(crate) mod column {
    pub(crate) const PIT_ID: usize = 0;
    pub(crate) const LABEL: usize = 1;
    pub(crate) const INSTALLED: usize = 2;
    pub(crate) const INLET_DEPTH: usize = 3;
    pub(crate) const BOTTOM_DEPTH: usize = 4;
    pub(crate) const DIAMETER: usize = 5;
    pub(crate) const LENGTH: usize = 6;
    pub(crate) const WIDTH: usize = 7;
    pub(crate) const LIQUID_FRACTION: usize = 8;
    pub(crate) const BEDROOMS: usize = 9;
    pub(crate) const DESIGN_FLOW: usize = 10;
    pub(crate) const OCCUPANTS: usize = 11;
    pub(crate) const SOIL: usize = 12;
    pub(crate) const ACTION_FREEBOARD: usize = 13;
    pub(crate) const REPLACEMENT_COST: usize = 14;
}

pub(crate) const ROW_OUT: &str = "Pit left out";
const VALUE_OUT: &str = "Taken as unknown";
const WIDEST_PIT_FT: f64 = 30.0;

/// In the order of [`SOILS`].
const SOIL_KINDS: [Soil; SOILS.len()] =
    [Soil::Gravel, Soil::Sand, Soil::Loam, Soil::Silt, Soil::Clay, Soil::Unknown];

/// One row, checked.
#[derive(Debug)]
pub(crate) struct PitRow {
    pub(crate) id: String,
    /// Whether the identifier may stand in a row of comma-separated text as it is.
    pub(crate) needs_no_quotes: bool,
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

impl PitRow {
    pub(crate) fn parse(
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
        let text = |column: usize| Some(spelled_out(row.raw(column))).filter(|text| !text.is_empty());
        Ok(Self {
            id: id.to_owned(),
            needs_no_quotes: !id.contains([',', '"', '\n', '\r']),
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
        Err(error @ PitError::TooLong { .. }) => {
            check.fault(
                column::BOTTOM_DEPTH,
                ProblemKind::Geometry,
                format!("{}: {error}", raw(column::BOTTOM_DEPTH)),
            );
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
