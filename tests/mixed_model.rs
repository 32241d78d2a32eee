//! The linear mixed model against published fits, recomputed in 40 digits: `sleepstudy` (Belenky et al. 2003, in lme4), the
//! same thinned to groups of one to ten readings, and `Orthodont` (Potthoff & Roy 1964; Pinheiro & Bates 2000).

use proptest::prelude::*;
use serde_json::Value;
use soaklife::fleet::mixed::{Criterion, MixedError, MixedFit, MixedLines};
use tests::{assert_close, assert_within, number, published_json, published_rows};

const FOLDER: &str = "statistics/mixed_models";

/// Groups in the order of the file, with their names, and the reference.
fn published(name: &str) -> (Vec<String>, MixedLines, Value) {
    let reference = published_json(&format!("{FOLDER}/{name}.json"));
    let rows = published_rows(&format!("{FOLDER}/{name}.csv"));
    let shift = number(&reference["x_shift"]);
    let mut groups: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    for row in rows {
        let point = (row[1].parse::<f64>().unwrap() - shift, row[0].parse().unwrap());
        match groups.last_mut().filter(|(name, _)| *name == row[2]) {
            Some((_, points)) => points.push(point),
            None => groups.push((row[2].clone(), vec![point])),
        }
    }
    let mut lines = MixedLines::new();
    groups.iter().for_each(|(_, points)| lines.add(points).unwrap());
    (groups.into_iter().map(|(name, _)| name).collect(), lines, reference)
}

fn check_matrix(found: [[f64; 2]; 2], reference: &Value, scale: f64, what: &str) {
    for row in 0..2 {
        for column in 0..2 {
            assert_within(found[row][column], number(&reference[row][column]), scale * 1e-6, what);
        }
    }
}

fn check(name: &str, criterion: Criterion, key: &str) {
    let (names, lines, reference) = published(name);
    let reference = &reference[key];
    let fit = lines.fit(criterion).unwrap();
    assert_within(fit.log_likelihood(), number(&reference["loglik"]), 1e-9, "log-likelihood");
    for at in 0..2 {
        assert_close(fit.fixed()[at], number(&reference["beta"][at]), 1e-8, "fleet line");
        let error = fit.fixed_covariance()[at][at].sqrt();
        assert_close(error, number(&reference["beta_se"][at]), 1e-6, "its error");
    }
    assert_close(fit.residual_variance().sqrt(), number(&reference["sigma"]), 1e-6, "residual");
    assert_close(fit.scatter()[0][0].sqrt(), number(&reference["sd_intercept"]), 1e-6, "intercepts");
    assert_close(fit.scatter()[1][1].sqrt(), number(&reference["sd_slope"]), 1e-6, "slopes");
    assert_within(fit.correlation().unwrap(), number(&reference["corr"]), 1e-6, "correlation");
    for (name, line) in names.iter().zip(fit.groups()) {
        let told = &reference["groups"][name];
        let scale = number(&reference["sd_intercept"]);
        for at in 0..2 {
            assert_within(line.departure[at], number(&told["blup"][at]), scale * 1e-6, "departure");
            assert_within(line.line[at], number(&told["line"][at]), scale * 1e-6, "line");
        }
        let square = scale * scale;
        check_matrix(line.departure_covariance, &told["blup_cond_cov"], square, "departure's error");
        check_matrix(line.line_error_covariance, &told["line_pred_error_cov"], square, "line's error");
    }
}

#[test]
fn sleepstudy_by_both_criteria() {
    check("sleepstudy", Criterion::RestrictedLikelihood, "REML");
    check("sleepstudy", Criterion::Likelihood, "ML");
}

#[test]
fn sleepstudy_with_groups_of_one_to_ten_readings() {
    check("sleepstudy_unbalanced", Criterion::RestrictedLikelihood, "REML");
    check("sleepstudy_unbalanced", Criterion::Likelihood, "ML");
}

#[test]
fn orthodont_by_both_criteria() {
    check("orthodont", Criterion::RestrictedLikelihood, "REML");
    check("orthodont", Criterion::Likelihood, "ML");
}

type Points = Vec<(f64, f64)>;

fn fit(groups: &[Points]) -> Result<MixedFit, MixedError> {
    let mut lines = MixedLines::new();
    for points in groups {
        lines.add(points)?;
    }
    lines.fit(Criterion::RestrictedLikelihood)
}

fn moved(groups: &[Points], by: impl Fn((f64, f64)) -> (f64, f64)) -> Vec<Points> {
    groups.iter().map(|points| points.iter().copied().map(&by).collect()).collect()
}

