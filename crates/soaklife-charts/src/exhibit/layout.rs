//! The exhibit on a sheet of paper: every line of text, rule and figure with its place, in reading order.
//!
//! Sizes give way until the page holds everything: the chart first, then the text. The PDF is drawn from this; the
//! HTML takes its sizes from it, because a style sheet cannot ask whether a page is full.

use super::Paper;
use super::content::{BLANKS, CAUTIONS, Exhibit, Table, is_short};
use crate::font::{Weight, fitted, lines, width};
use crate::svg::Svg;

/// Free edge of the sheet, points: what any printer leaves white, and a little more.
pub(super) const EDGE: f64 = 34.0;
/// Between the two columns.
pub(super) const GUTTER: f64 = 16.0;
/// Share of the left column.
pub(super) const LEFT_SHARE: f64 = 0.48;
/// Line to line, in sizes of the text.
pub(crate) const LEADING: f64 = 1.25;
/// Tallest section through the pit.
const TALLEST_SECTION: f64 = 120.0;
/// Least space between the columns of a table.
const CELL_GAP: f64 = 7.0;
/// Size of the text and width of the chart, points, from the most comfortable to the tightest.
const SIZES: [(f64, f64); 10] = [
    (8.5, 468.0),
    (8.25, 450.0),
    (8.0, 430.0),
    (7.75, 410.0),
    (7.5, 390.0),
    (7.25, 365.0),
    (7.0, 340.0),
    (6.75, 310.0),
    (6.5, 280.0),
    (6.5, 240.0),
];

/// The page with everything in its place.
#[derive(Debug)]
pub(super) struct Sheet<'e> {
    pub(super) size: (f64, f64),
    /// Size of the text, points.
    pub(super) text: f64,
    /// Width of the chart, points.
    pub(super) chart: f64,
    pub(super) blocks: Vec<Block<'e>>,
    /// Where the last line ends.
    pub(super) bottom: f64,
}

/// A part of the page, with what it is to a reader.
#[derive(Debug)]
pub(crate) enum Block<'e> {
    Heading(Vec<Line>),
    Paragraph(Vec<Line>),
    /// A name and what is said under it.
    Note {
        name: Line,
        text: Vec<Line>,
    },
    Figure {
        svg: &'e Svg,
        words: String,
        place: Place,
    },
    /// The first row holds the headings, the first cell of every row its own.
    Table {
        caption: Vec<Line>,
        rows: Vec<Vec<Vec<Line>>>,
    },
    /// A line from left to right; it says nothing.
    Rule {
        left: f64,
        right: f64,
        y: f64,
    },
}

/// A line of text that begins at `x` on the baseline `y`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) size: f64,
    pub(crate) weight: Weight,
    pub(crate) text: String,
}

/// Left, top, width and height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl<'e> Sheet<'e> {
    /// The most comfortable sizes that leave so large a share of the height unused.
    pub(super) fn fitted(exhibit: &'e Exhibit, paper: Paper, unused: f64) -> Self {
        let (_, height) = paper.size();
        let lowest = height - EDGE - unused * (height - 2.0 * EDGE);
        let mut sheet = Self::laid_out(exhibit, paper, SIZES[0]);
        for sizes in SIZES.into_iter().skip(1) {
            if sheet.bottom <= lowest {
                break;
            }
            sheet = Self::laid_out(exhibit, paper, sizes);
        }
        sheet
    }

    fn laid_out(exhibit: &'e Exhibit, paper: Paper, (text, chart): (f64, f64)) -> Self {
        let size = paper.size();
        let width = size.0 - 2.0 * EDGE;
        let mut page = Column { x: EDGE, y: EDGE, width, text, blocks: Vec::new() };
        page.heading(&exhibit.heading());
        page.paragraph(&exhibit.day(), text, Weight::Regular);
        page.y += text * 0.5;
        page.paragraph(&exhibit.answer, text * 1.25, Weight::Bold);
        page.y += text * 0.6;
        page.figure(&exhibit.chart, exhibit.chart_in_words(), chart, f64::INFINITY);
        page.y += text * 0.6;

        let (left_width, right_width) =
            ((width - GUTTER) * LEFT_SHARE, (width - GUTTER) * (1.0 - LEFT_SHARE));
        let mut left = page.beside(EDGE, left_width);
        let mut right = page.beside(EDGE + left_width + GUTTER, right_width);
        left.facts(exhibit);
        right.notes(exhibit);
        page.y = left.y.max(right.y);
        page.blocks.append(&mut left.blocks);
        page.blocks.append(&mut right.blocks);

        page.note("Cautions", CAUTIONS, name_width(["Cautions"], text));
        page.blanks();
        page.paragraph(&exhibit.origin(), text * 0.9, Weight::Regular);
        Self { size, text, chart, bottom: page.y, blocks: page.blocks }
    }
}

