//! A short run of every check that the fuzzer in `tests/fuzz` makes, always the same one: the seeds as they are, then with a few
//! bytes changed, then bytes without any form.

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestError, TestRng, TestRunner};
use tests::arbitrary::{TARGETS, Target, seeds};

/// One change of some bytes.
#[derive(Debug, Clone)]
enum Edit {
    Set(u8),
    Insert(u8),
    Remove(usize),
    Repeat(usize),
}

fn edit() -> impl Strategy<Value = (prop::sample::Index, Edit)> {
    let telling = prop::sample::select(b"\"\n\r,;-+.0e19\xff\0\x1b\xef=[".to_vec());
    let byte = prop_oneof![telling, any::<u8>()].boxed();
    let edit = prop_oneof![
        byte.clone().prop_map(Edit::Set),
        byte.prop_map(Edit::Insert),
        (1usize..30).prop_map(Edit::Remove),
        (1usize..60).prop_map(Edit::Repeat),
    ];
    (any::<prop::sample::Index>(), edit)
}

fn edited(mut bytes: Vec<u8>, edits: &[(prop::sample::Index, Edit)]) -> Vec<u8> {
    for (place, edit) in edits {
        let at = place.index(bytes.len() + 1);
        let end = |count: usize| (at + count).min(bytes.len());
        match *edit {
            Edit::Set(byte) => bytes.get_mut(at).into_iter().for_each(|old| *old = byte),
            Edit::Insert(byte) => bytes.insert(at, byte),
            Edit::Remove(count) => drop(bytes.drain(at..end(count))),
            Edit::Repeat(count) => {
                let again = bytes[at..end(count)].to_vec();
                bytes.splice(at..at, again);
            }
        }
    }
    bytes
}

/// Runs the check of a name on its seeds, on so many changed ones, and on half as many without any form.
fn run(name: &str, cases: u32) {
    let target: Target = *TARGETS.iter().find(|target| target.name == name).unwrap();
    let seeds: Vec<Vec<u8>> = seeds(name).into_iter().collect();
    assert!(!seeds.is_empty());
    let changed = (prop::sample::select(seeds), prop::collection::vec(edit(), 0..8))
        .prop_map(|(seed, edits)| edited(seed, &edits));
    let formless = prop::collection::vec(any::<u8>(), 0..300);
    let bytes = prop_oneof![2 => changed, 1 => formless];
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let numbers = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let outcome = TestRunner::new_with_rng(config, numbers).run(&bytes, |bytes| {
        (target.check)(&bytes);
        Ok(())
    });
    match outcome {
        Ok(()) => {}
        Err(TestError::Fail(reason, bytes)) => panic!("{name}: {reason}\nby \"{}\"", bytes.escape_ascii()),
        Err(TestError::Abort(reason)) => panic!("{name}: {reason}"),
    }
}

macro_rules! runs {
    ($($name:ident $cases:literal)*) => {$(
        #[test]
        fn $name() {
            run(stringify!($name), $cases);
        }
    )*};
}

runs! {
    pits 400
    readings 400
    occupancy 400
    events 400
    load_tests 400
    settings 400
    prior 1_000
    log 300
    forecasts 60
    figures 40
    pages 12
}

#[test]
fn every_target_is_run_here_and_by_the_fuzzer() {
    let manifest = include_str!("fuzz/Cargo.toml");
    for target in TARGETS {
        assert!(manifest.contains(&format!("name = \"{}\"", target.name)), "{}", target.name);
        assert!(
            include_str!("arbitrary_logbooks.rs").contains(&format!("    {} ", target.name)),
            "{}",
            target.name
        );
    }
}
