//! Pictures on disk: drawn once as SVG, written as the ending of the file's name says.

use crate::output::{Failure, deliver};
use soaklife_charts::{ChartError, Svg};
use std::path::{Path, PathBuf};

/// Dots per inch of a PNG unless asked otherwise.
pub(crate) const USUAL_DPI: f64 = 200.0;

/// A file to draw to.
#[derive(Debug, Clone)]
pub(crate) struct Picture {
    file: PathBuf,
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    Svg,
    Png,
    Pdf,
}

impl Picture {
    /// A file whose name says the format.
    pub(crate) fn named(file: PathBuf) -> Result<Self, String> {
        let extension =
            file.extension().and_then(|extension| extension.to_str()).map(str::to_ascii_lowercase);
        let format = match extension.as_deref() {
            Some("svg") => Format::Svg,
            Some("png") => Format::Png,
            Some("pdf") => Format::Pdf,
            _ => {
                return Err(
                    "a picture is written as .svg, .png or .pdf; end the name in one of them".to_owned()
                );
            }
        };
        Ok(Self { file, format })
    }

    /// Writes one drawing.
    pub(crate) fn write(&self, drawing: &Svg, dpi: f64) -> Result<(), Failure> {
        self.write_pages(std::slice::from_ref(drawing), dpi)
    }

    /// Writes drawings: all to a PDF, the first to any other format.
    pub(crate) fn write_pages(&self, drawings: &[Svg], dpi: f64) -> Result<(), Failure> {
        let first = drawings.first();
        let written = match self.format {
            Format::Svg => Ok(first.map(|svg| svg.as_str().as_bytes().to_vec()).unwrap_or_default()),
            Format::Png => first.map(|svg| svg.to_png(dpi)).transpose().map(Option::unwrap_or_default),
            Format::Pdf => Svg::bound(drawings),
        };
        deliver(&written.map_err(|error| self.undrawn(&error))?, Some(&self.file))
    }

    /// Whether it can hold more than one drawing.
    pub(crate) fn has_pages(&self) -> bool {
        self.format == Format::Pdf
    }

    fn undrawn(&self, error: &ChartError) -> Failure {
        Failure::ReadOrWrite(format!("{}: {error}", self.file.display()))
    }
}

/// The title of a figure of a whole logbook: its folder, and what is drawn.
pub(crate) fn titled_by_folder(folder: &Path, what: &str) -> String {
    let name = folder_name(folder);
    if name.is_empty() { what.to_owned() } else { format!("{name}: {what}") }
}

/// What the folder of a logbook is called, if anything, wherever one stands.
pub(crate) fn folder_name(folder: &Path) -> String {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}
