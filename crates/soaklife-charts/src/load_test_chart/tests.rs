//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, corners, elements, hex, number, texts};
use crate::theme;
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::{Document, Node};
use soaklife::Coverage;
use soaklife::load_test::{Household, Look};
use soaklife::pit::CrossSection;
use soaklife::quantity::{as_inches, feet, gallons, inches};

/// Hours since the start, gallons added, inches below the rim.
type Row = (f64, f64, f64);

const FILLED_NEAR_THE_INLET: [Row; 5] =
    [(0.0, 0.0, 70.0), (1.0, 200.0, 58.0), (2.0, 400.0, 48.0), (8.0, 400.0, 54.5), (26.0, 400.0, 72.0)];

fn pit() -> Pit {
    let pit = Pit::new(inches(42.0), inches(186.0)).unwrap();
    pit.with_cross_section(CrossSection::round(feet(6.0)).unwrap())
}

fn at(hours: f64) -> Look {
    let minutes = (hours * 60.0).round() as i64;
    Look::at(date(2026, 5, 5).at(8, 0, 0, 0).saturating_add(jiff::SignedDuration::from_mins(minutes)))
}

fn test(rows: &[Row]) -> LoadTest {
    let look = |&(hours, added, depth): &Row| at(hours).with_added(gallons(added)).with_depth(inches(depth));
    LoadTest::new(rows.iter().map(look).collect()).unwrap()
}

/// The chart of a test, with its layout and its course.
fn drawn(test: &LoadTest) -> (Svg, Layout, Course, Study) {
    let study = test.study(&pit(), &Household::default());
    let course = Course::of(test, &study, &pit(), Units::Us);
    let chart = LoadTestChart::new(test, &study, &pit());
    let words = words::Words::of(&chart, &course);
    let layout = Layout::of(&course, words.room(), Units::Us);
    (chart.svg().unwrap(), layout, course, study)
}

/// Centres of the marks of the stick, in points.
fn marks(svg: &Svg) -> Vec<(f64, f64)> {
    let document = Document::parse(svg.as_str()).unwrap();
    let radius = ((theme::MARK + 0.5) * 10.0).round();
    let of_stick =
        |node: &Node<'_, '_>| number(node, "r") == radius && node.attribute("fill") == Some(&hex(theme::INK));
    let marks = elements(&document, "circle").filter(of_stick);
    marks.map(|node| (number(&node, "cx") / 10.0, number(&node, "cy") / 10.0)).collect()
}

#[test]
fn looks_lie_at_their_hours_and_depths_inside_the_axes() {
    let (svg, layout, ..) = drawn(&test(&FILLED_NEAR_THE_INLET));
    let marks = marks(&svg);
    assert_eq!(marks.len(), FILLED_NEAR_THE_INLET.len());
    for ((x, y), (hours, _, depth)) in marks.into_iter().zip(FILLED_NEAR_THE_INLET) {
        assert!(
            (x - layout.x.at(hours)).abs() <= 0.1 && (y - layout.y.at(depth)).abs() <= 0.1,
            "{hours} {depth}"
        );
        assert!((layout.left..=layout.right).contains(&x) && (layout.top..=layout.bottom).contains(&y));
    }
}

#[test]
fn the_inlet_line_lies_at_its_depth_or_is_told_at_the_edge() {
    let (svg, layout, ..) = drawn(&test(&FILLED_NEAR_THE_INLET));
    let document = Document::parse(svg.as_str()).unwrap();
    let heavy = (theme::HEAVY * 10.0).to_string();
    let line = elements(&document, "polyline")
        .find(|node| {
            let ink = hex(theme::INK);
            node.attribute("stroke-width") == Some(&heavy) && node.attribute("stroke") == Some(&ink)
        })
        .unwrap();
    let ends = corners(&line);
    assert!(ends.iter().all(|end| (end.1 - layout.y.at(42.0)).abs() <= 0.1), "{ends:?}");
    assert!((ends[0].0 - layout.left).abs() <= 0.1 && (ends[1].0 - layout.right).abs() <= 0.1);
    assert!(texts(&svg).contains(&"inlet invert".to_owned()));

    let deep = [(0.0, 0.0, 172.0), (1.0, 100.0, 166.0), (20.0, 100.0, 174.0)];
    let texts = texts(&drawn(&test(&deep)).0);
    assert!(texts.contains(&"inlet invert 42 in below rim, above this scale".to_owned()), "{texts:?}");
}

