//! Connections on loopback, each in its own thread, so that a slow one holds up no other.

use super::http::{read, send, send_at_once};
use endgas::live::http::{Answer, Request, Status};
use std::net::{TcpListener, TcpStream};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

/// Most connections at a time; a browser opens some six.
pub(super) const MOST_CONNECTIONS: usize = 64;
/// Rest after a connection that could not be accepted, such as when no file handle is free.
const REST: Duration = Duration::from_millis(20);

/// Answers requests for as long as the program runs; it never returns by itself.
///
/// A panic of `answer` becomes a status 500 and ends nothing else.
pub(super) fn serve(
    listener: &TcpListener,
    port: u16,
    answer: impl Fn(&Request) -> Answer + Send + Sync + 'static,
) -> ! {
    let answer = Arc::new(answer);
    let open = Arc::new(AtomicUsize::new(0));
    loop {
        let Ok((stream, _)) = listener.accept() else {
            std::thread::sleep(REST);
            continue;
        };
        let place = ClientSlot::take(&open);
        if open.load(Ordering::SeqCst) > MOST_CONNECTIONS {
            // Sent from here: an empty buffer takes so few bytes at once.
            let full = Answer::refused(Status::ServiceUnavailable, "too many connections");
            send_at_once(&full, stream);
            continue;
        }
        let answer = Arc::clone(&answer);
        // Without a thread the connection is closed, which a browser tries again.
        let _ = std::thread::Builder::new().name("connection".to_owned()).spawn(move || {
            let _place = place;
            connection(stream, port, answer.as_ref());
        });
    }
}

/// One of the connections that may be open; given back when dropped.
struct ClientSlot(Arc<AtomicUsize>);

impl ClientSlot {
    fn take(open: &Arc<AtomicUsize>) -> Self {
        open.fetch_add(1, Ordering::SeqCst);
        Self(Arc::clone(open))
    }
}

impl Drop for ClientSlot {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

/// Reads one request and answers it.
fn connection(mut stream: TcpStream, port: u16, answer: &impl Fn(&Request) -> Answer) {
    let _ = stream.set_nodelay(true);
    match read(&mut stream, port) {
        Ok(request) => {
            let answered = catch_unwind(AssertUnwindSafe(|| answer(&request)));
            let failed = || Answer::refused(Status::InternalServerError, "the program has a mistake here");
            send(&answered.unwrap_or_else(|_| failed()), stream, request.head_only);
        }
        Err(Some(refusal)) => send(&refusal, stream, false),
        Err(None) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read as _, Write as _};
    use std::net::Ipv4Addr;

    fn ask(port: u16, path: &str) -> String {
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n").unwrap();
        let mut said = String::new();
        stream.read_to_string(&mut said).unwrap();
        said
    }

    #[test]
    fn a_panic_is_an_answer_and_the_next_request_is_served() {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = listener.local_addr().unwrap().port();
        std::thread::spawn(move || {
            serve(&listener, port, |request| {
                assert!(request.path != "/panic", "as the test wants it");
                Answer::ok("text/plain", "served")
            })
        });
        assert!(ask(port, "/panic").starts_with("HTTP/1.1 500 "));
        assert!(ask(port, "/").ends_with("served"));
    }
}
