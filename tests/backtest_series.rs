//! Straight lines on real annual series, forecast from rolling origins: USGS wells of the Idaho National Laboratory
//! (depth to water, CC0), Lake Huron and Lake Erie levels. Errors, losses and coverage as statsmodels OLS gives them.
//!
//! What the figures say is kept in mind elsewhere: a nominal 90 % band covers 55–84 % of what came.

use serde_json::Value;
use soaklife::band::Coverage;
use soaklife::numerics::straight_line::StraightLine;
use soaklife::trend::TrendPoint;
use soaklife::trend::line::LineTrend;
use tests::{assert_close, number, numbers, published_column, published_json, tol};

struct Series {
    case: Value,
    x: Vec<f64>,
    y: Vec<f64>,
}

fn all_series() -> Vec<Series> {
    let cases = published_json("statistics/series/backtest_ols.json");
    let series = |case: &Value| {
        let file = case["file"].as_str().unwrap();
        let csv = format!("statistics/series/{}", file.trim_start_matches("series/"));
        let column = |key: &str| published_column(&csv, case[key].as_str().unwrap());
        Series { x: column("x"), y: column("y"), case: case.clone() }
    };
    cases.as_array().unwrap().iter().map(series).collect()
}

impl Series {
    fn points(&self, rows: usize) -> Vec<TrendPoint> {
        let point = |(&x, &level_in): (&f64, &f64)| TrendPoint {
            x,
            x_standard_deviation: 0.0,
            level_in,
            weight: 1.0,
        };
        self.x.iter().zip(&self.y).take(rows).map(point).collect()
    }

    fn rows(&self, key: &str) -> usize {
        number(&self.case[key]) as usize
    }

    /// Every forecast: outcome, mean, and the ends of the 90 % band of a new reading.
    fn forecasts(&self) -> Vec<[f64; 4]> {
        let mut forecasts = Vec::new();
        for origin in self.rows("min_train")..self.x.len() {
            let line = LineTrend::fit(&self.points(origin)).unwrap();
            for row in origin..(origin + self.rows("horizon")).min(self.x.len()) {
                let x = self.x[row];
                let band = [Coverage::NINETY.lower_tail(), Coverage::NINETY.upper_tail()];
                let [lower, upper] = band.map(|probability| line.reading_quantile(x, probability));
                forecasts.push([self.y[row], line.level(x), lower, upper]);
            }
        }
        forecasts
    }
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

fn pinball(outcome: f64, quantile: f64, probability: f64) -> f64 {
    let above = outcome - quantile;
    if above >= 0.0 { probability * above } else { (probability - 1.0) * above }
}

#[test]
fn rolling_origins() {
    let series = all_series();
    assert_eq!(series.len(), 7);
    for series in series {
        let name = series.case["name"].as_str().unwrap();
        assert_eq!(series.x.len(), series.rows("n"), "{name}");
        let forecasts = series.forecasts();
        assert_eq!(forecasts.len(), series.rows("n_forecasts"), "{name}");
        let error = mean(forecasts.iter().map(|[y, mean, ..]| (y - mean).abs()));
        assert_close(error, number(&series.case["mae"]), 1e-10, name);
        let covered =
            mean(forecasts.iter().map(|[y, _, lower, upper]| f64::from(u8::from(y >= lower && y <= upper))));
        assert_eq!(covered, number(&series.case["coverage90"]), "{name}");
        for (column, probability) in [(2, 0.05), (1, 0.5), (3, 0.95)] {
            let loss =
                mean(forecasts.iter().map(|forecast| pinball(forecast[0], forecast[column], probability)));
            assert_close(loss, number(&series.case["pinball"][format!("{probability}")]), 1e-10, name);
        }
    }
}

#[test]
fn first_origin_in_full() {
    for series in all_series() {
        let first = &series.case["first_origin"];
        let line = LineTrend::fit(&series.points(number(&first["origin_rows"]) as usize)).unwrap();
        let lists = ["x", "mean", "pi90_lower", "pi90_upper", "mean_ci90_lower", "mean_ci90_upper"];
        let columns: Vec<Vec<f64>> = lists.iter().map(|key| numbers(&first[*key])).collect();
        for (row, &x) in columns[0].iter().enumerate() {
            let found = [
                line.level(x),
                line.reading_quantile(x, 0.05),
                line.reading_quantile(x, 0.95),
                line.level_quantile(x, 0.05),
                line.level_quantile(x, 0.95),
            ];
            for (found, column) in found.into_iter().zip(&columns[1..]) {
                assert_close(found, column[row], tol::CLOSED_FORM, series.case["name"].as_str().unwrap());
            }
        }
    }
}

#[test]
fn the_whole_series() {
    for series in all_series() {
        let full = &series.case["full_fit"];
        let line = StraightLine::fit(&series.x, &series.y, None).unwrap();
        assert_close(
            line.mean_at(number(&full["x_mean"])),
            number(&full["level_at_mean"]),
            tol::EXACT,
            "level",
        );
        assert_close(line.slope(), number(&full["slope"]), tol::EXACT, "slope");
        assert_close(line.slope_standard_error(), number(&full["se_slope"]), tol::EXACT, "slope error");
        assert_close(line.residual_sd(), number(&full["s"]), tol::EXACT, "s");
        assert_close(line.r_squared().unwrap(), number(&full["r2"]), tol::EXACT, "r2");
    }
}
