//! Wall, head and the resistance of the clogged layer, in closed form.
//!
//! Liquid at height z of a wall wetted to level H passes the clogged layer under the head H − z and the suction ψ of the soil
//! behind it: q(z) = (H − z + ψ) / R, R the layer's thickness over its conductivity (a time). Over a wall of perimeter P that
//! makes Q = (P / R) (H²/2 + ψ H). The floor is not credited, as in the sizing rules of New Jersey and the EPA.
//!
//! Source of the flux through a clogged face: Bouma (1975), J. Environ. Eng. Div. ASCE 101(6), 967–983, in the form of
//! Radcliffe and West (2008); the integrals over the wall are ours.

use crate::quantity::{Length, VolumeRate, metres};

/// Suction of the soil behind the clogged layer where nothing is known of it: 0.5 m. Our judgement; values of tenths of a metre
/// are usual. The resistance hangs on it, the flow does not.
pub const USUAL_SUCTION_M: f64 = 0.5;

/// Flow through a wall wetted to `level`: Q = (P / R) (H²/2 + ψ H).
///
/// ```
/// use soaklife::load_test::clogging::{flow, level};
/// use soaklife::quantity::{as_gallons_per_day, feet, gallons_per_day, metres};
/// let wall = feet(6.0) * std::f64::consts::PI;
/// let stands = level(gallons_per_day(150.0), wall, 20.0, metres(0.5));
/// assert!((as_gallons_per_day(flow(stands, wall, 20.0, metres(0.5))) - 150.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn flow(level: Length, perimeter: Length, resistance_days: f64, suction: Length) -> VolumeRate {
    let per_day = perimeter.value / resistance_days * wall_head(level.value, suction.value);
    crate::quantity::cubic_metres_per_day(per_day)
}

/// The level at which the wall takes `flow`: H = −ψ + √(ψ² + 2 Q R / P).
///
/// ```
/// use soaklife::load_test::clogging::level;
/// use soaklife::quantity::{feet, gallons_per_day, metres};
/// let stands = level(gallons_per_day(150.0), feet(6.0) * std::f64::consts::PI, 20.0, metres(0.5));
/// assert!((stands.value - 1.5502).abs() < 0.0005);
/// ```
#[must_use]
pub fn level(flow: VolumeRate, perimeter: Length, resistance_days: f64, suction: Length) -> Length {
    let head = 2.0 * super::m3_per_day(flow) * resistance_days / perimeter.value;
    let suction = suction.value;
    // The difference of two near numbers where the head is small, written as a quotient.
    metres(head / (suction + (suction * suction + head).sqrt()))
}

/// The resistance, days, of a wall that takes `flow` when wetted to `level`: R = (P / Q) (H²/2 + ψ H).
///
/// ```
/// use soaklife::load_test::clogging::resistance_days;
/// use soaklife::quantity::{feet, gallons_per_day, metres};
/// let wall = feet(6.0) * std::f64::consts::PI;
/// let days = resistance_days(gallons_per_day(150.0), metres(1.5502), wall, metres(0.5));
/// assert!((days - 20.0).abs() < 0.001);
/// ```
#[must_use]
pub fn resistance_days(flow: VolumeRate, level: Length, perimeter: Length, suction: Length) -> f64 {
    perimeter.value / super::m3_per_day(flow) * wall_head(level.value, suction.value)
}

/// The level after so many days without inflow, from dH/dt = −k (H²/2 + ψ H), k = P / (A R), A the open area:
/// with w = H / (H + 2ψ), w(t) = w(0) exp(−ψ k t) and H = 2ψ w / (1 − w).
///
/// ```
/// use soaklife::load_test::clogging::level_after;
/// use soaklife::quantity::metres;
/// // k = 0.2 per metre and day, as of a 6 ft pit with R near 11 days.
/// let next_day = level_after(metres(2.0), 0.2, metres(0.5), 1.0);
/// assert!((next_day.value - 1.52032).abs() < 1e-5);
/// ```
#[must_use]
pub fn level_after(start: Length, rate: f64, suction: Length, days: f64) -> Length {
    metres(fallen(start.value, rate, suction.value, days))
}

/// Days until a level falls from `start` to `end` in the same way; infinite to an empty pit.
///
/// ```
/// use soaklife::load_test::clogging::{days_to_fall, level_after};
/// use soaklife::quantity::metres;
/// let low = level_after(metres(2.0), 0.2, metres(0.5), 1.25);
/// assert!((days_to_fall(metres(2.0), low, 0.2, metres(0.5)) - 1.25).abs() < 1e-12);
/// ```
#[must_use]
pub fn days_to_fall(start: Length, end: Length, rate: f64, suction: Length) -> f64 {
    let suction = suction.value;
    let share = |level: f64| level / (level + 2.0 * suction);
    (share(start.value) / share(end.value)).ln() / (suction * rate)
}

/// H²/2 + ψ H.
fn wall_head(level: f64, suction: f64) -> f64 {
    level * (0.5 * level + suction)
}

pub(super) fn fallen(start: f64, rate: f64, suction: f64, days: f64) -> f64 {
    // 2ψ w / (1 − w) with w = H e⁻ˣ / (H + 2ψ), without the difference that loses digits at small x.
    let x = suction * rate * days;
    2.0 * suction * start / (2.0 * suction * x.exp() + start * x.exp_m1())
}
