//! Figures of a pit and its future, drawn once as SVG; every other format comes from that same drawing.
//!
//! - [`ForecastChart`]: readings, fitted level, bands and crossing of one pit.
//! - [`CoverageChart`]: how often the ranges of earlier forecasts held.
//! - [`FleetChart`]: replacements and money of a fleet, year by year, and the pits to see first.
//! - [`Exhibit`]: the page that an inspector attaches to a report, as HTML or PDF.
//! - [`Svg`]: the drawing, and the PNG made of it.
//!
//! A figure is print-first: 6.5 in wide, legible in grey, with its text measured by the bundled font, and the same
//! bytes on every run and every machine.

mod canvas;
mod coverage_chart;
#[cfg(test)]
mod drawn_text;
mod exhibit;
mod fleet_chart;
mod font;
mod forecast_chart;
mod scale;
mod svg;
mod theme;

pub use coverage_chart::CoverageChart;
pub use exhibit::{Exhibit, Paper, Table};
pub use fleet_chart::FleetChart;
pub use forecast_chart::ForecastChart;
pub use svg::{ChartError, Svg};
