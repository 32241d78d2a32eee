//! One pit by the absorption method: followed and crossed, with and without levels; and as the command asks it.

use benches::{AS_OF, creeping_pit};
use criterion::{Criterion, criterion_group, criterion_main};
use soaklife::trend::absorption::{Absorption, Hypotheses};
use soaklife::{Forecast, Question};
use std::hint::black_box;

const HORIZONS: [f64; 5] = [0.0, 1.0, 2.0, 5.0, 10.0];
const QUANTILES: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];

fn absorption(criterion: &mut Criterion) {
    let hypotheses = Hypotheses::default();
    for readings in [1, 5, 12, 30] {
        let history = creeping_pit(readings);
        let depth = soaklife::quantity::as_inches(history.pit().effective_depth());
        let crossed = || {
            let followed = Absorption::follow(black_box(&history), AS_OF, &hypotheses);
            let passage = followed.reaches(depth)?;
            let years = QUANTILES.map(|probability| passage.years(probability));
            Some((followed, years, passage.chance_within(5.0)))
        };
        criterion.bench_function(&format!("absorption: follow and cross, {readings} readings"), |bencher| {
            bencher.iter(crossed);
        });
        criterion.bench_function(
            &format!("absorption: the same with five levels, {readings} readings"),
            |bencher| {
                bencher.iter(|| {
                    let (followed, years, chance) = crossed()?;
                    let levels = HORIZONS.map(|ahead| followed.levels_in(ahead, [0.1, 0.5, 0.9]));
                    Some((years, chance, levels))
                });
            },
        );
    }
    let history = creeping_pit(12);
    criterion.bench_function(
        "forecast: the absorption method's record and verdicts, 12 readings",
        |bencher| {
            bencher.iter(|| Forecast::of(black_box(&history), &Question::new(AS_OF)));
        },
    );
}

criterion_group!(benches, absorption);
criterion_main!(benches);
