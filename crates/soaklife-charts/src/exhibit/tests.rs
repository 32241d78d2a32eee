//! The page holds what it must, escapes what it is given, and stays one page whatever that is.

use super::layout::{Block, EDGE, Line, Sheet};
use super::{Exhibit, Paper, Table};
use crate::font::{self, Weight};
use crate::theme;
use crate::{ForecastChart, PitSection};
use jiff::civil::date;
use resvg::usvg::roxmltree::{Document, ParsingOptions};
use soaklife::history::{Event, EventKind};
use soaklife::quantity::{Units, inches};
use soaklife::reading::Condition;
use soaklife::wording::sentence::sentences;
use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};

const HOSTILE: &str = "<script>alert('1')</script> & \"quoted\" \u{7}";

fn pit() -> Pit {
    Pit::new(inches(30.0), inches(210.0)).unwrap()
}

/// A record of so many years, with a slip, a dry stick and a doubted reading.
fn history(years: i16) -> History {
    let pit = pit();
    let readings = (0..years).map(|year| {
        let depth = 150.0 - 2.5 * f64::from(year);
        Reading::at_depth(&pit, date(2026 - years + year, 5, 10), inches(depth)).unwrap()
    });
    let doubted = Reading::at_depth(&pit, date(2026, 6, 1), inches(106.0)).unwrap();
    let dry = Reading::dry(date(2025 - years, 5, 10));
    History::new(pit)
        .with_installed(date(1980, 5, 1))
        .with_readings(readings.chain([doubted.in_condition(Condition::Suspect), dry]))
}

fn exhibit(history: &History, title: &str, note: &str) -> Exhibit {
    let forecast = Forecast::of(history, &Question::new(date(2026, 6, 30))).unwrap();
    let chart = ForecastChart::new(&forecast, history).titled(title).bare().svg().unwrap();
    let section = PitSection::new(&forecast, history).titled(title).bare().svg().unwrap();
    let outlook = Table::new("Outlook", ["freeboard, in", "now", "1 year", "2 years", "5 years", "10 years"])
        .with_row(["median", "15", "12", "10", "1", "at inlet"])
        .with_row(["80 % range", "13–18", "9–15", "6–13", "0–7", "at inlet"])
        .with_row(["chance of reaching the inlet", "<1 %", "<1 %", "<1 %", "45 %", "94 %"]);
    let answer = sentences(&forecast, Coverage::EIGHTY, Units::Us);
    let names = [
        "Rests on",
        "Typical",
        "Course",
        "Left out",
        "Hand check",
        "Load",
        "Load test",
        "Pit",
        "Measure next",
    ];
    let plain = Exhibit::new(title, date(2026, 6, 30), &answer, chart)
        .with_outlook(outlook)
        .with_section(section)
        .with_readings(Table::of_readings(forecast.readings(), history, Units::Us))
        .sealed("94ee059335e587e5", "soaklife 0.1.0");
    names.into_iter().fold(plain, |exhibit, name| exhibit.noting(name, note))
}

fn lines<'s>(sheet: &'s Sheet<'_>) -> Vec<&'s Line> {
    let of_block = |block: &'s Block<'_>| -> Vec<&'s Line> {
        match block {
            Block::Heading(lines) | Block::Paragraph(lines) => lines.iter().collect(),
            Block::Note { name, text } => std::iter::once(name).chain(text).collect(),
            Block::Table { caption, rows } => caption.iter().chain(rows.iter().flatten().flatten()).collect(),
            Block::Figure { .. } | Block::Rule { .. } => Vec::new(),
        }
    };
    sheet.blocks.iter().flat_map(of_block).collect()
}

/// Left, top, right and bottom of what a line covers.
fn covered(line: &Line) -> [f64; 4] {
    let right = line.x + font::width(&line.text, line.size, line.weight);
    [line.x, line.y - 0.72 * line.size, right, line.y + 0.2 * line.size]
}

