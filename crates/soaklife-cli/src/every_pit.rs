//! A walk over every pit of a logbook of any size: worked on by threads, gathered in the order of `pits.csv`.

use crate::output::{Failure, Progress};
use soaklife_records::{Findings, Fleet, Stretch, WalkError};
use std::num::NonZeroUsize;
use std::ops::ControlFlow;

/// Works on stretches of neighbouring pits with so many threads and `take`s the results in order, so that what is gathered does
/// not depend on the threads. Where the tables turn out to have another order than `pits.csv`, the walk begins `again` with what
/// has been gathered: it is to be as at the start.
pub(crate) fn walk<T: Send, G>(
    fleet: &Fleet,
    threads: NonZeroUsize,
    work: impl Fn(&Stretch) -> Result<T, Failure> + Sync,
    mut gathered: G,
    again: impl FnOnce(G) -> Result<G, Failure>,
    mut take: impl FnMut(&mut G, T) -> Result<(), Failure>,
) -> Result<(G, Findings), Failure> {
    if let Some(found) = once(fleet, threads, &work, |result| take(&mut gathered, result))? {
        return Ok((gathered, found));
    }
    let mut gathered = again(gathered)?;
    let found = once(fleet, threads, &work, |result| take(&mut gathered, result))?;
    found.map(|found| (gathered, found)).ok_or_else(|| failure(WalkError::OutOfOrder))
}

/// One walk; nothing comes back if the tables must be sorted first.
fn once<T: Send>(
    fleet: &Fleet,
    threads: NonZeroUsize,
    work: &(impl Fn(&Stretch) -> Result<T, Failure> + Sync),
    mut take: impl FnMut(T) -> Result<(), Failure>,
) -> Result<Option<Findings>, Failure> {
    let (mut pits, mut progress, mut failed) = (0, Progress::of(fleet.rows_of_pits()), None);
    let walked = fleet.walk(
        threads,
        |stretch| (stretch.entries().len(), work(stretch)),
        |(more, result)| {
            pits += more;
            progress.tell(pits);
            match result.and_then(&mut take) {
                Ok(()) => ControlFlow::Continue(()),
                Err(failure) => {
                    failed = Some(failure);
                    ControlFlow::Break(())
                }
            }
        },
    );
    match (failed, walked) {
        (Some(failure), _) => Err(failure),
        (None, Err(WalkError::OutOfOrder)) => Ok(None),
        (None, walked) => walked.map(Some).map_err(failure),
    }
}

/// What cannot be read or written on the way.
pub(crate) fn failure(error: WalkError) -> Failure {
    Failure::ReadOrWrite(error.to_string())
}
