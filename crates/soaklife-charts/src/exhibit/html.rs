//! The exhibit as one HTML file: no script, nothing fetched, and one page when printed.

use super::Paper;
use super::content::{BLANKS, CAUTIONS, Exhibit, IN_BRIEF, Table, is_short};
use super::layout::{CELL_GAP, DECIMAL, EDGE, FIGURE_GAP, GUTTER, LEADING, LEFT_SHARE, Sheet};
use crate::font;
use crate::svg::{Svg, escaped};
use std::fmt::Write as _;

/// Share of the page kept free: a browser without the bundled font may take a wider one.
const UNUSED: f64 = 0.06;

impl Exhibit {
    /// The page as one HTML file that prints to one sheet of this paper; the same bytes every time.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// let exhibit = Exhibit::new("H-1, <b>", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let page = exhibit.to_html(Paper::Letter);
    /// assert!(page.contains("H-1, &lt;b&gt;") && page.contains("size: letter"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn to_html(&self, paper: Paper) -> String {
        let sheet = Sheet::fitted(self, paper, UNUSED);
        let mut page = String::new();
        let title = escaped(&format!("{}, {}", self.heading(), self.day()));
        let _ = write!(
            page,
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{title}</title>\n\
             <style>\n{}</style>\n</head>\n<body>\n<main>\n",
            style(&sheet, paper)
        );
        let _ = writeln!(
            page,
            "<header>\n<h1>{}</h1>\n<p>{}</p>\n</header>\n<p class=\"answer\">{}</p>\n<p>{IN_BRIEF}</p>\n<div class=\"figures\">",
            escaped(&self.heading()),
            escaped(&self.day()),
            escaped(&self.answer)
        );
        figure(&mut page, "chart", &self.chart);
        self.section.iter().for_each(|section| figure(&mut page, "section", section));
        page.push_str("</div>\n<div class=\"columns\">\n<section>\n<h2>What was measured</h2>\n");
        self.readings.iter().for_each(|readings| table(&mut page, readings));
        notes(&mut page, borrowed(&self.facts));
        page.push_str("</section>\n<section>\n<h2>What follows from it</h2>\n");
        self.outlook.iter().for_each(|outlook| table(&mut page, outlook));
        notes(&mut page, borrowed(&self.notes));
        page.push_str("</section>\n</div>\n<section>\n<h2>Method, cautions and signature</h2>\n");
        notes(&mut page, vec![("Method", self.method.as_str()), ("Cautions", CAUTIONS)]);
        page.push_str("<ul class=\"blanks\">\n");
        BLANKS.iter().for_each(|blank| {
            let _ = writeln!(page, "<li>{blank}</li>");
        });
        let _ = write!(
            page,
            "</ul>\n</section>\n<footer><p>{}</p></footer>\n</main>\n</body>\n</html>\n",
            escaped(&self.origin())
        );
        page
    }
}

/// A figure as it is; its names are made its own, because two figures share the page.
pub(crate) fn figure(page: &mut String, name: &str, svg: &Svg) {
    let drawing = svg
        .as_str()
        .replacen(
            "aria-labelledby=\"title desc\"",
            &format!("aria-labelledby=\"{name}-title {name}-desc\""),
            1,
        )
        .replacen("id=\"title\"", &format!("id=\"{name}-title\""), 1)
        .replacen("id=\"desc\"", &format!("id=\"{name}-desc\""), 1);
    let _ = writeln!(page, "<figure class=\"{name}\">\n{}</figure>", drawing);
}

