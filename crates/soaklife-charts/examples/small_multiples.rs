//! Draws the small multiples of a logbook and of hard cases into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example small_multiples -- FOLDER [LOGBOOK [DPI]]`.

use jiff::civil::{Date, date};
use soaklife::fleet::Candidate;
use soaklife::forecast::Basis;
use soaklife::quantity::{Units, inches};
use soaklife::{Forecast, History, Pit, Question, Reading};
use soaklife_charts::{PitPanel, SmallMultiples};
use soaklife_records::{Logbook, PitRecord};
use std::error::Error;
use std::path::{Path, PathBuf};

const AS_OF: Date = date(2026, 6, 30);

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("give the folder to draw into")?);
    let logbook = arguments.next().unwrap_or_else(|| "fixtures/logbooks/alder-fork".to_owned());
    let dpi = arguments.next().map_or(Ok(150.0), |dpi| dpi.parse())?;
    std::fs::create_dir_all(&folder)?;
    let logbook = Logbook::read(Path::new(&logbook), AS_OF, AS_OF)?;
    let all: Vec<PitPanel> = logbook.pits().filter_map(of_record).collect();
    let two_pages = all.iter().chain(all.iter().take(1)).cloned().collect();
    let cases: [(&str, Vec<PitPanel>, Units); 5] = [
        ("alder-fork", all.clone(), Units::Us),
        ("two pages", two_pages, Units::Us),
        ("metric", all.into_iter().take(6).collect(), Units::Si),
        ("no pit", Vec::new(), Units::Us),
        (
            "a logbook with a name that is longer than any page is wide, and then some more",
            hard()?,
            Units::Us,
        ),
    ];
    for (name, panels, units) in cases {
        let pages = SmallMultiples::new(AS_OF, panels).titled(name).in_units(units).pages()?;
        for (page, svg) in pages.iter().enumerate() {
            let file = folder.join(format!("{name} {}.svg", page + 1));
            std::fs::write(&file, svg.as_str())?;
            std::fs::write(file.with_extension("png"), svg.to_png(dpi)?)?;
        }
    }
    Ok(())
}

fn of_record(pit: &PitRecord) -> Option<PitPanel> {
    panel(pit.id(), pit.label().unwrap_or_default(), pit.history())
}

fn panel(id: &str, title: &str, history: &History) -> Option<PitPanel> {
    let forecast = Forecast::of(history, &Question::new(AS_OF)).ok()?;
    let stands_at_inlet = forecast.basis() == Basis::AtInlet;
    let years_to_inlet = forecast.years_to_inlet_at([0.1, 0.5, 0.9]);
    let candidate = Candidate {
        id: id.to_owned(),
        title: title.to_owned(),
        within_two_years: forecast.chance_by(2.0),
        years_since_reading: None,
        years_to_inlet: if stands_at_inlet { [Some(0.0); 3] } else { years_to_inlet },
    };
    Some(PitPanel::new(candidate, &forecast))
}

fn hard() -> Result<Vec<PitPanel>, Box<dyn Error>> {
    let long = "a lane with a name that is longer than the room for it";
    let read_often = |pit: &Pit| {
        let months = (0..300).filter_map(|month| {
            let day = date(2001 + month / 12, i8::try_from(month % 12).ok()? + 1, 15);
            Reading::at_depth(pit, day, inches(140.0 - 0.3 * f64::from(month))).ok()
        });
        months.collect::<Vec<_>>()
    };
    let usual = Pit::new(inches(30.0), inches(210.0))?;
    let deep = Pit::new(inches(30.0), inches(2000.0))?;
    let shallow = Pit::new(inches(30.0), inches(34.0))?;
    let histories = [
        ("AF-07", "read every month", History::new(usual).with_readings(read_often(&usual))),
        ("an identifier that is far too long for any panel", long, History::new(usual)),
        ("AF-08", "deep", History::new(deep).with_readings([Reading::dry(date(2020, 5, 1))])),
        ("AF-09", "shallow", History::new(shallow)),
        ("AF-10", "", History::new(usual).with_readings([Reading::at_inlet(date(2026, 5, 1))])),
    ];
    Ok(histories.iter().filter_map(|(id, title, history)| panel(id, title, history)).collect())
}
