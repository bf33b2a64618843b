//! A request as far as a page on loopback needs it, and its answer. Everything read is bounded in size and time.

use std::io::{ErrorKind, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

/// Largest head of a request. Cookies of other pages on this machine come along, for cookies know no port.
pub(super) const MOST_HEAD: usize = 16 * 1024;
/// Most header lines.
const MOST_HEADERS: usize = 64;
/// Longest query: all keys with long values fit several times.
pub(super) const MOST_QUERY: usize = 1024;
/// Time within which the whole head must have come.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Time within which an answer must be taken.
const ANSWER_TIME: Duration = Duration::from_secs(5);
/// How long, and how much of, what a client still sends is taken in after an answer, so that it is not reset
/// before it has read the answer.
const LINGER_TIME: Duration = Duration::from_millis(300);
const LINGER_BYTES: usize = 256 * 1024;

/// A request that may be answered: GET or HEAD, from a page of this server, without a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Request {
    pub(super) path: String,
    /// Without its question mark; empty when there is none.
    pub(super) query: String,
    /// Whether the answer goes without its body.
    pub(super) head_only: bool,
    /// Whether another site sends it, by the browser's own word.
    pub(super) cross_site: bool,
}

/// Status, further headers and body of an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Answer {
    pub(super) status: Status,
    pub(super) kind: &'static str,
    /// Header lines beyond the standing ones.
    pub(super) headers: Vec<(&'static str, String)>,
    pub(super) body: Vec<u8>,
}

/// Status codes used (RFC 9110, section 15; 421 there too; 431 of RFC 6585).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Status {
    Ok,
    BadRequest,
    Forbidden,
    NotFound,
    MethodNotAllowed,
    RequestTimeout,
    ContentTooLarge,
    UriTooLong,
    MisdirectedRequest,
    HeaderFieldsTooLarge,
    InternalServerError,
    ServiceUnavailable,
}

impl Status {
    fn line(self) -> &'static str {
        match self {
            Self::Ok => "200 OK",
            Self::BadRequest => "400 Bad Request",
            Self::Forbidden => "403 Forbidden",
            Self::NotFound => "404 Not Found",
            Self::MethodNotAllowed => "405 Method Not Allowed",
            Self::RequestTimeout => "408 Request Timeout",
            Self::ContentTooLarge => "413 Content Too Large",
            Self::UriTooLong => "414 URI Too Long",
            Self::MisdirectedRequest => "421 Misdirected Request",
            Self::HeaderFieldsTooLarge => "431 Request Header Fields Too Large",
            Self::InternalServerError => "500 Internal Server Error",
            Self::ServiceUnavailable => "503 Service Unavailable",
        }
    }
}

/// Headers of every answer: nothing is kept, guessed, framed or read by another site, and the page reaches
/// nothing but this server.
const STANDING_HEADERS: &str = "\
Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n\
X-Content-Type-Options: nosniff\r\n\
Referrer-Policy: no-referrer\r\n\
Cross-Origin-Resource-Policy: same-origin\r\n\
Cross-Origin-Opener-Policy: same-origin\r\n\
Cache-Control: no-store\r\n\
Connection: close\r\n";

impl Answer {
    pub(super) fn ok(kind: &'static str, body: impl Into<Vec<u8>>) -> Self {
        Self { status: Status::Ok, kind, headers: Vec::new(), body: body.into() }
    }

    /// A refusal in one sentence.
    pub(super) fn refused(status: Status, why: &str) -> Self {
        let headers = match status {
            Status::MethodNotAllowed => vec![("Allow", "GET, HEAD".to_owned())],
            _ => Vec::new(),
        };
        Self { status, kind: "text/plain; charset=utf-8", headers, body: format!("{why}\n").into() }
    }

    /// Sends the answer and closes; a client that is gone is no error.
    pub(super) fn send(&self, mut stream: TcpStream, head_only: bool) {
        if self.write(&mut stream, head_only).is_ok() && stream.shutdown(Shutdown::Write).is_ok() {
            linger(&mut stream);
        }
    }

