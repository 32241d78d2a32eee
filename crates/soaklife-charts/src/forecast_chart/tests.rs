//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, elements, hex, number, text_boxes, texts};
use crate::theme;
use crate::yearly_pits::{pit, yearly};
use jiff::civil::date;
use resvg::usvg::roxmltree::{Document, Node};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::whatif::{OtherUse, WhatIf};
use soaklife::{LoadHistory, Method, Question, Reading};

mod any_pit;

const AS_OF: Date = Date::constant(2026, 6, 30);

const CREEPING: [f64; 7] = [50.0, 46.5, 44.5, 40.0, 38.5, 34.0, 33.0];

fn creeping() -> History {
    yearly(pit(144.0), &CREEPING)
}

fn drawn(history: &History) -> Svg {
    let chart = match Forecast::of(history, &Question::new(AS_OF).by(Method::Line)) {
        Ok(forecast) => ForecastChart::new(&forecast, history).titled("AF-99, a road").svg(),
        Err(reason) => {
            ForecastChart::of_readings(history, AS_OF, &reason.to_string()).titled("AF-99, a road").svg()
        }
    };
    chart.unwrap()
}

/// The points of a line or the corners of a polygon, in tenths of a point like the boxes of texts.
fn points(node: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let pair = |pair: &str| {
        let (x, y) = pair.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    node.attribute("points").unwrap().split_whitespace().map(pair).collect()
}

/// How many elements of a name have a fill and a property.
fn filled(svg: &Svg, name: &str, fill: theme::Colour, and: impl Fn(&Node<'_, '_>) -> bool) -> usize {
    let document = Document::parse(svg.as_str()).unwrap();
    elements(&document, name).filter(|node| node.attribute("fill") == Some(&hex(fill)) && and(node)).count()
}

#[test]
fn a_bare_chart_leaves_the_words_to_the_page() {
    let slip = Reading::at_depth(creeping().pit(), date(2019, 5, 10), inches(150.0)).unwrap();
    let slip = slip.in_condition(Condition::AfterPumping);
    let marks = [Reading::dry(date(2012, 5, 10)), slip, Reading::at_inlet(date(2018, 5, 10))];
    let pumped = Event::new(date(2019, 4, 1), EventKind::PumpedOut);
    let crowded =
        creeping().with_readings(creeping().readings().iter().copied().chain(marks)).with_events([pumped]);
    for history in [creeping(), crowded, History::new(*creeping().pit())] {
        let forecast = Forecast::of(&history, &Question::new(AS_OF)).unwrap();
        let whole = ForecastChart::new(&forecast, &history).titled("AF-99, a road");
        let bare = whole.clone().bare().svg().unwrap();
        assert_texts_are_readable(&bare);
        let told = texts(&bare);
        assert!(told.contains(&"inlet invert".to_owned()), "{told:?}");
        assert!(
            !told
                .iter()
                .any(|text| text.contains("AF-99") || text.contains("as of") || text.contains("no warranty"))
        );
        assert_eq!(bare.description(), whole.svg().unwrap().description());
    }
}

#[test]
fn the_inlet_lies_where_its_freeboard_is_zero() {
    let history = creeping();
    let svg = drawn(&history);
    let document = Document::parse(svg.as_str()).unwrap();
    let forecast = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line)).unwrap();
    let chart = ForecastChart::new(&forecast, &history);
    let words = words::Words::of(&chart.subject, Units::Us, Coverage::EIGHTY);
    let frame = Frame::lay_out(&chart.subject, &words, Units::Us, Coverage::EIGHTY);
    // The heaviest line across the whole plot is the inlet; the tick "0" of the freeboard stands beside it.
    let across = elements(&document, "polyline").find(|node| {
        let points = points(node);
        number(node, "stroke-width") == theme::HEAVY * 10.0
            && points[1].0 - points[0].0 > 3000.0
            && points[0].1 == points[1].1
    });
    let inlet = points(&across.unwrap())[0].1;
    assert!((inlet - frame.y.at(144.0) * 10.0).abs() <= 0.5, "{inlet}");
    let zero = text_boxes(&document).into_iter().find(|(text, _)| text == "0").unwrap().1;
    assert!(zero[1] < inlet && inlet < zero[3], "{zero:?} beside {inlet}");
    // A reading 71 in below the rim has 33 in of freeboard: its mark lies 33 in below the line.
    let marks: Vec<f64> = elements(&document, "circle").map(|node| number(&node, "cy")).collect();
    let expected = frame.y.at(144.0 - 33.0) * 10.0;
    assert!(marks.iter().any(|y| (y - expected).abs() <= 0.5), "{marks:?} {expected}");
}

