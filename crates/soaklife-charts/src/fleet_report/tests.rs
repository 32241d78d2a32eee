//! Pages hold everything they must, in order and in place, and escape what they are given.

use super::FleetReport;
use super::layout::{EDGE, Item, Page, pages};
use crate::LadderChart;
use crate::exhibit::layout::{Block, Line};
use crate::exhibit::{Paper, Table};
use crate::font;
use jiff::civil::{Date, date};
use resvg::usvg::roxmltree::{Document, ParsingOptions};
use soaklife::fleet::{Candidate, Urgency};

const AS_OF: Date = Date::constant(2026, 6, 30);
const HOSTILE: &str = "<script>alert('1')</script> & \"quoted\" \\ \u{7}";

fn candidates(count: usize) -> Vec<Candidate> {
    let pit = |place: usize| Candidate {
        id: format!("P-{place:03}"),
        title: "Quarry Road".to_owned(),
        years_since_reading: None,
        urgency: Urgency::to_inlet([0.1; 3], [Some(1.0), Some(2.0 + place as f64 / 100.0), Some(9.0)]),
    };
    (0..count).map(pit).collect()
}

fn report(text: &str, rows: usize, pits: usize) -> FleetReport {
    let table = |caption: &str| {
        let rows = (0..rows).map(|row| [format!("AF-{row:03}"), text.to_owned(), "1 to 4".to_owned()]);
        rows.fold(Table::new(caption, ["pit", "name", "years"]), Table::with_row)
    };
    let candidates = candidates(pits);
    let candidates: Vec<&Candidate> = candidates.iter().collect();
    let ladder = LadderChart::new(AS_OF, &candidates).titled("alder-fork").pages().unwrap();
    FleetReport::new(text, AS_OF)
        .in_section("Summary")
        .answering(text)
        .saying(text)
        .with_table(table("Whom to see first"))
        .listing([text, "A second point."])
        .in_section("When each pit reaches its inlet")
        .saying("All are shown.")
        .with_figures(ladder)
        .in_section("Pits not in the budget")
        .noting((0..rows).map(|row| (format!("{text} {row}"), text)))
        .sealed("94ee059335e587e5", "soaklife 0.1.0")
}

fn lines<'p>(page: &'p Page<'_>) -> Vec<&'p Line> {
    let of_item = |item: &'p Item<'_>| -> Vec<&'p Line> {
        match item {
            Item::Section(lines) => lines.iter().collect(),
            Item::Block(Block::Heading(lines) | Block::Paragraph(lines)) => lines.iter().collect(),
            Item::Block(Block::Note { name, text }) => std::iter::once(name).chain(text).collect(),
            Item::Block(Block::Table { caption, rows }) => {
                caption.iter().chain(rows.iter().flatten().flatten()).collect()
            }
            Item::Block(_) => Vec::new(),
        }
    };
    page.items.iter().flat_map(of_item).chain(&page.foot).collect()
}

/// What a page covers: left, top, right and bottom of every line and figure.
fn boxes(page: &Page<'_>) -> Vec<(String, [f64; 4])> {
    let of_line = |line: &Line| {
        let right = line.x + font::width(&line.text, line.size, line.weight);
        (line.text.clone(), [line.x, line.y - 0.72 * line.size, right, line.y + 0.2 * line.size])
    };
    let of_figure = |item: &Item<'_>| match item {
        Item::Block(Block::Figure { svg, place, .. }) => {
            Some((svg.title().to_owned(), [place.x, place.y, place.x + place.width, place.y + place.height]))
        }
        _ => None,
    };
    lines(page).into_iter().map(of_line).chain(page.items.iter().filter_map(of_figure)).collect()
}

#[test]
fn everything_has_a_place_of_its_own_on_its_page() {
    let (long, unbroken) = ("a rule of the county with a long name ".repeat(30), "W".repeat(2000));
    for paper in [Paper::Letter, Paper::A4] {
        let (width, height) = paper.size();
        for (text, rows, pits) in
            [("A short text.", 3, 2), (&long, 120, 81), (&unbroken, 70, 40), ("", 0, 0), (HOSTILE, 12, 41)]
        {
            let report = report(text, rows, pits);
            for (number, page) in pages(&report, paper).iter().enumerate() {
                let boxes = boxes(page);
                for (place, (a, [left, top, right, bottom])) in boxes.iter().enumerate() {
                    let inside = *left >= EDGE
                        && *top >= EDGE - 0.01
                        && *right <= width - EDGE
                        && *bottom <= height - EDGE + 10.0;
                    assert!(
                        inside,
                        "{paper:?}, {text:.20}, page {number}: {a:.40} reaches to {right} {bottom}"
                    );
                    for (b, other) in &boxes[place + 1..] {
                        let apart = *right <= other[0]
                            || other[2] <= *left
                            || *bottom <= other[1]
                            || other[3] <= *top;
                        assert!(apart, "{paper:?}, {text:.20}, page {number}: {a:.40} and {b:.40} overlap");
                    }
                }
            }
        }
    }
}

