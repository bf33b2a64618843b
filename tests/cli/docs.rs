//! Keeps the samples of output and the picture of the docs true: both come from the program.
//! Run with `UPDATE_DOCS=1` to write both.

use crate::common::cli::{endgas, quiet, run};
use crate::common::kept::{STALE, docs, keep, updating};

#[path = "../../examples/estimate.rs"]
mod example;

/// Stands at the end of a text that is kept whole.
const END: &str = "\nEND";

/// A block of output, up to a mark that must be there.
fn keep_output(block: &str, text: &str, up_to: &str) {
    let end = text.find(up_to).expect("what follows the sample");
    keep(block, &format!("```text\n{}\n```", text[..end].trim_end()));
}

#[test]
fn the_samples_of_output_are_what_the_program_prints() {
    // The first screen, whole.
    keep_output("estimate output", &(quiet(&["estimate"], 0) + END), END);
    // The tank and its octane.
    keep_output("fuel mix output", &quiet(&["fuel", "mix", "20 L e85", "30 L premium-91"], 0), "\nEnergy\n");
    // A choice with what it costs and what would move it.
    let choice = quiet(&["choose", "--show", "conditions,changes"], 0);
    keep_output("choose output", &choice, "\nWhat half a ratio");
}

/// A faulty pull: the verdict in a line, and the checks.
#[test]
fn the_sample_of_a_judged_pull_is_what_the_program_prints() {
    let faulty = [
        "dyno",
        "scenarios/street-2000.toml",
        "scenarios/pulls/street-2000-pull-wrong-units.csv",
        "--show",
        "checks",
    ];
    let output = endgas().current_dir(env!("CARGO_MANIFEST_DIR")).args(faulty).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout).unwrap();
    let (first, rest) = text.split_once("\nScenario ").expect("the scenario follows the verdict");
    let (_, checks) = rest.split_once("\nChecks\n").expect("the checks follow the tables");
    // Units come before their effects.
    keep_output("dyno output", &format!("{first}\nChecks\n{checks}"), "\n  - driveline loss");
}

#[test]
fn the_example_of_the_library_runs_and_is_shown() {
    example::main().unwrap();
    keep("library example", &format!("```rust\n{}\n```", include_str!("../../examples/estimate.rs").trim()));
}

/// Words and numbers of a picture.
fn tokens(svg: &str) -> Vec<&str> {
    svg.split([' ', ',', '"', '<', '>', '=']).filter(|t| !t.is_empty()).collect()
}

#[test]
fn the_picture_is_what_the_program_draws() {
    let folder = tempfile::tempdir().unwrap();
    assert!(run(&["estimate", "--plot", folder.path().to_str().unwrap()]).status.success());
    let drawn = std::fs::read_to_string(folder.path().join("torque-power.svg")).unwrap();
    let kept = docs("torque-power.svg");
    if updating() {
        std::fs::write(&kept, &drawn).unwrap();
    }
    let old = std::fs::read_to_string(kept).expect("the picture is there");
    let (old, new) = (tokens(&old), tokens(&drawn));
    assert_eq!(old.len(), new.len(), "the picture: {STALE}");
    for (a, b) in old.iter().zip(&new) {
        // Positions count in eighths of a pixel; another machine may round one differently.
        let same = match (a.parse::<f64>(), b.parse::<f64>()) {
            (Ok(x), Ok(y)) => (x - y).abs() <= 2.0,
            _ => a == b,
        };
        assert!(same, "the picture ({a} against {b}): {STALE}");
    }
}
