//! Theil–Sen slopes, Sen's interval (rounded ranks) and the Mann–Kendall test on published series.

use serde_json::Value;
use soaklife::numerics::mann_kendall::MannKendall;
use soaklife::numerics::theil_sen::TheilSen;
use tests::{assert_close, assert_within, number, numbers, published_column, published_json};

fn load(name: &str) -> (Value, Vec<f64>, Vec<f64>) {
    let case = published_json(&format!("statistics/nonparametric_trend/{name}.json"));
    let Some(file) = case["file"].as_str() else {
        let (x, y) = (numbers(&case["x"]), numbers(&case["y"]));
        return (case, x, y);
    };
    let folder = if name.starts_with("nile") { "series" } else { "nonparametric_trend" };
    let csv = format!("statistics/{folder}/{file}");
    let column = |key: &str| published_column(&csv, case[key].as_str().unwrap());
    let (x, y) = (column("xcol"), column("ycol"));
    (case, x, y)
}

fn check(name: &str) {
    let (case, x, y) = load(name);
    let computed = &case["computed"];
    let line = TheilSen::fit(&x, &y).unwrap();
    assert_eq!(line.slopes().len() as f64, number(&computed["n_slopes"]));
    assert_close(line.slope(), number(&computed["slope"]), 1e-14, name);
    assert_close(line.intercept(), number(&computed["intercept_conover"]), 1e-13, name);

    let test = MannKendall::test(&x, &y).unwrap();
    assert_eq!(test.score() as f64, number(&computed["S"]));
    assert_close(test.variance(), number(&computed["var_S"]), 1e-13, name);
    assert_close(test.z(), number(&computed["z_continuity"]), 1e-13, name);
    assert_close(test.two_sided_p(), number(&computed["p_two_sided"]), 1e-10, name);
    assert_close(test.tau_b().unwrap(), number(&computed["tau_b"]), 1e-13, name);

    for level in case["levels"].as_array().unwrap() {
        let reference = &computed["ci"][level.as_str().unwrap()]["rounded_ranks"];
        let interval = line.interval(number(level)).unwrap();
        assert!(interval.reaches_coverage);
        assert_close(interval.lower, number(&reference["lower"]), 1e-14, name);
        assert_close(interval.upper, number(&reference["upper"]), 1e-14, name);
    }
}

/// Sen (1968), J. Am. Stat. Assoc. 63, 1379–1389: slope 4, 93 % limits 26/7 and 35/8.
#[test]
fn sen_1968() {
    check("sen_1968");
}

/// USEPA (2009), Unified Guidance EPA 530/R-09-007, example 17-6: slope 26.667, tau 0.7667984, z 5.107322.
#[test]
fn epa_2009_example_17_6() {
    check("epa_2009_ex17_6_sulfate");
    let (case, x, y) = load("epa_2009_ex17_6_sulfate");
    let published = &case["published"];
    assert_within(TheilSen::fit(&x, &y).unwrap().slope(), number(&published["slope"]), 5e-8, "slope");
    let test = MannKendall::test(&x, &y).unwrap();
    assert_within(test.z(), number(&published["z"]), 5e-7, "z");
    assert_within(test.two_sided_p(), number(&published["p"]), 5e-14, "p");
}

/// Nile flow 1871–1970.
#[test]
fn nile() {
    check("nile_1871_1970");
}

/// Ties change the variance of the score (constructed).
#[test]
fn levels_with_ties() {
    check("annual_levels_with_ties");
}

/// One wild point of seven leaves the slope at 1 (constructed).
#[test]
fn one_outlier() {
    check("seven_points_one_outlier");
}
