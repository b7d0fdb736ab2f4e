//! Long work: a line of progress on standard error, and a flag that Ctrl-C sets.

use crate::study::Watch;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;
use std::io::{self, IsTerminal};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

/// Time between two looks at the work.
const LOOK: Duration = Duration::from_millis(200);
/// Whether progress and notes are left out.
static QUIET: AtomicBool = AtomicBool::new(false);
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

/// Asks for no line of progress and no notes from now on.
pub fn be_quiet() {
    QUIET.store(true, Ordering::Relaxed);
}

/// Whether progress and notes are left out.
pub(super) fn is_quiet() -> bool {
    QUIET.load(Ordering::Relaxed)
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
pub fn shown<T>(what: &'static str, total: u64, stop: &Arc<AtomicBool>, work: impl FnOnce(&Watch) -> T) -> T {
    let watch = Watch::stopped_by(stop);
    if is_quiet() || !io::stderr().is_terminal() {
        return work(&watch);
    }
    let over = AtomicBool::new(false);
    thread::scope(|scope| {
        let show = || {
            let bar = line(what, total, ProgressDrawTarget::stderr());
            while !over.load(Ordering::Relaxed) {
                bar.set_position(watch.done());
                thread::park_timeout(LOOK);
            }
            // what is left on the terminal is the answer
            bar.finish_and_clear();
        };
        // where the system refuses a thread, the work is done without a line of progress
        let shower = thread::Builder::new().spawn_scoped(scope, show).ok();
        let _over = shower.map(|shower| Over(&over, shower.thread().clone()));
        work(&watch)
    })
}

/// The line of progress.
fn line(what: &'static str, total: u64, to: ProgressDrawTarget) -> ProgressBar {
    let (length, template) = match total {
        0 => (None, "{msg} {pos}, {elapsed} so far (Ctrl-C stops and shows what is known)"),
        _ => (
            Some(total),
            "{msg} {pos} of {len}, {percent} %, {eta} left (Ctrl-C stops and keeps what is done)",
        ),
    };
    let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
    ProgressBar::with_draw_target(length, to).with_style(style).with_message(what)
}

#[cfg(test)]
mod tests {
    use super::*;
    use indicatif::TermLike;
    use std::sync::Mutex;

    #[test]
    fn the_line_says_how_far_and_how_long() {
        let seen = |total: u64, done: u64| {
            let lines = Lines::default();
            let bar = line("draws", total, ProgressDrawTarget::term_like(Box::new(lines.clone())));
            bar.set_position(done);
            bar.tick();
            lines.0.lock().map(|text| text.clone()).unwrap_or_default()
        };
        let half = seen(1000, 500);
        assert!(half.contains("draws 500 of 1000, 50 %, ") && half.contains(" left (Ctrl-C stops"), "{half}");
        let open = seen(0, 70);
        assert!(open.contains("draws 70, ") && open.contains(" so far (Ctrl-C stops"), "{open}");
    }

    /// A terminal that keeps what is written to it.
    #[derive(Debug, Clone, Default)]
    struct Lines(Arc<Mutex<String>>);

    impl TermLike for Lines {
        fn width(&self) -> u16 {
            200
        }
        fn move_cursor_up(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_down(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_right(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn move_cursor_left(&self, _: usize) -> io::Result<()> {
            Ok(())
        }
        fn write_line(&self, text: &str) -> io::Result<()> {
            self.write_str(text)
        }
        fn write_str(&self, text: &str) -> io::Result<()> {
            self.0.lock().map(|mut all| all.push_str(text)).map_err(|_| io::ErrorKind::Other.into())
        }
        fn clear_line(&self) -> io::Result<()> {
            Ok(())
        }
        fn flush(&self) -> io::Result<()> {
            Ok(())
        }
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
