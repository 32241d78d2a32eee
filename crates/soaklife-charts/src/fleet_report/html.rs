//! The fleet report as one HTML file: no script, nothing fetched, and page breaks where the paper has them.

use super::FleetReport;
use super::content::{CAUTIONS, Part, Section};
use super::layout::{EDGE, HEADING, TEXT};
use crate::exhibit::html::{figure, notes, table};
use crate::exhibit::layout::{CELL_GAP, DECIMAL, LEADING};
use crate::exhibit::{Paper, Table};
use crate::font;
use crate::svg::escaped;
use crate::theme;
use std::fmt::Write as _;

impl FleetReport {
    /// The report as one HTML file that prints to sheets of this paper; the same bytes every time.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let page = FleetReport::new("<b>", date(2026, 6, 30)).to_html(Paper::Letter);
    /// assert!(page.contains("&lt;b&gt;") && page.contains("size: letter"));
    /// ```
    #[must_use]
    pub fn to_html(&self, paper: Paper) -> String {
        let mut page = String::new();
        let _ = write!(
            page,
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{}</title>\n\
             <style>\n{}</style>\n</head>\n<body>\n<main>\n<header>\n<h1>{}</h1>\n<p>{}</p>\n</header>\n",
            escaped(&self.foot()),
            style(self, paper),
            escaped(&self.heading()),
            escaped(&self.day())
        );
        let mut figures = 0;
        for (place, part) in self.sections.iter().enumerate() {
            page.push_str("<section>\n");
            section(&mut page, part, &mut figures);
            if place == 0 {
                self.seal(&mut page);
            }
            page.push_str("</section>\n");
        }
        if self.sections.is_empty() {
            self.seal(&mut page);
        }
        page.push_str("</main>\n</body>\n</html>\n");
        page
    }

    fn seal(&self, page: &mut String) {
        notes(page, [("Cautions", CAUTIONS)]);
        let _ = writeln!(page, "<p class=\"origin\">{}</p>", escaped(&self.origin()));
    }
}

fn section(page: &mut String, section: &Section, figures: &mut usize) {
    if !section.heading.is_empty() {
        let _ = writeln!(page, "<h2>{}</h2>", escaped(&section.heading));
    }
    for part in &section.parts {
        match part {
            Part::Answer(text) => _ = writeln!(page, "<p class=\"answer\">{}</p>", escaped(text)),
            Part::Paragraph(text) => _ = writeln!(page, "<p>{}</p>", escaped(text)),
            Part::Notes(told) => {
                notes(page, told.iter().map(|(name, text)| (name.as_str(), text.as_str())));
            }
            Part::Points(points) => {
                page.push_str("<ul>\n");
                points.iter().for_each(|point| _ = writeln!(page, "<li>{}</li>", escaped(point)));
                page.push_str("</ul>\n");
            }
            Part::Table(told) => movable_table(page, told),
            Part::Figure(svg) => {
                *figures += 1;
                figure(page, &format!("figure-{figures}"), svg);
            }
        }
    }
}

/// A table; where it is wider than the screen it can be moved, without a mouse too.
fn movable_table(page: &mut String, told: &Table) {
    let name = escaped(&told.caption);
    let _ = writeln!(page, "<div class=\"movable\" role=\"region\" aria-label=\"{name}\" tabindex=\"0\">");
    table(page, told);
    page.push_str("</div>\n");
}

/// The style sheet; a section that does not fit what is left of a page begins the next, every further figure a page.
fn style(report: &FleetReport, paper: Paper) -> String {
    let (width, height) = paper.size();
    let inner = theme::WIDTH;
    let side = (width - inner) / 2.0;
    // A figure and the heading above it share a page.
    let tallest = height - 2.0 * EDGE - 60.0;
    let families = font::FAMILIES.replacen(
        "Open Sans",
        "\"Open Sans\", \"Noto Sans\", \"Helvetica Neue\", Arial, \"Liberation Sans\"",
        1,
    );
    let (name, foot) = (paper.name(), quoted(&report.foot()));
    format!(
        "@page {{ size: {name}; margin: {EDGE}pt {side:.3}pt; \
         @bottom-left {{ content: {foot}; font: 7.5pt {families} }} \
         @bottom-right {{ content: \"Page \" counter(page) \" of \" counter(pages); font: 7.5pt {families} }} }}\n\
         * {{ box-sizing: border-box; margin: 0; padding: 0 }}\n\
         html {{ background: #fff; color: #1c2026; font: {TEXT}pt/{LEADING} {families} }}\n\
         main {{ width: {inner}pt; max-width: 100%; margin: 0 auto }}\n\
         h1 {{ font-size: 1.9em; line-height: {LEADING}; overflow-wrap: anywhere }}\n\
         h2 {{ font-size: {HEADING}em; line-height: {LEADING}; margin: 0.5em 0 0.3em; overflow-wrap: anywhere; break-after: avoid }}\n\
         p {{ margin-bottom: 0.6em; overflow-wrap: anywhere }}\n\
         .answer {{ font-size: 1.15em; font-weight: bold }}\n\
         section {{ break-inside: avoid }}\n\
         figure {{ break-inside: avoid }}\n\
         figure + figure {{ break-before: page }}\n\
         figure svg {{ display: block; margin: 0 auto 0.6em; width: {inner}pt; max-width: 100%; max-height: {tallest:.0}pt; height: auto }}\n\
         table {{ width: 100%; border-collapse: collapse; border-bottom: 0.5pt solid #5c626a; margin-bottom: 0.6em }}\n\
         caption {{ text-align: left; font-weight: bold; break-after: avoid }}\n\
         tr {{ break-inside: avoid }}\n\
         th, td {{ text-align: left; vertical-align: top; font-weight: normal; padding-right: {CELL_GAP}pt; white-space: nowrap }}\n\
         .number {{ text-align: right }}\n\
         .whole {{ padding-right: calc({CELL_GAP}pt + {DECIMAL}em) }}\n\
         .long {{ white-space: normal }}\n\
         td.long, th.long {{ overflow-wrap: anywhere }}\n\
         tbody tr:first-child > * {{ padding-top: 0.2em }}\n\
         thead th {{ font-weight: bold; border: solid #5c626a; border-width: 0.5pt 0 }}\n\
         dl {{ display: grid; grid-template-columns: fit-content(40%) minmax(0, 1fr); gap: 0.35em 7pt; margin-bottom: 0.6em }}\n\
         dt {{ font-weight: bold; overflow-wrap: anywhere }}\n\
         dd {{ overflow-wrap: anywhere }}\n\
         ul {{ padding-left: 1.1em; margin-bottom: 0.6em }}\n\
         li {{ margin-bottom: 0.2em }}\n\
         .origin {{ font-size: 0.9em; color: #5c626a }}\n\
         @media screen {{ html {{ font-size: 11pt; padding: 16pt }} main {{ width: 640pt }} \
         figure svg {{ width: 100%; max-height: none }} section + section {{ margin-top: 2.5em }} }}\n\
         @media screen and (max-width: 500pt) {{ .movable {{ overflow-x: auto }} .long {{ white-space: nowrap }} }}\n"
    )
}

/// A text as a string of a style sheet (CSS Syntax Level 3, 4.3.5): letters that would end it, or the style, are told by number.
fn quoted(text: &str) -> String {
    let letter = |letter: char| match letter {
        '"' | '\\' | '<' | '>' | '&' | '\n' => format!("\\{:x} ", u32::from(letter)),
        letter => letter.to_string(),
    };
    format!("\"{}\"", text.chars().map(letter).collect::<String>())
}
