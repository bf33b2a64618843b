//! `endgas breathing` as its user runs it.

use crate::common::cli::{entries, numbers, quiet, refused, run};
use serde_json::Value;
use std::path::Path;

const ON_PIPES: &str = "tests/data/on_pipes.toml";

/// The scenario with some text in place of other.
fn changed(folder: &Path, from: &str, to: &str) -> String {
    let text = std::fs::read_to_string(ON_PIPES).unwrap();
    assert!(text.contains(from), "{from}");
    let path = folder.join("build.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path.to_str().unwrap().to_owned()
}

/// The words of a text: every number a #, for figures are tested elsewhere; so is what stands for a peak out of reach.
fn words(text: &str) -> String {
    let mut words = String::new();
    for c in text.chars() {
        let last = words.chars().last();
        match c {
            '0'..='9' if last == Some('#') => {}
            '0'..='9' => words.push('#'),
            ' ' if last == Some(' ') => {}
            c => words.push(c),
        }
    }
    let words = words.replace("#.#", "#").replace(" +#", " #").replace(" -#", " #").replace(" far\n", " #\n");
    words.split_inclusive('\n').filter(|line| !line.starts_with(" Far:")).collect()
}

#[test]
fn words_of_everything() {
    insta::assert_snapshot!(words(&quiet(&["breathing", ON_PIPES, "--show", "all"], 0)));
}

#[test]
fn the_first_screen_offers_the_rest_and_fits() {
    for units in ["metric", "us"] {
        let text = quiet(&["breathing", ON_PIPES, "--units", units], 0);
        assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
        assert!(text.ends_with("More: --show worth, parts, all\n"), "{text}");
        for said in ["One cylinder stands for all", "no card: the usual lobe", "listen for knock"] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
}

#[test]
fn plots_show_the_valves_and_the_parts() {
    let folder = tempfile::tempdir().unwrap();
    let plots = folder.path().join("plots");
    assert_eq!(run(&["breathing", ON_PIPES, "--plot", plots.to_str().unwrap()]).status.code(), Some(0));
    let names = ["valve-flow", "valve-pressure", "volumetric-efficiency"];
    let files: Vec<String> = names.iter().flat_map(|n| [format!("{n}.png"), format!("{n}.svg")]).collect();
    assert_eq!(entries(&plots), files);
    for (name, said) in
        [("valve-pressure", "intake open, 1 mm of lift"), ("volumetric-efficiency", "no runner")]
    {
        let svg = std::fs::read_to_string(plots.join(format!("{name}.svg"))).unwrap();
        assert!(svg.contains(said), "{name}: {said}");
    }
}

#[test]
fn a_scenario_without_pipes_is_told_how_to_get_there() {
    let folder = tempfile::tempdir().unwrap();
    let file =
        changed(folder.path(), "[breathing.pipes]\nrunner_length_mm = 400\n", "peak_power_rpm = 6000\n");
    let said = refused(&["breathing", &file]);
    assert!(
        said.contains("build.toml: ") && said.contains("[breathing.pipes]") && said.contains("empty"),
        "{said}"
    );
    assert_eq!(said.lines().count(), 1, "{said}");
}

/// Pipes that no engine has, each key within its range: finite numbers, or the file and its line.
#[test]
fn nonsense_pipes_give_finite_numbers_or_one_error() {
    let folder = tempfile::tempdir().unwrap();
    for pipes in [
        "runner_length_mm = 20\nrunner_diameter_mm = 12\nport_diameter_mm = 12",
        "primary_diameter_mm = 12\nprimary_length_mm = 2000\nback_pressure_kpa = 80",
        "plenum_cc = 100\nthrottle_diameter_mm = 15",
    ] {
        let file = changed(folder.path(), "runner_length_mm = 400", pipes);
        let output = run(&["breathing", &file, "--format", "json"]);
        let said = String::from_utf8(output.stderr).unwrap();
        match output.status.code() {
            Some(0) => {
                let json: Value = serde_json::from_slice(&output.stdout).unwrap();
                assert!(numbers(&json).iter().all(|number| number.is_finite()), "{pipes}");
            }
            Some(2) => assert!(said.contains("build.toml:") && output.stdout.is_empty(), "{pipes}: {said}"),
            status => panic!("{pipes}: {status:?} {said}"),
        }
    }
}
