//! Bad scenario files: each file of `tests/bad` holds one mistake (one holds many); the messages are
//! kept as snapshots, and what matters about them is asserted here.

use endgas::scenario::{Diagnostics, Problem, ProblemKind, read};

fn bad(name: &str) -> (String, Diagnostics) {
    let path = format!("{}/tests/bad/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    let problems = read(&format!("{name}.toml"), &text).unwrap_err();
    (text, problems)
}

/// The single problem of a file, which must stand on the line that starts with `line_start`.
fn only(name: &str, line_start: &str) -> Problem {
    let (text, Diagnostics(problems)) = bad(name);
    assert_eq!(problems.len(), 1, "{name}: {problems:#?}");
    let line = text.lines().position(|line| line.starts_with(line_start)).unwrap() + 1;
    assert_eq!(problems[0].line, line, "{name}: {}", problems[0]);
    problems[0].clone()
}

#[test]
fn messages_of_every_bad_file() {
    insta::glob!("..", "bad/*.toml", |path| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(path).unwrap();
        let problems = read(&name, &text).unwrap_err();
        insta::with_settings!({ description => text.lines().next().unwrap().to_owned(), omit_expression => true }, {
            insta::assert_snapshot!(problems);
        });
    });
}

#[test]
fn one_mistake_is_one_problem_on_its_line() {
    for (name, line_start, key) in [
        ("bore_in_metres", "bore_mm", "engine.bore_mm"),
        ("bore_key_in_inches", "bore_in", "engine.bore_in"),
        ("unknown_key", "storke_mm", "engine.storke_mm"),
        ("unknown_section", "[wether]", "wether"),
        ("key_in_wrong_section", "burn_speed", "valves.burn_speed"),
        ("missing_key", "[engine]", "engine.cylinders"),
        ("bore_in_another_quantity", "bore", "engine.bore"),
        ("bore_without_unit", "bore", "engine.bore"),
        ("bore_too_large_in_inches", "bore", "engine.bore"),
        ("bore_by_two_names", "bore =", "engine.bore"),
        ("bore_and_displacement", "displacement", "engine.displacement"),
        ("valve_events_in_part", "[valves]", "valves.overlap_deg"),
        ("peak_without_kind", "[breathing]", "breathing.kind"),
        ("pipes_and_peak", "[breathing.pipes]", "breathing.pipes"),
        ("pipes_without_kind", "[breathing.pipes]", "breathing.kind"),
        ("pipes_with_two_openings", "carburettor_flow", "breathing.pipes.carburettor_flow_cfm"),
        ("pipes_plenum_of_throttles", "plenum_cc", "breathing.pipes.plenum_cc"),
        ("pipes_runner_in_metres", "runner_length_mm", "breathing.pipes.runner_length_mm"),
        ("pipes_depression_alone", "carburettor_depression", "breathing.pipes.carburettor_depression_kpa"),
        ("pipes_follows_without_rpm", "[breathing.pipes.follows]", "breathing.pipes.follows.speed_rpm"),
        ("pipes_flow_in_percent", "flow_factor", "breathing.pipes.flow_factor"),
        ("table_without_valves", "[breathing]", "breathing"),
        ("ratio_as_text", "compression_ratio", "engine.compression_ratio"),
        ("ratio_missing", "[engine]", "engine.compression_ratio"),
        ("ratio_and_volumes", "compression_ratio", "engine.compression_ratio"),
        ("ratio_from_volumes_too_high", "[engine.volumes]", "engine.volumes"),
        ("gasket_smaller_than_bore", "gasket_bore_mm", "engine.volumes.gasket_bore_mm"),
        ("chamber_once_and_by_cylinder", "chamber_cc_by", "engine.volumes.chamber_cc_by_cylinder"),
        ("chamber_list_too_short", "chamber_cc_by", "engine.volumes.chamber_cc_by_cylinder"),
        ("chamber_missing", "[engine.volumes]", "engine.volumes.chamber_cc"),
        ("relief_negative", "relief_cc", "engine.volumes.relief_cc"),
        ("tolerance_negative", "dome_tolerance_cc", "engine.volumes.dome_tolerance_cc"),
        ("crevice_and_ring_land", "ring_land_height_mm", "engine.volumes.ring_land_height_mm"),
        ("ring_land_without_clearance", "ring_land_height_mm", "engine.volumes.ring_land_height_mm"),
        ("head_cut_wider_than_gasket", "head_cut", "engine.volumes.head_cut_cc_per_mm"),
        ("one_piston_touches_the_head", "deck_c", "engine.volumes.deck_clearance_mm_by_cylinder"),
        ("one_cylinder_out_of_range", "[engine.volumes]", "engine.volumes"),
        ("half_a_cylinder", "cylinders", "engine.cylinders"),
        ("follows_of_different_length", "friction_percent", "breathing.follows.friction_percent"),
        ("spread_without_loss", "measured_loss_spread", "driveline.measured_loss_spread_percent"),
        ("rod_too_short", "rod_length_mm", "engine.rod_length_mm"),
        ("valves_too_large", "[valves]", "valves"),
        ("unknown_word", "chamber", "combustion.chamber"),
        ("band_and_table", "speed_rpm", "breathing.speed_rpm"),
        ("band_and_port_flow", "bench_depression_in_h2o", "breathing.bench_depression_in_h2o"),
        ("port_flow_and_table", "bench_depression_in_h2o", "breathing.bench_depression_in_h2o"),
        ("port_flow_and_coefficient", "bench_lift_mm", "breathing.bench_lift_mm"),
        ("port_flow_without_cam", "bench_lift_mm", "breathing.bench_lift_mm"),
        ("port_flow_in_two_units", "bench_flow_cfm", "breathing.bench_flow_cfm"),
        ("port_flow_of_one_valve", "bench_lift_mm", "breathing.bench_lift_mm"),
        ("port_flow_lifts_fall", "bench_lift_mm", "breathing.bench_lift_mm"),
        ("depression_in_wrong_unit", "bench_depression_pa", "breathing.bench_depression_pa"),
        ("ram_gain_falls", "ram_gain_percent", "breathing.ram_gain_percent"),
        ("breathing_missing", "[breathing]", "breathing.peak_power_rpm"),
        ("peaks_reversed", "peak_torque_rpm", "breathing.peak_torque_rpm"),
        ("peak_by_two_names", "peak_speed_rpm", "breathing.peak_speed_rpm"),
        ("peaks_missing", "[breathing]", "breathing.peak_power_rpm"),
        ("older_kind", "kind", "breathing.kind"),
        ("coolant_and_head", "head_temperature_c", "combustion.head_temperature_c"),
        ("table_not_rising", "speed_rpm", "breathing.speed_rpm"),
        ("table_of_different_lengths", "volumetric_efficiency", "breathing.volumetric_efficiency"),
        ("table_in_percent", "volumetric_efficiency", "breathing.volumetric_efficiency[2]"),
        ("not_a_number", "air_temperature_c", "weather.air_temperature_c"),
        ("injector_in_pounds", "injector_flow_cc_per_min", "fueling.injector_flow_cc_per_min"),
        ("injector_without_pressure", "[fueling]", "fueling.at_pressure_kpa"),
        ("fuel_pressure_in_bar", "fuel_pressure_kpa", "fueling.fuel_pressure_kpa"),
        ("duty_in_percent", "duty_limit", "fueling.duty_limit"),
        ("pump_without_pressure", "[fueling]", "fueling.fuel_pressure_kpa"),
        ("costs_in_part", "[costs]", "costs.ratio"),
        ("cost_negative", "head", "costs.head"),
        ("infinite", "peak_torque_rpm", "breathing.peak_torque_rpm"),
        ("temperature_in_fahrenheit", "air_temperature_c", "weather.air_temperature_c"),
        ("pressure_and_altitude", "altitude_m", "weather.altitude_m"),
        ("pressure_missing", "[choose.worst_weather]", "choose.worst_weather.pressure_kpa"),
        ("lambda_as_air_fuel_ratio", "lambda", "fuels.lambda"),
        ("lambda_for_a_stranger", "lambda_for", "fuels.lambda_for.e-85"),
        ("fuel_twice", "run", "fuels.run[3]"),
        ("fuel_not_in_a_list", "run", "fuels.run"),
        ("speeds_fall", "to_rpm", "speed.to_rpm"),
        ("too_many_speeds", "step_rpm", "speed.step_rpm"),
        ("spark_window_reversed", "latest_deg_btdc", "spark.latest_deg_btdc"),
        ("section_as_list", "[[injection]]", "injection"),
        ("empty_name", "name", "scenario.name"),
        ("number_as_table", "bore_mm", "engine.bore_mm"),
        ("control_character", "name", "scenario.name"),
        ("key_without_section", "bore_mm", "bore_mm"),
    ] {
        assert_eq!(only(name, line_start).key, key, "{name}");
    }
}

