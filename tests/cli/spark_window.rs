//! A window of timing as narrow as a locked distributor, through every command that searches timing.

use crate::common::cli::{changed_demo, run};
use crate::common::live::Served;
use serde_json::Value;
use std::path::Path;

/// A fifth of a degree: within, after and before the timing that the engine wants [deg before top dead centre].
const WINDOWS: [(f64, f64); 3] = [(20.0, 19.8), (0.0, -0.2), (40.2, 40.0)];

fn narrow(folder: &Path, (earliest, latest): (f64, f64)) -> String {
    let path =
        changed_demo(folder, "earliest_deg_btdc = 50.0", &format!("earliest_deg_btdc = {earliest:.1}"));
    let text = std::fs::read_to_string(&path).unwrap();
    let from = "latest_deg_btdc = -10.0";
    assert!(text.contains(from));
    std::fs::write(&path, text.replace(from, &format!("latest_deg_btdc = {latest:.1}"))).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn timing_stays_in_a_narrow_window() {
    let folder = tempfile::tempdir().unwrap();
    for window in WINDOWS {
        let scenario = narrow(folder.path(), window);
        let output = run(&["estimate", &scenario, "--samples", "50", "--format", "json"]);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&output.stderr));
        let found: Value = serde_json::from_slice(&output.stdout).unwrap();
        for fuel in found["fuels"].as_array().unwrap() {
            for point in fuel["curve"].as_array().unwrap() {
                for key in ["best_torque_spark_deg_btdc", "spark_deg_btdc"] {
                    let spark = point[key].as_f64().unwrap();
                    assert!((window.1..=window.0).contains(&spark), "{key} = {spark}");
                }
            }
        }
    }
}

#[test]
fn every_command_that_searches_timing_takes_a_narrow_window() {
    let folder = tempfile::tempdir().unwrap();
    for window in WINDOWS {
        let scenario = narrow(folder.path(), window);
        for arguments in
            [["spark", "--load", "100 %"], ["choose", "--samples", "50"], ["goal", "--wheel-power", "150 kW"]]
        {
            // One fuel is as narrow as four, and quicker.
            let one_fuel = [scenario.as_str(), "--fuel", "premium-91"];
            let output = run(&[&arguments[..1], &one_fuel, &arguments[1..]].concat());
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(matches!(output.status.code(), Some(0 | 1)), "{arguments:?} in {window:?}: {said}");
        }
        let served = Served::start(&[&scenario]);
        let build = served.build();
        for curves in ["/likely", "/estimate"] {
            assert_eq!(served.ask(curves, &build).status, 200, "{curves} in {window:?}");
        }
    }
}
