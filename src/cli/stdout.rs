//! What standard output was before the program began.
//!
//! The language opens `/dev/null` in place of a closed one before `main`, so that an answer would be lost with a status of success.

use std::sync::atomic::{AtomicBool, Ordering};

/// Whether standard output takes nothing: it was closed, or is open for reading alone.
static TAKES_NOTHING: AtomicBool = AtomicBool::new(false);

/// Why nothing can be written to standard output; none where it may be tried.
pub(super) fn fault() -> Option<std::io::Error> {
    let said = "it is closed, or open for reading only; redirect it to a file, or name one with --out";
    TAKES_NOTHING.load(Ordering::Relaxed).then(|| std::io::Error::other(said))
}

#[cfg(unix)]
ctor::declarative::ctor! {
    #[ctor(unsafe)]
    fn look() {
        use rustix::fs::{OFlags, fcntl_getfl};
        let mode = fcntl_getfl(rustix::stdio::stdout()).map(|flags| flags & OFlags::ACCMODE);
        TAKES_NOTHING.store(!matches!(mode, Ok(OFlags::WRONLY | OFlags::RDWR)), Ordering::Relaxed);
    }
}
