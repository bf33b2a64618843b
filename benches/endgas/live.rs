//! What one change on the page of `endgas live` takes in the library.

use divan::Bencher;
use endgas::fuel::FuelLibrary;
use endgas::live::{Base, Setting};
use endgas::scenario;

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
