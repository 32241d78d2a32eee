//! Pits that are hard to draw.

use crate::yearly_pits::{pit, yearly, yearly_from};
use jiff::civil::date;
use soaklife::history::{Event, EventKind};
use soaklife::pit::CrossSection;
use soaklife::quantity::{feet, gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::{History, LoadHistory, Pit, Reading};

const STEADY: [f64; 9] = [38.5, 35.0, 33.5, 29.0, 27.5, 23.0, 21.0, 17.0, 15.5];

pub(super) fn cases() -> Vec<(&'static str, History)> {
    vec![
        ("steady creep", steady()),
        (
            "steady creep, long answer",
            yearly_from(2020, pit(168.0), &[100.0, 98.6, 97.4, 95.9, 94.8, 93.1, 91.9]),
        ),
        ("few and scattered", yearly_from(2024, pit(144.0), &[60.0, 40.0, 62.0])),
        ("unbounded", yearly_from(2024, pit(144.0), &[22.0, 2.0, 24.0])),
        ("one-sided", yearly_from(2022, pit(144.0), &[100.0, 92.0, 99.0, 93.0, 96.0])),
        ("one-sided, soon", yearly_from(2023, pit(144.0), &[40.0, 34.0, 37.0, 26.0])),
        ("falling", yearly_from(2020, pit(144.0), &[60.0, 62.5, 66.0, 68.0, 73.5, 75.0])),
        (
            "hardly moves",
            yearly_from(2016, pit(144.0), &[60.0, 61.0, 60.0, 60.5, 60.0, 59.5, 60.5, 60.0, 60.5, 60.0]),
        ),
        ("at the inlet", yearly_from(2021, pit(144.0), &[40.0, 28.0, 22.0, 9.0, 0.0])),
        ("standing above the inlet", yearly_from(2021, pit(144.0), &[40.0, 28.0, 22.0, 9.0, -14.0])),
        ("close to the inlet", yearly_from(2019, pit(144.0), &[22.0, 19.0, 16.5, 13.0, 10.0, 7.5, 4.0, 1.5])),
        ("dry, then rising", dry_then_rising()),
        ("sixty readings", sixty()),
        ("one reading", yearly_from(2026, pit(144.0), &[48.0])),
        ("no reading", yearly_from(2026, pit(144.0), &[])),
        ("very shallow", yearly_from(2021, pit(1.0), &[0.9, 0.85, 0.7, 0.6, 0.5])),
        ("very deep", deep()),
        ("a reading doubted", doubted()),
        ("events close together", busy()),
        (
            "half a century",
            yearly_from(1972, pit(144.0), &{
                let mut depths = Vec::new();
                depths.extend((0..54).map(|year| 120.0 - 1.4 * f64::from(year) + f64::from(year * 7 % 5)));
                depths
            }),
        ),
        ("unknown diameter", across(None, 38.0, 144.0, &STEADY)),
        ("round", across(Some(6.0), 38.0, 144.0, &STEADY)),
        ("hardly any freeboard", across(Some(6.0), 38.0, 144.0, &[9.0, 7.0, 6.0, 4.0, 1.5])),
        ("shallow and wide", across(Some(12.0), 12.0, 30.0, &[25.0, 20.0, 18.0, 15.0])),
        ("very deep and narrow", across(Some(4.0), 40.0, 960.0, &[500.0, 480.0, 465.0, 440.0])),
        ("inlet at the rim", across(Some(6.0), 0.0, 100.0, &[60.0, 52.0, 47.0, 40.0])),
        ("exactly on a line", yearly_from(2023, pit(144.0), &[61.0, 58.0, 55.0, 52.0])),
        ("one far off", yearly_from(2019, pit(144.0), &[61.0, 58.0, 55.0, 12.0, 49.0, 46.0, 43.0, 40.0])),
        ("sixty years", yearly_from(1967, pit(144.0), &sixty_years())),
    ]
}

pub(super) fn steady() -> History {
    yearly_from(2018, pit(144.0), &STEADY)
}

fn deep() -> History {
    yearly_from(2018, pit(960.0), &[500.0, 480.0, 465.0, 440.0, 423.0, 407.0, 380.0, 366.0])
}

fn dry_then_rising() -> History {
    let history = yearly_from(2017, pit(144.0), &[130.0, 121.0, 116.0, 108.0, 103.0, 94.0, 90.0, 82.0, 77.0]);
    let dry = (2008..2017).map(|year| Reading::dry(date(year, 6, 2)));
    let readings: Vec<Reading> = dry.chain(history.readings().iter().copied()).collect();
    history.with_readings(readings)
}

fn sixty() -> History {
    let history = yearly_from(2016, pit(144.0), &[]);
    let pit = *history.pit();
    let readings = (0..60)
        .map(|count| {
            let day = date(2016 + count / 6, 1 + (count % 6) as i8 * 2, 12);
            let wander = f64::from(count * 37 % 11) - 5.0;
            Reading::at_level(&pit, day, inches(40.0 + 0.9 * f64::from(count) + wander))
        })
        .collect::<Result<Vec<_>, _>>()
        .unwrap();
    history.with_readings(readings)
}

fn doubted() -> History {
    let history = yearly_from(2018, pit(144.0), &[58.5, 56.0, 20.5, 50.0, 48.5, 44.0, 43.0, 39.0]);
    let readings: Vec<Reading> = history
        .readings()
        .iter()
        .enumerate()
        .map(|(index, reading)| if index == 2 { reading.in_condition(Condition::Suspect) } else { *reading })
        .collect();
    history.with_readings(readings)
}

fn busy() -> History {
    let events = [
        (date(2021, 3, 2), EventKind::PumpedOut),
        (date(2021, 4, 9), EventKind::PipeRepaired),
        (date(2021, 6, 1), EventKind::DatumChanged),
        (date(2021, 9, 20), EventKind::PumpedOut),
        (date(2022, 1, 15), EventKind::RestStarted),
        (date(2022, 2, 15), EventKind::RestEnded),
    ];
    let load = LoadHistory::new(
        gallons_per_day(450.0),
        [(date(2010, 1, 1), 120.0), (date(2021, 5, 1), 300.0), (date(2024, 8, 1), 360.0)]
            .map(|(from, flow)| (from, gallons_per_day(flow))),
    )
    .unwrap();
    let history =
        yearly_from(2016, pit(144.0), &[60.0, 58.0, 57.5, 55.0, 53.0, 48.0, 44.0, 41.0, 36.0, 33.0, 28.0]);
    history.with_events(events.map(|(day, kind)| Event::new(day, kind))).with_load(load)
}

/// The same with another inlet and a diameter in feet, up to 2026.
fn across(across_ft: Option<f64>, inlet_in: f64, effective_in: f64, freeboards_in: &[f64]) -> History {
    let pit = Pit::new(inches(inlet_in), inches(inlet_in + effective_in)).unwrap();
    let round = |across_ft| pit.with_cross_section(CrossSection::round(feet(across_ft)).unwrap());
    let pit = across_ft.map_or(pit, round);
    yearly(pit, freeboards_in)
}

fn sixty_years() -> Vec<f64> {
    (0..60).map(|year| 130.0 - 1.4 * f64::from(year) + f64::from(year * 7 % 5)).collect()
}
