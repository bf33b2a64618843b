//! `endgas report` as its user runs it.
#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli_common;

use cli_common::{changed_demo, entries, quiet, refused, run};

const FEW: [&str; 4] = ["--samples", "50", "--fuel", "premium-91"];

fn report<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["report"][..], &FEW, more].concat()
}

#[test]
fn the_file_holds_what_standard_output_would_and_one_line_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("build.html");
    let arguments = report(&["--units", "us"]);
    let printed = quiet(&arguments, 0);
    assert!(printed.starts_with("<!DOCTYPE html>") && printed.contains(" hp</b> at the wheels"));
    let arguments = report(&["--units", "us", "--out", out.to_str().unwrap()]);
    let output = run(&arguments);
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
    assert!(page.contains("A limit stated in the scenario is not met"));
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
