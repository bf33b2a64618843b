//! Connections on loopback. Everything is bounded in number, size and time, so that a slow one holds up no other.

use axum::Router;
use axum::http::StatusCode;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::future::poll_fn;
use std::io;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, sleep, timeout, timeout_at};
use tokio_io_timeout::TimeoutStream;

/// Most connections at a time; a browser opens some six.
pub(super) const MOST_CONNECTIONS: usize = 64;
/// Most connections beyond these that are told so; what comes on top is closed.
const MOST_REFUSED: usize = 256;
/// Rest after a connection that could not be accepted, such as when no file handle is free.
const REST: Duration = Duration::from_millis(20);
/// Time within which the whole head must have come.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Largest head of a request [bytes]. Cookies of other pages on this machine come along, for cookies know no port.
const MOST_HEAD: usize = 16 * 1024;
/// Most header lines.
const MOST_HEADERS: usize = 64;
/// Time within which some of an answer must be taken.
const ANSWER_TIME: Duration = Duration::from_secs(5);
/// How long, and how much of, what a client still sends is taken in after an answer, so that it is not reset before it
/// has read the answer.
const LINGER_TIME: Duration = Duration::from_millis(300);
const LINGER_BYTES: usize = 256 * 1024;
/// How long answers under way are waited for at the end.
const GRACE: Duration = Duration::from_secs(2);
/// What a client is told that does not send its whole head in time.
const TOO_SLOW: &[u8] = b"HTTP/1.1 408 Request Timeout\r\nContent-Length: 0\r\nConnection: close\r\n\r\n";

/// Answers requests until `end` is told; then those under way are waited for, within bounds.
///
/// # Errors
/// What the system says when there can be no connections at all.
pub(super) fn serve(listener: std::net::TcpListener, app: Router, end: &Notify) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
    listener.set_nonblocking(true)?;
    let served = runtime.block_on(async {
        let listener = TcpListener::from_std(listener)?;
        let places = Places::new();
        let at_work = Arc::clone(&places.at_work);
        let accepting = tokio::spawn(async move {
            loop {
                accept(&listener, &app, &places).await;
            }
        });
        end.notified().await;
        accepting.abort();
        // An answer that takes longer is given up.
        let _ = timeout(GRACE, at_work.acquire_many(MOST_CONNECTIONS as u32)).await;
        Ok(())
    });
    runtime.shutdown_background();
    served
}

/// How many connections there may be.
struct Places {
    open: Arc<Semaphore>,
    refused: Arc<Semaphore>,
    /// Those whose request has come.
    at_work: Arc<Semaphore>,
}

impl Places {
    fn new() -> Self {
        let of = |most| Arc::new(Semaphore::new(most));
        Self { open: of(MOST_CONNECTIONS), refused: of(MOST_REFUSED), at_work: of(MOST_CONNECTIONS) }
    }
}

async fn accept(listener: &TcpListener, app: &Router, places: &Places) {
    let Ok((stream, _)) = listener.accept().await else { return sleep(REST).await };
    let at_work = Arc::clone(&places.at_work);
    if let Ok(place) = Arc::clone(&places.open).try_acquire_owned() {
        tokio::spawn(connection(stream, app.clone(), at_work, place));
    } else if let Ok(place) = Arc::clone(&places.refused).try_acquire_owned() {
        let full = Router::new().fallback((StatusCode::SERVICE_UNAVAILABLE, "too many connections\n"));
        tokio::spawn(connection(stream, full, at_work, place));
    }
}

/// Reads one request, answers it and closes; a client that is gone is no error.
async fn connection(stream: TcpStream, app: Router, at_work: Arc<Semaphore>, _place: OwnedSemaphorePermit) {
    let _ = stream.set_nodelay(true);
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(ANSWER_TIME));
    let held = Arc::new(std::sync::OnceLock::new());
    let begun = Arc::clone(&held);
    let app = app.layer(axum::middleware::map_request(move |request: axum::extract::Request| {
        let _ = begun.set(Arc::clone(&at_work).try_acquire_owned());
        std::future::ready(request)
    }));
    let mut connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .max_headers(MOST_HEADERS)
        .max_buf_size(MOST_HEAD)
        .keep_alive(false)
        .title_case_headers(true)
        .serve_connection(TokioIo::new(Box::pin(stream)), TowerToHyperService::new(app));
    let done = poll_fn(|context| connection.poll_without_shutdown(context)).await;
    let mut stream = connection.into_parts().io.into_inner();
    if done.is_err_and(|error| error.is_timeout()) {
        let _ = stream.write_all(TOO_SLOW).await;
    }
    if stream.shutdown().await.is_ok() {
        linger(&mut stream).await;
    }
}

/// Takes in what a client still sends, within bounds.
async fn linger(stream: &mut (impl tokio::io::AsyncRead + Unpin)) {
    let end = Instant::now() + LINGER_TIME;
    let (mut taken, mut waste) = (0, [0; 4096]);
    while taken < LINGER_BYTES {
        match timeout_at(end, stream.read(&mut waste)).await {
            Ok(Ok(some)) if some > 0 => taken += some,
            _ => break,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use axum::routing::get;
    use std::io::{Read as _, Write as _};
    use std::net::Ipv4Addr;

    fn ask(port: u16, path: &str) -> String {
        let mut stream = std::net::TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n").unwrap();
        let mut said = String::new();
        stream.read_to_string(&mut said).unwrap();
        said
    }

    /// Serves two addresses: one that answers after a while, one that panics.
    fn served() -> (u16, Arc<Notify>, std::thread::JoinHandle<()>) {
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = listener.local_addr().unwrap().port();
        let end = Arc::new(Notify::new());
        let told = Arc::clone(&end);
        let slow = || {
            std::thread::sleep(Duration::from_millis(400));
            axum::response::IntoResponse::into_response("served")
        };
        let app = Router::new()
            .route("/", get(move || endgas::live::answer(slow)))
            .route("/panic", get(|| endgas::live::answer(|| panic!("as the test wants it"))));
        (port, end, std::thread::spawn(move || serve(listener, app, &told).unwrap()))
    }

    #[test]
    fn a_panic_is_an_answer_and_the_next_request_is_served() {
        let (port, _, _) = served();
        assert!(ask(port, "/panic").starts_with("HTTP/1.1 500 "));
        assert!(ask(port, "/").ends_with("served"));
    }

    #[test]
    fn an_answer_under_way_is_given_before_the_end() {
        let (port, end, serving) = served();
        let idle = std::net::TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        let asking = std::thread::spawn(move || ask(port, "/"));
        std::thread::sleep(Duration::from_millis(150));
        let told = std::time::Instant::now();
        end.notify_one();
        assert!(asking.join().unwrap().ends_with("served"));
        serving.join().unwrap();
        // One that never asked is not waited for.
        assert!(told.elapsed() < GRACE, "{:?}", told.elapsed());
        drop(idle);
    }
}
