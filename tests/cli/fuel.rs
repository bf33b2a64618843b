//! `endgas fuel` from outside: every form, where results go, and input that cannot be used.

use crate::common::cli::{OWN_FUEL, entries, fuel_names, numbers, quiet, refused, run};
use serde_json::Value;

const EXAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fuels/examples");

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&quiet(&[arguments, &["--format", "json"]].concat(), 0)).unwrap()
}

fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap).collect()
}

#[test]
fn fuels_are_shown_side_by_side_with_cautions_and_sources() {
    let text = quiet(&["fuel", "premium-91", "e85", "premium-91 70 % + e85 30 %", "methanol"], 0);
    for words in [
        "\nOctane (low to high",
        "\nEnergy\n",
        "\nOn the engine\n",
        "\nSubstance\n",
        "Heywood",
        "must be measured",
        "poison",
        "cannot be seen by day",
        "draws water",
        "attacks",
        "ASTM D5798",
        "density at",
        "published blends",
    ] {
        assert!(text.contains(words), "{words:?} is not in {text}");
    }
    assert_eq!(text.matches("\n  e85 ").count(), 4 * 3 + 3, "three contents in four tables, three parts");
}

#[test]
fn every_form_fits_100_columns_in_both_units() {
    let forms: [&[&str]; 4] = [
        &["fuel", "premium-91", "ethanol-denatured", "premium-91 70 % + e85-summer 30 %"],
        &["fuel", "premium-91", "--sweep"],
        &["fuel", "mix", "20 L e85", "30.5 gal premium-91 50 % + regular-87 50 %"],
        &["fuel", "--list"],
    ];
    for form in forms {
        for units in ["metric", "us"] {
            let with_units = [form, &["--units", units]].concat();
            let text = quiet(if form.contains(&"--list") { form } else { &with_units }, 0);
            let widest = text.lines().max_by_key(|l| l.chars().count()).unwrap();
            assert!(widest.chars().count() <= 100, "{form:?}: {widest}");
            assert!(!text.contains("NaN") && !text.contains("inf "), "{form:?}");
        }
    }
}

/// HAND: E85 as sold has 51, 74 and 83 %; US units are the metric ones converted.
#[test]
fn json_and_csv_carry_the_same_figures() {
    let document = json(&["fuel", "premium-91", "e85"]);
    assert_eq!(fuel_names(&document.to_string()), ["premium-91", "e85"]);
    assert!(numbers(&document).iter().all(|n| n.is_finite()));
    assert_eq!(document["tank"], Value::Null);
    let states = document["fuels"][1]["states"].as_array().unwrap();
    let contents: Vec<f64> = states.iter().map(|s| s["ethanol_vol_frac"].as_f64().unwrap()).collect();
    assert_eq!(contents, [0.51, 0.74, 0.83]);
    let sources = document["fuels"][1]["sources"].to_string();
    assert!(sources.contains("ethanol: octane: Hunwartzen"), "{sources}");

    let table = quiet(&["fuel", "premium-91", "e85", "--format", "csv"], 0);
    let head: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap_or_else(|| panic!("{name}"));
    let rows = rows(&table);
    assert_eq!(rows.len(), 4);
    let cell = |i: usize, name: &str| rows[i][column(name)].parse::<f64>().unwrap();
    let lhv = states[1]["lhv_j_per_kg"].as_f64().unwrap();
    assert!((cell(2, "lhv_mj_per_kg") - lhv * 1e-6).abs() < 6e-5);
    assert_eq!((&rows[1][1], &rows[2][1], &rows[3][1]), ("low", "likely", "high"));
    let us = quiet(&["fuel", "e85", "--format", "csv", "--units", "us"], 0);
    for name in
        ["lhv_btu_per_lb", "lhv_btu_per_gal", "hov_btu_per_lb", "density_59f_lb_per_gal", "charge_cooling_f"]
    {
        assert!(us.lines().next().unwrap().split(',').any(|h| h == name), "{name}");
    }
}

