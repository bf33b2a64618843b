//! The addresses that are answered. None reaches the file system; a build comes with every question and none is kept.

use super::Refusal;
use super::edit::{Change, EMPTY, FieldProblem, changed, checked};
use super::field::field_of;
use super::form::form;
use super::guard::{guard, refused, with_standing_headers};
use super::page::{HTML, ICON, REPORT_POLICY, SCRIPTS, STYLE, Start};
use super::pull::AskedPull;
use super::setting::Setting;
use super::shop::{Asked, Shop};
use super::shown;
use super::sliders::sliders;
use super::stream::streamed;
use super::talk::Tank;
use crate::fuel::FuelLibrary;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::routing::{MethodRouter, get, post};
use axum::{Json, Router, middleware};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Instant;

/// What is said of a panic.
pub(super) const MISTAKE: &str = "the program has a mistake here";
/// What every question is asked of.
type Shared = State<Arc<Shop>>;

/// The page and what it asks for.
///
/// # Arguments
/// - `library`: fuels that may be named
/// - `start`: what the page begins with
/// - `port`: the port that is listened on; a request for another one is refused
pub fn routes(library: FuelLibrary, start: Start, port: u16) -> Router {
    let fixed = |kind: &'static str, body: &'static str| {
        get(move || async move { ([(header::CONTENT_TYPE, kind)], body) })
    };
    let mut router = Router::new();
    for (name, script) in SCRIPTS {
        router = router.route(name, fixed("text/javascript; charset=utf-8", script));
    }
    router
        .route("/", fixed("text/html; charset=utf-8", HTML))
        .route("/style.css", fixed("text/css; charset=utf-8", STYLE))
        .route("/icon.svg", fixed("image/svg+xml", ICON))
        .route("/start.json", get(move || async move { Json(start).into_response() }))
        .route("/form", asked(edited))
        .route(
            "/sliders",
            asked(|shop, ask: Asked| Ok(json!({ "html": sliders(&*shop.base(&ask.text)?, ask.units()) }))),
        )
        .route("/likely", asked(|shop, ask: Asked| moved(shop, &ask, false)))
        .route("/estimate", asked(|shop, ask: Asked| moved(shop, &ask, true)))
        .route("/scenario", asked(|shop, ask: Asked| Ok(json!({ "text": shop.text(&ask)? }))))
        .route("/makes", asked(|shop, ask: Asked| html(shop.makes(&ask))))
        .route("/target", asked(|shop, ask: AskedTarget| html(shop.target(&ask.build, &ask.target))))
        .route("/injectors", asked(|shop, ask: Asked| html(shop.injectors(&ask))))
        .route("/timing", asked(|shop, ask: AskedTiming| html(shop.timing(&ask.build, &ask.contents))))
        .route("/tank", asked(|shop, tank: Tank| html(shop.tank(&tank))))
        .route(
            "/beside",
            asked(|shop, ask: AskedBeside| {
                html(shop.beside(&ask.first, &ask.second, [&ask.names[0], &ask.names[1]]))
            }),
        )
        .route("/does", asked(does))
        .route("/piston", post(piston))
        .route("/customer", post(customer))
        .route("/pull", post(pull))
        .route("/report/{number}", get(kept_page))
        .fallback(async || refused(StatusCode::NOT_FOUND, "there is nothing here"))
        .method_not_allowed_fallback(async || refused(StatusCode::METHOD_NOT_ALLOWED, "not asked this way"))
        // The guard has taken in the body within its own bounds.
        .layer(DefaultBodyLimit::disable())
        .with_state(Arc::new(Shop::new(library)))
        .layer(middleware::from_fn_with_state(port, guard))
        .layer(middleware::map_response(with_standing_headers))
}

/// A question as JSON, answered as JSON with the time it took.
fn asked<A, F>(make: F) -> MethodRouter<Arc<Shop>>
where
    A: DeserializeOwned + Send + 'static,
    F: Fn(&Shop, A) -> Result<Value, Refusal> + Clone + Send + Sync + 'static,
{
    post(async move |State(shop): Shared, body: Bytes| {
        answer(move || {
            let start = Instant::now();
            match read(&body).and_then(|ask| make(&shop, ask)) {
                Ok(value) => {
                    let took = format!("compute;dur={:.1}", 1000.0 * start.elapsed().as_secs_f64());
                    ([("server-timing", took)], Json(value)).into_response()
                }
                Err(refusal) => told(&refusal),
            }
        })
        .await
    })
}

fn read<A: DeserializeOwned>(body: &[u8]) -> Result<A, Refusal> {
    serde_json::from_slice(body).map_err(Refusal::whole)
}

fn html(made: Result<String, Refusal>) -> Result<Value, Refusal> {
    Ok(json!({ "html": made? }))
}

