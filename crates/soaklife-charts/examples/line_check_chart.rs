//! Draws what a line leaves over for the pits of a logbook into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example line_check_chart -- FOLDER [LOGBOOK [DPI]]`.

use jiff::civil::{Date, date};
use soaklife::quantity::{Units, inches};
use soaklife::{Forecast, History, Method, Pit, Question, Reading};
use soaklife_charts::LineCheckChart;
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
        // A pit without a line has nothing to check.
        let Ok(forecast) = Forecast::of(history, &Question::new(AS_OF).by(Method::Line)) else {
            return Ok(());
        };
        let Some(chart) = LineCheckChart::new(&forecast) else { return Ok(()) };
        let svg = chart.titled(title).in_units(units).svg()?;
        std::fs::write(folder.join(format!("{name}.svg")), svg.as_str())?;
        std::fs::write(folder.join(format!("{name}.png")), svg.to_png(dpi)?)?;
        Ok::<(), Box<dyn Error>>(())
    };
    for pit in Logbook::read(Path::new(&logbook), AS_OF, AS_OF)?.pits() {
        let title = pit.label().map_or(pit.id().to_owned(), |label| format!("{}, {label}", pit.id()));
        draw(pit.id(), &title, pit.history(), Units::Us)?;
    }
    let cases = [
        ("three readings", vec![99.0, 94.0, 92.0]),
        ("exactly on a line", vec![99.0, 96.0, 93.0, 90.0]),
        (
            "a name of forty characters, or just more",
            (0..30).map(|year| 150.0 - f64::from(year * 37 % 11)).collect(),
        ),
        ("one far off", vec![99.0, 96.0, 93.0, 50.0, 87.0, 84.0, 81.0, 78.0]),
    ];
    for (name, depths) in cases {
        let history = yearly(&depths)?;
        draw(name, name, &history, Units::Us)?;
        draw(&format!("{name}, metric"), name, &history, Units::Si)?;
    }
    Ok(())
}

/// One reading each May up to 2026, given as depths below the rim in inches.
fn yearly(depths_in: &[f64]) -> Result<History, Box<dyn Error>> {
    let pit = Pit::new(inches(38.0), inches(182.0))?;
    let first_year = 2027 - depths_in.len() as i16;
    let readings = depths_in
        .iter()
        .zip(first_year..)
        .map(|(depth, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(*depth)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(History::new(pit).with_readings(readings))
}
