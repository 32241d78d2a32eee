//! `datapackage.json`: the tables described for general tools, as a Frictionless Data Package (Table Schema).

use crate::measure::{Dimension, Unit};
use crate::schema::{Column, Kind, PITS, TABLES, Table};
use serde_json::{Value, json};

/// Name of the description.
pub(crate) const FILE: &str = "datapackage.json";

/// Describes a logbook whose depths are in `length` and whose cross-sections are in `width`.
pub(crate) fn describe(name: &str, length: Unit, width: Unit) -> String {
    let required = TABLES.iter().filter(|table| table.required);
    let resources: Vec<Value> = required.map(|table| resource(table, length, width)).collect();
    let package = json!({
        "profile": "tabular-data-package",
        "name": name,
        "description": "Logbook of seepage pits: pits and stick readings.",
        "resources": resources,
    });
    format!("{package:#}\n")
}

fn resource(table: &Table, length: Unit, width: Unit) -> Value {
    let written = |column: &&Column| column.required || is_in_new_files(table, column);
    let fields: Vec<Value> =
        table.columns.iter().filter(written).map(|column| field(column, length, width)).collect();
    let mut schema = json!({ "fields": fields, "missingValues": [""] });
    if table.file == PITS.file {
        schema["primaryKey"] = json!("pit_id");
    } else {
        schema["foreignKeys"] =
            json!([{ "fields": "pit_id", "reference": { "resource": "pits", "fields": "pit_id" } }]);
    }
    json!({
        "profile": "tabular-data-resource",
        "name": table.file.trim_end_matches(".csv"),
        "path": table.file,
        "description": table.description,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": schema,
    })
}

/// The optional columns that a new logbook begins with.
fn is_in_new_files(table: &Table, column: &Column) -> bool {
    let of_pits = ["label", "installed", "diameter", "bedrooms", "occupants", "soil", "replacement_cost"];
    let of_readings = ["depth_to_liquid", "state", "condition", "note"];
    if table.file == PITS.file { of_pits.contains(&column.name) } else { of_readings.contains(&column.name) }
}

fn field(column: &Column, length: Unit, width: Unit) -> Value {
    let unit = match column.kind.dimension() {
        Some(Dimension::Length) if column.name == "diameter" => Some(width),
        Some(Dimension::Length) => Some(length),
        _ => None,
    };
    let name = unit.map_or(column.name.to_owned(), |unit| format!("{}_{}", column.name, unit.suffix()));
    let kind = match column.kind {
        Kind::Number | Kind::Length | Kind::Flow | Kind::Volume => "number",
        _ => "string",
    };
    let mut constraints = json!({});
    if column.required {
        constraints["required"] = json!(true);
    }
    match column.kind {
        Kind::Word(words) => constraints["enum"] = json!(words),
        Kind::Date => constraints["pattern"] = json!(r"^\d{4}(-\d{2}(-\d{2})?)?$"),
        Kind::Number | Kind::Length | Kind::Flow | Kind::Volume => constraints["minimum"] = json!(0),
        Kind::PitId | Kind::Text | Kind::Time => {}
    }
    json!({ "name": name, "type": kind, "description": column.description, "constraints": constraints })
}
