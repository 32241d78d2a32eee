//! One pit by the classical method: fit, bands at five horizons, crossing at three coverages, chances.

use benches::{AS_OF, creeping_pit};
use criterion::{Criterion, criterion_group, criterion_main};
use soaklife::trend::TrendPoint;
use soaklife::trend::line::LineTrend;
use soaklife::{Coverage, Forecast, Method, Question};
use std::hint::black_box;

const COVERAGES: [Coverage; 3] = [Coverage::HALF, Coverage::EIGHTY, Coverage::NINETY];
const HORIZONS: [f64; 5] = [0.0, 1.0, 2.0, 5.0, 10.0];

fn line(criterion: &mut Criterion) {
    let points: Vec<TrendPoint> = (0..12)
        .map(|year| TrendPoint {
            x: f64::from(year) - 12.0,
            x_standard_deviation: 0.0,
            level_in: 40.0 + 2.5 * f64::from(year) + f64::from((year * 7919) % 13 - 6) / 4.0,
            weight: 1.0,
        })
        .collect();
    criterion.bench_function(
        "line: fit, 80 % bands at five horizons, 80 % crossing, 12 readings",
        |bencher| {
            bencher.iter(|| {
                let line = LineTrend::fit(black_box(&points)).ok()?;
                let bands = HORIZONS.map(|x| (line.level_quantile(x, 0.1), line.level_quantile(x, 0.9)));
                Some((bands, line.crossing(144.0, Coverage::EIGHTY, 1.0)))
            });
        },
    );

    let history = creeping_pit(12);
    criterion.bench_function("forecast: all columns of the table, 12 readings", |bencher| {
        bencher.iter(|| {
            let forecast = Forecast::of(black_box(&history), &Question::new(AS_OF).by(Method::Line)).ok()?;
            let freeboards =
                HORIZONS.map(|years| [0.1, 0.5, 0.9].map(|p| forecast.freeboard_quantile(years, p)));
            let crossings = COVERAGES.map(|coverage| forecast.crossing(coverage));
            let chances = [1.0, 2.0, 5.0, 10.0, 30.0].map(|years| forecast.chance_by(years));
            Some((freeboards, crossings, chances))
        });
    });
}

criterion_group!(benches, line);
criterion_main!(benches);
