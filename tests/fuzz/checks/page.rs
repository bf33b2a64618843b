//! Requests to the page, and settings.

use super::{answers, one_in, one_speed, said};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use endgas::fuel::FuelLibrary;
use endgas::live::{Base, Setting, Start, routes};
use endgas::scenario::{DEMO, read};
use std::sync::LazyLock;
use tower::ServiceExt as _;

/// Port of the page.
const PORT: u16 = 4000;
/// What is said of a panic.
const MISTAKE: &str = "the program has a mistake here";
/// Largest answer.
const MOST_BYTES: usize = 16 << 20;
/// The built-in example at one speed, as the page holds it.
static BASE: LazyLock<Base> = LazyLock::new(|| one_speed(&read("demo", DEMO).unwrap(), DEMO).unwrap());
static ROUTES: LazyLock<Router> =
    LazyLock::new(|| routes(FuelLibrary::shipped().unwrap(), Start::default(), PORT));

/// A request as bytes: a line of method and target, lines of headers, and the body after an empty line.
pub fn request(bytes: &[u8]) {
    if let Some(request) = read_request(bytes) {
        answered(request);
    }
}

/// The answer to a body sent to an address of the page.
pub(super) fn posted(address: &str, body: Vec<u8>) -> String {
    let request = Request::post(address).header("host", format!("127.0.0.1:{PORT}"));
    answered(request.header("content-type", "application/json").body(Body::from(body)).unwrap())
}

/// What a request is answered, which says something.
fn answered(request: Request<Body>) -> String {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
    runtime.block_on(async {
        let (head, body) = ROUTES.clone().oneshot(request).await.unwrap().into_parts();
        assert_ne!(head.status, StatusCode::INTERNAL_SERVER_ERROR);
        assert!(head.headers.contains_key("content-security-policy"));
        let body = to_bytes(body, MOST_BYTES).await.unwrap();
        let body = String::from_utf8(body.to_vec()).unwrap();
        if head.status != StatusCode::METHOD_NOT_ALLOWED {
            let kind = head.headers.get("content-type").map_or("", |kind| kind.to_str().unwrap());
            is_answer(head.status, kind, &body);
        }
        body
    })
}

/// The request, where the words of its head can stand in one.
fn read_request(bytes: &[u8]) -> Option<Request<Body>> {
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n")?;
    let mut lines = std::str::from_utf8(&bytes[..end]).ok()?.split("\r\n");
    let mut first = lines.next()?.split(' ');
    let mut request = Request::builder().method(first.next()?).uri(first.next()?);
    for line in lines {
        let (name, value) = line.split_once(':')?;
        request = request.header(name, value.trim());
    }
    // Without a body of its own kind a question about the head alone has none either.
    let is_head = bytes.starts_with(b"HEAD ");
    (!is_head).then(|| request.body(Body::from(bytes[end + 4..].to_vec())).ok())?
}

/// An answer says something.
fn is_answer(status: StatusCode, kind: &str, body: &str) {
    assert!(!body.trim().is_empty());
    if kind == "application/json" {
        let value: serde_json::Value = serde_json::from_str(body).unwrap();
        if status != StatusCode::OK {
            said(value["message"].as_str().unwrap());
        }
    } else if kind == "application/x-ndjson" {
        for line in body.lines() {
            let value: serde_json::Value = serde_json::from_str(line).unwrap();
            if let Some(refused) = value.get("refused") {
                let message = refused["message"].as_str().unwrap();
                said(message);
                assert_ne!(message, MISTAKE);
            }
        }
    } else if status != StatusCode::OK {
        said(body);
    }
}

/// The query of a setting.
pub fn setting(bytes: &[u8]) {
    let Ok(query) = std::str::from_utf8(bytes) else { return };
    let setting = match Setting::read(query) {
        Ok(setting) => setting,
        Err(refusal) => return said(&refusal.to_string()),
    };
    answers(BASE.likely(&setting).map_err(|refusal| refusal.to_string()));
    if one_in(32, bytes) {
        answers(BASE.sampled(&setting).map_err(|refusal| refusal.to_string()));
    }
    match BASE.scenario_text(&setting) {
        Ok(text) => {
            read("saved", &text).unwrap();
        }
        Err(refusal) => said(&refusal.to_string()),
    }
}
