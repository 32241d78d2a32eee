//! The exhibit as one page of PDF: its text can be selected and read aloud, and the same page has the same bytes.

use super::Paper;
use super::content::Exhibit;
use super::layout::{Block, EDGE, Line, Place, Sheet};
use crate::font::{self, Weight};
use crate::svg::{ChartError, Svg, options};
use crate::theme;
use krilla::color::rgb;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, BBox, ContentTag, Identifier, SpanTag, TableHeaderScope, Tag, TagGroup, TagTree,
};
use krilla::text::{Font, TextDirection};
use krilla::{Data, Document, SerializeSettings};
use krilla_svg::{SurfaceExt as _, SvgSettings};
use resvg::usvg::Tree;
use std::num::NonZeroU16;

pub(crate) const LANGUAGE: &str = "en";

impl Exhibit {
    /// The page as PDF on one sheet of this paper: tagged, in English, with the bundled font embedded; the same bytes every
    /// time.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the PDF library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::{Exhibit, ForecastChart, Paper};
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet").svg()?;
    /// let exhibit = Exhibit::new("H-1", date(2026, 6, 30), "No forecast: no reading yet.", chart);
    /// let page = exhibit.to_pdf(Paper::A4)?;
    /// assert!(page.starts_with(b"%PDF-1.")); // ISO 32000-1, 7.5.2
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn to_pdf(&self, paper: Paper) -> Result<Vec<u8>, ChartError> {
        let sheet = Sheet::fitted(self, paper, 0.0);
        // A letter that the bundled font lacks has no shape, which the standard forbids.
        self.written(&sheet, Standard::Accessible).or_else(|_| self.written(&sheet, Standard::None))
    }

    fn written(&self, sheet: &Sheet<'_>, standard: Standard) -> Result<Vec<u8>, ChartError> {
        let (width, height) = sheet.size;
        let settings = PageSettings::from_wh(width as f32, height as f32)
            .ok_or_else(|| refused("the paper has no size"))?;
        let mut document = Document::new_with(settings_of(standard));
        let mut page = document.start_page_with(settings);
        let mut pen = Pen::on(page.surface())?;
        for block in &sheet.blocks {
            pen.block(block)?;
        }
        let tags = pen.finish();
        page.finish();
        document.set_tag_tree(tags);
        document.set_outline(outline(&sheet.marks));
        document.set_metadata(
            Metadata::new()
                .title(format!("{}, {}", self.heading(), self.day()))
                .description(self.answer.clone())
                .language(LANGUAGE.to_owned())
                .creator(self.program.clone()),
        );
        document.finish().map_err(|error| refused(&format!("{error:?}")))
    }
}

/// What the file claims to be, and is refused if it is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standard {
    /// PDF/UA-1 (ISO 14289-1): whoever cannot see the page has it read aloud.
    Accessible,
    None,
}

fn settings_of(standard: Standard) -> SerializeSettings {
    let accessible = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1).finish();
    match (standard, accessible) {
        (Standard::Accessible, Ok(configuration)) => {
            SerializeSettings { configuration, ..SerializeSettings::default() }
        }
        _ => SerializeSettings::default(),
    }
}

/// The bookmarks.
fn outline(marks: &[(&str, f64)]) -> Outline {
    let mut outline = Outline::new();
    for (name, y) in marks {
        let begins = XyzDestination::new(0, Point::from_xy(EDGE as f32, *y as f32));
        outline.push_child(OutlineNode::new((*name).to_owned(), begins));
    }
    outline
}

pub(crate) fn refused(reason: &str) -> ChartError {
    ChartError::Drawing { reason: reason.to_owned() }
}

fn text_of(lines: &[Line]) -> String {
    lines.iter().map(|line| line.text.as_str()).collect::<Vec<_>>().join(" ")
}

/// Draws block after block, and keeps what each is to a reader.
pub(crate) struct Pen<'s> {
    pub(crate) surface: Surface<'s>,
    regular: Font,
    bold: Font,
    pub(crate) tags: TagTree,
}

