//! The two-state filter on published and recomputed series: log-likelihoods, forecasts and, from one pass in each
//! direction of time, smoothed states.

use nalgebra::{Matrix2, Vector2};
use serde_json::Value;
use soaklife::numerics::two_state::{DiffuseTwoState, LogLikelihoodTerm, StepNoise, TwoState};
use tests::{assert_close, assert_within, number, numbers, published_column, published_json, tol};

/// The references' tolerance for a log-likelihood at given variances.
const LOG_LIKELIHOOD: f64 = 1e-10;

/// Variances of an observation and, per unit time, of level and slope; without a slope variance there is no slope.
#[derive(Clone, Copy)]
struct Model {
    observation: f64,
    level: f64,
    slope: Option<f64>,
    continuous: bool,
}

impl Model {
    fn of(case: &Value, variances: &Value) -> Model {
        let slope = variances.get("slope").map(number);
        let continuous = case["time"] == "continuous";
        Model {
            observation: number(&variances["eps"]),
            level: number(&variances["level"]),
            slope,
            continuous,
        }
    }

    fn start(&self) -> DiffuseTwoState {
        match self.slope {
            Some(_) => DiffuseTwoState::unknown(),
            None => DiffuseTwoState::unknown_level(0.0, 0.0),
        }
    }

    /// Gain and noise over the time `h`; in discrete time, of `h` steps of 1.
    fn step(&self, h: f64) -> (f64, StepNoise) {
        let slope = self.slope.unwrap_or(0.0);
        let (level, cross) = if self.continuous {
            (h * h * h / 3.0, h * h / 2.0)
        } else {
            (h * (h - 1.0) * (2.0 * h - 1.0) / 6.0, h * (h - 1.0) / 2.0)
        };
        (h, StepNoise { level: self.level * h + slope * level, cross: slope * cross, slope: slope * h })
    }

    /// The same step undone: T⁻¹ and T⁻¹ Q T⁻ᵀ.
    fn step_back(&self, h: f64) -> (f64, StepNoise) {
        let (gain, noise) = self.step(h);
        let cross = noise.cross - gain * noise.slope;
        let level = noise.level - gain * (noise.cross + cross);
        (-gain, StepNoise { level, cross, ..noise })
    }
}

struct Series {
    times: Vec<f64>,
    values: Vec<Option<f64>>,
}

impl Series {
    fn of(case: &Value) -> Series {
        let (times, mut values) = match case["file"].as_str() {
            None => (numbers(&case["t"]), numbers(&case["y"])),
            Some(file) => {
                let folder = if file == "nile.csv" { "series" } else { "state_space" };
                let csv = format!("statistics/{folder}/{file}");
                let column = |key: &str| published_column(&csv, case[key].as_str().unwrap());
                (column("tcol"), column("ycol"))
            }
        };
        if case["log"] == true {
            values.iter_mut().for_each(|value| *value = value.ln());
        }
        let missing = case.get("missing").map(numbers).unwrap_or_default();
        let seen = times.iter().zip(values).map(|(t, value)| (!missing.contains(t)).then_some(value));
        let values = seen.collect();
        Series { times, values }
    }
}

/// What is known at a time before and after its own observation, if it has one.
struct Known {
    before: DiffuseTwoState,
    after: DiffuseTwoState,
}

/// One pass over the series: in the order of the indices, with the step between two of them.
fn pass(
    model: Model,
    series: &Series,
    order: impl Iterator<Item = usize>,
    step: impl Fn(f64) -> (f64, StepNoise),
) -> (Vec<Known>, LogLikelihoodTerm) {
    let (mut state, mut total, mut last) = (model.start(), LogLikelihoodTerm::default(), None);
    let mut known = Vec::new();
    for index in order {
        if let Some(last) = last.replace(index) {
            let (gain, noise) = step((series.times[index] - series.times[last]).abs());
            state = state.stepped(gain, noise);
        }
        let before = state;
        if let Some(value) = series.values[index] {
            let (after, term) = state.observed(value, model.observation);
            (state, total) = (after, total + term);
        }
        known.push(Known { before, after: state });
    }
    (known, total)
}