#[test]
fn the_schema_is_that_of_every_form_and_needs_no_fuel() {
    let schema = quiet(&["fuel", "--format", "schema"], 0);
    assert_eq!(schema, quiet(&["fuel", "mix", "--format", "schema"], 0));
    let parsed: Value = serde_json::from_str(&schema).unwrap();
    let known = |keys: &Value, of: &Value| {
        for key in keys.as_object().unwrap().keys() {
            assert!(of.get(key).is_some(), "{key} is not in the schema");
        }
    };
    for arguments in [&["fuel", "e85"][..], &["fuel", "e85", "--sweep"], &["fuel", "mix", "1 L e85"]] {
        let document = json(arguments);
        known(&document, &parsed["properties"]);
        known(&document["fuels"][0]["states"][0], &parsed["$defs"]["State"]["properties"]);
    }
}

#[test]
fn a_sweep_goes_to_files_with_its_plots() {
    let folder = tempfile::tempdir().unwrap();
    let plots = folder.path().join("plots");
    let out = folder.path().join("sweep.csv");
    let arguments = ["fuel", "premium-91", "--sweep", "--format", "csv"];
    let printed = quiet(&arguments, 0);
    assert_eq!(rows(&printed).len(), 21);
    let targets = ["--out", out.to_str().unwrap(), "--plot", plots.to_str().unwrap()];
    let output = run(&[&arguments[..], &targets].concat());
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stdout.is_empty());
    assert_eq!(std::fs::read_to_string(&out).unwrap(), printed);
    let names = ["cooling", "evaporation", "fuel-flow", "heating-value", "octane"]
        .map(|what| ["png", "svg"].map(|kind| format!("ethanol-{what}.{kind}")))
        .concat();
    assert_eq!(entries(&plots), names);
    let svg = std::fs::read_to_string(plots.join("ethanol-octane.svg")).unwrap();
    for words in ["RON", "MON", "AKI", "ethanol, % by volume", "premium-91 as sold"] {
        assert!(svg.contains(words), "{words}");
    }
}

#[test]
fn the_list_names_all_fuels_and_those_of_a_folder() {
    let list = quiet(&["fuel", "--list"], 0);
    for name in ["premium-91 ", "e85 ", "ethanol-denatured ", "methanol ", "natural-gasoline "] {
        assert!(list.contains(&format!("\n  {name}")), "{name}");
    }
    assert!(!list.contains("race-gasoline"));
    assert!(quiet(&["fuel", "--list", "--fuel-folder", EXAMPLES], 0).contains("\n  race-gasoline "));
}

#[test]
fn the_example_fuel_is_found_in_its_folder() {
    let text = quiet(&["fuel", "race-gasoline", "--fuel-folder", EXAMPLES], 0);
    assert!(text.contains("Invented racing gasoline") && text.contains("as the fuel file states it"));
    assert!(refused(&["fuel", "race-gasoline"]).contains("no fuel is called 'race-gasoline'"));
}

/// HAND: (20 * 74 + 30 * 10)/50 = 35.6 %, ends (20 * 51 + 300)/50 = 26.4 and (20 * 83 + 300)/50 = 39.2.
#[test]
fn a_tank_is_mixed_with_the_range_of_pump_content() {
    let text = quiet(&["fuel", "mix", "20 L e85", "30 L premium-91"], 0);
    assert!(text.contains("Result     50.0 L, ethanol 35.6 % (26.4 to 39.2)\n"), "{text}");
    let measured = quiet(&["fuel", "mix", "20 L e85 at 71 %", "30 L premium-91"], 0);
    assert!(measured.contains("Result     50.0 L, ethanol 34.4 %\n"), "{measured}");
    let document = json(&["fuel", "mix", "10 gal e85"]);
    assert!((document["tank"]["volume_l"].as_f64().unwrap() - 37.854).abs() < 1e-3);
}

/// HAND: 30 L at 10 % need 50 L at 74 % for 50 %.
#[test]
fn the_volume_to_add_is_told() {
    let arguments = ["fuel", "mix", "30 L premium-91", "--to", "50 %", "--add", "e85", "--tank", "80 L"];
    let text = quiet(&arguments, 0);
    assert!(text.contains("Add        50.0 L e85 (ethanol 74.0 % (51.0 to 83.0))\n"), "{text}");
    assert!(text.contains("Result     80.0 L, ethanol 50.0 % (35.6 to 55.6)\n"), "{text}");
    let document = json(&arguments);
    assert!((document["tank"]["add"]["volume_l"].as_f64().unwrap() - 50.0).abs() < 1e-9);
    let said = refused(&["fuel", "mix", "30 L premium-91", "--to", "50", "--add", "e85", "--tank", "60 L"]);
    assert!(said.contains("reaches 10.0 to 42.0 %, when the tank is full"), "{said}");
}

