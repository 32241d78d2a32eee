//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, corners, elements, hex, number, texts};
use crate::theme;
use crate::yearly_pits::{pit, yearly};
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::{Document, Node};
use soaklife::pit::CrossSection;
use soaklife::quantity::{feet, inches};
use soaklife::{Method, Question};

const AS_OF: Date = Date::constant(2026, 6, 30);

/// One reading each May up to 2026, given as depths below the rim, in a pit of 6 ft with its inlet at 38 in.
fn history(depths_in: &[f64]) -> History {
    let round = CrossSection::round(feet(6.0)).unwrap();
    let freeboards: Vec<f64> = depths_in.iter().map(|depth| depth - 38.0).collect();
    yearly(pit(144.0).with_cross_section(round), &freeboards)
}

fn section(history: &History) -> PitSection {
    match Forecast::of(history, &Question::new(AS_OF)) {
        Ok(forecast) => PitSection::new(&forecast, history),
        Err(_) => PitSection::of_readings(history, AS_OF),
    }
}

fn layout(section: &PitSection) -> Layout {
    let words = words::Words::of(&section.subject, &section.title, section.units, section.is_bare);
    let labels = labels::labels(&section.subject, section.units);
    Layout::of(&section.subject, &words, &labels, section.units)
}

/// Left, top, right, bottom of the liquid, in points.
fn liquid(svg: &Svg) -> Option<[f64; 4]> {
    let document = Document::parse(svg.as_str()).unwrap();
    let fill = hex(theme::BANDS[2]);
    let node = elements(&document, "rect").find(|node| node.attribute("fill") == Some(&fill))?;
    let [x, y, width, height] = ["x", "y", "width", "height"].map(|side| number(&node, side) / 10.0);
    Some([x, y, x + width, y + height])
}

#[test]
fn the_section_is_to_scale() {
    let svg = section(&history(&[120.0, 118.0, 112.0, 110.0])).svg().unwrap();
    let [left, top, right, bottom] = liquid(&svg).unwrap();
    // 72 in across and 182 - 110 = 72 in of liquid: a square.
    assert!(((right - left) - (bottom - top)).abs() <= 0.3, "{left} {top} {right} {bottom}");
    let document = Document::parse(svg.as_str()).unwrap();
    let heavy = (theme::HEAVY * 10.0).to_string();
    let horizontal = |node: &Node<'_, '_>| {
        let points = corners(node);
        points.len() == 2 && points[0].1 == points[1].1 && (points[1].0 - right).abs() <= 0.1
    };
    let inlet = elements(&document, "polyline")
        .find(|node| node.attribute("stroke-width") == Some(&heavy) && horizontal(node))
        .unwrap();
    // The inlet lies as far above the bottom as 144 in are.
    let expected = bottom - 144.0 * (right - left) / 72.0;
    assert!((corners(&inlet)[0].1 - expected).abs() <= 0.3, "{:?} {expected}", corners(&inlet));
}

#[test]
fn the_arrow_spans_the_freeboard_and_the_bracket_the_range_of_today() {
    let history = history(&[120.0, 117.0, 112.0, 110.0, 106.0, 104.0]);
    let forecast = Forecast::of(&history, &Question::new(AS_OF)).unwrap();
    let section = PitSection::new(&forecast, &history);
    let (layout, svg) = (layout(&section), section.svg().unwrap());
    let document = Document::parse(svg.as_str()).unwrap();
    let tall_at = |x: f64, colour: theme::Colour| {
        let colour = hex(colour);
        elements(&document, "polyline")
            .filter(|node| node.attribute("stroke") == Some(&colour))
            .map(|node| corners(&node))
            .find_map(|points| {
                let on: Vec<f64> =
                    points.iter().filter(|at| (at.0 - x).abs() < 0.06).map(|at| at.1).collect();
                (on.len() == 2 && on[1] > on[0]).then(|| [on[0], on[1]])
            })
            .unwrap()
    };
    let near = |drawn: [f64; 2], expected: [f64; 2]| {
        assert!(drawn.iter().zip(expected).all(|(a, b)| (a - b).abs() <= 0.1), "{drawn:?} {expected:?}");
    };
    near(tall_at(layout.arrow, theme::INK), [38.0, 104.0].map(|depth| layout.y.at(depth)));
    let band = forecast.level_band(0.0, Coverage::EIGHTY).unwrap();
    let depths = [band.upper, band.lower].map(|level| 182.0 - soaklife::quantity::as_inches(level));
    near(tall_at(layout.bracket, theme::FITTED), depths.map(|depth| layout.y.at(depth)));
    let texts = texts(&svg);
    for told in ["freeboard", "66 in", "last 2026-05-10", "104 in", "first 2021-05-10", "120 in", "38 in"] {
        assert!(texts.iter().any(|text| text == told), "{told:?} in {texts:?}");
    }
}