#[test]
fn bands_stay_between_inlet_and_bottom_and_nest() {
    let svg = drawn(&creeping());
    let document = Document::parse(svg.as_str()).unwrap();
    let mut spans = Vec::new();
    for fill in theme::BANDS {
        let band =
            elements(&document, "polygon").find(|node| node.attribute("fill") == Some(&hex(fill))).unwrap();
        let outline = points(&band);
        let height_at = |x: f64| {
            let at_x = outline.iter().filter(|point| point.0 == x).map(|point| point.1);
            at_x.clone().fold(f64::MIN, f64::max) - at_x.fold(f64::MAX, f64::min)
        };
        spans.push(outline.iter().map(|point| height_at(point.0)).fold(0.0, f64::max));
        let lines: Vec<Vec<(f64, f64)>> = elements(&document, "polyline").map(|node| points(&node)).collect();
        let heights: Vec<f64> = lines
            .iter()
            .filter(|line| line[0].1 == line[1].1 && line[1].0 - line[0].0 > 3000.0)
            .map(|line| line[0].1)
            .collect();
        let (inlet, bottom) =
            (heights.iter().copied().fold(f64::MAX, f64::min), heights.iter().copied().fold(0.0, f64::max));
        assert!(outline.iter().all(|point| point.1 >= inlet - 0.5 && point.1 <= bottom + 0.5));
    }
    assert!(spans[0] >= spans[1] && spans[1] >= spans[2] && spans[0] > 0.0, "{spans:?}");
}

#[test]
fn the_document_says_in_words_what_is_drawn() {
    let svg = drawn(&creeping());
    let document = Document::parse(svg.as_str()).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let text = |name: &str| elements(&document, name).next().and_then(|node| node.text()).unwrap().to_owned();
    assert_eq!(text("title"), "AF-99, a road: forecast as of 2026-06-30");
    assert!(text("desc").contains("the level rises") && text("desc").contains("Never enter"));
    let words: Vec<String> = text_boxes(&document).into_iter().map(|(text, _)| text).collect();
    for said in ["inlet invert", "pit bottom", "today", "freeboard, in", "below rim, in", "reading", "95 %"] {
        assert!(words.iter().any(|word| word == said), "{said} is missing in {words:?}");
    }
    assert_eq!(svg, drawn(&creeping()), "the same bytes every time");
    assert_texts_are_readable(&svg);
}

#[test]
fn readings_set_aside_are_hollow_and_bounds_have_their_own_marks() {
    let pit = pit(144.0);
    let at = |year: i16, depth: f64| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)).unwrap();
    let history = History::new(pit).with_readings([
        Reading::dry(date(2016, 5, 10)),
        at(2018, 120.0),
        at(2019, 60.0).in_condition(Condition::Suspect),
        at(2020, 110.0),
        at(2022, 101.0),
        at(2024, 90.0),
    ]);
    let svg = drawn(&history);
    // Four that count and one set aside, and one of each in the key; the ring of the crossing is larger.
    assert_eq!(filled(&svg, "circle", theme::INK, |_| true), 5);
    assert_eq!(filled(&svg, "circle", theme::PAPER, |node| number(node, "r") == theme::MARK * 10.0), 2);
    assert_eq!(filled(&svg, "polygon", theme::INK, |_| true), 2, "the dry reading, and its mark in the key");
    let words = texts(&svg);
    assert!(words.contains(&"dry".to_owned()) && words.contains(&"set aside".to_owned()), "{words:?}");
    assert!(!words.contains(&"at inlet".to_owned()), "only marks that are drawn stand in the key");
}

