//! Every scenario that ships reads, and reads as what it says.

use approx::assert_relative_eq;
use endgas::engine::{Breathing, BuildKind, Cooling, Injection, Layout, PeakSpeeds};
use endgas::scenario::{DEMO, Expected, ProblemKind, Scenario, read};

fn shipped(name: &str) -> Scenario {
    let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    read(name, &text).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn every_shipped_file_reads() {
    let folder = format!("{}/scenarios", env!("CARGO_MANIFEST_DIR"));
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        // `pulls` holds logs, which tests/dyno/pulls.rs keeps.
        if path.is_dir() {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let label = path.file_name().unwrap().to_string_lossy().into_owned();
        if let Err(problems) = read(&label, &text) {
            panic!("{problems}");
        }
        assert!(text.contains("Invented"), "{label} does not say that it is invented");
        assert!(text.lines().all(|line| line.chars().count() <= 120), "{label} has an overlong line");
        count += 1;
    }
    assert!(count >= 3);
}

/// HAND: pi/4 0.0935^2 0.0874 4 = 2.4004e-3 m3; 25 C = 298.15 K; 99 kPa = 99 000 Pa.
#[test]
fn demo_is_what_its_text_says() {
    let demo = read("demo", DEMO).unwrap();
    let geometry = demo.build.geometry;
    assert_relative_eq!(geometry.displacement_m3(), 2.4004e-3, max_relative = 1e-4);
    assert_relative_eq!(geometry.rod_length_m, 0.150);
    assert_relative_eq!(geometry.compression_ratio.get(), 12.5);
    assert_relative_eq!(demo.build.valves.inlet_diameter_m, 0.0365);
    let peaks = PeakSpeeds::Both { torque_rpm: 5800.0, power_rpm: 7300.0 };
    assert_eq!(
        demo.build.breathing,
        Breathing::Band { kind: BuildKind::SportFourValve, peaks, closes_deg_abdc: 60.0 }
    );
    assert_eq!(demo.build.injection, Injection::Port);
    assert_eq!(demo.build.driveline.layout, Layout::RearManual);
    assert_eq!(demo.build.limits.peak_pressure_pa, Some(110.0e5));
    assert_relative_eq!(demo.weather.temperature_k, 298.15);
    assert_relative_eq!(demo.weather.pressure_pa, 99_000.0);
    assert_relative_eq!(demo.weather.relative_humidity, 0.4);
    let fuels: Vec<_> = demo.fuels.iter().map(|f| (f.spec.as_str(), f.lambda.unwrap().get())).collect();
    assert_eq!(fuels, [("premium-91", 0.88), ("premium-93", 0.88), ("e30", 0.88), ("e85", 0.86)]);
    let expected: Vec<f64> = (5..=15).map(|i| f64::from(i) * 500.0).collect();
    assert_eq!(demo.speeds_rpm, expected);
    let run = DEMO.lines().position(|line| line.starts_with("run = ")).unwrap() + 1;
    assert!(demo.fuels.iter().all(|fuel| fuel.line == run));
}

/// HAND: swept 499.5 cc; clearance 46.2 + 1.8 + 1.72 + 5.35 + 0.4 = 55.47 cc; 1 + 499.5 / 55.47 = 10.005.
/// HAND: 101 325 (1 - 2.25577e-5 150)^5.25588 = 99 536 Pa.
#[test]
fn street_four_takes_its_ratio_from_volumes() {
    let street = shipped("street-2000");
    let volumes = street.volumes.unwrap();
    assert_relative_eq!(volumes.dome_m3, -1.8e-6);
    assert_relative_eq!(street.build.geometry.compression_ratio.get(), 10.005, max_relative = 2e-4);
    assert_relative_eq!(street.build.geometry.clearance_volume_m3(), 55.47e-6, max_relative = 2e-4);
    assert_relative_eq!(street.weather.pressure_pa, 99_536.0, max_relative = 2e-5);
    assert_eq!(street.spark.earliest_deg_btdc, 50.0);
    assert_eq!(street.spark.latest_deg_btdc, -10.0);
    assert_relative_eq!(street.build.combustion.wall_temperature_k, 473.15);
    assert_relative_eq!(street.build.valves.mean_flow_coefficient, 0.40);
}

#[test]
fn big_eight_has_a_table() {
    let eight = shipped("big-eight-6200");
    let Breathing::Table { speed_rpm, volumetric_efficiency, spread, .. } = eight.build.breathing else {
        panic!("a table was given")
    };
    assert_eq!(speed_rpm, [1500.0, 2500.0, 3500.0, 4500.0, 5500.0, 6500.0]);
    assert_eq!(volumetric_efficiency, [0.80, 0.87, 0.92, 0.95, 0.91, 0.84]);
    assert_relative_eq!(spread, 0.04);
    assert_eq!(eight.build.injection, Injection::Direct);
    assert_relative_eq!(eight.build.geometry.displacement_m3(), 6.202e-3, max_relative = 1e-3);
}

/// The text with every line in use that was commented out, sections and keys alike.
fn uncommented(text: &str) -> String {
    let line_in_use = |line: &str| {
        let bare = line.strip_prefix("# ").unwrap_or(line);
        let is_setting =
            bare.starts_with('[') || bare.split_once(" = ").is_some_and(|(key, _)| !key.contains(' '));
        if is_setting { bare.to_owned() } else { line.to_owned() }
    };
    text.lines().map(line_in_use).collect::<Vec<_>>().join("\n")
}

/// The range that a comment states, such as "40 to 150" in "bore_mm = 93.5   # 40 to 150".
fn stated_range(line: &str) -> Option<(&str, f64, f64)> {
    let (key, rest) = line.split_once(" = ")?;
    let (value, comment) = rest.split_once('#')?;
    value.trim().parse::<f64>().ok()?;
    let mut words = comment.split_whitespace();
    let low = words.next()?.parse().ok()?;
    let high = words.nth(1)?.trim_end_matches([',', ';']).parse().ok()?;
    Some((key, low, high))
}

/// Lines that are commented out can be put in use, and every range in the comments is the one enforced.
#[test]
fn comments_state_the_true_ranges() {
    let mut count = 0;
    for name in ["circuit-2400", "street-2000", "big-eight-6200", "ported-four-1800", "piped-four-2000"] {
        let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = uncommented(&std::fs::read_to_string(path).unwrap());
        if let Err(problems) = read(name, &text) {
            panic!("{name} with everything in use: {problems}");
        }
        for line in text.lines() {
            let Some((key, low, high)) = stated_range(line) else { continue };
            let problems = read(name, &text.replace(line, &format!("{key} = 1e9"))).unwrap_err();
            let [problem] = &problems.0[..] else { panic!("{problems}") };
            let ProblemKind::OutOfRange { expected } = &problem.kind else { panic!("{problem}") };
            let enforced = match *expected {
                Expected::Number(allowed) => (allowed.low, allowed.high),
                Expected::Count { low, high } => (f64::from(low), f64::from(high)),
                _ => panic!("{problem}"),
            };
            assert_eq!(enforced, (low, high), "{name}: {line}");
            count += 1;
        }
    }
    assert!(count >= 70, "only {count} comments were read");
}

/// HAND: a coefficient in proportion to lift has half its greatest value as mean. Ideal
/// flow at 28 in of water 103.58 m/s (see `src/engine/port_flow.rs`); head area 2 pi/4 0.034^2 = 1.8158e-3 m2;
/// greatest flow 220 cfm = 0.10383 m3/s: coefficient 0.10383 / 0.18808 = 0.5520, mean 0.2760 at 260 deg.
#[test]
fn port_flow_sets_the_mean_flow_coefficient_and_says_so() {
    let text = DEMO
        .replace("mean_flow_coefficient = 0.42", "")
        .replace("inlet_diameter_mm = 36.5", "inlet_diameter_mm = 34.0")
        .replace(
            "kind = \"sport-four-valve\"",
            "cam_max_lift_mm = 10\ncam_duration_deg = 260\nbench_depression_in_h2o = 28",
        )
        .replace("peak_torque_rpm = 5800", "bench_lift_mm = [5, 10]\nbench_flow_cfm = [110, 220]\n#")
        .replace("peak_power_rpm = 7300", "#");
    let build = read("port flow", &text).unwrap_or_else(|problems| panic!("{problems}")).build;
    assert!(matches!(build.breathing, Breathing::PortFlow(_)));
    assert_relative_eq!(build.valves.mean_flow_coefficient, 0.2760, max_relative = 1e-3);
    let source = build.breathing_source().to_string();
    assert!(source.contains("from port flow and cam") && source.contains("coefficient 0.28"), "{source}");
}

/// A scenario of version 0.1 names the torque peak otherwise: it is read, and said.
#[test]
fn the_older_name_of_the_torque_peak_is_read_with_a_remark() {
    let old =
        DEMO.replace("peak_torque_rpm = 5800", "peak_speed_rpm = 5800").replace("peak_power_rpm = 7300", "#");
    let scenario = read("old.toml", &old).unwrap();
    let Breathing::Band { peaks, .. } = scenario.build.breathing else { panic!("a band") };
    assert_eq!(peaks, PeakSpeeds::Torque(5800.0));
    let [remark] = &scenario.remarks[..] else { panic!("{:?}", scenario.remarks) };
    let line = old.lines().position(|line| line.starts_with("peak_speed_rpm")).unwrap() + 1;
    assert!(
        remark.starts_with(&format!("old.toml:{line}: ")) && remark.contains("peak_torque_rpm"),
        "{remark}"
    );
    assert!(read("demo", DEMO).unwrap().remarks.is_empty());
}

/// HAND: 180 C = 453.15 K; the port 40 K below the head, the walls 40 K above it; 90 C of coolant: walls at 200 C.
#[test]
fn an_air_cooled_head_warms_port_and_walls() {
    let text = std::fs::read_to_string("scenarios/air-twin-1100.toml").unwrap();
    let combustion = read("air", &text).unwrap().build.combustion;
    assert_eq!(combustion.cooling, Cooling::Air { head_temperature_k: 453.15 });
    assert_relative_eq!(combustion.cooling.port_temperature_k(), 413.15);
    assert_relative_eq!(combustion.wall_temperature_k, 493.15);
    let liquid = Cooling::USUAL;
    assert_relative_eq!(liquid.port_temperature_k(), 363.15);
    assert_relative_eq!(liquid.usual_wall_temperature_k(), 473.15);
}

/// HAND: 85.5 mm = 3.36614 in, 25 C = 77 F, 150 m = 492.126 ft, 46.0 cc = 2.80710 cu in.
#[test]
fn the_same_engine_in_other_units_is_the_same() {
    let path = format!("{}/scenarios/street-2000.toml", env!("CARGO_MANIFEST_DIR"));
    let metric = std::fs::read_to_string(path).unwrap();
    let mut us = metric.clone();
    for (from, to) in [
        ("bore_mm = 85.5", "bore = \"3.366142 in\""),
        ("air_temperature_c = 25.0", "air_temperature = \"77 F\""),
        ("altitude_m = 150.0", "altitude_m = \"492.126 ft\""),
        ("[46.0, 46.5, 46.1, 46.2]", "[\"2.807103 cu in\", 46.5, 46.1, 46.2]"),
        ("peak_power_rpm = 6000", "peak_power = \"6000 rpm\""),
    ] {
        assert!(us.contains(from), "{from}");
        us = us.replace(from, to);
    }
    let (metric, us) = (read("metric", &metric).unwrap(), read("us", &us).unwrap_or_else(|e| panic!("{e}")));
    assert_relative_eq!(us.build.geometry.bore_m, metric.build.geometry.bore_m, max_relative = 1e-6);
    assert_relative_eq!(us.weather.temperature_k, metric.weather.temperature_k, max_relative = 1e-9);
    assert_relative_eq!(us.weather.pressure_pa, metric.weather.pressure_pa, max_relative = 1e-9);
    let ratio = |scenario: &Scenario| scenario.build.geometry.compression_ratio.get();
    assert_relative_eq!(ratio(&us), ratio(&metric), max_relative = 1e-6);
    assert_eq!(us.build.breathing, metric.build.breathing);
}