fn forward(model: Model, series: &Series) -> (Vec<Known>, LogLikelihoodTerm) {
    pass(model, series, 0..series.times.len(), |h| model.step(h))
}

/// The series read from its end: with nothing known at the start, a model run backwards is of the same kind.
fn backward(model: Model, series: &Series) -> (Vec<Known>, LogLikelihoodTerm) {
    let (mut known, total) = pass(model, series, (0..series.times.len()).rev(), |h| model.step_back(h));
    known.reverse();
    (known, total)
}

/// Two independent estimates of one state made one, each weighted by its precision.
fn combined(a: TwoState, b: TwoState) -> TwoState {
    if a.slope_variance == 0.0 {
        let variance = a.level_variance + b.level_variance;
        return a.corrected(b.level - a.level, variance, variance);
    }
    let mean = |state: TwoState| Vector2::new(state.level, state.slope);
    let covariance =
        |s: TwoState| Matrix2::new(s.level_variance, s.covariance, s.covariance, s.slope_variance);
    let share = covariance(a) * (covariance(a) + covariance(b)).try_inverse().unwrap();
    let (mean, covariance) = (mean(a) + share * (mean(b) - mean(a)), share * covariance(b));
    TwoState {
        level: mean[0],
        slope: mean[1],
        level_variance: covariance[(0, 0)],
        covariance: 0.5 * (covariance[(0, 1)] + covariance[(1, 0)]),
        slope_variance: covariance[(1, 1)],
    }
}

/// The two-filter smoother (Fraser and Potter 1969, *IEEE Trans. Autom. Control* 14, 387–390).
fn smoothed(past: &[Known], future: &[Known]) -> Vec<TwoState> {
    let last = past.len() - 1;
    let at = |index: usize| {
        let (past, future) = (&past[index], &future[index]);
        let with_past = past.after.settled().zip(future.before.settled());
        let with_future = past.before.settled().zip(future.after.settled());
        match (with_past.or(with_future), index) {
            (Some((a, b)), _) => combined(a, b),
            (None, 0) => future.after.settled().unwrap(),
            (None, index) if index == last => past.after.settled().unwrap(),
            _ => panic!("too few observations around index {index}"),
        }
    };
    (0..=last).map(at).collect()
}

fn assert_state(found: TwoState, reference: &Value, what: &str) {
    let what = format!("{what} {}", reference["t"]);
    let mut pairs = vec![("level", found.level), ("var_level", found.level_variance)];
    if reference.get("slope").is_some() {
        pairs.push(("slope", found.slope));
        pairs.push(("var_slope", found.slope_variance));
        pairs.push(("cov_level_slope", found.covariance));
    } else {
        assert_eq!((found.slope, found.covariance, found.slope_variance), (0.0, 0.0, 0.0), "{what}");
    }
    for (key, value) in pairs {
        assert_close(value, number(&reference[key]), tol::CLOSED_FORM, &format!("{what} {key}"));
    }
}

fn load(name: &str) -> (Value, Model, Series) {
    let case = published_json(&format!("statistics/state_space/{name}.json"));
    let variances = case.get("fixed").or(case.get("mle")).unwrap();
    let (model, series) = (Model::of(&case, variances), Series::of(&case));
    (case, model, series)
}

fn check(name: &str) {
    let (case, model, series) = load(name);
    let (past, total) = forward(model, &series);
    let (future, total_backward) = backward(model, &series);
    let unknown = number(&case["d"]);
    assert_eq!(total.count, number(&case["n"]) - unknown);
    let restricted = number(&case["loglik_restricted"]);
    assert_close(total.value(), restricted, LOG_LIKELIHOOD, "log-likelihood");
    assert_close(total_backward.value(), restricted, LOG_LIKELIHOOD, "log-likelihood backwards");
    let all_counted = LogLikelihoodTerm { count: total.count + unknown, ..total };
    assert_close(all_counted.value(), number(&case["loglik_n_log2pi"]), LOG_LIKELIHOOD, "with n ln 2π");

    let references = case["smoothed"].as_array().unwrap();
    assert_eq!(references.len(), series.times.len());
    for (state, reference) in smoothed(&past, &future).into_iter().zip(references) {
        assert_state(state, reference, "smoothed");
    }

    let mut state = past.last().unwrap().after.settled().unwrap();
    let mut now = *series.times.last().unwrap();
    for reference in case["forecast_states"].as_array().unwrap() {
        let then = number(&reference["t"]);
        let (gain, noise) = model.step(then - now);
        (state, now) = (state.stepped(gain, noise), then);
        assert_state(state, reference, "forecast");
        let observation = state.level_variance + model.observation;
        assert_close(observation, number(&reference["var_obs"]), tol::CLOSED_FORM, "forecast observation");
    }
}

