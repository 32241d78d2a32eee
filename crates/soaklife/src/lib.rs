//! How long a seepage pit will keep absorbing, and how sure that is.
//!
//! A stick, once a year, tells how far the liquid in a seepage pit stands below its inlet. From those few
//! readings, the pit's dimensions and the water the household really uses, this library tells what freeboard is
//! left and how many years remain until the level reaches the inlet, with bands that say how sure that is.
//!
//! The map, in the order in which a forecast is made:
//!
//! - [`quantity`] and [`date`]: lengths, flows and dates that cannot be mistaken for one another.
//! - [`pit`]: rim, inlet, bottom and cross-section → level, freeboard, wetted area, storage.
//! - [`loading`]: design rules and real use → load ratio and cumulative load in design-years.
//! - [`reading`]: liquid, dry or at the inlet; in what condition; how exactly dated.
//! - [`acceptance`]: what the soil was measured to take, and where the level would settle by it.
//! - [`soil`]: what the pit stands in, if known.
//! - [`history`]: all that is known about one pit, and which readings speak for it as it is now.
//! - [`prior`]: what is typical of pits before any reading, as data.
//! - [`trend`]: the standing level followed by many hypotheses, or fitted by least squares or ranks.
//! - [`forecast`]: a question to a pit and its answer: levels, crossing, chances, each with its [`band`].
//! - [`whatif`]: the same pit under another household or flow, beside today's forecast.
//! - [`fleet`]: many pits: what they teach about one another, how many fail, what that costs, whom to see first.
//! - [`load_test`]: a known volume of water poured in, and what it says of pit, pipe and soil.
//! - [`backtest`]: how earlier forecasts from the same readings would have done.
//! - [`wording`]: the answer in words, rounded to what is known.
//! - [`numerics`]: the statistics underneath, with no trade word in it.
//!
//! It does no I/O, reads no clock, keeps no global state and never panics: bad input is a typed error. The same
//! input gives the same bits, alone or in company.
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::{Coverage, Forecast, History, Pit, Question, Reading, quantity::inches};
//!
//! let pit = Pit::new(inches(30.0), inches(210.0))?; // rim to inlet, rim to bottom
//! let readings = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
//!     .into_iter()
//!     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
//!     .collect::<Result<Vec<_>, _>>()?;
//! let history = History::new(pit).with_readings(readings);
//! let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
//! println!("{:?} {:?}", forecast.years_to_inlet(0.5), forecast.crossing(Coverage::EIGHTY));
//! assert!(forecast.years_to_inlet(0.5).is_some_and(|years| (15.0..30.0).contains(&years)));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The forecast is an estimate from readings, no warranty and no substitute for an inspection: local code and
//! licensed practitioners decide. Never enter a pit or lean over an open one; sewage gas kills without warning.

pub mod acceptance;
pub mod backtest;
pub mod band;
pub mod cookbook;
pub mod date;
pub mod fleet;
pub mod forecast;
pub mod history;
pub mod load_test;
pub mod loading;
pub mod numerics;
pub mod pit;
pub mod prior;
pub mod quantity;
pub mod reading;
pub mod soil;
pub mod trend;
pub mod whatif;
pub mod wording;

pub use band::Coverage;
pub use forecast::{Crossing, Forecast, Method, Question};
pub use history::History;
pub use loading::LoadHistory;
pub use pit::{CrossSection, Pit};
pub use reading::Reading;
