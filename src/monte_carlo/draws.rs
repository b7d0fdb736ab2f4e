//! Which draws to make, how to watch and stop them, and the threads that make them.

use std::panic;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::thread::{self, Builder};

/// Draws to make. A draw is one simulated year with its own set of uncertain values; draw *i* of a seed is always the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// Seed of all draws.
    pub seed: u64,
    /// First draw, from 0.
    pub from: u64,
    /// One past the last draw.
    pub to: u64,
    /// Threads, at most one for each draw; 0 counts as 1. The answer is the same with any number.
    pub threads: usize,
}

impl Draws {
    /// The first draws of a seed.
    pub const fn first(seed: u64, count: u64, threads: usize) -> Self {
        Self { seed, from: 0, to: count, threads }
    }

    /// The same seed and threads, other draws.
    #[must_use]
    pub const fn between(self, from: u64, to: u64) -> Self {
        Self { from, to, ..self }
    }

    /// Number of draws.
    pub const fn count(&self) -> u64 {
        self.to.saturating_sub(self.from)
    }
}

/// Progress of long work, and a request to stop it early.
#[derive(Debug, Default)]
pub struct Watch {
    done: AtomicU64,
    stop: Arc<AtomicBool>,
}

impl Watch {
    /// Work that ends early when the flag is raised.
    pub fn stopped_by(stop: &Arc<AtomicBool>) -> Self {
        Self { done: AtomicU64::new(0), stop: Arc::clone(stop) }
    }

    /// Counts one run as done.
    pub fn count(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }

    /// Number of runs done.
    pub fn done(&self) -> u64 {
        self.done.load(Ordering::Relaxed)
    }

    /// Asks the work to end after the runs in hand.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Whether the work was asked to end.
    pub fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Does so many jobs on threads, and gives their results in order. `None` for those that were not begun because the work was stopped.
///
/// # Panics
/// When `work` panics.
pub fn in_order<T: Send>(
    threads: usize,
    jobs: usize,
    watch: &Watch,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<Option<T>> {
    let next = AtomicUsize::new(0);
    let some = || {
        let mut made = Vec::new();
        while !watch.is_stopped() {
            let place = next.fetch_add(1, Ordering::Relaxed);
            if place >= jobs {
                break;
            }
            made.push((place, work(place)));
            watch.count();
        }
        made
    };
    let mut all: Vec<Option<T>> = (0..jobs).map(|_| None).collect();
    for (place, result) in on_threads(threads.min(jobs), some).into_iter().flatten() {
        all[place] = Some(result);
    }
    all
}

/// The jobs of [`in_order`] that gave an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered<T> {
    /// Place of each among the jobs, and its answer.
    pub answers: Vec<(usize, T)>,
    /// What went wrong in the first of the others. `None` if nothing did.
    pub failed: Option<String>,
}

impl<T> Answered<T> {
    /// Takes the answers of jobs in their order. `None` if one was not begun.
    pub fn of(made: Vec<Option<Result<T, String>>>) -> Option<Self> {
        let (mut answers, mut failed) = (Vec::new(), None);
        for (place, job) in made.into_iter().enumerate() {
            match job? {
                Ok(answer) => answers.push((place, answer)),
                Err(message) => failed = failed.or(Some(message)),
            }
        }
        Some(Self { answers, failed })
    }
}

/// Runs `work` on the calling thread and on up to `threads - 1` more, which share out what there is to do. Fewer threads do the
/// same work, so one that the system refuses is left out.
///
/// # Panics
/// When `work` panics.
pub fn on_threads<T: Send>(threads: usize, work: impl Fn() -> T + Sync) -> Vec<T> {
    thread::scope(|scope| {
        let start = |_| Builder::new().spawn_scoped(scope, &work).ok();
        let others: Vec<_> = (1..threads).map_while(start).collect();
        let mut results = vec![work()];
        results.extend(
            others.into_iter().map(|other| other.join().unwrap_or_else(|cause| panic::resume_unwind(cause))),
        );
        results
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threads_share_out_all_there_is_to_do_and_each_gives_its_result() {
        for threads in [0, 1, 3] {
            let next = AtomicUsize::new(0);
            let work =
                || std::iter::from_fn(|| Some(next.fetch_add(1, Ordering::Relaxed)).filter(|n| *n < 100));
            let results = on_threads(threads, || work().collect::<Vec<_>>());
            assert_eq!(results.len(), threads.max(1));
            let mut all = results.concat();
            all.sort_unstable();
            assert_eq!(all, (0..100).collect::<Vec<_>>());
        }
    }

    #[test]
    fn jobs_are_answered_in_order() {
        for threads in [1, 3] {
            let made = in_order(threads, 20, &Watch::default(), |place| place * place);
            assert_eq!(made, (0..20).map(|place| Some(place * place)).collect::<Vec<_>>());
        }
    }
}
