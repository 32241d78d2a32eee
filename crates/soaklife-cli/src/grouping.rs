//! By what pits are grouped: their soil, the decade of their installation, or a column of one's own.

use crate::output::Failure;
use soaklife::soil::Soil;
use soaklife_records::PitRecord;
use std::borrow::Cow;

/// What stands for a value that a pit does not give.
const NOT_GIVEN: &str = "not given";
const SOIL: &str = "soil";
const DECADE: &str = "decade";

/// A column to group by.
#[derive(Debug, Clone)]
pub(crate) struct Grouping {
    column: String,
}

impl Grouping {
    pub(crate) fn new(column: &str) -> Self {
        Self { column: column.trim().to_owned() }
    }

    /// The column, as it was named.
    pub(crate) fn column(&self) -> &str {
        &self.column
    }

    /// The group of a pit.
    pub(crate) fn group_of<'r>(&self, record: &'r PitRecord) -> Result<Cow<'r, str>, Failure> {
        self.find(record).ok_or_else(|| Failure::Usage(self.unknown(record)))
    }

    /// The group of a pit, if its logbook has the column.
    pub(crate) fn find<'r>(&self, record: &'r PitRecord) -> Option<Cow<'r, str>> {
        // A column of one's own goes before a word of ours.
        if let Some((_, value)) = record.further().iter().find(|(name, _)| *name == self.column) {
            let value = value.trim();
            return Some(if value.is_empty() { NOT_GIVEN.into() } else { value.into() });
        }
        match self.column.as_str() {
            SOIL => Some(soil(record.soil()).into()),
            DECADE => Some(record.history().installed().map_or(NOT_GIVEN.into(), |installed| {
                format!("{}s", installed.middle().year() / 10 * 10).into()
            })),
            _ => None,
        }
    }

    /// What to say where there is no such column.
    pub(crate) fn unknown(&self, record: &PitRecord) -> String {
        let further = record.further().iter().map(|(name, _)| name.as_str());
        let columns: Vec<&str> = [SOIL, DECADE].into_iter().chain(further).collect();
        let hint = match soaklife_records::nearest_name(&self.column, &columns) {
            Some(near) => format!("was {near} meant?"),
            None => format!("there are {}", columns.join(", ")),
        };
        format!("There is no column {:?} to group by: {hint}", self.column)
    }
}

/// The word of `pits.csv` for a soil.
fn soil(soil: Soil) -> &'static str {
    match soil {
        Soil::Gravel => "gravel",
        Soil::Sand => "sand",
        Soil::Loam => "loam",
        Soil::Silt => "silt",
        Soil::Clay => "clay",
        _ => "unknown",
    }
}