/// An old pit that stood at its inlet says nothing about the new one: its mark is hollow.
#[test]
fn bounds_that_were_set_aside_are_hollow_too() {
    let history = creeping();
    let of_old_pit = [Reading::dry(date(2001, 6, 1)), Reading::at_inlet(date(2018, 6, 1))];
    let readings: Vec<Reading> = of_old_pit.into_iter().chain(history.readings().iter().copied()).collect();
    let replaced = Event::new(date(2019, 1, 1), EventKind::Replaced);
    let svg = drawn(&history.with_readings(readings).with_events([replaced]));
    assert_eq!(filled(&svg, "polygon", theme::PAPER, |_| true), 2);
    assert!(texts(&svg).contains(&"set aside".to_owned()));
    assert!(svg.as_str().contains("Events: replaced in January 2019."), "the description tells the events");
}

#[test]
fn every_answer_is_told_on_the_inlet_line() {
    let arrows = |svg: &Svg| filled(svg, "polygon", theme::FITTED, |_| true);
    for (freeboards, answer, arrow) in [
        // Fieller by hand, t(0.90; 5) = 1.4759: 2036.28 to 2038.57.
        (CREEPING.to_vec(), "2036–2038 (80 %)", 0),
        (vec![62.0, 54.0, 61.0, 55.0, 60.0], "1 in 10 before 2048", 1),
        (vec![42.0, 36.0, 39.0, 28.0], "1 in 10 before 2029", 1),
        (vec![22.0, 2.0, 24.0], "when, if at all, cannot be told", 0),
        (vec![60.0, 62.5, 66.0, 68.0, 73.5], "under 1 in 10 ever at this pace", 0),
        (vec![99.0, 98.9, 99.1, 98.8, 99.0, 98.7], "under 1 in 10 in 60 years", 0),
        (vec![40.0, 28.0, 22.0, 9.0, 0.0], "no freeboard left", 0),
    ] {
        let svg = drawn(&yearly(pit(144.0), &freeboards));
        assert!(
            texts(&svg).iter().any(|word| word.ends_with(answer)),
            "{answer} is missing in {:?}",
            texts(&svg)
        );
        assert_eq!(arrows(&svg), arrow, "{answer}");
        assert_texts_are_readable(&svg);
    }
}

#[test]
fn an_action_freeboard_is_a_line_of_its_own_with_the_answer_to_it() {
    let history = creeping();
    for (action, answer) in [(12.0, "12 in of freeboard: 20"), (60.0, "60 in of freeboard: reached already")]
    {
        let question = Question::new(AS_OF).by(Method::Line).down_to(inches(action)).unwrap();
        let forecast = Forecast::of(&history, &question).unwrap();
        let svg = ForecastChart::new(&forecast, &history).svg().unwrap();
        let words = texts(&svg);
        assert!(words.iter().any(|word| word.starts_with(answer)), "{answer} is missing in {words:?}");
        assert!(words.contains(&format!("action freeboard, {action} in")), "{words:?}");
        assert_texts_are_readable(&svg);
    }
}

/// A range that begins near the left edge leaves the name of the action freeboard no room there: it goes where nothing strikes it
/// through, neither the end of the bar nor today's line.
#[test]
fn the_name_of_an_action_freeboard_keeps_clear_of_its_bar() {
    let history = yearly(pit(144.0), &[57.5]);
    let forecast = Forecast::of(&history, &Question::new(AS_OF).down_to(inches(6.0)).unwrap()).unwrap();
    let svg = ForecastChart::new(&forecast, &history).svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let boxes = text_boxes(&document);
    let [left, top, right, bottom] = boxes.iter().find(|(text, _)| text.starts_with("action")).unwrap().1;
    for node in elements(&document, "polyline") {
        for line in points(&node).windows(2) {
            let is_upright =
                line[0].0 == line[1].0 && line[0].1.min(line[1].1) < bottom && line[0].1.max(line[1].1) > top;
            let is_grid = node.attribute("stroke") == Some(&hex(theme::GRID));
            assert!(
                !is_upright || is_grid || line[0].0 < left || line[0].0 > right,
                "struck through at {}",
                line[0].0
            );
        }
    }
}

