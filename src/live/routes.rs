//! The few addresses that are answered. None reaches the file system.

use super::guard::{guard, refused, with_standing_headers};
use super::page::{HTML, ICON, PLOT_SCRIPT, SCRIPT, STYLE};
use super::{Base, PageData, Refusal, Setting};
use axum::extract::{RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::routing::get;
use axum::{Json, Router, middleware};
use serde::Serialize;
use std::sync::Arc;
use std::time::Instant;

const SCRIPT_KIND: &str = "text/javascript; charset=utf-8";

/// What the page's addresses answer with.
#[derive(Debug)]
struct Shared {
    base: Base,
    /// What the page asks for first, made once.
    page_data: PageData,
}

/// The page and what it asks for, of a scenario.
///
/// # Arguments
/// - `data`: what the page asks for first
/// - `port`: the port that is listened on; a request for another one is refused
pub fn routes(base: Base, data: PageData, port: u16) -> Router {
    let fixed = |kind: &'static str, body: &'static str| {
        get(move || async move { ([(header::CONTENT_TYPE, kind)], body) })
    };
    Router::new()
        .route("/", fixed("text/html; charset=utf-8", HTML))
        .route("/style.css", fixed("text/css; charset=utf-8", STYLE))
        .route("/page.js", fixed(SCRIPT_KIND, SCRIPT))
        .route("/plot.js", fixed(SCRIPT_KIND, PLOT_SCRIPT))
        .route("/icon.svg", fixed("image/svg+xml", ICON))
        .route(
            "/page.json",
            get(async |State(shared): State<Arc<Shared>>| Json(&shared.page_data).into_response()),
        )
        .route("/likely.json", get(likely))
        .route("/estimate.json", get(sampled))
        .route("/scenario.toml", get(saved))
        .fallback(async || refused(StatusCode::NOT_FOUND, "there is nothing here"))
        .with_state(Arc::new(Shared { base, page_data: data }))
        .layer(middleware::from_fn_with_state(port, guard))
        .layer(middleware::map_response(with_standing_headers))
}

async fn likely(State(shared): State<Arc<Shared>>, RawQuery(query): RawQuery) -> Response {
    computed(move || shared.base.likely(&asked(query)?)).await
}

async fn sampled(State(shared): State<Arc<Shared>>, RawQuery(query): RawQuery) -> Response {
    computed(move || shared.base.sampled(&asked(query)?)).await
}

async fn saved(State(shared): State<Arc<Shared>>, RawQuery(query): RawQuery) -> Response {
    answer(move || match asked(query).and_then(|setting| shared.base.scenario_text(&setting)) {
        Ok(text) => {
            let name = "attachment; filename=\"endgas-live.toml\"";
            ([(header::CONTENT_TYPE, "application/toml"), (header::CONTENT_DISPOSITION, name)], text)
                .into_response()
        }
        Err(refusal) => told(&refusal),
    })
    .await
}

fn asked(query: Option<String>) -> Result<Setting, Refusal> {
    Setting::read(&query.unwrap_or_default())
}

/// What a computation gives, with the time it took.
async fn computed<T: Serialize>(compute: impl FnOnce() -> Result<T, Refusal> + Send + 'static) -> Response {
    answer(move || {
        let start = Instant::now();
        match compute() {
            Ok(result) => {
                let took = format!("compute;dur={:.1}", 1000.0 * start.elapsed().as_secs_f64());
                ([("server-timing", took)], Json(result)).into_response()
            }
            Err(refusal) => told(&refusal),
        }
    })
    .await
}

/// An answer made on a thread of its own, so that none waits for another; a panic becomes a status 500 and ends nothing else.
pub async fn answer(make: impl FnOnce() -> Response + Send + 'static) -> Response {
    let made = tokio::task::spawn_blocking(make).await;
    made.unwrap_or_else(|_| refused(StatusCode::INTERNAL_SERVER_ERROR, "the program has a mistake here"))
}

#[derive(Serialize)]
struct Refused<'a> {
    error: &'a Refusal,
    /// The same in one sentence.
    message: String,
}

fn told(error: &Refusal) -> Response {
    (StatusCode::BAD_REQUEST, Json(Refused { error, message: error.to_string() })).into_response()
}