fn assert_in_place(exhibit: &Exhibit, paper: Paper, case: &str) {
    let sheet = Sheet::fitted(exhibit, paper, 0.0);
    let (width, height) = paper.size();
    let mut boxes: Vec<(String, [f64; 4])> =
        lines(&sheet).into_iter().map(|line| (line.text.clone(), covered(line))).collect();
    for block in &sheet.blocks {
        if let Block::Figure { place, words, .. } = block {
            boxes.push((words.clone(), [place.x, place.y, place.x + place.width, place.y + place.height]));
        }
    }
    for (index, (a, [left, top, right, bottom])) in boxes.iter().enumerate() {
        let inside = *left >= EDGE - 0.01
            && *top >= EDGE - 0.01
            && *right <= width - EDGE + 0.01
            && *bottom <= height - EDGE + 0.01;
        assert!(inside, "{case}, {paper:?}: {a:?} reaches to {right} {bottom}");
        for (b, other) in &boxes[index + 1..] {
            let apart = *right <= other[0] || other[2] <= *left || *bottom <= other[1] || other[3] <= *top;
            assert!(apart, "{case}, {paper:?}: {a:?} and {b:?} overlap");
        }
    }
}

#[test]
fn everything_has_a_place_of_its_own_on_one_page() {
    let long = "a rule of the county with a long name ".repeat(20);
    let unbroken = "W".repeat(2000);
    for paper in [Paper::Letter, Paper::A4] {
        for (history, years) in [(history(17), 17), (history(1), 1), (history(60), 60)] {
            for (title, note) in
                [("H-1", "A short note."), (long.as_str(), long.as_str()), (&unbroken, &unbroken)]
            {
                let case = format!("{years} years, {title:.20}");
                assert_in_place(&exhibit(&history, title, note), paper, &case);
            }
        }
        // Every reading set aside for a long reason.
        let repaired = Event::new(date(2026, 6, 2), EventKind::PitAdded);
        let before = history(17).with_events([repaired]);
        assert_in_place(&exhibit(&before, &long, &long), paper, "all set aside");
    }
}

#[test]
fn comfortable_sizes_give_way_only_where_they_must() {
    let short = exhibit(&history(1), "H-1", "A short note.");
    let long = exhibit(&history(60), "H-1", &"words ".repeat(100));
    let [short, long] = [&short, &long].map(|exhibit| Sheet::fitted(exhibit, Paper::Letter, 0.0));
    assert!(short.text > long.text && short.figures[0] > long.figures[0], "{} {}", short.text, long.text);
}

#[test]
fn the_page_is_well_formed_and_has_every_part() {
    let page = exhibit(&history(17), "H-1, 12 Mill Race Lane", "A note.").to_html(Paper::A4);
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&page, options).unwrap();
    let all = |tag: &str| document.descendants().filter(|node| node.has_tag_name(tag)).collect::<Vec<_>>();
    assert_eq!(document.root_element().attribute("lang"), Some("en"));
    assert_eq!((all("h1").len(), all("h2").len(), all("table").len()), (1, 3, 2));
    assert!(all("table").iter().all(|table| table.first_element_child().unwrap().has_tag_name("caption")));
    let scopes: Vec<_> = all("th").iter().map(|heading| heading.attribute("scope").unwrap()).collect();
    // Four and six headings; twelve readings and three rows of the outlook.
    assert_eq!(scopes.iter().filter(|scope| **scope == "col").count(), 10);
    assert_eq!(scopes.iter().filter(|scope| **scope == "row").count(), 15);
    let svg = "{http://www.w3.org/2000/svg}";
    let figures = document
        .descendants()
        .filter(|node| format!("{{{}}}", node.tag_name().namespace().unwrap_or("")) == svg);
    assert!(
        figures.clone().any(|node| node.tag_name().name() == "svg" && node.attribute("role") == Some("img"))
    );
    assert!(
        figures
            .clone()
            .any(|node| node.tag_name().name() == "title" && node.attribute("id") == Some("chart-title"))
    );
    for said in [
        "@page { size: A4",
        "no warranty",
        "never enter or lean",
        "Licence number",
        "Signature",
        "94ee059335e587e5",
    ] {
        assert!(page.contains(said), "{said}");
    }
    assert_eq!(page, exhibit(&history(17), "H-1, 12 Mill Race Lane", "A note.").to_html(Paper::A4));
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let page = exhibit(&history(17), HOSTILE, HOSTILE).to_html(Paper::Letter);
    for taboo in ["<script", "http:", "https:", "url(", "@import", "src=", "href=", "onload", "\u{7}"] {
        let namespace = "xmlns=\"http://www.w3.org/2000/svg\"";
        assert!(!page.replace(namespace, "").contains(taboo), "{taboo}");
    }
    assert!(page.contains("&lt;script&gt;alert('1')&lt;/script&gt; &amp; &quot;quoted&quot;"));
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    assert!(Document::parse_with_options(&page, options).is_ok());
}

