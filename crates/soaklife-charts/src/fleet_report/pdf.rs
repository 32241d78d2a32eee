//! The fleet report as PDF: tagged, with bookmarks and page numbers, and the same bytes every time.

use super::FleetReport;
use super::layout::{Item, Page, pages};
use crate::exhibit::Paper;
use crate::exhibit::layout::{Block, Line};
use crate::exhibit::pdf::{LANGUAGE, Pen, refused};
use crate::svg::ChartError;
use krilla::Document;
use krilla::destination::XyzDestination;
use krilla::geom::Point;
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Tag, TagTree};
use std::num::NonZeroU16;

/// A section is below the title.
const LEVEL: NonZeroU16 = NonZeroU16::MIN.saturating_add(1);

impl FleetReport {
    /// The report as PDF on sheets of this paper: tagged, in English, with bookmarks and the bundled font embedded; the same bytes
    /// every time.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the PDF library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{FleetReport, Paper};
    /// let pdf = FleetReport::new("alder-fork", date(2026, 6, 30)).in_section("Summary").to_pdf(Paper::Letter)?;
    /// assert!(pdf.starts_with(b"%PDF-1.")); // ISO 32000-1, 7.5.2
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn to_pdf(&self, paper: Paper) -> Result<Vec<u8>, ChartError> {
        let (width, height) = paper.size();
        let settings = PageSettings::from_wh(width as f32, height as f32)
            .ok_or_else(|| refused("the paper has no size"))?;
        let mut document = Document::new();
        let mut tags = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
        let mut bookmarks = Bookmarks::default();
        for (place, page) in pages(self, paper).iter().enumerate() {
            let mut sheet = document.start_page_with(settings.clone());
            let mut pen = Pen::on(sheet.surface())?;
            pen.tags = tags;
            draw(&mut pen, page)?;
            tags = pen.finish();
            sheet.finish();
            bookmarks.add(place, page);
        }
        document.set_tag_tree(tags);
        document.set_outline(bookmarks.outline());
        document.set_metadata(
            Metadata::new().title(self.foot()).language(LANGUAGE.to_owned()).creator(self.program.clone()),
        );
        document.finish().map_err(|error| refused(&format!("{error:?}")))
    }
}

fn draw(pen: &mut Pen<'_>, page: &Page<'_>) -> Result<(), ChartError> {
    for item in &page.items {
        match item {
            Item::Section(lines) => {
                let heading = pen.text(Tag::Hn(LEVEL, None), lines);
                pen.tags.push(heading);
            }
            Item::Block(block) => pen.block(block)?,
        }
    }
    let [name, number] = &page.foot;
    for (kind, line) in [(ArtifactType::Footer, name), (ArtifactType::PageNumber, number)] {
        pen.surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
        pen.letters(std::slice::from_ref(line));
        pen.surface.end_tagged();
    }
    Ok(())
}

/// A bookmark for each section, and below it for each of its figures where there are several.
#[derive(Default)]
struct Bookmarks {
    sections: Vec<(Bookmark, Vec<Bookmark>)>,
}

struct Bookmark {
    name: String,
    page: usize,
    y: f64,
}

impl Bookmarks {
    fn add(&mut self, page: usize, on_it: &Page<'_>) {
        for item in &on_it.items {
            match item {
                Item::Section(lines) => self.sections.extend(section(lines, page)),
                Item::Block(Block::Figure { svg, place, .. }) => {
                    if let Some((_, figures)) = self.sections.last_mut() {
                        figures.push(Bookmark { name: svg.title().to_owned(), page, y: place.y });
                    }
                }
                Item::Block(_) => {}
            }
        }
    }

    fn outline(self) -> Outline {
        let mut outline = Outline::new();
        for (section, figures) in self.sections {
            let mut node = section.node();
            if figures.len() > 1 {
                figures.into_iter().for_each(|figure| node.push_child(figure.node()));
            }
            outline.push_child(node);
        }
        outline
    }
}

impl Bookmark {
    fn node(self) -> OutlineNode {
        OutlineNode::new(self.name, XyzDestination::new(self.page, Point::from_xy(0.0, self.y as f32)))
    }
}

fn section(lines: &[Line], page: usize) -> Option<(Bookmark, Vec<Bookmark>)> {
    let first = lines.first()?;
    let name: Vec<&str> = lines.iter().map(|line| line.text.as_str()).collect();
    Some((Bookmark { name: name.join(" "), page, y: first.y - first.size }, Vec::new()))
}
