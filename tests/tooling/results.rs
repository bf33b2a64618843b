//! Every result in JSON against the schema that its command prints.

use super::{Schema, commands, json_of, printed, printed_schema, toml_files};
use serde_json::Value;

/// Fewest samples that a run takes.
const FEW: [&str; 2] = ["--samples", "50"];

/// The result of a command must fit its schema, which must not take anything.
fn check(schema: &Schema, command: &[&str], arguments: &[&str]) {
    let text = printed(&[command, arguments, &["--format", "json"]].concat());
    let document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(schema.refusal(&document), None, "{command:?} {arguments:?}");
    let mut without = document.clone();
    without.as_object_mut().unwrap().remove("tool");
    assert!(schema.refusal(&without).is_some(), "the schema of {command:?} takes anything");
}

/// Runs a command with each of some sets of arguments on every shipped scenario.
fn on_every_scenario(command: &str, sets: &[&[&str]]) {
    let schema = printed_schema(&[command, "--format", "schema"]);
    for file in toml_files("scenarios") {
        for set in sets {
            check(&schema, &[command], &[&[file.to_str().unwrap()], *set].concat());
        }
    }
}

/// The same, each scenario with a fifth of its speeds, for a command that takes long.
fn on_every_scenario_with_few_speeds(command: &str, set: &[&str]) {
    let schema = printed_schema(&[command, "--format", "schema"]);
    let folder = tempfile::tempdir().unwrap();
    for file in toml_files("scenarios") {
        let text = std::fs::read_to_string(&file).unwrap();
        assert!(text.contains("step_rpm = 500 "), "{}", file.display());
        let few = folder.path().join(file.file_name().unwrap());
        std::fs::write(&few, text.replace("step_rpm = 500 ", "step_rpm = 2500 ")).unwrap();
        check(&schema, &[command], &[&[few.to_str().unwrap()], set].concat());
    }
}

#[test]
fn every_command_that_prints_json_prints_its_schema() {
    let mut with_json = Vec::new();
    for command in commands() {
        let help = printed(&[&command, "--help"]);
        let Some(forms) = help.split("--format <FORMAT>").nth(1) else { continue };
        let has = |form: &str| forms.contains(&format!("- {form}:"));
        assert_eq!(has("json"), has("schema"), "{command}");
        assert!(has("json"), "{command}");
        with_json.push(command);
    }
    assert_eq!(
        with_json,
        ["estimate", "choose", "spark", "dyno", "goal", "fueling", "breathing", "fuel", "volumes"]
    );
}

#[test]
fn estimates() {
    on_every_scenario("estimate", &[&FEW]);
}

#[test]
fn builds_side_by_side() {
    let files: Vec<_> =
        toml_files("scenarios").iter().map(|file| file.to_str().unwrap().to_owned()).collect();
    let command = ["estimate", &files[0], &files[1]];
    let schema = printed_schema(&[&command[..], &["--format", "schema"]].concat());
    check(&schema, &command, &[&files[2], &files[3], "--fuel", "e30", FEW[0], FEW[1]]);
}

#[test]
fn choices() {
    on_every_scenario_with_few_speeds("choose", &FEW);
}

#[test]
fn spark_maps() {
    let one = ["--fuel", "premium-91"];
    let degrees = [&one[..], &["--load", "30,110 kPa", "--ethanol", "0,85", "--reserve", "2 deg"]].concat();
    on_every_scenario("spark", &[&one, &degrees]);
}

#[test]
fn goals() {
    on_every_scenario_with_few_speeds("goal", &["--wheel-power", "160 kW", FEW[0], FEW[1]]);
}

#[test]
fn fuel_supplies() {
    on_every_scenario("fueling", &[&[]]);
}

#[test]
fn breathing_on_pipes() {
    let schema = printed_schema(&["breathing", "--format", "schema"]);
    check(&schema, &["breathing"], &["tests/data/on_pipes.toml"]);
}

#[test]
fn measured_volumes() {
    on_every_scenario("volumes", &[&[], &["--wanted", "11.5"]]);
}

#[test]
fn dyno_pulls_and_a_fit() {
    let schema = printed_schema(&["dyno", "--format", "schema"]);
    let folder = tempfile::tempdir().unwrap();
    let fitted = folder.path().join("fitted.toml");
    let fit = ["--fit", fitted.to_str().unwrap(), FEW[0], FEW[1]];
    for (scenario, pull, set) in [
        ("street-2000", "street-2000-pull-good", &fit[..]),
        ("street-2000", "street-2000-pull-wrong-gear", &FEW[..]),
        ("circuit-2400", "circuit-2400-pull-inflated", &FEW[..]),
    ] {
        let (scenario, pull) = (format!("scenarios/{scenario}.toml"), format!("scenarios/pulls/{pull}.csv"));
        check(&schema, &["dyno"], &[&[scenario.as_str(), &pull], set].concat());
    }
    // A log with knock: a running count that rises once.
    let log = folder.path().join("knock.csv");
    let rows = |i: i32| format!("{},{},22,{}\n", 1500 + 500 * i, 150 + i, i32::from(i > 5));
    let text: String = (0..=10).map(rows).collect();
    std::fs::write(&log, format!("rpm,torque (Nm),timing advance (deg),knock count\n{text}")).unwrap();
    let knock = ["scenarios/street-2000.toml", log.to_str().unwrap(), FEW[0], FEW[1]];
    check(&schema, &["dyno"], &knock);
    // What a fit writes fits the schema of scenarios too.
    let text = std::fs::read_to_string(&fitted).unwrap();
    assert_eq!(printed_schema(&["schema", "scenario"]).refusal(&json_of(&text).unwrap()), None);
}

#[test]
fn fuels_and_tanks() {
    let schema = printed_schema(&["fuel", "--format", "schema"]);
    let library = printed(&["fuel", "--list"]);
    assert!(library.contains("e85"));
    for set in [
        &["premium-91", "e85", "e100", "premium-91 70 % + e85 30 %"][..],
        &["toluene", "methanol", "e100-hydrous"],
        &["premium-91", "--sweep"],
        &["e85", "--sweep"],
    ] {
        check(&schema, &["fuel"], set);
    }
    let mixed = printed_schema(&["fuel", "mix", "--format", "schema"]);
    check(&mixed, &["fuel", "mix"], &["20 L e85 at 71 %", "30 L premium-91"]);
    let to = ["30 L premium-91", "--to", "50 %", "--add", "e85", "--tank", "80 L"];
    check(&mixed, &["fuel", "mix"], &to);
}
