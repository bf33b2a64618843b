//! `endgas new`: the starter scenario as its user gets it.

use super::{endgas, json_of, printed, printed_schema};
use std::fs::read_to_string;

#[test]
fn the_starter_is_written_and_every_command_runs_on_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("my build.toml");
    let file = path.to_str().unwrap();
    let output = endgas(&["new", file, "--full"]);
    assert!(output.status.success() && output.stdout.is_empty());
    assert!(String::from_utf8(output.stderr).unwrap().contains(&format!("endgas estimate {file}")));
    let text = read_to_string(&path).unwrap();
    assert_eq!(printed_schema(&["schema", "scenario"]).refusal(&json_of(&text).unwrap()), None);
    let few = ["--samples", "50"];
    for command in [
        &["estimate", file, few[0], few[1]][..],
        &["choose", file, "--ratios", "10.5 to 11.5", "--fuel", "e30", few[0], few[1]],
        &["volumes", file],
        &["goal", file, "--wheel-power", "120 kW", "--fuel", "e30", few[0], few[1]],
        &["fueling", file],
    ] {
        let output = endgas(command);
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(matches!(output.status.code(), Some(0 | 1)), "{command:?}: {said}");
        assert!(String::from_utf8(output.stdout).unwrap().contains("My build"), "{command:?}");
    }
}

#[test]
fn no_file_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("build.toml");
    std::fs::write(&path, "mine").unwrap();
    let output = endgas(&["new", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("it exists already"));
    assert_eq!(read_to_string(&path).unwrap(), "mine");
    let nowhere = folder.path().join("no/such/folder/build.toml");
    assert_eq!(endgas(&["new", nowhere.to_str().unwrap()]).status.code(), Some(2));
    assert_eq!(endgas(&["new", folder.path().to_str().unwrap()]).status.code(), Some(2));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

/// The engine of the options, as the docs have it.
const SAID: [&str; 14] = [
    "--bore",
    "4.00in",
    "--stroke",
    "3.48in",
    "--cylinders",
    "8",
    "--ratio",
    "10.5",
    "--kind",
    "performance-two-valve",
    "--peak-power",
    "5800rpm",
    "--fuel",
    "premium-93",
];

#[test]
fn what_is_said_is_written_and_answers_as_the_options_do() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("eight.toml");
    let file = path.to_str().unwrap();
    assert!(endgas(&[&["new", file, "--name", "Unnamed build"], &SAID[..]].concat()).status.success());
    let text = read_to_string(&path).unwrap();
    assert!(text.lines().count() <= 36, "{text}");
    assert_eq!(printed_schema(&["schema", "scenario"]).refusal(&json_of(&text).unwrap()), None);
    let of_file = printed(&["estimate", file, "--samples", "50"]);
    assert_eq!(of_file, printed(&[&["estimate", "--samples", "50"], &SAID[..]].concat()));
    assert!(of_file.contains("Not stated, so taken as usual"), "{of_file}");
    insta::assert_snapshot!("short", text);
    let wrong = endgas(&["new", &format!("{file}2"), "--bore", "40 in", "--kind", "fast"]);
    assert_eq!(wrong.status.code(), Some(2));
    insta::assert_snapshot!("short_wrong", String::from_utf8(wrong.stderr).unwrap());
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn without_a_file_the_starter_is_printed() {
    let text = printed(&["new", "--full"]);
    assert_eq!(text, endgas::scenario::starter());
    assert_eq!(printed(&["new", "-", "--full"]), text);
    assert!(printed(&["new"]).lines().count() < 40);
    assert!(!std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("-").exists());
    insta::assert_snapshot!(text.lines().take(45).collect::<Vec<_>>().join("\n"));
}