#[test]
fn hints_say_what_was_meant() {
    for (name, line_start, hint) in [
        ("bore_in_metres", "bore_mm", "0.086 looks like metres; the key is in millimetres"),
        ("temperature_in_fahrenheit", "air_temperature_c", "degrees Fahrenheit"),
        ("lambda_as_air_fuel_ratio", "lambda", "an air-fuel ratio of gasoline; the key takes lambda"),
        ("table_in_percent", "volumetric_efficiency", "looks like per cent"),
        ("depression_in_wrong_unit", "bench_depression_pa", "28 looks like inches of water"),
        ("port_flow_of_one_valve", "bench_lift_mm", "all intake valves of one cylinder"),
        ("ratio_as_text", "compression_ratio", "write 11.0 alone"),
        ("bore_too_large_in_inches", "bore", "that is 1024 mm"),
        ("key_in_wrong_section", "burn_speed", "burn_speed belongs in [combustion]"),
        ("key_without_section", "bore_mm", "bore_mm belongs in [engine]"),
        ("bore_key_in_inches", "bore_in", "give the value with its unit"),
        ("lambda_for_a_stranger", "lambda_for", "\"e85\""),
    ] {
        let found = only(name, line_start).hint.unwrap_or_default();
        assert!(found.contains(hint), "{name}: {found}");
    }
}

