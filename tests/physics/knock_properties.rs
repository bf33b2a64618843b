//! Trends of knock over random builds: each law under the conditions it needs. Laws at a held spark hold from
//! best torque (or 2 deg beyond) towards retard; a far earlier burn is over before it can compress the end gas more.

use crate::common::bench::{RANGE, Trial, blend};
use crate::common::random_build::{Draw, RandomBuild};
use endgas::air::Weather;
use endgas::cycle::gas_exchange::mach_index_per_rpm;
use endgas::engine::Breathing;
use endgas::estimate::spark::{SparkRange, best_torque_spark, knock_limited_spark};
use endgas::units::CompressionRatio;
use proptest::prelude::*;

/// A build drawn at random, on a day drawn at random. Its filling is that of its speed at every speed, so that a law over
/// speed has equal air per cycle; ratio and inlet speed leave room for the steps of the laws.
fn any_trial() -> impl Strategy<Value = Trial> {
    any::<u64>().prop_map(|seed| RandomBuild::new(&mut Draw::new(seed))).prop_filter_map(
        "an engine that runs",
        |random| {
            let mut trial = Trial::new(random.build.geometry.compression_ratio.get(), random.speed_rpm);
            let mach_index_per_rpm = mach_index_per_rpm(
                &random.build.geometry,
                &random.build.valves,
                random.weather.temperature_k,
            );
            let filling = random.build.breathing.at(random.speed_rpm, mach_index_per_rpm).likely;
            (trial.fuel, trial.lambda, trial.weather) = (random.blend(), random.lambda, random.weather);
            trial.build = random.build;
            trial.build.breathing = Breathing::Table {
                speed_rpm: vec![500.0, 15_000.0],
                volumetric_efficiency: vec![filling; 2],
                spread: 0.02,
                follows: Default::default(),
            };
            let is_choked = mach_index_per_rpm * trial.speed_rpm.max(5500.0) > 0.6;
            let best = trial.best();
            (!is_choked && best.bmep_bar() > 1.0 && best.spark_deg_btdc < 55.0).then_some(trial)
        },
    )
}

fn with_ratio(trial: &Trial, by: f64) -> Trial {
    trial.edit(|t| {
        let ratio = t.build.geometry.compression_ratio.get() + by;
        t.build.geometry.compression_ratio = CompressionRatio::new(ratio).unwrap();
    })
}

fn need(trial: &Trial, spark: f64) -> f64 {
    trial.requirement(&trial.at(spark))
}

/// Margin of a fuel against its own requirement at a spark.
fn margin(trial: &Trial, fuel: &str, spark: f64) -> f64 {
    let other = trial.edit(|t| t.fuel = blend(fuel));
    other.fuel.octane.index(0.0) - need(&other, spark)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), ..ProptestConfig::default() })]

    /// Spark held: more ratio, more spark, more pressure, hotter charge of equal mass, hotter coolant need more octane.
    #[test]
    fn what_compresses_or_heats_the_end_gas_needs_octane(trial in any_trial(), late in -2.0..20.0f64) {
        let spark = trial.best().spark_deg_btdc - late;
        let base = need(&trial, spark);
        prop_assert!(base.is_finite() && base > 0.0);
        prop_assert!(need(&with_ratio(&trial, 0.2), spark) > base, "ratio");
        prop_assert!(need(&trial, spark + 1.0) > base, "spark");
        let denser = trial.edit(|t| t.weather.pressure_pa *= 1.03);
        prop_assert!(need(&denser, spark) > base, "pressure");
        let hotter = trial.edit(|t| t.shifts.charge_temperature_k += 5.0);
        prop_assert!(need(&hotter, spark) > base, "charge temperature");
        let warmer = trial.edit(|t| t.build.combustion.coolant_temperature_k += 10.0);
        prop_assert!(need(&warmer, spark) > base, "coolant");
        // A slow burn made quicker is as good as some 3 deg of advance: it must start as much behind best torque.
        let faster = trial.edit(|t| t.build.combustion.burn_speed *= 1.05);
        prop_assert!(late < 4.0 || need(&faster, spark) > base, "an earlier burn at the same spark");
    }

    /// Spark held: humid air and more ethanol leave more margin.
    #[test]
    fn humidity_and_ethanol_leave_margin(trial in any_trial(), late in -2.0..20.0f64) {
        let spark = trial.best().spark_deg_btdc - late;
        let day = |humidity: f64| trial.edit(|t| {
            t.weather = Weather::new(t.weather.temperature_k, t.weather.pressure_pa, humidity).unwrap();
        });
        prop_assert!(need(&day(0.9), spark) < need(&day(0.1), spark));
        let blends = ["premium-91", "ethanol 20 % + premium-91 80 %", "ethanol 45 % + premium-91 55 %", "ethanol 80 % + premium-91 20 %"];
        let margins = blends.map(|fuel| margin(&trial, fuel, spark));
        prop_assert!(margins.windows(2).all(|pair| pair[1] > pair[0]), "{margins:?}");
    }

    /// At best-torque spark, air per cycle the same: the requirement falls with speed.
    #[test]
    fn speed_leaves_margin(trial in any_trial()) {
        let slow = trial.edit(|t| t.speed_rpm = 2500.0);
        let fast = trial.edit(|t| t.speed_rpm = 5500.0);
        prop_assert!(fast.best_requirement() < slow.best_requirement());
    }

    /// The knock limit is a root of the margin, falls with the reserve and with the ratio, and is none exactly
    /// when the most retarded spark has less than the reserve.
    #[test]
    fn the_knock_limit_is_what_it_says(trial in any_trial(), reserve in 0.0..4.0f64, index in 75.0..112.0f64) {
        let limit = |trial: &Trial, reserve: f64| {
            trial.with(|point| {
                let best = best_torque_spark(point, RANGE).unwrap();
                (best, knock_limited_spark(point, best.spark_deg_btdc, index, reserve, RANGE).unwrap())
            })
        };
        let (best, found) = limit(&trial, reserve);
        let margin_at = |spark: f64| index - need(&trial, spark);
        match found {
            None => prop_assert!(margin_at(RANGE.latest_deg_btdc) < reserve),
            Some(spark) if spark == best.spark_deg_btdc => prop_assert!(margin_at(spark) >= reserve - 0.05),
            Some(spark) => {
                prop_assert!((margin_at(spark) - reserve).abs() < 0.05, "{}", margin_at(spark));
                let harder = limit(&with_ratio(&trial, 0.3), reserve).1;
                prop_assert!(harder.is_none_or(|s| s < spark));
                prop_assert!(limit(&trial, reserve + 0.5).1.is_none_or(|s| s < spark));
            }
        }
    }

    /// Best torque is a maximum, inside the window where the range allows.
    #[test]
    fn best_torque_is_a_maximum(trial in any_trial()) {
        let best = trial.best();
        for off in [-6.0, -2.0, 2.0, 6.0] {
            prop_assert!(trial.at(best.spark_deg_btdc + off).bmep_bar() <= best.bmep_bar() + 1e-6, "{off}");
        }
        let narrow = SparkRange { earliest_deg_btdc: best.spark_deg_btdc - 3.0, ..RANGE };
        let held = trial.with(|point| best_torque_spark(point, narrow).unwrap());
        prop_assert!((held.spark_deg_btdc - narrow.earliest_deg_btdc).abs() < 0.1);
    }
}

/// `PROPTEST_CASES` for a long run.
fn cases() -> u32 {
    std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(60)
}
