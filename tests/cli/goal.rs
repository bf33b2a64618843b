//! `endgas goal` as its user runs it.

use crate::common::cli::{entries, numbers, quiet, refused, scenario};
use crate::csv_convention::keeps_to_it;
use serde_json::Value;

const SCENARIOS: [&str; 4] = ["circuit-2400", "street-2000", "big-eight-6200", "ported-four-1800"];

#[test]
fn the_text_of_the_example() {
    insta::assert_snapshot!(quiet(&["goal", "--wheel-power", "165 kW", "--show", "all"], 1));
}

#[test]
fn status_tells_whether_the_likely_case_reaches_it() {
    // HAND: the likely case of the example is 150 kW, 201 hp, 204 PS.
    for (power, status) in
        [("147 kW", 0), ("154 kW", 1), ("197 hp", 0), ("206 hp", 1), ("200 PS", 0), ("209 PS", 1)]
    {
        quiet(&["goal", "--wheel-power", power, "--samples", "100", "--fuel", "premium-91"], status);
    }
    // The first fuel is the one judged.
    quiet(&["goal", "--wheel-power", "154 kW", "--fuel", "e85", "--fuel", "premium-91"], 0);
}

#[test]
fn every_scenario_fits_100_columns_and_says_its_verdict() {
    for name in SCENARIOS {
        for (power, status) in [("40 kW", 0), ("900 kW", 1)] {
            let units = if name == "street-2000" { "metric" } else { "us" };
            let file = scenario(name);
            let arguments = [
                "goal",
                &file,
                "--wheel-power",
                power,
                "--units",
                units,
                "--samples",
                "60",
                "--show=all",
                "--fuel",
                "e85",
            ];
            let text = quiet(&arguments, status);
            let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
            assert!(widest.chars().count() <= 100, "{name} {power}: {widest}");
            let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
            if status == 1 {
                assert!(one_line.contains("No: not credible, even with a race build."), "{name}: {text}");
                assert!(one_line.contains("is not credible for this build"), "{name}");
                assert!(one_line.contains("What would be: up to about"), "{name}");
                assert!(one_line.contains("The most that parts make"), "{name}");
            } else {
                assert!(
                    one_line.contains("Yes: already reached as built.")
                        && !one_line.contains("Cheapest parts")
                );
            }
            assert!(one_line.contains("pull timing"));
        }
    }
}

#[test]
fn json_has_stable_keys_and_follows_its_schema() {
    let json = quiet(&["goal", "--wheel-power", "165 kW", "--format", "json"], 1);
    let document: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(document["tool"]["name"], "endgas");
    assert_eq!(document["fuel"], "premium-91");
    assert_eq!(document["verdict"], "needs_top_end_work");
    assert_eq!(document["wheel_power_kw"], 165.0);
    let way = &document["chances"][0]["way"];
    assert_eq!(way["parts"].as_array().unwrap().len(), way["levers"].as_array().unwrap().len());
    assert_eq!(way["depth"], "top_end");
    assert!(numbers(&document).iter().all(|number| number.is_finite()));
    let schema: Value = serde_json::from_str(&quiet(&["goal", "--format", "schema"], 0)).unwrap();
    let known = schema["properties"].as_object().unwrap();
    for key in document.as_object().unwrap().keys() {
        assert!(known.contains_key(key), "{key}");
    }
    assert_eq!(known.len(), document.as_object().unwrap().len());
}

