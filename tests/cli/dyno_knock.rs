//! What `endgas dyno` says of a log with timing and knock. The logs are shipped invented pulls with two columns more.

use crate::common::cli::{entries, quiet, refused, run, scenario};
use serde_json::Value;
use std::path::Path;

/// The shipped pulls with timing, and knock counted in the second pull from 3400 to 3650 rpm, where torque falls by 11 %.
fn log(folder: &Path, timing_at_3000: f64) -> String {
    let good = format!("{}/scenarios/pulls/street-2000-pull-good.csv", env!("CARGO_MANIFEST_DIR"));
    let mut is_header = true;
    let mut text = String::new();
    for line in std::fs::read_to_string(good).unwrap().lines() {
        if line.starts_with('#') {
            text += &format!("{line}\n");
            continue;
        }
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if std::mem::take(&mut is_header) {
            text += &format!("{line},ignition timing (deg),knock count\n");
            continue;
        }
        let rpm: f64 = cells[1].parse().unwrap();
        let knocks = cells[0] == "2" && (3400.0..=3650.0).contains(&rpm);
        if knocks {
            for cell in &mut cells[2..4] {
                *cell = format!("{:.2}", 0.89 * cell.parse::<f64>().unwrap());
            }
        }
        let timing = timing_at_3000 + (rpm - 3000.0) / 500.0 + if knocks { 3.0 } else { 0.0 };
        text += &format!("{},{timing:.1},{}\n", cells.join(","), 2 * i32::from(knocks));
    }
    let path = folder.join("knock.csv");
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

/// Standard output, whatever the verdict.
fn dyno(log: &str, more: &[&str]) -> String {
    let scenario = scenario("street-2000");
    let output = run(&[&["dyno", &scenario, log, "--samples", "50"], more].concat());
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The part on knock, to what else could be shown.
fn section(text: &str) -> &str {
    let (_, rest) = text.split_once("\nWhat the log says about knock\n").unwrap();
    rest.split_once("\nMore: ").unwrap().0
}

#[test]
fn the_tables_for_the_scenario_are_toml_and_hold_the_points() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(folder.path(), 21.0);
    let text = dyno(&log, &["--fuel", "premium-91", "--show", "knock"]);
    insta::assert_snapshot!("knock", section(&text));
    let block = &text[text.find("[[knock.known]]").unwrap()..];
    let block = block.split_once("\nMore: ").unwrap().0;
    let read: toml::Table = toml::from_str(block).unwrap();
    // Pasted into the scenario, every command takes them.
    let own = std::fs::read_to_string(scenario("street-2000")).unwrap();
    let pasted = folder.path().join("pasted.toml");
    std::fs::write(&pasted, format!("{own}\n{block}")).unwrap();
    let after = quiet(&["estimate", pasted.to_str().unwrap(), "--samples", "50", "--show", "uncertainty"], 0);
    assert!(after.contains("pasted.toml:") && after.contains("the octane this engine needs there"));
    let known = read["knock"]["known"].as_array().unwrap();
    // A fit writes the same points with the build, once the fuel in the tank is said.
    for (fuel, is_written) in [(&["--fuel", "premium-91"][..], true), (&[][..], false)] {
        let new = folder.path().join(format!("fitted-{is_written}.toml"));
        let text = dyno(&log, &[fuel, &["--fit", new.to_str().unwrap()]].concat());
        let fitted: toml::Table = toml::from_str(&std::fs::read_to_string(&new).unwrap()).unwrap();
        match is_written {
            true => assert_eq!(fitted["knock"]["known"].as_array(), Some(known)),
            false => assert!(!fitted.contains_key("knock") && text.contains("name the fuel")),
        }
    }
    let json: Value =
        serde_json::from_str(&dyno(&log, &["--fuel", "premium-91", "--format", "json"])).unwrap();
    let points = json["knock_points"].as_array().unwrap();
    assert!(known.len() == points.len() && known.len() == 6, "{block}");
    for (entry, point) in known.iter().zip(points) {
        assert_eq!(entry["fuel"].as_str(), Some("premium-91"));
        assert_eq!(entry["heard"].as_str(), point["heard"].as_str());
        let off = |key: &str| (entry[key].as_float().unwrap() - point[key].as_f64().unwrap()).abs();
        assert!(off("timing_deg_btdc") < 0.051 && off("lambda") < 0.001, "{entry}");
        assert_eq!(entry["rpm"].as_integer().unwrap() as f64, point["rpm"].as_f64().unwrap());
        // The day of the shipped pull.
        assert_eq!(entry["air_temperature_c"].as_float(), Some(29.0));
    }
    let knocks: Vec<&Value> = points.iter().filter(|p| p["heard"] == "knock").collect();
    let [knock] = knocks[..] else { panic!("{points:?}") };
    assert!((3400.0..3460.0).contains(&knock["rpm"].as_f64().unwrap()) && knock["pull"] == "2");
}

#[test]
fn a_fuel_that_nobody_named_is_not_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let text = dyno(&log(folder.path(), 21.0), &["--units", "us", "--show", "knock"]);
    let section = section(&text);
    assert!(section.contains("name the fuel that was in the tank with --fuel"), "{section}");
    assert!(!text.contains("[[knock.known]]") && section.contains("counted"));
    assert!(text.lines().all(|line| line.chars().count() <= 100));
    // A log without the two columns says nothing of it, and its JSON holds no points.
    let (scenario, good) = (scenario("street-2000"), "scenarios/pulls/street-2000-pull-good.csv");
    let good = format!("{}/{good}", env!("CARGO_MANIFEST_DIR"));
    let json: Value =
        serde_json::from_str(&quiet(&["dyno", &scenario, &good, "--format", "json"], 0)).unwrap();
    assert_eq!(json["knock_points"], Value::Array(Vec::new()));
}

#[test]
fn a_timing_that_cannot_be_is_refused_by_file_line_column_and_range() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(folder.path(), 90.0);
    let said = refused(&["dyno", &scenario("street-2000"), &log]);
    let (first, range) = (format!("{log}:6: ignition timing (deg) = 87."), "is outside -40 to 80 deg");
    assert!(said.lines().any(|line| line.starts_with(&first) && line.contains(range)), "{said}");
    assert_eq!(entries(folder.path()), ["knock.csv"]);
}
