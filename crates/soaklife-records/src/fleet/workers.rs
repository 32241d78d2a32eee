//! Batches read and answered by several threads, handed to one sink in order.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::ops::ControlFlow;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// Answers that may wait for an earlier one, a thread.
const WAITING: u64 = 4;

/// Cuts batches one at a time, works on them with `threads` threads and hands the results to `sink` in the order of the
/// batches, on the calling thread. At most a few results a thread wait for their turn.
pub(super) fn in_order<B: Send, R: Send, E: Send>(
    threads: NonZeroUsize,
    mut cut: impl FnMut() -> Result<Option<B>, E> + Send,
    work: impl Fn(B) -> R + Sync,
    mut sink: impl FnMut(R) -> ControlFlow<()>,
) -> Result<(), E> {
    if threads.get() == 1 {
        while let Some(batch) = cut()? {
            if sink(work(batch)).is_break() {
                break;
            }
        }
        return Ok(());
    }
    let bench = Bench::new(cut, WAITING * threads.get() as u64);
    thread::scope(|scope| {
        for _ in 0..threads.get() {
            scope.spawn(|| bench.work(&work));
        }
        let _over = Over(&bench);
        while let Some(result) = bench.next_result() {
            if sink(result).is_break() {
                break;
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

    fn work<B>(&self, work: &impl Fn(B) -> R)
    where
        C: FnMut() -> Result<Option<B>, E>,
    {
        let _over = OverIfPanicking(self);
        while let Some((number, batch)) = self.next_batch() {
            let result = work(batch);
            let mut results = lock(&self.results);
            while number >= results.wanted + self.most_ahead && !results.is_over {
                results = self.changed.wait(results).unwrap_or_else(PoisonError::into_inner);
            }
            if results.is_over {
                return;
            }
            results.ready.insert(number, result);
            if number == results.wanted {
                self.changed.notify_all();
            }
        }
    }

    fn next_batch<B>(&self) -> Option<(u64, B)>
    where
        C: FnMut() -> Result<Option<B>, E>,
    {
        let mut cutter = lock(&self.cutter);
        let (cut, number) = cutter.as_mut()?;
        let this = *number;
        let batch = cut();
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

    fn next_result(&self) -> Option<R> {
        let mut results = lock(&self.results);
        loop {
            if results.is_over || results.batches == Some(results.wanted) {
                return None;
            }
            let wanted = results.wanted;
            if let Some(result) = results.ready.remove(&wanted) {
                results.wanted += 1;
                self.changed.notify_all();
                return Some(result);
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

    fn squares(threads: usize, stop_at: u64, fail_at: u64) -> (Vec<u64>, Result<(), u64>) {
        let mut next = 0u64;
        let cut = move || {
            next += 1;
            if next == fail_at { Err(next) } else { Ok((next <= 1000).then_some(next)) }
        };
        let mut seen = Vec::new();
        let result = in_order(
            NonZeroUsize::new(threads).unwrap(),
            cut,
            |number| number * number,
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
    #[should_panic(expected = "a scoped thread panicked")]
    fn a_panic_is_passed_on() {
        let mut next = 0u64;
        let cut = move || {
            next += 1;
            Ok::<_, ()>(Some(next))
        };
        let threads = NonZeroUsize::new(3).unwrap();
        let work = |number: u64| assert!(number < 50, "fifty");
        let _ = in_order(threads, cut, work, |()| ControlFlow::Continue(()));
    }
}
