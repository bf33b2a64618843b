//! `endgas volumes` as its user runs it.

use crate::common::cli::{quiet, refused, run, scenario};
use serde_json::Value;

fn street(arguments: &[&str]) -> String {
    quiet(&[&["volumes", &scenario("street-2000")], arguments].concat(), 0)
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&quiet(&[&["volumes"], arguments, &["--format", "json"]].concat(), 0)).unwrap()
}

/// A shipped scenario with something changed, as a file.
fn changed(name: &str, from: &str, to: &str) -> (tempfile::TempDir, String) {
    let text = std::fs::read_to_string(scenario(name)).unwrap();
    assert!(text.contains(from), "{from}");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("changed.toml");
    std::fs::write(&path, text.replace(from, to)).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

#[test]
fn what_is_printed() {
    let demo = quiet(&["volumes", "--wanted", "11", "--units", "us"], 0);
    for (name, text) in [
        ("street", street(&[])),
        ("street up", street(&["--wanted", "10.5"])),
        ("street far up", street(&["--wanted", "12.5"])),
        ("street down us", street(&["--wanted", "9:1", "--units", "us"])),
        ("street csv", street(&["--wanted", "10.5", "--format", "csv"])),
        ("ratio alone us", demo),
    ] {
        if !name.ends_with("csv") {
            assert!(text.lines().all(|line| line.chars().count() <= 100), "{name}");
        }
        insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!(name, text) });
    }
}

#[test]
fn the_ratio_stands_first_and_is_that_of_the_estimate() {
    let text = street(&[]);
    let first = text.lines().next().unwrap();
    assert!(first.starts_with("Compression ratio 10.00:1, 9.92 to 10.09 (tolerances), cylinders"), "{first}");
    let sheet = json(&[&scenario("street-2000")]);
    let estimate = quiet(
        &["estimate", &scenario("street-2000"), "--format", "json", "--samples", "50", "--fuel", "e85"],
        0,
    );
    let estimate: Value = serde_json::from_str(&estimate).unwrap();
    assert_eq!(sheet["compression_ratio"], estimate["compression_ratio"]);
}

#[test]
fn a_ratio_alone_says_what_follows_and_which_keys_give_the_rest() {
    let sheet = json(&[]);
    assert_eq!(sheet["measured"], Value::Null);
    assert_eq!(sheet["by_cylinder"], Value::Array(vec![]));
    // HAND: 600.1 cc over 11.5.
    assert!((sheet["clearance_m3"].as_f64().unwrap() * 1e6 - 52.18).abs() < 0.01);
    let text = quiet(&["volumes"], 0);
    for key in ["[engine.volumes]", "chamber_cc", "gasket_thickness_mm", "not measured"] {
        assert!(text.contains(key), "{key}");
    }
}

#[test]
fn cranking_pressure_follows_the_day() {
    let likely = |arguments: &[&str]| json(arguments)["cranking"]["likely_gauge_pa"].as_f64().unwrap();
    let (low, high) = (likely(&["--altitude", "2500 m"]), likely(&["--pressure", "101.3 kPa"]));
    assert!(low < 0.8 * high, "{low} {high}");
}

#[test]
fn a_measured_head_face_takes_the_bound_away() {
    let (_folder, path) = changed("street-2000", "# head_cut_cc_per_mm = 4.6", "head_cut_cc_per_mm = 4.6");
    let ways = json(&[&path, "--wanted", "10.5"])["wanted"]["ways"].as_array().unwrap().clone();
    let head = ways.iter().find(|way| way["kind"] == "head_cut").unwrap();
    // HAND: 2.893 cc at 4.6 cc per mm.
    assert!((head["length_m"].as_f64().unwrap() * 1e3 - 0.629).abs() < 0.001);
    assert_eq!(head["at_least"], false);
}

#[test]
fn the_ring_land_is_another_way_to_say_the_crevice() {
    let land = "ring_land_height_mm = 5.0\nring_land_clearance_mm = 0.3 #";
    let (_folder, path) = changed("street-2000", "crevice_cc = 0.4 ", land);
    let parts = json(&[&path])["measured"]["parts"].as_array().unwrap().clone();
    let crevice = parts.iter().find(|part| part["part"] == "crevice").unwrap();
    // HAND: pi (85.5 - 0.3) 0.3 5 = 401.5 mm3.
    assert!((crevice["clearance_m3"].as_f64().unwrap() * 1e9 - 401.5).abs() < 0.1);
}

