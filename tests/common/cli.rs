//! Shared by the tests of the command line: running the program and reading what it says.

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Output;

/// A fuel file whose name is still to be put in for NAME.
pub const OWN_FUEL: &str = r#"kind = "pump"
name = "NAME"
title = "Invented test fuel"

[base]
parts = { base-regular = 1.0 }
source = "invented"

[ethanol]
low_vol_percent = 20
likely_vol_percent = 20
high_vol_percent = 20
source = "invented"
"#;

/// The program, with nothing of the surroundings that could change its result.
pub fn endgas() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("endgas"));
    command.env_remove("ENDGAS_FUELS").env_remove("RAYON_NUM_THREADS");
    // Text is as wide as it is without a terminal, and without colour.
    command.env_remove("COLUMNS").env_remove("CLICOLOR_FORCE");
    command
}

pub fn run(arguments: &[&str]) -> Output {
    endgas().args(arguments).output().unwrap()
}

/// Standard output of a run that ends with a status and says nothing else.
pub fn quiet(arguments: &[&str], status: i32) -> String {
    let output = run(arguments);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {said}");
    assert_eq!(said, "", "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// Standard error of a run that ends as bad input and prints no result.
pub fn refused(arguments: &[&str]) -> String {
    refusal(&run(arguments))
}

pub fn refusal(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    assert!(said.starts_with("error: "), "{said}");
    said
}

pub fn scenario(name: &str) -> String {
    format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"))
}

/// Writes a scenario made from the built-in one.
pub fn changed_demo(folder: &Path, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(scenario("circuit-2400")).unwrap();
    assert!(text.contains(from), "{from}");
    let path = folder.join("changed.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path
}

pub fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

pub fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Number(number) => vec![number.as_f64().unwrap()],
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        Value::Object(fields) => fields.values().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}

pub fn fuel_names(json: &str) -> Vec<String> {
    let document: Value = serde_json::from_str(json).unwrap();
    let fuels = document["fuels"].as_array().unwrap();
    fuels.iter().map(|fuel| fuel["name"].as_str().unwrap().to_owned()).collect()
}
