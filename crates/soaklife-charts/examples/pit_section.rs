//! Draws sections of the pits of a logbook and of invented hard cases into a folder, to be looked at after a change of the
//! drawing: `cargo run -p soaklife-charts --example pit_section -- FOLDER [LOGBOOK [DPI]]`.

use jiff::civil::{Date, date};
use soaklife::pit::CrossSection;
use soaklife::quantity::{Units, feet, inches};
use soaklife::{Forecast, History, Pit, Question, Reading};
use soaklife_charts::PitSection;
use soaklife_records::Logbook;
use std::error::Error;
use std::path::{Path, PathBuf};

const AS_OF: Date = date(2026, 6, 30);

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("give the folder to draw into")?);
    let logbook = arguments.next().unwrap_or_else(|| "fixtures/logbooks/alder-fork".to_owned());
    let dpi = arguments.next().map_or(Ok(150.0), |dpi| dpi.parse())?;
    std::fs::create_dir_all(&folder)?;
    let draw = |name: &str, title: &str, history: &History, units: Units| {
        let section = match Forecast::of(history, &Question::new(AS_OF)) {
            Ok(forecast) => PitSection::new(&forecast, history),
            Err(_) => PitSection::of_readings(history, AS_OF),
        };
        let svg = section.titled(title).in_units(units).svg()?;
        std::fs::write(folder.join(format!("{name}.svg")), svg.as_str())?;
        std::fs::write(folder.join(format!("{name}.png")), svg.to_png(dpi)?)?;
        Ok::<(), Box<dyn Error>>(())
    };
    for pit in Logbook::read(Path::new(&logbook), AS_OF, AS_OF)?.pits() {
        let title = pit.label().map_or(pit.id().to_owned(), |label| format!("{}, {label}", pit.id()));
        draw(pit.id(), &title, pit.history(), Units::Us)?;
    }
    for (name, history) in cases()? {
        draw(name, name, &history, Units::Us)?;
        draw(&format!("{name}, metric"), name, &history, Units::Si)?;
    }
    Ok(())
}

fn cases() -> Result<Vec<(&'static str, History)>, Box<dyn Error>> {
    let round = |across_ft| CrossSection::round(feet(across_ft)).map(Some);
    let steady = [38.5, 35.0, 33.5, 29.0, 27.5, 23.0, 21.0, 17.0, 15.5];
    Ok(vec![
        ("a name of forty characters, or just more", pit(38.0, 144.0, round(6.0)?, &steady)?),
        (
            "a title that no half page could hold in two lines, whatever its font may be",
            pit(38.0, 144.0, None, &steady)?,
        ),
        ("one reading", pit(38.0, 144.0, round(6.0)?, &[48.0])?),
        ("no reading", pit(38.0, 144.0, round(6.0)?, &[])?),
        ("at the inlet", pit(38.0, 144.0, round(6.0)?, &[40.0, 28.0, 22.0, 9.0, 0.0])?),
        ("above the inlet", pit(38.0, 144.0, round(6.0)?, &[40.0, 28.0, 9.0, -34.0])?),
        ("hardly any freeboard", pit(38.0, 144.0, round(6.0)?, &[9.0, 7.0, 6.0, 4.0, 1.5])?),
        ("unknown diameter", pit(38.0, 144.0, None, &steady)?),
        ("falling", pit(38.0, 144.0, round(5.0)?, &[60.0, 62.5, 66.0, 68.0, 73.5, 75.0])?),
        ("shallow and wide", pit(12.0, 30.0, round(12.0)?, &[25.0, 20.0, 18.0, 15.0])?),
        ("very deep", pit(40.0, 960.0, round(4.0)?, &[500.0, 480.0, 465.0, 440.0])?),
        ("inlet at the rim", pit(0.0, 100.0, round(6.0)?, &[60.0, 52.0, 47.0, 40.0])?),
    ])
}

/// One reading each May up to 2026, given as freeboard in inches.
fn pit(
    inlet_in: f64,
    effective_in: f64,
    across: Option<CrossSection>,
    freeboards_in: &[f64],
) -> Result<History, Box<dyn Error>> {
    let pit = Pit::new(inches(inlet_in), inches(inlet_in + effective_in))?;
    let pit = across.map_or(pit, |across| pit.with_cross_section(across));
    let first_year = 2027 - freeboards_in.len() as i16;
    let readings = freeboards_in
        .iter()
        .zip(first_year..)
        .map(|(freeboard, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(inlet_in + freeboard)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(History::new(pit).with_readings(readings))
}
