//! Load tests that are hard to draw.

use jiff::civil::date;
use soaklife::load_test::{LoadTest, Look};
use soaklife::pit::CrossSection;
use soaklife::quantity::{feet, gallons, inches};
use soaklife::{History, Pit};

/// Hours since the start, gallons added, inches below the rim, rise in the tank.
type Row = (f64, Option<f64>, Option<f64>, Option<f64>);

pub(super) fn cases() -> Vec<(&'static str, History, LoadTest)> {
    let pit = Pit::new(inches(42.0), inches(186.0)).unwrap();
    let round = pit.with_cross_section(CrossSection::round(feet(6.0)).unwrap());
    let test = |rows: &[Row]| LoadTest::new(rows.iter().map(look).collect()).unwrap();
    let tests = rows().into_iter().map(|(name, rows)| (name, History::new(round), test(&rows)));
    let of_unknown_width = ("unknown width", History::new(pit), test(&rows()[0].1));
    tests.chain([of_unknown_width]).collect()
}

fn look(&(hours, added, depth, tank): &Row) -> Look {
    let minutes = (hours * 60.0).round() as i64;
    let time = date(2026, 5, 5).at(8, 0, 0, 0).saturating_add(jiff::SignedDuration::from_mins(minutes));
    Look { time, added: added.map(gallons), depth: depth.map(inches), tank_rise: tank.map(inches) }
}

fn rows() -> Vec<(&'static str, Vec<Row>)> {
    let row = |hours, added, depth| (hours, Some(added), Some(depth), None);
    vec![
        (
            "plain",
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
