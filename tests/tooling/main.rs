//! What stands around the runs: schemas of files and results, the starter scenario, completions and manual pages.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod docs_book;
mod docs_sources;
mod files;
mod new;
mod results;
#[path = "../common/schema.rs"]
mod schema;
mod shell;
mod words;

use assert_cmd::Command;
use schema::Schema;
use serde_json::Value;
use std::path::PathBuf;
use std::process::Output;

/// Runs the program in the folder of the project.
fn endgas(arguments: &[&str]) -> Output {
    let mut command = Command::cargo_bin("endgas").unwrap();
    command.env_remove("ENDGAS_FUELS").current_dir(env!("CARGO_MANIFEST_DIR"));
    command.args(arguments).output().unwrap()
}

/// What the program prints; it must end with 0, or with 1 for a limit that is not met.
fn printed(arguments: &[&str]) -> String {
    let output = endgas(arguments);
    let code = output.status.code();
    assert!(matches!(code, Some(0 | 1)), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The names of all commands, as the help lists them.
fn commands() -> Vec<String> {
    let help = printed(&["--help"]);
    let list = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    // Words that are wrapped to the next line are set further in.
    let lines = list.lines().filter_map(|line| line.strip_prefix("  ")).filter(|line| !line.starts_with(' '));
    let names = lines.filter_map(|line| line.split_whitespace().next());
    let names: Vec<String> = names.filter(|name| *name != "help").map(str::to_owned).collect();
    assert!(names.len() == 15 && names.contains(&"estimate".to_owned()), "{names:?}");
    names
}

/// The schema that a run of the program prints.
fn printed_schema(arguments: &[&str]) -> Schema {
    Schema::of(&printed(arguments))
}

/// A TOML text as JSON; what is not finite becomes null.
fn json_of(toml: &str) -> Result<Value, toml::de::Error> {
    toml::from_str::<toml::Table>(toml).map(|table| serde_json::to_value(table).unwrap())
}

/// The TOML files of a folder of the project, sorted; never none.
fn toml_files(folder: &str) -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<_> = entries.filter(|path| path.extension().is_some_and(|e| e == "toml")).collect();
    files.sort();
    assert!(!files.is_empty());
    files
}
