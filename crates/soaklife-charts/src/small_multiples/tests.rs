//! What is drawn, read back from the SVG.

use super::layout::AHEAD;
use super::*;
use crate::read_back::{assert_texts_are_readable, corners, hex, texts};
use jiff::civil::date;
use proptest::prelude::*;
use resvg::usvg::roxmltree::{Document, Node};
use soaklife::fleet::{Candidate, Reached, Urgency};
use soaklife::quantity::{as_inches, inches};
use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};

const AS_OF: Date = Date::constant(2026, 6, 30);

fn forecast(pit: &Pit, readings: impl IntoIterator<Item = Reading>) -> Forecast {
    Forecast::of(&History::new(*pit).with_readings(readings), &Question::new(AS_OF)).unwrap()
}

fn pit(bottom_in: f64) -> Pit {
    Pit::new(inches(30.0), inches(bottom_in)).unwrap()
}

/// Yearly readings, 2.5 in higher each year.
fn yearly(pit: &Pit, years: i16) -> Vec<Reading> {
    let reading = |year: i16| {
        let depth = inches(150.0 - 2.5 * f64::from(year));
        Reading::at_depth(pit, date(2026 - years + year, 5, 10), depth).unwrap()
    };
    (0..years).map(reading).collect()
}

fn panel(id: &str, title: &str, forecast: &Forecast) -> PitPanel {
    let urgency = Urgency::of(forecast);
    let candidate =
        Candidate { id: id.to_owned(), title: title.to_owned(), years_since_reading: None, urgency };
    PitPanel::new(candidate, forecast)
}

fn only_page(panels: Vec<PitPanel>) -> Svg {
    let mut pages = SmallMultiples::new(AS_OF, panels).titled("alder-fork").pages().unwrap();
    assert_eq!(pages.len(), 1);
    pages.remove(0)
}

fn filled<'d>(document: &'d Document<'d>, tag: &str, colour: theme::Colour) -> Vec<Node<'d, 'd>> {
    let (tag, colour) = (tag.to_owned(), hex(colour));
    let is_it =
        move |node: &Node<'d, 'd>| node.has_tag_name(tag.as_str()) && node.attribute("fill") == Some(&colour);
    document.descendants().filter(is_it).collect()
}

fn lines(document: &Document<'_>, colour: theme::Colour, width: f64) -> Vec<Vec<(f64, f64)>> {
    let (colour, width) = (hex(colour), (width * 10.0).to_string());
    let is_it = |node: &Node<'_, '_>| {
        node.has_tag_name("polyline")
            && node.attribute("stroke") == Some(&colour)
            && node.attribute("stroke-width") == Some(&width)
    };
    document.descendants().filter(is_it).map(|node| corners(&node)).collect()
}

/// Everything of a panel lies where its scales put it.
#[test]
fn inlet_band_median_and_readings_lie_in_place() {
    let usual = pit(210.0);
    let forecast = forecast(&usual, yearly(&usual, 12));
    let panels = vec![panel("AF-01", "4 Mill Race Lane", &forecast)];
    let scales = Scales::of(&panels, Units::Us);
    let svg = only_page(panels);
    let plot = Layout::of(1, 1).plot(0, &scales);
    let document = Document::parse(svg.as_str()).unwrap();

    assert!((scales.deepest_in - 180.0).abs() < 1e-9, "the axis ends at the deepest bottom");
    let near = |a: f64, b: f64| (a - b).abs() <= 0.1;
    let inlets = lines(&document, theme::INK, theme::HEAVY);
    assert_eq!(inlets.len(), 1);
    assert!(near(inlets[0][0].1, plot.y.at(0.0)) && near(inlets[0][1].1, plot.y.at(0.0)), "{inlets:?}");
    assert!(near(inlets[0][0].0, plot.left) && near(inlets[0][1].0, plot.right));

    let band = corners(&filled(&document, "polygon", theme::BANDS[1])[0]);
    for (x, y) in &band {
        let inside = (plot.x.at(0.0) - 0.1..=plot.right + 0.1).contains(x)
            && (plot.top - 0.1..=plot.bottom + 0.1).contains(y);
        assert!(inside, "{x} {y}");
    }
    let after_five = forecast.level_band(5.0, Coverage::EIGHTY).unwrap();
    for level in [after_five.lower, after_five.upper] {
        let freeboard = as_inches(usual.freeboard(level)).max(0.0);
        let expected = (plot.x.at(5.0), plot.y.at(freeboard));
        let is_there = |(x, y): &(f64, f64)| near(*x, expected.0) && near(*y, expected.1);
        assert!(band.iter().any(is_there), "{expected:?} is no corner of {band:?}");
    }

    let median = &lines(&document, theme::FITTED, theme::LINE)[0];
    let expected = plot.y.at(as_inches(usual.freeboard(forecast.level(5.0))));
    assert!(median.iter().any(|(x, y)| near(*x, plot.x.at(5.0)) && near(*y, expected)), "{median:?}");

    let dots = filled(&document, "circle", theme::INK);
    assert_eq!(dots.len(), 12);
    let oldest = &dots[0];
    let tenths = |name: &str| oldest.attribute(name).unwrap().parse::<f64>().unwrap() / 10.0;
    let years = soaklife::date::years_between(AS_OF, date(2014, 5, 10));
    assert!(near(tenths("cx"), plot.x.at(years)) && near(tenths("cy"), plot.y.at(120.0)));
}

