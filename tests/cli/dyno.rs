//! `endgas dyno` as its user runs it.

use crate::common::cli::{endgas, entries, quiet, refused, run, scenario};
use serde_json::Value;
use std::path::Path;

fn pull(name: &str) -> String {
    format!("{}/scenarios/pulls/{name}.csv", env!("CARGO_MANIFEST_DIR"))
}

/// Standard output of `endgas dyno`, run from the folder of the project, so that lines break alike everywhere.
fn dyno(name: &str, log: &str, more: &[&str], status: i32) -> String {
    let (scenario, log) = (format!("scenarios/{name}.toml"), format!("scenarios/pulls/{log}.csv"));
    quiet(&[&["dyno", &scenario, &log], more].concat(), status)
}

fn json(name: &str, log: &str, more: &[&str], status: i32) -> Value {
    serde_json::from_str(&dyno(name, log, &[more, &["--format", "json"]].concat(), status)).unwrap()
}

#[test]
fn text_of_a_good_and_of_a_faulty_pull() {
    insta::assert_snapshot!("good", dyno("street-2000", "street-2000-pull-good", &["--show", "all"], 0));
    let faulty =
        dyno("street-2000", "street-2000-pull-over-corrected", &["--show=checks", "--units", "us"], 1);
    insta::assert_snapshot!("over_corrected_us", faulty);
}

#[test]
fn every_shipped_pull_fits_the_width_and_ends_with_its_status() {
    for (name, log, status, first) in [
        ("street-2000", "street-2000-pull-good", 0, "Consistent: "),
        ("circuit-2400", "circuit-2400-pull-good", 0, "Consistent: "),
        ("street-2000", "street-2000-pull-over-corrected", 1, "a correction factor that no standard gives"),
        ("street-2000", "street-2000-pull-corrected-already", 1, "corrected, though said to be as measured"),
        (
            "street-2000",
            "street-2000-pull-wrong-gear",
            1,
            "wrong gear, or wrong ratio of roller to engine rpm",
        ),
        ("street-2000", "street-2000-pull-over-smoothed", 0, "Doubtful: smoothing."),
        ("street-2000", "street-2000-pull-wrong-units", 1, "torque in lb-ft is labelled N m"),
        ("circuit-2400", "circuit-2400-pull-inflated", 1, "reads 22 % high everywhere"),
    ] {
        for units in ["metric", "us"] {
            let text = dyno(name, log, &["--units", units, "--show", "all"], status);
            let headline = text.split("\n\n").next().unwrap().replace('\n', " ");
            assert!(headline.contains(first), "{log}: {headline}");
            if let Some((_, said)) = headline.split_once("rpm is logged ") {
                // Made 1.30 times too high; steps of the causes beside it are 0.03.
                let said: f64 = said.split(' ').next().unwrap().parse().unwrap();
                assert!((said - 1.30).abs() < 0.035, "{log}: {headline}");
            }
            let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
            assert!(widest.chars().count() <= 100, "{log}: {widest}");
            assert!(text.contains("Not a calibration"));
            assert!(units == "metric" || metric_figure(&text).is_none(), "{log}: {:?}", metric_figure(&text));
        }
    }
}

/// A number with a metric unit behind it.
fn metric_figure(text: &str) -> Option<(&str, &str)> {
    const UNITS: [&str; 12] =
        ["kW", "N", "bar", "kPa", "mm", "C", "K", "km/h", "m/s", "kg/h", "g/kWh", "L/h"];
    let words: Vec<&str> = text.split_whitespace().collect();
    let bare = |word: &str| word.trim_matches(|c: char| ",;:.()".contains(c)).to_owned();
    words
        .windows(2)
        .map(|pair| (pair[0], pair[1]))
        .find(|(number, unit)| bare(number).parse::<f64>().is_ok() && UNITS.contains(&bare(unit).as_str()))
}

#[test]
fn json_holds_every_check_with_number_limits_source_and_reason() {
    let found = json("street-2000", "street-2000-pull-good", &[], 0);
    assert_eq!(found["verdict"], "consistent");
    assert_eq!(found["place"], "wheel");
    assert_eq!(found["corrected_by"], "SAE J1349 (2004 and later)");
    let checks = found["checks"].as_array().unwrap();
    assert_eq!(checks.len() + found["not_checked"].as_array().unwrap().len(), 21);
    for check in checks {
        let words = |value: &Value| value.as_str().unwrap().to_owned();
        assert!(check["measure"]["value"].is_number() && words(&check["reason"]).ends_with(['.', ')']));
        assert!(
            !words(&check["measure"]["source"]).is_empty() && !words(&check["measure"]["what"]).is_empty()
        );
        assert_eq!(words(&check["look_at"]).is_empty(), check["verdict"] == "consistent");
    }
    // Corrected figures are brought to the day and back to the standard.
    for point in found["curve"].as_array().unwrap() {
        let number = |key: &str| point[key].as_f64().unwrap();
        let factor = found["standard_factor"].as_f64().unwrap();
        assert!((number("corrected_power_kw") / number("power_kw") / factor - 1.0).abs() < 1e-9);
        let by_speed = number("torque_nm") * number("speed_rpm") * std::f64::consts::PI / 30e3;
        assert!((number("power_kw") / by_speed - 1.0).abs() < 1e-9);
    }
    let schema: Value = serde_json::from_str(&quiet(&["dyno", "--format", "schema"], 0)).unwrap();
    let keys = |value: &Value| value.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(keys(&schema["properties"]), keys(&found));
}

