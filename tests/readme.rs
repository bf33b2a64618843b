//! Keeps the README true: its sample of output and its picture come from the program.
//! Run with `UPDATE_README=1` to write both.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use assert_cmd::Command;
use std::path::PathBuf;

const BEGIN: &str = "<!-- output: written by tests/readme.rs -->";
const END: &str = "<!-- end of output -->";

fn root(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(file)
}

fn updating() -> bool {
    std::env::var_os("UPDATE_README").is_some()
}

fn estimate(arguments: &[&str]) -> String {
    let mut command = Command::cargo_bin("endgas").unwrap();
    let output = command.env_remove("ENDGAS_FUELS").arg("estimate").args(arguments).output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_sample_of_output_is_what_the_program_prints() {
    let text = estimate(&[]);
    // From the top through the sentences of the answer, up to the first table by speed.
    let end = text.find("\npremium-91: ").expect("the first table follows the answer");
    let wanted = format!("\n```text\n{}\n```\n", text[..end].trim_end());
    let readme = std::fs::read_to_string(root("README.md")).unwrap();
    let (before, rest) = readme.split_once(BEGIN).expect("the README has a place for output");
    let (old, after) = rest.split_once(END).expect("the output ends");
    if updating() {
        std::fs::write(root("README.md"), format!("{before}{BEGIN}{wanted}{END}{after}")).unwrap();
    } else {
        assert_eq!(old, wanted, "the README's output is stale: run with UPDATE_README=1");
    }
}

/// Words and numbers of a picture.
fn tokens(svg: &str) -> Vec<&str> {
    svg.split([' ', ',', '"', '<', '>', '=']).filter(|t| !t.is_empty()).collect()
}

#[test]
fn the_picture_is_what_the_program_draws() {
    let folder = tempfile::tempdir().unwrap();
    estimate(&["--plot", folder.path().to_str().unwrap()]);
    let drawn = std::fs::read_to_string(folder.path().join("torque-power.svg")).unwrap();
    let kept = root("tests/readme/torque-power.svg");
    if updating() {
        std::fs::create_dir_all(kept.parent().unwrap()).unwrap();
        std::fs::write(&kept, &drawn).unwrap();
    }
    let old = std::fs::read_to_string(kept).expect("the picture is there");
    let (old, new) = (tokens(&old), tokens(&drawn));
    assert_eq!(old.len(), new.len(), "the picture is stale: run with UPDATE_README=1");
    for (a, b) in old.iter().zip(&new) {
        // Positions count in eighths of a pixel; another machine may round one differently.
        let same = match (a.parse::<f64>(), b.parse::<f64>()) {
            (Ok(x), Ok(y)) => (x - y).abs() <= 2.0,
            _ => a == b,
        };
        assert!(same, "the picture is stale ({a} against {b}): run with UPDATE_README=1");
    }
}
