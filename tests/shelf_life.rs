//! Shelf lives: the first time at which the confidence bound of a mean meets a limit, and whether batches may be
//! pooled. LeBlond, Griffith and Aubuchon (2011), J. Validation Technology 17(3), 47–68; recomputed in 50 digits.

use nalgebra::{DMatrix, DVector};
use serde_json::Value;
use soaklife::numerics::inverse_prediction::{InverseSet, UncertainLine};
use soaklife::numerics::least_squares::LeastSquares;
use soaklife::numerics::student_t::StudentT;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};
use tests::{assert_close, assert_within, number, published_json, published_rows, tol};

struct Stability {
    batches: Vec<String>,
    batch: Vec<usize>,
    month: Vec<f64>,
    response: DVector<f64>,
}

/// Two columns of the design for every model: which batches share an intercept, which a slope.
#[derive(Clone, Copy, PartialEq)]
enum Model {
    CommonLine,
    CommonSlope,
    SeparateLines,
}

impl Stability {
    fn of(case: &Value) -> Self {
        let rows = published_rows(&format!("statistics/shelf_life/{}", case["file"].as_str().unwrap()));
        let wanted: Option<Vec<&str>> =
            case["batches"].as_array().map(|list| list.iter().map(|batch| batch.as_str().unwrap()).collect());
        let kept: Vec<&Vec<String>> = rows
            .iter()
            .filter(|row| wanted.as_ref().is_none_or(|wanted| wanted.contains(&row[0].as_str())))
            .collect();
        let mut batches: Vec<String> = kept.iter().map(|row| row[0].clone()).collect();
        batches.sort();
        batches.dedup();
        let place = |name: &String| batches.iter().position(|batch| batch == name).unwrap();
        Self {
            batch: kept.iter().map(|row| place(&row[0])).collect(),
            month: kept.iter().map(|row| row[1].parse().unwrap()).collect(),
            response: DVector::from_iterator(kept.len(), kept.iter().map(|row| row[2].parse().unwrap())),
            batches,
        }
    }

    fn intercepts(&self, model: Model) -> usize {
        if model == Model::CommonLine { 1 } else { self.batches.len() }
    }

    fn slopes(&self, model: Model) -> usize {
        if model == Model::SeparateLines { self.batches.len() } else { 1 }
    }

    fn fit(&self, model: Model) -> LeastSquares {
        let (intercepts, slopes) = (self.intercepts(model), self.slopes(model));
        let design = DMatrix::from_fn(self.month.len(), intercepts + slopes, |row, column| {
            if column < intercepts {
                f64::from(u8::from(self.batch[row] % intercepts == column))
            } else if self.batch[row] % slopes == column - intercepts {
                self.month[row]
            } else {
                0.0
            }
        });
        LeastSquares::fit(&design, &self.response, None).unwrap()
    }

    fn one_batch(&self, batch: usize) -> Self {
        let rows: Vec<usize> = (0..self.month.len()).filter(|&row| self.batch[row] == batch).collect();
        Self {
            batches: vec![self.batches[batch].clone()],
            batch: vec![0; rows.len()],
            month: rows.iter().map(|&row| self.month[row]).collect(),
            response: DVector::from_iterator(rows.len(), rows.iter().map(|&row| self.response[row])),
        }
    }
}

/// The limit that the mean must keep to, and how surely.
struct Limit {
    value: f64,
    one_sided_level: f64,
}

/// The first month at which the bound of the line with these two coefficients meets the limit.
fn crossing(fit: &LeastSquares, intercept: usize, slope: usize, limit: &Limit) -> f64 {
    let (coefficients, covariance) = (fit.coefficients(), fit.covariance());
    let line = UncertainLine {
        centre: 0.0,
        mean_at_centre: coefficients[intercept],
        slope: coefficients[slope],
        variance_of_mean: covariance[(intercept, intercept)],
        covariance: covariance[(intercept, slope)],
        variance_of_slope: covariance[(slope, slope)],
    };
    let student = StudentT::new(fit.degrees_of_freedom() as f64).unwrap();
    let found = line.inverse(limit.value, student.quantile(limit.one_sided_level).unwrap(), 0.0).unwrap();
    match found.set {
        InverseSet::Interval { lower, .. } => lower,
        // A slope that may vanish: the bound still meets the limit, once, where the far ray begins.
        InverseSet::Outside { upper, .. } => upper,
        set => panic!("{set:?}"),
    }
}

