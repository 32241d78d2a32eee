//! NIST Statistical Reference Datasets, nonlinear regression: certified parameters, standard deviations and residual sums
//! of 18 sets of all three grades of difficulty, each from both of its starts. From the second, nearer one every set must be
//! fitted; from the first it may be refused, but never fitted wrongly.

use serde_json::Value;
use soaklife::numerics::levenberg_marquardt::{NonlinearFit, NonlinearFitError};
use std::f64::consts::PI;
use tests::{assert_close, assert_within, number, numbers, published_json, published_table};

/// Tolerances of the sets' description are six digits of parameters and eight of the residual sum. The undamped steps at
/// the end bring the parameters to eight; without them Lanczos3 would stop at 6.5 and Nelson at 7.5.
const PARAMETER: f64 = 2e-8;
const RESIDUAL_SUM: f64 = 1e-8;
/// Standard deviations come from the same derivatives as the parameters.
const STANDARD_DEVIATION: f64 = 1e-6;

/// A model by the name of its set: parameters, the predictors of a row.
fn model(set: &str) -> fn(&[f64], &[f64]) -> f64 {
    match set {
        "Misra1a" | "BoxBOD" => |b, x| b[0] * (1.0 - (-b[1] * x[0]).exp()),
        "Misra1b" => |b, x| b[0] * (1.0 - (1.0 + b[1] * x[0] / 2.0).powi(-2)),
        "Chwirut2" => |b, x| (-b[0] * x[0]).exp() / (b[1] + b[2] * x[0]),
        "Lanczos1" | "Lanczos3" => {
            |b, x| b.chunks(2).map(|pair| pair[0] * (-pair[1] * x[0]).exp()).sum::<f64>()
        }
        "Gauss1" | "Gauss3" => |b, x| {
            let bell = |b: &[f64]| b[0] * (-((x[0] - b[1]) / b[2]).powi(2)).exp();
            b[0] * (-b[1] * x[0]).exp() + bell(&b[2..5]) + bell(&b[5..8])
        },
        "Kirby2" => |b, x| polynomial(&b[..3], x[0]) / (1.0 + x[0] * polynomial(&b[3..], x[0])),
        "Hahn1" => |b, x| polynomial(&b[..4], x[0]) / (1.0 + x[0] * polynomial(&b[4..], x[0])),
        // NIST certifies it for the logarithm of the response.
        "Nelson" => |b, x| b[0] - b[1] * x[0] * (-b[2] * x[1]).exp(),
        "MGH17" => |b, x| b[0] + b[1] * (-x[0] * b[3]).exp() + b[2] * (-x[0] * b[4]).exp(),
        "MGH09" => |b, x| b[0] * x[0] * (x[0] + b[1]) / (x[0] * x[0] + x[0] * b[2] + b[3]),
        "Roszman1" => |b, x| b[0] - b[1] * x[0] - (b[2] / (x[0] - b[3])).atan() / PI,
        "ENSO" => |b, x| {
            let wave = |cosine: f64, sine: f64, period: f64| {
                let angle = 2.0 * PI * x[0] / period;
                cosine * angle.cos() + sine * angle.sin()
            };
            b[0] + wave(b[1], b[2], 12.0) + wave(b[4], b[5], b[3]) + wave(b[7], b[8], b[6])
        },
        "Rat43" => |b, x| b[0] / (1.0 + (b[1] - b[2] * x[0]).exp()).powf(1.0 / b[3]),
        "Eckerle4" => |b, x| b[0] / b[1] * (-0.5 * ((x[0] - b[2]) / b[1]).powi(2)).exp(),
        "Bennett5" => |b, x| b[0] * (b[1] + x[0]).powf(-1.0 / b[2]),
        other => panic!("no model for {other}"),
    }
}

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

struct Set {
    name: &'static str,
    case: Value,
    response: Vec<f64>,
    predictors: Vec<Vec<f64>>,
}

impl Set {
    fn load(name: &'static str) -> Self {
        let rows = published_table(&format!("statistics/nist_nonlinear/{name}.csv"));
        let case = published_json(&format!("statistics/nist_nonlinear/{name}.json"));
        let response = rows.iter().map(|row| if name == "Nelson" { row[0].ln() } else { row[0] }).collect();
        let predictors = rows.iter().map(|row| row[1..].to_vec()).collect();
        Self { name, case, response, predictors }
    }

    fn fit_from(&self, start: &str) -> Result<NonlinearFit, NonlinearFitError> {
        let model = model(self.name);
        NonlinearFit::fit(&self.response, &numbers(&self.case[start]), |b, row| {
            model(b, &self.predictors[row])
        })
    }

    fn check(&self, fit: &NonlinearFit, from: &str) {
        let what = |name: &str| format!("{} from {from}: {name}", self.name);
        let certified = &self.case["certified"];
        let variance = fit.residual_variance().unwrap();
        let errors = fit.standard_errors(variance);
        for (index, parameter) in certified["parameters"].as_array().unwrap().iter().enumerate() {
            let name = parameter["name"].as_str().unwrap();
            assert_close(fit.parameters()[index], number(&parameter["estimate"]), PARAMETER, &what(name));
            if self.name != "Lanczos1" {
                let deviation = number(&parameter["standard_deviation"]);
                assert_close(errors[index], deviation, STANDARD_DEVIATION, &what(name));
            }
        }
        let residual_sum = number(&certified["residual_sum_of_squares"]);
        if self.name == "Lanczos1" {
            // Its residual sum, 1.4e-25, is the rounding of the data to 14 digits.
            assert_within(fit.residual_sum_of_squares(), residual_sum, 1e-20, &what("residual sum"));
        } else {
            assert_close(fit.residual_sum_of_squares(), residual_sum, RESIDUAL_SUM, &what("residual sum"));
        }
        assert_eq!(fit.degrees_of_freedom() as f64, number(&certified["df"]));
    }
}

const SETS: [&str; 18] = [
    "Misra1a", "Misra1b", "Chwirut2", "Lanczos1", "Lanczos3", "Gauss1", "Gauss3", "Kirby2", "Hahn1",
    "Nelson", "MGH17", "MGH09", "Roszman1", "ENSO", "BoxBOD", "Rat43", "Eckerle4", "Bennett5",
];

#[test]
fn every_set_is_fitted_from_its_second_start() {
    let mut steps = 0;
    for name in SETS {
        let set = Set::load(name);
        let fit = set.fit_from("start2").unwrap_or_else(|error| panic!("{name}: {error}"));
        set.check(&fit, "start 2");
        steps += fit.steps();
    }
    // 897 when this was written: a guard against a search that gets there, but slowly.
    assert!(steps <= 950, "{steps} steps");
}

/// A wrong answer would be worse than none: the widely used MINPACK returns one for BoxBOD here.
#[test]
fn no_set_is_fitted_wrongly_from_its_first_start() {
    let mut refused = Vec::new();
    for name in SETS {
        let set = Set::load(name);
        match set.fit_from("start1") {
            Ok(fit) => set.check(&fit, "start 1"),
            Err(_) => refused.push(name),
        }
    }
    // The first steps make its rate so fast that exp(−b x) is nothing at every x, and no step leads back.
    assert_eq!(refused, ["BoxBOD"]);
}
