//! The tables of a logbook and their columns, as data: headers are read, `datapackage.json` is written and the
//! documentation is printed from this one definition.

use crate::measure::{Dimension, Unit};

/// One table of a logbook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// File name inside the folder.
    pub file: &'static str,
    /// What a row is.
    pub description: &'static str,
    /// Whether the file must be there.
    pub required: bool,
    /// The columns that mean something; any further one is kept and may be grouped by.
    pub columns: &'static [Column],
}

/// One column of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Its name, without the unit if it is a quantity.
    pub name: &'static str,
    /// What its values are.
    pub kind: Kind,
    /// Whether the header must have it.
    pub required: bool,
    /// What it says.
    pub description: &'static str,
}

/// What the values of a column are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// The identifier of a pit: any text.
    PitId,
    /// Any text.
    Text,
    /// A day, month or year (ISO 8601).
    Date,
    /// A day and a time of day (ISO 8601).
    Time,
    /// A plain number.
    Number,
    /// A length, with `_in`, `_ft`, `_cm` or `_m` at the end of its name.
    Length,
    /// A flow, with `_gpd`, `_lpd` or `_m3d` at the end of its name.
    Flow,
    /// A volume, with `_gal`, `_l` or `_m3` at the end of its name.
    Volume,
    /// One of these words.
    Word(&'static [&'static str]),
}

impl Kind {
    /// The dimension of a quantity.
    #[must_use]
    pub fn dimension(self) -> Option<Dimension> {
        match self {
            Self::Length => Some(Dimension::Length),
            Self::Flow => Some(Dimension::Flow),
            Self::Volume => Some(Dimension::Volume),
            _ => None,
        }
    }

    /// The suffixes that say its unit, as in `_in _ft _cm _m`; empty if it has none.
    #[must_use]
    pub fn suffixes(self) -> String {
        let of_kind = |unit: &Unit| Some(unit.dimension()) == self.dimension();
        Unit::ALL
            .iter()
            .filter(|unit| of_kind(unit))
            .map(|unit| format!("_{}", unit.suffix()))
            .collect::<Vec<_>>()
            .join(" ")
    }
}

const fn required(name: &'static str, kind: Kind, description: &'static str) -> Column {
    Column { name, kind, required: true, description }
}

const fn optional(name: &'static str, kind: Kind, description: &'static str) -> Column {
    Column { name, kind, required: false, description }
}

/// What a stick can find.
pub const STATES: [&str; 3] = ["liquid", "dry", "at_inlet"];

/// In what condition a reading can be taken.
pub const CONDITIONS: [&str; 5] = ["normal", "after_rain", "vacant", "after_pumping", "suspect"];

/// What can happen to a system, in the order of [`soaklife::history::EventKind::ALL`].
pub const EVENTS: [&str; 8] = [
    "pumped_out",
    "pipe_repaired",
    "rest_started",
    "rest_ended",
    "rehabilitated",
    "pit_added",
    "datum_changed",
    "replaced",
];

/// What soil a pit can stand in.
pub const SOILS: [&str; 6] = ["gravel", "sand", "loam", "silt", "clay", "unknown"];

/// `pits.csv`: one row a pit.
pub const PITS: Table = Table {
    file: "pits.csv",
    description: "One row a pit.",
    required: true,
    columns: &[
        required("pit_id", Kind::PitId, "Identifier of the pit."),
        optional("label", Kind::Text, "What people call the pit."),
        optional("installed", Kind::Date, "When the pit was put into service: a day, month or year."),
        required("inlet_depth", Kind::Length, "Rim down to the inlet invert."),
        required("bottom_depth", Kind::Length, "Rim down to the pit bottom."),
        optional("diameter", Kind::Length, "Inside diameter of a round pit."),
        optional("length", Kind::Length, "Inside length of a rectangular pit."),
        optional("width", Kind::Length, "Inside width of a rectangular pit."),
        optional(
            "liquid_fraction",
            Kind::Number,
            "Share of the volume that can hold liquid: 1 hollow (the default), about 0.35 stone-filled.",
        ),
        optional("bedrooms", Kind::Number, "Bedrooms the system was sized for."),
        optional("design_flow", Kind::Flow, "Permitted design flow; goes before bedrooms."),
        optional("occupants", Kind::Number, "People living in the house now; occupancy.csv goes before it."),
        optional("soil", Kind::Word(&SOILS), "Soil around the pit."),
        optional(
            "action_freeboard",
            Kind::Length,
            "Freeboard at which the owner wants to act; the default stands in logbook.toml.",
        ),
        optional(
            "replacement_cost",
            Kind::Number,
            "Cost of a replacement today, in the currency of logbook.toml.",
        ),
    ],
};

/// `readings.csv`: one row a look into a pit.
pub const READINGS: Table = Table {
    file: "readings.csv",
    description: "Stick readings, one row a visit.",
    required: true,
    columns: &[
        required("pit_id", Kind::PitId, "Identifier of the pit."),
        required("date", Kind::Date, "Day of the reading; a month or a year stands for its middle."),
        optional(
            "depth_to_liquid",
            Kind::Length,
            "Rim down to the liquid surface; empty when dry or at the inlet.",
        ),
        optional("liquid_level", Kind::Length, "Pit bottom up to the liquid surface, instead of the depth."),
        optional("state", Kind::Word(&STATES), "What was found; empty means liquid."),
        optional("condition", Kind::Word(&CONDITIONS), "Circumstances; empty means normal."),
        optional("note", Kind::Text, "Free text."),
    ],
};

/// `occupancy.csv`: who lived there, or what the meter showed, from a day on.
pub const OCCUPANCY: Table = Table {
    file: "occupancy.csv",
    description: "Who lived there, or what the meter showed, from a day on.",
    required: false,
    columns: &[
        required("pit_id", Kind::PitId, "Identifier of the pit."),
        required("from", Kind::Date, "First day."),
        optional("occupants", Kind::Number, "People living in the house."),
        optional("flow", Kind::Flow, "Metered flow; goes before occupants."),
    ],
};

/// `events.csv`: what was done to a system.
pub const EVENTS_TABLE: Table = Table {
    file: "events.csv",
    description: "What was done to a system.",
    required: false,
    columns: &[
        required("pit_id", Kind::PitId, "Identifier of the pit."),
        required("date", Kind::Date, "When it was done."),
        required("event", Kind::Word(&EVENTS), "What was done."),
        optional("note", Kind::Text, "Free text."),
    ],
};

/// `load_tests.csv`: hydraulic load tests, one row a look.
pub const LOAD_TESTS: Table = Table {
    file: "load_tests.csv",
    description: "Hydraulic load tests, one row a look.",
    required: false,
    columns: &[
        required("pit_id", Kind::PitId, "Identifier of the pit."),
        required("time", Kind::Time, "Day and time of the look."),
        optional("added", Kind::Volume, "Water added so far, a running total."),
        optional("depth_to_liquid", Kind::Length, "Rim down to the liquid surface."),
        optional("tank_rise", Kind::Length, "Rise of the liquid in the tank since the start."),
        optional("note", Kind::Text, "Free text."),
    ],
};

/// Every table.
pub const TABLES: [&Table; 5] = [&PITS, &READINGS, &OCCUPANCY, &EVENTS_TABLE, &LOAD_TESTS];
