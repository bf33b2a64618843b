//! `endgas estimate` of builds side by side, as its user runs it.

use super::csv_convention::keeps_to_it;
use crate::common::cli::{endgas, entries, quiet, refused, scenario};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Writes the street build with a hotter cam, a smaller chamber and another day.
fn cammed(folder: &Path) -> PathBuf {
    let text = std::fs::read_to_string(scenario("street-2000")).unwrap();
    let text = text
        .replace("inlet_closes_deg_abdc = 48.0", "inlet_closes_deg_abdc = 60.0")
        .replace("overlap_deg = 14.0", "overlap_deg = 34.0")
        .replace("dome_cc = -1.8", "dome_cc = 2.2")
        .replace("air_temperature_c = 25.0", "air_temperature_c = 15.0");
    let path = folder.join("street-cam.toml");
    std::fs::write(&path, text).unwrap();
    path
}

fn side_by_side<'a>(other: &'a Path, street: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["estimate", street, other.to_str().unwrap(), "--samples", "50"], more].concat()
}

#[test]
fn the_text_of_a_cam_and_a_ratio() {
    let folder = tempfile::tempdir().unwrap();
    let (other, street) = (cammed(folder.path()), scenario("street-2000"));
    let text = quiet(&side_by_side(&other, &street, &["--show", "all"]), 0);
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    insta::assert_snapshot!(text);
    let screen = quiet(&side_by_side(&other, &street, &[]), 0);
    assert!(screen.ends_with("More: --show curves, uncertainty, all\n"), "{screen}");
}

#[test]
fn json_csv_and_plots_hold_every_fuel_and_build() {
    let folder = tempfile::tempdir().unwrap();
    let (other, street) = (cammed(folder.path()), scenario("street-2000"));
    let plots = folder.path().join("plots");
    let out = folder.path().join("out.csv");
    let more = ["--fuel", "e30", "--fuel", "premium-91 70 % + e85 30 %", "--units", "us", "--format", "csv"];
    let written = ["--plot", plots.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let output =
        endgas().args(side_by_side(&other, &street, &[&more[..], &written].concat())).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let csv = std::fs::read_to_string(&out).unwrap();
    keeps_to_it(&csv);
    assert!(csv.starts_with("fuel,build,speed_rpm,wheel_power_low_hp,"), "{csv}");
    // Two fuels, two builds, 1500 to 6500 rpm by 500.
    assert_eq!(csv.lines().count(), 1 + 2 * 2 * 11);
    let drawn = entries(&plots);
    assert_eq!(drawn.len(), 4, "{drawn:?}");
    assert!(drawn.contains(&"wheel-power-2-premium-91-70-e85-30.svg".to_owned()), "{drawn:?}");
    let svg = std::fs::read_to_string(plots.join("wheel-power-1-e30.svg")).unwrap();
    for words in ["street-2000", "street-cam", "wheel power, hp", "more than street-2000, hp"] {
        assert!(svg.contains(words), "{words}");
    }
    let json = quiet(&side_by_side(&other, &street, &["--format", "json"]), 0);
    let document: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(document["fuels"].as_array().unwrap().len(), 4);
    assert_eq!(document["builds"][1]["is_weather_replaced"], true);
    assert!(document["cautions"].as_array().unwrap().len() > 4);
    // The first build is that of an estimate by itself.
    let alone = quiet(&["estimate", &street, "--samples", "50", "--format", "json"], 0);
    let alone: Value = serde_json::from_str(&alone).unwrap();
    let wheel = &alone["fuels"][0]["peak_power"]["wheel_power_kw"];
    assert!(wheel["likely"].is_number(), "{wheel}");
    assert_eq!(&document["fuels"][0]["builds"][0]["wheel_power_kw"], wheel);
}

#[test]
fn a_file_against_itself_is_told_apart_and_does_not_differ() {
    let street = scenario("street-2000");
    let text = quiet(&["estimate", &street, &street, "--samples", "50", "--fuel", "e30"], 0);
    for words in ["street-2000 (2)", "no measurable difference", "nothing that the estimate uses"] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn what_cannot_stand_side_by_side_is_refused() {
    let street = scenario("street-2000");
    let five = [&["estimate"][..], &[street.as_str(); 5]].concat();
    assert!(refused(&five).contains("5 scenarios are named; at most 4"));
    assert!(refused(&["estimate", "-", &street, "-"]).contains("more than once"));
    let said = refused(&["estimate", &street, &street, "--show", "losses"]);
    assert!(said.contains("--show losses") && said.contains("curves, uncertainty"), "{said}");
    assert!(refused(&["estimate", &street, &street, "--bore", "86 mm"]).contains("in options"));
    assert!(refused(&["estimate", &street, "missing.toml"]).contains("missing.toml"));
}
