//! Four ways to say how likely a pit is to reach its inlet: two of the crate, and two that fit on a page.

use jiff::civil::Date;
use soaklife::date::years_between;
use soaklife::numerics::normal;
use soaklife::quantity::as_inches;
use soaklife::{Forecast, History, Method, Question};

/// Years within which the inlet is reached or not.
pub const YEARS: [f64; 3] = [1.0, 2.0, 5.0];

/// The chance within each of [`YEARS`].
pub type Answer = [f64; YEARS.len()];

/// A way to answer, or not.
#[derive(Clone, Copy)]
pub struct Asked {
    pub name: &'static str,
    pub asked: fn(&History, Date) -> Option<Answer>,
}

pub const METHODS: [Asked; 4] = [
    Asked { name: "absorption", asked: absorption },
    Asked { name: "line", asked: line },
    Asked { name: "random walk", asked: random_walk },
    Asked { name: "hand check", asked: hand_check },
];

fn absorption(history: &History, as_of: Date) -> Option<Answer> {
    by(Method::Absorption, history, as_of).map(|forecast| YEARS.map(|years| forecast.chance_by(years)))
}

fn line(history: &History, as_of: Date) -> Option<Answer> {
    by(Method::Line, history, as_of).map(|forecast| YEARS.map(|years| forecast.chance_by(years)))
}

fn by(method: Method, history: &History, as_of: Date) -> Option<Forecast> {
    Forecast::of(history, &Question::new(as_of).by(method)).ok()
}

/// A stick found the liquid at the inlet last: as a line does, both ways below take that for the answer.
fn stands_at_inlet(history: &History, as_of: Date) -> bool {
    history.latest_standing(as_of).is_some_and(|reading| reading.stands_at_inlet(history.pit()))
}

/// The hand check says a year and no chance: reached by then or not. A level that does not rise never gets there.
fn hand_check(history: &History, as_of: Date) -> Option<Answer> {
    if stands_at_inlet(history, as_of) {
        return Some([1.0; YEARS.len()]);
    }
    let forecast = by(Method::Absorption, history, as_of)?;
    let check = forecast.hand_check()?;
    let since = years_between(check.to.middle(), as_of);
    Some(YEARS.map(|years| f64::from(check.years().is_some_and(|left| left - since <= years))))
}

/// Levels that wander: each year adds a drift and a normal step, both estimated from the readings in order; needs three.
///
/// The first passage of a Brownian motion with drift over a distance a: Φ((m t − a)/(s √t)) + e^(2 m a/s²) Φ((−a − m t)/(s √t));
/// Cox and Miller (1965), *The Theory of Stochastic Processes*, section 5.7.
fn random_walk(history: &History, as_of: Date) -> Option<Answer> {
    /// A stick is no better than this, inches: two equal readings are no standing still.
    const LEAST_STEP_IN: f64 = 1.0;
    if stands_at_inlet(history, as_of) {
        return Some([1.0; YEARS.len()]);
    }
    let pit = history.pit();
    let known =
        history.readings_for_a_line(as_of).into_iter().filter(|taken| taken.verdict.weight().is_some());
    let levels: Vec<(f64, f64)> = known
        .map(|taken| {
            (years_between(as_of, taken.reading.date().middle()), as_inches(taken.reading.level(pit)))
        })
        .collect();
    let (&(first, from_in), &(last, to_in)) = levels.first().zip(levels.last())?;
    if levels.len() < 3 || last <= first {
        return None;
    }
    let drift = (to_in - from_in) / (last - first);
    let steps = levels.windows(2).filter(|pair| pair[1].0 > pair[0].0).map(|pair| {
        let years = pair[1].0 - pair[0].0;
        (pair[1].1 - pair[0].1 - drift * years).powi(2) / years
    });
    let steps: Vec<f64> = steps.collect();
    let variance = steps.iter().sum::<f64>() / (steps.len() as f64 - 1.0).max(1.0) + LEAST_STEP_IN.powi(2);
    let left_in = as_inches(pit.effective_depth()) - to_in;
    Some(YEARS.map(|years| {
        let ahead = years - last;
        let (mean, spread) = (drift * ahead, (variance * ahead).sqrt());
        let turned = (2.0 * drift * left_in / variance + normal::log_cdf((-left_in - mean) / spread)).exp();
        (normal::cdf((mean - left_in) / spread) + turned).clamp(0.0, 1.0)
    }))
}
