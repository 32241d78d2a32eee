//! NIST Statistical Reference Datasets, linear regression: certified coefficients, standard deviations, residual
//! standard deviation and R². Tolerances are what the best double-precision libraries reach on each set
//! (`fixtures/published/statistics/README.md`).

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use soaklife::numerics::least_squares::LeastSquares;
use soaklife::numerics::straight_line::StraightLine;
use tests::{assert_close, assert_within, number, published_column, published_json};

struct Certified {
    case: Value,
    design: DMatrix<f64>,
    response: DVector<f64>,
}

fn load(set: &str) -> Certified {
    let case = published_json(&format!("statistics/nist_linear/{set}.json"));
    let csv = format!("statistics/nist_linear/{set}.csv");
    let response = published_column(&csv, "y");
    let terms: Vec<&str> =
        case["terms"].as_array().unwrap().iter().map(|term| term.as_str().unwrap()).collect();
    let columns: Vec<DVector<f64>> = terms.iter().map(|term| column(&csv, term, response.len())).collect();
    assert_eq!(response.len() as f64, number(&case["n"]));
    Certified { design: DMatrix::from_columns(&columns), response: DVector::from_vec(response), case }
}

/// A term of the model: "1", a predictor, or a power of one ("x^3").
fn column(csv: &str, term: &str, rows: usize) -> DVector<f64> {
    let (predictor, power) =
        term.split_once('^').map_or((term, 1), |(name, power)| (name, power.parse().unwrap()));
    if predictor == "1" {
        return DVector::from_element(rows, 1.0);
    }
    DVector::from_vec(published_column(csv, predictor)).map(|x| x.powi(power))
}

fn check(set: &str, coefficients: f64, standard_deviations: f64) {
    let certified = load(set);
    let fit = LeastSquares::fit(&certified.design, &certified.response, None).unwrap();
    let published = &certified.case["certified"];
    let parameters = published["parameters"].as_array().unwrap();
    assert_eq!(parameters.len(), fit.coefficients().len());
    for (index, parameter) in parameters.iter().enumerate() {
        let name = parameter["name"].as_str().unwrap();
        let what = format!("{set} {name}");
        assert_close(fit.coefficients()[index], number(&parameter["estimate"]), coefficients, &what);
        let deviation = number(&parameter["standard_deviation"]);
        if deviation == 0.0 {
            // Wampler1 is an exact polynomial of responses up to 4e6: the certified scatter is zero.
            assert_within(fit.standard_errors()[index], 0.0, 1e-7, &what);
        } else {
            assert_close(fit.standard_errors()[index], deviation, standard_deviations, &what);
        }
    }
    let residual = number(&published["residual_standard_deviation"]);
    if residual == 0.0 {
        assert_within(fit.residual_sd(), 0.0, 1e-7, set);
    } else {
        assert_close(fit.residual_sd(), residual, standard_deviations, set);
    }
    let has_intercept = certified.case["terms"][0] == "1";
    let r_squared = if has_intercept { fit.r_squared() } else { fit.r_squared_about_origin() };
    assert_close(r_squared.unwrap(), number(&published["r_squared"]), standard_deviations.max(1e-14), set);
}

#[test]
fn norris() {
    check("Norris", 1e-12, 1e-12);
}

#[test]
fn pontius() {
    check("Pontius", 1e-12, 1e-12);
}

#[test]
fn no_intercept() {
    check("NoInt1", 1e-14, 1e-12);
}

#[test]
fn filip() {
    check("Filip", 1e-7, 1e-7);
}

#[test]
fn longley() {
    check("Longley", 1e-10, 1e-11);
}

#[test]
fn wampler_1() {
    check("Wampler1", 1e-8, 1e-12);
}

#[test]
fn wampler_3() {
    check("Wampler3", 1e-8, 1e-12);
}

#[test]
fn wampler_5() {
    check("Wampler5", 1e-5, 1e-12);
}

/// The centred straight line reaches two more digits than the general fit must.
#[test]
fn norris_as_a_straight_line() {
    let csv = "statistics/nist_linear/Norris.csv";
    let line = StraightLine::fit(&published_column(csv, "x"), &published_column(csv, "y"), None).unwrap();
    let exact = &published_json("statistics/nist_linear/Norris.json")["exact_rational"];
    assert_close(line.intercept(), number(&exact["beta"][0]), 1e-13, "intercept");
    assert_close(line.slope(), number(&exact["beta"][1]), 1e-13, "slope");
    assert_close(line.intercept_standard_error(), number(&exact["se"][0]), 1e-13, "intercept error");
    assert_close(line.slope_standard_error(), number(&exact["se"][1]), 1e-13, "slope error");
    assert_close(line.residual_sd(), number(&exact["residual_sd"]), 1e-13, "residual sd");
}