impl<'s> Pen<'s> {
    pub(crate) fn on(surface: Surface<'s>) -> Result<Self, ChartError> {
        let font = |bytes: &'static [u8]| {
            Font::new(Data::from(bytes), 0).ok_or_else(|| refused("the bundled font cannot be read"))
        };
        let tags = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
        Ok(Self { surface, regular: font(font::REGULAR)?, bold: font(font::BOLD)?, tags })
    }

    pub(crate) fn finish(self) -> TagTree {
        self.surface.finish();
        self.tags
    }

    pub(crate) fn block(&mut self, block: &Block<'_>) -> Result<(), ChartError> {
        match block {
            Block::Heading(lines) => {
                let heading = self.text(Tag::Hn(NonZeroU16::MIN, Some(text_of(lines))), lines);
                self.tags.push(heading);
            }
            Block::Paragraph(lines) => {
                let paragraph = self.text(Tag::P, lines);
                self.tags.push(paragraph);
            }
            Block::Note { name, text } => {
                let mut note = TagGroup::new(Tag::P);
                note.push(self.lines(std::slice::from_ref(name)));
                note.push(self.lines(text));
                self.tags.push(note);
            }
            Block::Figure { svg, words, place } => self.figure(svg, words, *place)?,
            Block::Table { caption, rows } => self.table(caption, rows),
            Block::Rule { left, right, y } => self.rule(*left, *right, *y),
        }
        Ok(())
    }

    pub(crate) fn text(&mut self, tag: impl Into<krilla::tagging::TagKind>, lines: &[Line]) -> TagGroup {
        TagGroup::with_children(tag, vec![self.lines(lines).into()])
    }

    /// Lines that are read in one go.
    pub(crate) fn lines(&mut self, lines: &[Line]) -> Identifier {
        let span = self.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
        self.letters(lines);
        self.surface.end_tagged();
        span
    }

    pub(crate) fn letters(&mut self, lines: &[Line]) {
        let (red, green, blue) = theme::INK;
        self.surface
            .set_fill(Some(Fill { paint: rgb::Color::new(red, green, blue).into(), ..Fill::default() }));
        for line in lines {
            let font = if line.weight == Weight::Bold { &self.bold } else { &self.regular };
            let start = Point::from_xy(line.x as f32, line.y as f32);
            // The space keeps the last word apart from that of the next line.
            let text = format!("{} ", line.text);
            self.surface.draw_text(start, font.clone(), line.size as f32, &text, false, TextDirection::Auto);
        }
    }

    fn table(&mut self, caption: &[Line], rows: &[Vec<Vec<Line>>]) {
        let mut table = TagGroup::new(Tag::Table);
        table.push(self.text(Tag::Caption, caption));
        for (place, cells) in rows.iter().enumerate() {
            let mut row = TagGroup::new(Tag::TR);
            for (column, lines) in cells.iter().enumerate() {
                row.push(match (place, column) {
                    (0, _) => self.text(Tag::TH(TableHeaderScope::Column), lines),
                    (_, 0) => self.text(Tag::TH(TableHeaderScope::Row), lines),
                    _ => self.text(Tag::TD, lines),
                });
            }
            table.push(row);
        }
        self.tags.push(table);
    }

    /// The figure with its text as text, told in words to those who cannot see it.
    fn figure(&mut self, svg: &Svg, words: &str, place: Place) -> Result<(), ChartError> {
        let tree = Tree::from_str(svg.as_str(), &options()).map_err(|error| refused(&error.to_string()))?;
        let size = Size::from_wh(place.width as f32, place.height as f32)
            .ok_or_else(|| refused("the figure has no size"))?;
        let shown = self.surface.start_tagged(ContentTag::Other);
        self.surface.push_transform(&Transform::from_translate(place.x as f32, place.y as f32));
        let drawn = self.surface.draw_svg(&tree, size, SvgSettings::default());
        self.surface.pop();
        self.surface.end_tagged();
        let area = Rect::from_xywh(place.x as f32, place.y as f32, place.width as f32, place.height as f32);
        let figure = Tag::Figure(Some(words.to_owned())).with_bbox(area.map(|area| BBox::new(0, area)));
        self.tags.push(TagGroup::with_children(figure, vec![shown.into()]));
        drawn.ok_or_else(|| refused("the figure cannot be drawn"))
    }

    /// A line that says nothing to a reader.
    fn rule(&mut self, left: f64, right: f64, y: f64) {
        let mut path = PathBuilder::new();
        path.move_to(left as f32, y as f32);
        path.line_to(right as f32, y as f32);
        let Some(path) = path.finish() else { return };
        let (red, green, blue) = theme::QUIET_INK;
        let stroke = Stroke {
            paint: rgb::Color::new(red, green, blue).into(),
            width: theme::HAIRLINE as f32,
            ..Stroke::default()
        };
        self.surface.start_tagged(ContentTag::Artifact(Artifact::default()));
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(stroke));
        self.surface.draw_path(&path);
        self.surface.set_stroke(None);
        self.surface.end_tagged();
    }
}