#[test]
fn the_tightest_cylinder_sets_the_squish() {
    let list = "deck_clearance_mm_by_cylinder = [0.3, 0.05, 0.4, 0.45] #";
    let (_folder, path) = changed("street-2000", "deck_clearance_mm = 0.3 ", list);
    let sheet = json(&[&path, "--wanted", "10.2"]);
    let squish_mm = |value: &Value| value["squish_clearance_m"].as_f64().unwrap() * 1e3;
    // HAND: 0.05 of deck and 0.9 of gasket; the mean deck is still 0.3, so the ratio stays.
    assert!((squish_mm(&sheet["measured"]) - 0.95).abs() < 1e-9);
    assert!((sheet["compression_ratio"].as_f64().unwrap() - 10.0046).abs() < 1e-4);
    for way in sheet["wanted"]["ways"].as_array().unwrap() {
        let taken = match way["kind"].as_str().unwrap() {
            "gasket" => 0.9 - way["length_m"].as_f64().unwrap() * 1e3,
            "deck_cut" => way["length_m"].as_f64().unwrap() * 1e3,
            _ => 0.0,
        };
        assert!((squish_mm(way) - (0.95 - taken)).abs() < 1e-9, "{way}");
    }
    assert!(quiet(&["volumes", &path], 0).contains("0.95 mm (0.037 in) is tight"));
}

#[test]
fn what_a_builder_must_mind_is_told() {
    let (_folder, high) = changed("street-2000", "dome_cc = -1.8 ", "dome_cc = 10.5 #");
    assert!(quiet(&["volumes", &high], 0).contains("slows the burn"));
    let (_folder, thin) = changed("street-2000", "deck_clearance_mm = 0.3 ", "deck_clearance_mm = -0.2 #");
    assert!(quiet(&["volumes", &thin], 0).contains("may hit the head"));
    let (_folder, loose) = changed("street-2000", "deck_clearance_mm = 0.3 ", "deck_clearance_mm = 0.9 #");
    assert!(quiet(&["volumes", &loose], 0).contains("Squish clearance of 1.80 mm"));
    let (_folder, bare) = changed("street-2000", "crevice_cc = 0.4 ", "# ");
    assert!(quiet(&["volumes", &bare], 0).contains("crevice above the top ring is not stated"));
}

/// With US units what is said of combinations and valves holds no metric figure.
#[test]
fn combinations_and_valves_speak_the_units_of_the_reader() {
    let told = |units: &str| {
        let text = street(&["--wanted", "10.5", "--units", units]);
        let from = text.find("Or one of these combinations").unwrap();
        text[from..text.find("Cautions").unwrap()].to_owned()
    };
    let (metric, us) = (told("metric"), told("us"));
    assert!(
        metric.contains("squish stays at 0.90 to 1.30 mm")
            && metric.contains("intake 2.0 mm, exhaust 2.5 mm")
    );
    assert!(us.contains("quench stays at 0.0354 to 0.0512 in") && us.contains("intake 0.080 in, exhaust"));
    assert!(!us.contains(" mm") && !us.contains("squish"), "{us}");
}

#[test]
fn what_the_ratio_asks_of_octane_follows_the_fuel() {
    let sheet = json(&[&scenario("street-2000"), "--wanted", "11", "--fuel", "e85"]);
    assert_eq!(sheet["octane"]["fuel"], "e85");
    let wanted = &sheet["wanted"];
    let (likely, slope) = (&wanted["octane"]["likely"], &wanted["octane"]["per_ratio"]);
    // HAND: from 10.0046 to 11.
    assert!((likely.as_f64().unwrap() / slope.as_f64().unwrap() - 0.9954).abs() < 1e-4);
}

