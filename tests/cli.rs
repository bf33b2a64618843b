//! The command line from outside: exit status, what goes where, and what is left behind.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};

const SHIPPED: [&str; 3] = ["big-eight-6200", "circuit-2400", "street-2000"];

/// The program, with nothing of the surroundings that could change its result.
fn endgas() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("endgas"));
    command.env_remove("ENDGAS_FUELS").env_remove("RAYON_NUM_THREADS");
    command
}

fn run(arguments: &[&str]) -> Output {
    endgas().args(arguments).output().unwrap()
}

/// Standard output of a run that ends with a status and says nothing else.
fn quiet(arguments: &[&str], status: i32) -> String {
    let output = run(arguments);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {said}");
    assert_eq!(said, "", "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// Standard error of a run that ends as bad input and prints no result.
fn refused(arguments: &[&str]) -> String {
    refusal(&run(arguments))
}

fn refusal(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    assert!(said.starts_with("error: "), "{said}");
    said
}

fn scenario(name: &str) -> String {
    format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"))
}

/// Writes a scenario made from the built-in one.
fn changed_demo(folder: &Path, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(scenario("circuit-2400")).unwrap();
    assert!(text.contains(from), "{from}");
    let path = folder.join("changed.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    path
}

fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Number(number) => vec![number.as_f64().unwrap()],
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        Value::Object(fields) => fields.values().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}

fn fuel_names(json: &str) -> Vec<String> {
    let document: Value = serde_json::from_str(json).unwrap();
    let fuels = document["fuels"].as_array().unwrap();
    fuels.iter().map(|fuel| fuel["name"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn help_defines_every_term_and_status_and_fits_100_columns() {
    for arguments in [["estimate", "--help"], ["help", "estimate"]] {
        let help = quiet(&arguments, 0);
        for term in [
            "  integral ",
            "  octane index ",
            "  octane requirement ",
            "  octane margin ",
            "  knock-margin index ",
            "  spark margin ",
            "  knock probability ",
            "  best-torque spark ",
            "  knock-limited spark ",
            "  low, likely, high ",
            "\n  0  done\n",
            "\n  1  ",
            "\n  2  ",
            "[env: ENDGAS_FUELS]",
            "Never cure knock with a leaner",
        ] {
            assert!(help.contains(term), "{arguments:?} lacks {term:?}");
        }
        assert!(help.lines().all(|line| line.chars().count() <= 100));
    }
    assert!(quiet(&["--help"], 0).contains("Exit status:"));
}

#[test]
fn version_is_that_of_the_package() {
    assert_eq!(quiet(&["--version"], 0), format!("endgas {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn nothing_asked_is_bad_input() {
    let output = run(&[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    assert!(String::from_utf8(output.stderr).unwrap().contains("Usage: endgas <COMMAND>"));
}

#[test]
fn schema_needs_no_scenario_and_goes_to_a_file_too() {
    let schema = quiet(&["estimate", "--format", "schema"], 0);
    let parsed: Value = serde_json::from_str(&schema).unwrap();
    assert_eq!(parsed["properties"]["compression_ratio"]["type"], "number");

    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("schema.json");
    let output = run(&["estimate", "--format", "schema", "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), schema);

    let plots = folder.path().join("plots");
    let said = refused(&["estimate", "--format", "schema", "--plot", plots.to_str().unwrap()]);
    assert!(said.contains("--plot"), "{said}");
    assert!(!plots.exists());
}

#[test]
fn unknown_fuels_of_the_options_are_all_reported_with_near_names() {
    let said = refused(&["estimate", "--fuel", "premium91", "--fuel", "zzzz", "--fuel", "e85"]);
    assert!(said.starts_with("error: 2 problems with the fuels\n"), "{said}");
    assert!(said.contains("--fuel = \"premium91\": no fuel is called 'premium91'; did you mean premium-91"));
    assert!(said.contains("--fuel = \"zzzz\": no fuel is called 'zzzz'\n  hint: pump fuels are e10, "));
    assert!(!said.contains("= \"e85\""), "{said}");
}

#[test]
fn an_unknown_fuel_of_a_scenario_is_reported_with_file_line_and_key() {
    let folder = tempfile::tempdir().unwrap();
    let path = changed_demo(folder.path(), r#""premium-93""#, r#""premium-39""#);
    let text = std::fs::read_to_string(&path).unwrap();
    let line = text.lines().position(|line| line.starts_with("run =")).unwrap() + 1;
    let said = refused(&["estimate", path.to_str().unwrap()]);
    let wanted = format!("{}:{line}: fuels.run = \"premium-39\": no fuel is called", path.display());
    assert!(said.contains(&wanted), "{said}");
    assert!(said.contains("did you mean premium-93"), "{said}");
}

#[test]
fn fuels_that_make_no_sense_are_refused() {
    for (fuel, why) in [
        ("water", "heating value"),
        ("e85 60 % + e10 20 %", "adds to 80 %"),
        ("e85 + e10", "cannot read 'e85'"),
        (" ", "printable text"),
        ("e85\u{1b}", "printable text"),
    ] {
        let said = refused(&["estimate", "--fuel", fuel]);
        assert!(said.contains(why), "{fuel}: {said}");
    }
    let said = refused(&["estimate", "--fuel", "e85", "--fuel", "E85"]);
    assert!(said.contains("--fuel = \"E85\": fuel 'e85' is already in the list"), "{said}");
    let many = ["--fuel", "e85"].repeat(13);
    let said = refused(&[&["estimate"], many.as_slice()].concat());
    assert!(said.contains("13 times; at most 12"), "{said}");
}

#[test]
fn files_that_are_no_scenario_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("image.toml"), b"\x89PNG\r\n\xff\xfe").unwrap();
    std::fs::write(path("prose.toml"), "Our engine makes 400 hp.\n").unwrap();
    std::fs::write(path("huge.toml"), "#".repeat(2 << 20)).unwrap();
    std::fs::write(path("empty.toml"), "").unwrap();
    for (name, why) in [
        ("missing.toml", "cannot read"),
        ("image.toml", "UTF-8"),
        ("prose.toml", "not valid TOML"),
        ("huge.toml", "larger than 1024 KiB"),
        ("empty.toml", "section [engine] is missing"),
        ("", "cannot read"),
    ] {
        let said = refused(&["estimate", &path(name)]);
        assert!(said.contains(why) && said.contains(&path(name)), "{name}: {said}");
    }
}

#[test]
fn every_problem_of_a_scenario_is_reported_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, plots) = (folder.path().join("out.txt"), folder.path().join("plots"));
    let bad = format!("{}/tests/bad/many_mistakes.toml", env!("CARGO_MANIFEST_DIR"));
    let said =
        refused(&["estimate", &bad, "--out", out.to_str().unwrap(), "--plot", plots.to_str().unwrap()]);
    assert!(said.starts_with(&format!("error: 14 problems in {bad}\n")), "{said}");
    let problems = endgas::scenario::read(&bad, &std::fs::read_to_string(&bad).unwrap()).unwrap_err();
    assert!(said.ends_with(&format!("{problems}\n")), "{said}");
    assert_eq!(problems.0.len(), 14);
    assert_eq!(entries(folder.path()), [""; 0]);
}

#[test]
fn numbers_out_of_range_are_refused() {
    for (option, value) in [
        ("--samples", "49"),
        ("--samples", "20001"),
        ("--samples", "-1"),
        ("--samples", "many"),
        ("--samples", "99999999999999999999"),
        ("--seed", "-1"),
        ("--seed", "0.5"),
        ("--units", "imperial"),
        ("--format", "xml"),
    ] {
        let said = refused(&["estimate", &format!("{option}={value}")]);
        assert!(said.contains(option) && said.contains(value), "{said}");
    }
}

#[test]
fn targets_that_cannot_be_written_are_refused_before_anything_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(path("file"), "old").unwrap();
    for (out, plot, why) in [
        (path(""), path("plots"), "not a regular file"),
        (path("none/out.txt"), path("plots"), "cannot write"),
        (path("out.txt"), path("file"), "not a folder"),
        (path("same"), path("same"), "choose another name"),
        (path("plots/spark.svg"), path("plots"), "choose another name"),
    ] {
        let said = refused(&["estimate", "--samples", "50", "--out", &out, "--plot", &plot]);
        assert!(said.contains(why), "{said}");
        assert_eq!(entries(folder.path()), ["file"], "{out} {plot}");
    }
    assert_eq!(std::fs::read_to_string(path("file")).unwrap(), "old");
}

const OWN_FUEL: &str = r#"kind = "pump"
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

#[test]
fn fuels_of_a_folder_are_found_by_option_and_environment() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("own.toml"), OWN_FUEL.replace("NAME", "own-e20")).unwrap();
    let own = folder.path().to_str().unwrap();
    let arguments = ["estimate", "--samples", "50", "--format", "json", "--fuel", "own-e20"];
    assert!(refused(&arguments).contains("no fuel is called 'own-e20'"));
    let by_option = quiet(&[&arguments[..], &["--fuel-folder", own]].concat(), 0);
    assert_eq!(fuel_names(&by_option), ["own-e20"]);

    let by_environment = endgas().args(arguments).env("ENDGAS_FUELS", own).output().unwrap();
    assert_eq!(String::from_utf8(by_environment.stdout).unwrap(), by_option);
    // The option wins, and an empty variable is none.
    let command = [&arguments[..], &["--fuel-folder", own]].concat();
    let both = endgas().args(command).env("ENDGAS_FUELS", "missing-folder").output().unwrap();
    assert_eq!(both.status.code(), Some(0));
    let empty = endgas().args(arguments).env("ENDGAS_FUELS", "").output().unwrap();
    assert!(refusal(&empty).contains("no fuel is called 'own-e20'"));
}

#[test]
fn a_folder_of_fuels_that_is_wrong_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().to_str().unwrap();
    std::fs::write(folder.path().join("own.toml"), OWN_FUEL.replace("NAME", "e85")).unwrap();
    let said = refused(&["estimate", "--fuel-folder", own]);
    assert!(said.contains("own.toml") && said.contains("the name 'e85' is taken"), "{said}");

    std::fs::write(folder.path().join("own.toml"), "kind = 3").unwrap();
    assert!(refused(&["estimate", "--fuel-folder", own]).contains("own.toml"));
    let said = refused(&["estimate", "--fuel-folder", "missing-folder"]);
    assert!(said.contains("cannot read missing-folder"), "{said}");
}

#[test]
fn the_built_in_example_gives_fuels_and_finite_numbers() {
    let json = quiet(&["estimate", "--format", "json", "--samples", "50"], 0);
    let document: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(document["tool"]["name"], "endgas");
    assert_eq!(fuel_names(&json), ["premium-91", "premium-93", "e30", "e85"]);
    assert!(numbers(&document).iter().all(|number| number.is_finite()));
    for fuel in document["fuels"].as_array().unwrap() {
        let curve = fuel["curve"].as_array().unwrap();
        assert!(curve.len() > 1);
        for point in curve {
            let band = |key: &str| numbers(&point["wheel_power_kw"][key])[0];
            assert!(0.0 < band("low") && band("low") <= band("likely") && band("likely") <= band("high"));
        }
    }
}

#[test]
fn the_seed_sets_the_bytes_and_the_threads_do_not() {
    let json = |seed: &str, threads: &str| {
        let arguments = ["estimate", "--format", "json", "--samples", "60", "--seed", seed];
        let output = endgas().args(arguments).env("RAYON_NUM_THREADS", threads).output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        output.stdout
    };
    let first = json("5", "1");
    assert_eq!(first, json("5", "1"));
    assert_eq!(first, json("5", "2"));
    assert_ne!(first, json("6", "2"));
}

#[test]
fn every_shipped_scenario_runs_in_every_form_and_unit() {
    for name in SHIPPED {
        let file = scenario(name);
        for (format, units) in [("text", "metric"), ("text", "us"), ("json", "metric"), ("csv", "us")] {
            let arguments =
                ["estimate", &file, "--samples", "50", "--format", format, "--units", units, "--seed", "3"];
            let text = quiet(&arguments, 0);
            match format {
                "json" => assert!(fuel_names(&text).len() >= 3, "{name}"),
                "csv" => {
                    let mut rows = csv::Reader::from_reader(text.as_bytes());
                    assert!(rows.records().map(Result::unwrap).count() >= 30, "{name}");
                }
                _ => {
                    assert!(text.contains("\nAnswer\n"), "{name}");
                    assert!(text.lines().all(|line| line.chars().count() <= 100), "{name}");
                }
            }
        }
    }
}

#[test]
fn fuels_of_the_options_replace_those_of_the_scenario_and_keep_its_common_lambda() {
    let arguments = ["estimate", "--samples", "50", "--format", "json"];
    let recipe = "70% premium-91 + 30% e85";
    let json = quiet(&[&arguments[..], &["--fuel", "euro-98", "--fuel", recipe]].concat(), 0);
    assert_eq!(fuel_names(&json), ["euro-98", "premium-91 70 % + e85 30 %"]);
    let document: Value = serde_json::from_str(&json).unwrap();
    for fuel in document["fuels"].as_array().unwrap() {
        for point in fuel["curve"].as_array().unwrap() {
            approx::assert_relative_eq!(numbers(&point["lambda"])[0], 0.88);
        }
    }
}

#[test]
fn files_get_what_standard_output_would_and_one_line_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let plots = folder.path().join("made/here");
    let out = plots.join("result.csv");
    let arguments = ["estimate", "--samples", "50", "--format", "csv"];
    let printed = quiet(&arguments, 0);
    let targets = ["--out", out.to_str().unwrap(), "--plot", plots.to_str().unwrap()];
    let output = run(&[&arguments[..], &targets].concat());
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stdout.is_empty());
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(said, format!("wrote {} and 4 plots in {}\n", out.display(), plots.display()));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), printed);
    let names = ["cylinder-pressure.svg", "knock-margin.svg", "result.csv", "spark.svg", "torque-power.svg"];
    assert_eq!(entries(&plots), names);
    assert!(std::fs::read_to_string(plots.join("spark.svg")).unwrap().starts_with("<svg"));
}

#[test]
fn a_limit_that_is_not_met_ends_with_1_and_still_gives_the_result() {
    let folder = tempfile::tempdir().unwrap();
    let path = changed_demo(folder.path(), "peak_pressure_bar = 110.0", "peak_pressure_bar = 30.0");
    let text = quiet(&["estimate", path.to_str().unwrap(), "--samples", "50"], 1);
    assert!(text.contains("A limit stated in the scenario is not met"));
}

#[test]
fn a_reader_that_leaves_ends_the_run_quietly() {
    for arguments in [&["estimate", "--samples", "50"][..], &["estimate", "--help"]] {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("endgas"))
            .args(arguments)
            .env_remove("ENDGAS_FUELS")
            .stdout(closed_pipe())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = String::new();
        std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut said).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(0), "{said}");
        assert_eq!(said, "");
    }
}

/// The writing end of a pipe that nobody reads.
fn closed_pipe() -> Stdio {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    writer.into()
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_not_taken_for_success() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("endgas"))
        .args(["estimate", "--format", "schema"])
        .stdout(full)
        .output()
        .unwrap();
    assert!(refusal(&output).contains("cannot write to standard output"));
}
