//! The linear mixed model: a fleet's line and every pit's, by restricted likelihood.
#![allow(clippy::expect_used, reason = "a bench cannot go on without its data")]

use criterion::{Criterion, criterion_group, criterion_main};
use soaklife::fleet::mixed::{self, MixedLines};
use std::hint::black_box;

const READINGS: u32 = 12;

/// Pits with lines of their own and readings that stray from them by a few inches; the same each time.
fn fleet(pits: u32) -> MixedLines {
    let mut lines = MixedLines::new();
    for pit in 0..pits {
        let of_pit = |salt: f64| (f64::from(pit) * salt).sin();
        let reading = |year: u32| {
            let stray = 2.0 * (f64::from(pit) * 7.31 + f64::from(year) * 3.77).sin();
            (f64::from(year), 60.0 + 20.0 * of_pit(1.7) + (2.0 + 1.2 * of_pit(2.9)) * f64::from(year) + stray)
        };
        let points: Vec<_> = (0..READINGS).map(reading).collect();
        lines.add(&points).expect("the readings are finite");
    }
    lines
}

fn fits(criterion: &mut Criterion) {
    for pits in [1_000, 100_000] {
        let lines = fleet(pits);
        criterion.bench_function(&format!("mixed: {pits} pits"), |bencher| {
            bencher.iter(|| black_box(&lines).fit(mixed::Criterion::RestrictedLikelihood));
        });
    }
}

criterion_group! { name = benches; config = Criterion::default().sample_size(10); targets = fits }
criterion_main!(benches);
