//! For tests: every figure of Alder Fork and of cases that are hard to draw. Their words stay apart, inside the sheet and large
//! enough, and with `FIGURES=FOLDER` each is written there as PNG, to be looked at after a change of the drawing.

mod fleets;
mod load_tests;
mod pits;

use crate::read_back::assert_texts_are_readable;
use crate::svg::Svg;
use crate::{
    CoverageChart, FleetChart, ForecastChart, LadderChart, LineCheckChart, LoadTestChart, PitPanel,
    PitSection, SmallMultiples,
};
use jiff::civil::Date;
use resvg::usvg::roxmltree::Document;
use soaklife::load_test::{Household, LoadTest};
use soaklife::quantity::{Units, gallons_per_day, inches};
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{Forecast, History, Method, Question};
use soaklife_records::{Logbook, PitRecord};
use std::path::Path;

const AS_OF: Date = Date::constant(2026, 6, 30);
const UNITS: [(Units, &str); 2] = [(Units::Us, "us"), (Units::Si, "metric")];
const FORTY_CHARACTERS: &str = "AF-99, the old creamery at Mill Race Lane";

fn alder_fork() -> Logbook {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/logbooks/alder-fork");
    Logbook::read(&folder, AS_OF, AS_OF).unwrap()
}

/// Looks at a figure, and keeps it for people to look at.
fn look_at(name: &str, svg: &Svg) {
    let document = Document::parse(svg.as_str()).unwrap();
    assert!(!svg.as_str().contains("NaN") && !svg.as_str().contains("inf,"), "{name}");
    for tag in ["title", "desc"] {
        let words = document.descendants().find(|node| node.has_tag_name(tag)).and_then(|node| node.text());
        assert!(words.is_some_and(|words| words.len() > 20), "{name} has no {tag}");
    }
    println!("{name}");
    assert_texts_are_readable(svg);
    if let Ok(folder) = std::env::var("FIGURES") {
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(Path::new(&folder).join(format!("{name}.png")), svg.to_png(150.0).unwrap()).unwrap();
    }
}

/// The figures of one pit by one question: forecast, what if, section, and the check of its line.
fn look_at_pit(name: &str, title: &str, history: &History, question: &Question) {
    for (units, system) in UNITS {
        let draw = |figure: &str, svg: Svg| look_at(&format!("{figure} {system} {name}"), &svg);
        match Forecast::of(history, question) {
            Ok(forecast) => {
                let chart = ForecastChart::new(&forecast, history).titled(title).in_units(units);
                draw("forecast", chart.svg().unwrap());
                let section = PitSection::new(&forecast, history).titled(title).in_units(units);
                draw("section", section.svg().unwrap());
                for (what, other) in other_uses() {
                    if let Ok(other) = other.beside(&forecast, Some(gallons_per_day(450.0))) {
                        let svg = chart.clone().beside(&other, what).svg().unwrap();
                        draw(&format!("what if {what}"), svg);
                    }
                }
            }
            Err(reason) => {
                let chart = ForecastChart::of_readings(history, AS_OF, &reason.to_string());
                draw("forecast", chart.titled(title).in_units(units).svg().unwrap());
                let section = PitSection::of_readings(history, AS_OF).titled(title).in_units(units);
                draw("section", section.svg().unwrap());
            }
        }
        // A pit without a line has nothing to check.
        let line = Forecast::of(history, &question.by(Method::Line)).ok();
        if let Some(check) = line.and_then(|line| LineCheckChart::new(&line)) {
            draw("line check", check.titled(title).in_units(units).svg().unwrap());
        }
    }
}

