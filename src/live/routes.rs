//! The few addresses that are answered. None reaches the file system.

use super::http::{Answer, Request, Status};
use super::page::{HTML, ICON, PLOT_SCRIPT, SCRIPT, STYLE};
use super::{Base, PageData, Refusal, Setting};
use serde::Serialize;
use std::time::Instant;

const JSON: &str = "application/json";
const SCRIPT_KIND: &str = "text/javascript; charset=utf-8";

/// What the page's addresses answer with.
#[derive(Clone, Debug)]
pub struct Routes {
    base: Base,
    /// What the page asks for first, made once.
    page_data: Answer,
}

impl Routes {
    /// Answers of a scenario, and of what the page asks for first.
    pub fn new(base: Base, data: &PageData) -> Self {
        Self { base, page_data: json(Status::Ok, data) }
    }

    /// Answers a request.
    pub fn answer(&self, request: &Request) -> Answer {
        if request.path == "/" {
            return Answer::ok("text/html; charset=utf-8", HTML);
        }
        if request.cross_site {
            return Answer::refused(Status::Forbidden, "another site has no business here");
        }
        match request.path.as_str() {
            "/style.css" => Answer::ok("text/css; charset=utf-8", STYLE),
            "/page.js" => Answer::ok(SCRIPT_KIND, SCRIPT),
            "/plot.js" => Answer::ok(SCRIPT_KIND, PLOT_SCRIPT),
            "/icon.svg" => Answer::ok("image/svg+xml", ICON),
            "/page.json" => self.page_data.clone(),
            "/likely.json" => computed(|| Base::likely(&self.base, &Setting::read(&request.query)?)),
            "/estimate.json" => computed(|| Base::sampled(&self.base, &Setting::read(&request.query)?)),
            "/scenario.toml" => self.saved(&request.query),
            _ => Answer::refused(Status::NotFound, "there is nothing here"),
        }
    }

    fn saved(&self, query: &str) -> Answer {
        match Setting::read(query).and_then(|setting| self.base.scenario_text(&setting)) {
            Ok(text) => {
                let mut answer = Answer::ok("application/toml", text);
                let name = "attachment; filename=\"endgas-live.toml\"".to_owned();
                answer.headers.push(("Content-Disposition", name));
                answer
            }
            Err(refusal) => refused(&refusal),
        }
    }
}

/// What a computation gives, with the time it took.
fn computed<T: Serialize>(compute: impl FnOnce() -> Result<T, Refusal>) -> Answer {
    let start = Instant::now();
    match compute() {
        Ok(result) => {
            let mut answer = json(Status::Ok, &result);
            let took = 1000.0 * start.elapsed().as_secs_f64();
            answer.headers.push(("Server-Timing", format!("compute;dur={took:.1}")));
            answer
        }
        Err(refusal) => refused(&refusal),
    }
}

#[derive(Serialize)]
struct Refused<'a> {
    error: &'a Refusal,
    /// The same in one sentence.
    message: String,
}

fn refused(error: &Refusal) -> Answer {
    json(Status::BadRequest, &Refused { error, message: error.to_string() })
}

fn json(status: Status, value: &impl Serialize) -> Answer {
    match serde_json::to_vec(value) {
        Ok(body) => Answer { status, kind: JSON, headers: Vec::new(), body },
        Err(error) => Answer::refused(Status::InternalServerError, &error.to_string()),
    }
}