/// What is laid out from top to bottom within a width; `y` is where the next thing begins.
pub(crate) struct Column<'e> {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) width: f64,
    pub(crate) text: f64,
    pub(crate) blocks: Vec<Block<'e>>,
}

impl<'e> Column<'e> {
    fn beside(&self, x: f64, width: f64) -> Self {
        Self { x, y: self.y, width, text: self.text, blocks: Vec::new() }
    }

    /// The readings, a section through the pit, and the method.
    fn facts(&mut self, exhibit: &'e Exhibit) {
        if let Some(readings) = &exhibit.readings {
            self.table(readings);
        }
        if let Some(section) = &exhibit.section {
            let words = "Section through the pit.".to_owned();
            self.figure(section, words, self.width, TALLEST_SECTION);
            self.y += self.text * 0.6;
        }
        self.note("Method", &exhibit.method, name_width(["Method"], self.text));
    }

    /// The years ahead, and what is to be known of the forecast.
    fn notes(&mut self, exhibit: &'e Exhibit) {
        if let Some(outlook) = &exhibit.outlook {
            self.table(outlook);
        }
        let names = name_width(exhibit.notes.iter().map(|(name, _)| name.as_str()), self.text);
        for (name, text) in &exhibit.notes {
            self.note(name, text, names);
        }
    }

    pub(crate) fn heading(&mut self, text: &str) {
        let lines = self.lines(text, self.x, self.width, self.text * 1.9, Weight::Bold);
        self.blocks.push(Block::Heading(lines));
    }

    pub(crate) fn paragraph(&mut self, text: &str, size: f64, weight: Weight) {
        let lines = self.lines(text, self.x, self.width, size, weight);
        self.blocks.push(Block::Paragraph(lines));
    }

    pub(crate) fn note(&mut self, name: &str, text: &str, name_width: f64) {
        let y = self.y + self.text;
        let name = Line { x: self.x, y, size: self.text, weight: Weight::Bold, text: name.to_owned() };
        let (x, room) = (self.x + name_width, self.width - name_width);
        let text = self.lines(text, x, room, self.text, Weight::Regular);
        self.y += self.text * 0.35;
        self.blocks.push(Block::Note { name, text });
    }

    /// A figure in the middle, no wider than the column and no taller than allowed.
    pub(crate) fn figure(&mut self, svg: &'e Svg, words: String, width: f64, tallest: f64) {
        let (own_width, own_height) = svg.size();
        let scale = (width.min(self.width) / own_width).min(tallest / own_height);
        let (width, height) = (own_width * scale, own_height * scale);
        let place = Place { x: self.x + (self.width - width) / 2.0, y: self.y, width, height };
        self.y += height;
        self.blocks.push(Block::Figure { svg, words, place });
    }

    pub(crate) fn table(&mut self, table: &Table) {
        let caption = self.lines(&table.caption, self.x, self.width, self.text, Weight::Bold);
        if table.rows.is_empty() {
            self.y += self.text * 0.35;
            self.blocks.push(Block::Paragraph(caption));
            return;
        }
        self.y += self.text * 0.15;
        let widths = column_widths(table, self.width, self.text);
        let mut rules = vec![self.rule()];
        let mut rows = vec![self.row(&table.headings, &widths, Weight::Bold)];
        rules.push(self.rule());
        for row in &table.rows {
            rows.push(self.row(row, &widths, Weight::Regular));
        }
        rules.push(self.rule());
        self.y += self.text * 0.6;
        self.blocks.push(Block::Table { caption, rows });
        self.blocks.append(&mut rules);
    }