    /// Sends the answer without waiting for anything, and closes.
    pub(super) fn send_at_once(&self, mut stream: TcpStream) {
        let _ = stream.set_nonblocking(true).and_then(|()| self.write(&mut stream, false));
    }

    fn write(&self, stream: &mut TcpStream, head_only: bool) -> std::io::Result<()> {
        let mut head = format!(
            "HTTP/1.1 {}\r\nContent-Type: {}\r\nContent-Length: {}\r\n{STANDING_HEADERS}",
            self.status.line(),
            self.kind,
            self.body.len()
        );
        for (name, value) in &self.headers {
            head += &format!("{name}: {value}\r\n");
        }
        head += "\r\n";
        let mut bytes = head.into_bytes();
        if !head_only {
            bytes.extend_from_slice(&self.body);
        }
        stream.set_write_timeout(Some(ANSWER_TIME))?;
        stream.write_all(&bytes)
    }
}

/// Takes in what a client still sends, within bounds.
fn linger(stream: &mut TcpStream) {
    let end = Instant::now() + LINGER_TIME;
    let (mut taken, mut waste) = (0, [0; 4096]);
    while taken < LINGER_BYTES {
        match read_until(stream, &mut waste, end) {
            Ok(some) if some > 0 => taken += some,
            _ => break,
        }
    }
}

/// Reads once, waiting no longer than to a moment.
fn read_until(stream: &mut TcpStream, into: &mut [u8], end: Instant) -> std::io::Result<usize> {
    let left = end.saturating_duration_since(Instant::now());
    if left.is_zero() {
        return Err(ErrorKind::TimedOut.into());
    }
    stream.set_read_timeout(Some(left))?;
    stream.read(into)
}

/// Reads the head of a request and checks all that does not depend on its path.
///
/// # Errors
/// The answer that refuses it; none when the client is gone.
pub(super) fn read(stream: &mut TcpStream, port: u16) -> Result<Request, Option<Answer>> {
    let end = Instant::now() + HEAD_TIME;
    let refused = |status, why: &str| Some(Answer::refused(status, why));
    let mut head = Vec::with_capacity(1024);
    let mut part = [0; 2048];
    loop {
        match read_until(stream, &mut part, end) {
            Ok(0) => return Err(None),
            Ok(some) => head.extend_from_slice(&part[..some]),
            Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => {
                return Err(refused(Status::RequestTimeout, "the request did not come in time"));
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(_) => return Err(None),
        }
        if let Some(read) = parse(&head, port).map_err(Some)? {
            return Ok(read);
        }
        if head.len() > MOST_HEAD {
            return Err(refused(Status::HeaderFieldsTooLarge, "the request is too long"));
        }
    }
}

/// The request of a head; none while more of it must come.
fn parse(head: &[u8], port: u16) -> Result<Option<Request>, Answer> {
    let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
    let mut read = httparse::Request::new(&mut headers);
    match read.parse(head) {
        Ok(httparse::Status::Complete(_)) => {}
        Ok(httparse::Status::Partial) => return Ok(None),
        Err(httparse::Error::TooManyHeaders) => {
            return Err(Answer::refused(Status::HeaderFieldsTooLarge, "there are too many headers"));
        }
        Err(_) => return Err(Answer::refused(Status::BadRequest, "this is no HTTP request")),
    }
    let all = |name: &'static str| {
        read.headers.iter().filter(move |h| h.name.eq_ignore_ascii_case(name)).map(|h| h.value)
    };
    let (mut hosts, others) = (all("host"), all("host").skip(1).count());
    if others > 0 || !hosts.next().is_some_and(|host| is_this_host(host, port)) {
        let why = "this server answers to its own address on loopback alone";
        return Err(Answer::refused(Status::MisdirectedRequest, why));
    }
    let head_only = match read.method {
        Some("GET") => false,
        Some("HEAD") => true,
        _ => return Err(Answer::refused(Status::MethodNotAllowed, "only GET and HEAD are answered")),
    };
    let has_body =
        all("content-length").any(|length| length != b"0") || all("transfer-encoding").next().is_some();
    if has_body {
        return Err(Answer::refused(Status::ContentTooLarge, "a request with a body is refused"));
    }
    let target = read.path.unwrap_or_default();
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    if query.len() > MOST_QUERY {
        let why = format!("the query is longer than {MOST_QUERY} bytes");
        return Err(Answer::refused(Status::UriTooLong, &why));
    }
    let cross_site = all("sec-fetch-site").any(|site| site == b"cross-site" || site == b"same-site");
    Ok(Some(Request { path: path.to_owned(), query: query.to_owned(), head_only, cross_site }))
}