fn check(name: &str) {
    let case = published_json(&format!("statistics/shelf_life/{name}.json"));
    let limit = Limit { value: number(&case["limit"]), one_sided_level: number(&case["level_one_sided"]) };
    let data = Stability::of(&case);
    assert_eq!(data.month.len() as f64, number(&case["n"]));
    let computed = &case["computed"];

    let common = data.fit(Model::CommonLine);
    assert_close(common.coefficients()[0], number(&computed["cics"]["intercept"]), tol::EXACT, "intercept");
    assert_close(common.residual_sd(), number(&computed["cics"]["s"]), tol::EXACT, "s");
    assert_close(crossing(&common, 0, 1, &limit), number(&computed["cics"]["crossing"]), tol::CROSSING, name);
    if data.batches.len() == 1 {
        return;
    }
    let (common_slope, separate) = (data.fit(Model::CommonSlope), data.fit(Model::SeparateLines));
    for (index, batch) in data.batches.iter().enumerate() {
        let reference = |model: &str| number(&computed[model]["per_batch"][batch]);
        let batches = data.batches.len();
        let alone = data.one_batch(index).fit(Model::CommonLine);
        assert_close(
            crossing(&common_slope, index, batches, &limit),
            reference("dics"),
            tol::CROSSING,
            batch,
        );
        assert_close(
            crossing(&separate, index, batches + index, &limit),
            reference("dids_pmse"),
            tol::CROSSING,
            batch,
        );
        assert_close(crossing(&alone, 0, 1, &limit), reference("dids"), tol::CROSSING, batch);
    }
    check_pooling(&case, &common, &common_slope, &separate);
}

/// The F tests of the two steps of pooling, and that p > 0.25 chooses the published model.
fn check_pooling(case: &Value, common: &LeastSquares, common_slope: &LeastSquares, separate: &LeastSquares) {
    let spare = (common.degrees_of_freedom() - common_slope.degrees_of_freedom()) as f64;
    let error = separate.residual_sd().powi(2);
    let tested = |wider: &LeastSquares, narrower: &LeastSquares| {
        let f = (wider.residual_sum_of_squares() - narrower.residual_sum_of_squares()) / spare / error;
        let p = FisherSnedecor::new(spare, separate.degrees_of_freedom() as f64).unwrap().sf(f);
        (f, p)
    };
    let ((f_intercept, p_intercept), (f_slope, p_slope)) =
        (tested(common, common_slope), tested(common_slope, separate));
    let pooling = &case["computed"]["poolability"];
    assert_close(f_intercept, number(&pooling["F_intercept"]), 1e-11, "F of intercepts");
    assert_close(f_slope, number(&pooling["F_slope"]), 1e-11, "F of slopes");
    assert_within(p_intercept, number(&pooling["p_intercept"]), 1e-9, "p of intercepts");
    assert_within(p_slope, number(&pooling["p_slope"]), 1e-9, "p of slopes");
    let chosen = match (p_slope > 0.25, p_intercept > 0.25) {
        (true, true) => "cics",
        (true, false) => "dics",
        (false, _) => "dids_pmse",
    };
    assert_eq!(case["published"]["model"], chosen);
}

#[test]
fn potency_of_three_poolable_batches() {
    check("leblond_potency_b2_b5_b7");
}

#[test]
fn potency_of_one_batch() {
    check("leblond_potency_b4_alone");
}

#[test]
fn potency_of_three_batches_apart() {
    check("leblond_potency_b4_b5_b8");
}

#[test]
fn related_substance() {
    check("leblond_related_substance");
}

#[test]
fn moisture() {
    check("leblond_moisture_upper_two_sided");
}
