//! One closed cycle: plain, with the knock integral, and with its states kept.

use crate::{blend, demo};
use divan::{Bencher, black_box};
use endgas::cycle::CycleState;
use endgas::estimate::Job;
use endgas::estimate::point::{FuelInUse, Point, PointSetting, Shifts};

const SPEED_RPM: f64 = 6000.0;
const SPARK_DEG_BTDC: f64 = 26.0;

/// The example engine on a port-injected gasoline, ready to be run at one point.
pub struct Bench {
    job: Job,
    fuel: FuelInUse,
}

impl Bench {
    pub fn new() -> Self {
        let job = demo();
        let fuel = FuelInUse::new(blend("premium-91"), 0.87, &job.weather).unwrap();
        Self { job, fuel }
    }

    pub fn setting(&self) -> PointSetting<'_> {
        self.job.setting()
    }

    pub fn point(&self) -> Point<'_> {
        Point::new(self.setting(), &self.fuel, SPEED_RPM, Shifts::NONE)
    }
}

/// Settles the residual gas: two closed cycles and three charge balances.
#[divan::bench]
fn settle_point(bencher: Bencher<'_, '_>) {
    let bench = Bench::new();
    bencher.bench(|| bench.point());
}

#[divan::bench]
fn closed_cycle_plain(bencher: Bencher<'_, '_>) {
    let bench = Bench::new();
    let point = bench.point();
    let burn = point.burn(SPARK_DEG_BTDC);
    bencher.bench(|| point.closed(black_box(&burn), |_| {}));
}

#[divan::bench]
fn closed_cycle_with_trace(bencher: Bencher<'_, '_>) {
    let bench = Bench::new();
    let point = bench.point();
    let burn = point.burn(SPARK_DEG_BTDC);
    let mut states: Vec<CycleState> = Vec::with_capacity(512);
    bencher.bench_local(|| {
        states.clear();
        point.closed(black_box(&burn), |state| states.push(*state))
    });
}

/// Four timings side by side, with their compression; time for all four.
#[divan::bench]
fn four_sparks(bencher: Bencher<'_, '_>) {
    let bench = Bench::new();
    let point = bench.point();
    bencher.bench(|| point.timings().at_sparks(black_box(&[30.0, 26.0, 22.0, 16.0])));
}

/// The closed cycle with the knock integral, and all that is reported about a spark.
#[divan::bench]
fn at_spark(bencher: Bencher<'_, '_>) {
    let bench = Bench::new();
    let point = bench.point();
    bencher.bench(|| point.at_spark(black_box(SPARK_DEG_BTDC)));
}
