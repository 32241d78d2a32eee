//! Where a line meets a value: Fieller sets and Wald intervals of published calibrations and of constructed lines
//! whose slope is not significant. Sources stand in each case; recomputed in 50-digit arithmetic.

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use soaklife::numerics::inverse_prediction::{InversePrediction, InverseSet};
use soaklife::numerics::least_squares::LeastSquares;
use soaklife::numerics::root::bracketed_root;
use soaklife::numerics::straight_line::StraightLine;
use soaklife::numerics::student_t::StudentT;
use tests::{assert_close, assert_within, number, numbers, published_column, published_json, tol};

fn check(name: &str) -> usize {
    let case = published_json(&format!("statistics/inverse_prediction/{name}.json"));
    let (x, y) = match case["data_file"].as_str() {
        Some(file) => {
            let file = format!("statistics/inverse_prediction/{file}");
            (published_column(&file, "x"), published_column(&file, "y"))
        }
        None => (numbers(&case["data"]["x"]), numbers(&case["data"]["y"])),
    };
    let line = StraightLine::fit(&x, &y, None).unwrap();
    assert_close(line.slope(), number(&case["fit"]["slope"]), tol::EXACT, name);
    assert_close(line.residual_sd(), number(&case["fit"]["s"]), tol::EXACT, name);
    let queries = case["queries"].as_array().unwrap();
    for query in queries {
        check_query(&line, query, &format!("{name}, y0 = {}, coverage {}", query["y0"], query["level"]));
    }
    queries.len()
}

fn check_query(line: &StraightLine, query: &Value, what: &str) {
    let (value, coverage) = (number(&query["y0"]), number(&query["level"]));
    let found = if query["mean_response"] == true {
        line.inverse_of_mean(value, coverage)
    } else {
        let replicates = query.get("m").map_or(1.0, number) as u32;
        line.inverse_of_new(value, coverage, replicates)
    }
    .unwrap();
    assert_close(found.estimate.unwrap(), number(&query["estimate"]), tol::CLOSED_FORM, what);
    let wald = found.wald.unwrap();
    assert_close(wald.standard_error, number(&query["wald_se"]), tol::CLOSED_FORM, what);
    for (found, reference) in [wald.lower, wald.upper].into_iter().zip(numbers(&query["wald"])) {
        assert_close(found, reference, tol::CLOSED_FORM, what);
    }
    check_set(&found, query, what);
    check_published(&found, query, what);
}

/// The kind exactly: an unbounded set must never be told as a finite interval.
fn check_set(found: &InversePrediction, query: &Value, what: &str) {
    let ends = match (query["kind"].as_str().unwrap(), found.set) {
        ("bounded", InverseSet::Interval { lower, upper }) => [lower, upper],
        ("exclusive", InverseSet::Outside { lower, upper }) => [lower, upper],
        ("whole_line", InverseSet::WholeLine) => return,
        (kind, set) => panic!("{what}: {set:?} for {kind}"),
    };
    for (found, reference) in ends.into_iter().zip(numbers(&query["inversion"])) {
        assert_close(found, reference, tol::CLOSED_FORM, what);
    }
}

/// The figures as the source prints them, to its own rounding.
fn check_published(found: &InversePrediction, query: &Value, what: &str) {
    let Some(published) = query.get("published") else { return };
    let digits = published.get("rounded_to").map_or(0.0, number);
    let half_a_digit = 0.5 * 10f64.powf(-digits) * (1.0 + 1e-9);
    if let Some(estimate) = published.get("estimate") {
        assert_within(found.estimate.unwrap(), number(estimate), half_a_digit, what);
    }
    if let Some(half_width) = published.get("half_width") {
        let wald = found.wald.unwrap();
        assert_within(0.5 * (wald.upper - wald.lower), number(half_width), half_a_digit, what);
    }
}

/// Massart et al. (1997), Handbook of Chemometrics and Qualimetrics A, chapter 8, example 1.
#[test]
fn massart() {
    assert_eq!(check("massart_1997_ex1"), 3);
}

/// Graybill and Iyer (1994), Regression Analysis, thermometer calibration.
#[test]
fn graybill_iyer() {
    assert_eq!(check("graybill_iyer_thermometer"), 2);
}

/// DIN 32645, example.
#[test]
fn din_32645() {
    assert_eq!(check("din_32645"), 1);
}

/// NIST/SEMATECH e-Handbook, section 2.3.6, linewidth calibration.
#[test]
fn nist_linewidth() {
    assert_eq!(check("nist_linewidth_calibration"), 4);
}

/// A rising level against calendar years, as in a pit (constructed).
#[test]
fn rising_level() {
    assert_eq!(check("rising_level_annual"), 4);
}

/// A slope that may have either sign: two rays, or the whole line (constructed).
#[test]
fn unbounded_sets() {
    assert_eq!(check("fieller_unbounded_exclusive"), 4);
}

fn quadratic(csv: &str) -> LeastSquares {
    let (x, y) = (published_column(csv, "x"), published_column(csv, "y"));
    let design = DMatrix::from_fn(x.len(), 3, |row, power| x[row].powi(power as i32));
    LeastSquares::fit(&design, &DVector::from_vec(y), None).unwrap()
}

/// NIST/SEMATECH e-Handbook, section 2.3.6.5, load cell calibration by a quadratic; recomputed, to the digits given.
#[test]
fn nist_load_cell() {
    let fit = quadratic("statistics/inverse_prediction/nist_loadcell.csv");
    assert_eq!(fit.degrees_of_freedom(), 30);
    let coefficients = [(-1.83980467e-5, 5e-14), (0.100102485397, 5e-13), (7.03186511e-6, 5e-15)];
    let errors = [(2.4507e-5, 5e-10), (4.8387e-6, 5e-11), (2.0136e-7, 5e-12)];
    for index in 0..3 {
        let what = format!("coefficient {index}");
        assert_within(fit.coefficients()[index], coefficients[index].0, coefficients[index].1, &what);
        assert_within(fit.standard_errors()[index], errors[index].0, errors[index].1, &what);
    }
    assert_within(fit.residual_sd(), 3.76403e-5, 5e-11, "residual sd");
}

/// NIST/SEMATECH e-Handbook: which load on the Pontius cell made a deflection of 1.239722? It prints 1,705,106 within
/// 1,704,513 to 1,705,698 (from memory); recomputed to five decimals.
#[test]
fn pontius_inverted() {
    let fit = quadratic("statistics/nist_linear/Pontius.csv");
    let multiplier =
        StudentT::new(fit.degrees_of_freedom() as f64).unwrap().two_sided_multiplier(0.95).unwrap();
    // The end where the deflection lies `sign` prediction errors of one new reading above the curve.
    let load = |sign: f64| {
        let distance = |x: f64| {
            let at = DVector::from_vec(vec![1.0, x, x * x]);
            let new = (at.dot(&(fit.covariance() * &at)) + fit.residual_sd().powi(2)).sqrt();
            at.dot(fit.coefficients()) + sign * multiplier * new - 1.239722
        };
        bracketed_root(distance, 1.6e6, 1.8e6, 0.0, 100).unwrap().at
    };
    // Half of the last decimal printed.
    assert_within(load(0.0), 1_705_105.568_85, 5e-6, "estimate");
    assert_within(load(1.0), 1_704_513.372_94, 5e-6, "lower end");
    assert_within(load(-1.0), 1_705_697.763_62, 5e-6, "upper end");
}
