//! Draws forecast charts of invented pits into a folder, to be looked at after a change of the drawing:
//! `cargo run -p soaklife-charts --example forecast_chart -- FOLDER [DPI]`.

use jiff::civil::{Date, date};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{Units, gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, History, LoadHistory, Pit, Question, Reading};
use soaklife_charts::{ChartError, ForecastChart, Svg};
use std::error::Error;
use std::path::PathBuf;

const AS_OF: Date = date(2026, 6, 30);

/// A pit and another use of its house, with a name.
type Alternative = (&'static str, History, WhatIf);
type Made = Result<History, Box<dyn Error>>;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("give the folder to draw into")?);
    let dpi = arguments.next().map_or(Ok(150.0), |dpi| dpi.parse())?;
    std::fs::create_dir_all(&folder)?;
    let us = Question::new(AS_OF);
    let draw = |name: &str, history: History, question: Question, units: Units| {
        let svg = drawn(&history, &question, units, name)?;
        std::fs::write(folder.join(format!("{name}.svg")), svg.as_str())?;
        std::fs::write(folder.join(format!("{name}.png")), svg.to_png(dpi)?)?;
        Ok::<(), Box<dyn Error>>(())
    };
    for (name, history) in cases()? {
        draw(name, history, us, Units::Us)?;
    }
    draw("metric", steady()?, us, Units::Si)?;
    draw("metric, very deep", deep()?, us, Units::Si)?;
    draw("action freeboard", steady()?, us.down_to(inches(12.0))?, Units::Us)?;
    draw("short horizon", steady()?, us.within(4.0)?, Units::Us)?;
    draw("by ranks", steady()?, us.by(soaklife::Method::Rank), Units::Us)?;
    for (name, history, what_if) in other_uses()? {
        let today = Forecast::of(&history, &us)?;
        let other = what_if.beside(&today, Some(gallons_per_day(450.0)))?;
        let svg = ForecastChart::new(&today, &history).beside(&other, name).titled("What if").svg()?;
        let file = folder.join(format!("what if {name}.svg"));
        std::fs::write(&file, svg.as_str())?;
        std::fs::write(file.with_extension("png"), svg.to_png(dpi)?)?;
    }
    draw("a name of forty characters or a bit more", steady()?, us, Units::Us)
}

fn drawn(history: &History, question: &Question, units: Units, title: &str) -> Result<Svg, ChartError> {
    match Forecast::of(history, question) {
        Ok(forecast) => ForecastChart::new(&forecast, history).titled(title).in_units(units).svg(),
        Err(reason) => {
            let chart = ForecastChart::of_readings(history, question.as_of(), &reason.to_string());
            chart.titled(title).in_units(units).svg()
        }
    }
}

fn cases() -> Result<Vec<(&'static str, History)>, Box<dyn Error>> {
    Ok(vec![
        ("steady creep", steady()?),
        (
            "steady creep, long answer",
            yearly(12.0 * 14.0, 2020, &[100.0, 98.6, 97.4, 95.9, 94.8, 93.1, 91.9])?,
        ),
        ("few and scattered", yearly(144.0, 2024, &[60.0, 40.0, 62.0])?),
        ("unbounded", yearly(144.0, 2024, &[22.0, 2.0, 24.0])?),
        ("one-sided", yearly(144.0, 2022, &[100.0, 92.0, 99.0, 93.0, 96.0])?),
        ("one-sided, soon", yearly(144.0, 2023, &[40.0, 34.0, 37.0, 26.0])?),
        ("falling", yearly(144.0, 2020, &[60.0, 62.5, 66.0, 68.0, 73.5, 75.0])?),
        ("hardly moves", yearly(144.0, 2016, &[60.0, 61.0, 60.0, 60.5, 60.0, 59.5, 60.5, 60.0, 60.5, 60.0])?),
        ("at the inlet", yearly(144.0, 2021, &[40.0, 28.0, 22.0, 9.0, 0.0])?),
        ("standing above the inlet", yearly(144.0, 2021, &[40.0, 28.0, 22.0, 9.0, -14.0])?),
        ("close to the inlet", yearly(144.0, 2019, &[22.0, 19.0, 16.5, 13.0, 10.0, 7.5, 4.0, 1.5])?),
        ("dry, then rising", dry_then_rising()?),
        ("sixty readings", sixty()?),
        ("one reading", yearly(144.0, 2026, &[48.0])?),
        ("no reading", yearly(144.0, 2026, &[])?),
        ("very shallow", yearly(1.0, 2021, &[0.9, 0.85, 0.7, 0.6, 0.5])?),
        ("very deep", deep()?),
        ("a reading doubted", doubted()?),
        ("events close together", busy()?),
        (
            "half a century",
            yearly(144.0, 1972, &{
                let mut depths = Vec::new();
                depths.extend((0..54).map(|year| 120.0 - 1.4 * f64::from(year) + f64::from(year * 7 % 5)));
                depths
            })?,
        ),
    ])
}

