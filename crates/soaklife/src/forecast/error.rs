//! Why there is no forecast, in words that can be shown to the owner.

use super::Method;
use crate::wording::counted;
use thiserror::Error;

/// Why there is no forecast.
///
/// ```
/// # use jiff::civil::date;
/// # use soaklife::quantity::inches;
/// # use soaklife::{Forecast, History, Pit, Question};
/// # let pit = Pit::new(inches(30.0), inches(210.0))?;
/// let by_line = Question::new(date(2026, 6, 30)).by(soaklife::Method::Line);
/// let nothing_read = Forecast::of(&History::new(pit), &by_line);
/// assert_eq!(nothing_read.map_err(|reason| reason.to_string()), Err("no usable reading, and a line needs at least 3".to_owned()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ForecastError {
    /// Too few usable readings for the method.
    #[error("{}, and {method} needs at least {needed}{}", usable(*.used), set_aside_in_words(*.set_aside))]
    TooFewReadings {
        /// The method asked for.
        method: Method,
        /// Usable readings.
        used: usize,
        /// Readings needed.
        needed: usize,
        /// Readings set aside.
        set_aside: usize,
    },
    /// More usable readings than the method takes.
    #[error("{used} usable readings, and {method} takes at most {most}: ask by another method")]
    TooManyReadings {
        /// The method asked for.
        method: Method,
        /// Usable readings.
        used: usize,
        /// Readings taken at most.
        most: usize,
    },
    /// All usable readings were taken on one day, or at one cumulative load.
    #[error("all usable readings were taken on one day: measure again in another year")]
    NoSpread,
    /// The action freeboard leaves nothing of the pit.
    #[error(
        "an action freeboard of {action_in:.1} in does not fit a pit with {effective_in:.1} in below its inlet"
    )]
    ActionFreeboard {
        /// Action freeboard, inches.
        action_in: f64,
        /// Effective depth, inches.
        effective_in: f64,
    },
    /// A level or load is too large to compute with.
    #[error("the readings or loads are too large to compute with")]
    NotFinite,
}

fn usable(used: usize) -> String {
    match used {
        0 => "no usable reading".to_owned(),
        _ => counted(used, "usable reading"),
    }
}

fn set_aside_in_words(set_aside: usize) -> String {
    if set_aside == 0 { String::new() } else { format!(" ({set_aside} set aside)") }
}