    fn rule(&mut self) -> Block<'e> {
        self.y += self.text * 0.2;
        Block::Rule { left: self.x, right: self.x + self.width, y: self.y }
    }

    fn row(&mut self, cells: &[String], widths: &[f64], weight: Weight) -> Vec<Vec<Line>> {
        let top = self.y;
        let mut x = self.x;
        let mut lowest = top + self.text * LEADING;
        let mut row = Vec::new();
        for (cell, width) in cells.iter().zip(widths) {
            self.y = top;
            row.push(self.cell(cell, x, width - CELL_GAP, weight));
            lowest = lowest.max(self.y);
            x += width;
        }
        self.y = lowest;
        row
    }

    /// A cell; a short one stays in one line.
    fn cell(&mut self, cell: &str, x: f64, room: f64, weight: Weight) -> Vec<Line> {
        let broken = match is_short(cell) {
            true => vec![fitted(cell, room, self.text, weight)],
            false => lines(&glued(cell), room, self.text, weight),
        };
        self.placed(broken, x, self.text, weight)
    }

    /// What somebody writes in by hand, side by side.
    fn blanks(&mut self) {
        const SHARES: [f64; 4] = [0.32, 0.2, 0.32, 0.16];
        self.y += self.text * 3.2;
        let mut x = self.x;
        let top = self.y;
        for (name, share) in BLANKS.into_iter().zip(SHARES) {
            let room = self.width * share - CELL_GAP;
            self.y = top;
            let lines = self.lines(name, x, room, self.text, Weight::Regular);
            self.blocks.push(Block::Rule { left: x, right: x + room, y: top });
            self.blocks.push(Block::Paragraph(lines));
            x += self.width * share;
        }
        self.y += self.text * 0.5;
    }

    /// A text broken into lines from here on.
    pub(crate) fn lines(&mut self, text: &str, x: f64, room: f64, size: f64, weight: Weight) -> Vec<Line> {
        self.placed(lines(&glued(text), room, size, weight), x, size, weight)
    }

    /// Lines one below the other from here on.
    fn placed(&mut self, broken: Vec<String>, x: f64, size: f64, weight: Weight) -> Vec<Line> {
        let first = self.y + size;
        self.y += broken.len() as f64 * size * LEADING;
        let line = |(place, text): (usize, String)| Line {
            x,
            y: first + place as f64 * size * LEADING,
            size,
            weight,
            text: text.replace(GLUE, " "),
        };
        broken.into_iter().enumerate().map(line).collect()
    }
}

/// Stands for a space at which no line ends; to whoever splits words it is no white space.
const GLUE: &str = "\u{2060}";

/// A percent sign stays with its number.
fn glued(text: &str) -> String {
    text.replace(" %", &format!("{GLUE}%"))
}

/// Room for the longest of these names.
pub(crate) fn name_width<'n>(names: impl IntoIterator<Item = &'n str>, size: f64) -> f64 {
    names.into_iter().map(|name| width(name, size, Weight::Bold)).fold(0.0, f64::max) + CELL_GAP
}

/// Widths of the columns: what their cells need, the widest giving way; what is left over goes to all alike.
fn column_widths(table: &Table, room: f64, size: f64) -> Vec<f64> {
    let columns = table.headings.len();
    let mut widths = vec![CELL_GAP; columns];
    for (place, needed) in widths.iter_mut().enumerate() {
        let heading = table.headings.get(place).map(String::as_str).unwrap_or_default();
        let words = heading.split(|letter: char| letter == ' ' && !is_short(heading));
        let of_heading = words.map(|word| width(word, size, Weight::Bold)).fold(0.0, f64::max);
        let cells = table.rows.iter().filter_map(|row| row.get(place));
        let of_cells = cells.map(|cell| width(cell, size, Weight::Regular)).fold(0.0, f64::max);
        *needed += of_heading.max(of_cells) + 0.5;
    }
    let missing = widths.iter().sum::<f64>() - room;
    if missing > 0.0 {
        if let Some(widest) = widths.iter_mut().max_by(|a, b| a.total_cmp(b)) {
            *widest = (*widest - missing).max(4.0 * size);
        }
    } else {
        widths.iter_mut().for_each(|width| *width -= missing / columns as f64);
    }
    widths
}
