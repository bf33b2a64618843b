//! Requests to the page, and settings.

use super::{answers, one_in, one_speed, said};
use endgas::live::http::{Answer, MOST_QUERY, Request, Status};
use endgas::live::{Base, Routes, Setting, page_data};
use endgas::report::Units;
use endgas::scenario::{DEMO, read};
use std::sync::LazyLock;

/// Port of the page.
const PORT: u16 = 4000;
/// The built-in example at one speed, as the page holds it.
static BASE: LazyLock<Base> = LazyLock::new(|| one_speed(&read("demo", DEMO).unwrap(), DEMO).unwrap());
static ROUTES: LazyLock<Routes> =
    LazyLock::new(|| Routes::new(BASE.clone(), &page_data(&BASE, Units::Metric).unwrap()));

/// Bytes sent to the page.
pub fn request(bytes: &[u8]) {
    match Request::parse(bytes, PORT) {
        Err(refusal) => {
            assert_ne!(refusal.status, Status::Ok);
            is_answer(&refusal);
        }
        Ok(None) => {}
        Ok(Some(request)) => {
            assert!(request.query.len() <= MOST_QUERY);
            let answer = ROUTES.answer(&request);
            assert_ne!(answer.status, Status::InternalServerError);
            is_answer(&answer);
        }
    }
}

/// An answer is one head and one body, and says something.
fn is_answer(answer: &Answer) {
    let bytes = answer.bytes(false);
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
    let head = std::str::from_utf8(&bytes[..end]).unwrap();
    assert_eq!(&bytes[end + 4..], answer.body.as_slice());
    assert_eq!(answer.bytes(true).len(), end + 4);
    let mut lines = head.split("\r\n");
    assert!(lines.next().unwrap().starts_with("HTTP/1.1 "));
    for line in lines {
        assert!(line.contains(": ") && line.chars().all(|c| (' '..='~').contains(&c)), "{line:?}");
    }
    let body = std::str::from_utf8(&answer.body).unwrap();
    assert!(!body.trim().is_empty());
    if answer.kind == "application/json" {
        let value: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
        if answer.status != Status::Ok {
            said(value["message"].as_str().unwrap());
        }
    } else if answer.status != Status::Ok {
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
