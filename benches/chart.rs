//! One forecast chart as SVG, and the PNG made of it.

use benches::{AS_OF, creeping_pit};
use criterion::{Criterion, criterion_group, criterion_main};
use soaklife::{Forecast, Question};
use soaklife_charts::ForecastChart;
use std::hint::black_box;

#[expect(clippy::expect_used, reason = "the pit is fixed and can be forecast")]
fn chart(criterion: &mut Criterion) {
    let history = creeping_pit(12);
    let forecast = Forecast::of(&history, &Question::new(AS_OF)).expect("a forecast");
    let chart = ForecastChart::new(&forecast, &history).titled("4 Mill Race Lane");
    criterion.bench_function("chart: SVG, 12 readings", |bencher| bencher.iter(|| black_box(&chart).svg()));
    let svg = chart.svg().expect("a drawing");
    let mut group = criterion.benchmark_group("picture");
    group.sample_size(20);
    group.bench_function("chart: PNG at 200 dpi", |bencher| bencher.iter(|| black_box(&svg).to_png(200.0)));
    group.finish();
}

criterion_group!(benches, chart);
criterion_main!(benches);
