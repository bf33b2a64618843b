//! Answers that take long: lines of JSON as they come, ended when nobody reads them any more.

use super::refusal::Refusal;
use axum::body::{Body, HttpBody};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use hyper::body::{Bytes, Frame};
use serde_json::{Value, json};
use std::convert::Infallible;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::pin::Pin;
use std::sync::Mutex;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};
use tokio::sync::mpsc::{Receiver, Sender, channel};

/// Lines that may wait to be taken.
const WAITING: usize = 64;
/// Least time between two lines of progress.
const BETWEEN: Duration = Duration::from_millis(60);

/// Tells the page how far something is.
pub(super) struct Teller {
    lines: Sender<Bytes>,
    last: Mutex<Instant>,
}

/// What a run ends with that nobody waits for any more.
struct NobodyWaits;

impl Teller {
    fn send(&self, line: &Value) {
        // Nobody who waits is no error.
        let _ = self.lines.blocking_send(format!("{line}\n").into());
    }

    /// Something to show before the end.
    pub(super) fn first(&self, html: &str) {
        self.send(&json!({ "first": html }));
    }

    /// The share that is done. Ends the run, by unwinding, when nobody waits for it: what runs is pure, so nothing is left half done.
    pub(super) fn at(&self, share: f64) {
        if self.lines.is_closed() {
            resume_unwind(Box::new(NobodyWaits));
        }
        let Ok(mut last) = self.last.try_lock() else { return };
        if last.elapsed() >= BETWEEN {
            *last = Instant::now();
            let _ = self.lines.try_send(format!("{}\n", json!({ "at": share })).into());
        }
    }
}

/// Answers with what some work tells and ends with, line by line.
pub(super) fn streamed(work: impl FnOnce(&Teller) -> Result<Value, Refusal> + Send + 'static) -> Response {
    let (lines, taken) = channel(WAITING);
    tokio::task::spawn_blocking(move || {
        let teller = Teller { lines, last: Mutex::new(Instant::now()) };
        match catch_unwind(AssertUnwindSafe(|| work(&teller))) {
            Ok(Ok(done)) => teller.send(&json!({ "done": done })),
            Ok(Err(refusal)) => {
                teller.send(&json!({ "refused": { "key": refusal.key, "message": refusal.to_string() } }));
            }
            Err(why) if why.is::<NobodyWaits>() => {}
            Err(_) => teller.send(&json!({ "refused": { "key": "", "message": super::routes::MISTAKE } })),
        }
    });
    ([(header::CONTENT_TYPE, "application/x-ndjson")], Body::new(Lines(taken))).into_response()
}

/// Lines as the body of an answer.
struct Lines(Receiver<Bytes>);

impl HttpBody for Lines {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Self::Data>, Self::Error>>> {
        self.get_mut().0.poll_recv(context).map(|line| line.map(|line| Ok(Frame::data(line))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};

    fn runtime() -> tokio::runtime::Runtime {
        tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap()
    }

    #[test]
    fn lines_come_in_order_and_a_panic_is_one() {
        let text = runtime().block_on(async {
            let answer = streamed(|teller| {
                teller.first("<p>soon</p>");
                Ok(json!("<p>now</p>"))
            });
            let body = axum::body::to_bytes(answer.into_body(), 10_000).await.unwrap();
            let broken = streamed(|_| panic!("as the test wants it"));
            let broken = axum::body::to_bytes(broken.into_body(), 10_000).await.unwrap();
            String::from_utf8([&body[..], &broken[..]].concat()).unwrap()
        });
        let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        assert_eq!(lines[0], json!({ "first": "<p>soon</p>" }));
        assert_eq!(lines[1], json!({ "done": "<p>now</p>" }));
        assert!(lines[2]["refused"]["message"].is_string());
    }

    #[test]
    fn a_run_that_nobody_waits_for_ends() {
        let ended = Arc::new(AtomicBool::new(false));
        struct Tells(Arc<AtomicBool>);
        impl Drop for Tells {
            fn drop(&mut self) {
                self.0.store(true, Ordering::SeqCst);
            }
        }
        let tells = Tells(Arc::clone(&ended));
        runtime().block_on(async {
            drop(streamed(move |teller| {
                let _tells = tells;
                loop {
                    teller.at(0.5);
                    std::thread::sleep(Duration::from_millis(1));
                }
            }));
            for _ in 0..2000 {
                if ended.load(Ordering::SeqCst) {
                    return;
                }
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
            panic!("it goes on");
        });
    }
}