#[test]
fn wide_bands_bear_their_names_and_narrow_ones_have_a_key() {
    let svg = drawn(&yearly(pit(144.0), &[62.0, 54.0, 61.0, 55.0, 58.0]));
    let document = Document::parse(svg.as_str()).unwrap();
    let bands = theme::BANDS.map(|fill| {
        let of_band = |node: &Node<'_, '_>| node.attribute("fill") == Some(&hex(fill));
        assert!(!elements(&document, "rect").any(|node| of_band(&node)), "no key beside names");
        points(&elements(&document, "polygon").find(of_band).unwrap())
    });
    let boxes = text_boxes(&document);
    for (index, name) in ["95 %", "80 %", "50 %"].into_iter().enumerate() {
        let [left, top, right, bottom] = boxes.iter().find(|(text, _)| text == name).unwrap().1;
        for corner in [(left, top), (right, top), (left, bottom), (right, bottom)] {
            assert!(is_inside(&bands[index], corner), "{name} reaches out of its band");
            let next = bands.get(index + 1);
            assert!(next.is_none_or(|band| !is_inside(band, corner)), "{name} lies in a narrower band");
        }
    }
    let narrow = drawn(&creeping());
    assert_eq!(theme::BANDS.map(|fill| filled(&narrow, "rect", fill, |_| true)), [1, 1, 1]);
}

/// Whether a point lies in a polygon: a ray from it crosses the outline an odd number of times.
fn is_inside(polygon: &[(f64, f64)], (x, y): (f64, f64)) -> bool {
    let next = polygon.iter().cycle().skip(1);
    let crossed = polygon
        .iter()
        .zip(next)
        .filter(|(a, b)| (a.1 > y) != (b.1 > y) && x < a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0));
    crossed.count() % 2 == 1
}

#[test]
fn neighbouring_events_share_a_label() {
    let pumped = Event::new(date(2022, 5, 20), EventKind::PumpedOut);
    let repaired = Event::new(date(2022, 5, 28), EventKind::PipeRepaired);
    let later = Event::new(date(2025, 5, 28), EventKind::PumpedOut);
    let words = texts(&drawn(&creeping().with_events([repaired, later, pumped])));
    assert!(words.contains(&"pumped out, pipe repaired".to_owned()), "{words:?}");
    assert!(words.contains(&"pumped out".to_owned()), "{words:?}");
}

#[test]
fn what_no_stick_reaches_is_refused() {
    for (inlet, bottom) in [(0.0, 1e-9), (0.0, 1.3e6), (1e9, 1e9 + 100.0)] {
        let history = History::new(Pit::new(inches(inlet), inches(bottom)).unwrap());
        let chart = ForecastChart::of_readings(&history, AS_OF, "no reading yet");
        assert!(matches!(chart.svg(), Err(ChartError::Depth { .. })), "{inlet} {bottom}");
    }
}

/// XML 1.0, production 2 (`Char`): no U+FFFE, no U+FFFF, no controls.
#[test]
fn a_title_with_characters_that_xml_forbids_makes_a_document() {
    let history = creeping();
    let chart = ForecastChart::of_readings(&history, AS_OF, "one <reading> & \u{0}more");
    let svg = chart.titled("Mill \u{fffe}\u{ffff}\u{1}Race & \"Ford\"").svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let title = elements(&document, "title").next().and_then(|node| node.text()).unwrap().to_owned();
    assert_eq!(title, "Mill Race & \"Ford\": forecast as of 2026-06-30");
    assert!(texts(&svg).contains(&"No forecast: one <reading> & more.".to_owned()));
}

#[test]
fn crowded_events_and_long_names_stay_apart() {
    let events = (0..14).map(|month| {
        Event::new(date(2024 + month / 12, 1 + (month % 12) as i8, 3), EventKind::ALL[month as usize % 8])
    });
    let load = LoadHistory::new(
        gallons_per_day(450.0),
        (2015..2026).map(|year| (date(year, 3, 1), gallons_per_day(f64::from(year % 3) * 100.0 + 50.0))),
    )
    .unwrap();
    let history = creeping().with_events(events).with_load(load);
    let forecast =
        ForecastChart::of_readings(&history, AS_OF, "two usable readings, and a line needs at least three");
    let name = "A pit whose name is forty characters and more, behind the old creamery at the ford of the river, second gate";
    assert_texts_are_readable(&forecast.titled(name).svg().unwrap());
}

