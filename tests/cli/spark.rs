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
    assert!(document["cautions"].as_array().unwrap().len() == 4);
    document["maps"].as_array().unwrap().clone()
}

/// Rows from the weakest to the strongest blend at full load, or from light to full load.
fn rows_over(over: &str, fuel: &str) -> Vec<Value> {
    let content = ["--load", "100 %", "--ethanol", "0,10,20,30,40,50,70,85"];
    let axes: &[&str] = if over == "ethanol" { &content } else { &[] };
    let maps = maps(&[&[STREET, "--fuel", fuel], axes].concat());
    maps.iter().flat_map(|map| map["rows"].as_array().unwrap().clone()).collect()
}

fn sparks(row: &Value) -> Vec<f64> {
    row["cells"].as_array().unwrap().iter().map(|c| c["spark_deg_btdc"].as_f64().unwrap()).collect()
}

#[test]
fn less_load_and_more_ethanol_never_allow_less_of_best_torque() {
    for over in ["load", "ethanol"] {
        let rows = rows_over(over, "regular-87");
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
    for (over, weak, strong) in [("load", 4, 0), ("ethanol", 0, 7)] {
        let rows = rows_over(over, "premium-91");
        let lost = |row: usize, cell: usize| rows[row]["cells"][cell]["torque_lost_frac"].as_f64().unwrap();
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
    for over in ["load", "ethanol"] {
        let rows = rows_over(over, "premium-91");
        let (mut apart, mut same) = (0, 0);
        for cell in rows.iter().flat_map(|row| row["cells"].as_array().unwrap()) {
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
fn a_content_is_no_wish_of_a_fuel_without_gasoline() {
    let output = spark(&["--ethanol", "30", "--fuel", "e100"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code() == Some(2) && said.contains("e100 holds no gasoline"), "{said}");
}

/// The same load on its three axes, and the fuel at its own content: one cell, whatever the axis.
#[test]
fn axes_of_a_control_unit_meet_in_the_same_cell() {
    let cell = |load: &str| {
        maps(&["--fuel", "premium-91", "--rpm", "4000", "--load", load])[0]["rows"][0]["cells"][0].clone()
    };
    let half = cell("50 %");
    let pressure_pa = half["manifold_pressure_pa"].as_f64().unwrap();
    let air_mg = 1e6 * half["air_per_cylinder_kg"].as_f64().unwrap();
    // HAND: half of 99 kPa; half of some 0.6 L at 1.14 kg/m3 and a VE near 1.
    assert!((pressure_pa - 49_500.0).abs() < 1.0 && (air_mg - 340.0).abs() < 40.0, "{half}");
    for load in ["49.5 kPa".to_owned(), format!("{air_mg} mg"), format!("{} psi", pressure_pa / 6894.757)] {
        let same = cell(&load);
        for key in ["spark_deg_btdc", "start_spark_deg_btdc", "best_torque_spark_deg_btdc"] {
            let off = half[key].as_f64().unwrap() - same[key].as_f64().unwrap();
            assert!(off.abs() < 0.05, "{load}: {key} {off}");
        }
    }
    let beyond = cell("105 kPa");
    assert_eq!(beyond["beyond_full_load"], true);
    assert_eq!(beyond["spark_deg_btdc"], cell("100 %")["spark_deg_btdc"]);
}

#[test]
fn one_table_per_content_on_its_own_breakpoints() {
    let axes = ["--fuel", "premium-91", "--rpm", "3000,6000", "--load", "0.3,0.5 g", "--ethanol", "10,30,85"];
    let shown = text(&spark(&axes));
    for content in ["10", "30", "85"] {
        assert_eq!(shown.matches(&format!("premium-91 at {content} % ethanol")).count(), 1, "{shown}");
    }
    let csv = text(&spark(&[&axes[..], &["--format", "csv"]].concat()));
    let lines: Vec<Vec<&str>> = csv.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(lines[0], ["fuel", "table", "ethanol_vol_frac", "load_g", "3000", "6000"]);
    // Three contents of two loads in each table; what is stronger has no less timing to start from.
    let start: Vec<f64> = lines
        .iter()
        .filter(|l| l[1] == "start_spark_deg_btdc" && l[3] == "0.5000")
        .map(|l| l[4].parse().unwrap())
        .collect();
    assert!(start.len() == 3 && start[0] < start[1] && start[1] < start[2], "{start:?}");
    assert!(lines[1..].iter().all(|line| line.len() == 6 && line[1] != "knock_limited" || ["true", "false"].contains(&line[4])));
    // With a single load the contents are the rows of one table.
    let one =
        text(&spark(&["--fuel", "premium-91", "--rpm", "3000", "--load", "100 %", "--ethanol", "10,85"]));
    assert!(
        one.contains("over rpm and ethanol content") && one.matches("MBT timing, deg").count() == 1,
        "{one}"
    );
}

/// A light load where the engine only just turns: timing all the same, and no torque to lose.
#[test]
fn a_load_without_torque_still_has_its_timing() {
    let big = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/big-eight-6200.toml");
    let cell =
        &maps(&[big, "--fuel", "premium-91", "--rpm", "6000", "--load", "20 %"])[0]["rows"][0]["cells"][0]
            .clone();
    assert!(cell["torque_lost_frac"].is_null() && cell["best_torque_spark_deg_btdc"].is_number(), "{cell}");
}

#[test]
fn text_and_csv_hold_every_speed_and_the_cautions() {
    let shown = text(&spark(&["--fuel", "e85"]));
    assert!(shown.contains("never a calibration") && shown.contains("7500"));
    let (start, limit) = (shown.find("Timing to start from").unwrap(), shown.find("Likely limit").unwrap());
    assert!(start < limit && limit < shown.find("MBT timing, deg").unwrap());
    assert!(shown.lines().all(|line| line.chars().count() <= 100));
    let csv = text(&spark(&["--fuel", "e85", "--format", "csv"]));
    // A header, and five loads in eight tables, with eleven speeds beside four columns that name them.
    assert_eq!(csv.lines().count(), 1 + 5 * 8);
    assert!(csv.lines().all(|line| line.split(',').count() == 4 + 11));
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, plot) = (folder.path().join("map.csv"), folder.path().join("plots"));
    for bad in [
        ["--reserve", "2"],
        ["--reserve", "99 deg"],
        ["--load", "40,60"],
        ["--load", "0.05 g"],
        ["--rpm", "100"],
        ["--ethanol", "101"],
        ["--fuel", "no-such-fuel"],
    ] {
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