#[test]
fn all_panels_have_the_same_scales_and_each_its_own_depth() {
    let (usual, shallow) = (pit(210.0), pit(130.0));
    let panels = [("A", &usual), ("B", &shallow)]
        .map(|(id, pit)| panel(id, "", &forecast(pit, [Reading::dry(date(2026, 5, 1))])));
    let scales = Scales::of(&panels, Units::Us);
    let layout = Layout::of(2, 1);
    let [first, second] = [0, 1].map(|place| layout.plot(place, &scales));
    assert_eq!(first.y, second.y);
    assert_eq!(first.x.distance(-1.0, AHEAD), second.x.distance(-1.0, AHEAD));
    let svg = only_page(panels.to_vec());
    let document = Document::parse(svg.as_str()).unwrap();
    let ground = filled(&document, "rect", theme::GROUND);
    assert_eq!(ground.len(), 1, "the deepest reaches the end of the scale");
    let y: f64 = ground[0].attribute("y").unwrap().parse().unwrap();
    assert!((y / 10.0 - first.y.at(100.0)).abs() <= 0.1, "the bottom of the shallow one");
}

#[test]
fn one_very_deep_pit_does_not_flatten_the_others() {
    let panels: Vec<PitPanel> = [210.0, 200.0, 3000.0]
        .into_iter()
        .map(|bottom| panel("A", "", &forecast(&pit(bottom), [Reading::dry(date(2026, 5, 1))])))
        .collect();
    let scales = Scales::of(&panels, Units::Us);
    assert!(scales.is_cut && (scales.deepest_in - 360.0).abs() < 1e-9, "{}", scales.deepest_in);
    let told = texts(&only_page(panels)).join(" ");
    assert!(told.contains("Of the deepest pits only the upper part is shown;"), "{told}");
}

#[test]
fn a_panel_says_which_pit_and_the_answer_in_short() {
    let usual = pit(210.0);
    let forecast = forecast(&usual, []);
    let with = |urgency| {
        let candidate = Candidate { urgency, ..panel("AF-01", "4 Mill Race Lane", &forecast).pit().clone() };
        let svg = only_page(vec![PitPanel::new(candidate, &forecast)]);
        assert_texts_are_readable(&svg);
        texts(&svg)
    };
    let of = |years| Urgency::to_inlet([0.1; 3], years);
    let there =
        Urgency { reached: Reached::ActionFreeboard, acts_early: true, ..of([Some(0.0), Some(0.0), None]) };
    for (urgency, told) in [
        (of([Some(9.2), Some(12.0), Some(14.6)]), "9–15 years"),
        (Urgency::at_inlet(), "at its inlet"),
        (there, "at its action freeboard"),
        (of([Some(1.4), Some(30.0), None]), "1 in 10 within 1 year"),
        (of([Some(0.4), Some(3.0), None]), "1 in 10 within 4 months"),
        (of([None, None, None]), "under 1 in 10 in 60 years"),
    ] {
        let texts = with(urgency);
        for expected in ["AF-01", "4 Mill Race Lane", told, "1 pit · as of 2026-06-30"] {
            assert!(texts.iter().any(|text| text == expected), "{expected} in {texts:?}");
        }
    }
}

#[test]
fn title_and_description_say_what_is_drawn() {
    let usual = pit(210.0);
    let mut candidate = panel("AF-01", "", &forecast(&usual, [])).pit().clone();
    candidate.urgency = Urgency::to_inlet([0.1; 3], [Some(9.2), Some(12.0), Some(14.6)]);
    let svg = only_page(vec![PitPanel::new(candidate, &forecast(&usual, []))]);
    assert_eq!(svg.title(), "alder-fork: readings and forecasts, 1 pit, as of 2026-06-30");
    for told in ["AF-01: 9–15 years.", "no rating", "Never enter a pit"] {
        assert!(svg.description().contains(told), "{told:?} in {}", svg.description());
    }
}

