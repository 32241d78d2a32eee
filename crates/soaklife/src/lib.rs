//! How long a seepage pit will keep absorbing, and how sure that is.
//!
//! A stick, once a year, tells how far the liquid in a seepage pit stands below its inlet. From those few
//! readings, the pit's dimensions and the water the household really uses, this library tells what freeboard is
//! left and how many years remain until the level reaches the inlet, with bands that say how sure that is.
//!
//! # The smallest forecast
//!
//! ```
//! use jiff::civil::date;
//! use soaklife::{Forecast, History, Pit, Question, Reading, quantity::inches};
//!
//! let pit = Pit::new(inches(30.0), inches(210.0))?; // rim to inlet, rim to bottom
//! let readings = [(2022, 98.5), (2023, 96.5), (2024, 92.0), (2025, 90.5), (2026, 86.0)]
//!     .into_iter()
//!     .map(|(year, depth)| Reading::at_depth(&pit, date(year, 5, 10), inches(depth)))
//!     .collect::<Result<Vec<_>, _>>()?;
//! let history = History::new(pit).with_readings(readings);
//! let forecast = Forecast::of(&history, &Question::new(date(2026, 6, 30)))?;
//! // Years until a tenth, half, nine tenths of pits like this have reached
//! // their inlets; none: later than 60 years, or never.
//! let years = forecast.years_to_inlet_at([0.1, 0.5, 0.9]);
//! assert_eq!(years.map(|years| years.map(f64::round)), [Some(10.0), Some(22.0), None]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Where to go for what
//!
//! | you want to | go to |
//! | --- | --- |
//! | see an answer to a question like yours | the [`cookbook`], for homeowners, companies, inspectors and analysts |
//! | describe a pit and what is known of it | [`pit`], [`reading`], [`loading`], [`history`]; [`quantity`] and [`date`] keep inches, gallons and half-known days apart |
//! | ask, and read the answer | [`forecast`]; [`wording`] for sentences that claim no more than is known |
//! | know how it is worked out | [`trend::absorption`] (the default, with a figure), [`trend::line`], [`trend::rank`]; [`prior`] for what is typical of pits |
//! | ask about another household | [`whatif`] |
//! | look after many pits | [`fleet`]: replacements, money, visits, and what the pits teach about one another |
//! | make sense of a load test | [`load_test`]; [`acceptance`] carries it into a forecast |
//! | see how far to trust it | [`backtest`] |
//! | use the statistics alone | [`numerics`], with no trade word in it |
//!
//! Logbooks on disk are read by `soaklife-records`, figures and pages drawn by `soaklife-charts`; the command is `soaklife-cli`.
//!
//! # How a forecast is made
//!
//! [`Pit`] and [`Reading`]s make a [`History`], together with what was done to the system ([`history::Event`]), what it was designed
//! for and really takes ([`LoadHistory`]), the soil and any load test. A [`Question`] says as of which day, by which [`Method`], how far ahead
//! and down to what freeboard. [`Forecast::of`] sets aside the readings that do not speak for the pit as it is now, follows the rest,
//! and answers with levels, ranges, [chances](Forecast::chance_by) and [years](Forecast::years_to_inlet); every
//! [reading's part](Forecast::readings) in it can be asked for.
//!
//! # What it refuses to claim
//!
//! - **A date.** It gives ranges and chances. A range that cannot be closed is left open ([`trend::CrossingSet::NotBefore`]), and
//!   "it never gets there" is an answer ([`Crossing::NotHeadingThere`]).
//! - **More than was measured.** With few readings or none the answer is mostly typical experience, and says how much
//!   ([`Forecast::basis`], [`trend::absorption::Explanation::share_of_readings`]). That experience was found on simulated pits, not in the
//!   field; [`backtest`] tells how it does on your own.
//! - **Why a pit fails.** Groundwater, roots, a crushed pipe, what somebody poured down a drain: it sees levels, not causes. A
//!   [`load_test`] may tell pipe from soil.
//! - **That a pit is safe or fit for use.** It is an estimate from readings, no warranty and no substitute for an inspection: local
//!   code and licensed practitioners decide. Never enter a pit or lean over an open one; sewage gas kills without warning.
//!
//! # What it keeps to
//!
//! No I/O, no clock, no global state, no `unsafe`; it never panics: bad input is a typed error. The same input gives the same bits, alone or in
//! company. It builds for `wasm32-unknown-unknown`.

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
