//! Draws the ladders of a logbook and of invented fleets into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example ladder_chart -- FOLDER [LOGBOOK [DPI]]`.

use jiff::civil::{Date, date};
use soaklife::fleet::Candidate;
use soaklife::forecast::Basis;
use soaklife::{Forecast, Question};
use soaklife_charts::LadderChart;
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
    let cases = [
        ("alder-fork", logbook.pits().filter_map(candidate).collect()),
        ("two pages and one pit", many(81)),
        ("one pit", many(1)),
        ("no pit", Vec::new()),
        ("all soon", soon()),
        ("a logbook with a name that is longer than any page is wide, and then some more", hard()),
    ];
    for (name, pits) in cases {
        let pits: Vec<&Candidate> = pits.iter().collect();
        for (page, svg) in LadderChart::new(AS_OF, &pits).titled(name).pages()?.iter().enumerate() {
            let file = folder.join(format!("{name} {}.svg", page + 1));
            std::fs::write(&file, svg.as_str())?;
            std::fs::write(file.with_extension("png"), svg.to_png(dpi)?)?;
        }
    }
    Ok(())
}

fn candidate(pit: &PitRecord) -> Option<Candidate> {
    let forecast = Forecast::of(pit.history(), &Question::new(AS_OF)).ok()?;
    let stands_at_inlet = forecast.basis() == Basis::AtInlet;
    let years_to_inlet = forecast.years_to_inlet_at([0.1, 0.5, 0.9]);
    Some(Candidate {
        id: pit.id().to_owned(),
        title: pit.label().unwrap_or_default().to_owned(),
        within_two_years: forecast.chance_by(2.0),
        years_since_reading: None,
        years_to_inlet: if stands_at_inlet { [Some(0.0); 3] } else { years_to_inlet },
    })
}

fn pit(id: &str, title: &str, years_to_inlet: [Option<f64>; 3]) -> Candidate {
    let (id, title) = (id.to_owned(), title.to_owned());
    Candidate { id, title, within_two_years: 0.1, years_since_reading: None, years_to_inlet }
}

fn many(count: u32) -> Vec<Candidate> {
    let invented = |place: u32| {
        let median = 0.5 + f64::from(place * 37 % 61);
        let late = (!place.is_multiple_of(5)).then_some(median * 1.9);
        pit(&format!("AF-{place:03}"), "Quarry Road", [Some(median * 0.4), Some(median), late])
    };
    (1..=count).map(invented).collect()
}

fn soon() -> Vec<Candidate> {
    let invented = |place: u32| {
        let median = 0.1 + 0.2 * f64::from(place);
        pit(&format!("AF-{place:02}"), "Lower Ford", [Some(median * 0.5), Some(median), Some(median * 2.0)])
    };
    (1..=12).map(invented).collect()
}

fn hard() -> Vec<Candidate> {
    let long = "a lane with a name that is longer than the room for it";
    vec![
        pit("AF-13", long, [Some(0.0), Some(0.0), Some(0.0)]),
        pit("an identifier that is far too long for any list of pits", long, [Some(2.0), Some(5.0), None]),
        pit("AF-04", "", [Some(12.0), Some(41.0), None]),
        pit("AF-05", "beyond what is drawn", [Some(52.0), Some(70.0), Some(90.0)]),
        pit("AF-06", "never", [None, None, None]),
        pit("AF-07", "quite open", [Some(0.2), None, None]),
    ]
}
