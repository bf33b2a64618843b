//! `endgas report` as its user runs it.

use crate::common::cli::{changed_demo, entries, quiet, refused, run};

const FEW: [&str; 4] = ["--samples", "50", "--fuel", "premium-91"];

fn report<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["report"][..], &FEW, more].concat()
}

/// The built-in example at five speeds, in a folder of its own.
fn short_demo() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = changed_demo(folder.path(), "step_rpm = 500", "step_rpm = 2500");
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

#[test]
fn the_file_holds_what_standard_output_would_and_one_line_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("build.html");
    let (_kept, demo) = short_demo();
    let us = ["--units", "us", demo.as_str()];
    let printed = quiet(&report(&us), 0);
    assert!(!printed.contains("goal-title"), "no power was wanted");
    assert!(
        printed.starts_with("<!DOCTYPE html>") && printed.contains("<caption>Peak wheel power, hp</caption>")
    );
    let output = run(&report(&[&us[..], &["--out", out.to_str().unwrap()]].concat()));
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stdout.is_empty());
    assert_eq!(String::from_utf8(output.stderr).unwrap(), format!("wrote {}\n", out.display()));
    assert_eq!(std::fs::read_to_string(&out).unwrap(), printed);
    assert_eq!(entries(folder.path()), ["build.html"]);
}

#[test]
fn a_missed_limit_is_told_by_the_page_and_the_exit_status() {
    let folder = tempfile::tempdir().unwrap();
    let low = changed_demo(folder.path(), "peak_pressure_bar = 110.0", "peak_pressure_bar = 40.0");
    let arguments = report(&[low.to_str().unwrap()]);
    let page = quiet(&arguments, 1);
    assert!(page.contains("A limit stated for this build is not met"));
    assert!(page.contains("the stated limit is 40 bar"));
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("build.html");
    let out = out.to_str().unwrap();
    refused(&["report", "--out", out, "no-such-file.toml"]);
    refused(&["report", "--out", out, "--fuel", "no-such-fuel"]);
    refused(&["report", "--out", folder.path().to_str().unwrap()]);
    let unknown = run(&["report", "--out", out, "--plot", "plots"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(entries(folder.path()).is_empty());
}

#[test]
fn a_wanted_power_has_a_section_of_its_own() {
    let (_kept, demo) = short_demo();
    let page = quiet(&report(&[&demo, "--wheel-power", "400 kW"]), 0);
    assert!(page.contains("<p class=\"question\">Can it make 400 kW (536 hp) at the wheels?</p>"));
    assert!(page.contains("<p class=\"verdict\">No: not credible, even with a race build.</p>"), "verdict");
    assert!(page.contains("On premium-91 the engine as built makes"), "on the fuel that was asked");
    assert!(
        page.find("Can it make").unwrap() < page.find("Which compression ratio?").unwrap(),
        "the question first"
    );
    assert!(page.contains("<h2 id=\"goal-title\">The target, and what it takes</h2>"));
    let said = refused(&report(&[&demo, "--wheel-power", "400"]));
    assert!(said.contains("has no unit; units are kW, hp, PS"), "{said}");
}