#[test]
fn a_table_longer_than_a_page_goes_on_with_its_headings_and_loses_no_row() {
    let report = report("Mill Race Lane", 150, 1);
    let pages = pages(&report, Paper::Letter);
    let mut rows = Vec::new();
    let mut tables = 0;
    for item in pages.iter().flat_map(|page| &page.items) {
        let Item::Block(Block::Table { caption, rows: of_page }) = item else { continue };
        assert_eq!(caption[0].text.ends_with("(continued)"), tables > 0, "{}", caption[0].text);
        assert_eq!(of_page[0][0][0].text, "pit");
        rows.extend(of_page.iter().skip(1).map(|row| row[0][0].text.clone()));
        tables += 1;
    }
    assert!(tables > 2, "{tables}");
    assert_eq!(rows, (0..150).map(|row| format!("AF-{row:03}")).collect::<Vec<_>>());
}

#[test]
fn no_heading_stands_alone_at_the_end_of_a_page() {
    for rows in 0..60 {
        let report = report(
            "A text of some length that fills a line or two of the page, so that rows differ.",
            rows,
            30,
        );
        for page in pages(&report, Paper::Letter) {
            let last = page.items.iter().rfind(|item| !matches!(item, Item::Block(Block::Rule { .. })));
            let is_heading = matches!(last, Some(Item::Section(_)));
            assert!(!is_heading || rows == 0, "{rows} rows");
        }
    }
}

#[test]
fn short_sections_share_a_page_and_long_ones_begin_one() {
    let few = report("Short.", 3, 2);
    assert_eq!(pages(&few, Paper::Letter).len(), 1);
    let many = report("Short.", 3, 81);
    let numbers: Vec<usize> = pages(&many, Paper::Letter)
        .iter()
        .enumerate()
        .filter(|(_, page)| page.items.iter().any(|item| matches!(item, Item::Block(Block::Figure { .. }))))
        .map(|(number, _)| number)
        .collect();
    assert_eq!(numbers, [1, 2, 3], "the summary stands before them");
}

#[test]
fn pages_are_numbered() {
    let report = report("Short.", 3, 81);
    let pages = pages(&report, Paper::A4);
    for (place, page) in pages.iter().enumerate() {
        assert_eq!(page.foot[1].text, format!("Page {} of {}", place + 1, pages.len()));
        assert_eq!(page.foot[0].text, "Seepage pits: Short., as of 2026-06-30");
    }
}

#[test]
fn a_pdf_is_the_same_every_time_and_says_what_it_is() {
    let report = report("A text.", 60, 81);
    for (paper, size) in [(Paper::Letter, "612 792]"), (Paper::A4, "595.276 841.89]")] {
        let pdf = report.to_pdf(paper).unwrap();
        assert_eq!(pdf, report.to_pdf(paper).unwrap());
        let text = String::from_utf8_lossy(&pdf);
        // ISO 32000-1: 14.9.2 (language), 14.7 (structure), 9.9 (embedded fonts), 12.3.3 (outline), 14.3.3 (dates).
        for said in ["/Lang", "/StructTreeRoot", "/FontFile2", "/MarkInfo", "/Outlines", size] {
            assert!(text.contains(said), "{said}");
        }
        assert!(!text.contains("/CreationDate") && !text.contains("/ModDate"));
        assert_eq!(text.matches("/FontFile2").count(), 2, "each font is embedded once");
        let count = format!("/Count {}", pages(&report, paper).len());
        assert!(text.contains(&count), "{count}");
    }
}

#[test]
fn the_page_is_well_formed_and_has_every_part() {
    let html = report("A text.", 3, 41).to_html(Paper::A4);
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&html, options).unwrap();
    let all =
        |tag: &str| document.descendants().filter(|node| node.tag_name().name() == tag).collect::<Vec<_>>();
    assert_eq!(document.root_element().attribute("lang"), Some("en"));
    assert_eq!((all("h1").len(), all("h2").len(), all("table").len(), all("svg").len()), (1, 3, 1, 2));
    let scopes: Vec<_> = all("th").iter().map(|heading| heading.attribute("scope").unwrap()).collect();
    assert_eq!(scopes, ["col", "col", "col", "row", "row", "row"]);
    let mut ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "every name is unique");
    for figure in all("svg") {
        let told = figure.attribute("aria-labelledby").unwrap();
        assert!(told.split(' ').all(|id| ids.contains(&id)), "{told}");
    }
    for said in
        ["@page { size: A4", "never work at an open one alone", "94ee059335e587e5", "break-before: page"]
    {
        assert!(html.contains(said), "{said}");
    }
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let html = report(HOSTILE, 3, 2).to_html(Paper::Letter);
    let namespace = "xmlns=\"http://www.w3.org/2000/svg\"";
    for taboo in ["<script", "http:", "https:", "url(", "@import", "src=", "href=", "onload", "\u{7}"] {
        assert!(!html.replace(namespace, "").contains(taboo), "{taboo}");
    }
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    assert!(Document::parse_with_options(&html, options).is_ok());
    // Within the style sheet a title can end neither its string nor the sheet.
    let style = html.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    assert!(
        style.contains("\\3c script\\3e alert('1')\\3c /script\\3e  \\26  \\22 quoted\\22  \\5c "),
        "{style:.300}"
    );
}

#[test]
fn a_pdf_is_made_whatever_the_logbook_says() {
    for text in [HOSTILE, "\u{202e}עברית 漢字 \u{0}\u{ffff} 🚰", "", " "] {
        assert!(report(text, 3, 2).to_pdf(Paper::Letter).is_ok(), "{text:?}");
    }
    assert!(FleetReport::new("", date(2026, 6, 30)).to_pdf(Paper::A4).is_ok());
}
