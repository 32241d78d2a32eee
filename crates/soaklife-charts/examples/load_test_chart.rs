//! Draws the load tests of a logbook and invented hard cases into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example load_test_chart -- FOLDER [LOGBOOK [DPI]]`.

use jiff::civil::{Date, date};
use soaklife::load_test::{Household, LoadTest, Look};
use soaklife::pit::CrossSection;
use soaklife::quantity::{Units, feet, gallons, inches};
use soaklife::{History, Pit};
use soaklife_charts::LoadTestChart;
use soaklife_records::Logbook;
use std::error::Error;
use std::path::{Path, PathBuf};

const AS_OF: Date = date(2026, 6, 30);

/// Hours since the start, gallons added, inches below the rim, rise in the tank.
type Row = (f64, Option<f64>, Option<f64>, Option<f64>);

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("give the folder to draw into")?);
    let logbook = arguments.next().unwrap_or_else(|| "fixtures/logbooks/alder-fork".to_owned());
    let dpi = arguments.next().map_or(Ok(150.0), |dpi| dpi.parse())?;
    std::fs::create_dir_all(&folder)?;
    let draw = |name: &str, history: &History, test: &LoadTest, units: Units| {
        let test = test.clone().in_weather_of(history);
        let study = test.study(history.pit(), &Household::during(&test, history, None));
        let svg = LoadTestChart::new(&test, &study, history.pit()).titled(name).in_units(units).svg()?;
        std::fs::write(folder.join(format!("{name}.svg")), svg.as_str())?;
        std::fs::write(folder.join(format!("{name}.png")), svg.to_png(dpi)?)?;
        Ok::<(), Box<dyn Error>>(())
    };
    for pit in Logbook::read(Path::new(&logbook), AS_OF, AS_OF)?.pits() {
        for test in pit.load_tests() {
            draw(&format!("{} {}", pit.id(), test.date()), pit.history(), test, Units::Us)?;
        }
    }
    let pit = Pit::new(inches(42.0), inches(186.0))?.with_cross_section(CrossSection::round(feet(6.0))?);
    let (history, of_unknown) = (History::new(pit), History::new(Pit::new(inches(42.0), inches(186.0))?));
    for (name, rows) in cases() {
        let test = LoadTest::new(rows.iter().map(look).collect())?;
        draw(name, &history, &test, Units::Us)?;
        draw(&format!("{name}, metric"), &of_unknown, &test, Units::Si)?;
    }
    Ok(())
}

fn look(&(hours, added, depth, tank): &Row) -> Look {
    let minutes = (hours * 60.0).round() as i64;
    let time = date(2026, 5, 5).at(8, 0, 0, 0).saturating_add(jiff::SignedDuration::from_mins(minutes));
    Look { time, added: added.map(gallons), depth: depth.map(inches), tank_rise: tank.map(inches) }
}

fn cases() -> Vec<(&'static str, Vec<Row>)> {
    let row = |hours, added, depth| (hours, Some(added), Some(depth), None);
    vec![
        (
            "a name of forty characters, or just more",
            vec![
                row(0.0, 0.0, 120.0),
                row(1.0, 200.0, 109.0),
                row(2.0, 400.0, 97.5),
                row(26.0, 400.0, 120.5),
            ],
        ),
        ("one look", vec![(0.0, None, Some(90.0), None)]),
        ("no level", vec![(0.0, Some(0.0), None, None), (1.0, Some(100.0), None, Some(4.0))]),
        (
            "filled to the inlet",
            vec![
                row(0.0, 0.0, 50.0),
                row(0.5, 90.0, 44.5),
                row(0.8, 130.0, 42.0),
                row(4.0, 130.0, 43.0),
                row(24.0, 130.0, 47.5),
            ],
        ),
        (
            "back to a dry pit",
            vec![
                row(0.0, 0.0, 186.0),
                row(1.0, 300.0, 170.0),
                row(3.0, 300.0, 177.0),
                row(8.0, 300.0, 183.0),
                row(25.0, 300.0, 186.0),
            ],
        ),
        (
            "two days, the total begins again",
            vec![
                row(0.0, 0.0, 70.0),
                row(1.0, 300.0, 54.0),
                row(24.0, 300.0, 66.5),
                row(25.0, 0.0, 66.5),
                row(26.0, 300.0, 52.0),
                row(49.0, 300.0, 65.0),
            ],
        ),
        (
            "scattered",
            vec![
                row(0.0, 0.0, 90.0),
                row(1.0, 400.0, 68.0),
                row(2.0, 400.0, 72.0),
                row(3.0, 400.0, 70.0),
                row(5.0, 400.0, 77.0),
                row(24.0, 400.0, 83.0),
            ],
        ),
        ("ten minutes", vec![row(0.0, 0.0, 90.0), row(0.1, 20.0, 89.0), row(0.2, 40.0, 88.0)]),
    ]
}