/// Pits with lines of their own and readings about them.
fn fleet() -> impl Strategy<Value = Vec<Points>> {
    let pit =
        (0.0..20.0, 0.2..3.0, prop::collection::vec(-1.0..1.0, 3..8)).prop_map(|(start, pace, errors)| {
            let reading = |(year, error): (usize, f64)| (year as f64, start + pace * year as f64 + error);
            errors.into_iter().enumerate().map(reading).collect::<Points>()
        });
    prop::collection::vec(pit, 4..12)
}

proptest! {
    #[test]
    fn lifting_all_readings_lifts_the_lines_and_nothing_else(groups in fleet(), lift in -500.0..500.0) {
        let (plain, lifted) = (fit(&groups)?, fit(&moved(&groups, |(x, y)| (x, y + lift)))?);
        prop_assert!(f64::abs(lifted.fixed()[0] - plain.fixed()[0] - lift) < 1e-4);
        prop_assert!((lifted.fixed()[1] - plain.fixed()[1]).abs() < 1e-5);
        prop_assert!((lifted.log_likelihood() - plain.log_likelihood()).abs() < 1e-6);
    }

    #[test]
    fn other_units_of_time_change_the_slopes_in_proportion(groups in fleet(), unit in 0.01..400.0) {
        let (plain, scaled) = (fit(&groups)?, fit(&moved(&groups, |(x, y)| (x * unit, y)))?);
        prop_assert!(f64::abs(scaled.fixed()[1] * unit / plain.fixed()[1] - 1.0) < 1e-5);
        prop_assert!((scaled.residual_variance() / plain.residual_variance() - 1.0).abs() < 1e-4);
    }

    #[test]
    fn the_order_of_the_pits_does_not_matter(groups in fleet()) {
        let reversed: Vec<Points> = groups.iter().rev().cloned().collect();
        let (plain, turned) = (fit(&groups)?, fit(&reversed)?);
        let gap = plain.log_likelihood() - turned.log_likelihood();
        prop_assert!(gap.abs() < 1e-8, "{gap} {:?} {:?}", plain.scatter(), turned.scatter());
        let last = turned.groups().last().unwrap();
        prop_assert!((plain.groups()[0].line[1] - last.line[1]).abs() < 1e-4);
    }

    #[test]
    fn any_readings_give_a_finite_fit_or_an_error(
        groups in prop::collection::vec(prop::collection::vec((any::<f64>(), any::<f64>()), 0..5), 0..5),
        few in prop::collection::vec(prop::collection::vec((0..3_i8, -2..3_i8), 0..5), 0..6),
    ) {
        let few = few.iter().map(|points| points.iter().map(|&(x, y)| (f64::from(x), f64::from(y))).collect());
        for groups in [groups, few.collect()] {
            if let Ok(fit) = fit(&groups) {
                prop_assert!(fit.log_likelihood().is_finite() && fit.residual_variance() > 0.0);
                prop_assert!(fit.groups().iter().all(|group| group.line.iter().all(|number| number.is_finite())));
            }
        }
    }
}

/// Four pits the readings of which are best told by lines that scatter almost, but not quite, along one direction.
#[test]
fn a_search_that_meets_the_boundary_goes_on_beside_it() {
    let depths: [&[f64]; 4] = [
        &[3.0068695924412747, 4.5841945649349976, 5.044502804781433, 5.744850124346185],
        &[
            19.076644254239987,
            19.443641417215808,
            20.884850509757896,
            24.008634658044127,
            24.10695059183119,
            27.470602931502885,
        ],
        &[
            4.283128504952203,
            4.653518409918636,
            5.99354972001425,
            7.335817846741895,
            8.091780802077054,
            9.102202255423823,
            10.61918260726282,
        ],
        &[2.326910286095973, 2.9036738531882107, 6.358414266240297, 7.109077837959958],
    ];
    let groups: Vec<Points> = depths
        .iter()
        .map(|depths| depths.iter().enumerate().map(|(year, &y)| (year as f64, y)).collect())
        .collect();
    let lifted = moved(&groups, |(x, y)| (x, y - 216.39482168385896));
    let [plain, lifted] = [&groups, &lifted].map(|groups| fit(groups).unwrap());
    assert!(!plain.is_at_boundary() && !lifted.is_at_boundary());
    assert!((plain.log_likelihood() - lifted.log_likelihood()).abs() < 1e-9);
}

#[test]
fn what_cannot_be_fitted_is_said() {
    let line: Points = (0..4).map(|x| (f64::from(x), f64::from(x))).collect();
    assert_eq!(fit(std::slice::from_ref(&line)), Err(MixedError::TooFewGroups { found: 1 }));
    assert_eq!(fit(&[line[..2].to_vec(), line[..2].to_vec()]), Err(MixedError::TooFewReadings { found: 4 }));
    assert_eq!(fit(&[line.clone(), line]), Err(MixedError::NoResidual));
    assert!(matches!(fit(&[vec![(1.0, f64::NAN)]]), Err(MixedError::NotFinite { group: 0, place: 0, .. })));
}