fn other_uses() -> [(&'static str, WhatIf); 3] {
    let full = OtherUse::metered(gallons_per_day(450.0));
    [
        ("full house", WhatIf::of(full)),
        (
            "full for four years",
            WhatIf::of(full).starting(Date::constant(2028, 6, 1)).ending(Date::constant(2032, 6, 1)),
        ),
        ("empty house", WhatIf::of(OtherUse::vacant())),
    ]
}

fn look_at_load_test(name: &str, history: &History, test: &LoadTest) {
    let test = test.clone().in_weather_of(history);
    let study = test.study(history.pit(), &Household::during(&test, history, None));
    for (units, system) in UNITS {
        let chart = LoadTestChart::new(&test, &study, history.pit()).titled(FORTY_CHARACTERS).in_units(units);
        look_at(&format!("load test {system} {name}"), &chart.svg().unwrap());
    }
}

#[test]
fn every_pit_of_the_valley_can_be_looked_at() {
    for pit in alder_fork().pits() {
        let title = format!("{}, {}", pit.id(), pit.label().unwrap_or_default());
        look_at_pit(pit.id(), &title, pit.history(), &Question::new(AS_OF));
        for test in pit.load_tests() {
            look_at_load_test(&format!("{} {}", pit.id(), test.date()), pit.history(), test);
        }
    }
}

#[test]
fn every_hard_pit_can_be_looked_at() {
    for (name, history) in pits::cases() {
        look_at_pit(name, FORTY_CHARACTERS, &history, &Question::new(AS_OF));
    }
    let steady = pits::steady();
    let usual = Question::new(AS_OF);
    for (name, question) in [
        ("action freeboard", usual.down_to(inches(12.0)).unwrap()),
        ("short horizon", usual.within(4.0).unwrap()),
        ("by ranks", usual.by(Method::Rank)),
    ] {
        look_at_pit(name, FORTY_CHARACTERS, &steady, &question);
    }
}

#[test]
fn every_hard_load_test_can_be_looked_at() {
    for (name, history, test) in load_tests::cases() {
        look_at_load_test(name, &history, &test);
    }
}

/// The panels of the valley, of one pit more than a page holds, and of everything that is hard to draw.
fn panels(valley: &Logbook) -> [(&'static str, Vec<PitPanel>); 4] {
    let panel = |id: &str, title: &str, history: &History| {
        let forecast = Forecast::of(history, &Question::new(AS_OF)).ok()?;
        Some(PitPanel::new(fleets::candidate_of(id, title, &forecast), &forecast))
    };
    let of_record = |pit: &PitRecord| panel(pit.id(), pit.label().unwrap_or_default(), pit.history());
    let all: Vec<PitPanel> = valley.pits().filter_map(of_record).collect();
    let two_pages = all.iter().chain(all.iter().take(1)).cloned().collect();
    let hard = pits::cases().into_iter().filter_map(|(id, history)| panel(id, FORTY_CHARACTERS, &history));
    [("alder-fork", all), ("two pages", two_pages), ("hard", hard.collect()), ("no pit", Vec::new())]
}

#[test]
fn every_hard_fleet_can_be_looked_at() {
    let valley = alder_fork();
    let soonest: Vec<_> = valley.pits().filter_map(|pit: &PitRecord| fleets::candidate(pit)).collect();
    let long = "a logbook with a name that is longer than any page is wide, and then some more of it";
    for (name, pits) in fleets::ladders().into_iter().chain([("alder-fork", soonest)]) {
        let pits: Vec<_> = pits.iter().collect();
        let pages = LadderChart::new(AS_OF, &pits).titled(long).pages().unwrap();
        for (page, svg) in pages.iter().enumerate() {
            look_at(&format!("ladder {name} {}", page + 1), svg);
        }
        for (size, years) in fleets::budgets() {
            let chart =
                FleetChart::new(AS_OF, size, &years).titled(long).in_currency("USD").with_urgent(&pits);
            look_at(&format!("fleet {name} {size}"), &chart.svg().unwrap());
        }
    }
    for (units, system) in UNITS {
        for (name, panels) in panels(&valley) {
            let pages = SmallMultiples::new(AS_OF, panels).titled(long).in_units(units).pages().unwrap();
            for (page, svg) in pages.iter().enumerate() {
                look_at(&format!("small multiples {system} {name} {}", page + 1), svg);
            }
        }
    }
    for (name, backtest) in fleets::scores() {
        look_at(&format!("coverage {name}"), &CoverageChart::new(&backtest).titled(long).svg().unwrap());
    }
}
