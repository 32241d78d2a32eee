//! Holds a law over many records, or counts how far they are from it.

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestError, TestRng, TestRunner};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Debug;

/// Records looked at to hold a law; to measure it, ten times as many.
const CASES: u32 = 500;
const TIMES_MEASURED: u32 = 10;

/// How far one record is from what a law says.
#[derive(Debug, Clone)]
pub struct Off {
    /// What is compared.
    pub what: &'static str,
    /// How far off it is.
    pub by: f64,
    /// How far off 99 in 100 records may be; held where there is a list of records.
    pub usual: f64,
    /// How far off it may be.
    pub bound: f64,
    /// The comparison in words.
    pub said: String,
}

impl Off {
    /// With a narrower bound for 99 records in 100.
    pub fn usually(self, usual: f64) -> Self {
        Self { usual, ..self }
    }

    /// Whether it breaks the law; what is no number does.
    fn breaks(&self) -> bool {
        self.by.is_nan() || self.by > self.bound
    }
}

/// Asserts that no record is farther off than its bound; with `MEASURE=1` prints how far they are instead.
///
/// # Panics
/// If a record breaks the law and nothing is measured.
pub fn hold<S: Strategy>(law: &str, records: S, look: impl Fn(&S::Value) -> Vec<Off>)
where
    S::Value: Debug,
{
    let measuring = std::env::var_os("MEASURE").is_some();
    let cases = if measuring { CASES * TIMES_MEASURED } else { CASES };
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let numbers = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let found: RefCell<BTreeMap<&'static str, Vec<(Off, String)>>> = RefCell::default();
    let outcome = TestRunner::new_with_rng(config, numbers).run(&records, |record| {
        for off in look(&record) {
            if measuring {
                let of = format!("{record:?}");
                found.borrow_mut().entry(off.what).or_default().push((off, of));
            } else if off.breaks() {
                let Off { what, by, bound, said, .. } = off;
                return Err(TestCaseError::fail(format!("{what}: {said}: {by} > {bound}")));
            }
        }
        Ok(())
    });
    if measuring {
        tell(law, found.into_inner());
    }
    match outcome {
        Ok(()) => {}
        Err(TestError::Fail(reason, record)) => panic!("{law}: {reason}\n{record:?}"),
        Err(reason) => panic!("{law}: {reason}"),
    }
}

/// The same over records that are there already: all of them, whether it measures or holds.
///
/// # Panics
/// If a record breaks the law, or more than one in a hundred are farther off than usual, and nothing is measured.
pub fn hold_each<R: Debug>(law: &str, records: &[R], look: impl Fn(&R) -> Vec<Off>) {
    let measuring = std::env::var_os("MEASURE").is_some();
    let mut found: BTreeMap<&'static str, Vec<(Off, String)>> = BTreeMap::default();
    assert!(!records.is_empty(), "{law}: no records");
    for record in records {
        for off in look(record) {
            if !measuring {
                let Off { what, by, bound, said, .. } = &off;
                assert!(!off.breaks(), "{law}: {what}: {said}: {by} > {bound}\n{record:?}");
            }
            let of = if measuring { format!("{record:?}") } else { String::new() };
            found.entry(off.what).or_default().push((off, of));
        }
    }
    if measuring {
        tell(law, found);
    } else {
        for (what, offs) in found {
            let unusual = offs.iter().filter(|(off, _)| off.by > off.usual).count();
            assert!(100 * unusual <= offs.len(), "{law}: {what}: {unusual} of {} are unusual", offs.len());
        }
    }
}

/// A row for each comparison, and below them the record that is farthest off in each.
fn tell(law: &str, found: BTreeMap<&'static str, Vec<(Off, String)>>) {
    println!("\n### {law}\n\n| compared | records | beyond | bound | half | 90 % | 99 % | most |");
    println!("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    let mut farthest = Vec::new();
    for (what, mut offs) in found {
        offs.sort_by(|(a, _), (b, _)| a.by.total_cmp(&b.by));
        let at = |share: f64| offs[((offs.len() - 1) as f64 * share) as usize].0.by;
        let beyond = offs.iter().filter(|(off, _)| off.breaks()).count();
        let [half, nine, all_but_one, most] = [0.5, 0.9, 0.99, 1.0].map(at);
        let bound = offs[0].0.bound;
        println!(
            "| {what} | {} | {beyond} | {bound:.1e} | {half:.1e} | {nine:.1e} | {all_but_one:.1e} | {most:.1e} |",
            offs.len()
        );
        farthest.extend(offs.pop());
    }
    println!();
    for (off, record) in farthest.into_iter().filter(|(off, _)| off.breaks()) {
        println!("- {}: {}, {record}", off.what, off.said);
    }
}
