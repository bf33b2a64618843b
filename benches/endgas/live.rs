//! What one change on the page of `endgas live` takes in the library.

use axum::body::Body;
use axum::http::Request;
use divan::Bencher;
use endgas::fuel::FuelLibrary;
use endgas::live::{Base, Setting, Start, routes};
use endgas::scenario;
use tower::ServiceExt as _;

/// Port of the page.
const PORT: u16 = 4000;

fn moved() -> (Base, Setting) {
    let read = scenario::read("demo", scenario::DEMO).unwrap();
    let base = Base::new(read, scenario::DEMO, FuelLibrary::shipped().unwrap()).unwrap();
    (base, Setting::read("compression_ratio=13&ethanol_percent=40").unwrap())
}

/// While a control moves: the likely case at eleven speeds.
#[divan::bench]
fn likely(bencher: Bencher<'_, '_>) {
    let (base, setting) = moved();
    bencher.bench_local(|| base.likely(&setting).unwrap());
}

/// At rest: the estimate of one fuel with its bands.
#[divan::bench(sample_count = 30)]
fn sampled(bencher: Bencher<'_, '_>) {
    let (base, setting) = moved();
    bencher.bench_local(|| base.sampled(&setting).unwrap());
}

/// The saved scenario file, read again and compared.
#[divan::bench(sample_count = 30)]
fn scenario_text(bencher: Bencher<'_, '_>) {
    let (base, setting) = moved();
    bencher.bench_local(|| base.scenario_text(&setting).unwrap());
}

/// What the page is answered, words and plots in it.
fn page(bencher: Bencher<'_, '_>, route: &str) {
    let page = routes(FuelLibrary::shipped().unwrap(), Start::default(), PORT);
    let asked =
        serde_json::json!({ "text": scenario::DEMO, "moved": "compression_ratio=13&ethanol_percent=40" });
    let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
    bencher.bench_local(|| {
        let asked = Request::post(route)
            .header("host", format!("127.0.0.1:{PORT}"))
            .body(Body::from(asked.to_string()));
        let answer = runtime.block_on(page.clone().oneshot(asked.unwrap())).unwrap();
        assert_eq!(answer.status(), 200);
        answer
    });
}

/// A change while a control moves, as the page is answered it.
#[divan::bench(sample_count = 50)]
fn page_likely(bencher: Bencher<'_, '_>) {
    page(bencher, "/likely");
}

/// The same at rest.
#[divan::bench(sample_count = 30)]
fn page_sampled(bencher: Bencher<'_, '_>) {
    page(bencher, "/estimate");
}
