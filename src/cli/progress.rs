//! A line of progress on standard error, for a person who waits longer than a second.

use std::io::IsTerminal;
use std::sync::Mutex;
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Time after which progress is shown, s.
const PATIENCE: Duration = Duration::from_secs(1);

/// Progress through some runs.
pub(super) struct Progress {
    shown: Option<Shown>,
}

struct Shown {
    bar: ProgressBar,
    /// Closed when the work is done.
    done: Mutex<Option<Sender<()>>>,
    waiting: Mutex<Option<JoinHandle<()>>>,
}

impl Progress {
    /// Starts to wait; nothing is shown if nobody is there to see it.
    ///
    /// `runs` is how many there are, 0 where that is not told, [`usize::MAX`] where they are counted
    /// and their number is not known.
    pub(super) fn start(quiet: bool, work: &'static str, runs: usize) -> Self {
        let template = if runs == usize::MAX {
            "{spinner} {msg} {pos}, {elapsed}"
        } else if runs > 0 {
            "{spinner} {msg}, {pos} of {len}, {elapsed}"
        } else {
            "{spinner} {msg}, {elapsed}"
        };
        Self::with_template(
            quiet,
            work,
            u64::try_from(runs).unwrap_or(u64::MAX),
            template,
        )
    }

    /// The same of many rows, of which some are there already: with their rate and the time left.
    pub(super) fn of_rows(quiet: bool, work: &'static str, rows: u64, done: u64) -> Self {
        let template = "{spinner} {msg}, {pos} of {len}, {per_sec}, {eta} left";
        let progress = Self::with_template(quiet, work, rows, template);
        if let Some(shown) = &progress.shown {
            shown.bar.set_position(done);
            shown.bar.reset_eta();
        }
        progress
    }

    fn with_template(quiet: bool, work: &'static str, runs: u64, template: &str) -> Self {
        if quiet || !std::io::stderr().is_terminal() {
            return Self { shown: None };
        }
        let bar = ProgressBar::hidden();
        bar.set_length(runs);
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style);
        }
        bar.set_message(work);
        let (done, wait) = channel::<()>();
        let late = bar.clone();
        let waiting = std::thread::spawn(move || {
            if wait.recv_timeout(PATIENCE) == Err(std::sync::mpsc::RecvTimeoutError::Timeout) {
                late.set_draw_target(indicatif::ProgressDrawTarget::stderr());
                late.enable_steady_tick(Duration::from_millis(200));
                // Until the work is done.
                let _ = wait.recv();
            }
        });
        Self {
            shown: Some(Shown {
                bar,
                done: Mutex::new(Some(done)),
                waiting: Mutex::new(Some(waiting)),
            }),
        }
    }

    /// One run is done.
    pub(super) fn step(&self) {
        if let Some(shown) = &self.shown {
            shown.bar.inc(1);
        }
    }

    /// All are done.
    pub(super) fn end(&self) {
        let Some(shown) = &self.shown else { return };
        if let Ok(mut done) = shown.done.lock() {
            drop(done.take());
        }
        if let Ok(mut waiting) = shown.waiting.lock()
            && let Some(thread) = waiting.take()
        {
            let _ = thread.join();
        }
        shown.bar.finish_and_clear();
    }
}
