//! The fleet report on sheets of paper: every block with its page and place, in reading order.

use super::content::{CAUTIONS, FleetReport, Part, Section};
use crate::exhibit::layout::{Block, Column, Line, name_width};
use crate::exhibit::{Paper, Table};
use crate::font::{self, Weight};
use crate::svg::Svg;
use crate::theme;

/// Free edge above and below, points.
pub(super) const EDGE: f64 = 50.0;
/// Size of the text, points.
pub(super) const TEXT: f64 = 8.75;
pub(super) const HEADING: f64 = 1.5;
/// Between the text and the foot of the page.
const ABOVE_FOOT: f64 = 20.0;
const FOOT_SIZE: f64 = 7.5;
/// Where less than this is left of a page, a table does not begin on it.
const LEAST_FOR_A_TABLE: f64 = 90.0;

/// A page with everything in its place.
#[derive(Debug)]
pub(super) struct Page<'e> {
    pub(super) items: Vec<Item<'e>>,
    /// Name of the report and number of the page.
    pub(super) foot: [Line; 2],
}

#[derive(Debug)]
pub(super) enum Item<'e> {
    /// The heading of a section.
    Section(Vec<Line>),
    Block(Block<'e>),
}

/// Breaks the report into pages of this paper.
pub(super) fn pages(report: &FleetReport, paper: Paper) -> Vec<Page<'_>> {
    let mut flow = Flow::on(paper);
    flow.title(report);
    for (place, section) in report.sections.iter().enumerate() {
        match place {
            0 => flow.section(section),
            _ => flow.section_in_one(section),
        }
        if place == 0 {
            flow.seal(report);
        }
    }
    if report.sections.is_empty() {
        flow.seal(report);
    }
    flow.turn();
    let count = flow.pages.len();
    let numbered = |(place, items)| Page { items, foot: foot(report, paper, place + 1, count) };
    flow.pages.into_iter().enumerate().map(numbered).collect()
}

fn foot(report: &FleetReport, paper: Paper, page: usize, of: usize) -> [Line; 2] {
    let (width, height) = paper.size();
    let left = (width - theme::WIDTH) / 2.0;
    let y = height - EDGE + FOOT_SIZE;
    let number = format!("Page {page} of {of}");
    let x = left + theme::WIDTH - font::width(&number, FOOT_SIZE, Weight::Regular);
    let name = font::fitted(&report.foot(), x - left - 12.0, FOOT_SIZE, Weight::Regular);
    [(left, name), (x, number)].map(|(x, text)| Line { x, y, size: FOOT_SIZE, weight: Weight::Regular, text })
}

/// What is laid out page after page.
struct Flow<'e> {
    pages: Vec<Vec<Item<'e>>>,
    items: Vec<Item<'e>>,
    column: Column<'e>,
    bottom: f64,
}

impl<'e> Flow<'e> {
    fn on(paper: Paper) -> Self {
        let (width, height) = paper.size();
        let column = Column::new(((width - theme::WIDTH) / 2.0, EDGE), theme::WIDTH, TEXT);
        Self { pages: Vec::new(), items: Vec::new(), column, bottom: height - EDGE - ABOVE_FOOT }
    }

    /// The page is full, if there is anything on it.
    fn turn(&mut self) {
        self.take();
        if !self.items.is_empty() {
            self.pages.push(std::mem::take(&mut self.items));
        }
        self.column.y = EDGE;
    }

    /// Takes over what has been laid out.
    fn take(&mut self) {
        self.items.extend(self.column.blocks.drain(..).map(Item::Block));
    }