#[test]
fn input_that_cannot_be_used_is_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.txt");
    let plots = folder.path().join("plots");
    let cases: [(&[&str], &str); 25] = [
        (&[], "name a fuel or a recipe"),
        (&["e84"], "no fuel is called 'e84'; did you mean e85"),
        (&["zzzz", "premium91"], "2 problems with the fuels"),
        (&["water"], "heating value"),
        (&["e85", "E85"], "fuel 'e85' is already in the list"),
        (&["mix", "20 L water"], "heating value"),
        (&["mix", "20 L e85", "--to", "60 %", "--add", "water"], "heating value"),
        (&["premium-91 60 % + e85 30 %"], "adds to 90 %"),
        (&["e85", "e10", "--sweep"], "--sweep takes one fuel, and 2 are given"),
        (&["e100", "--sweep"], "no base to sweep ethanol on"),
        (&["e85", "--sweep", "--plot", "PLOTS", "--format", "schema"], "--plot"),
        (&["e85", "--plot", "PLOTS"], "--sweep"),
        (&["e85", "--list"], "cannot be used with"),
        (&["e85", "--format", "xml"], "invalid value 'xml'"),
        (&["e85", "--units", "si"], "invalid value 'si'"),
        (&["e85", "--fuel-folder", "no/such/folder"], "cannot read no/such/folder"),
        (&["mix"], "say what is in the tank"),
        (&["mix", "20 e85", "L e85"], "2 problems with the fuels"),
        (&["mix", "20 L e85 at 120 %"], "cannot read 'e85 at 120 %'"),
        (&["mix", "20 L e100 at 90 %"], "ethanol content 0.9"),
        (&["mix", "20 L e85", "--to", "50 %"], "--add"),
        (&["mix", "20 L e85", "--tank", "60 L"], "--to"),
        (&["mix", "20 L e85", "--to", "half", "--add", "e100"], "--to \"half\" is not a content"),
        (&["mix", "20 L e85", "--to", "30 %", "--add", "e100"], "reaches 74.0 to 100.0 %"),
        (
            &["mix", "20 L e85", "--to", "80 %", "--add", "e100", "--tank", "10 L"],
            "20.0 L are in a tank of 10.0 L",
        ),
    ];
    for (typed, why) in cases {
        let typed = typed.iter().map(|a| if *a == "PLOTS" { plots.to_str().unwrap() } else { a });
        let mut arguments = vec!["fuel"];
        arguments.extend(typed);
        arguments.extend(["--out", out.to_str().unwrap()]);
        let said = refused(&arguments);
        assert!(said.contains(why), "{arguments:?}: {said}");
        assert!(entries(folder.path()).is_empty(), "{arguments:?}");
    }
}

#[test]
fn a_file_that_takes_a_shipped_name_says_so_or_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    let text = OWN_FUEL.replace("NAME", "premium-91");
    std::fs::write(&path, &text).unwrap();
    let own = folder.path().to_str().unwrap();
    let said = refused(&["fuel", "premium-91", "--fuel-folder", own]);
    assert!(said.contains("replaces = \"premium-91\""), "{said}");
    std::fs::write(&path, text.replace("title =", "replaces = \"premium-91\"\ntitle =")).unwrap();
    assert!(quiet(&["fuel", "premium-91", "--fuel-folder", own], 0).contains("Invented test fuel"));
}

/// A polynomial that gives no number is told, not printed.
#[test]
fn a_component_whose_figures_give_no_number_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(format!("{EXAMPLES}/race-base.toml")).unwrap();
    let endless = "low = [inf, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]\nhigh = [4.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]";
    let from = text.lines().find(|l| l.starts_with("surrogate")).unwrap();
    std::fs::write(folder.path().join("a.toml"), text.replace(from, endless)).unwrap();
    let said =
        refused(&["fuel", "race-base", "--format", "json", "--fuel-folder", folder.path().to_str().unwrap()]);
    assert!(
        said.contains("a.toml:") && said.contains("vapour.low[1] = inf is not a finite number"),
        "{said}"
    );
}
