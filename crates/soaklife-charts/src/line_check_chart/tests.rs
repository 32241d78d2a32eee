//! What is drawn, read back from the SVG.

use super::*;
use crate::read_back::{assert_texts_are_readable, hex, number};
use crate::theme;
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::Document;
use soaklife::numerics::binomial::exact_interval;
use soaklife::quantity::inches;
use soaklife::reading::Condition;
use soaklife::{History, Method, Pit, Question, Reading};

const AS_OF: Date = Date::constant(2026, 6, 30);

/// One reading a year up to 2026, given as depths below the rim.
fn history(depths_in: &[f64]) -> History {
    let pit = Pit::new(inches(38.0), inches(182.0)).unwrap();
    let first_year = 2027 - depths_in.len() as i16;
    let readings = depths_in
        .iter()
        .zip(first_year..)
        .map(|(depth, year)| Reading::at_depth(&pit, date(year, 6, 30), inches(*depth)).unwrap());
    History::new(pit).with_readings(readings)
}

fn chart(history: &History) -> LineCheckChart {
    LineCheckChart::new(&Forecast::of(history, &Question::new(AS_OF).by(Method::Line)).unwrap()).unwrap()
}

/// Centres of the dots: first those of the left panel, then those of the right one.
fn dots(svg: &Svg) -> Vec<(f64, f64)> {
    let document = Document::parse(svg.as_str()).unwrap();
    let ink = hex(theme::INK);
    let dots = document
        .descendants()
        .filter(|node| node.has_tag_name("circle") && node.attribute("fill") == Some(&ink));
    dots.map(|node| (number(&node, "cx") / 10.0, number(&node, "cy") / 10.0)).collect()
}

#[test]
fn residuals_are_those_of_the_line_and_stand_in_both_panels() {
    let chart = chart(&history(&[99.0, 99.0, 93.0, 91.0]));
    // Levels 83, 83, 89, 91: slope (−1.5·83 − 0.5·83 + 0.5·89 + 1.5·91)/5 = 3, mean 86.5.
    let expected = [83.0 - 82.0, 83.0 - 85.0, 89.0 - 88.0, 91.0 - 91.0];
    let found: Vec<f64> = chart.residuals.left.iter().map(|left| left.over_in).collect();
    // Years of the calendar are not quite even.
    assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 0.02), "{found:?}");
    let svg = chart.svg().unwrap();
    let layout = Layout::of(&chart.residuals, Units::Us, words::caption(&chart).len());
    let dots = dots(&svg);
    assert_eq!(dots.len(), 8);
    for (dot, left) in dots.iter().zip(&chart.residuals.left) {
        assert!((dot.0 - layout.years.at(left.years)).abs() <= 0.1, "{dot:?} {left:?}");
        assert!((dot.1 - layout.y.at(left.over_in)).abs() <= 0.1, "{dot:?} {left:?}");
    }
    for (dot, one) in dots[4..].iter().zip(chart.residuals.ordered()) {
        assert!((dot.0 - layout.quantiles.at(one.quantile)).abs() <= 0.1, "{dot:?} {one:?}");
        assert!((dot.1 - layout.y.at(one.over_in)).abs() <= 0.1, "{dot:?} {one:?}");
    }
    assert!(dots.iter().all(|dot| (layout.top..=layout.bottom).contains(&dot.1)));
}

#[test]
fn medians_of_the_order_are_those_of_the_beta_distribution() {
    // Filliben's formula is an approximation; the median of Beta(i, n + 1 − i) is the lower limit of Clopper and Pearson for a
    // confidence of nothing.
    for count in [2, 3, 5, 10, 40] {
        for place in 1..=count {
            let exact = exact_interval(place, count, 1e-9).unwrap().lower;
            let found = residuals::median(place, count);
            assert!((found - exact).abs() < 0.002, "{place} of {count}: {found} {exact}");
        }
    }
}

#[test]
fn the_band_of_luck_lies_about_the_line_and_is_symmetric() {
    let ordered = chart(&history(&[99.0, 98.0, 91.0, 92.0, 84.0, 85.0, 80.0])).residuals.ordered();
    assert_eq!(ordered.len(), 7);
    for (one, mirrored) in ordered.iter().zip(ordered.iter().rev()) {
        assert!((one.luck_in.0 + mirrored.luck_in.1).abs() < 1e-6, "{one:?} {mirrored:?}");
        assert!(one.luck_in.0 < one.luck_in.1);
    }
    assert!(ordered.is_sorted_by(|a, b| a.over_in <= b.over_in && a.quantile < b.quantile));
}

#[test]
fn a_reading_that_counts_less_is_shrunk_in_the_order_alone() {
    let history = history(&[99.0, 98.0, 91.0, 86.0, 84.0]);
    let readings: Vec<Reading> = history
        .readings()
        .iter()
        .enumerate()
        .map(|(place, read)| if place == 1 { read.in_condition(Condition::AfterRain) } else { *read })
        .collect();
    let residuals = chart(&history.with_readings(readings)).residuals;
    let wet = residuals.left[1];
    assert_eq!(wet.weight, 0.5);
    let shrunk = wet.over_in * 0.5f64.sqrt();
    assert!(residuals.ordered().iter().any(|one| (one.over_in - shrunk).abs() < 1e-12));
}

#[test]
fn title_and_description_say_what_is_drawn() {
    let svg = chart(&history(&[99.0, 99.0, 93.0, 91.0])).titled("AF-99, a road").svg().unwrap();
    let document = Document::parse(svg.as_str()).unwrap();
    let text = |name| {
        let node = document.descendants().find(|node| node.has_tag_name(name)).unwrap();
        node.text().unwrap().to_owned()
    };
    assert_eq!(text("title"), "AF-99, a road: what the line leaves over, as of 2026-06-30");
    // s² = (1 + 4 + 1 + 0)/2 = 3.
    for told in [
        "4 readings scatter by 1.7 in",
        "change sides twice; by luck alone they would about 1.5 times",
        "-2.0 in.",
        "no promise",
    ] {
        assert!(text("desc").contains(told), "{told:?} in {}", text("desc"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn texts_stay_apart_whatever_the_readings(
        depths in proptest::collection::vec(39.0f64..181.0, 3..60),
        shrunk in 0.0f64..1.0,
        is_si in any::<bool>(),
        title in ".{0,120}",
    ) {
        let depths: Vec<f64> = depths.iter().map(|depth| 110.0 + shrunk * (depth - 110.0)).collect();
        let units = if is_si { Units::Si } else { Units::Us };
        let chart = chart(&history(&depths)).titled(title).in_units(units);
        let svg = chart.svg().unwrap();
        assert_texts_are_readable(&svg);
        prop_assert_eq!(dots(&svg).len(), 2 * depths.len());
    }
}
