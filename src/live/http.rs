//! Requests and answers of the page as text, without sockets: what is taken of a request, within bounds of size, and
//! what an answer looks like.

/// Largest head of a request. Cookies of other pages on this machine come along, for cookies know no port.
pub const MOST_HEAD: usize = 16 * 1024;
/// Most header lines.
const MOST_HEADERS: usize = 64;
/// Longest query: all keys with long values fit several times.
pub const MOST_QUERY: usize = 1024;

/// A request that may be answered: GET or HEAD, from a page of this server, without a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// From its first stroke to the question mark, as sent.
    pub path: String,
    /// Without its question mark; empty when there is none.
    pub query: String,
    /// Whether the answer goes without its body.
    pub head_only: bool,
    /// Whether another site sends it, by the browser's own word.
    pub cross_site: bool,
}

/// Status, further headers and body of an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Whether, and why not, the request is served.
    pub status: Status,
    /// Media type of the body.
    pub kind: &'static str,
    /// Header lines beyond the standing ones.
    pub headers: Vec<(&'static str, String)>,
    /// What is shown, or why nothing is.
    pub body: Vec<u8>,
}

/// Status codes used (RFC 9110, section 15; 421 there too; 431 of RFC 6585).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Served.
    Ok,
    /// No HTTP, or a setting that is not allowed.
    BadRequest,
    /// Sent by another site.
    Forbidden,
    /// No such address.
    NotFound,
    /// Neither GET nor HEAD.
    MethodNotAllowed,
    /// The head did not come in time.
    RequestTimeout,
    /// A body came along.
    ContentTooLarge,
    /// The query is longer than [`MOST_QUERY`].
    UriTooLong,
    /// Meant for another host.
    MisdirectedRequest,
    /// Too many headers, or too long.
    HeaderFieldsTooLarge,
    /// A mistake of the program.
    InternalServerError,
    /// Too many connections.
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
    /// A result.
    pub fn ok(kind: &'static str, body: impl Into<Vec<u8>>) -> Self {
        Self { status: Status::Ok, kind, headers: Vec::new(), body: body.into() }
    }

    /// A refusal in one sentence.
    pub fn refused(status: Status, why: &str) -> Self {
        let headers = match status {
            Status::MethodNotAllowed => vec![("Allow", "GET, HEAD".to_owned())],
            _ => Vec::new(),
        };
        Self { status, kind: "text/plain; charset=utf-8", headers, body: format!("{why}\n").into() }
    }

    /// Everything that is sent: the head, and the body unless only the head was asked for.
    pub fn bytes(&self, head_only: bool) -> Vec<u8> {
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
        bytes
    }
}

impl Request {
    /// The request of a head, with all checked that does not depend on its path; none while more of it must come.
    ///
    /// # Arguments
    /// - `head`: the bytes so far; the reader stops at [`MOST_HEAD`]
    /// - `port`: the port that is listened on
    ///
    /// # Errors
    /// The answer that refuses it.
    pub fn parse(head: &[u8], port: u16) -> Result<Option<Self>, Answer> {
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
        Ok(Some(Self { path: path.to_owned(), query: query.to_owned(), head_only, cross_site }))
    }
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
        match Request::parse(head.as_bytes(), 4000) {
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
