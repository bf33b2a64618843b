//! Best torque in any window of timing: found, and found inside it.

use crate::common::bench::Trial;
use crate::common::cases::cases;
use endgas::estimate::point::Point;
use endgas::estimate::spark::{SparkRange, best_torque_spark, knock_limited_spark};
use proptest::prelude::*;

/// Sparks of the coarse scan.
const SCANNED: u32 = 40;

/// Windows that a scenario may state, 0.001 to 90 deg wide, narrow ones as often as wide ones.
fn any_window() -> impl Strategy<Value = SparkRange> {
    (0.001f64.ln()..90f64.ln(), 0.0..1.0f64).prop_map(|(ln_width, share)| {
        let width = ln_width.exp();
        let latest_deg_btdc = -40.0 + share * (120.0 - width).min(80.0);
        SparkRange { earliest_deg_btdc: latest_deg_btdc + width, latest_deg_btdc }
    })
}

fn best_of_scan_bar(point: &Point<'_>, window: SparkRange) -> f64 {
    let SparkRange { earliest_deg_btdc: from, latest_deg_btdc: to } = window;
    let spark = |i: u32| from + (to - from) * f64::from(i) / f64::from(SCANNED);
    (0..=SCANNED).map(|i| point.at_spark(spark(i)).bmep_bar()).fold(f64::NEG_INFINITY, f64::max)
}

proptest! {
    #![proptest_config(cases(150, 20))]

    /// Nothing is lost against a scan but the width of its step: 0.1 % of torque.
    #[test]
    fn best_torque_of_any_window_is_inside_it_and_no_less_than_a_scan(
        window in any_window(),
        ratio in 8.5..14.0f64,
        speed_rpm in 1500.0..7500.0f64,
    ) {
        let (found, scanned) = Trial::new(ratio, speed_rpm).with(|point| {
            (best_torque_spark(point, window).unwrap(), best_of_scan_bar(point, window))
        });
        let inside = window.latest_deg_btdc..=window.earliest_deg_btdc;
        prop_assert!(inside.contains(&found.spark_deg_btdc), "{}", found.spark_deg_btdc);
        prop_assert!(found.bmep_bar() >= scanned - 0.001 * scanned.abs(), "{} of {scanned}", found.bmep_bar());
    }

    /// So is the knock limit.
    #[test]
    fn the_knock_limit_of_any_window_is_inside_it(window in any_window(), index in 75.0..112.0f64) {
        let limit = Trial::new(11.0, 3000.0).with(|point| {
            let best = best_torque_spark(point, window).unwrap().spark_deg_btdc;
            knock_limited_spark(point, best, index, 1.0, window).unwrap().map(|limit| (limit, best))
        });
        if let Some((limit, best)) = limit {
            prop_assert!((window.latest_deg_btdc..=best).contains(&limit), "{limit}");
        }
    }
}

/// Windows of half a degree before, over and behind the spark of best torque.
#[test]
fn the_best_of_a_narrow_window_is_its_end_next_to_best_torque() {
    let trial = Trial::new(10.0, 3000.0);
    let best = trial.best().spark_deg_btdc;
    for off in [-60.0, -35.0, -20.0, -3.0, -0.25, 3.0, 12.0, 30.0] {
        let (latest_deg_btdc, earliest_deg_btdc) = (best + off, best + off + 0.5);
        let window = SparkRange { earliest_deg_btdc, latest_deg_btdc };
        let found = trial.with(|point| best_torque_spark(point, window).unwrap()).spark_deg_btdc;
        let wanted = best.clamp(latest_deg_btdc, earliest_deg_btdc);
        // Near best torque the curve is flat: within the tolerance of the search there.
        let within = if off == -0.25 { 0.25 } else { 1e-9 };
        assert!((found - wanted).abs() <= within, "{off}: {found} and not {wanted}");
    }
}
