//! What a row says was found in the pit, and whether the pit can hold it.

use super::{ROUNDING_IN, STICK_TOLERANCE_IN, column, said};
use crate::measure::Unit;
use crate::problem::ProblemKind;
use crate::row::{Check, Row};
use soaklife::date::PartialDate;
use soaklife::pit::Pit;
use soaklife::quantity::{Length, inches};
use soaklife::reading::Reading;

/// What a row says was found, before it is held against the pit.
#[derive(Debug, Clone, Copy)]
pub(super) enum Found {
    Liquid(Measured),
    Dry(Option<Measured>),
    AtInlet(Option<Measured>),
}

/// Where the stick found the surface.
#[derive(Debug, Clone, Copy)]
pub(super) enum Measured {
    Depth(Length),
    Level(Length),
}

impl Measured {
    fn level(self, pit: &Pit) -> Length {
        match self {
            Self::Depth(depth) => pit.level_at_depth(depth),
            Self::Level(level) => level,
        }
    }

    fn column(self) -> usize {
        if matches!(self, Self::Level(_)) { column::LEVEL } else { column::DEPTH }
    }
}

impl Found {
    pub(super) fn parse(row: Row<'_>, check: &mut Check<'_, '_>) -> Option<Self> {
        let state = check.word(column::STATE);
        let (depth, level) = (check.length(column::DEPTH), check.length(column::LEVEL));
        let given = [column::DEPTH, column::LEVEL].map(|column| !row.raw(column).is_empty());
        let measured = match given {
            [true, true] => {
                let message = "a depth and a level are both given: give one of them".to_owned();
                check.fault(column::LEVEL, ProblemKind::Contradiction, message);
                return None;
            }
            [true, false] => Some(Measured::Depth(depth?)),
            [false, true] => Some(Measured::Level(level?)),
            [false, false] => None,
        };
        match (state, measured) {
            (Some(1), measured) => Some(Self::Dry(measured)),
            (Some(2), measured) => Some(Self::AtInlet(measured)),
            (_, Some(measured)) => Some(Self::Liquid(measured)),
            // A state that is no word has been said already.
            (None, None) if !row.raw(column::STATE).is_empty() => None,
            (_, None) => {
                let message = "nothing was found: give a depth, a level, or state dry or at_inlet".to_owned();
                check.fault(column::DEPTH, ProblemKind::MissingValue, message);
                None
            }
        }
    }

    /// The column that says so.
    pub(super) fn column(self) -> usize {
        match self {
            Self::Liquid(measured) | Self::Dry(Some(measured)) | Self::AtInlet(Some(measured)) => {
                measured.column()
            }
            Self::Dry(None) | Self::AtInlet(None) => column::DEPTH,
        }
    }

    /// Holds it against the pit.
    pub(super) fn reading(
        self,
        row: Row<'_>,
        pit: &Pit,
        date: PartialDate,
        check: &mut Check<'_, '_>,
    ) -> Option<Reading> {
        let level = match self {
            Self::Dry(measured) => {
                return borne_out(measured, row, pit, false, check).then(|| Reading::dry(date));
            }
            Self::AtInlet(measured) => {
                return borne_out(measured, row, pit, true, check).then(|| Reading::at_inlet(date));
            }
            Self::Liquid(measured) => measured.level(pit),
        };
        let column = self.column();
        let raw = || format!("{} {}", row.name(column), row.said(column));
        let unit = row.header().unit(column).unwrap_or(Unit::Inch);
        if level < inches(-STICK_TOLERANCE_IN - ROUNDING_IN) {
            check.fault_of(column, ProblemKind::BelowBottom, || {
                let bottom = said(pit.bottom_depth(), unit);
                format!(
                    "{} is below the pit bottom ({bottom}): was it read from another rim, or in another unit?",
                    raw()
                )
            });
            return None;
        }
        if level <= inches(ROUNDING_IN) {
            if level < inches(-ROUNDING_IN) {
                check.warning_of(column, ProblemKind::StickTolerance, || {
                    format!(
                        "{} is just below the pit bottom ({}). Taken as dry",
                        raw(),
                        said(pit.bottom_depth(), unit)
                    )
                });
            }
            return Some(Reading::dry(date));
        }
        let reading = Reading::at_level(pit, date, level).ok();
        if reading.is_none() {
            let negative = row.raw(column).starts_with('-');
            let what = if negative { "is negative" } else { "is above the rim" };
            check.fault(
                column,
                ProblemKind::AboveRim,
                format!("{} {what}: depths count downward from the rim", raw()),
            );
        } else if level > pit.effective_depth() + inches(ROUNDING_IN) {
            check.warning_of(column, ProblemKind::AboveInlet, || {
                format!(
                    "{} is above the inlet invert ({} below the rim). Taken as at the inlet",
                    raw(),
                    said(pit.inlet_depth(), unit)
                )
            });
        }
        reading
    }
}

/// Whether what was measured, if anything, bears out a stated dry bottom or a level at the inlet.
fn borne_out(
    measured: Option<Measured>,
    row: Row<'_>,
    pit: &Pit,
    at_inlet: bool,
    check: &mut Check<'_, '_>,
) -> bool {
    let tolerance = inches(STICK_TOLERANCE_IN + ROUNDING_IN);
    let agrees = |measured: Measured| {
        let level = measured.level(pit);
        if at_inlet { level >= pit.effective_depth() - tolerance } else { level <= tolerance }
    };
    let Some(measured) = measured.filter(|&measured| !agrees(measured)) else { return true };
    let message = format!(
        "state {} and {} {} contradict each other: give one of them",
        row.said(column::STATE),
        row.name(measured.column()),
        row.said(measured.column())
    );
    check.fault(column::STATE, ProblemKind::Contradiction, message);
    false
}