pub(crate) fn table(page: &mut String, table: &Table) {
    if table.rows.is_empty() {
        let _ = writeln!(page, "<p class=\"empty\">{}</p>", escaped(&table.caption));
        return;
    }
    let _ = writeln!(page, "<table>\n<caption>{}</caption>\n<thead>\n<tr>", escaped(&table.caption));
    for (column, heading) in table.headings.iter().enumerate() {
        let class = class(heading, table.is_of_numbers(column), false);
        let _ = write!(page, "<th scope=\"col\"{class}>{}</th>", escaped(heading));
    }
    page.push_str("</tr>\n</thead>\n<tbody>\n");
    for row in &table.rows {
        page.push_str("<tr>");
        for (place, cell) in row.iter().enumerate() {
            let (is_number, is_whole) =
                (table.is_of_numbers(place), table.leaves_room_for_a_decimal(place, cell));
            let (class, cell) = (class(cell, is_number, is_whole), escaped(cell));
            let _ = match place {
                0 => write!(page, "<th scope=\"row\"{class}>{cell}</th>"),
                _ => write!(page, "<td{class}>{cell}</td>"),
            };
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody>\n</table>\n");
}

/// Only a long cell is broken into lines; numbers stand at the right, whole ones where others are whole.
fn class(cell: &str, is_number: bool, is_whole: bool) -> String {
    let classes = [(!is_short(cell), "long"), (is_number, "number"), (is_whole, "whole")];
    let classes: Vec<&str> = classes.into_iter().filter(|(has, _)| *has).map(|(_, name)| name).collect();
    if classes.is_empty() { String::new() } else { format!(" class=\"{}\"", classes.join(" ")) }
}

fn borrowed(notes: &[(String, String)]) -> Vec<(&str, &str)> {
    notes.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect()
}

/// Notes with their names; a list of none would be no list.
pub(crate) fn notes<'n>(page: &mut String, notes: impl IntoIterator<Item = (&'n str, &'n str)>) {
    let mut notes = notes.into_iter().peekable();
    if notes.peek().is_none() {
        return;
    }
    page.push_str("<dl>\n");
    for (name, text) in notes {
        let _ = writeln!(page, "<dt>{}</dt><dd>{}</dd>", escaped(name), escaped(text));
    }
    page.push_str("</dl>\n");
}

/// The style sheet: what the layout found to fit, and on a screen the same page, narrower on a telephone.
fn style(sheet: &Sheet<'_>, paper: Paper) -> String {
    let (width, height) = sheet.size;
    let (text, [chart, section], inner) = (sheet.text, sheet.figures, width - 2.0 * EDGE);
    let side_by_side = if section > 0.0 { format!("{chart:.3}fr {section:.3}fr") } else { "1fr".to_owned() };
    let figures = chart + section + if section > 0.0 { FIGURE_GAP } else { 0.0 };
    let (left, right) = (LEFT_SHARE * 100.0, (1.0 - LEFT_SHARE) * 100.0);
    let families = font::FAMILIES.replacen(
        "Open Sans",
        "\"Open Sans\", \"Noto Sans\", \"Helvetica Neue\", Arial, \"Liberation Sans\"",
        1,
    );
    let name = paper.name();
    format!(
        "@page {{ size: {name}; margin: {EDGE}pt }}\n\
         * {{ box-sizing: border-box; margin: 0; padding: 0 }}\n\
         html {{ background: #fff; color: #1c2026; font: {text}pt/{LEADING} {families} }}\n\
         main {{ width: {inner:.3}pt; max-width: 100%; margin: 0 auto }}\n\
         h1 {{ font-size: 1.9em; line-height: {LEADING}; overflow-wrap: anywhere }}\n\
         h2 {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%) }}\n\
         .answer {{ font-size: 1.25em; font-weight: bold; margin: 0.4em 0 0.2em }}\n\
         .figures {{ display: grid; grid-template-columns: {side_by_side}; gap: {FIGURE_GAP}pt; width: {figures:.3}pt; max-width: 100%; margin: 0.6em auto }}\n\
         figure svg {{ display: block; width: 100%; height: auto }}\n\
         .columns {{ display: grid; grid-template-columns: minmax(0, {left}fr) minmax(0, {right}fr); gap: 0 {GUTTER}pt; position: relative }}\n\
         table {{ width: 100%; border-collapse: collapse; border-bottom: 0.5pt solid #5c626a; margin-bottom: 0.6em }}\n\
         caption, .empty {{ text-align: left; font-weight: bold }}\n\
         .empty {{ margin-bottom: 0.35em }}\n\
         th, td {{ text-align: left; vertical-align: top; font-weight: normal; padding-right: {CELL_GAP}pt; white-space: nowrap }}\n\
         .number {{ text-align: right }}\n\
         .whole {{ padding-right: calc({CELL_GAP}pt + {DECIMAL}em) }}\n\
         .long {{ white-space: normal }}\n\
         td.long {{ overflow-wrap: anywhere }}\n\
         tbody tr:first-child > * {{ padding-top: 0.2em }}\n\
         thead th {{ font-weight: bold; border: solid #5c626a; border-width: 0.5pt 0 }}\n\
         dl {{ display: grid; grid-template-columns: max-content minmax(0, 1fr); gap: 0.35em {CELL_GAP}pt; margin-bottom: 0.35em }}\n\
         dt {{ font-weight: bold }}\n\
         dd {{ overflow-wrap: anywhere }}\n\
         .blanks {{ display: grid; grid-template-columns: 32fr 20fr 32fr 16fr; gap: {CELL_GAP}pt; list-style: none; margin: 3.2em 0 0.5em }}\n\
         .blanks li {{ border-top: 0.5pt solid #5c626a }}\n\
         footer {{ font-size: 0.9em; color: #5c626a; overflow-wrap: anywhere }}\n\
         @media screen {{ html {{ font-size: 11pt; padding: 16pt }} main, .figures {{ width: {height:.0}pt }} }}\n\
         @media screen and (max-width: 600pt) {{ .figures, .columns, .blanks {{ display: block }} .section svg {{ width: {section:.0}pt; max-width: 100%; margin: 0 auto }} .blanks li {{ margin-top: 3em }} table {{ font-size: 0.85em }} th, td {{ padding-right: 5pt }} .whole {{ padding-right: calc(5pt + {DECIMAL}em) }} thead th {{ white-space: normal }} }}\n"
    )
}
