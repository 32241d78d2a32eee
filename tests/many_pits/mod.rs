//! A logbook of thousands of pits, messy as real ones are.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const MAKERS: [&str; 4] = ["Alder", "Birch", "", "Larch"];

/// Rows of `pits.csv` and `readings.csv` without their headers, of so many pits; now and then one is broken.
pub(crate) fn rows(count: usize) -> (Vec<String>, Vec<String>) {
    let (mut pits, mut readings) = (Vec::new(), Vec::new());
    for pit in 0..count {
        let id = format!("P{pit:04}");
        pits.push(match pit % 500 {
            17 => format!("{id},190,40,6,4,3,,"), // the bottom above the inlet
            18 => format!("{id},38"),
            _ => format!("{id},38,182,6,{},3,\"Lot {pit}, upper road\",{}", 1 + pit % 6, MAKERS[pit % 4]),
        });
        for year in 0..(pit * 7) % 9 {
            let depth = 150 - 9 * year + (pit * 31 + year * 17) % 7;
            readings.push(match (pit + year) % 211 {
                5 => format!("{id},{}-05-14,88 in,", 2016 + year),
                6 => format!("{id}x,{}-05-14,{depth},", 2016 + year),
                7 => format!("{id},{}-05-14,{depth},\"two\nlines\"", 2016 + year),
                _ => format!("{id},{}-05-14,{depth}.5,", 2016 + year),
            });
        }
    }
    (pits, readings)
}

pub(crate) fn write(folder: &Path, pits: &[String], readings: &[String]) -> String {
    let text = |header: &str, rows: &[String]| {
        rows.iter().fold(format!("{header}\n"), |mut text, row| {
            let _ = writeln!(text, "{row}");
            text
        })
    };
    fs::create_dir_all(folder).unwrap();
    let header = "pit_id,inlet_depth_in,bottom_depth_in,diameter_ft,occupants,bedrooms,label,maker";
    fs::write(folder.join("pits.csv"), text(header, pits)).unwrap();
    fs::write(folder.join("readings.csv"), text("pit_id,date,depth_to_liquid_in,note", readings)).unwrap();
    folder.to_str().unwrap().to_owned()
}

/// A pseudo-random order that is the same on every run.
pub(crate) fn shuffled(rows: &[String]) -> Vec<String> {
    let mut keyed: Vec<(u64, &String)> = rows
        .iter()
        .enumerate()
        .map(|(place, row)| ((place as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29), row))
        .collect();
    keyed.sort();
    keyed.into_iter().map(|(_, row)| row.clone()).collect()
}