#[test]
fn the_day_comes_from_option_then_log_then_scenario() {
    let kelvin = |more: &[&str]| {
        let found = json("street-2000", "street-2000-pull-good", more, if more.is_empty() { 0 } else { 1 });
        found["air_temperature_k"].as_f64().unwrap()
    };
    assert!((kelvin(&[]) - 302.15).abs() < 1e-6);
    // On a day that the log was not corrected for, the logged factor is seen.
    assert!((kelvin(&["--air-temp", "0 C"]) - 273.15).abs() < 1e-6);
}

#[test]
fn the_fuel_and_who_chose_it_are_said() {
    let first = dyno("street-2000", "street-2000-pull-good", &[], 0);
    assert!(first.contains("Judged on regular-87, the first of the 4 fuels of the scenario"));
    let named = json("street-2000", "street-2000-pull-good", &["--fuel", "e30"], 0);
    assert_eq!(named["fuel"], "e30");
    assert!(named["notes"].as_array().unwrap().iter().all(|n| !n.as_str().unwrap().contains("first of")));
}

#[test]
fn options_say_what_a_log_does_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bare.csv");
    let good = std::fs::read_to_string(pull("circuit-2400-pull-good")).unwrap();
    // Without comments and without the row of units.
    let bare: String = good
        .lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("s;rpm"))
        .map(|l| format!("{l}\n"))
        .collect();
    std::fs::write(&path, bare).unwrap();
    let scenario = scenario("circuit-2400");
    let log = path.to_str().unwrap();
    let said = refused(&["dyno", &scenario, log]);
    assert!(
        said.contains("column \"torque\" has no unit") && said.contains("--column \"torque=torque in N m\""),
        "{said}"
    );
    let mapped = [
        "--column",
        "speed=speed in rpm",
        "--column",
        "torque=#3 in lbf ft",
        "--column",
        "power=power in hp",
        "--column",
        "air-temp=air temp in F",
        "--column",
        "pressure=baro in inHg",
        "--column",
        "humidity=humidity in %",
        "--at",
        "wheel",
        "--corrected",
        "none",
        "--format",
        "csv",
    ];
    let by_option = quiet(&[["dyno", scenario.as_str(), log].as_slice(), &mapped].concat(), 0);
    assert_eq!(by_option, dyno("circuit-2400", "circuit-2400-pull-good", &["--format", "csv"], 0));
    // A header and the speeds that both pulls reach.
    assert!(by_option.starts_with("speed_rpm,measured_wheel_torque_nm,") && by_option.lines().count() > 15);
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.txt");
    let (scenario, good) = (scenario("street-2000"), pull("street-2000-pull-good"));
    let bad = format!("{}/tests/bad_pulls/not_a_number.csv", env!("CARGO_MANIFEST_DIR"));
    for (arguments, words) in [
        (vec!["dyno"], "name a scenario and a log"),
        (vec!["dyno", &scenario], "name a scenario and a log"),
        (vec!["dyno", &scenario, "no-such-log.csv"], "cannot read no-such-log.csv"),
        (vec!["dyno", &scenario, &bad], "1 problem in"),
        (vec!["dyno", &good, &good], "street-2000-pull-good.csv"),
        (vec!["dyno", &scenario, &good, "--fuel", "no-such-fuel"], "no-such-fuel"),
        (vec!["dyno", &scenario, &good, "--corrected", "SAE"], "standards are none, sae-j1349"),
        (vec!["dyno", &scenario, &good, "--standard", "none"], "standards are sae-j1349"),
        (vec!["dyno", &scenario, &good, "--column", "boost=MAP"], "quantities are speed"),
        (vec!["dyno", &scenario, &good, "--afr-stoich", "0.9"], "5 to 20"),
        (vec!["dyno", "--format", "schema", "--plot", "x"], "--plot draws a result"),
    ] {
        let arguments = [arguments.as_slice(), &["--out", out.to_str().unwrap()]].concat();
        let said = refused(&arguments);
        assert!(said.contains(words), "{arguments:?}: {said}");
        assert!(entries(folder.path()).is_empty(), "{arguments:?}");
    }
}

#[test]
fn speeds_that_do_not_meet_are_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("high.csv");
    let rows: String = (0..20).map(|i| format!("{},100\n", 7000 + 100 * i)).collect();
    std::fs::write(&log, format!("rpm,torque (Nm)\n{rows}")).unwrap();
    let said = refused(&["dyno", &scenario("street-2000"), log.to_str().unwrap()]);
    assert!(said.contains("the log covers 7000 to 8900 rpm"), "{said}");
    assert!(said.contains("the scenario 1500 to 6500 rpm") && said.contains("share 0 rpm points"), "{said}");
}

#[test]
fn the_plot_is_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let (scenario, good) = (scenario("street-2000"), pull("street-2000-pull-good"));
    let output = run(&["dyno", &scenario, &good, "--plot", folder.path().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(entries(folder.path()), ["pull.png", "pull.svg"]);
    let svg = std::fs::read_to_string(Path::new(folder.path()).join("pull.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("10th to 90th percentile") && !svg.contains("NaN"));
}

#[test]
fn a_log_is_read_from_standard_input_once() {
    let log = std::fs::read(pull("street-2000-pull-good")).unwrap();
    let street = scenario("street-2000");
    let piped = |arguments: &[&str]| endgas().args(arguments).write_stdin(log.clone()).output().unwrap();
    let of_file =
        run(&["dyno", &street, &pull("street-2000-pull-good"), "--samples", "50", "--format", "csv"]);
    let of_input = piped(&["dyno", &street, "-", "--samples", "50", "--format", "csv"]);
    assert_eq!((of_input.status, of_input.stdout), (of_file.status, of_file.stdout));
    let twice = piped(&["dyno", "-", "-"]);
    assert_eq!(twice.status.code(), Some(2));
    assert!(String::from_utf8(twice.stderr).unwrap().contains("more than once"));
}