/// The variances of observation and level where the log-likelihood is greatest, and its value there: the common factor
/// in closed form, the logarithm of their ratio by golden sections.
fn most_likely(series: &Series) -> (f64, f64, f64) {
    let at = |log_ratio: f64| {
        let level = log_ratio.exp();
        let total = forward(Model { observation: 1.0, level, slope: None, continuous: false }, series).1;
        let factor = total.scaled_square / total.count;
        let log_variance = total.log_variance + total.count * factor.ln();
        let scaled = LogLikelihoodTerm { log_variance, scaled_square: total.count, ..total };
        (factor, factor * level, scaled.value())
    };
    let golden = 0.5 * (5.0f64.sqrt() - 1.0);
    let (mut low, mut high) = (-10.0, 10.0);
    while high - low > 1e-7 {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if at(left).2 > at(right).2 { high = right } else { low = left }
    }
    at(0.5 * (low + high))
}

/// Checks the maximum against the recomputed one; returns the published figures and what was found for them.
fn check_maximum(name: &str) -> (Value, [f64; 3]) {
    let (case, _, series) = load(name);
    let (observation, level, value) = most_likely(&series);
    assert_close(observation, number(&case["mle"]["eps"]), 1e-5, "observation variance");
    assert_close(level, number(&case["mle"]["level"]), 1e-5, "level variance");
    assert_close(value, number(&case["loglik_restricted"]), 1e-9, "log-likelihood at its maximum");
    (case["published"].clone(), [observation, level, value / number(&case["n"])])
}

/// Durbin and Koopman (2001), *Time Series Analysis by State Space Methods*, chapter 2: flow of the Nile 1871–1970.
#[test]
fn a_level_is_followed_smoothed_and_forecast() {
    check("nile_local_level");
}

/// The same, section 2.7: 1891–1910 and 1931–1950 taken out.
#[test]
fn gaps_of_decades_are_bridged() {
    check("nile_missing");
}

/// Commandeur and Koopman (2007), chapter 2: logarithm of the road deaths in Norway 1970–2003.
#[test]
fn a_level_of_logarithms_is_followed() {
    check("norway_local_level");
}

/// Constructed: decimal dates, continuous time.
#[test]
fn a_trend_is_followed_over_irregular_dates() {
    check("irregular_local_linear_trend");
}

/// Constructed: whole years with some left out, discrete time.
#[test]
fn a_trend_is_followed_over_years_left_out() {
    check("annual_gap_discrete_llt");
}

/// The variances of the Nile, published as 15099 and 1469.1.
#[test]
fn the_likeliest_variances_of_the_nile_are_the_published_ones() {
    let (published, [observation, level, _]) = check_maximum("nile_local_level");
    assert_within(observation, number(&published["eps"]), 0.5, "observation variance");
    // The last digit printed is one off the maximum, 1469.18.
    assert_within(level, number(&published["level"]), 0.1, "level variance");
}

/// Those of Norway, published as 0.00326838 and 0.0047026, with a log-likelihood of 0.8468622 per year.
#[test]
fn the_likeliest_variances_of_norway_are_the_published_ones() {
    let (published, [observation, level, per_year]) = check_maximum("norway_local_level");
    // The printed variances lie 1.7e-7 and 4.0e-7 off the maximum, the printed log-likelihood on it.
    assert_within(observation, number(&published["eps"]), 5e-7, "observation variance");
    assert_within(level, number(&published["level"]), 5e-7, "level variance");
    assert_within(per_year, number(&published["loglik_per_obs"]), 5e-8, "log-likelihood per year");
}