/// One verdict per goal and fuel: headline, rows and JSON say the same.
#[test]
fn headline_rows_and_json_agree() {
    let file = scenario("street-2000");
    let mut seen = std::collections::BTreeSet::new();
    for power in ["70 kW", "94 kW", "105 kW", "114 kW", "130 kW", "160 kW", "300 kW"] {
        let arguments = ["goal", &file, "--wheel-power", power, "--samples", "50"];
        let fuels = ["--fuel", "e85", "--fuel", "regular-87"];
        let asked = [&arguments[..], &fuels].concat();
        let output = crate::common::cli::run(&asked);
        let text = String::from_utf8(output.stdout).unwrap();
        let output = crate::common::cli::run(&[&asked[..], &["--format", "json"]].concat());
        let document: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(document["verdict"], document["chances"][0]["verdict"], "{power}");
        for chance in document["chances"].as_array().unwrap() {
            let word = chance["verdict"].as_str().unwrap().replace('_', " ").replace("top end", "top-end");
            let word = ["full", "race"].iter().fold(word, |word, depth| {
                word.replace(&format!("needs {depth}"), &format!("needs a {depth}"))
            });
            let fuel = chance["fuel"].as_str().unwrap();
            let row = text.lines().find(|line| line.trim_start().starts_with(&format!("{fuel} "))).unwrap();
            assert!(row.contains(&word), "{power}: {word} in {row}");
            if fuel == "e85" {
                let headline = text.split("\nAnswer\n").nth(1).unwrap().lines().next().unwrap();
                assert!(headline.to_lowercase().contains(&word), "{power}: {word} in {headline}");
            }
            seen.insert(word);
        }
    }
    assert!(seen.len() >= 6, "{seen:?}");
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let few = ["--samples", "60", "--fuel", "premium-91"];
    let run = |seed: &str| {
        quiet(
            &[&["goal", "--wheel-power", "155 kW", "--format", "json", "--seed", seed][..], &few].concat(),
            1,
        )
    };
    let first = run("7");
    assert_eq!(first, run("7"));
    assert_ne!(first, run("8"));
}

/// One row per rpm with what the goal asks there, in the words and numbers of the JSON.
#[test]
fn csv_holds_what_the_goal_asks_at_each_rpm() {
    let goal = |format: &str| {
        quiet(
            &[
                "goal",
                "--wheel-power",
                "165 kW",
                "--format",
                format,
                "--samples",
                "50",
                "--fuel",
                "premium-91",
            ],
            1,
        )
    };
    let (csv, json) = (goal("csv"), goal("json"));
    keeps_to_it(&csv);
    let document: Value = serde_json::from_str(&json).unwrap();
    let demand = document["demand"].as_array().unwrap();
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), demand.len());
    for (row, point) in rows.iter().zip(demand) {
        let cell = |name: &str| &row[header.iter().position(|head| head == name).unwrap()];
        assert_eq!(cell("target_wheel_power_kw"), "165.00");
        assert_eq!(cell("fuel_allows_it"), point["fuel_allows_it"].to_string());
        assert_eq!(cell("bmep_class"), point["bmep_standing"].as_str().unwrap());
        for (name, value) in [
            ("crank_power_likely_kw", &point["crank_power_kw"]["likely"]),
            ("bmep_high_bar", &point["bmep_bar"]["high"]),
            ("specific_power_kw_per_l", &point["specific_power_kw_per_l"]),
        ] {
            let off = cell(name).parse::<f64>().unwrap() - value.as_f64().unwrap();
            assert!(off.abs() < 0.006, "{name}: {off}");
        }
    }
}

#[test]
fn bad_powers_are_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("goal.txt");
    let out = out.to_str().unwrap();
    for (typed, said) in [
        ("300", "wheel power has no unit; units are kW, hp, PS, as in \"300 hp\""),
        ("300 watts", "wheel power is not given in 'watts'"),
        ("lots", "wheel power is a number with its unit"),
        ("0 kW", "wheel power of 0.0000 kW is outside 2 to 2000 kW"),
        ("-20 kW", "outside 2 to 2000 kW"),
        ("99999999 hp", "outside 2 to 2000 kW"),
        ("NaN kW", "wheel power is a number with its unit"),
    ] {
        let error = refused(&["goal", "--wheel-power", typed, "--out", out]);
        assert!(error.contains(said), "{typed}: {error}");
    }
    let error = refused(&["goal", "--out", out]);
    assert!(error.contains("give the target wheel power"), "{error}");
    assert!(entries(folder.path()).is_empty());
}
