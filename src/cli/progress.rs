//! Long work: a line of progress on standard error, and a flag that Ctrl-C sets.

use crate::study::Watch;
use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;
use std::io::{self, IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

/// Time between two looks at the work.
const LOOK: Duration = Duration::from_millis(200);
/// Exit status of a program ended by Ctrl-C, as shells give it.
const ENDED: i32 = 130;

/// A flag that the first Ctrl-C sets; a second one ends the program at once. If the system refuses a handler, Ctrl-C ends the program
/// as usual.
pub(super) fn stop_on_interrupt() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [SIGINT, SIGTERM] {
        // in this order: the shutdown looks at the flag before it is raised
        let _ = flag::register_conditional_shutdown(signal, ENDED, Arc::clone(&stop));
        let _ = flag::register(signal, Arc::clone(&stop));
    }
    stop
}

/// Ends the line of progress when the work is over, also after a panic.
struct Over<'a>(&'a AtomicBool, thread::Thread);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
        self.1.unpark();
    }
}

/// Does the work, showing how far it is if standard error is a terminal. A total of 0 is one that nobody knows beforehand. `stop`
/// ends the work early.
pub fn shown<T>(what: &str, total: u64, stop: &Arc<AtomicBool>, work: impl FnOnce(&Watch) -> T) -> T {
    let watch = Watch::stopped_by(stop);
    if !io::stderr().is_terminal() {
        return work(&watch);
    }
    let over = AtomicBool::new(false);
    thread::scope(|scope| {
        let show = || {
            let start = Instant::now();
            loop {
                thread::park_timeout(LOOK);
                let mut stderr = io::stderr().lock();
                if over.load(Ordering::Relaxed) {
                    // the line is wiped: what is left on the terminal is the answer
                    let _ = write!(stderr, "\r\x1b[K");
                    break;
                }
                let line = line(what, watch.done(), total, start.elapsed());
                let _ = write!(stderr, "\r\x1b[K{line}").and_then(|()| stderr.flush());
            }
        };
        // where the system refuses a thread, the work is done without a line of progress
        let shower = thread::Builder::new().spawn_scoped(scope, show).ok();
        let _over = shower.map(|shower| Over(&over, shower.thread().clone()));
        work(&watch)
    })
}

fn line(what: &str, done: u64, total: u64, spent: Duration) -> String {
    if total == 0 {
        return format!(
            "{what} {done}, {} so far (Ctrl-C stops and shows what is known)",
            time(spent.as_secs_f64())
        );
    }
    let percent = 100 * done.min(total) / total.max(1);
    let left = if done > 0 && done < total {
        let seconds = spent.as_secs_f64() * (total - done) as f64 / done as f64;
        format!(", {} left", time(seconds))
    } else {
        String::new()
    };
    format!("{what} {done} of {total}, {percent} %{left} (Ctrl-C stops and keeps what is done)")
}

/// Seconds as people say them.
fn time(seconds: f64) -> String {
    if seconds < 90.0 {
        format!("{seconds:.0} s")
    } else if seconds < 5400.0 {
        format!("{:.0} min", seconds / 60.0)
    } else {
        format!("{:.1} h", seconds / 3600.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_how_far_and_how_long() {
        let at = |done, seconds| line("draws", done, 1000, Duration::from_secs(seconds));
        assert_eq!(at(250, 30), "draws 250 of 1000, 25 %, 2 min left (Ctrl-C stops and keeps what is done)");
        assert_eq!(at(0, 1), "draws 0 of 1000, 0 % (Ctrl-C stops and keeps what is done)");
        assert!(at(10, 200).contains("5.5 h left"));
        let open = line("draws", 70, 0, Duration::from_secs(12));
        assert_eq!(open, "draws 70, 12 s so far (Ctrl-C stops and shows what is known)");
    }

    #[test]
    fn work_is_done_without_a_terminal_too() {
        let stop = Arc::default();
        let answer = shown("draws", 2, &stop, |watch| {
            watch.count();
            watch.done()
        });
        assert_eq!(answer, 1);
    }
}
