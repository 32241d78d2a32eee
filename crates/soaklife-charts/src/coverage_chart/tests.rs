//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, number, texts};
use jiff::civil::date;
use resvg::usvg::roxmltree::Document;
use soaklife::backtest::{Plan, Tally};

/// A backtest in which each method told ranges, of which so many held.
fn scored(methods: &[(Method, [usize; 3], usize)]) -> Backtest {
    let mut backtest = Plan::new(date(2026, 6, 30)).by(methods.iter().map(|method| method.0)).replay([]);
    for (score, (_, held, of)) in backtest.methods.iter_mut().zip(methods) {
        for range in score.levels.iter_mut().flat_map(|level| level.ranges.iter_mut().zip(held)) {
            range.0.tally = Tally { held: *range.1, of: *of };
        }
    }
    backtest
}

#[test]
fn a_mark_lies_on_the_diagonal_if_its_ranges_held_as_claimed() {
    let svg = CoverageChart::new(&scored(&[(Method::Line, [50, 80, 90], 100)])).svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let discs: Vec<(f64, f64)> = document
        .descendants()
        .filter(|node| node.has_tag_name("circle") && node.attribute("fill") != Some("none"))
        .map(|node| (number(&node, "cx"), number(&node, "cy")))
        .collect();
    assert_eq!(discs.len(), 4 * 3 + 1, "three claims in four panels, and the key");
    let layout = Layout::of(4, words::caption(&scored(&[(Method::Line, [50, 80, 90], 100)])).len());
    for place in 0..4 {
        let panel = layout.panel(place);
        for claim in [0.5, 0.8, 0.9] {
            let at = (panel.x.at(claim) * 10.0, panel.y.at(claim) * 10.0);
            let near = discs.iter().any(|disc| (disc.0 - at.0).abs() <= 1.0 && (disc.1 - at.1).abs() <= 1.0);
            assert!(near, "no mark at {claim} in panel {place}");
        }
    }
}

#[test]
fn the_words_say_what_held_and_stay_apart() {
    let one = scored(&[(Method::Line, [20, 31, 38], 42)]);
    let svg = CoverageChart::new(&one)
        .titled("a logbook with a name that is longer than any page is wide, and then some more of it")
        .svg()
        .unwrap();
    assert!(svg.as_str().contains("80 % ranges held 31 of 42 later readings"));
    assert_texts_are_readable(&svg);
    let two = scored(&[(Method::Line, [20, 31, 38], 42), (Method::Rank, [2_000, 1_000, 5_000], 123_456)]);
    let svg = CoverageChart::new(&two).titled("alder-fork").svg().unwrap();
    assert!(svg.as_str().contains("line 42, rank 123456"));
    assert_texts_are_readable(&svg);
    assert_eq!(svg, CoverageChart::new(&two).titled("alder-fork").svg().unwrap());
}

#[test]
fn title_and_description_say_what_is_drawn() {
    let svg =
        CoverageChart::new(&scored(&[(Method::Line, [50, 80, 90], 100)])).titled("alder-fork").svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |name| {
        let node = document.descendants().find(|node| node.has_tag_name(name)).unwrap();
        node.text().unwrap().to_owned()
    };
    assert!(
        text("title").starts_with("alder-fork") && text("title").ends_with("as of 2026-06-30"),
        "{}",
        text("title")
    );
    assert!(text("desc").contains("80 of 100"), "{}", text("desc"));
}

/// A count that is cut off is a count that is wrong.
#[test]
fn the_counts_of_three_methods_are_whole() {
    let three = |of: [usize; 3]| {
        let methods = Method::ALL.into_iter().zip(of).map(|(method, of)| (method, [0; 3], of));
        let svg = CoverageChart::new(&scored(&methods.collect::<Vec<_>>())).svg().unwrap();
        texts(&svg)
    };
    for (of, told) in [
        ([40, 40, 40], "40 readings"),
        ([208, 198, 197], "absorption 208, line 198, rank 197"),
        ([100_000, 99_000, 98_000], "readings: 100000, 99000, 98000"),
    ] {
        let texts = three(of);
        assert_eq!(texts.iter().filter(|text| *text == told).count(), 4, "{told:?} in {texts:?}");
    }
}

#[test]
fn what_cannot_be_judged_is_said() {
    let nothing = Plan::new(date(2026, 6, 30)).by([]).replay([]);
    for backtest in [nothing, scored(&[(Method::Rank, [0; 3], 0)])] {
        let svg = CoverageChart::new(&backtest).svg().unwrap();
        assert!(svg.as_str().contains("No range can be judged by a later reading yet."));
        assert_texts_are_readable(&svg);
    }
}
