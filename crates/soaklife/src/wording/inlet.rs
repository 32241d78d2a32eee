//! What must be said of a pit that was found at its inlet or close to it, whatever the forecast.

use super::sentence::below;
use super::tenths;
use crate::forecast::Forecast;
use crate::history::{CloseToInlet, FoundAtInlet};
use crate::quantity::Units;
use crate::reading::Reading;

/// That the pit has reached its inlet, since when, and where the level stood last.
pub(super) fn reached(forecast: &Forecast, since: &Reading, units: Units) -> String {
    let backs_up = "The pit backs up into the pipe and the tank.";
    let last = forecast.latest().filter(|latest| latest.date() != since.date());
    let Some(last) = last else {
        return format!(
            "On {} the liquid stood at the inlet: there is no freeboard left. {backs_up}",
            since.date()
        );
    };
    let later = if last.stands_at_inlet(forecast.pit()) {
        format!("it stood there again on {}", last.date())
    } else {
        let left = forecast.pit().freeboard(last.level(forecast.pit()));
        format!("on {} it stood {} below the inlet", last.date(), below(left, units))
    };
    format!(
        "The pit has reached its inlet: on {} the liquid stood there, {later}, and no remedy is recorded in between. {backs_up}",
        since.date()
    )
}

/// That the pit was at its inlet and stands well below now, or that it is close to the inlet; empty of any other pit.
pub(super) fn warning(forecast: &Forecast) -> String {
    let left = match forecast.found_at_inlet() {
        Some(FoundAtInlet::Left { was, .. }) => format!(
            "On {} it stood at the inlet, and no remedy is recorded since: find out why it stands lower now. ",
            was.date()
        ),
        _ => String::new(),
    };
    let close = forecast.close_to_inlet().map_or(String::new(), |close| format!("{} ", close_to(&close)));
    left + &close
}

fn close_to(close: &CloseToInlet) -> String {
    let room = close.days_of_design_flow.map_or(String::new(), |days| match tenths(days).as_str() {
        "0.0" => "hardly any room for".to_owned(),
        days => format!("room for {days} days of"),
    });
    let how_close = match (close.is_within_six_inches, close.is_within_half_a_day()) {
        (true, true) => format!("Less than 6 inches are left, and {room} the design flow"),
        (true, false) => "Less than 6 inches are left".to_owned(),
        _ => format!("Below the inlet is {room} the design flow, less than half a day"),
    };
    format!(
        "{how_close}: published rules count such a pit as failed (310 CMR 15.303, written for cesspools). Have it looked at \
         now, whatever the forecast says."
    )
}
