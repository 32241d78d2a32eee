//! How an answer is told and where it goes, by every verb alike.

use crate::output::Failure;
use crate::picture::{Picture, USUAL_DPI};
use crate::values::parse_dpi;
use clap::builder::{PathBufValueParser, TypedValueParser};
use clap::{Args, ValueEnum};
use soaklife::quantity::Units;
use soaklife_charts::Svg;
use std::path::PathBuf;

/// How an answer is told.
#[derive(Debug, Args)]
pub(crate) struct TellingArgs {
    /// How to tell it
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write to this file instead of the screen
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) picture: PictureArgs,
    /// Print the JSON Schema of `--format json` and do nothing else
    #[arg(long)]
    pub(crate) json_schema: bool,
}

/// The form of an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Words and a small table
    Text,
    /// A table: one row a pit, one a method and horizon, one a year, or one a phase of a test
    Csv,
    /// Everything, for other programs
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum UnitsArg {
    /// Inches, feet, gallons
    Us,
    /// Centimetres, metres, litres
    Si,
}

impl From<UnitsArg> for Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Us => Self::Us,
            UnitsArg::Si => Self::Si,
        }
    }
}

/// A picture beside what is told.
#[derive(Debug, Args)]
pub(crate) struct PictureArgs {
    /// Also draw it, to this .svg, .png or .pdf file
    #[arg(long, value_name = "FILE", value_parser = picture())]
    pub(crate) chart: Option<Picture>,
    /// Dots per inch of a .png, 20 to 1200
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_DPI, requires = "chart", value_parser = parse_dpi, allow_hyphen_values = true)]
    pub(crate) dpi: f64,
}

impl PictureArgs {
    /// Draws and writes what was asked for, if anything was.
    pub(crate) fn draw(&self, drawing: impl FnOnce() -> Result<Svg, Failure>) -> Result<(), Failure> {
        let Some(picture) = &self.chart else { return Ok(()) };
        picture.write(&drawing()?, self.dpi)
    }
}

/// A file to draw to, as its name says.
pub(super) fn picture() -> impl TypedValueParser<Value = Picture> {
    PathBufValueParser::new().try_map(Picture::named)
}
