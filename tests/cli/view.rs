//! One screen first: how long and how wide the text is, what `--show` adds, and colour.

use crate::common::cli::{endgas, quiet, refused, run, scenario};

const SHIPPED: [&str; 5] =
    ["air-twin-1100", "big-eight-6200", "circuit-2400", "ported-four-1800", "street-2000"];
/// Lines of the first screen of four fuels, with some notes.
const SCREEN: usize = 38;
const GOOD: &str = "scenarios/pulls/street-2000-pull-good.csv";

/// Standard output with variables set.
fn with(variables: &[(&str, &str)], arguments: &[&str]) -> String {
    let output = endgas().envs(variables.iter().copied()).args(arguments).output().unwrap();
    assert_ne!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn estimate<'a>(file: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["estimate", file, "--samples", "50"], more].concat()
}

#[test]
fn an_estimate_is_one_screen_with_its_strongest_cautions() {
    for name in SHIPPED {
        let text = quiet(&estimate(&scenario(name), &[]), 0);
        assert!(text.lines().count() <= SCREEN, "{name}: {}\n{text}", text.lines().count());
        for words in ["not a calibration", "Never lean the mixture", "\nMore: --show curves, losses"] {
            assert!(text.contains(words), "{name}: {words}\n{text}");
        }
        assert!(!text.contains("Fuel vapour"), "{name}: the other cautions are a part");
    }
}

#[test]
fn text_is_as_wide_as_columns_says() {
    let street = scenario("street-2000");
    let asked: [&[&str]; 5] = [
        &["estimate", &street, "--samples", "50", "--show", "all"],
        &["estimate", &street, "--samples", "50", "--show", "all", "--units", "us"],
        &["choose", &street, "--samples", "50", "--fuel", "e30", "--ratios", "10 to 11", "--show", "all"],
        &["goal", &street, "--samples", "50", "--fuel", "e30", "--wheel-power", "120 kW", "--show", "all"],
        &["dyno", &street, GOOD, "--samples", "50", "--show", "all"],
    ];
    for arguments in asked {
        let text = with(&[("COLUMNS", "80")], arguments);
        let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
        assert!((70..=80).contains(&widest), "{arguments:?}: {widest}\n{text}");
    }
    // What is no width counts as none, and no line is wider than a person reads.
    let first = &estimate(&street, &[]);
    assert_eq!(with(&[("COLUMNS", "wide")], first), with(&[("COLUMNS", "400")], first));
}

#[test]
fn parts_are_added_to_the_first_screen() {
    let street = scenario("street-2000");
    let first = quiet(&estimate(&street, &[]), 0);
    let screen = first.split("\nMore: ").next().unwrap();
    for (part, title) in [
        ("curves", "\nregular-87: "),
        ("losses", "\nWhere the fuel energy goes at peak power, regular-87"),
        ("changes", "\nWhat a change is worth on regular-87"),
        ("uncertainty", "\nWhat the range comes from on regular-87"),
    ] {
        let text = quiet(&estimate(&street, &["--show", part]), 0);
        assert!(text.starts_with(screen) && text.contains(title), "{part}: {text}");
        assert!(text.contains("Shown on regular-87, the fuel that limits"), "{text}");
        assert!(!first.contains(title) && !text.contains(&title.replace("regular-87", "e85")), "{part}");
        let all = quiet(&estimate(&street, &["--show", "all"]), 0);
        assert!(all.contains(title) && all.contains(&title.replace("regular-87", "e85")), "{part}: {all}");
    }
    let both = quiet(&estimate(&street, &["--show", "losses,changes", "--show-fuel", "e85"]), 0);
    let again = quiet(&estimate(&street, &["--show", "changes", "--show=losses", "--show-fuel", "e85"]), 0);
    assert!(both == again && both.contains("What a change is worth on e85"), "{both}");
    assert!(!both.contains("What a change is worth on regular-87"), "{both}");
    // A fuel that is named for the run is shown.
    let named = quiet(&estimate(&street, &["--show", "losses", "--fuel", "e30", "--fuel", "e85"]), 0);
    assert!(named.contains("peak power, e30") && named.contains("peak power, e85"), "{named}");
}

#[test]
fn a_part_or_fuel_that_is_not_there_is_refused() {
    let street = scenario("street-2000");
    let said = refused(&estimate(&street, &["--show", "everything"]));
    assert!(said.contains("curves") && said.contains("uncertainty") && said.contains("all"), "{said}");
    let said = refused(&estimate(&street, &["--show", "losses", "--show-fuel", "e10"]));
    assert!(said.contains("'e10' is not among the fuels of the run: regular-87, premium-91"), "{said}");
    assert!(refused(&estimate(&street, &["--show-fuel", "e85"])).contains("--show"));
}

#[test]
fn colour_only_emphasises() {
    let street = scenario("street-2000");
    let text = |more: &[&str]| with(&[], &estimate(&street, more));
    let (plain, coloured) = (text(&["--color", "never"]), text(&["--color", "always"]));
    assert!(coloured.contains("\u{1b}[1mWhat matters most\u{1b}[0m"), "{coloured:?}");
    assert_eq!(anstream::adapter::strip_str(&coloured).to_string(), plain);
    // Standard output of a test is no terminal; what is asked for wins over NO_COLOR.
    assert_eq!(text(&[]), plain);
    let asked = estimate(&street, &["--color", "always"]);
    assert_eq!(with(&[("NO_COLOR", "1")], &asked), coloured);
    // A file never has any, and is as wide as ever.
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("estimate.txt");
    let written = estimate(&street, &["--color", "always", "--out", out.to_str().unwrap()]);
    assert!(endgas().env("COLUMNS", "80").args(written).output().unwrap().status.success());
    assert_eq!(std::fs::read_to_string(&out).unwrap(), plain);
}

#[test]
fn every_answer_has_its_strongest_cautions() {
    let street = scenario("street-2000");
    let asked: [&[&str]; 3] = [
        &["choose", &street, "--samples", "50", "--fuel", "e30", "--ratios", "10 to 11"],
        &["goal", &street, "--samples", "50", "--fuel", "e30", "--wheel-power", "120 kW"],
        &["dyno", &street, GOOD, "--samples", "50"],
    ];
    for arguments in asked {
        let text = String::from_utf8(run(arguments).stdout).unwrap();
        let (_, cautions) = text.split_once("\nCautions\n").unwrap();
        assert_eq!(cautions.matches("  - ").count(), 2, "{arguments:?}: {text}");
        assert!(cautions.contains("knock") && cautions.contains("\nMore: --show "), "{text}");
        assert!(text.lines().count() <= SCREEN, "{arguments:?}: {text}");
    }
}