#[test]
fn the_key_names_what_is_drawn_and_counts_what_is_not() {
    let usual = pit(210.0);
    let plain = texts(&only_page(vec![panel("A", "", &forecast(&usual, yearly(&usual, 3)))])).join(" ");
    for absent in ["ring", "triangle", "dashed", "not drawn"] {
        assert!(!plain.contains(absent), "{absent}");
    }
    // Those of 2001 to 2006 are older than the twenty years drawn.
    let many = texts(&only_page(vec![panel("A", "", &forecast(&usual, yearly(&usual, 25)))])).join(" ");
    assert!(many.contains("6 readings not drawn"), "{many}");
    let dry = [2024, 2025].map(|year| Reading::dry(date(year, 5, 1)));
    let dry = texts(&only_page(vec![panel("A", "", &forecast(&usual, dry))])).join(" ");
    assert!(dry.contains("triangle: found dry"), "{dry}");
}

#[test]
fn a_long_record_is_thinned_and_keeps_its_latest_reading() {
    let usual = pit(210.0);
    let monthly = (0..120i16).map(|month| {
        let day = date(2016 + month / 12, (month % 12) as i8 + 1, 5);
        Reading::at_depth(&usual, day, inches(150.0 - 0.5 * f64::from(month))).unwrap()
    });
    let svg = only_page(vec![panel("A", "", &forecast(&usual, monthly))]);
    let document = Document::parse(svg.as_str()).unwrap();
    let dots = filled(&document, "circle", theme::INK);
    assert_eq!(dots.len(), 40);
    assert!(texts(&svg).join(" ").contains("80 readings not drawn"));
}

#[test]
fn further_pits_go_to_further_pages_of_the_same_scales() {
    let usual = pit(210.0);
    let forecast = forecast(&usual, yearly(&usual, 6));
    let panels: Vec<PitPanel> = (0..49)
        .map(|place| {
            let mut candidate = panel(&format!("P-{place:02}"), "", &forecast).pit().clone();
            let years = [Some(1.0), Some(2.0 + 0.1 * f64::from(place)), None];
            candidate.urgency = Urgency::to_inlet([0.1; 3], years);
            PitPanel::new(candidate, &forecast)
        })
        .rev()
        .collect();
    let pages = SmallMultiples::new(AS_OF, panels).pages().unwrap();
    assert_eq!(pages.len(), 3);
    let told: Vec<Vec<String>> = pages.iter().map(texts).collect();
    for (page, which) in told.iter().zip(["pits 1 to 24 of 49", "pits 25 to 48 of 49", "pit 49 of 49"]) {
        assert!(page.contains(&format!("{which} · as of 2026-06-30")), "{which}");
    }
    let ids: Vec<&String> = told.iter().flatten().filter(|text| text.starts_with("P-")).collect();
    assert!(ids.len() == 49 && ids.is_sorted(), "every pit once, in order");
    // A letter page of 11 in with margins of an inch.
    assert!(pages[0].size().1 <= 9.0 * 72.0, "{}", pages[0].size().1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn texts_stay_apart_whatever_the_fleet(
        pits in proptest::collection::vec((".{0,40}", ".{0,60}", 0.02f64..5000.0, proptest::array::uniform3(0.0f64..120.0), 0usize..4), 1..30),
        title in ".{0,120}",
        is_metric in any::<bool>(),
        (year, month) in (1990i16..2090, 1i8..13),
    ) {
        let as_of = date(year, month, 28);
        let panels: Vec<PitPanel> = pits
            .into_iter()
            .map(|(id, title, effective, mut years, known)| {
                years.sort_by(f64::total_cmp);
                let mut place = 0;
                let years_to_inlet = years.map(|years| { place += 1; (place <= known).then_some(years) });
                let history = History::new(pit(30.0 + effective)).with_readings([Reading::dry(date(year - 3, 5, 1))]);
                let forecast = Forecast::of(&history, &Question::new(as_of)).unwrap();
                let urgency = Urgency::to_inlet([0.1; 3], years_to_inlet);
                PitPanel::new(Candidate { id, title, years_since_reading: None, urgency }, &forecast)
            })
            .collect();
        let units = if is_metric { Units::Si } else { Units::Us };
        for page in SmallMultiples::new(as_of, panels).titled(title).in_units(units).pages().unwrap() {
            assert_texts_are_readable(&page);
        }
    }
}
