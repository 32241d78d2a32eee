//! The options of the verbs that draw: `chart` and `report`.

use super::telling::picture;
use super::{PlanningArgs, QuestionArgs, WhatIfArgs};
use crate::picture::{Picture, USUAL_DPI};
use crate::values::parse_dpi;
use clap::{ArgGroup, Args, ValueEnum};
use soaklife_charts::Paper;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct ChartArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// The pit to draw; of ladder and small-multiples any number [default: all]
    pub(crate) pits: Vec<String>,
    /// What to draw
    #[arg(long, value_enum, default_value_t = FigureArg::Forecast)]
    pub(crate) figure: FigureArg,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    #[command(flatten)]
    pub(crate) what_if: WhatIfArgs,
    /// The picture: its name ends in .svg, .png or .pdf
    #[arg(short, long, value_name = "FILE", value_parser = picture())]
    pub(crate) output: Picture,
    /// Dots per inch of a .png, 20 to 1200
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_DPI, value_parser = parse_dpi, allow_hyphen_values = true)]
    pub(crate) dpi: f64,
}

/// A figure of `chart`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum FigureArg {
    /// Readings, level and bands in the years ahead, and when the inlet is reached
    Forecast,
    /// The pit to scale with its level then and now
    Section,
    /// What a straight line through the readings leaves over, by date and against the normal distribution
    LineCheck,
    /// Years to the inlet of every pit, the soonest first
    Ladder,
    /// A small forecast of every pit, the soonest first
    SmallMultiples,
}

#[derive(Debug, Args)]
#[command(group = ArgGroup::new("pages").args(["pit", "each"]))]
#[command(group = ArgGroup::new("of_one_pit").multiple(true).requires("pages")
    .args(["method", "against", "horizon", "coverage", "action_freeboard"]))]
#[command(group = ArgGroup::new("of_a_fleet").multiple(true).conflicts_with("pages")
    .args(["years", "visits", "common_factor", "cost_spread"]))]
#[command(group = ArgGroup::new("of_many_pits").multiple(true).conflicts_with("pit").args(["threads", "format"]))]
pub(crate) struct ReportArgs {
    /// Folder of the logbook
    pub(crate) folder: PathBuf,
    /// Identifier of the pit [default: the report is about the whole fleet]
    pub(crate) pit: Option<String>,
    /// A page for every pit, into the folder that -o names
    #[arg(long)]
    pub(crate) each: bool,
    #[command(flatten)]
    pub(crate) question: QuestionArgs,
    /// The report: its name ends in .html or .pdf; with --each a folder, made if it is not there
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    /// The paper it is for; the page of one pit fills a sheet
    #[arg(long, value_enum, default_value_t = PaperArg::Letter)]
    pub(crate) paper: PaperArg,
    /// What the pages of --each are written as
    #[arg(long, value_enum, default_value_t = PageFormat::Pdf, requires = "each")]
    pub(crate) format: PageFormat,
    #[command(flatten, next_help_heading = "Without a pit")]
    pub(crate) planning: PlanningArgs,
}

/// What a page is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PageFormat {
    /// For paper and for files
    Pdf,
    /// For a browser, and for paper from there
    Html,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperArg {
    /// 8.5 by 11 in
    Letter,
    /// 210 by 297 mm
    A4,
}

impl From<PaperArg> for Paper {
    fn from(paper: PaperArg) -> Self {
        match paper {
            PaperArg::Letter => Self::Letter,
            PaperArg::A4 => Self::A4,
        }
    }
}
