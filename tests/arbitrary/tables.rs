//! Any bytes as one file of a logbook whose other files are sound: read or told, and by both readers alike.

use super::TODAY;
use super::bundle::Bundle;
use soaklife_records::{Fleet, Logbook, Problem};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::path::Path;

/// The day of the forecast; what is dated between it and today is left out and counted.
const AS_OF: jiff::civil::Date = jiff::civil::date(2026, 3, 31);

pub(super) fn check(file: &str, bytes: &[u8]) {
    let folder = Bundle::sound().with(file, bytes).written();
    let logbook = Logbook::read(folder.path(), TODAY, AS_OF).expect("both required files are there");
    logbook.problems().iter().for_each(assert_told);
    if is_walked(bytes) {
        assert_walked_alike(folder.path(), &logbook);
    }
}

/// One of four inputs: a walk waits for its threads, and on a busy machine that is nearly all the time a check takes.
fn is_walked(bytes: &[u8]) -> bool {
    bytes.iter().fold(0, |sum: u8, byte| sum.wrapping_add(*byte)).is_multiple_of(4)
}

/// A problem says something, and nothing that a terminal would obey.
fn assert_told(problem: &Problem) {
    let told = problem.to_string();
    assert!(!problem.message.is_empty() && !told.chars().any(char::is_control), "{told:?}");
}

/// `Fleet` finds what `Logbook` finds.
fn assert_walked_alike(folder: &Path, whole: &Logbook) {
    let one = NonZeroUsize::MIN;
    let fleet = Fleet::open(folder, TODAY, AS_OF).expect("both required files are there");
    fleet.find_order(one).expect("the files can be read on");
    let mut entries = Vec::new();
    let keep = |more| {
        entries.extend(more);
        ControlFlow::Continue(())
    };
    let found = fleet.walk(one, |stretch| stretch.entries().to_vec(), keep).expect("its order is known");
    let told = |problems: &[Problem]| problems.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(told(found.problems()), told(whole.problems()));
    assert_eq!(entries, whole.entries());
    assert_eq!(fleet.typical_load_ratio(one).ok(), Some(whole.typical_load_ratio()));
    assert_eq!(fleet.units(), whole.units());
}
