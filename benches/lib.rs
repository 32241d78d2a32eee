//! Data builders shared by the benches: invented, seeded by position, the same on every run.

use jiff::civil::Date;
use soaklife::quantity::inches;
use soaklife::{History, Pit, Reading};

/// The day of every forecast here.
pub const AS_OF: Date = Date::constant(2026, 6, 30);

/// A pit 144 in deep below its inlet with `count` yearly readings that creep up 2.5 in a year.
#[must_use]
#[expect(clippy::expect_used, reason = "the dimensions are fixed and legal")]
pub fn creeping_pit(count: i16) -> History {
    let pit = Pit::new(inches(36.0), inches(180.0)).expect("a legal pit");
    let readings = (0..count).map(|year| {
        let scatter = f64::from((i32::from(year) * 7919) % 13 - 6) / 4.0;
        let level = 40.0 + 2.5 * f64::from(year) + scatter;
        let date = Date::constant(2026 - count + year, 5, 10);
        Reading::at_level(&pit, date, inches(level)).expect("a legal reading")
    });
    History::new(pit).with_readings(readings)
}
