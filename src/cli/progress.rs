//! A bar or a sign of life on standard error while a long run goes on.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::OnceLock;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// A run is long when it takes more than this.
const LONG: Duration = Duration::from_secs(1);
const STEPS: u64 = 1000;
/// How often a sign of life moves.
const TICK: Duration = Duration::from_millis(120);

/// A bar that appears on a terminal once the run is long, and nowhere else.
pub(super) struct Bar {
    what: &'static str,
    begun: Instant,
    shown: OnceLock<ProgressBar>,
}

impl Bar {
    /// A bar not shown yet.
    fn new(what: &'static str) -> Self {
        Self { what, begun: Instant::now(), shown: OnceLock::new() }
    }

    /// Moves it to a share of the run, 0 to 1.
    pub(super) fn at(&self, share: f64) {
        if self.begun.elapsed() < LONG {
            return;
        }
        let bar = self.shown.get_or_init(|| {
            let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr());
            // A template that cannot be read would leave the plain bar.
            if let Ok(style) = ProgressStyle::with_template("{msg} [{bar:40}] {percent} %") {
                bar.set_style(style.progress_chars("=> "));
            }
            bar.set_message(self.what);
            bar
        });
        bar.set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }

    /// Takes it away.
    fn end(&self) {
        if let Some(bar) = self.shown.get() {
            bar.finish_and_clear();
        }
    }
}

/// Does some work that tells a bar how far it is.
pub(super) fn with_bar<T>(what: &'static str, work: impl FnOnce(&Bar) -> T) -> T {
    let bar = Bar::new(what);
    let result = work(&bar);
    bar.end();
    result
}

/// Does some work of unknown length; on a terminal a moving sign says what goes on once the run is long.
pub(super) fn while_shown<T>(what: &'static str, work: impl FnOnce() -> T) -> T {
    let (done, wait) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            if wait.recv_timeout(LONG) == Err(RecvTimeoutError::Timeout) {
                let sign = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
                sign.set_message(what);
                sign.enable_steady_tick(TICK);
                // It ends when the sender is dropped.
                let _ = wait.recv();
                sign.finish_and_clear();
            }
        });
        let result = work();
        drop(done);
        result
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_gives_its_result_however_long_it_takes() {
        assert_eq!(while_shown("short", || 2), 2);
        let long = || std::thread::sleep(LONG + TICK);
        while_shown("long", long);
    }
}
