//! What is drawn, read back from the SVG.

use super::*;
use crate::font::{self, Weight};
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::{Document, Node};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{gallons_per_day, inches};
use soaklife::reading::Condition;
use soaklife::{LoadHistory, Question, Reading};

const AS_OF: Date = Date::constant(2026, 6, 30);

fn creeping() -> History {
    let pit = Pit::new(inches(38.0), inches(182.0)).unwrap();
    let depths = [88.0, 84.5, 82.5, 78.0, 76.5, 72.0, 71.0];
    let readings = depths
        .into_iter()
        .zip(2020..)
        .map(|(depth, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)).unwrap());
    History::new(pit).with_readings(readings)
}

fn drawn(history: &History) -> Svg {
    let chart = match Forecast::of(history, &Question::new(AS_OF)) {
        Ok(forecast) => ForecastChart::new(&forecast, history).titled("AF-99, a road").svg(),
        Err(reason) => {
            ForecastChart::of_readings(history, AS_OF, &reason.to_string()).titled("AF-99, a road").svg()
        }
    };
    chart.unwrap()
}

fn number(node: &Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).and_then(|value| value.parse().ok()).unwrap()
}

fn points(node: &Node<'_, '_>) -> Vec<(f64, f64)> {
    let pair = |pair: &str| {
        let (x, y) = pair.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    node.attribute("points").unwrap().split_whitespace().map(pair).collect()
}

fn elements<'a>(document: &'a Document<'a>, name: &'a str) -> impl Iterator<Item = Node<'a, 'a>> {
    document.descendants().filter(move |node| node.has_tag_name(name))
}

fn hex((red, green, blue): (u8, u8, u8)) -> String {
    format!("#{red:02X}{green:02X}{blue:02X}")
}

/// Every text with its box: left, top, right, bottom, in tenths of a point.
fn text_boxes(document: &Document<'_>) -> Vec<(String, [f64; 4])> {
    let boxed = |node: Node<'_, '_>| {
        let text = node.text().unwrap_or_default().trim().to_owned();
        let size = number(&node, "font-size");
        let weight =
            if node.attribute("font-weight") == Some("bold") { Weight::Bold } else { Weight::Regular };
        let width = font::width(&text, size, weight);
        let left = match node.attribute("text-anchor") {
            Some("middle") => number(&node, "x") - width / 2.0,
            Some("end") => number(&node, "x") - width,
            _ => number(&node, "x"),
        };
        let baseline = number(&node, "y") - 0.26 * size;
        (text, [left, baseline - 0.72 * size, left + width, baseline + 0.2 * size])
    };
    elements(document, "text").map(boxed).collect()
}

fn assert_texts_are_readable(svg: &Svg) {
    let document = Document::parse(svg.as_str()).unwrap();
    let view: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|n| n.parse().unwrap())
        .collect();
    let boxes = text_boxes(&document);
    for (text, [left, top, right, bottom]) in &boxes {
        let inside = *left >= 0.0 && *top >= 0.0 && *right <= view[2] && *bottom <= view[3];
        assert!(inside, "{text:?} reaches out of the page: {left} {top} {right} {bottom} in {view:?}");
    }
    for (index, (a, [left, top, right, bottom])) in boxes.iter().enumerate() {
        for (b, [other_left, other_top, other_right, other_bottom]) in &boxes[index + 1..] {
            let apart =
                right <= other_left || other_right <= left || bottom <= other_top || other_bottom <= top;
            assert!(apart, "{a:?} and {b:?} overlap");
        }
    }
}

