//! The drawing as a document, and the picture made of it.

use crate::font;
use crate::theme;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use soaklife::Pit;
use soaklife::quantity::as_inches;
use std::sync::Arc;
use thiserror::Error;

/// Widest PNG, pixels: larger ones are surely a slip.
const LARGEST_PIXELS: f64 = 20_000.0;

/// A finished drawing.
///
/// Text is text, in the family of the bundled font; `title` and `desc` say in words what is drawn.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{History, Pit};
/// # use soaklife_charts::ForecastChart;
/// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
/// let svg = chart.svg()?;
/// assert_eq!(svg, chart.svg()?); // the same bytes every time
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Svg {
    text: String,
    description: String,
}

/// Why a figure cannot be drawn.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{History, Pit};
/// # use soaklife_charts::ForecastChart;
/// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
/// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
/// use soaklife_charts::ChartError;
/// let picture = chart.svg()?.to_png(f64::NAN);
/// assert!(matches!(picture, Err(ChartError::Resolution { .. })));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ChartError {
    /// The drawing library refused.
    #[error("the figure cannot be drawn: {reason}")]
    Drawing {
        /// Its reason.
        reason: String,
    },
    /// The pit is too shallow or too deep to draw.
    #[error("a depth of {found_in} in cannot be drawn: give 0.01 to 1,200,000 in")]
    Depth {
        /// Depth found, inches.
        found_in: f64,
    },
    /// The resolution is not usable.
    #[error("{found} dots per inch cannot be drawn: give 20 to 2400")]
    Resolution {
        /// Dots per inch given.
        found: f64,
    },
}

/// What is known of a drawing besides its marks.
#[derive(Debug)]
pub(crate) struct Description {
    /// Width and height in points.
    pub(crate) size: (f64, f64),
    pub(crate) title: String,
    pub(crate) description: String,
}

impl Svg {
    /// Makes a document of what the drawing backend wrote in tenths of a point.
    pub(crate) fn assemble(drawn: &str, about: &Description) -> Self {
        let body = drawn.find('>').and_then(|end| drawn.get(end + 1..)).unwrap_or_default();
        let body = body.trim_start().trim_end().trim_end_matches("</svg>");
        let (width, height) = about.size;
        let (title, description) = (escaped(&about.title), escaped(&about.description));
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-labelledby=\"title desc\" \
             width=\"{width}pt\" height=\"{height}pt\" viewBox=\"0 0 {:.0} {:.0}\">\n\
             <title id=\"title\">{title}</title>\n<desc id=\"desc\">{description}</desc>\n{body}</svg>\n",
            width * 10.0,
            height * 10.0
        );
        Self { text, description: about.description.clone() }
    }

    /// The document; its viewBox is in tenths of a point, its width and height in points.
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// let svg = chart.svg()?;
    /// assert!(svg.as_str().starts_with("<svg ") && svg.as_str().contains("width=\"468pt\""));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// What is drawn, in words.
    pub(crate) fn description(&self) -> &str {
        &self.description
    }

    /// Width and height in points.
    pub(crate) fn size(&self) -> (f64, f64) {
        let side = |name: &str| {
            let (_, rest) = self.text.split_once(name)?;
            rest.split_once("pt\"")?.0.parse().ok()
        };
        (side(" width=\"").unwrap_or(theme::WIDTH), side(" height=\"").unwrap_or(theme::WIDTH))
    }

    /// The drawing as a PNG with so many dots per inch; only the bundled font is used.
    ///
    /// # Errors
    /// [`ChartError::Resolution`] unless it lies in 20–2400; [`ChartError::Drawing`].
    ///
    /// ```
    /// # use jiff::civil::date;
    /// # use soaklife::quantity::inches;
    /// # use soaklife::{History, Pit};
    /// # use soaklife_charts::ForecastChart;
    /// # let history = History::new(Pit::new(inches(30.0), inches(210.0))?);
    /// # let chart = ForecastChart::of_readings(&history, date(2026, 6, 30), "no reading yet");
    /// let png = chart.svg()?.to_png(100.0)?;
    /// assert_eq!(png[..8], *b"\x89PNG\r\n\x1a\n"); // PNG specification, section 5.2
    /// assert_eq!(png[16..20], 650u32.to_be_bytes()); // 6.5 in wide
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn to_png(&self, dpi: f64) -> Result<Vec<u8>, ChartError> {
        if !(20.0..=2400.0).contains(&dpi) {
            return Err(ChartError::Resolution { found: dpi });
        }
        let refused = |reason: String| ChartError::Drawing { reason };
        let tree = Tree::from_str(&self.text, &options()).map_err(|error| refused(error.to_string()))?;
        // usvg reads points at 96 to the inch.
        let scale = dpi / 96.0;
        let pixels = |length: f32| (f64::from(length) * scale).round().clamp(1.0, LARGEST_PIXELS) as u32;
        let mut pixmap = Pixmap::new(pixels(tree.size().width()), pixels(tree.size().height()))
            .ok_or_else(|| refused("the picture is too large".to_owned()))?;
        resvg::render(&tree, Transform::from_scale(scale as f32, scale as f32), &mut pixmap.as_mut());
        pixmap.encode_png().map_err(|error| refused(error.to_string()))
    }
}

/// No stick reaches farther, and no axis could be read.
pub(crate) fn refuse_undrawable_depth(pit: &Pit) -> Result<(), ChartError> {
    const DRAWABLE_IN: std::ops::RangeInclusive<f64> = 0.01..=1.2e6;
    let (inlet, effective) = (as_inches(pit.inlet_depth()), as_inches(pit.effective_depth()));
    match [effective, inlet + effective].into_iter().find(|depth| !DRAWABLE_IN.contains(depth)) {
        Some(found_in) => Err(ChartError::Depth { found_in }),
        None => Ok(()),
    }
}

/// How a drawing is read: with the bundled font and no other.
pub(crate) fn options() -> Options<'static> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::BOLD.to_vec());
    Options { fontdb: Arc::new(fonts), font_family: font::FAMILY.to_owned(), ..Options::default() }
}

/// Whether XML 1.0 allows a character (its production 2, `Char`) and it has a shape: controls have none.
pub(crate) fn is_allowed(character: char) -> bool {
    !character.is_control() && !matches!(character, '\u{fffe}' | '\u{ffff}')
}

/// Text as XML wants it; characters that it does not allow are left out.
pub(crate) fn escaped(text: &str) -> String {
    let mut escaped = String::new();
    for character in text.chars().filter(|character| is_allowed(*character)) {
        match character {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            other => escaped.push(other),
        }
    }
    escaped
}