/// Whether a host header names this server: a page of another name that resolves here is refused.
fn is_this_host(host: &[u8], port: u16) -> bool {
    let Ok(host) = std::str::from_utf8(host) else { return false };
    let host = host.trim().to_ascii_lowercase();
    ["127.0.0.1", "localhost", "[::1]"]
        .iter()
        .any(|name| host == format!("{name}:{port}") || (port == 80 && host == *name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(head: &str) -> Status {
        match parse(head.as_bytes(), 4000) {
            Ok(Some(_)) => Status::Ok,
            Ok(None) => panic!("{head:?} is not complete"),
            Err(answer) => answer.status,
        }
    }

    #[test]
    fn only_its_own_names_are_answered() {
        for host in ["127.0.0.1:4000", "localhost:4000", "LOCALHOST:4000", "[::1]:4000"] {
            assert_eq!(status(&format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n")), Status::Ok, "{host}");
        }
        for host in [
            "127.0.0.1",
            "127.0.0.1:4001",
            "example.org:4000",
            "localhost.example.org:4000",
            "",
            "127.0.0.1:4000:4000",
        ] {
            let head = format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n");
            assert_eq!(status(&head), Status::MisdirectedRequest, "{host}");
        }
        assert_eq!(status("GET / HTTP/1.1\r\n\r\n"), Status::MisdirectedRequest);
        let twice = "GET / HTTP/1.1\r\nHost: 127.0.0.1:4000\r\nHost: 127.0.0.1:4000\r\n\r\n";
        assert_eq!(status(twice), Status::MisdirectedRequest);
    }

    #[test]
    fn methods_bodies_and_sizes_are_bounded() {
        let with =
            |start: &str, more: &str| format!("{start} HTTP/1.1\r\nHost: localhost:4000\r\n{more}\r\n");
        assert_eq!(status(&with("HEAD /", "")), Status::Ok);
        assert_eq!(status(&with("GET /", "Content-Length: 0\r\n")), Status::Ok);
        for method in ["POST", "PUT", "DELETE", "OPTIONS", "CONNECT", "get"] {
            assert_eq!(status(&with(&format!("{method} /"), "")), Status::MethodNotAllowed, "{method}");
        }
        for body in [
            "Content-Length: 1\r\n",
            "Transfer-Encoding: chunked\r\n",
            "Content-Length: 0\r\nContent-Length: 4\r\n",
        ] {
            assert_eq!(status(&with("GET /", body)), Status::ContentTooLarge, "{body}");
        }
        assert_eq!(status(&with(&format!("GET /likely?{}", "a".repeat(MOST_QUERY)), "")), Status::Ok);
        assert_eq!(
            status(&with(&format!("GET /likely?{}", "a".repeat(MOST_QUERY + 1)), "")),
            Status::UriTooLong
        );
        assert_eq!(status(&with("GET /", &"A: b\r\n".repeat(MOST_HEADERS))), Status::HeaderFieldsTooLarge);
        assert_eq!(status("nonsense\r\n\r\n"), Status::BadRequest);
    }
}