    /// Lays something out where it has room: here, or at the top of the next page.
    fn place(&mut self, lay: impl Fn(&mut Column<'e>)) {
        let (begin, before) = (self.column.y, self.column.blocks.len());
        lay(&mut self.column);
        if self.column.y > self.bottom && begin > EDGE {
            self.column.blocks.truncate(before);
            self.turn();
            lay(&mut self.column);
        }
    }

    fn title(&mut self, report: &FleetReport) {
        self.column.heading(&report.heading());
        self.column.paragraph(&report.day(), TEXT, Weight::Regular);
        self.column.y += TEXT * 0.7;
    }

    /// A section on what is left of the page, if all of it has room there; else it begins the next.
    fn section_in_one(&mut self, section: &'e Section) {
        self.take();
        let (pages, items, y) = (self.pages.len(), self.items.len(), self.column.y);
        if y > EDGE {
            self.column.y += TEXT;
        }
        self.section(section);
        if self.pages.len() == pages || items == 0 {
            return;
        }
        self.pages.truncate(pages + 1);
        self.items = self.pages.pop().unwrap_or_default();
        self.items.truncate(items);
        self.column.blocks.clear();
        self.turn();
        self.section(section);
    }

    fn section(&mut self, section: &'e Section) {
        if !section.heading.is_empty() {
            self.take();
            let Column { x, width, .. } = self.column;
            let lines = self.column.lines(&section.heading, x, width, TEXT * HEADING, Weight::Bold);
            self.items.push(Item::Section(lines));
            self.column.y += TEXT * 0.4;
        }
        section.parts.iter().for_each(|part| self.part(part));
    }

    fn part(&mut self, part: &'e Part) {
        match part {
            Part::Answer(text) => self.place(|column| {
                column.paragraph(text, TEXT * 1.15, Weight::Bold);
                column.y += TEXT * 0.6;
            }),
            Part::Paragraph(text) => self.place(|column| {
                column.paragraph(text, TEXT, Weight::Regular);
                column.y += TEXT * 0.6;
            }),
            Part::Notes(notes) => {
                let names = notes.iter().map(|(name, _)| name.as_str());
                let names = name_width(names, TEXT).min(self.column.width * 0.4);
                notes.iter().for_each(|(name, text)| {
                    let name = font::fitted(name, names, TEXT, Weight::Bold);
                    self.place(|column| column.note(&name, text, names));
                });
                self.column.y += TEXT * 0.4;
            }
            Part::Points(points) => {
                let points = points.iter();
                points.for_each(|point| self.place(|column| column.note("–", point, TEXT)));
                self.column.y += TEXT * 0.4;
            }
            Part::Table(table) => self.table(table.clone()),
            Part::Figure(figure) => self.figure(figure),
        }
    }

    /// A figure; below a heading it is made a little smaller rather than leave the heading alone.
    fn figure(&mut self, figure: &'e Svg) {
        const SMALLEST: f64 = 0.85;
        let (width, height) = figure.size();
        if self.bottom - self.column.y < height.min(self.bottom - EDGE) * SMALLEST {
            self.turn();
        }
        let scale = (theme::WIDTH / width).min((self.bottom - self.column.y) / height);
        let middle = self.column.x + (self.column.width - width * scale) / 2.0;
        let place = (middle, self.column.y);
        self.column.figure(figure, figure.description().to_owned(), place, scale);
        self.column.y += TEXT;
    }

    /// A table; what does not fit the page goes on on the next, under the same headings.
    fn table(&mut self, mut table: Table) {
        if self.bottom - self.column.y < LEAST_FOR_A_TABLE && self.column.y > EDGE {
            self.turn();
        }
        loop {
            let fits = self.rows_that_fit(&table);
            let rest = table.rows.split_off(fits);
            self.column.table(&table);
            if rest.is_empty() {
                return;
            }
            self.turn();
            if !table.caption.ends_with("(continued)") {
                table.caption.push_str(" (continued)");
            }
            table.rows = rest;
        }
    }

    /// How many of the rows have room on the page, one at least.
    fn rows_that_fit(&mut self, table: &Table) -> usize {
        let (mut fits, mut tried) = (0, table.rows.len());
        let (begin, before) = (self.column.y, self.column.blocks.len());
        // Halving finds the most, because more rows are never lower.
        let mut too_many = tried + 1;
        while fits + 1 < too_many {
            let part = Table { rows: table.rows.iter().take(tried).cloned().collect(), ..table.clone() };
            self.column.table(&part);
            if self.column.y <= self.bottom {
                fits = tried
            } else {
                too_many = tried
            }
            self.column.blocks.truncate(before);
            self.column.y = begin;
            tried = usize::midpoint(fits, too_many);
        }
        fits.max(1).min(table.rows.len())
    }

    /// Cautions and origin end the summary.
    fn seal(&mut self, report: &FleetReport) {
        self.place(|column| column.note("Cautions", CAUTIONS, name_width(["Cautions"], TEXT)));
        self.place(|column| {
            column.y += TEXT * 0.3;
            column.paragraph(&report.origin(), TEXT * 0.9, Weight::Regular);
        });
    }
}
