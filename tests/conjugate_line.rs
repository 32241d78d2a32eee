//! A line with a normal-inverse-gamma prior, in exact arithmetic, against the two-state filter without noise between the
//! readings: what one hypothesis of the absorption method is when nothing wanders and no reading is wrong.
//!
//! Per unit of the error variance the filter's state and covariance are the conjugate posterior's; its innovations give the
//! posterior of the variance and the marginal likelihood.

use serde_json::Value;
use soaklife::numerics::two_state::{LogLikelihoodTerm, StepNoise, TwoState};
use tests::{assert_close, assert_within, number, numbers, published_json, tol};

/// ln Γ of a half-integer or integer, exactly as a sum of logarithms.
fn log_gamma(x: f64) -> f64 {
    let (mut sum, mut at) = (0.0, x);
    while at > 1.0 {
        at -= 1.0;
        sum += at.ln();
    }
    if at == 0.5 { sum + 0.5 * std::f64::consts::PI.ln() } else { sum }
}

fn matrix(value: &Value) -> [[f64; 2]; 2] {
    let rows: Vec<Vec<f64>> = value.as_array().unwrap().iter().map(numbers).collect();
    [[rows[0][0], rows[0][1]], [rows[1][0], rows[1][1]]]
}

fn check(name: &str) {
    let case = published_json(&format!("statistics/bayes_conjugate/{name}.json"));
    let (x, y, centre) = (numbers(&case["x"]), numbers(&case["y"]), number(&case["x_c"]));
    let (m0, v0) = (numbers(&case["m0"]), matrix(&case["V0"]));
    let mut state = TwoState {
        level: m0[0],
        slope: m0[1],
        level_variance: v0[0][0],
        covariance: v0[0][1],
        slope_variance: v0[1][1],
    };
    let mut likelihood = LogLikelihoodTerm::default();
    let mut at = centre;
    for (&x, &y) in x.iter().zip(&y) {
        let (after, term) = state.stepped(x - at, StepNoise::default()).observed(y, 1.0);
        (state, at) = (after, x);
        likelihood = likelihood + term;
    }
    state = state.stepped(centre - at, StepNoise::default());

    let computed = &case["computed"];
    let (m, v) = (numbers(&computed["m_n"]), matrix(&computed["V_n"]));
    assert_close(state.level, m[0], tol::EXACT, "level");
    assert_close(state.slope, m[1], tol::EXACT, "slope");
    assert_close(state.level_variance, v[0][0], tol::EXACT, "level variance");
    assert_within(state.covariance, v[0][1], tol::EXACT, "covariance");
    assert_close(state.slope_variance, v[1][1], tol::EXACT, "slope variance");

    let (a0, b0) = (number(&case["a0"]), number(&case["b0"]));
    let (a, b) = (a0 + likelihood.count / 2.0, b0 + likelihood.scaled_square / 2.0);
    assert_close(b, number(&computed["b_n"]), tol::EXACT, "scale of the variance");
    let marginal = -0.5 * (likelihood.count * std::f64::consts::TAU.ln() + likelihood.log_variance)
        + a0 * b0.ln()
        - a * b.ln()
        + log_gamma(a)
        - log_gamma(a0);
    assert_within(marginal, number(&computed["log_marginal_likelihood"]), 1e-11, "marginal likelihood");
    for query in computed["query"].as_array().unwrap() {
        let ahead = state.stepped(number(&query["x"]) - centre, StepNoise::default());
        assert_close(ahead.level, number(&query["location"]), tol::EXACT, "level ahead");
        let scale = |extra: f64| (b / a * (ahead.level_variance + extra)).sqrt();
        assert_close(scale(0.0), number(&query["scale_mean"]), tol::EXACT, "scale of the line");
        assert_close(scale(1.0), number(&query["scale_new"]), tol::EXACT, "scale of a reading");
    }
}

#[test]
fn three_readings_and_an_uncorrelated_prior() {
    check("population_prior_short_record");
}

#[test]
fn eight_readings_and_a_correlated_prior() {
    check("population_prior_correlated");
}
