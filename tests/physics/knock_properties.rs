//! Trends of knock over random builds: each law under the conditions it needs. Laws at a held spark hold from
//! best torque (or 2 deg beyond) towards retard; a far earlier burn is over before it can compress the end gas more.

use crate::common::bench;
use crate::common::cases::cases;
use bench::{RANGE, Trial, blend};
use endgas::air::Weather;
use endgas::engine::{Chamber, Injection};
use endgas::estimate::spark::{SparkRange, best_torque_spark, knock_limited_spark};
use endgas::units::CompressionRatio;
use proptest::prelude::*;

/// A build drawn at random, on a day drawn at random.
fn any_trial() -> impl Strategy<Value = Trial> {
    let size = (0.070..0.105f64, 0.80..1.25f64, 0.5..0.75f64);
    let charge = (8.5..14.0f64, 0.75..1.15f64, 1500.0..7500.0f64, 0.80..1.02f64);
    let cam = (40.0..75.0f64, 40.0..75.0f64);
    let day = (275.0..308.0f64, 85_000.0..103_000.0f64, 0.0..0.9f64);
    let kind = (
        any::<bool>(),
        any::<bool>(),
        prop::sample::select(vec!["regular-87", "premium-91", "euro-98", "e30", "e85"]),
    );
    (size, charge, cam, day, kind).prop_map(|(size, charge, cam, day, kind)| {
        Trial::new(charge.0, charge.2).edit(|t| {
            t.build = bench::build(charge.0, charge.1);
            t.build.geometry.bore_m = size.0;
            t.build.geometry.stroke_m = size.0 * size.1;
            t.build.geometry.rod_length_m = size.0 * size.1 * (1.2 + size.2);
            (t.build.valves.inlet_diameter_m, t.build.valves.exhaust_diameter_m) =
                (0.39 * size.0, 0.33 * size.0);
            t.build.valves.inlet_closes_deg_abdc = cam.0;
            t.build.valves.exhaust_opens_deg_bbdc = cam.1;
            t.build.combustion.chamber = if kind.0 { Chamber::PentRoof } else { Chamber::Wedge };
            t.build.injection = if kind.1 { Injection::Port } else { Injection::Direct };
            t.weather = Weather::new(day.0, day.1, day.2).unwrap();
            t.lambda = charge.3;
            t.fuel = blend(kind.2);
        })
    })
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
    other.fuel.octane_index(0.0) - need(&other, spark)
}

proptest! {
    #![proptest_config(cases(60, 1))]

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
        let warmer = trial.edit(|t| t.build.combustion.cooling = t.build.combustion.cooling.hotter_by(10.0));
        prop_assert!(need(&warmer, spark) > base, "coolant");
        // Near best torque a quicker burn may be over before it can compress the end gas more.
        let spark = spark.min(trial.best().spark_deg_btdc - 4.0);
        let faster = trial.edit(|t| t.build.combustion.burn_speed *= 1.05);
        prop_assert!(need(&faster, spark) > need(&trial, spark), "an earlier burn at the same spark");
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
