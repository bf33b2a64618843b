//! Keeps the README true: its sample of output and its picture come from the program.
//! Run with `UPDATE_README=1` to write both.

use assert_cmd::Command;
use std::path::PathBuf;

const END: &str = "<!-- end of output -->";

fn root(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(file)
}

fn updating() -> bool {
    std::env::var_os("UPDATE_README").is_some()
}

fn output_of(arguments: &[&str]) -> String {
    let mut command = Command::cargo_bin("endgas").unwrap();
    let output = command.env_remove("ENDGAS_FUELS").args(arguments).output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

/// Holds the sample that follows a mark to the text, or writes it.
fn sample(readme: &str, name: &str, text: &str) -> String {
    let begin = format!("<!-- {name}: written by tests/cli/readme.rs -->");
    let wanted = format!("\n```text\n{}\n```\n", text.trim_end());
    let (before, rest) = readme.split_once(&begin).expect("the README has a place for output");
    let (old, after) = rest.split_once(END).expect("the output ends");
    assert!(updating() || old == wanted, "the README's {name} is stale: run with UPDATE_README=1");
    format!("{before}{begin}{wanted}{END}{after}")
}

#[test]
fn the_samples_of_output_are_what_the_program_prints() {
    let readme = std::fs::read_to_string(root("README.md")).unwrap();
    // From the top through the sentences of the answer, up to the first table by speed.
    let text = output_of(&["estimate"]);
    let end = text.find("\npremium-91: ").expect("the first table follows the answer");
    let readme = sample(&readme, "output", &text[..end]);
    // The tank and its octane.
    let text = output_of(&["fuel", "mix", "20 L e85", "30 L premium-91"]);
    let end = text.find("\nEnergy\n").expect("energy follows octane");
    let readme = sample(&readme, "output of a tank", &text[..end]);
    // The answer of a choice.
    let text = output_of(&["choose"]);
    let end = text.find("\nWhat the ignition is worth").expect("it follows the order");
    let readme = sample(&readme, "output of a choice", &text[..end]);
    // A faulty pull: the verdict in a line, and the checks.
    let mut command = Command::cargo_bin("endgas").unwrap();
    let faulty = ["dyno", "scenarios/street-2000.toml", "scenarios/pulls/street-2000-pull-wrong-units.csv"];
    let output = command.current_dir(root("")).env_remove("ENDGAS_FUELS").args(faulty).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout).unwrap();
    let (first, rest) = text.split_once("\nScenario ").expect("the scenario follows the verdict");
    let (_, checks) = rest.split_once("\nChecks\n").expect("the checks follow the tables");
    let (checks, _) = checks.split_once("\n  - driveline loss").expect("units come before their effects");
    let readme = sample(&readme, "output of a pull", &format!("{first}\nChecks\n{checks}"));
    if updating() {
        std::fs::write(root("README.md"), readme).unwrap();
    }
}

/// Words and numbers of a picture.
fn tokens(svg: &str) -> Vec<&str> {
    svg.split([' ', ',', '"', '<', '>', '=']).filter(|t| !t.is_empty()).collect()
}

#[test]
fn the_picture_is_what_the_program_draws() {
    let folder = tempfile::tempdir().unwrap();
    output_of(&["estimate", "--plot", folder.path().to_str().unwrap()]);
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
