//! Spark searches, the response grid and the whole estimate.

use crate::cycle::Bench;
use crate::demo;
use divan::Bencher;
use endgas::choose::{ChooseJob, choose};
use endgas::estimate::analysis::PreparedFuel;
use endgas::estimate::estimate;
use endgas::estimate::job::FuelChoice;
use endgas::estimate::point::Shifts;
use endgas::estimate::response::Response;
use endgas::estimate::slopes::Slopes;
use endgas::estimate::spark::{best_torque_spark, knock_limited_spark};
use endgas::estimate::tuned::Tuned;
use endgas::fuel::FuelLibrary;
use rayon::ThreadPoolBuilder;

#[divan::bench]
fn best_torque_search(bencher: Bencher<'_, '_>) {
    let (bench, job) = (Bench::new(), demo());
    let point = bench.point();
    bencher.bench(|| best_torque_spark(&point, job.spark_range));
}

/// On 91 RON, where knock does limit the spark.
#[divan::bench]
fn knock_limited_search(bencher: Bencher<'_, '_>) {
    let (bench, job) = (Bench::new(), demo());
    let point = bench.point();
    let best = best_torque_spark(&point, job.spark_range).unwrap();
    let found = knock_limited_spark(&point, best.spark_deg_btdc, 91.0, 0.0, job.spark_range).unwrap();
    assert!(found.is_some_and(|spark| spark < best.spark_deg_btdc), "knock does not limit this point");
    bencher.bench(|| knock_limited_spark(&point, best.spark_deg_btdc, 91.0, 0.0, job.spark_range));
}

#[divan::bench]
fn prepare_fuel(bencher: Bencher<'_, '_>) {
    let job = demo();
    bencher.bench(|| PreparedFuel::new(&job, &job.fuels[0].fuel, None));
}

#[divan::bench]
fn response_grid(bencher: Bencher<'_, '_>) {
    let (bench, job) = (Bench::new(), demo());
    let fuel = PreparedFuel::new(&job, &job.fuels[0].fuel, None).unwrap();
    let likely = Tuned::new(&job, bench.setting(), fuel.named(), 6000.0, Shifts::NONE).unwrap();
    bencher.bench(|| Response::new(&likely, &Slopes::new(&likely, &fuel, 0.0)));
}

#[divan::bench(args = [1, 2], sample_count = 20)]
fn estimate_demo(bencher: Bencher<'_, '_>, threads: usize) {
    let job = demo();
    let pool = ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    bencher.bench_local(|| pool.install(|| estimate(&job)).unwrap());
}

/// 500 samples, the demo's speeds, five fuels: the target is 5 s on two threads.
#[divan::bench(args = [1, 2], sample_count = 3)]
fn choose_five_fuels(bencher: Bencher<'_, '_>, threads: usize) {
    let ask = choice();
    let pool = ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    bencher.bench_local(|| pool.install(|| choose(&ask, &|_| {})).unwrap());
}

/// The demo's choice with a fifth fuel.
fn choice() -> ChooseJob {
    let library = FuelLibrary::shipped().unwrap();
    let scenario = endgas::scenario::read("demo", endgas::scenario::DEMO).unwrap();
    let mut job = scenario.job(&library, 500, 1).unwrap();
    job.fuels.push(FuelChoice { fuel: library.resolve("e100").unwrap(), lambda: None });
    scenario.choose_job(job, &library).unwrap()
}
