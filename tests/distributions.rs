//! The normal and Student's t distribution at their hard points, against 65–80 digit arithmetic (mpmath; the
//! generator and its grid lie in `fixtures/published/statistics/generate`).

use soaklife::numerics::normal;
use soaklife::numerics::student_t::StudentT;
use tests::{assert_close, assert_within, published_table};

/// Below this a value may be a subnormal number, of which only the leading digits exist.
const SMALLEST_WITH_ALL_DIGITS: f64 = 1e-300;

#[test]
fn normal_cdf() {
    let rows = published_table("statistics/distributions/normal_cdf.csv");
    assert_eq!(rows.len(), 33);
    for row in rows {
        let (z, cdf, log_cdf, density, inverse_mills) = (row[0], row[1], row[2], row[3], row[4]);
        let what = format!("z = {z}");
        if cdf > SMALLEST_WITH_ALL_DIGITS {
            assert_close(normal::cdf(z), cdf, 1e-13, &what);
            assert_close(normal::upper_tail(-z), cdf, 1e-13, &what);
            assert_close(normal::density(z), density, 1e-13, &what);
        } else {
            // A subnormal holds fewer digits the smaller it is: one unit of the last place is 4.9e-324.
            assert_within(normal::cdf(z), cdf, (1e-12 * cdf).max(1e-323), &what);
            assert_within(normal::density(z), density, (1e-12 * density).max(1e-323), &what);
        }
        if log_cdf.abs() > SMALLEST_WITH_ALL_DIGITS {
            assert_close(normal::log_cdf(z), log_cdf, 1e-13, &what);
        } else {
            // 1 − Φ(38) is 3e-316, which 80 digits of 1 cannot hold: the reference prints 0.
            assert_within(normal::log_cdf(z), log_cdf, SMALLEST_WITH_ALL_DIGITS, &what);
        }
        assert_close(normal::inverse_mills_ratio(z), inverse_mills, 1e-13, &what);
    }
}

#[test]
fn normal_quantile() {
    let rows = published_table("statistics/distributions/normal_quantile.csv");
    assert_eq!(rows.len(), 27);
    for row in rows {
        let (probability, z) = (row[0], row[1]);
        let found = normal::quantile(probability).unwrap();
        if (probability - 0.5).abs() < 1e-3 {
            assert_within(found, z, 1e-15, &format!("p = {probability}"));
        } else {
            assert_close(found, z, 1e-14, &format!("p = {probability}"));
        }
    }
}

#[test]
fn student_t_cdf() {
    let rows = published_table("statistics/distributions/student_t_cdf.csv");
    assert_eq!(rows.len(), 234);
    for row in rows {
        let (t, nu, cdf, upper_tail, density) = (row[0], row[1], row[2], row[3], row[4]);
        let student = StudentT::new(nu).unwrap();
        for (found, reference) in
            [(student.cdf(t), cdf), (student.upper_tail(t), upper_tail), (student.density(t), density)]
        {
            let what = format!("t = {t}, nu = {nu}");
            if reference > SMALLEST_WITH_ALL_DIGITS {
                assert_close(found, reference, 1e-12, &what);
            } else {
                assert_within(found, 0.0, SMALLEST_WITH_ALL_DIGITS, &what);
            }
        }
    }
}

#[test]
fn student_t_quantile() {
    let rows = published_table("statistics/distributions/student_t_quantile.csv");
    assert_eq!(rows.len(), 420);
    for row in rows {
        let (probability, nu, t) = (row[0], row[1], row[2]);
        let found = StudentT::new(nu).unwrap().quantile(probability).unwrap();
        let what = format!("p = {probability}, nu = {nu}");
        if probability == 0.5 {
            assert_eq!(found, 0.0, "{what}");
        } else {
            // Heavier tails than Cauchy's magnify the rounding of a tiny probability.
            let tolerance = if probability < 1e-6 && nu < 1.0 { 1e-10 } else { 1e-11 };
            assert_close(found, t, tolerance, &what);
        }
    }
}
