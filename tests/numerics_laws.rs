//! Laws of the statistics: total on every float, and true to the symmetries of what they compute.

use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use soaklife::numerics::inverse_prediction::{InverseSet, UncertainLine};
use soaklife::numerics::least_squares::LeastSquares;
use soaklife::numerics::mann_kendall::MannKendall;
use soaklife::numerics::normal;
use soaklife::numerics::root::bracketed_root;
use soaklife::numerics::straight_line::StraightLine;
use soaklife::numerics::student_t::StudentT;
use soaklife::numerics::theil_sen::TheilSen;

/// Any float at all, every other one of a size that gets past the first check.
fn any_float() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -1e3..1e3f64,
        3 => proptest::num::f64::ANY,
        1 => prop::sample::select(vec![
            0.0, -0.0, 0.5, 1.0, 2.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN,
            f64::MIN_POSITIVE, f64::from_bits(1), f64::EPSILON, 1e154, 1e-154, 1e200, -1e-200, 1e300,
        ]),
    ]
}

fn any_floats(longest: usize) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(any_float(), 0..longest)
}

/// Points whose x repeat and whose y repeat, as rounded readings do.
fn points(fewest: usize) -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    prop::collection::vec((-40..40i32, -200..200i32), fewest..24)
        .prop_map(|points| points.into_iter().map(|(x, y)| (f64::from(x) / 4.0, f64::from(y) / 8.0)).unzip())
        .prop_filter("x must differ", |(x, _): &(Vec<f64>, Vec<f64>)| x.iter().any(|v| *v != x[0]))
}

/// Degrees of freedom of every kind the distribution treats apart.
fn degrees() -> impl Strategy<Value = f64> {
    prop_oneof![(1..80u32).prop_map(f64::from), 0.3..200.0f64, (2.0..12.0f64).prop_map(|e| 10f64.powf(e))]
}

fn tail_probability() -> impl Strategy<Value = f64> {
    prop_oneof![(-12.0..-0.31f64).prop_map(|e| 10f64.powf(e)), 0.001..0.499f64]
}

