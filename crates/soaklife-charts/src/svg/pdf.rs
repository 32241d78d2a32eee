//! Figures as PDF, each on a page of its own size: text as text in the embedded font, told in words to those who cannot see it.

use super::{ChartError, Svg, is_allowed, refused};
use krilla::Document;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::tagging::{ContentTag, Tag, TagGroup, TagTree};
use krilla_svg::{SurfaceExt as _, SvgSettings};

const LANGUAGE: &str = "en";

impl Svg {
    /// The drawing as a PDF with a page of its size: tagged, in English, with its title and the bundled font embedded; the same
    /// bytes every time.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if the PDF library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// let page = chart.svg()?.to_pdf()?;
    /// assert!(page.starts_with(b"%PDF-1.")); // ISO 32000-1, 7.5.2
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn to_pdf(&self) -> Result<Vec<u8>, ChartError> {
        Self::bound(std::slice::from_ref(self))
    }

    /// Drawings as one PDF, a page each; it bears the title of the first.
    ///
    /// # Errors
    /// [`ChartError::Drawing`] if there is no drawing or the PDF library refuses.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife_charts::{LadderChart, Svg};
    /// let pages = LadderChart::new(date(2026, 6, 30), &[]).pages()?;
    /// assert!(Svg::bound(&pages)?.starts_with(b"%PDF-1."));
    /// assert!(Svg::bound(&[]).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn bound(pages: &[Self]) -> Result<Vec<u8>, ChartError> {
        let first = pages.first().ok_or_else(|| refused("there is nothing to draw"))?;
        let mut document = Document::new();
        let mut tags = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
        for page in pages {
            tags.push(page.draw_on_a_page_of(&mut document)?);
        }
        document.set_tag_tree(tags);
        document.set_metadata(
            Metadata::new()
                .title(allowed(&first.about.title))
                .description(allowed(&first.about.description))
                .language(LANGUAGE.to_owned())
                .creator(format!("soaklife {}", env!("CARGO_PKG_VERSION"))),
        );
        document.finish().map_err(|error| refused(format!("{error:?}")))
    }

    fn draw_on_a_page_of(&self, document: &mut Document) -> Result<TagGroup, ChartError> {
        let (width, height) = (self.about.size.0 as f32, self.about.size.1 as f32);
        let no_size = || refused("the figure has no size");
        let settings = PageSettings::from_wh(width, height).ok_or_else(no_size)?;
        let size = Size::from_wh(width, height).ok_or_else(no_size)?;
        let tree = self.tree()?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let shown = surface.start_tagged(ContentTag::Other);
        let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
        surface.end_tagged();
        surface.finish();
        page.finish();
        let words = Tag::Figure(Some(allowed(&self.about.description)));
        drawn.map(|()| TagGroup::with_children(words, vec![shown.into()])).ok_or_else(no_size)
    }
}

fn allowed(text: &str) -> String {
    text.chars().filter(|character| is_allowed(*character)).collect()
}
