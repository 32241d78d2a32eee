//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, number};
use crate::theme;
use jiff::civil::date;
use resvg::usvg::roxmltree::Document;
use soaklife::fleet::{Budget, CommonFactor, CostModel, Urgency, YearsAhead};

const AS_OF: Date = date(2026, 6, 30);

/// So many pits, each failing with a chance that grows by `pace` a year.
fn years(pits: u32, pace: f64, ahead: u8) -> Vec<YearBudget> {
    let years = YearsAhead::new(AS_OF, ahead).unwrap();
    let mut budget =
        Budget::new(years.clone(), CommonFactor::default(), CostModel::new(0.03, 0.02, 0.3).unwrap());
    let chances: Vec<f64> = years.ends().iter().map(|end| (end * pace).min(1.0)).collect();
    (0..pits).for_each(|_| budget.add(&chances, 15_000.0, None).unwrap());
    (0..years.len()).map(|place| budget.whole().year(place)).collect()
}

fn pit(id: &str, years: [Option<f64>; 3]) -> Candidate {
    let title = "a lane with a name that is longer than the room for it".to_owned();
    let urgency = match years {
        [Some(0.0), Some(0.0), Some(0.0)] => Urgency::at_inlet(),
        years => Urgency::to_inlet([0.3; 3], years),
    };
    Candidate { id: id.to_owned(), title, years_since_reading: None, urgency }
}

/// The filled rectangles of the colour of bars, as left, top, width, height in points.
fn bars(svg: &Svg) -> Vec<[f64; 4]> {
    let document = Document::parse(svg.as_str()).unwrap();
    let (red, green, blue) = theme::BANDS[2];
    let fill = format!("#{red:02X}{green:02X}{blue:02X}");
    document
        .descendants()
        .filter(|node| node.has_tag_name("rect") && node.attribute("fill") == Some(&fill))
        .map(|node| ["x", "y", "width", "height"].map(|side| number(&node, side) / 10.0))
        .collect()
}

#[test]
fn a_bar_stands_for_the_80_percent_range_of_each_year() {
    let years = years(400, 0.02, 4);
    let chart = FleetChart::new(AS_OF, 400, &years).in_currency("USD");
    let bars = bars(&chart.svg().unwrap());
    assert_eq!(bars.len(), 2 * 5 + 1, "five years in two panels, and the key");
    let layout = Layout::of(true, 0, words::caption(&chart).len());
    for (measure, drawn) in [(Measure::Count, &bars[..5]), (Measure::Money("USD"), &bars[5..10])] {
        let panel = Panel::new(&years, measure, &layout);
        for (place, ([left, top, width, height], year)) in drawn.iter().zip(&years).enumerate() {
            let told = if matches!(measure, Measure::Count) { &year.count } else { &year.money };
            assert!((left + width / 2.0 - panel.middle(place)).abs() <= 0.1, "{year:?}");
            assert!((top - panel.height(told.p90)).abs() <= 0.1, "{top} {year:?}");
            assert!((top + height - panel.height(told.p10)).abs() <= 0.1, "{height} {year:?}");
        }
    }
}

#[test]
fn texts_stay_apart_whatever_the_fleet() {
    let inlet = pit("AF-13", [Some(0.0), Some(0.0), Some(0.0)]);
    let soon = pit("AF-18", [Some(0.4), Some(1.5), Some(4.0)]);
    let never = pit("a pit with an identifier that is far too long for any list", [None, None, None]);
    let late = pit("AF-04", [Some(12.0), Some(41.0), None]);
    let few = [&inlet, &soon, &never, &late];
    let many: Vec<&Candidate> = few.into_iter().cycle().take(100).collect();
    let long = "a logbook with a name that is longer than any page is wide, and then some more of it";
    for (pits, pace, ahead, urgent) in
        [(1, 0.0, 1, &few[..0]), (24, 0.03, 10, &few), (400, 0.02, 50, &many), (9_000, 0.1, 20, &few)]
    {
        let years = years(pits, pace, ahead);
        let chart =
            FleetChart::new(AS_OF, pits.into(), &years).titled(long).in_currency("USD").with_urgent(urgent);
        let svg = chart.svg().unwrap();
        assert_texts_are_readable(&svg);
        assert_eq!(svg, chart.svg().unwrap(), "the same bytes twice");
    }
    assert_texts_are_readable(&FleetChart::new(AS_OF, 0, &[]).with_urgent(&few).svg().unwrap());
}

#[test]
fn a_range_in_the_list_lies_on_the_scale_of_time() {
    let soon = pit("AF-18", [Some(1.0), Some(2.0), Some(8.0)]);
    let late = pit("AF-04", [Some(12.0), Some(41.0), None]);
    let pits = [&soon, &late];
    let svg = FleetChart::new(AS_OF, 0, &[]).with_urgent(&pits).svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let time = urgent::time(&pits);
    let drawn: Vec<String> = document
        .descendants()
        .filter(|node| node.has_tag_name("polyline") && node.attribute("stroke-width") == Some("40"))
        .map(|node| node.attribute("points").unwrap().to_owned())
        .collect();
    assert_eq!(drawn.len(), 2);
    for (points, [from, to]) in drawn.iter().zip([[1.0, 8.0], [12.0, 30.0]]) {
        let x: Vec<f64> = points
            .split_whitespace()
            .map(|point| point.split(',').next().unwrap().parse::<f64>().unwrap() / 10.0)
            .collect();
        assert!((x[0] - time.at(from)).abs() <= 0.1 && (x[1] - time.at(to)).abs() <= 0.1, "{points}");
    }
    let arrows = document.descendants().filter(|node| node.has_tag_name("polygon")).count();
    assert_eq!(arrows, 1, "the range that goes on beyond the page");
}

#[test]
fn the_description_tells_every_year() {
    let years = years(400, 0.02, 3);
    let svg = FleetChart::new(AS_OF, 400, &years).titled("alder-fork").in_currency("USD").svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |tag: &str| {
        let node = document.descendants().find(|node| node.has_tag_name(tag)).unwrap();
        node.text().unwrap().to_owned()
    };
    assert_eq!(text("title"), "alder-fork, as of 2026-06-30");
    for year in &years {
        let told = format!("{}: {} to {} pits", year.calendar_year, year.count.p10, year.count.p90);
        assert!(text("desc").contains(&told), "{told}");
    }
}
