//! Counts of first failures of the largest fleet that is counted exactly, and of a hundred times as many pits.

use criterion::{Criterion, criterion_group, criterion_main};
use soaklife::fleet::{CommonFactor, MOST_EXACT, Replacements};
use std::hint::black_box;

const YEARS: usize = 20;

/// Pits that have failed within twenty years with a chance of 0 to 60 %, in even steps.
fn fleet(pits: u64, factor: CommonFactor) -> Replacements {
    let mut fleet = Replacements::new(YEARS, factor);
    for pit in 0..pits {
        let pace = 0.03 * (pit % MOST_EXACT) as f64 / MOST_EXACT as f64;
        let chances: [f64; YEARS] = std::array::from_fn(|year| pace * (year + 1) as f64);
        let _ = fleet.add(&chances);
    }
    fleet
}

/// The 80 % range of every year.
fn in_years(fleet: &Replacements) -> Vec<[Option<u64>; 2]> {
    let ranged = |count: soaklife::fleet::CountDistribution| [0.1, 0.9].map(|share| count.quantile(share));
    (0..YEARS).map(|place| ranged(fleet.in_year(place))).collect()
}

/// The same from now to the end of every year.
fn in_all(fleet: &Replacements) -> Vec<[Option<u64>; 2]> {
    let ranged = |count: soaklife::fleet::CountDistribution| [0.1, 0.9].map(|share| count.quantile(share));
    (0..YEARS).map(|place| ranged(fleet.by_end_of(place))).collect()
}

fn replacements(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("replacements");
    group.sample_size(10);
    let alone = fleet(MOST_EXACT, CommonFactor::NONE);
    group.bench_function("10,000 pits x 20 years, exact", |bencher| {
        bencher.iter(|| in_years(black_box(&alone)));
    });
    let shared = fleet(MOST_EXACT, CommonFactor::default());
    group.bench_function("10,000 pits x 20 years, exact under a shared error", |bencher| {
        bencher.iter(|| in_years(black_box(&shared)));
    });
    group.bench_function("10,000 pits x 20 years, exact under a shared error, cumulative", |bencher| {
        bencher.iter(|| in_all(black_box(&shared)));
    });
    group.bench_function("1,000,000 pits x 20 years, added and counted", |bencher| {
        bencher.iter(|| in_years(&fleet(black_box(100 * MOST_EXACT), CommonFactor::default())));
    });
    group.finish();
}

criterion_group!(benches, replacements);
criterion_main!(benches);
