//! The schemas of scenario and fuel files: they take all that is shipped and refuse what a key alone makes wrong.

use super::{Schema, endgas, json_of, printed_schema, toml_files};
use endgas::scenario::{ProblemKind, read, starter};
use serde_json::Value;
use std::fs::read_to_string;
use toml::{Table, Value as Toml};

/// Files of `tests/bad` that the schema takes, for no schema of single keys can see what is wrong.
const ONLY_TOGETHER: &[(&str, &str)] = &[
    ("cam_advertised_too_short", "a duration computed from several keys"),
    ("cam_and_port_flow_cam", "keys of two sections exclude each other"),
    ("cam_that_closes_too_early", "an angle computed from several keys"),
    ("port_flow_without_cam", "keys of two sections stand for each other"),
    ("chamber_list_too_short", "as many entries as cylinders"),
    ("choose_band_of_a_peak", "speeds go with one word of another key"),
    ("choose_contents_reversed", "two numbers must rise"),
    ("choose_knock_under_control", "a number goes with words of another key"),
    ("choose_no_fuel_counts", "a product of numbers must not be 0 for every fuel"),
    ("choose_piston_outside", "a number between two others"),
    ("choose_ratios_too_near", "two numbers must differ"),
    ("choose_weight_for_a_stranger", "a name out of another list"),
    ("follows_of_different_length", "two lists of one length"),
    ("fuel_twice", "names are the same when trimmed"),
    ("gasket_smaller_than_bore", "a number above another"),
    ("head_cut_wider_than_gasket", "an area within another"),
    ("lambda_for_a_stranger", "a name out of another list"),
    ("one_cylinder_out_of_range", "a ratio computed from several keys"),
    ("one_piston_touches_the_head", "a sum must be above 0"),
    ("peaks_reversed", "two numbers must rise"),
    ("pipes_plenum_of_throttles", "a number goes with words of another key"),
    ("port_flow_and_coefficient", "keys of two sections exclude each other"),
    ("port_flow_lifts_fall", "a list must rise"),
    ("port_flow_of_one_valve", "a coefficient computed from several keys"),
    ("ram_gain_falls", "a list must rise"),
    ("ratio_from_volumes_too_high", "a ratio computed from several keys"),
    ("rod_too_short", "a number above a multiple of another"),
    ("spark_window_reversed", "two numbers must rise"),
    ("speeds_fall", "two numbers must rise"),
    ("table_not_rising", "a list must rise"),
    ("table_of_different_lengths", "two lists of one length"),
    ("tolerance_too_wide", "an uncertainty computed from several keys"),
    ("bore_too_large_in_inches", "a number with its unit, in text"),
    ("table_without_valves", "one section stands in for another"),
    ("too_many_speeds", "a count computed from three numbers"),
    ("valves_too_large", "areas computed from several keys"),
    ("swing_of_different_length", "two lists of one length"),
    ("swing_of_one_timing", "two numbers must differ"),
];

/// Files of `tests/bad` that a TOML parser refuses (one for a number beyond its range), so that no schema sees them.
const NO_TOML: &[&str] = &["infinite", "key_twice", "syntax"];

#[test]
fn the_schema_takes_every_shipped_scenario() {
    let schema = printed_schema(&["schema", "scenario"]);
    for file in toml_files("scenarios") {
        let document = json_of(&read_to_string(&file).unwrap()).unwrap();
        assert_eq!(schema.refusal(&document), None, "{}", file.display());
    }
}

