//! Figures of a pit and its future, drawn once as SVG; every other format comes from that same drawing.
//!
//! - [`ForecastChart`]: readings, fitted level, bands and crossing of one pit.
//! - [`CoverageChart`]: how often the ranges of earlier forecasts held.
//! - [`FleetChart`]: replacements and money of a fleet, year by year, and the pits to see first.
//! - [`FleetReport`]: the report about many pits, as HTML or PDF.
//! - [`Exhibit`]: the page that an inspector attaches to a report, as HTML or PDF.
//! - [`LadderChart`]: every pit of a fleet on a line of its own, sorted by the year in which it reaches its inlet.
//! - [`LineCheckChart`]: what a straight line leaves over, reading by reading and against the normal distribution.
//! - [`LoadTestChart`]: level and water of one load test, hour by hour, and the fall that is fitted.
//! - [`PitSection`]: one pit to scale, with the level then and now.
//! - [`SmallMultiples`]: many pits on one page, a small panel each, all on the same scales.
//! - [`Svg`]: the drawing, and the PNG made of it.
//!
//! # One page for a report
//!
//! What an inspector attaches: the answer, the chart, the pit to scale, its readings and how each counts, cautions, room to sign.
//! `soaklife report` fills in more, and the fingerprint of the logbook.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::quantity::{Units, inches};
//! use soaklife::wording::sentence::sentences;
//! use soaklife::{Coverage, Forecast, History, Pit, Question, Reading};
//! use soaklife_charts::{Exhibit, ForecastChart, Paper, PitSection, Table};
//!
//! let pit = Pit::new(inches(30.0), inches(210.0))?;
//! let read = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
//!     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)));
//! let history = History::new(pit).with_readings(read.into_iter().collect::<Result<Vec<_>, _>>()?);
//! let as_of = date(2026, 6, 30);
//! let forecast = Forecast::of(&history, &Question::new(as_of))?;
//!
//! let answer = sentences(&forecast, Coverage::EIGHTY, Units::Us);
//! let exhibit = Exhibit::new("H-1, 12 Mill Race Lane", as_of, &answer, ForecastChart::new(&forecast, &history).bare().svg()?)
//!     .with_section(PitSection::new(&forecast, &history).bare().svg()?)
//!     .with_readings(Table::of_readings(forecast.readings(), &history, Units::Us));
//! assert!(exhibit.to_pdf(Paper::Letter)?.starts_with(b"%PDF"));
//! let page = exhibit.to_html(Paper::Letter);
//! assert!(page.contains("stood 56 inches below the inlet") && page.contains("Licence number"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What holds for every figure
//!
//! A figure is print-first: 6.5 in wide (the section half of it), legible in grey, with its text measured by the bundled
//! font, and the same bytes on every run and every machine.

mod canvas;
mod caption;
mod coverage_chart;
mod exhibit;
mod fleet_chart;
mod fleet_report;
mod font;
mod forecast_chart;
#[cfg(test)]
mod hard_cases;
mod headline;
mod ladder_chart;
mod line_check_chart;
mod load_test_chart;
mod pit_section;
#[cfg(test)]
mod read_back;
mod rung;
mod scale;
mod small_multiples;
mod svg;
mod theme;
#[cfg(test)]
mod yearly_pits;

pub use coverage_chart::CoverageChart;
pub use exhibit::{Exhibit, Paper, Table};
pub use fleet_chart::FleetChart;
pub use fleet_report::FleetReport;
pub use forecast_chart::ForecastChart;
pub use ladder_chart::LadderChart;
pub use line_check_chart::LineCheckChart;
pub use load_test_chart::LoadTestChart;
pub use pit_section::PitSection;
pub use small_multiples::{PitPanel, SmallMultiples};
pub use svg::{ChartError, Svg};
