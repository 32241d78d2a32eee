//! The exhibit on a sheet of paper: every line of text, rule and figure with its place, in reading order.
//!
//! Sizes give way until the page holds everything: text and figures together. The PDF is drawn from this; the
//! HTML takes its sizes from it, because a style sheet cannot ask whether a page is full.

use super::Paper;
use super::content::{BLANKS, CAUTIONS, Exhibit, IN_BRIEF, Table, is_short};
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
/// Between the chart and the section, at full size.
pub(super) const FIGURE_GAP: f64 = 8.0;
/// Room of a decimal, in sizes of the text: a full stop and a digit of the bundled font, and nearly so of any other.
pub(crate) const DECIMAL: f64 = 0.84;
/// Least space between the columns of a table.
pub(crate) const CELL_GAP: f64 = 9.0;
/// Size of the text, points, and scale of the figures, from the most comfortable to the tightest. Down to 0.87 the smallest words
/// in the figures keep 6.5 points.
const SIZES: [(f64, f64); 12] = [
    (9.0, 1.0),
    (8.75, 1.0),
    (8.5, 1.0),
    (8.25, 1.0),
    (8.0, 0.97),
    (7.75, 0.94),
    (7.5, 0.91),
    (7.25, 0.87),
    (7.0, 0.87),
    (6.75, 0.87),
    (6.5, 0.87),
    (6.5, 0.6),
];

/// The page with everything in its place.
#[derive(Debug)]
pub(super) struct Sheet<'e> {
    pub(super) size: (f64, f64),
    /// Size of the text, points.
    pub(super) text: f64,
    /// Width of the chart and of the section, points.
    pub(super) figures: [f64; 2],
    pub(super) blocks: Vec<Block<'e>>,
    /// Parts of the page, each with where it begins.
    pub(super) marks: Vec<(&'static str, f64)>,
    /// Whether a table cuts what it holds.
    is_cramped: bool,
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

impl Line {
    /// Moved so that it ends there, if it does not begin farther right already.
    fn end_at(&mut self, right: f64) {
        self.x = self.x.max(right - width(&self.text, self.size, self.weight));
    }
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
            if sheet.bottom <= lowest && !sheet.is_cramped {
                break;
            }
            sheet = Self::laid_out(exhibit, paper, sizes);
        }
        sheet
    }

    fn laid_out(exhibit: &'e Exhibit, paper: Paper, (text, scale): (f64, f64)) -> Self {
        let size = paper.size();
        let width = size.0 - 2.0 * EDGE;
        let mut page = Column::new((EDGE, EDGE), width, text);
        page.heading(&exhibit.heading());
        page.paragraph(&exhibit.day(), text, Weight::Regular);
        page.y += text * 0.5;
        page.paragraph(&exhibit.answer, text * 1.25, Weight::Bold);
        page.y += text * 0.2;
        page.paragraph(IN_BRIEF, text, Weight::Regular);
        page.y += text * 0.6;
        let figures = page.figures(exhibit, scale);
        page.y += text * 0.6;

        let (left_width, right_width) =
            ((width - GUTTER) * LEFT_SHARE, (width - GUTTER) * (1.0 - LEFT_SHARE));
        let mut left = page.beside(EDGE, left_width);
        let mut right = page.beside(EDGE + left_width + GUTTER, right_width);
        left.facts(exhibit);
        right.notes(exhibit);
        page.y = left.y.max(right.y);
        page.is_cramped = left.is_cramped || right.is_cramped;
        page.blocks.append(&mut left.blocks);
        page.blocks.append(&mut right.blocks);
        page.marks.append(&mut left.marks);
        page.marks.append(&mut right.marks);

        let names = name_width(["Method", "Cautions"], text);
        page.mark("Method and cautions");
        page.note("Method", &exhibit.method, names);
        page.note("Cautions", CAUTIONS, names);
        page.mark("Signature");
        page.blanks();
        page.paragraph(&exhibit.origin(), text * 0.9, Weight::Regular);
        Self {
            size,
            text,
            figures,
            is_cramped: page.is_cramped,
            bottom: page.y,
            blocks: page.blocks,
            marks: page.marks,
        }
    }
}

/// What is laid out from top to bottom within a width; `y` is where the next thing begins.
pub(crate) struct Column<'e> {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) width: f64,
    pub(crate) text: f64,
    pub(crate) blocks: Vec<Block<'e>>,
    pub(crate) marks: Vec<(&'static str, f64)>,
    /// Whether a table cuts what it holds.
    is_cramped: bool,
}

impl<'e> Column<'e> {
    pub(crate) fn new((x, y): (f64, f64), width: f64, text: f64) -> Self {
        Self { x, y, width, text, blocks: Vec::new(), marks: Vec::new(), is_cramped: false }
    }

    fn beside(&self, x: f64, width: f64) -> Self {
        Self::new((x, self.y), width, self.text)
    }

    /// Where a part of the page begins.
    fn mark(&mut self, name: &'static str) {
        self.marks.push((name, self.y));
    }

