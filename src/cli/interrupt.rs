//! An interrupt (Ctrl-C), or being told to end or hang up, ends the run at once, but never between the beginning and the end of a write.

use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

/// Held while files are written.
static WRITING: Mutex<()> = Mutex::new(());

/// Exit status of a run that was interrupted: 128 and the number of the signal, as shells have it.
const INTERRUPTED: i32 = 130;

/// What the first interrupt does in place of ending the program, until it is taken.
static FIRST: OnceLock<Mutex<Option<Teller>>> = OnceLock::new();

type Teller = Box<dyn FnOnce() + Send>;

/// Makes an interrupt wait for a write that has begun, then end the program.
///
/// Where the system gives no such handler, its own way of ending stands.
pub(super) fn watch() {
    let _ = ctrlc::set_handler(|| {
        let first = FIRST.get().map(|first| first.lock().unwrap_or_else(PoisonError::into_inner).take());
        if let Some(tell) = first.flatten() {
            return tell();
        }
        let _written = writing();
        std::process::exit(INTERRUPTED);
    });
}

/// The first interrupt tells the run to end by itself, as it is meant to; the next ends the program.
pub(super) fn tells(tell: impl FnOnce() + Send + 'static) {
    let _ = FIRST.set(Mutex::new(Some(Box::new(tell))));
}

/// To be held while files are written.
pub(super) fn writing() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