#[test]
fn the_schema_refuses_every_bad_scenario_but_those_that_only_cross_checks_find() {
    let schema = printed_schema(&["schema", "scenario"]);
    let mut wrong = Vec::new();
    let mut seen = 0;
    for file in toml_files("tests/bad") {
        let name = file.file_stem().unwrap().to_str().unwrap();
        let Ok(document) = json_of(&read_to_string(&file).unwrap()) else {
            assert!(NO_TOML.contains(&name), "{name} is no TOML");
            continue;
        };
        let is_listed = ONLY_TOGETHER.iter().any(|(listed, why)| *listed == name && !why.is_empty());
        seen += usize::from(is_listed);
        if schema.refusal(&document).is_none() != is_listed {
            wrong.push(name.to_owned());
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
    assert_eq!(seen, ONLY_TOGETHER.len(), "a file is listed that is not there");
}

#[test]
fn every_key_of_a_shipped_scenario_is_described_with_its_range() {
    let schema: Value = serde_json::from_str(&super::printed(&["schema", "scenario"])).unwrap();
    let bore = &schema["properties"]["engine"]["properties"]["bore_mm"];
    assert_eq!((&bore["minimum"], &bore["maximum"]), (&Value::from(40), &Value::from(150)));
    assert!(bore["description"].as_str().unwrap().ends_with("In millimetres."));
    let heat = &schema["properties"]["combustion"]["properties"]["heat_factor"];
    assert_eq!(heat["default"], 1.0);
    assert!(!heat["description"].as_str().unwrap().contains("as here"));
    fn check(path: &str, section: &Value) -> usize {
        let Some(keys) = section["properties"].as_object() else { return 0 };
        assert_eq!(section["additionalProperties"], false, "{path}");
        let inside = keys.iter().map(|(key, value)| {
            let is_section = value.get("properties").is_some();
            assert!(is_section || value["description"].is_string(), "{path}.{key}");
            check(&format!("{path}.{key}"), value)
        });
        keys.len() + inside.sum::<usize>()
    }
    assert!(check("", &schema) > 100);
}

#[test]
fn the_schemas_take_every_shipped_fuel() {
    let (component, pump) = (printed_schema(&["schema", "component"]), printed_schema(&["schema", "pump"]));
    for folder in ["fuels/components", "fuels/pump", "fuels/examples"] {
        for file in toml_files(folder) {
            let document = json_of(&read_to_string(&file).unwrap()).unwrap();
            let is_component = document["kind"] == "component";
            let (own, other) = if is_component { (&component, &pump) } else { (&pump, &component) };
            assert_eq!(own.refusal(&document), None, "{}", file.display());
            assert!(other.refusal(&document).is_some(), "{}", file.display());
        }
    }
}

/// Fuel files of `tests/bad_fuels` that the schema takes, for no schema of single keys can see what is wrong.
const FUELS_ONLY_TOGETHER: &[&str] = &[
    "name_taken",
    "octane_missing",
    "octane_without_carbon",
    "polynomial_of_no_vapour",
    "pump_contents_not_rising",
    "pump_ethanol_in_its_base",
    "pump_name_shipped",
    "pump_replaces_another",
    "pump_replaces_nothing",
    "pump_without_base",
    "shares_not_of_one",
    "surrogate_of_a_stranger",
];

#[test]
fn the_schemas_refuse_every_bad_fuel_but_those_that_only_the_library_finds() {
    let (component, pump) = (printed_schema(&["schema", "component"]), printed_schema(&["schema", "pump"]));
    for file in toml_files("tests/bad_fuels") {
        let name = file.file_stem().unwrap().to_str().unwrap();
        let Ok(document) = json_of(&read_to_string(&file).unwrap()) else {
            assert_eq!(name, "syntax_in_a_long_line");
            continue;
        };
        let schema = if name.starts_with("pump") { &pump } else { &component };
        let is_taken = FUELS_ONLY_TOGETHER.contains(&name);
        assert_eq!(schema.refusal(&document).is_none(), is_taken, "{name}");
    }
}

/// Each change makes a fuel file wrong; the program and the schema must both refuse it.
#[test]
fn what_the_program_refuses_of_a_fuel_the_schema_refuses_too() {
    let component = printed_schema(&["schema", "component"]);
    let pump = printed_schema(&["schema", "pump"]);
    let race = include_str!("../../fuels/examples/race-base.toml");
    let e85 = include_str!("../../fuels/pump/e85.toml").replace("\"e85\"", "\"my-e85\"");
    let pure = include_str!("../../fuels/components/ethanol.toml").replace("\"ethanol\"", "\"my-spirit\"");
    let changed = |text: &str, key: &str, line: &str| {
        let lines = text.lines().map(|old| if old.starts_with(&format!("{key} =")) { line } else { old });
        lines.collect::<Vec<_>>().join("\n")
    };
    for (schema, text, key, line) in [
        (&component, pure.as_str(), "carbon", "carbon = 21"),
        (&component, &pure, "carbon", "carbon = \"two\""),
        (&component, &pure, "hydrogen", "hydrogen = 0.5"),
        (&component, &pure, "hydrogen", ""),
        (&component, &pure, "oxygen", "oxygen = -1"),
        (&component, &pure, "oxygen", "hydrogen_to_carbon = 3"),
        (&component, &pure, "low", ""),
        (&component, &pure, "low", "low = [1, 2, 3]"),
        (&component, &pure, "low", "low = [1, 2, 3, 4, 5, 6, 2e9]"),
        (&component, &pure, "high", "surrogate = { isooctane = 1.0 }"),
        (&component, &pure, "ron", "ron = 141"),
        (&component, &pure, "mon", ""),
        (&component, &pure, "lhv_liquid_mj_per_kg", "lhv_liquid_mj_per_kg = 61"),
        (&component, &pure, "vaporisation_kj_per_kg", "vaporisation_kj_per_kg = 99"),
        (&component, &pure, "expansion_per_k", "expansion_per_k = 0.004"),
        (&component, &pure, "kg_per_m3_at_15c", "kg_per_m3_at_15c = 0.79"),
        (&component, &pure, "kg_per_m3_at_15c", "density = 790"),
        (&component, &pure, "name", "name = \"My Spirit\""),
        (&component, &pure, "title", ""),
        (&component, &pure, "kind", "kind = \"spirit\""),
        (&component, race, "molar_mass_g_per_mol", "molar_mass_g_per_mol = 14"),
        (&component, race, "hydrogen_to_carbon", "hydrogen_to_carbon = 4.5"),
        (&component, race, "surrogate", "surrogate = { toluene = 1.2, isooctane = -0.2 }"),
        (&pump, &e85, "parts", "parts = { base-regular = 1.5, natural-gasoline = -0.5 }"),
        (&pump, &e85, "low_vol_percent", "low_vol_percent = -1"),
        (&pump, &e85, "high_vol_percent", "high_vol_percent = 101"),
        (&pump, &e85, "likely_vol_percent", ""),
        (&pump, &e85, "title", "best_power_lambda = 1.1\ntitle = \"x\""),
        (&pump, &e85, "title", "colour = \"red\"\ntitle = \"x\""),
        (&pump, &e85, "name", "name = \"2-e85\""),
    ] {
        let taken = |text: &str| {
            let folder = tempfile::tempdir().unwrap();
            std::fs::write(folder.path().join("mine.toml"), text).unwrap();
            let folder = folder.path().to_str().unwrap();
            endgas(&["fuel", "--list", "--fuel-folder", folder]).status.code() == Some(0)
        };
        let wrong = changed(text, key, line);
        assert!(!taken(&wrong), "{line} for {key} is taken by the program");
        assert!(
            schema.refusal(&json_of(&wrong).unwrap()).is_some(),
            "{line} for {key} is taken by the schema"
        );
        assert_eq!(schema.refusal(&json_of(text).unwrap()), None);
    }
}

#[test]
fn the_schema_is_written_whole_to_a_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("scenario.schema.json");
    assert!(endgas(&["schema", "scenario", "--out", path.to_str().unwrap()]).status.success());
    assert_eq!(read_to_string(&path).unwrap(), super::printed(&["schema", "scenario"]));
    assert_eq!(endgas(&["schema", "engine"]).status.code(), Some(2));
    assert_eq!(endgas(&["schema"]).status.code(), Some(2));
}

/// The schema takes what the reader takes, and refuses what it refuses unless only a cross-check did.
fn agree(schema: &Schema, text: &str, what: &str) {
    let refusal = schema.refusal(&json_of(text).unwrap());
    match read(what, text) {
        Ok(_) => assert_eq!(refusal, None, "{what}"),
        Err(problems) => {
            let is_cross_check = |kind: &ProblemKind| matches!(kind, ProblemKind::Contradiction { .. });
            let alone = problems.0.iter().find(|problem| !is_cross_check(&problem.kind));
            assert!(alone.is_none() || refusal.is_some(), "{what}: {}", alone.unwrap());
        }
    }
}

/// Goes through the sections of a scenario and changes each by `change`, which gives several changes in words.
fn changes(table: &Table, change: &dyn Fn(&Table) -> Vec<(String, Table)>) -> Vec<(String, Table)> {
    let mut all = change(table);
    for (key, value) in table {
        let Toml::Table(section) = value else { continue };
        for (what, changed) in changes(section, change) {
            let mut whole = table.clone();
            whole.insert(key.clone(), Toml::Table(changed));
            all.push((format!("{key}.{what}"), whole));
        }
    }
    all
}

/// Each key taken out, of another type or far out of range, and a key that is not known.
fn wrong_in_one_key(section: &Table) -> Vec<(String, Table)> {
    let wrong = [
        Toml::String("text".to_owned()),
        Toml::Boolean(true),
        Toml::Integer(-1_000_000),
        Toml::Float(0.5),
        Toml::Float(1e9),
        Toml::Array(Vec::new()),
        Toml::Array(vec![Toml::Integer(-1_000_000); 3]),
        Toml::Array(vec![Toml::Integer(1); 61]),
        Toml::Table(Table::new()),
    ];
    let mut all = Vec::new();
    for key in section.keys() {
        let mut without = section.clone();
        without.remove(key);
        all.push((format!("{key} taken out"), without));
        for value in &wrong {
            let mut changed = section.clone();
            changed.insert(key.clone(), value.clone());
            all.push((format!("{key} = {value}"), changed));
        }
    }
    let mut stranger = section.clone();
    stranger.insert("stranger".to_owned(), Toml::Integer(1));
    all.push(("stranger = 1".to_owned(), stranger));
    all
}

#[test]
fn reader_and_schema_agree_on_every_key_made_wrong() {
    let schema = printed_schema(&["schema", "scenario"]);
    let mut seen = 0;
    for file in toml_files("scenarios") {
        let table: Table = toml::from_str(&read_to_string(&file).unwrap()).unwrap();
        for (what, changed) in changes(&table, &wrong_in_one_key) {
            agree(&schema, &toml::to_string(&changed).unwrap(), &format!("{}: {what}", file.display()));
            seen += 1;
        }
    }
    assert!(seen > 1000, "{seen}");
}

/// Most of these lack what the key needs, or say a thing in two ways.
#[test]
fn reader_and_schema_agree_on_every_line_of_the_starter_switched_on_alone() {
    let schema = printed_schema(&["schema", "scenario"]);
    let text = starter();
    let lines: Vec<&str> = text.lines().collect();
    let is_off = |line: &str| line.starts_with('#') && !line.starts_with("# ") && line.len() > 1;
    let (mut head, mut seen, mut refused) = (0, 0, 0);
    for (i, line) in lines.iter().enumerate() {
        if line.trim_start_matches('#').starts_with('[') {
            head = i;
        }
        if !is_off(line) {
            continue;
        }
        let on = |(n, line): (usize, &&str)| {
            let line = if n == i || n == head { line.trim_start_matches('#') } else { line };
            format!("{line}\n")
        };
        let changed: String = lines.iter().enumerate().map(on).collect();
        agree(&schema, &changed, line);
        seen += 1;
        refused += usize::from(read("starter", &changed).is_err());
    }
    assert!(seen > 90 && refused > 40 && refused < seen, "{seen} {refused}");
}