#[test]
fn kinds_carry_the_nearest_key_or_word() {
    let key = only("unknown_key", "storke_mm");
    assert!(matches!(key.kind, ProblemKind::UnknownKey { nearest: Some("stroke_mm"), .. }), "{key}");
    let section = only("unknown_section", "[wether]");
    assert!(matches!(section.kind, ProblemKind::UnknownKey { nearest: Some("weather"), .. }), "{section}");
    let nan = only("not_a_number", "air_temperature_c");
    assert!(matches!(nan.kind, ProblemKind::NotFinite { .. }), "{nan}");
    let word = only("unknown_word", "chamber");
    let ProblemKind::UnknownWord { nearest, .. } = word.kind else { panic!("{word}") };
    assert_eq!(nearest.as_deref(), Some("pent-roof"));
}

#[test]
fn every_syntax_error_has_its_line() {
    let (_, Diagnostics(problems)) = bad("syntax");
    let lines: Vec<usize> = problems.iter().map(|problem| problem.line).collect();
    assert_eq!(lines, [7, 26], "{problems:#?}");
    assert!(problems.iter().all(|problem| matches!(problem.kind, ProblemKind::Syntax { .. })));
    assert_eq!(problems[0].hint.as_deref(), Some("write a decimal point, not a comma"));
    let (_, Diagnostics(problems)) = bad("key_twice");
    assert_eq!(problems.len(), 1);
    assert_eq!(problems[0].line, 8);
}

#[test]
fn a_quoted_line_is_safe_to_print() {
    let problems = read("escape", "bore_mm = \u{1b}[31m").unwrap_err().to_string();
    assert!(problems.chars().all(|c| c == '\n' || !c.is_control()), "{problems:?}");
}

#[test]
fn many_mistakes_are_all_reported() {
    let (_, Diagnostics(problems)) = bad("many_mistakes");
    let found: Vec<(usize, &str)> = problems.iter().map(|p| (p.line, p.key.as_str())).collect();
    let expected = [
        (6, "engine.cylinders"),
        (7, "engine.bore_mm"),
        (8, "engine.storke_mm"),
        (10, "engine.compression_ratio"),
        (13, "valves.inlet_count"),
        (19, "valves.overlap_deg"),
        (22, "breathing.kind"),
        (25, "combustoin"),
        (26, "combustoin.chamber"),
        (32, "weather.air_temperature_c"),
        (36, "fuels.run"),
        (40, "speed.to_rpm"),
    ];
    assert_eq!(found.len(), expected.len(), "{problems:#?}");
    for ((line, key), (expected_line, expected_key)) in found.into_iter().zip(expected) {
        assert!(line == expected_line && key.starts_with(expected_key), "{line} {key}: {expected_key}");
    }
}

#[test]
fn an_empty_file_is_told_every_section_it_needs() {
    let (_, Diagnostics(problems)) = bad("empty");
    let keys: Vec<&str> = problems.iter().map(|problem| problem.key.as_str()).collect();
    assert_eq!(keys, ["engine", "breathing", "fuels"]);
}
