//! Work in line: one thread for each kind, a bounded number of jobs, and requests that overtake earlier ones of their lane.

use std::collections::VecDeque;
use std::panic::{self, AssertUnwindSafe};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::{io, thread};

/// Most jobs that wait in a line. Our choice.
const MOST_WAITING: usize = 12;
/// Stack of the thread, bytes: that of a main thread, which the model has everywhere else.
const STACK: usize = 8 << 20;
/// Most lanes that are remembered; the oldest is forgotten first. Our choice.
const MOST_LANES: usize = 32;

type Job = Box<dyn FnOnce() + Send>;

/// A thread that does one job after the other.
pub(super) struct Line {
    shared: Arc<(Mutex<VecDeque<Job>>, Condvar)>,
}

impl Line {
    /// Starts the thread.
    ///
    /// # Errors
    /// If the system refuses it.
    pub(super) fn start(name: &str) -> io::Result<Self> {
        let shared = Arc::new((Mutex::new(VecDeque::<Job>::new()), Condvar::new()));
        let mine = Arc::clone(&shared);
        thread::Builder::new().name(name.to_owned()).stack_size(STACK).spawn(move || {
            loop {
                let (jobs, ready) = &*mine;
                let waiting = ready.wait_while(held(jobs), |jobs| jobs.is_empty());
                let job = waiting.unwrap_or_else(PoisonError::into_inner).pop_front();
                if let Some(job) = job {
                    // a job that panics answers nobody; the next one is done all the same
                    let _ = panic::catch_unwind(AssertUnwindSafe(job));
                }
            }
        })?;
        Ok(Self { shared })
    }

    /// Adds a job. Returns false if too many wait.
    pub(super) fn add(&self, job: impl FnOnce() + Send + 'static) -> bool {
        let (jobs, ready) = &*self.shared;
        let mut jobs = held(jobs);
        if jobs.len() >= MOST_WAITING {
            return false;
        }
        jobs.push_back(Box::new(job));
        ready.notify_one();
        true
    }
}

/// What a lock holds, also after a panic elsewhere.
pub(super) fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A flag that ends work when its request is overtaken or its asker has gone.
#[derive(Debug, Clone)]
pub(super) struct Ticket(Arc<AtomicBool>);

impl Ticket {
    /// The flag itself, for work that looks at it.
    pub(super) fn flag(&self) -> &Arc<AtomicBool> {
        &self.0
    }

    /// Whether the work is no longer wanted.
    pub(super) fn is_void(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Held by whoever waits for an answer; the work ends when it is let go.
pub(super) struct Asker(Arc<AtomicBool>);

impl Drop for Asker {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

struct Lane {
    name: String,
    number: u64,
    open: Vec<Arc<AtomicBool>>,
}

/// Requests by lane, a lane for each side of each page. A request with a higher number voids those before it.
#[derive(Default)]
pub(super) struct Lanes(Mutex<VecDeque<Lane>>);

impl Lanes {
    /// A ticket for a request. `None` if a later one of its lane is known.
    pub(super) fn enter(&self, name: &str, number: u64) -> Option<(Ticket, Asker)> {
        let mut lanes = held(&self.0);
        let flag = Arc::new(AtomicBool::new(false));
        let issued = (Ticket(Arc::clone(&flag)), Asker(Arc::clone(&flag)));
        match lanes.iter_mut().find(|lane| lane.name == name) {
            Some(lane) if number < lane.number => return None,
            Some(lane) => {
                if number > lane.number {
                    lane.open.drain(..).for_each(|earlier| earlier.store(true, Ordering::Relaxed));
                    lane.number = number;
                }
                lane.open.retain(|flag| !flag.load(Ordering::Relaxed));
                lane.open.push(flag);
            }
            None => {
                if lanes.len() >= MOST_LANES {
                    lanes.pop_front();
                }
                lanes.push_back(Lane { name: name.to_owned(), number, open: vec![flag] });
            }
        }
        Some(issued)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;
    use std::time::Duration;

    #[test]
    fn a_later_request_voids_the_earlier_ones_of_its_lane_alone() {
        let lanes = Lanes::default();
        let (first, _asker) = lanes.enter("a", 1).unwrap();
        let (beside, _other) = lanes.enter("a", 1).unwrap();
        let (elsewhere, _third) = lanes.enter("b", 1).unwrap();
        let (later, fourth) = lanes.enter("a", 2).unwrap();
        assert!(first.is_void() && beside.is_void() && !elsewhere.is_void() && !later.is_void());
        assert!(lanes.enter("a", 1).is_none());
        drop(fourth);
        assert!(later.is_void(), "nobody waits for it");
    }

    #[test]
    fn lanes_are_bounded() {
        let lanes = Lanes::default();
        for n in 0..1000 {
            assert!(lanes.enter(&n.to_string(), 1).is_some());
        }
        assert_eq!(held(&lanes.0).len(), MOST_LANES);
    }

    #[test]
    fn a_line_is_bounded_and_outlives_a_panic() {
        let line = Line::start("test").unwrap();
        let (begin, held_back) = mpsc::channel::<()>();
        assert!(line.add(move || {
            let _ = held_back.recv();
            panic!("{}", "a job may fail");
        }));
        let (sender, done) = mpsc::channel();
        let mut added = 0;
        while added < 100 {
            let sender = sender.clone();
            if !line.add(move || sender.send(()).unwrap()) {
                break;
            }
            added += 1;
        }
        // the first job may wait or be begun
        assert!((MOST_WAITING - 1..=MOST_WAITING).contains(&added), "{added}");
        begin.send(()).unwrap();
        for _ in 0..added {
            done.recv_timeout(Duration::from_secs(20)).unwrap();
        }
    }
}
