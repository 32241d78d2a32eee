//! A logbook of 100,000 readings read whole: parsed, checked against 10,000 pits, put together.

use benches::{AS_OF, write_logbook};
use criterion::{Criterion, criterion_group, criterion_main};
use soaklife_records::Logbook;

#[expect(clippy::expect_used, reason = "a bench cannot go on without its folder")]
fn readings(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write_logbook(folder.path(), 10_000, 10).expect("a logbook on disk");
    let mut group = criterion.benchmark_group("logbook");
    group.sample_size(20);
    group.bench_function("read 10,000 pits with 100,000 readings", |bencher| {
        bencher.iter(|| Logbook::read(folder.path(), AS_OF, AS_OF).map(|logbook| logbook.problems().len()));
    });
    group.finish();
}

criterion_group!(benches, readings);
criterion_main!(benches);