#[test]
fn keys_of_the_json_form_are_those_of_its_schema() {
    let schema: Value = serde_json::from_str(&quiet(&["volumes", "--format", "schema"], 0)).unwrap();
    let known = schema["properties"].as_object().unwrap();
    let sheet = json(&[&scenario("street-2000"), "--wanted", "11"]);
    for key in sheet.as_object().unwrap().keys() {
        assert!(known.contains_key(key), "{key}");
    }
    assert_eq!(sheet.as_object().unwrap().len(), known.len());
    assert_eq!(sheet["tool"]["name"], "endgas");
    assert_eq!(sheet["by_cylinder"].as_array().unwrap().len(), 4);
}

#[test]
fn bad_input_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet.txt");
    let target = ["--out", out.to_str().unwrap()];
    for (bad, why) in [
        (["--wanted", "25"], "outside 6 to 18"),
        (["--wanted", "high"], "a ratio is a number such as 12.5"),
        (["--pressure", "30 kPa"], "outside 50 to 110 kPa"),
        (["--samples", "400"], "unexpected argument"),
        (["--fuel", "no-such-fuel"], "no-such-fuel"),
    ] {
        let said = refused(&[&["volumes"], bad.as_slice(), target.as_slice()].concat());
        assert!(said.contains(why), "{said}");
    }
    let said = refused(&["volumes", "no-such-file.toml", target[0], target[1]]);
    assert!(said.contains("no-such-file.toml"), "{said}");
    let (_folder, wrong) = changed("street-2000", "[46.0, 46.5, 46.1, 46.2]", "[46.0, 46.5, 46.1]");
    let said = refused(&["volumes", &wrong, target[0], target[1]]);
    assert!(said.contains("a list of 4 entries"), "{said}");
    assert!(!out.exists());
}

#[test]
fn a_file_is_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sheet.csv");
    let arguments = ["volumes", &scenario("street-2000"), "--format", "csv", "--out", out.to_str().unwrap()];
    assert_eq!(run(&arguments).status.code(), Some(0));
    assert_eq!(std::fs::read_to_string(out).unwrap(), street(&["--format", "csv"]));
}

const EVENTS: &str = "inlet_closes_deg_abdc = 55.0    # 10 to 100, after bottom dead centre
exhaust_opens_deg_bbdc = 52.0   # 10 to 100, before bottom dead centre
overlap_deg = 18.0              # 0 to 150; both valves open
";
const CARD: &str = "[valves.cam]
followers = \"hydraulic\"
rocker_ratio = 1.5
inlet_duration_050_in_lifter_deg = 230
inlet_advertised_duration_deg = 280
inlet_lobe_lift_mm = 8.13
exhaust_duration_050_in_lifter_deg = 236
exhaust_lobe_lift_mm = 8.13
lobe_separation_deg = 110
inlet_centreline_deg_atdc = 106
";

/// HAND: 106 + 140 - 180 = 66 deg at the seat, 106 + 115 - 180 = 41 at 0.050 in.
#[test]
fn a_cam_card_shows_its_events_and_the_ratio_from_each_closing() {
    let (_folder, path) = changed("big-eight-6200", EVENTS, CARD);
    let sheet = json(&[&path]);
    let rows = sheet["cam"]["events"].as_array().unwrap();
    let of = |row: &Value, key: &str| row[key].as_f64().unwrap();
    let closings: Vec<f64> = rows.iter().map(|row| of(row, "inlet_closes_deg_abdc")).collect();
    assert!((closings[0] - 66.0).abs() < 1e-3 && (closings[2] - 41.0).abs() < 1e-3, "{closings:?}");
    assert!(closings[2] < closings[1] && closings[1] < closings[0], "{closings:?}");
    let ratios: Vec<f64> = rows.iter().map(|row| of(row, "ratio_from_inlet_closing")).collect();
    assert!(ratios[0] < ratios[1] && ratios[1] < ratios[2], "{ratios:?}");
    assert!((ratios[1] - of(&sheet, "ratio_from_inlet_closing")).abs() < 1e-9);
    assert!((ratios[0] - of(&sheet["cranking"], "ratio_from_seated_valve")).abs() < 1e-9);
    let text = quiet(&["volumes", &path], 0);
    for words in ["1 mm at the valve", "0.050 in at the lifter", "Degree", "usual ramp", "by the cam card"] {
        assert!(text.to_lowercase().contains(&words.to_lowercase()), "{words}: {text}");
    }
    assert!(!quiet(&["volumes", &path, "--units", "us"], 0).contains(" mm"));
}
