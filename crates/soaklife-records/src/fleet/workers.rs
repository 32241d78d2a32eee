//! Batches read and answered by several threads, handed to one sink in order.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// Answers that may wait for an earlier one, a thread.
const WAITING: u64 = 4;

/// Cuts batches one at a time, works on them with `threads` threads, the calling one among them, and hands the results to `sink`
/// there, in the order of the batches. At most a few results a thread wait for their turn. Memory is handed round: every thread
/// keeps its tools, and the next batch is cut into the one that it has done with.
pub(super) fn in_order<B: Default, T: Default, R: Send, E: Send>(
    threads: NonZeroUsize,
    cut: impl FnMut(B) -> Result<Option<B>, E> + Send,
    work: impl Fn(&B, &mut T) -> R + Sync,
    mut sink: impl FnMut(R) -> ControlFlow<()>,
) -> Result<(), E> {
    let bench = Bench::new(cut, WAITING * threads.get() as u64);
    thread::scope(|scope| {
        for _ in 1..threads.get() {
            scope.spawn(|| bench.work(&work));
        }
        let _over = Over(&bench);
        let (mut done, mut tools) = (B::default(), T::default());
        loop {
            match bench.next_turn() {
                Turn::Result(result) => {
                    if sink(result).is_break() {
                        break;
                    }
                }
                Turn::Work => {
                    let Some((number, batch)) = bench.next_batch(std::mem::take(&mut done)) else { continue };
                    bench.leave(number, work(&batch, &mut tools));
                    done = batch;
                }
                Turn::End => break,
            }
        }
    });
    bench.failure.into_inner().unwrap_or_else(PoisonError::into_inner).map_or(Ok(()), Err)
}

/// Where threads take batches and leave results.
struct Bench<C, R, E> {
    /// The cutter and the number of the next batch; none once it is at its end.
    cutter: Mutex<Option<(C, u64)>>,
    results: Mutex<Results<R>>,
    changed: Condvar,
    failure: Mutex<Option<E>>,
    most_ahead: u64,
}

struct Results<R> {
    ready: BTreeMap<u64, R>,
    /// The number of the batch that the sink waits for.
    wanted: u64,
    /// How many batches there are, once that is known.
    batches: Option<u64>,
    is_over: bool,
}

/// What the calling thread does next.
enum Turn<R> {
    /// Hand on a result.
    Result(R),
    /// Work on a batch like the others.
    Work,
    End,
}

impl<C, R, E> Bench<C, R, E> {
    fn new(cut: C, most_ahead: u64) -> Self {
        Self {
            cutter: Mutex::new(Some((cut, 0))),
            results: Mutex::new(Results { ready: BTreeMap::new(), wanted: 0, batches: None, is_over: false }),
            changed: Condvar::new(),
            failure: Mutex::new(None),
            most_ahead,
        }
    }

    fn work<B: Default, T: Default>(&self, work: &impl Fn(&B, &mut T) -> R)
    where
        C: FnMut(B) -> Result<Option<B>, E>,
    {
        let _over = OverIfPanicking(self);
        let (mut done, mut tools) = (B::default(), T::default());
        while let Some((number, batch)) = self.next_batch(done) {
            let result = work(&batch, &mut tools);
            done = batch;
            let is_far_ahead =
                |results: &mut Results<R>| number >= results.wanted + self.most_ahead && !results.is_over;
            let results = self.changed.wait_while(lock(&self.results), is_far_ahead);
            if results.unwrap_or_else(PoisonError::into_inner).is_over {
                return;
            }
            self.leave(number, result);
        }
    }

    fn next_batch<B>(&self, done: B) -> Option<(u64, B)>
    where
        C: FnMut(B) -> Result<Option<B>, E>,
    {
        let mut cutter = lock(&self.cutter);
        let (cut, number) = cutter.as_mut()?;
        let this = *number;
        let batch = cut(done);
        *number += 1;
        match batch {
            Ok(Some(batch)) => return Some((this, batch)),
            Ok(None) => {}
            Err(error) => *lock(&self.failure) = Some(error),
        }
        *cutter = None;
        lock(&self.results).batches = Some(this);
        self.changed.notify_all();
        None
    }

    fn leave(&self, number: u64, result: R) {
        let mut results = lock(&self.results);
        results.ready.insert(number, result);
        if number == results.wanted {
            self.changed.notify_all();
        }
    }

    fn next_turn(&self) -> Turn<R> {
        let mut results = lock(&self.results);
        loop {
            let wanted = results.wanted;
            if results.is_over || results.batches == Some(wanted) {
                return Turn::End;
            }
            if let Some(result) = results.ready.remove(&wanted) {
                results.wanted += 1;
                self.changed.notify_all();
                return Turn::Result(result);
            }
            if results.batches.is_none() && (results.ready.len() as u64) < self.most_ahead {
                return Turn::Work;
            }
            results = self.changed.wait(results).unwrap_or_else(PoisonError::into_inner);
        }
    }

    fn end(&self) {
        lock(&self.results).is_over = true;
        self.changed.notify_all();
    }
}

/// However the sink ends, the threads are told.
struct Over<'b, C, R, E>(&'b Bench<C, R, E>);

impl<C, R, E> Drop for Over<'_, C, R, E> {
    fn drop(&mut self) {
        *lock(&self.0.cutter) = None;
        self.0.end();
    }
}

/// A thread that panics must not let the others wait for its result.
struct OverIfPanicking<'b, C, R, E>(&'b Bench<C, R, E>);

impl<C, R, E> Drop for OverIfPanicking<'_, C, R, E> {
    fn drop(&mut self) {
        if thread::panicking() {
            self.0.end();
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::panic::AssertUnwindSafe;

    fn squares(threads: usize, stop_at: u64, fail_at: u64) -> (Vec<u64>, Result<(), u64>) {
        let mut next = 0u64;
        let cut = move |_| {
            next += 1;
            if next == fail_at { Err(next) } else { Ok((next <= 1000).then_some(next)) }
        };
        let mut seen = Vec::new();
        let result = in_order(
            NonZeroUsize::new(threads).unwrap(),
            cut,
            |number, (): &mut ()| number * number,
            |square| {
                seen.push(square);
                if seen.len() as u64 == stop_at { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            },
        );
        (seen, result)
    }

    #[test]
    fn results_come_in_order_whatever_the_number_of_threads() {
        for threads in [1, 2, 7] {
            let (seen, result) = squares(threads, u64::MAX, u64::MAX);
            assert!(result.is_ok() && seen.len() == 1000 && seen.is_sorted());
            let (seen, result) = squares(threads, 10, u64::MAX);
            assert_eq!((seen.len(), result), (10, Ok(())));
            let (seen, result) = squares(threads, u64::MAX, 500);
            assert_eq!((seen.len(), result), (499, Err(500)));
        }
    }

    #[test]
    fn a_panic_is_passed_on() {
        for threads in [1, 3] {
            let mut next = 0u64;
            let cut = move |_| {
                next += 1;
                Ok::<_, ()>(Some(next))
            };
            let threads = NonZeroUsize::new(threads).unwrap();
            let work = |number: &u64, (): &mut ()| assert!(*number < 50, "fifty");
            let mut seen = 0;
            let walked = std::panic::catch_unwind(AssertUnwindSafe(|| {
                in_order(threads, cut, work, |()| {
                    seen += 1;
                    ControlFlow::Continue(())
                })
            }));
            assert!(walked.is_err() && seen < 50, "{seen}");
        }
    }
}
