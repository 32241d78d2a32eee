//! Checks that take any bytes at all: each is a target of the fuzzer in `tests/fuzz`, and a short seeded run of
//! `tests/arbitrary_logbooks.rs`. They panic if something does not hold, and only then.

mod bundle;
mod figures;
mod forecasts;
mod log;
mod pages;
mod prior;
mod seeds;
mod tables;

pub use seeds::{seeds, words};

use jiff::civil::Date;

/// The day of every check.
pub const TODAY: Date = Date::constant(2026, 6, 30);

/// A check, and what it is called as a target of the fuzzer.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    /// Its name.
    pub name: &'static str,
    /// What it does with some bytes.
    pub check: fn(&[u8]),
}

/// Every check.
pub const TARGETS: [Target; 11] = [
    Target { name: "pits", check: |bytes| tables::check("pits.csv", bytes) },
    Target { name: "readings", check: |bytes| tables::check("readings.csv", bytes) },
    Target { name: "occupancy", check: |bytes| tables::check("occupancy.csv", bytes) },
    Target { name: "events", check: |bytes| tables::check("events.csv", bytes) },
    Target { name: "load_tests", check: |bytes| tables::check("load_tests.csv", bytes) },
    Target { name: "settings", check: |bytes| tables::check("logbook.toml", bytes) },
    Target { name: "prior", check: prior::check },
    Target { name: "log", check: log::check },
    Target { name: "forecasts", check: forecasts::check },
    Target { name: "figures", check: figures::check },
    Target { name: "pages", check: pages::check },
];

/// Runs the check of a name.
///
/// # Panics
/// If what it checks does not hold, or there is no check of this name.
pub fn check(name: &str, bytes: &[u8]) {
    let target = TARGETS.iter().find(|target| target.name == name);
    (target.unwrap_or_else(|| panic!("no target {name}")).check)(bytes);
}
