//! An interrupt (Ctrl-C) ends the run at once, but never between the beginning and the end of a write.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// Held while files are written.
static WRITING: Mutex<()> = Mutex::new(());

/// Exit status of a run that was interrupted: 128 and the number of the signal, as shells have it.
const INTERRUPTED: i32 = 130;

/// Makes an interrupt wait for a write that has begun, then end the program.
///
/// Where the system gives no such handler, its own way of ending stands.
pub(super) fn watch() {
    let _ = ctrlc::set_handler(|| {
        let _written = writing();
        std::process::exit(INTERRUPTED);
    });
}

/// To be held while files are written.
pub(super) fn writing() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}