/// An answer made on a thread of its own, so that none waits for another; a panic becomes a status 500 and ends nothing else.
pub async fn answer(make: impl FnOnce() -> Response + Send + 'static) -> Response {
    let made = tokio::task::spawn_blocking(make).await;
    made.unwrap_or_else(|_| refused(StatusCode::INTERNAL_SERVER_ERROR, MISTAKE))
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

/// Fields that were typed into.
#[derive(Deserialize)]
struct AskedForm {
    text: String,
    #[serde(default)]
    changes: Vec<Change>,
    /// Whether the form is wanted, and not only what is wrong with it.
    #[serde(default)]
    whole: bool,
}

fn edited(shop: &Shop, ask: AskedForm) -> Result<Value, Refusal> {
    let text = if ask.text.trim().is_empty() { EMPTY } else { &ask.text };
    let text = changed(text, &ask.changes)?;
    let (name, problems) = match checked(&text, &shop.library) {
        Ok(scenario) => {
            let problem = |refusal: Refusal| FieldProblem {
                path: String::new(),
                message: refusal.to_string(),
                missing: false,
            };
            (scenario.name, shop.base(&text).err().map(problem).into_iter().collect())
        }
        Err(problems) => (String::new(), problems),
    };
    let document = text.parse().map_err(Refusal::whole)?;
    let form = ask.whole.then(|| form(&document, &shop.library));
    Ok(json!({ "text": text, "name": name, "ok": problems.is_empty(), "problems": problems, "form": form }))
}

/// What a setting makes, quick or with ranges.
fn moved(shop: &Shop, ask: &Asked, sampled: bool) -> Result<Value, Refusal> {
    let base = shop.base(&ask.text)?;
    let setting = Setting::read(&ask.moved)?;
    let was = if sampled { base.stated()? } else { base.stated_likely()? };
    let other = match (setting == Setting::default(), sampled) {
        (true, _) => None,
        (false, true) => Some(base.sampled(&setting)?),
        (false, false) => Some(base.likely(&setting)?),
    };
    let now = other.as_ref().unwrap_or(was);
    let units = ask.units();
    let table = now.sampled.then(|| shown::table(now, units).into_string());
    Ok(json!({
        "numbers": shown::numbers(now, was, units),
        "plots": shown::plots(now, was, units).map_err(Refusal::whole)?,
        "notices": now.sampled.then(|| shown::notices(now, units)),
        "table": table,
        "spoken": now.sampled.then(|| shown::spoken(now, units)),
        "sliders": base.slider_states(&setting, &now.values),
        "stated": was.values,
        "curves": now,
    }))
}

#[derive(Deserialize)]
struct AskedTarget {
    #[serde(flatten)]
    build: Asked,
    target: String,
}

#[derive(Deserialize)]
struct AskedTiming {
    #[serde(flatten)]
    build: Asked,
    #[serde(default)]
    contents: String,
}

#[derive(Deserialize)]
struct AskedBeside {
    first: Asked,
    second: Asked,
    names: [String; 2],
}

#[derive(Deserialize)]
struct AskedField {
    #[serde(flatten)]
    build: Asked,
    path: String,
}

/// What a field does to the answer.
fn does(shop: &Shop, ask: AskedField) -> Result<Value, Refusal> {
    let field = field_of(&ask.path).ok_or_else(|| Refusal::new(&ask.path, "", "there is no such field"))?;
    let document = ask.build.text.parse().map_err(Refusal::whole)?;
    let (typed, unit) = super::edit::typed_of(&document, field);
    let stated: Option<f64> = typed.parse().ok();
    let change = |factor: f64| {
        let typed = format!("{:.6}", factor * stated?);
        let unit = unit.symbol().to_owned();
        changed(&ask.build.text, &[Change { path: ask.path.clone(), typed, unit }]).ok()
    };
    Ok(json!({ "words": shop.does(&ask.build, change)? }))
}

async fn piston(State(shop): Shared, body: Bytes) -> Response {
    streamed(move |teller| {
        let ask: Asked = read(&body)?;
        let made = shop.piston(&ask, &|html| teller.first(&html), &|share| teller.at(share))?;
        Ok(json!({ "html": made }))
    })
}

async fn customer(State(shop): Shared, body: Bytes) -> Response {
    streamed(move |teller| {
        let ask: AskedTarget = read(&body)?;
        let number = shop.customer(&ask.build, &ask.target, &|share| teller.at(share))?;
        Ok(json!({ "address": format!("report/{number}") }))
    })
}

/// A line of JSON, then the log as it is.
async fn pull(State(shop): Shared, body: Bytes) -> Response {
    streamed(move |_| {
        let end = body.iter().position(|byte| *byte == b'\n').unwrap_or(body.len());
        let ask: AskedPull = read(&body[..end])?;
        let log = body.get(end + 1..).unwrap_or_default();
        let judged = shop.pull(&ask, log)?;
        serde_json::to_value(judged).map_err(Refusal::whole)
    })
}

/// A page for a customer: shown, or with the query `save` given as a file.
async fn kept_page(State(shop): Shared, Path(number): Path<u64>, RawQuery(query): RawQuery) -> Response {
    let Some(page) = shop.page(number) else {
        return refused(StatusCode::NOT_FOUND, "this page is not kept any more; make it again");
    };
    let as_file = "attachment; filename=\"endgas-report.html\"";
    let how = if query.as_deref() == Some("save") { as_file } else { "inline" };
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8"),
        (header::CONTENT_SECURITY_POLICY, REPORT_POLICY),
        (header::CONTENT_DISPOSITION, how),
    ];
    (headers, page).into_response()
}