#[test]
fn the_fitted_fall_begins_when_the_water_is_in_and_holds_what_it_promises() {
    let test = test(&FILLED_NEAR_THE_INLET);
    let (svg, layout, course, study) = drawn(&test);
    let recession = study.recession.unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let fitted = hex(theme::FITTED);
    let path =
        elements(&document, "polyline").find(|node| node.attribute("stroke") == Some(&fitted)).unwrap();
    let path = corners(&path);
    // The last water was in at hour 2, the last look at hour 26.
    for (place, hours) in [(0, 0.0), (path.len() - 1, 24.0)] {
        let level = recession.level_after(hours / 24.0, Coverage::EIGHTY).unwrap();
        let expected = (layout.x.at(2.0 + hours), layout.y.at(186.0 - as_inches(level.value)));
        let at = path[place];
        assert!((at.0 - expected.0).abs() <= 0.1 && (at.1 - expected.1).abs() <= 0.1, "{at:?} {expected:?}");
    }
    let band = hex(theme::BANDS[1]);
    let band = elements(&document, "polygon").find(|node| node.attribute("fill") == Some(&band)).unwrap();
    let band = corners(&band);
    assert_eq!(band.len(), 2 * course.fall.len());
    let last = recession.level_after(1.0, Coverage::EIGHTY).unwrap();
    let (shallow, deep) = (band[course.fall.len() - 1].1, band[course.fall.len()].1);
    assert!((shallow - layout.y.at(186.0 - as_inches(last.upper))).abs() <= 0.1);
    assert!((deep - layout.y.at(186.0 - as_inches(last.lower))).abs() <= 0.1);
}

#[test]
fn a_total_that_begins_again_goes_on() {
    let rows =
        [(0.0, 0.0, 70.0), (1.0, 300.0, 54.0), (24.0, 300.0, 66.5), (25.0, 0.0, 66.5), (26.0, 250.0, 52.0)];
    let (_, layout, course, _) = drawn(&test(&rows));
    let added: Vec<f64> = course.seen.iter().filter_map(|seen| seen.added).map(f64::round).collect();
    assert_eq!(added, [0.0, 300.0, 300.0, 300.0, 550.0]);
    assert_eq!(layout.added.unwrap().y.ends(), (0.0, 600.0));
}

#[test]
fn a_fall_to_the_bottom_ends_there() {
    let rows = [
        (0.0, 0.0, 186.0),
        (1.0, 300.0, 170.0),
        (3.0, 300.0, 177.0),
        (8.0, 300.0, 183.0),
        (25.0, 300.0, 186.0),
    ];
    let (svg, _, course, _) = drawn(&test(&rows));
    let stick_in = 0.25;
    assert!(course.fall.len() > 10);
    assert!(course.fall.iter().all(|at| at.depth_in <= 186.0 - 2.0 * stick_in), "{:?}", course.fall.last());
    assert!(!texts(&svg).contains(&"level at the start".to_owned()), "the bottom bears its own name");
}

#[test]
fn what_was_not_fitted_is_said_and_the_description_tells_every_look() {
    let test = test(&[(0.0, 0.0, 90.0), (0.5, 100.0, 84.0)]);
    let study = test.study(&pit(), &Household::default());
    let svg = LoadTestChart::new(&test, &study, &pit()).titled("AF-99, a road").svg().unwrap();
    assert!(texts(&svg).iter().any(|text| text.starts_with("No fall is fitted: ")));
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |name| elements(&document, name).next().unwrap().text().unwrap().to_owned();
    assert_eq!(text("title"), "AF-99, a road: load test of 2026-05-05");
    for told in
        ["0.0 h: 0 gal added, 90 in below rim.", "0.5 h: 100 gal added, 84 in below rim.", "Never enter"]
    {
        assert!(text("desc").contains(told), "{told:?} in {}", text("desc"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn texts_stay_apart_in_every_test(
        inlet in 0.0f64..100.0,
        effective in 1.0f64..900.0,
        rows in proptest::collection::vec(
            (0.01f64..30.0, proptest::option::of(0.0f64..900.0), proptest::option::of(-0.2f64..1.0), proptest::option::of(-2.0f64..30.0)),
            1..9,
        ),
        is_si in any::<bool>(),
        title in ".{0,120}",
    ) {
        let pit = Pit::new(inches(inlet), inches(inlet + effective)).unwrap();
        let (mut hours, mut total) = (0.0, 0.0);
        let looks = rows.iter().map(|(pause, added, share, tank)| {
            hours += pause;
            total += added.unwrap_or(0.0);
            Look {
                added: added.map(|_| gallons(total)),
                depth: share.map(|share| inches((inlet + share * effective).max(0.0))),
                tank_rise: tank.map(inches),
                ..at(hours)
            }
        });
        let test = LoadTest::new(looks.collect()).unwrap();
        let study = test.study(&pit, &Household::default());
        let units = if is_si { Units::Si } else { Units::Us };
        let svg = LoadTestChart::new(&test, &study, &pit).titled(&title).in_units(units).svg().unwrap();
        assert_texts_are_readable(&svg);
    }
}
