//! Lines and a quadratic in raw calendar years against exact rational arithmetic (recomputed, 30 digits).

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use soaklife::numerics::least_squares::LeastSquares;
use soaklife::numerics::straight_line::StraightLine;
use tests::{assert_close, number, numbers, published_json, tol};

fn case(name: &str) -> Value {
    published_json(&format!("statistics/exact_regression/{name}.json"))
}

fn check_line(name: &str) {
    let case = case(name);
    let (x, y, centre) = (numbers(&case["x"]), numbers(&case["y"]), number(&case["x_c"]));
    let weights = case.get("w").map(numbers);
    let line = StraightLine::fit(&x, &y, weights.as_deref()).unwrap();
    let (raw, centred) = (&case["computed"]["raw"], &case["computed"]["centred"]);
    assert_close(line.mean_at(centre), number(&centred["beta"][0]), tol::EXACT, "centred intercept");
    assert_close(line.slope(), number(&centred["beta"][1]), tol::EXACT, "slope");
    assert_close(line.standard_error_of_mean_at(centre), number(&centred["se"][0]), tol::EXACT, "its error");
    assert_close(line.slope_standard_error(), number(&centred["se"][1]), tol::EXACT, "slope error");
    assert_close(line.residual_sd(), number(&centred["s"]), tol::EXACT, "s");
    assert_close(line.residual_sum_of_squares(), number(&centred["rss"]), tol::EXACT, "rss");
    // An intercept two thousand years away: the README allows 1e-9.
    assert_close(line.intercept(), number(&raw["beta"][0]), 1e-9, "raw intercept");
    assert_close(line.intercept_standard_error(), number(&raw["se"][0]), 1e-9, "raw intercept error");
    for query in centred["query"].as_array().unwrap() {
        let at = number(&query["x"]);
        assert_close(line.mean_at(at), number(&query["mean"]), tol::EXACT, "mean");
        assert_close(line.standard_error_of_mean_at(at), number(&query["se_mean"]), tol::EXACT, "se of mean");
        assert_close(line.standard_error_of_new_at(at), number(&query["se_new"]), tol::EXACT, "se of new");
    }
}

#[test]
fn a_line_in_calendar_years() {
    check_line("calendar_year_line");
}

#[test]
fn a_weighted_line() {
    check_line("weighted_line_recency");
}

#[test]
fn a_quadratic_in_calendar_years() {
    let case = case("calendar_year_quadratic");
    let (x, y, centre) = (numbers(&case["x"]), numbers(&case["y"]), number(&case["x_c"]));
    let centred = &case["computed"]["centred"];
    let row = |x: f64| [1.0, x - centre, (x - centre) * (x - centre)];
    let design = DMatrix::from_row_iterator(x.len(), 3, x.iter().flat_map(|&x| row(x)));
    let fit = LeastSquares::fit(&design, &DVector::from_vec(y), None).unwrap();
    for index in 0..3 {
        let what = format!("coefficient {index}");
        assert_close(fit.coefficients()[index], number(&centred["beta"][index]), tol::EXACT, &what);
        assert_close(fit.standard_errors()[index], number(&centred["se"][index]), tol::EXACT, &what);
    }
    for query in centred["query"].as_array().unwrap() {
        let at = DVector::from_row_slice(&row(number(&query["x"])));
        let mean = at.dot(fit.coefficients());
        let variance = at.dot(&(fit.covariance() * &at));
        let new = (variance + fit.residual_sd() * fit.residual_sd()).sqrt();
        assert_close(mean, number(&query["mean"]), tol::EXACT, "mean");
        assert_close(variance.sqrt(), number(&query["se_mean"]), tol::EXACT, "se of mean");
        assert_close(new, number(&query["se_new"]), tol::EXACT, "se of new");
    }
    // Raw coefficients by shifting back from the centre.
    let (raw, beta) = (&case["computed"]["raw"], fit.coefficients());
    let shifted =
        [beta[0] - beta[1] * centre + beta[2] * centre * centre, beta[1] - 2.0 * beta[2] * centre, beta[2]];
    for (index, found) in shifted.into_iter().enumerate() {
        assert_close(found, number(&raw["beta"][index]), 1e-6, "raw coefficient");
    }
}