fn all_finite(values: impl IntoIterator<Item = f64>) -> bool {
    values.into_iter().all(f64::is_finite)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn the_normal_distribution_takes_any_float(z in any_float()) {
        let probabilities = [normal::cdf(z), normal::upper_tail(z)];
        if z.is_nan() {
            prop_assert!(probabilities.iter().all(|p| p.is_nan()) && normal::density(z).is_nan());
            prop_assert!(normal::log_cdf(z).is_nan() && normal::inverse_mills_ratio(z).is_nan());
        } else {
            prop_assert!(probabilities.iter().all(|p| (0.0..=1.0).contains(p)));
            prop_assert!((0.0..0.4).contains(&normal::density(z)));
            prop_assert!(normal::log_cdf(z) <= 0.0 && normal::inverse_mills_ratio(z) >= 0.0);
        }
        match normal::quantile(z) {
            Ok(quantile) => prop_assert!(z > 0.0 && z < 1.0 && quantile.is_finite()),
            Err(_) => prop_assert!(!(z > 0.0 && z < 1.0)),
        }
    }

    #[test]
    fn students_distribution_takes_any_float(nu in any_float(), t in any_float(), p in any_float()) {
        let Ok(student) = StudentT::new(nu) else {
            prop_assert!(!(nu >= 1e-3 && nu.is_finite()));
            return Ok(());
        };
        let values = [student.cdf(t), student.upper_tail(t), student.density(t)];
        if t.is_nan() {
            prop_assert!(values.iter().all(|v| v.is_nan()));
        } else {
            prop_assert!((0.0..=1.0).contains(&values[0]) && (0.0..=1.0).contains(&values[1]), "{values:?}");
            prop_assert!((0.0..0.4).contains(&values[2]), "{values:?}");
        }
        prop_assert!(student.quantile(p).map_or(true, f64::is_finite));
        prop_assert!(student.two_sided_multiplier(p).map_or(true, |q| q.is_finite() && q >= 0.0));
    }

    #[test]
    fn a_bracketed_root_takes_any_float(
        [a, b, c, lower, upper, tolerance] in prop::array::uniform6(any_float()), cap in 0..300u32,
    ) {
        if let Ok(root) = bracketed_root(|x| (a * x + b) * x + c, lower, upper, tolerance, cap) {
            prop_assert!((lower..=upper).contains(&root.at) && root.evaluations <= cap.max(2));
        }
    }

    #[test]
    fn fits_take_any_float(
        x in any_floats(9), y in any_floats(9), weights in any_floats(9), at in any_float(), coverage in any_float(),
    ) {
        let rows = x.len().min(y.len()).min(weights.len());
        for (x, y, weights) in [(&x[..], &y[..], &weights[..]), (&x[..rows], &y[..rows], &weights[..rows])] {
            for weights in [None, Some(weights)] {
                if let Ok(line) = StraightLine::fit(x, y, weights) {
                    prop_assert!(all_finite([
                        line.centre(), line.mean_at_centre(), line.slope(), line.intercept(), line.residual_sd(),
                        line.residual_sum_of_squares(), line.sum_of_squares_x(), line.total_weight(),
                        line.slope_standard_error(), line.r_squared().unwrap_or(0.0),
                    ]), "{line:?}");
                    let _ = (line.mean_at(at), line.leverage_at(at), line.intercept_standard_error());
                    let _ = (line.standard_error_of_mean_at(at), line.standard_error_of_new_at(at));
                    for found in [line.inverse_of_mean(at, coverage), line.inverse_of_new(at, coverage, 3)].iter().flatten() {
                        prop_assert!(all_finite(ends(found.set)) && all_finite(found.estimate), "{found:?}");
                    }
                }
                let design = DMatrix::from_fn(x.len(), 2, |row, column| if column == 0 { 1.0 } else { x[row] });
                if let Ok(fit) = LeastSquares::fit(&design, &DVector::from_column_slice(y), weights) {
                    prop_assert!(all_finite(fit.coefficients().iter().copied()), "{fit:?}");
                    prop_assert!(all_finite(fit.covariance().iter().copied()), "{fit:?}");
                    prop_assert!(all_finite(fit.standard_errors().iter().copied()), "{fit:?}");
                    prop_assert!(all_finite([fit.residual_sd()].into_iter().chain(fit.r_squared())), "{fit:?}");
                }
            }
        }
    }

    #[test]
    fn rank_trends_take_any_float(
        x in any_floats(9), y in any_floats(9), slope in any_float(), coverage in any_float(),
    ) {
        let rows = x.len().min(y.len());
        for (x, y) in [(&x[..], &y[..]), (&x[..rows], &y[..rows])] {
            if let Ok(line) = TheilSen::fit(x, y) {
                prop_assert!(all_finite([line.slope(), line.intercept()]), "{line:?}");
                let chance = line.probability_slope_exceeds(slope);
                prop_assert!((0.0..=1.0).contains(&chance) || (slope.is_nan() && chance.is_nan()));
                if let Ok(interval) = line.interval(coverage) {
                    prop_assert!(interval.lower <= interval.upper && all_finite([interval.lower, interval.upper]));
                }
            }
            if let Ok(test) = MannKendall::test(x, y) {
                prop_assert!(all_finite([test.variance(), test.z()]) && (0.0..=1.0).contains(&test.two_sided_p()));
                prop_assert!(test.tau_b().is_none_or(|tau| (-1.0..=1.0).contains(&tau)));
            }
        }
    }

    #[test]
    fn an_inverse_takes_any_float(
        [centre, mean, slope, v0, c, v1] in prop::array::uniform6(any_float()),
        [value, multiplier, extra] in prop::array::uniform3(any_float()),
    ) {
        let line = UncertainLine {
            centre, mean_at_centre: mean, slope, variance_of_mean: v0, covariance: c, variance_of_slope: v1,
        };
        if let Ok(found) = line.inverse(value, multiplier, extra) {
            prop_assert!(all_finite(ends(found.set)) && all_finite(found.estimate), "{found:?}");
            if let Some(wald) = found.wald {
                prop_assert!(all_finite([wald.standard_error, wald.lower, wald.upper]), "{found:?}");
            }
        }
    }
}

/// The ends of a set, in order.
fn ends(set: InverseSet) -> Vec<f64> {
    match set {
        InverseSet::Interval { lower, upper } | InverseSet::Outside { lower, upper } => {
            assert!(lower <= upper, "{set:?}");
            vec![lower, upper]
        }
        InverseSet::WholeLine | InverseSet::Empty => Vec::new(),
    }
}