#[test]
fn a_pdf_is_the_same_every_time_and_says_what_it_is() {
    let exhibit = exhibit(&history(17), "H-1, 12 Mill Race Lane", "A note.");
    for (paper, size) in [(Paper::Letter, "612 792]"), (Paper::A4, "595.276 841.89]")] {
        let page = exhibit.to_pdf(paper).unwrap();
        assert_eq!(page, exhibit.to_pdf(paper).unwrap());
        let text = String::from_utf8_lossy(&page);
        assert!(text.starts_with("%PDF-1.") && text.trim_end().ends_with("%%EOF"));
        // ISO 32000-1: 14.9.2 (language), 14.7 (structure), 9.9 (embedded fonts), 14.3.3 (dates, which a clock would give).
        // ISO 14289-1: 5 (what the file claims), 7.1 (the title is shown); ISO 32000-1: 12.3.3 (bookmarks).
        let claimed = ["<pdfuaid:part>1</pdfuaid:part>", "/DisplayDocTitle true", "/Outlines", "(Signature)"];
        for said in ["/Lang", "/StructTreeRoot", "/FontFile2", "/MarkInfo", size].into_iter().chain(claimed) {
            assert!(text.contains(said), "{said}");
        }
        assert!(!text.contains("/CreationDate") && !text.contains("/ModDate"));
        assert!(page.len() < 300_000, "{} bytes", page.len());
    }
}

#[test]
fn a_page_reads_in_order() {
    let exhibit = exhibit(&history(17), "H-1", "A note.");
    let sheet = Sheet::fitted(&exhibit, Paper::Letter, 0.0);
    let text: Vec<&str> = lines(&sheet).into_iter().map(|line| line.text.as_str()).collect();
    let text = text.join(" ");
    let parts = [
        "Seepage pit H-1",
        "Forecast as of",
        "no warranty",
        "Readings: ",
        "Outlook",
        "Rests on",
        "Method",
        "Cautions",
        "Name",
        "Signature",
        "Prepared with",
    ];
    let places: Vec<_> =
        parts.into_iter().map(|part| text.find(part).unwrap_or_else(|| panic!("{part}"))).collect();
    assert!(places.is_sorted(), "{places:?}");
    let begun: Vec<f64> = sheet.marks.iter().map(|mark| mark.1).collect();
    assert_eq!(sheet.marks.len(), 5);
    assert!(begun.iter().all(|y| (EDGE..Paper::Letter.size().1 - EDGE).contains(y)), "{begun:?}");
}

#[test]
fn figures_stay_legible_beside_many_readings_and_long_notes() {
    for (years, paper) in [(1, Paper::Letter), (12, Paper::A4), (60, Paper::Letter), (60, Paper::A4)] {
        let exhibit =
            exhibit(&history(years), "H-1, a label of forty characters, or so.", &"words ".repeat(20));
        let sheet = Sheet::fitted(&exhibit, paper, 0.0);
        let scale = sheet.figures[0] / exhibit.chart.size().0;
        assert!(scale * theme::SMALL_SIZE >= 6.5, "{years} {paper:?}: {scale}");
    }
}