#[test]
fn the_inlet_lies_where_its_freeboard_is_zero() {
    let history = creeping();
    let svg = drawn(&history);
    let document = Document::parse(svg.as_str()).unwrap();
    let forecast = Forecast::of(&history, &Question::new(AS_OF)).unwrap();
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
        let points = points(&band);
        let height_at = |x: f64| {
            let at_x = points.iter().filter(|point| point.0 == x).map(|point| point.1);
            at_x.clone().fold(f64::MIN, f64::max) - at_x.fold(f64::MAX, f64::min)
        };
        spans.push(points.iter().map(|point| height_at(point.0)).fold(0.0, f64::max));
        let lines: Vec<Vec<(f64, f64)>> =
            elements(&document, "polyline").map(|node| super::tests::points(&node)).collect();
        let heights: Vec<f64> = lines
            .iter()
            .filter(|line| line[0].1 == line[1].1 && line[1].0 - line[0].0 > 3000.0)
            .map(|line| line[0].1)
            .collect();
        let (inlet, bottom) =
            (heights.iter().copied().fold(f64::MAX, f64::min), heights.iter().copied().fold(0.0, f64::max));
        assert!(points.iter().all(|point| point.1 >= inlet - 0.5 && point.1 <= bottom + 0.5));
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
    let pit = Pit::new(inches(38.0), inches(182.0)).unwrap();
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
    let document = Document::parse(svg.as_str()).unwrap();
    let filled = |fill: (u8, u8, u8)| {
        let ring = |node: &Node<'_, '_>| number(node, "r") == (theme::MARK * 10.0).round();
        elements(&document, "circle")
            .filter(ring)
            .filter(|node| node.attribute("fill") == Some(&hex(fill)))
            .count()
    };
    // Four that count and one set aside, and one of each in the key.
    assert_eq!((filled(theme::INK), filled(theme::PAPER)), (5, 2));
    let words: Vec<String> = text_boxes(&document).into_iter().map(|(text, _)| text).collect();
    assert!(words.contains(&"dry".to_owned()) && words.contains(&"set aside".to_owned()), "{words:?}");
    assert!(!words.contains(&"at inlet".to_owned()), "only marks that are drawn stand in the key");
}

#[test]
fn an_open_crossing_is_told_as_open() {
    let pit = Pit::new(inches(38.0), inches(182.0)).unwrap();
    for (depths, open) in [
        (vec![100.0, 92.0, 99.0, 93.0, 98.0], "perhaps never (80 %)"),
        (vec![80.0, 74.0, 77.0, 66.0], "not before 2029 (80 %)"),
        (vec![60.0, 40.0, 62.0], "when, if at all, cannot be told"),
    ] {
        let count = depths.len() as i16;
        let readings = depths
            .into_iter()
            .zip(2027 - count..)
            .map(|(depth, year)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)).unwrap());
        let svg = drawn(&History::new(pit).with_readings(readings));
        assert!(svg.as_str().contains(open), "{open} is missing in {}", svg.as_str());
        assert_texts_are_readable(&svg);
    }
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

#[test]
fn a_png_has_the_size_asked_for() {
    let svg = drawn(&creeping());
    let png = svg.to_png(100.0).unwrap();
    let width = u32::from_be_bytes([png[16], png[17], png[18], png[19]]);
    assert_eq!(width, 650, "6.5 in at 100 dots per inch");
    assert!(matches!(svg.to_png(f64::NAN), Err(ChartError::Resolution { .. })));
    assert!(matches!(svg.to_png(1.0e9), Err(ChartError::Resolution { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// From an inch to a thousand feet, from one reading to sixty, in either unit: it draws, and its words are readable.
    #[test]
    fn any_pit_can_be_drawn(
        inlet in 0.0..600.0f64,
        depth in 1.0..12_000.0f64,
        shares in prop::collection::vec((0.0..=1.0f64, 1960i16..2026, 1i8..=12), 0..60),
        metric: bool,
        title in "\\PC{0,60}",
    ) {
        let pit = Pit::new(inches(inlet), inches(inlet + depth)).unwrap();
        let readings = shares.iter().map(|&(share, year, month)| {
            Reading::at_level(&pit, date(year, month, 10), inches(share * depth)).unwrap()
        });
        let history = History::new(pit).with_readings(readings);
        let units = if metric { Units::Si } else { Units::Us };
        let svg = match Forecast::of(&history, &Question::new(AS_OF)) {
            Ok(forecast) => ForecastChart::new(&forecast, &history).titled(title).in_units(units).svg(),
            Err(reason) => ForecastChart::of_readings(&history, AS_OF, &reason.to_string()).titled(title).in_units(units).svg(),
        }
        .unwrap();
        prop_assert!(!svg.as_str().contains("NaN") && !svg.as_str().contains("inf,"));
        assert_texts_are_readable(&svg);
    }
}
