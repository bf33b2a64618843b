//! An interrupt (Ctrl-C), or being told to end or hang up, ends the run at once, but never between the beginning and the end of a write.

use std::sync::atomic::{AtomicI32, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Held while files are written.
static WRITING: Mutex<()> = Mutex::new(());

/// Exit status of a run that was interrupted: 128 and the number of the signal, as shells have it.
const INTERRUPTED: i32 = 130;

/// Exit status with which an interrupt ends the program.
static STATUS: AtomicI32 = AtomicI32::new(INTERRUPTED);

/// Makes an interrupt wait for a write that has begun, then end the program.
///
/// Where the system gives no such handler, its own way of ending stands.
pub(super) fn watch() {
    let _ = ctrlc::set_handler(|| {
        let _written = writing();
        std::process::exit(STATUS.load(Ordering::SeqCst));
    });
}

/// An interrupt is from now on how the run is meant to end, so its exit status says done.
pub(super) fn is_the_usual_end() {
    STATUS.store(0, Ordering::SeqCst);
}

/// To be held while files are written.
pub(super) fn writing() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