#[test]
fn numbers_stand_under_each_other() {
    let table = Table::new("Readings", ["date", "freeboard, in", "counts"]).with_row(["a", "113.5", "yes"]);
    let table = table.with_row(["b", "9", "yes"]).with_row(["c", "other rim", "no: 2 reasons"]);
    let exhibit = exhibit(&history(1), "H-1", "A note.").with_readings(table);
    let sheet = Sheet::fitted(&exhibit, Paper::Letter, 0.0);
    let Some(Block::Table { rows, .. }) =
        sheet.blocks.iter().find(|block| matches!(block, Block::Table { .. }))
    else {
        panic!("no table");
    };
    let end = |row: usize, column: usize| covered(&rows[row][column][0])[2];
    let decimal = font::width(".5", sheet.text, Weight::Regular);
    assert!((end(1, 1) - end(0, 1)).abs() < 0.01 && (end(1, 1) - end(3, 1)).abs() < 0.01);
    assert!((end(1, 1) - decimal - end(2, 1)).abs() < 0.05, "{} {}", end(1, 1), end(2, 1));
    let begin = |row: usize| rows[row][2][0].x;
    assert!((begin(1) - begin(3)).abs() < 0.01, "words begin at the left");
    let page = exhibit.to_html(Paper::Letter);
    assert!(
        page.contains("<td class=\"number whole\">9</td>")
            && page.contains("<td class=\"number\">113.5</td>")
    );
    assert!(page.contains("<td>yes</td>"));
}

#[test]
fn names_that_begin_like_numbers_stand_at_the_left() {
    let visits = Table::new("Whom to see first", ["pit", "name", "within 2 years"]).with_names_in(1);
    let visits = visits.with_row(["AF-11", "14 Lower Ford", "2 %"]).with_row(["AF-12", "Quarry Road", "now"]);
    assert_eq!([0, 1, 2].map(|column| visits.is_of_numbers(column)), [false, false, true]);
}

#[test]
fn what_was_read_below_another_rim_has_no_freeboard() {
    let history = history(4).with_events([Event::new(date(2024, 1, 10), EventKind::DatumChanged)]);
    let uses = Forecast::of(&history, &Question::new(date(2026, 6, 30))).unwrap().readings().to_vec();
    let told = Table::of_readings(&uses, &history, Units::Us).rows;
    let freeboard = |day: &str| told.iter().find(|row| row[0] == day).unwrap()[2].clone();
    assert_eq!([freeboard("2024-05-10"), freeboard("2023-05-10")], ["115", "other rim"]);
}

#[test]
fn a_pdf_is_made_whatever_the_logbook_says() {
    let history = history(3);
    let long = "\u{202e}עברית 漢字 \u{0}\u{ffff} 🚰 ".repeat(50);
    for title in [HOSTILE, long.as_str(), "", " "] {
        let page = exhibit(&history, title, title).to_pdf(Paper::Letter).unwrap();
        // What has no shape in the font must not claim to be read aloud in full.
        let is_accessible = String::from_utf8_lossy(&page).contains("pdfuaid:part");
        assert_eq!(is_accessible, title != long, "{title:?}");
    }
}

#[test]
fn readings_say_how_they_count() {
    let history = history(17);
    let uses = Forecast::of(&history, &Question::new(date(2026, 6, 30))).unwrap().readings().to_vec();
    let table = Table::of_readings(&uses, &history, Units::Us);
    assert_eq!(table.caption, "Readings: the last 12; 7 earlier ones not shown");
    assert_eq!(table.rows[0], ["2026-06-01", "106", "76", "yes, doubted"]);
    assert_eq!(table.rows[1], ["2025-05-10", "110", "80", "yes"]);
    let aside = Table::of_readings(&history.readings_for_a_line(date(2026, 6, 30)), &history, Units::Us);
    assert_eq!(aside.rows[0][3], "no: doubted by whoever took it");
    let metric = Table::of_readings(&uses, &history, Units::Si);
    assert_eq!(metric.headings[1], "rim to liquid, cm");
    assert_eq!(metric.rows[1][1..3], ["279", "203"]); // 110 in and 80 in
    let dry = Table::of_readings(&uses[..1], &history, Units::Us);
    assert_eq!(dry.rows[0][1..3], ["dry", "180 or more"]);
    let at_inlet = History::new(pit()).with_readings([Reading::at_inlet(date(2026, 5, 1))]);
    let uses = at_inlet.readings_for_a_line(date(2026, 6, 30));
    assert_eq!(Table::of_readings(&uses, &at_inlet, Units::Us).rows[0][1..3], ["at inlet", "0"]);
}