/// Today's fan is filled with a solid median, the other's hatched with a dashed one: told apart without any colour.
#[test]
fn another_use_is_a_second_fan() {
    let load = LoadHistory::constant(gallons_per_day(450.0), gallons_per_day(180.0)).unwrap();
    let history = creeping().with_load(load);
    let forecast = Forecast::of(&history, &Question::new(AS_OF)).unwrap();
    let less = WhatIf::of(OtherUse::metered(gallons_per_day(120.0))).starting(date(2029, 6, 30));
    let less = less.beside(&forecast, Some(gallons_per_day(450.0))).unwrap();
    let svg =
        ForecastChart::new(&forecast, &history).beside(&less, "120 gal/day from 2029 on").svg().unwrap();
    assert_eq!(theme::BANDS.map(|fill| filled(&svg, "polygon", fill, |_| true)), [0, 1, 0]);
    let document = Document::parse(svg.as_str()).unwrap();
    let of = |colour, width: f64| {
        let drawn = elements(&document, "polyline").filter(move |node| {
            node.attribute("stroke") == Some(&hex(colour))
                && (number(node, "stroke-width") - width * 10.0).abs() < 0.1
        });
        drawn.map(|node| points(&node)).collect::<Vec<_>>()
    };
    let hatch = of(theme::INK, theme::FINE);
    assert!(hatch.len() > 20 && hatch.iter().all(|line| line[0].0 == line[1].0), "{}", hatch.len());
    // Nothing of it lies before the day on which it begins.
    let words = words::Words::of(
        &ForecastChart::new(&forecast, &history).beside(&less, "x").subject,
        Units::Us,
        Coverage::EIGHTY,
    );
    let frame = Frame::lay_out(
        &ForecastChart::new(&forecast, &history).beside(&less, "x").subject,
        &words,
        Units::Us,
        Coverage::EIGHTY,
    );
    let begins = frame.x.at(less.span().0) * 10.0;
    let in_plot = |line: &&Vec<(f64, f64)>| line[0].1 < frame.bottom * 10.0;
    assert!(hatch.iter().filter(in_plot).all(|line| line[0].0 >= begins - 0.6), "{begins}");
    // Dashes: many short pieces of the heavy line.
    assert!(of(theme::INK, theme::HEAVY).len() > 10);
    let words = texts(&svg);
    for text in ["today's use", "what if"] {
        assert!(words.iter().any(|word| word == text), "{text} is missing in {words:?}");
    }
    for text in [
        "Today's use: the level",
        "What if 120 gal/day from 2029 on: how far the level follows the flow is not known.",
        "today: ",
        "what if: ",
    ] {
        assert!(words.iter().any(|word| word.starts_with(text)), "{text} is missing in {words:?}");
    }
    assert_texts_are_readable(&svg);
    // Where nothing changes there is one fan, and the caption says why.
    let same = WhatIf::of(OtherUse::as_today()).beside(&forecast, None).unwrap();
    let svg = ForecastChart::new(&forecast, &history).beside(&same, "as today").svg().unwrap();
    assert_eq!(theme::BANDS.map(|fill| filled(&svg, "polygon", fill, |_| true)), [1, 1, 1]);
    assert!(texts(&svg).contains(&"What if as today: that is what the house uses today.".to_owned()));
}

#[test]
fn a_png_has_the_size_asked_for() {
    let svg = drawn(&creeping());
    let png = svg.to_png(100.0).unwrap();
    let width = u32::from_be_bytes([png[16], png[17], png[18], png[19]]);
    assert_eq!(width, 650, "6.5 in at 100 dots per inch");
    assert!(matches!(svg.to_png(f64::NAN), Err(ChartError::Resolution { .. })));
    assert!(matches!(svg.to_png(1.0e9), Err(ChartError::Resolution { .. })));
}
