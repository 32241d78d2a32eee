//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, corners, hex, texts};
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::Document;
use soaklife::fleet::Urgency;

const AS_OF: Date = Date::constant(2026, 6, 30);

fn pit(id: &str, years: [Option<f64>; 3]) -> Candidate {
    let title = "a lane with a name that is longer than the room for it".to_owned();
    let urgency = match years {
        [Some(0.0), Some(0.0), Some(0.0)] => Urgency::at_inlet(),
        years => Urgency::to_inlet([0.3; 3], years),
    };
    Candidate { id: id.to_owned(), title, years_since_reading: None, urgency }
}

/// The lines of ranges and their ticks, from left to right in each row, in points.
fn strokes(svg: &Svg, colour: theme::Colour, width: f64) -> Vec<Vec<(f64, f64)>> {
    let document = Document::parse(svg.as_str()).unwrap();
    let (colour, width) = (hex(colour), (width * 10.0).to_string());
    document
        .descendants()
        .filter(|node| node.has_tag_name("polyline"))
        .filter(|node| {
            node.attribute("stroke") == Some(&colour) && node.attribute("stroke-width") == Some(&width)
        })
        .map(|node| corners(&node))
        .collect()
}

#[test]
fn lines_of_equal_chances_come_by_their_median_with_range_and_tick_in_place() {
    let pits = [
        pit("AF-04", [Some(12.0), Some(30.0), None]),
        pit("AF-18", [Some(1.0), Some(2.0), Some(8.0)]),
        pit("AF-06", [None, None, None]),
        pit("AF-01", [Some(3.0), Some(5.0), Some(9.0)]),
    ];
    let pits: Vec<&Candidate> = pits.iter().collect();
    let chart = LadderChart::new(AS_OF, &pits);
    let ids: Vec<&str> = chart.pits.iter().map(|pit| pit.id.as_str()).collect();
    assert_eq!(ids, ["AF-18", "AF-01", "AF-04", "AF-06"]);
    let svg = chart.pages().unwrap().remove(0);
    let layout = Layout::of(4, 3, chart.last_year());
    let (lines, medians) =
        (strokes(&svg, theme::BANDS[2], theme::BAR), strokes(&svg, theme::INK, theme::HEAVY));
    assert_eq!((lines.len(), medians.len()), (3, 3), "the last pit has an arrow alone");
    for (place, (expected, median)) in
        [([1.0, 8.0], 2.0), ([3.0, 9.0], 5.0), ([12.0, 40.0], 30.0)].iter().enumerate()
    {
        let row = layout.row(place);
        for (end, years) in lines[place].iter().zip(expected) {
            assert!((end.0 - layout.time.at(*years)).abs() <= 0.1 && (end.1 - row).abs() <= 0.1, "{end:?}");
        }
        assert!((medians[place][0].0 - layout.time.at(*median)).abs() <= 0.1);
    }
    let document = Document::parse(svg.as_str()).unwrap();
    let arrows = document.descendants().filter(|node| node.has_tag_name("polygon")).count();
    assert_eq!(arrows, 2, "the open range, and the pit beyond the forecast");
}

#[test]
fn a_range_is_told_beside_its_line() {
    for (years, told) in [
        ([Some(4.2), Some(6.0), Some(9.6)], "4 to 10 years"),
        ([Some(0.0), Some(0.0), Some(0.0)], "now"),
        ([Some(12.7), None, None], "1 in 10 within 12 years"),
        ([Some(0.2), None, None], "1 in 10 within 2 months"),
        ([None, None, None], "under 1 in 10 in 60 years"),
    ] {
        let svg = LadderChart::new(AS_OF, &[&pit("AF-01", years)]).pages().unwrap().remove(0);
        assert!(texts(&svg).iter().any(|text| text == told), "{told} in {:?}", texts(&svg));
    }
}

#[test]
fn the_likelier_to_be_there_within_two_years_comes_first_whatever_the_early_end() {
    let with =
        |id: &str, chances, years| Candidate { urgency: Urgency::to_inlet(chances, years), ..pit(id, years) };
    let unread = with("AF-11", [0.02, 0.04, 0.07], [Some(0.5), None, None]);
    let near = with("AF-18", [0.6, 0.9, 1.0], [Some(1.0), Some(2.0), Some(3.0)]);
    let chart = LadderChart::new(AS_OF, &[&unread, &near]);
    assert_eq!(chart.pits.iter().map(|pit| pit.id.as_str()).collect::<Vec<_>>(), ["AF-18", "AF-11"]);
}

