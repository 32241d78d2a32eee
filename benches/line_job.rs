//! The job that general-purpose libraries are timed at: one straight line a pit against calendar time, no reading set aside,
//! 18 columns a pit. `line_job FOLDER OUT [--threads N]`; OUT is a scratch file of a benchmark and written as it comes.

use jiff::civil::Date;
use soaklife::date::{DAYS_PER_YEAR, PartialDate};
use soaklife::numerics::inverse_prediction::{InverseSet, UncertainLine};
use soaklife::numerics::straight_line::StraightLine;
use soaklife::numerics::student_t::StudentT;
use soaklife::quantity::as_inches;
use soaklife::reading::Reading;
use soaklife::wording::add_decimal;
use soaklife_records::{Entry, Fleet, PitRecord};
use std::error::Error;
use std::fs::File;
use std::io::{Seek as _, Write as _};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;
use std::thread::available_parallelism;

const HEADING: &[u8] = b"pit_id,n,slope,se_slope,freeboard,p1,p1_lo,p1_hi,p5,p5_lo,p5_hi,p10,p10_lo,p10_hi,yrs,yrs_lo,yrs_hi,status\n";
const DECIMALS: usize = 4;
const HORIZONS: [f64; 3] = [1.0, 5.0, 10.0];
const COVERAGE: f64 = 0.9;
/// Room for a row.
const LONGEST_ROW: usize = 160;
/// Student multipliers kept, by degrees of freedom.
const KEPT: usize = 64;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let (folder, out, threads) = match &args[..] {
        [folder, out] => (folder, out, available_parallelism()?),
        [folder, out, option, number] if option == "--threads" => (folder, out, number.parse()?),
        _ => return Err("line_job FOLDER OUT [--threads N]".into()),
    };
    run(folder.as_ref(), out.as_ref(), threads)
}

fn run(folder: &Path, out: &Path, threads: NonZeroUsize) -> Result<(), Box<dyn Error>> {
    let day = Date::MAX;
    let fleet = Fleet::open(folder, day, day)?;
    let multipliers = multipliers()?;
    let mut file = File::create(out)?;
    loop {
        file.set_len(0)?;
        file.rewind()?;
        file.write_all(HEADING)?;
        let mut failed = None;
        let walked = fleet.walk(
            threads,
            |stretch| {
                let mut rows = Vec::with_capacity(stretch.entries().len() * LONGEST_ROW);
                let mut points = Points::default();
                for entry in stretch.entries() {
                    if let Entry::Pit(pit) = entry {
                        row(&mut rows, pit, &multipliers, &mut points);
                    }
                }
                rows
            },
            |rows| match file.write_all(&rows) {
                Ok(()) => ControlFlow::Continue(()),
                Err(error) => {
                    failed = Some(error);
                    ControlFlow::Break(())
                }
            },
        );
        match (failed, walked) {
            (Some(error), _) => return Err(error.into()),
            (None, Err(soaklife_records::WalkError::OutOfOrder)) => {}
            (None, walked) => return walked.map(drop).map_err(Into::into),
        }
    }
}

/// Two-sided multipliers by degrees of freedom; the first is not used.
fn multipliers() -> Result<Vec<f64>, Box<dyn Error>> {
    let of = |degrees: usize| Ok(StudentT::new(degrees as f64)?.two_sided_multiplier(COVERAGE)?);
    std::iter::once(Ok(f64::NAN)).chain((1..KEPT).map(of)).collect()
}

#[derive(Default)]
struct Points {
    years: Vec<f64>,
    depths: Vec<f64>,
}

/// One row; places are years after the last reading, depths are inches below the rim.
fn row(rows: &mut Vec<u8>, record: &PitRecord, multipliers: &[f64], points: &mut Points) {
    let pit = record.history().pit();
    let readings = record.history().readings();
    let last = readings.last().map_or(PartialDate::day(Date::ZERO), Reading::date);
    let years = |reading: &Reading| f64::from(last.days_to(reading.date())) / DAYS_PER_YEAR;
    points.years.clear();
    points.depths.clear();
    points.years.extend(readings.iter().map(years));
    points.depths.extend(readings.iter().map(|reading| as_inches(pit.depth_at_level(reading.level(pit)))));
    rows.extend_from_slice(record.id().as_bytes());
    rows.push(b',');
    add_decimal(readings.len() as f64, 0, rows);
    let Ok(line) = StraightLine::fit(&points.years, &points.depths, None) else {
        rows.extend_from_slice(b",,,,,,,,,,,,,,,,too_few\n");
        return;
    };
    let multiplier = match multipliers.get(readings.len() - 2) {
        Some(&multiplier) => multiplier,
        None => StudentT::new(line.degrees_of_freedom())
            .and_then(|t| t.two_sided_multiplier(COVERAGE))
            .unwrap_or(f64::NAN),
    };
    let inlet = as_inches(pit.inlet_depth());
    decimal(rows, line.slope());
    decimal(rows, line.slope_standard_error());
    decimal(rows, line.mean_at(0.0) - inlet);
    for years in HORIZONS {
        let mean = line.mean_at(years);
        let half = multiplier * line.standard_error_of_mean_at(years);
        decimal(rows, mean);
        decimal(rows, mean - half);
        decimal(rows, mean + half);
    }
    let status = crossing(rows, &line, multiplier, inlet);
    rows.push(b',');
    rows.extend_from_slice(status);
    rows.push(b'\n');
}

/// Years until the line meets the inlet, with their range by Fieller's theorem.
fn crossing(rows: &mut Vec<u8>, line: &StraightLine, multiplier: f64, inlet: f64) -> &'static [u8] {
    if line.slope() >= 0.0 {
        rows.extend_from_slice(b",,,");
        return b"not_rising";
    }
    let squared = |standard_error: f64| standard_error * standard_error;
    let uncertain = UncertainLine {
        centre: line.centre(),
        mean_at_centre: line.mean_at_centre(),
        slope: line.slope(),
        variance_of_mean: squared(line.standard_error_of_mean_at(line.centre())),
        covariance: 0.0,
        variance_of_slope: squared(line.slope_standard_error()),
    };
    match uncertain.inverse(inlet, multiplier, 0.0) {
        Ok(inverse) => {
            decimal(rows, inverse.estimate.unwrap_or(f64::NAN));
            if let InverseSet::Interval { lower, upper } = inverse.set {
                decimal(rows, lower);
                decimal(rows, upper);
                return b"ok";
            }
            rows.extend_from_slice(b",,");
            b"unbounded"
        }
        Err(_) => {
            rows.extend_from_slice(b",,,");
            b"unbounded"
        }
    }
}

fn decimal(rows: &mut Vec<u8>, value: f64) {
    rows.push(b',');
    add_decimal(value, DECIMALS, rows);
}
