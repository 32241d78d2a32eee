//! The exhibit: one page that an inspector attaches to a report, read by a buyer, a lender or a health department.
//!
//! `content` says what the page says, as data; `layout` puts it on a sheet of paper; `html` and `pdf` write it.

pub(crate) mod content;
pub(crate) mod html;
pub(crate) mod layout;
pub(crate) mod pdf;
#[cfg(test)]
mod tests;

pub use content::{Exhibit, Table};

/// A sheet of paper.
///
/// ```
/// use soaklife_charts::Paper;
/// assert_eq!(Paper::A4.size(), (595.276, 841.89)); // ISO 216: 210 by 297 mm
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 by 11 in.
    Letter,
    /// 210 by 297 mm.
    A4,
}

impl Paper {
    /// Width and height in points.
    ///
    /// ```
    /// use soaklife_charts::Paper;
    /// assert_eq!(Paper::Letter.size(), (612.0, 792.0));
    /// ```
    #[must_use]
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::Letter => (612.0, 792.0),
            Self::A4 => (595.276, 841.89),
        }
    }

    /// Its name in a style sheet.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "A4",
        }
    }
}