    /// The readings, and what is said of the pit itself.
    fn facts(&mut self, exhibit: &'e Exhibit) {
        if let Some(readings) = &exhibit.readings {
            self.mark("Readings");
            self.table(readings);
        }
        self.named(&exhibit.facts);
    }

    /// The years ahead, and what is to be known of the forecast.
    fn notes(&mut self, exhibit: &'e Exhibit) {
        self.mark("Outlook and what it rests on");
        if let Some(outlook) = &exhibit.outlook {
            self.table(outlook);
        }
        self.named(&exhibit.notes);
    }

    /// Notes whose texts begin below each other.
    fn named(&mut self, notes: &[(String, String)]) {
        let names = name_width(notes.iter().map(|(name, _)| name.as_str()), self.text);
        notes.iter().for_each(|(name, text)| self.note(name, text, names));
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

    /// The chart and the section side by side, no larger than the scale or the page allows; their widths.
    fn figures(&mut self, exhibit: &'e Exhibit, scale: f64) -> [f64; 2] {
        self.mark("Forecast and pit");
        let section = exhibit.section.as_ref();
        let own = exhibit.chart.size().0 + section.map_or(0.0, |section| FIGURE_GAP + section.size().0);
        let scale = scale.min(self.width / own);
        let (x, top) = (self.x + (self.width - own * scale) / 2.0, self.y);
        let chart = self.figure(&exhibit.chart, exhibit.chart_in_words(), (x, top), scale);
        let Some(section) = section else { return [chart, 0.0] };
        let beside = (x + chart + FIGURE_GAP * scale, top);
        let words = format!("Section through the pit. {}", section.description());
        [chart, self.figure(section, words, beside, scale)]
    }

    /// A figure, and its width.
    pub(crate) fn figure(&mut self, svg: &'e Svg, words: String, (x, y): (f64, f64), scale: f64) -> f64 {
        let (width, height) = svg.size();
        let (width, height) = (width * scale, height * scale);
        self.y = self.y.max(y + height);
        self.blocks.push(Block::Figure { svg, words, place: Place { x, y, width, height } });
        width
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
        self.is_cramped |= is_cramped(table, self.width, self.text);
        let mut rules = vec![self.rule()];
        let mut rows = vec![self.row(table, &table.headings, &widths, Weight::Bold)];
        rules.push(self.rule());
        for row in &table.rows {
            rows.push(self.row(table, row, &widths, Weight::Regular));
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

    fn row(&mut self, table: &Table, cells: &[String], widths: &[f64], weight: Weight) -> Vec<Vec<Line>> {
        let top = self.y;
        let mut x = self.x;
        let mut lowest = top + self.text * LEADING;
        let mut row = Vec::new();
        for (column, (cell, width)) in cells.iter().zip(widths).enumerate() {
            self.y = top;
            let mut lines = self.cell(cell, x, width - CELL_GAP, weight);
            if table.is_of_numbers(column) {
                let leaves_room = weight == Weight::Regular && table.leaves_room_for_a_decimal(column, cell);
                let decimal = if leaves_room { DECIMAL * self.text } else { 0.0 };
                lines.iter_mut().for_each(|line| line.end_at(x + width - CELL_GAP - decimal));
            }
            row.push(lines);
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
            false
                if weight == Weight::Bold
                    && longest_word(&glued_heading(cell), self.text, weight) <= room =>
            {
                lines(&glued_heading(cell), room, self.text, weight)
            }
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

/// A heading keeps its unit beside its last word.
fn glued_heading(text: &str) -> String {
    glued(text).replace(", ", &format!(",{GLUE}"))
}

fn longest_word(text: &str, size: f64, weight: Weight) -> f64 {
    text.split(' ').map(|word| width(word, size, weight)).fold(0.0, f64::max)
}

/// Whether a column would have to cut what it holds, because the others leave no room.
fn is_cramped(table: &Table, room: f64, size: f64) -> bool {
    let needed = |cell: &String, weight| match is_short(cell) {
        true => width(cell, size, weight),
        false => longest_word(cell, size, weight),
    };
    let of_column = |column: usize| {
        let heading = table.headings.get(column).map_or(0.0, |heading| needed(heading, Weight::Bold));
        let cells = table.rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| needed(cell, Weight::Regular)).fold(heading, f64::max) + CELL_GAP + 0.5
    };
    (0..table.headings.len()).map(of_column).sum::<f64>() > room
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
        let glued = glued_heading(heading);
        let words = glued.split(|letter: char| letter == ' ' && !is_short(heading));
        let of_heading = words.map(|word| width(word, size, Weight::Bold)).fold(0.0, f64::max);
        let cells = table.rows.iter().filter_map(|row| row.get(place));
        let of_cell = |cell: &String| {
            let decimal = if table.leaves_room_for_a_decimal(place, cell) { DECIMAL * size } else { 0.0 };
            width(cell, size, Weight::Regular) + decimal
        };
        let of_cells = cells.map(of_cell).fold(0.0, f64::max);
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
