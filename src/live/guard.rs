//! What a request must be before anything is answered, and the headers of every answer.

use super::pull::MOST_LOG;
use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};
use std::time::Duration;
use tokio::time::timeout;

/// Longest query: all keys with long values fit several times.
pub const MOST_QUERY: usize = 1024;

/// Largest body [bytes]: a log and the build that was run.
const MOST_BODY: usize = MOST_LOG + 512 * 1024;
/// Time within which the whole body must have come.
const BODY_TIME: Duration = Duration::from_secs(20);

/// Headers of every answer: nothing is kept, guessed, framed or read by another site, and the page reaches nothing but this
/// server.
const STANDING: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
];

/// Puts the standing headers on an answer.
pub(super) async fn with_standing_headers(mut answer: Response) -> Response {
    for (name, value) in STANDING {
        answer.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    answer
}

/// Lets a request through with the whole of its body, or refuses it; `port` is the one that is listened on.
pub(super) async fn guard(State(port): State<u16>, request: Request, next: Next) -> Response {
    if let Err((status, why)) = checked(&request, port) {
        return refused(status, why);
    }
    let (head, body) = request.into_parts();
    match timeout(BODY_TIME, to_bytes(body, MOST_BODY)).await {
        Ok(Ok(body)) => next.run(Request::from_parts(head, Body::from(body))).await,
        Ok(Err(_)) => refused(StatusCode::PAYLOAD_TOO_LARGE, "this is larger than any build or log"),
        Err(_) => refused(StatusCode::REQUEST_TIMEOUT, "the request did not come in time"),
    }
}

/// A refusal in one sentence.
pub(super) fn refused(status: StatusCode, why: impl std::fmt::Display) -> Response {
    (status, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], format!("{why}\n")).into_response()
}

/// Checks all that does not depend on what is asked.
fn checked(request: &Request<Body>, port: u16) -> Result<(), (StatusCode, &'static str)> {
    let headers = request.headers();
    let hosts: Vec<&HeaderValue> = headers.get_all(header::HOST).iter().collect();
    if hosts.len() != 1 || !is_this_host(hosts[0], port) {
        let why = "this server answers to its own address on loopback alone";
        return Err((StatusCode::MISDIRECTED_REQUEST, why));
    }
    let asks_only = matches!(*request.method(), Method::GET | Method::HEAD);
    if asks_only && has_body(headers) {
        return Err((StatusCode::PAYLOAD_TOO_LARGE, "a question with a body is refused"));
    }
    if request.uri().query().is_some_and(|query| query.len() > MOST_QUERY) {
        return Err((StatusCode::URI_TOO_LONG, "the query is too long"));
    }
    // The page itself may be opened from a link; all else is asked by the page.
    let is_page = asks_only && request.uri().path() == "/";
    if comes_from_elsewhere(headers, port) || !is_page && is_cross_site(headers) {
        return Err((StatusCode::FORBIDDEN, "another site has no business here"));
    }
    Ok(())
}

fn has_body(headers: &HeaderMap) -> bool {
    headers.get_all(header::CONTENT_LENGTH).iter().any(|length| length != "0")
        || headers.contains_key(header::TRANSFER_ENCODING)
}

/// Whether a host header names this server: a page of another name that resolves here is refused.
fn is_this_host(host: &HeaderValue, port: u16) -> bool {
    let Ok(host) = host.to_str() else { return false };
    let host = host.trim().to_ascii_lowercase();
    ["127.0.0.1", "localhost", "[::1]"]
        .iter()
        .any(|name| host == format!("{name}:{port}") || (port == 80 && host == *name))
}

/// Whether the browser names another page than this one as where the request comes from.
fn comes_from_elsewhere(headers: &HeaderMap, port: u16) -> bool {
    let is_own = |origin: &HeaderValue| {
        let host = origin.to_str().ok().and_then(|origin| origin.strip_prefix("http://"));
        host.and_then(|host| HeaderValue::from_str(host).ok()).is_some_and(|host| is_this_host(&host, port))
    };
    !headers.get_all(header::ORIGIN).iter().all(is_own)
}

/// Whether another site sends it, by the browser's own word.
fn is_cross_site(headers: &HeaderMap) -> bool {
    headers.get_all("sec-fetch-site").iter().any(|site| site == "cross-site" || site == "same-site")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(method: &str, target: &str, headers: &[(&str, &str)]) -> u16 {
        let request = Request::builder().method(method).uri(target);
        let request = headers.iter().fold(request, |request, (name, value)| request.header(*name, *value));
        checked(&request.body(Body::empty()).unwrap(), 4000)
            .map_or_else(|(status, _)| status.as_u16(), |()| 200)
    }

    #[test]
    fn only_its_own_names_are_answered() {
        for host in ["127.0.0.1:4000", "localhost:4000", "LOCALHOST:4000", "[::1]:4000"] {
            assert_eq!(status("GET", "/", &[("host", host)]), 200, "{host}");
        }
        let others = [
            "127.0.0.1",
            "127.0.0.1:4001",
            "example.org:4000",
            "localhost.example.org:4000",
            "",
            "127.0.0.1:4000:4000",
        ];
        for host in others {
            assert_eq!(status("GET", "/", &[("host", host)]), 421, "{host}");
        }
        assert_eq!(status("GET", "/", &[]), 421);
        assert_eq!(status("GET", "/", &[("host", "127.0.0.1:4000"), ("host", "127.0.0.1:4000")]), 421);
    }

    #[test]
    fn bodies_and_queries_are_bounded() {
        let own = ("host", "localhost:4000");
        assert_eq!(status("GET", "/", &[own, ("content-length", "0")]), 200);
        assert_eq!(status("GET", "/", &[own, ("content-length", "1")]), 413);
        assert_eq!(status("GET", "/", &[own, ("transfer-encoding", "chunked")]), 413);
        assert_eq!(status("POST", "/likely", &[own, ("content-length", "1")]), 200);
        let query = |length| format!("/likely?{}", "a".repeat(length));
        assert_eq!(status("GET", &query(MOST_QUERY), &[own]), 200);
        assert_eq!(status("GET", &query(MOST_QUERY + 1), &[own]), 414);
    }

    #[test]
    fn another_site_is_refused() {
        let own = ("host", "localhost:4000");
        for origin in ["http://localhost:4000", "http://127.0.0.1:4000"] {
            assert_eq!(status("POST", "/likely", &[own, ("origin", origin)]), 200, "{origin}");
        }
        let others = [
            "http://example.org",
            "null",
            "https://localhost:4000",
            "http://localhost:4001",
            "http://localhost",
        ];
        for origin in others {
            assert_eq!(status("POST", "/likely", &[own, ("origin", origin)]), 403, "{origin}");
            assert_eq!(status("GET", "/", &[own, ("origin", origin)]), 403, "{origin}");
        }
        for site in ["cross-site", "same-site"] {
            assert_eq!(status("GET", "/start.json", &[own, ("sec-fetch-site", site)]), 403, "{site}");
            assert_eq!(status("GET", "/", &[own, ("sec-fetch-site", site)]), 200, "a link to the page");
        }
    }
}
