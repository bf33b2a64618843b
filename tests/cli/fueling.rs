//! `endgas fueling` as its user runs it.

use crate::common::cli::{changed_demo, entries, numbers, quiet, refused, run, scenario};
use serde_json::Value;

const SCENARIOS: [&str; 4] = ["circuit-2400", "street-2000", "big-eight-6200", "ported-four-1800"];

#[test]
fn the_text_of_the_example() {
    insta::assert_snapshot!(quiet(&["fueling"], 0));
}

#[test]
fn every_scenario_fits_100_columns_with_a_caution() {
    for name in SCENARIOS {
        for units in ["metric", "us"] {
            let text = quiet(&["fueling", &scenario(name), "--units", units], 0);
            let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
            assert!(widest.chars().count() <= 100, "{name}: {widest}");
            let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for part in [
                "Injectors: ",
                "ump: at least",
                "listen for knock with proper equipment and pull timing",
                "Not included: dead time",
                "Piston acceleration: common",
            ] {
                assert!(one_line.contains(part), "{name}: {part}");
            }
        }
    }
}

#[test]
fn the_plot_shows_what_is_stated_beside_the_flow() {
    let folder = tempfile::tempdir().unwrap();
    let plots = folder.path().join("plots");
    let output = run(&["fueling", "--units", "us", "--plot", plots.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(entries(&plots), ["fuel-flow.png", "fuel-flow.svg"]);
    let svg = std::fs::read_to_string(plots.join("fuel-flow.svg")).unwrap();
    for words in
        ["fuel of the engine, gal/h", "each injector needs, lb/h", "stated pump", "e85, 83 % ethanol"]
    {
        assert!(svg.contains(words), "{words}");
    }
}

#[test]
fn small_parts_and_passed_limits_end_with_status_1() {
    let folder = tempfile::tempdir().unwrap();
    for (from, to, said) in [
        (
            "injector_flow_cc_per_min = 550",
            "injector_flow_cc_per_min = 450",
            "450 cc/min are open up to 94 % of the cycle: not enough",
        ),
        ("pump_flow_l_per_h = 190", "pump_flow_l_per_h = 100", "leaves 2 % reserve: not enough"),
        ("pump_flow_l_per_h = 190", "pump_flow_l_per_h = 80", "falls short by 18 %: not enough"),
        (
            "mean_piston_speed_m_per_s = 23.0",
            "mean_piston_speed_m_per_s = 20.0",
            "21.9 m/s at 7500 rpm, over the stated limit of 20.0",
        ),
        ("peak_pressure_bar = 110.0", "peak_pressure_bar = 80.0", "over the stated limit of 80"),
    ] {
        let path = changed_demo(folder.path(), from, to);
        let text = quiet(&["fueling", path.to_str().unwrap()], 1);
        let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(one_line.contains(said), "{to}: {text}");
        let us = quiet(&["fueling", path.to_str().unwrap(), "--units", "us"], 1);
        assert!(us.lines().all(|line| line.chars().count() <= 100), "{us}");
    }
    let path = changed_demo(folder.path(), "fuel_pressure_kpa = 300", "fuel_pressure_kpa = 30");
    let error =
        refused(&["fueling", path.to_str().unwrap(), "--out", folder.path().join("x").to_str().unwrap()]);
    assert!(
        error.contains("fueling.fuel_pressure_kpa = 30 is not allowed; it takes a number from 100"),
        "{error}"
    );
    assert_eq!(entries(folder.path()), ["changed.toml"]);
}

#[test]
fn json_follows_its_schema_and_csv_has_a_row_per_point() {
    let document: Value = serde_json::from_str(&quiet(&["fueling", "--format", "json"], 0)).unwrap();
    assert_eq!(document["tool"]["name"], "endgas");
    assert!(numbers(&document).iter().all(|number| number.is_finite()));
    // Four fuels, e85 twice; eleven speeds.
    assert_eq!(document["needs"].as_array().unwrap().len(), 5);
    let schema: Value = serde_json::from_str(&quiet(&["fueling", "--format", "schema"], 0)).unwrap();
    let known = schema["properties"].as_object().unwrap();
    let keys: Vec<&String> = document.as_object().unwrap().keys().collect();
    assert!(keys.iter().all(|key| known.contains_key(*key)) && keys.len() == known.len());
    let csv = quiet(&["fueling", "--format", "csv", "--units", "us"], 0);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    assert!(reader.headers().unwrap().iter().any(|name| name == "fuel_flow_high_gal_per_h"));
    assert_eq!(reader.records().map(|row| row.unwrap().len()).collect::<Vec<_>>(), vec![12; 55]);
    // No injectors stated: the duty is empty, not a number.
    let csv = quiet(&["fueling", &scenario("street-2000"), "--format", "csv"], 0);
    assert!(csv.lines().skip(1).all(|line| line.ends_with(",,")), "{csv}");
}
