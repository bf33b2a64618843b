//! `endgas spark` as its user runs it.

use assert_cmd::Command;
use serde_json::Value;

/// Limited at full load and free of it at light load.
const STREET: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/street-2000.toml");

fn spark(arguments: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("endgas").unwrap();
    command.env_remove("ENDGAS_FUELS").arg("spark").args(arguments).output().unwrap()
}

fn text(output: &std::process::Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn maps(arguments: &[&str]) -> Vec<Value> {
    let output = spark(&[arguments, &["--format", "json"]].concat());
    let document: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert!(document["cautions"].as_array().unwrap().len() == 3);
    document["maps"].as_array().unwrap().clone()
}

fn sparks(row: &Value) -> Vec<f64> {
    row["cells"].as_array().unwrap().iter().map(|c| c["spark_deg_btdc"].as_f64().unwrap()).collect()
}

#[test]
fn less_load_and_more_ethanol_never_allow_less_of_best_torque() {
    for over in ["pressure", "ethanol"] {
        let map = &maps(&[STREET, "--over", over, "--fuel", "regular-87"])[0];
        let rows = map["rows"].as_array().unwrap();
        let held_back = |row: &Value| -> Vec<f64> {
            let cells = row["cells"].as_array().unwrap().iter();
            cells.map(|c| c["torque_lost_frac"].as_f64().unwrap()).collect()
        };
        for pair in rows.windows(2) {
            for (first, second) in held_back(&pair[0]).iter().zip(held_back(&pair[1])) {
                let (weak, strong) = if over == "ethanol" { (*first, second) } else { (second, *first) };
                assert!(strong <= weak + 1e-9, "{over}: {strong} over {weak}");
            }
        }
    }
}

#[test]
fn a_lighter_load_and_a_stronger_blend_do_give_spark_back() {
    // Down to 60 % load, and from none to 85 % ethanol: torque given up at every speed, in part or in whole.
    for (over, weak, strong) in [("pressure", 4, 0), ("ethanol", 0, 7)] {
        let map = &maps(&[STREET, "--over", over, "--fuel", "premium-91"])[0];
        let lost =
            |row: usize, cell: usize| map["rows"][row]["cells"][cell]["torque_lost_frac"].as_f64().unwrap();
        for cell in 0..11 {
            // Where knock takes nothing at either end there is nothing to give back.
            assert!(lost(strong, cell) <= 0.5 * lost(weak, cell), "{over}, speed {cell}");
        }
    }
    let load = &maps(&[STREET, "--fuel", "premium-91"])[0]["rows"];
    let best = |row: usize| load[row]["cells"][5]["best_torque_spark_deg_btdc"].as_f64().unwrap();
    assert!(best(0) > best(4), "a light charge burns slowly and wants its spark early");
}

#[test]
fn a_reserve_in_degrees_takes_just_that_from_the_limit() {
    let none = maps(&["--fuel", "premium-91", "--reserve", "0 deg"]);
    let some = maps(&["--fuel", "premium-91", "--reserve", "2 deg"]);
    let last = |maps: &[Value]| maps[0]["rows"].as_array().unwrap().last().unwrap().clone();
    for (free, kept) in sparks(&last(&none)).iter().zip(sparks(&last(&some))) {
        assert!((free - kept - 2.0).abs() < 0.1, "{free} {kept}");
    }
}

#[test]
fn full_load_is_what_the_estimate_says() {
    let row = maps(&["--fuel", "premium-91"])[0]["rows"].as_array().unwrap().last().unwrap().clone();
    let mut command = Command::cargo_bin("endgas").unwrap();
    let output = command.args(["estimate", "--fuel", "premium-91", "--format", "json"]).output().unwrap();
    let estimate: Value = serde_json::from_slice(&output.stdout).unwrap();
    let curve = estimate["fuels"][0]["curve"].as_array().unwrap().clone();
    for (map, point) in sparks(&row).iter().zip(&curve) {
        assert!((map - point["spark_deg_btdc"].as_f64().unwrap()).abs() < 0.1);
    }
    for (cell, point) in row["cells"].as_array().unwrap().iter().zip(&curve) {
        // Each input by itself and as a straight line: within 1 deg, and hardly ever more advanced.
        let start = cell["start_spark_deg_btdc"].as_f64().unwrap();
        let off = start - point["cautious_spark_deg_btdc"].as_f64().unwrap();
        assert!((-1.0..=0.3).contains(&off), "{off} deg at {} rpm", cell["speed_rpm"]);
    }
}

#[test]
fn the_start_is_no_further_than_the_limit_and_a_lighter_load_lets_it_come_nearer() {
    for over in ["pressure", "ethanol"] {
        let map = &maps(&[STREET, "--over", over, "--fuel", "premium-91"])[0];
        let (mut apart, mut same) = (0, 0);
        for cell in map["rows"].as_array().unwrap().iter().flat_map(|row| row["cells"].as_array().unwrap()) {
            let of = |key: &str| cell[key].as_f64().unwrap();
            let behind = of("spark_deg_btdc") - of("start_spark_deg_btdc");
            assert!(behind >= 0.0, "{over}: {cell}");
            // The best itself is found to 0.02 deg, where torque is flat.
            assert!(of("start_torque_lost_frac") >= of("torque_lost_frac") - 1e-6, "{over}: {cell}");
            if behind > 3.0 {
                apart += 1;
            } else if behind == 0.0 {
                same += 1;
            }
        }
        assert!(apart > 10 && same > 0, "{over}: {apart} apart, {same} the same");
    }
    let load = &maps(&[STREET, "--fuel", "premium-91"])[0]["rows"];
    let start = |row: usize, cell: usize| load[row]["cells"][cell]["start_spark_deg_btdc"].as_f64().unwrap();
    assert!((0..7).all(|cell| start(0, cell) > start(4, cell) + 5.0));
}

#[test]
fn a_fuel_that_is_all_ethanol_has_one_row_over_content() {
    let map = &maps(&["--over", "ethanol", "--fuel", "e100"])[0];
    assert_eq!(map["rows"].as_array().unwrap().len(), 1);
}

#[test]
fn text_and_csv_hold_every_speed_and_the_cautions() {
    let shown = text(&spark(&["--fuel", "e85"]));
    assert!(shown.contains("never a calibration") && shown.contains("7500"));
    let (start, limit) = (shown.find("Timing to start from").unwrap(), shown.find("Likely limit").unwrap());
    assert!(start < limit && limit < shown.find("MBT timing, deg").unwrap());
    assert!(shown.lines().all(|line| line.chars().count() <= 100));
    let csv = text(&spark(&["--fuel", "e85", "--format", "csv"]));
    // A header, and five loads at eleven speeds.
    assert_eq!(csv.lines().count(), 1 + 5 * 11);
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, plot) = (folder.path().join("map.csv"), folder.path().join("plots"));
    for bad in [["--reserve", "2"], ["--reserve", "99 deg"], ["--over", "load"], ["--fuel", "no-such-fuel"]] {
        let targets = ["--out", out.to_str().unwrap(), "--plot", plot.to_str().unwrap()];
        let output = spark(&[bad.as_slice(), targets.as_slice()].concat());
        assert_eq!(output.status.code(), Some(2), "{bad:?}");
        assert!(!output.stderr.is_empty() && !out.exists() && !plot.exists(), "{bad:?}");
    }
}