#[test]
fn a_ladder_says_action_freeboard_where_a_pit_has_one() {
    let plain = pit("AF-01", [Some(3.0), Some(5.0), Some(9.0)]);
    let early = Candidate { urgency: Urgency { acts_early: true, ..plain.urgency }, ..plain.clone() };
    let told = |pits: &[&Candidate]| LadderChart::new(AS_OF, pits).pages().unwrap().remove(0);
    assert!(!told(&[&plain]).as_str().contains("action freeboard"));
    let both = told(&[&plain, &early]);
    assert!(both.title().contains("years to the inlet or action freeboard, 2 pits"));
    assert!(both.description().contains("reach the inlet or action freeboard within 5 years"));
    assert_texts_are_readable(&both);
}

#[test]
fn further_pits_go_to_further_pages_of_the_same_scale() {
    let pits: Vec<Candidate> = (0..81)
        .map(|place| pit(&format!("P-{place:02}"), [Some(0.1), Some(0.2 * f64::from(place)), Some(25.0)]))
        .collect();
    let pages =
        LadderChart::new(AS_OF, &pits.iter().collect::<Vec<_>>()).titled("alder-fork").pages().unwrap();
    assert_eq!(pages.len(), 3);
    let told: Vec<Vec<String>> = pages.iter().map(texts).collect();
    for (page, which) in told.iter().zip(["pits 1 to 40 of 81", "pits 41 to 80 of 81", "pit 81 of 81"]) {
        assert!(page.contains(&format!("{which} · as of 2026-06-30")), "{which}");
        let years = |page: &[String]| page.iter().filter(|text| text.starts_with("20")).count();
        assert_eq!(years(page), years(&told[0]));
    }
    let ids: Vec<&String> = told.iter().flatten().filter(|text| text.starts_with("P-")).collect();
    assert!(ids.len() == 81 && ids.is_sorted(), "every pit once, in order");
    // A letter page of 11 in with margins of an inch.
    let height =
        Document::parse(pages[0].as_str()).unwrap().root_element().attribute("height").unwrap().to_owned();
    assert!(height.trim_end_matches("pt").parse::<f64>().unwrap() <= 9.0 * 72.0, "{height}");
}

#[test]
fn title_and_description_say_what_is_drawn() {
    let pits = [pit("AF-18", [Some(1.0), Some(2.0), Some(8.0)]), pit("AF-04", [Some(12.0), None, None])];
    let svg = LadderChart::new(AS_OF, &pits.iter().collect::<Vec<_>>())
        .titled("alder-fork")
        .pages()
        .unwrap()
        .remove(0);
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |name| {
        let node = document.descendants().find(|node| node.has_tag_name(name)).unwrap();
        node.text().unwrap().to_owned()
    };
    assert_eq!(text("title"), "alder-fork: years to the inlet, 2 pits, as of 2026-06-30");
    for told in [
        "1 of 2 pits is more likely than not",
        "AF-18: 1 to 8 years.",
        "AF-04: 1 in 10 within 12 years.",
        "no rating",
    ] {
        assert!(text("desc").contains(told), "{told:?} in {}", text("desc"));
    }
}

#[test]
fn one_pit_alone_is_told_in_the_singular() {
    let far = pit("AF-04", [Some(12.0), Some(30.0), None]);
    let svg = LadderChart::new(AS_OF, &[&far]).pages().unwrap().remove(0);
    assert!(svg.description().starts_with("0 of 1 pit is more likely than not"), "{}", svg.description());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn texts_stay_apart_whatever_the_fleet(
        pits in proptest::collection::vec((".{0,40}", ".{0,60}", proptest::array::uniform3(0.0f64..120.0), 0usize..4), 0..50),
        title in ".{0,120}",
        (year, month) in (1990i16..2090, 1i8..13),
    ) {
        let pits: Vec<Candidate> = pits
            .into_iter()
            .map(|(id, title, mut years, known)| {
                years.sort_by(f64::total_cmp);
                let mut place = 0;
                let years_to_inlet = years.map(|years| { place += 1; (place <= known).then_some(years) });
                Candidate { title, ..pit(&id, years_to_inlet) }
            })
            .collect();
        let chart = LadderChart::new(date(year, month, 28), &pits.iter().collect::<Vec<_>>()).titled(title);
        for page in chart.pages().unwrap() {
            assert_texts_are_readable(&page);
        }
    }
}