proptest! {
    #[test]
    fn normal_quantiles_and_tails_are_inverse(p in tail_probability()) {
        let z = normal::quantile(p).unwrap();
        // A rounding of z moves the tail by z² times as much.
        prop_assert!((normal::cdf(z) / p - 1.0).abs() < 1e-14 * (1.0 + z * z));
        prop_assert!((normal::log_cdf(z) - p.ln()).abs() < 1e-14 * (1.0 + z * z));
        prop_assert_eq!(normal::upper_tail(-z), normal::cdf(z));
    }

    #[test]
    fn student_quantiles_and_tails_are_inverse(nu in degrees(), p in tail_probability()) {
        let student = StudentT::new(nu).unwrap();
        let t = student.quantile(p).unwrap();
        prop_assert!((student.cdf(t) / p - 1.0).abs() < 1e-12, "t = {}", t);
        let coverage = 1.0 - 2.0 * p;
        let outside = student.upper_tail(student.two_sided_multiplier(coverage).unwrap());
        prop_assert!((2.0 * outside / (1.0 - coverage) - 1.0).abs() < 1e-12, "{}", outside);
        prop_assert_eq!(student.upper_tail(-t), student.cdf(t));
        prop_assert_eq!(student.density(-t), student.density(t));
    }

    #[test]
    fn students_cdf_rises(nu in degrees(), t in -50.0..50.0f64, further in 1e-6..10.0f64) {
        let student = StudentT::new(nu).unwrap();
        prop_assert!(student.cdf(t + further) >= student.cdf(t));
        prop_assert!(student.upper_tail(t + further) <= student.upper_tail(t));
        prop_assert!((student.cdf(t) + student.upper_tail(t) - 1.0).abs() < 4e-15);
    }

    /// The derivative of the cdf is the density, by a central difference.
    #[test]
    fn students_density_is_the_slope_of_its_cdf(nu in degrees(), t in -6.0..6.0f64) {
        let student = StudentT::new(nu).unwrap();
        let h = 1e-4;
        let difference = (student.cdf(t + h) - student.cdf(t - h)) / (2.0 * h);
        // h² f″/6 stays below 2e-9 and rounding below 1e-16/h.
        prop_assert!((difference - student.density(t)).abs() < 5e-9, "{}", difference);
    }

    #[test]
    fn moving_and_stretching_the_points_moves_and_stretches_the_line(
        (x, y) in points(3), shift in -3000..3000i32, stretch in 1..16u32, tilt in -9..9i32,
    ) {
        let (shift, stretch, tilt) = (f64::from(shift), f64::from(stretch) / 4.0, f64::from(tilt));
        let line = StraightLine::fit(&x, &y, None).unwrap();
        let moved_x: Vec<f64> = x.iter().map(|x| stretch * x + shift).collect();
        let moved_y: Vec<f64> = x.iter().zip(&y).map(|(x, y)| 8.0 * y + tilt * x + shift).collect();
        let moved = StraightLine::fit(&moved_x, &moved_y, None).unwrap();
        let size = 1e3 * (1.0 + line.slope().abs());
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-13 * (size + a.abs());
        prop_assert!(close(moved.slope() * stretch, 8.0 * line.slope() + tilt));
        prop_assert!(close(moved.residual_sd(), 8.0 * line.residual_sd()));
        prop_assert!(close(moved.mean_at_centre(), 8.0 * line.mean_at_centre() + tilt * line.centre() + shift));
        prop_assert!(close(moved.slope_standard_error() * stretch, 8.0 * line.slope_standard_error()));
    }

    #[test]
    fn equal_weights_change_the_unit_of_weight_only((x, y) in points(3), weight in 1e-3..1e3f64) {
        let plain = StraightLine::fit(&x, &y, None).unwrap();
        let weighted = StraightLine::fit(&x, &y, Some(&vec![weight; x.len()])).unwrap();
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * (1.0 + a.abs());
        prop_assert!(close(plain.slope(), weighted.slope()) && close(plain.intercept(), weighted.intercept()));
        prop_assert!(close(plain.residual_sd(), weighted.residual_sd() / weight.sqrt()));
        prop_assert!(close(plain.standard_error_of_mean_at(30.0), weighted.standard_error_of_mean_at(30.0)));
    }

    #[test]
    fn a_straight_line_is_the_general_fit_of_two_columns((x, y) in points(3)) {
        let line = StraightLine::fit(&x, &y, None).unwrap();
        let design = DMatrix::from_fn(x.len(), 2, |row, column| if column == 0 { 1.0 } else { x[row] });
        let fit = LeastSquares::fit(&design, &DVector::from_vec(y), None).unwrap();
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-11 * (1.0 + a.abs());
        prop_assert!(close(line.intercept(), fit.coefficients()[0]) && close(line.slope(), fit.coefficients()[1]));
        prop_assert!(close(line.intercept_standard_error(), fit.standard_errors()[0]));
        prop_assert!(close(line.slope_standard_error(), fit.standard_errors()[1]));
    }

    /// The confidence band of the mean leaves the value exactly at the ends of the inverse set.
    #[test]
    fn an_inverse_set_ends_where_the_band_meets_the_value(
        (x, y) in points(4), value in -60.0..60.0f64, coverage in 0.2..0.99f64,
    ) {
        let line = StraightLine::fit(&x, &y, None).unwrap();
        prop_assume!(line.residual_sd() > 1e-6);
        let multiplier = StudentT::new(line.degrees_of_freedom()).unwrap().two_sided_multiplier(coverage).unwrap();
        let missing = |x: f64| (value - line.mean_at(x)).abs() - multiplier * line.standard_error_of_mean_at(x);
        let found = line.inverse_of_mean(value, coverage).unwrap();
        for end in ends(found.set).into_iter().filter(|end| end.abs() < 1e6) {
            let scale = 1.0 + value.abs() + multiplier * line.standard_error_of_mean_at(end);
            prop_assert!(missing(end).abs() < 1e-7 * scale, "{} at {}", missing(end), end);
        }
        match found.set {
            InverseSet::Interval { lower, upper } => {
                prop_assert!((lower..=upper).contains(&found.estimate.unwrap()));
            }
            InverseSet::Outside { lower, upper } => {
                prop_assert!(missing(0.5 * lower + 0.5 * upper) > 0.0 || upper - lower < 1e-6);
                prop_assert!(multiplier * line.slope_standard_error() >= line.slope().abs());
            }
            InverseSet::WholeLine => prop_assert!((-40..40).all(|x| missing(f64::from(x)) <= 1e-9)),
            InverseSet::Empty => prop_assert!(false, "a line with scatter may always meet the value"),
        }
    }

    #[test]
    fn sens_limits_bracket_the_slope_and_nest((x, y) in points(4), coverage in 0.05..0.95f64) {
        let line = TheilSen::fit(&x, &y).unwrap();
        let (narrow, wide) = (line.interval(coverage).unwrap(), line.interval(coverage + 0.04).unwrap());
        prop_assert!(narrow.lower <= line.slope() && line.slope() <= narrow.upper);
        prop_assert!(wide.lower <= narrow.lower && narrow.upper <= wide.upper);
    }

    #[test]
    fn turning_y_over_turns_the_rank_trend_over((x, y) in points(4), slope in -30.0..30.0f64, more in 0.0..9.0f64) {
        let over: Vec<f64> = y.iter().map(|y| -y).collect();
        let (line, turned) = (TheilSen::fit(&x, &y).unwrap(), TheilSen::fit(&x, &over).unwrap());
        prop_assert_eq!(line.slope(), -turned.slope());
        let both = line.probability_slope_exceeds(slope) + turned.probability_slope_exceeds(-slope);
        prop_assert!((both - 1.0).abs() < 1e-14);
        prop_assert!(line.probability_slope_exceeds(slope + more) <= line.probability_slope_exceeds(slope));
        let (test, turned) = (MannKendall::test(&x, &y).unwrap(), MannKendall::test(&x, &over).unwrap());
        prop_assert_eq!(test.score(), -turned.score());
        prop_assert_eq!(test.two_sided_p(), turned.two_sided_p());
    }

    /// The confidence distribution and Sen's ranks come from the same normal approximation.
    #[test]
    fn the_confidence_of_the_slope_agrees_with_sens_interval((x, y) in points(6), coverage in 0.3..0.9f64) {
        let line = TheilSen::fit(&x, &y).unwrap();
        let interval = line.interval(coverage).unwrap();
        prop_assume!(interval.reaches_coverage);
        let tail = 0.5 * (1.0 - coverage);
        let just_below = line.probability_slope_exceeds(interval.lower - 1e-9);
        let just_above = line.probability_slope_exceeds(interval.upper + 1e-9);
        // Ranks are whole, so each tail may be off by one rank: 2/√Var(S) in z.
        let one_rank = 2.0 / MannKendall::test(&x, &y).unwrap().variance().sqrt();
        prop_assert!(normal::quantile(just_below.clamp(1e-300, 1.0 - 1e-16)).unwrap() >= -normal::quantile(tail).unwrap() - one_rank);
        prop_assert!(normal::quantile(just_above.clamp(1e-300, 1.0 - 1e-16)).unwrap() <= normal::quantile(tail).unwrap() + one_rank);
    }
}