#[test]
fn plots_are_written_one_per_fuel() {
    let folder = tempfile::tempdir().unwrap();
    let output = spark(&["--fuel", "e85", "--fuel", "premium-93", "--plot", folder.path().to_str().unwrap()]);
    assert!(output.status.success());
    for name in ["spark-map-e85.svg", "spark-map-premium-93.svg"] {
        let svg = folder.path().join(name);
        assert!(std::fs::read_to_string(&svg).unwrap().starts_with("<svg"));
        assert!(std::fs::read(svg.with_extension("png")).unwrap().starts_with(b"\x89PNG"));
    }
}

#[test]
fn a_cell_without_a_safe_spark_is_told_by_the_exit_status() {
    let folder = tempfile::tempdir().unwrap();
    let hot = folder.path().join("hot.toml");
    let demo = include_str!("../../scenarios/circuit-2400.toml");
    std::fs::write(&hot, demo.replace("compression_ratio = 12.5", "compression_ratio = 17.5")).unwrap();
    let output = spark(&[hot.to_str().unwrap(), "--fuel", "premium-91"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output).contains("none"));
}

#[test]
fn a_reserve_in_degrees_is_not_taken_from_the_end_of_the_range() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("late.toml");
    let demo = include_str!("../../scenarios/circuit-2400.toml");
    std::fs::write(&path, demo.replace("earliest_deg_btdc = 50.0", "earliest_deg_btdc = 10.0")).unwrap();
    // On ethanol knock is far off: the end of the range, not knock, sets every spark.
    let map = &maps(&[path.to_str().unwrap(), "--fuel", "e100", "--reserve", "3 deg"])[0];
    for row in map["rows"].as_array().unwrap() {
        for spark in sparks(row) {
            // Taken off it would be 7; the search of best torque comes within 0.2 deg of an end.
            assert!((spark - 10.0).abs() < 0.3, "{spark}");
        }
    }
}