/// Pits at half their design, and another use of the house.
fn other_uses() -> Result<Vec<Alternative>, Box<dyn Error>> {
    let half = || LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(225.0));
    let flow = |gpd| WhatIf::of(OtherUse::metered(gallons_per_day(gpd)));
    let slow = || yearly(144.0, 2020, &[100.0, 98.6, 97.4, 95.9, 94.8, 93.1, 91.9]);
    Ok(vec![
        ("a larger household", slow()?.with_load(half()?), flow(351.0)),
        (
            "a larger household for four years",
            slow()?.with_load(half()?),
            flow(351.0).starting(date(2028, 6, 1)).ending(date(2032, 6, 1)),
        ),
        ("a third less flow", steady()?.with_load(half()?), flow(150.0).starting(date(2027, 6, 1))),
        ("an empty house", dry_then_rising()?.with_load(half()?), WhatIf::of(OtherUse::vacant())),
        ("the same household", steady()?.with_load(half()?), flow(225.0)),
        (
            "a full household, at the inlet",
            yearly(144.0, 2021, &[40.0, 28.0, 22.0, 9.0, 0.0])?.with_load(half()?),
            flow(450.0),
        ),
    ])
}

/// One reading each May, given as freeboard in inches below an inlet 38 in below the rim.
fn yearly(effective_in: f64, first_year: i16, freeboards_in: &[f64]) -> Made {
    let pit = Pit::new(inches(38.0), inches(38.0 + effective_in))?;
    let readings = freeboards_in
        .iter()
        .zip(first_year..)
        .map(|(freeboard, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(38.0 + freeboard)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(History::new(pit).with_readings(readings))
}

fn steady() -> Made {
    yearly(144.0, 2018, &[38.5, 35.0, 33.5, 29.0, 27.5, 23.0, 21.0, 17.0, 15.5])
}

fn deep() -> Made {
    yearly(960.0, 2018, &[500.0, 480.0, 465.0, 440.0, 423.0, 407.0, 380.0, 366.0])
}

fn dry_then_rising() -> Made {
    let history = yearly(144.0, 2017, &[130.0, 121.0, 116.0, 108.0, 103.0, 94.0, 90.0, 82.0, 77.0])?;
    let dry = (2008..2017).map(|year| Reading::dry(date(year, 6, 2)));
    let readings: Vec<Reading> = dry.chain(history.readings().iter().copied()).collect();
    Ok(history.with_readings(readings))
}

fn sixty() -> Made {
    let history = yearly(144.0, 2016, &[])?;
    let pit = *history.pit();
    let readings = (0..60)
        .map(|count| {
            let day = date(2016 + count / 6, 1 + (count % 6) as i8 * 2, 12);
            let wander = f64::from(count * 37 % 11) - 5.0;
            Reading::at_level(&pit, day, inches(40.0 + 0.9 * f64::from(count) + wander))
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok(history.with_readings(readings))
}

fn doubted() -> Made {
    let history = yearly(144.0, 2018, &[58.5, 56.0, 20.5, 50.0, 48.5, 44.0, 43.0, 39.0])?;
    let readings: Vec<Reading> = history
        .readings()
        .iter()
        .enumerate()
        .map(|(index, reading)| if index == 2 { reading.in_condition(Condition::Suspect) } else { *reading })
        .collect();
    Ok(history.with_readings(readings))
}

fn busy() -> Made {
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
    )?;
    let history = yearly(144.0, 2016, &[60.0, 58.0, 57.5, 55.0, 53.0, 48.0, 44.0, 41.0, 36.0, 33.0, 28.0])?;
    Ok(history.with_events(events.map(|(day, kind)| Event::new(day, kind))).with_load(load))
}
