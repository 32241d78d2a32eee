//! Data builders shared by the benches: invented, seeded by position, the same on every run.

use jiff::civil::Date;
use soaklife::quantity::inches;
use soaklife::{History, Pit, Reading};
use std::fmt::Write as _;
use std::path::Path;
use std::{fs, io};

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

/// Writes a sound logbook of so many pits with so many yearly readings each.
///
/// # Errors
/// Whatever the operating system says.
pub fn write_logbook(folder: &Path, pits: u32, readings: u32) -> io::Result<()> {
    let mut pits_csv =
        String::from("pit_id,installed,inlet_depth_in,bottom_depth_in,diameter_ft,bedrooms,occupants\n");
    let mut readings_csv = String::from("pit_id,date,depth_to_liquid_in\n");
    for pit in 0..pits {
        let _ = writeln!(pits_csv, "P{pit:06},{},36.0,180.0,6,3,{}", 1970 + pit % 30, 1 + pit % 6);
        for reading in 0..readings {
            let scatter = f64::from((pit * 31 + reading * 7919) % 13) / 4.0;
            let depth = 140.0 - 2.5 * f64::from(reading) + scatter;
            let (year, month) = (2026 - readings + reading, 1 + (pit + reading) % 5);
            let _ = writeln!(readings_csv, "P{pit:06},{year}-{month:02}-10,{depth:.1}");
        }
    }
    fs::write(folder.join("pits.csv"), pits_csv)?;
    fs::write(folder.join("readings.csv"), readings_csv)
}