#[test]
fn a_level_at_the_inlet_leaves_no_arrow_and_says_so() {
    for last in [38.0, 20.0] {
        let section = section(&history(&[78.0, 66.0, 47.0, last]));
        let (layout, svg) = (layout(&section), section.svg().unwrap());
        let document = Document::parse(svg.as_str()).unwrap();
        let on_arrow =
            |node: Node<'_, '_>| corners(&node).iter().all(|at| (at.0 - layout.arrow).abs() < 0.06);
        assert!(!elements(&document, "polyline").any(on_arrow));
        assert!(svg.as_str().contains("No freeboard left on 2026-05-10."));
        // The liquid is never drawn above the cover.
        assert!(liquid(&svg).unwrap()[1] >= layout.y.at(layout.cover_in) - 0.1);
    }
}

#[test]
fn readings_of_another_datum_are_not_drawn() {
    use soaklife::history::{Event, EventKind};
    let history = history(&[60.0, 58.0, 110.0, 108.0, 106.0])
        .with_events([Event::new(date(2024, 1, 10), EventKind::DatumChanged)]);
    let texts = texts(&section(&history).svg().unwrap());
    assert!(texts.contains(&"first 2024-05-10".to_owned()), "{texts:?}");
}

#[test]
fn what_is_not_known_is_said() {
    let bare = History::new(pit(144.0));
    let svg = PitSection::of_readings(&bare, AS_OF).svg().unwrap();
    assert!(liquid(&svg).is_none());
    let told = texts(&svg);
    assert!(told.contains(&"diameter not known, drawn 6 ft across".to_owned()), "{told:?}");
    assert!(told.contains(&"No reading that counts, so no level is drawn.".to_owned()), "{told:?}");
    let one = history(&[90.0]);
    let told = texts(&section(&one).svg().unwrap());
    assert!(!told.iter().any(|text| text.starts_with("first")), "{told:?}");
    let dry = bare.with_readings([Reading::dry(date(2024, 5, 10)), Reading::dry(date(2025, 5, 10))]);
    let svg = section(&dry).in_units(Units::Si).svg().unwrap();
    assert!(liquid(&svg).is_none() && svg.as_str().contains("Dry on 2025-05-10, with 366 cm of freeboard."));
}

#[test]
fn title_and_description_say_what_is_drawn() {
    let svg = section(&history(&[120.0, 112.0, 104.0])).titled("AF-99, a road").svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |name| elements(&document, name).next().unwrap().text().unwrap().to_owned();
    assert_eq!(text("title"), "AF-99, a road: section as of 2026-06-30");
    for told in ["66 in of freeboard on 2026-05-10.", "inlet invert 38 in", "6 ft across", "Never enter"] {
        assert!(text("desc").contains(told), "{told:?} in {}", text("desc"));
    }
}

#[test]
fn a_bare_section_leaves_the_words_to_the_page_and_stays_to_scale() {
    let whole = section(&history(&[120.0, 118.0, 112.0, 110.0])).titled("AF-99, a road");
    let svg = whole.clone().bare().svg().unwrap();
    let [left, top, right, bottom] = liquid(&svg).unwrap();
    assert!(((right - left) - (bottom - top)).abs() <= 0.3, "{left} {top} {right} {bottom}");
    let told = texts(&svg);
    assert!(told.contains(&"72 in".to_owned()) && told.contains(&"6 ft across".to_owned()), "{told:?}");
    assert!(
        !told
            .iter()
            .any(|text| text.contains("AF-99") || text.contains("as of") || text.contains("below rim, in"))
    );
    assert_eq!(svg.description(), whole.svg().unwrap().description());
}

#[test]
fn a_depth_that_no_figure_can_show_is_refused() {
    let history = History::new(Pit::new(inches(10.0), inches(2.0e6)).unwrap());
    let drawn = PitSection::of_readings(&history, AS_OF).svg();
    assert!(matches!(drawn, Err(ChartError::Depth { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn texts_stay_apart_in_every_pit(
        inlet in 0.0f64..150.0,
        effective in 0.5f64..1500.0,
        across in proptest::option::of(1.0f64..30.0),
        shares in proptest::collection::vec(-0.2f64..1.0, 0..6),
        is_si in any::<bool>(),
        title in ".{0,90}",
    ) {
        let pit = Pit::new(inches(inlet), inches(inlet + effective)).unwrap();
        let pit = across.map_or(pit, |across| pit.with_cross_section(CrossSection::round(feet(across)).unwrap()));
        let depth = |share: f64| inches((inlet + share * effective).max(0.0));
        let readings = shares.iter().zip(2019..).filter_map(|(share, year)| {
            Reading::at_depth(&pit, date(year, 9, 30), depth(*share)).ok()
        });
        let history = History::new(pit).with_readings(readings);
        let units = if is_si { Units::Si } else { Units::Us };
        let by_line = Forecast::of(&history, &Question::new(AS_OF).by(Method::Line));
        for section in [Some(section(&history)), by_line.ok().map(|forecast| PitSection::new(&forecast, &history))].into_iter().flatten() {
            let section = section.titled(&title).in_units(units);
            assert_texts_are_readable(&section.svg().unwrap());
            assert_texts_are_readable(&section.bare().svg().unwrap());
        }
    }
}
