//! What the fan of a forecast shows at the height that the pit must not reach.

use soaklife::Forecast;
use soaklife::quantity::as_inches;

/// To what share [`share_at`] is found.
pub const SHARE_FOUND_TO: f64 = 1e-6;
/// Smallest difference of levels that a stick, or a reader of a table, could ever see, inches.
const NO_HEIGHT_IN: f64 = 1e-7;

/// Share of the fan that stands `goal_in` inches above the bottom or higher, so many years ahead, by halving.
#[must_use]
pub fn share_at(forecast: &Forecast, years: f64, goal_in: f64) -> f64 {
    let is_below = |share: f64| {
        let level = forecast.level_quantile(years, share).map(as_inches);
        level.is_none_or(|level_in| level_in < goal_in - NO_HEIGHT_IN)
    };
    let (mut below, mut at_goal) = (0.0, 1.0);
    while at_goal - below > 0.1 * SHARE_FOUND_TO {
        let middle = 0.5 * (below + at_goal);
        if is_below(middle) { below = middle } else { at_goal = middle }
    }
    1.0 - 0.5 * (below + at_goal)
}
