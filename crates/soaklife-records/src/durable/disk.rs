//! What is asked of the disk, one call at a time: each may be refused, and in tests each is.

use std::io;

/// Makes a call that the disk may refuse.
pub(crate) fn ask<T>(call: impl FnOnce() -> io::Result<T>) -> io::Result<T> {
    #[cfg(test)]
    refusals::consider()?;
    call()
}

/// A disk that refuses, for tests: the calls of this thread are counted, and one of them or all from there on fail.
#[cfg(test)]
pub(crate) mod refusals {
    use std::cell::Cell;
    use std::path::Path;
    use std::{fs, io};

    /// Error codes of a full disk, a failing one and one that may not be changed, with what is advised.
    pub(crate) const REFUSALS: [(i32, &str); 3] =
        [(28, "Make room on the disk"), (5, "Look after the disk"), (13, "a folder that you may change")];

    /// Which calls are refused, by their place.
    #[derive(Debug, Clone, Copy)]
    pub(crate) enum Refused {
        Only(usize),
        AllFrom(usize),
    }

    thread_local! {
        static PLANNED: Cell<Option<(Refused, i32)>> = const { Cell::new(None) };
        static CALLS: Cell<usize> = const { Cell::new(0) };
    }

    pub(super) fn consider() -> io::Result<()> {
        let call = CALLS.replace(CALLS.get() + 1);
        let refusal = PLANNED.get().filter(|(refused, _)| match refused {
            Refused::Only(place) => call == *place,
            Refused::AllFrom(place) => call >= *place,
        });
        refusal.map_or(Ok(()), |(_, code)| Err(io::Error::from_raw_os_error(code)))
    }

    /// What comes of some work when calls are refused with an error code, and how many calls it made.
    pub(crate) fn with<T>(refused: Refused, code: i32, work: impl FnOnce() -> T) -> (T, usize) {
        PLANNED.set(Some((refused, code)));
        CALLS.set(0);
        let outcome = work();
        PLANNED.set(None);
        (outcome, CALLS.get())
    }

    /// Does some work again and again, each time with the next call refused, until it makes no call that could be.
    pub(crate) fn each_in_turn<T>(code: i32, mut work: impl FnMut() -> T, mut judge: impl FnMut(T, Refused)) {
        for plan in [Refused::Only, Refused::AllFrom] {
            for place in 0.. {
                let (outcome, calls) = with(plan(place), code, &mut work);
                if calls <= place {
                    assert!(place >= 4, "only {place} calls are asked of the disk");
                    break;
                }
                judge(outcome, plan(place));
            }
        }
    }

    /// What a folder holds.
    pub(crate) fn names(folder: &Path) -> Vec<String> {
        let files = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            files.map(|file| file.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }
}
