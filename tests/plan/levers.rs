//! What a change is said to be worth, against a second estimate with the change made.

use crate::common::job;
use endgas::air::Weather;
use endgas::estimate::point::{FuelInUse, Point, Shifts};
use endgas::estimate::{Estimate, Job, LeverChange, estimate};
use endgas::knock::{KnockFit, octane_requirement};
use endgas::units::CompressionRatio;

fn demo(humidity: f64) -> Job {
    let mut job = job::demo();
    job.fuels.truncate(1);
    job.weather = Weather::new(job.weather.temperature_k, job.weather.pressure_pa, humidity).unwrap();
    job
}

/// Octane margin and torque of a changed job at the speed and spark of the tightest point of another.
fn at_point_of(base: &Estimate, job: &Job) -> (f64, f64) {
    let point = &base.fuels[0].curve[base.fuels[0].tightest_index];
    let choice = &job.fuels[0];
    let lambda = choice.lambda.map_or(choice.fuel.best_power_lambda, |l| l.get());
    let fuel = FuelInUse::new(choice.fuel.blend().unwrap(), lambda, &job.weather).unwrap();
    let run = Point::new(job.setting(), &fuel, point.speed_rpm, Shifts::NONE).at_spark(point.spark_deg_btdc);
    let index = fuel.blend.octane_index(0.0);
    (index - octane_requirement(run.integral_at_100, KnockFit::SHIPPED.octane_exponent), run.bmep_bar())
}

fn check(humidity: f64, lever: LeverChange, change: impl Fn(&mut Job)) {
    let job = demo(humidity);
    let base = estimate(&job).unwrap();
    let mut changed = job.clone();
    change(&mut changed);
    let (before, after) = (at_point_of(&base, &job), at_point_of(&base, &changed));
    let said = base.fuels[0].levers.iter().find(|l| l.change == lever).expect("the lever is there");
    assert!((said.octane_margin_change - (after.0 - before.0)).abs() < 1e-3, "{lever:?}: {said:?}");
    assert!((said.torque_change_frac - (after.1 / before.1 - 1.0)).abs() < 1e-5, "{lever:?}: {said:?}");
}

#[test]
fn cooler_intake_air_is_another_day_at_any_humidity() {
    for humidity in [0.0, 0.4, 1.0] {
        check(humidity, LeverChange::AirCooler { by_k: 10.0 }, |job| {
            let day = job.weather;
            job.weather =
                Weather::new(day.temperature_k - 10.0, day.pressure_pa, day.relative_humidity).unwrap();
        });
    }
}

#[test]
fn parts_are_worth_what_a_changed_build_says() {
    check(0.4, LeverChange::RatioLower { step: 0.1 }, |job| {
        job.build.geometry.compression_ratio = CompressionRatio::new(12.4).unwrap();
    });
    check(0.4, LeverChange::CoolantCooler { by_k: 10.0 }, |job| {
        job.build.combustion.cooling = job.build.combustion.cooling.hotter_by(-10.0);
        job.build.combustion.wall_temperature_k -= 10.0;
    });
    check(0.4, LeverChange::BurnFaster { by_frac: 0.1 }, |job| job.build.combustion.burn_speed *= 1.1);
}

#[test]
fn every_lever_for_safety_gives_margin() {
    let base = estimate(&demo(0.4)).unwrap();
    for lever in &base.fuels[0].levers {
        let safer = lever.octane_margin_change > 0.0;
        assert_eq!(safer, !matches!(lever.change, LeverChange::BurnFaster { .. }), "{lever:?}");
    }
}
