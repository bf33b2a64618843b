//! Whole documents from the invented estimate. Snapshots are FROZEN: they show changes, not truth.

use super::*;
use crate::estimate::{Band, Estimate, Peak};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

fn rendered(format: Format, units: Units) -> String {
    render(&fixture::estimate(), format, units).unwrap()
}

#[test]
fn text_metric() {
    insta::assert_snapshot!(rendered(Format::Text, Units::Metric));
}

#[test]
fn text_us() {
    insta::assert_snapshot!(rendered(Format::Text, Units::Us));
}

#[test]
fn json() {
    let version = concat!("\"version\": \"", env!("CARGO_PKG_VERSION"), "\"");
    insta::assert_snapshot!(
        rendered(Format::Json, Units::Metric).replace(version, "\"version\": \"[version]\"")
    );
}

#[test]
fn csv_metric() {
    insta::assert_snapshot!(rendered(Format::Csv, Units::Metric));
}

#[test]
fn csv_us() {
    insta::assert_snapshot!(rendered(Format::Csv, Units::Us));
}

#[test]
fn schema() {
    insta::assert_snapshot!(Estimate::schema());
}

#[test]
fn text_fits_its_width_even_with_long_names() {
    let mut estimate = fixture::estimate();
    estimate.scenario = "a scenario with a long name ".repeat(8);
    estimate.fuels[0].name = "0.35 premium gasoline of some grade + 0.65 ethanol blend of another".to_owned();
    estimate.fuels[0].title = "a title ".repeat(30);
    for units in [Units::Metric, Units::Us] {
        let text = render(&estimate, Format::Text, units).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= 100, "{line}");
            assert_eq!(line, line.trim_end());
        }
    }
}

/// The views that a command line can ask for, at a width.
fn views(width: usize) -> Vec<View> {
    let parts = |names: &[&str]| View {
        width,
        parts: names.iter().map(|name| (*name).to_owned()).collect(),
        ..View::screen()
    };
    let own = Estimate::PARTS.iter().map(|part| parts(&[part.name]));
    own.chain([parts(&[]), parts(&[ALL])]).collect()
}

#[test]
fn every_view_fits_its_width_and_has_its_cautions() {
    let estimate = fixture::estimate();
    for width in [NARROWEST, 80, WIDEST] {
        for units in [Units::Metric, Units::Us] {
            for view in views(width) {
                let text = without_styles(&render_styled(&estimate, units, &view).unwrap());
                let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
                assert!(widest.chars().count() <= width, "{view:?}: {widest}");
                assert!(text.contains("not a calibration") && text.contains("Never lean"), "{view:?}");
                assert!(text.contains("WARNING: Mean piston speed"), "{view:?}");
            }
        }
    }
}

#[test]
fn styles_only_emphasise() {
    let styled = render_styled(&fixture::estimate(), Units::Metric, &View::whole()).unwrap();
    assert!(styled.contains("\u{1b}["));
    assert_eq!(without_styles(&styled), rendered(Format::Text, Units::Metric));
    assert!(!rendered(Format::Text, Units::Metric).contains('\u{1b}'));
}

#[test]
fn a_part_is_told_of_the_fuel_that_limits() {
    let estimate = fixture::estimate();
    let view = |fuels| View { parts: vec!["losses".to_owned()], fuels, ..View::screen() };
    let text = |fuels| without_styles(&render_styled(&estimate, Units::Metric, &view(fuels)).unwrap());
    let of = |name: &str| format!("Where the fuel energy goes at peak power, {name}");
    let limiting = text(ShownFuels::Limiting);
    assert!(limiting.contains(&of("pump-a")) && !limiting.contains(&of("pump-b")), "{limiting}");
    assert!(limiting.contains("Shown on pump-a, the fuel that limits"), "{limiting}");
    let named = text(ShownFuels::Named(vec!["pump-b".to_owned()]));
    assert!(named.contains(&of("pump-b")) && !named.contains(&of("pump-a")), "{named}");
}

#[test]
fn json_is_the_same_in_both_units() {
    assert_eq!(rendered(Format::Json, Units::Metric), rendered(Format::Json, Units::Us));
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn json_keys_stand_in_their_stated_order() {
    let doc: Value = serde_json::from_str(&rendered(Format::Json, Units::Metric)).unwrap();
    assert_eq!(keys(&doc)[..5], ["tool", "scenario", "cautions", "compression_ratio", "fuels"]);
    assert_eq!(keys(&doc)[5..10], ["notices", "limit_missed", "reserve_octane", "samples", "seed"]);
    assert_eq!(keys(&doc)[10..], ["corrections", "breathing_source", "driveline_source", "assumed"]);
    assert_eq!(keys(&doc["tool"]), ["name", "version"]);
    let fuel = &doc["fuels"][0];
    let expected = "name ethanol_vol_frac ron mon aki afr_stoich lhv_j_per_kg hov_j_per_kg curve peak_power \
                    peak_torque peak_power_lost_frac tightest_speed_rpm ladder levers drivers \
                    corrected_peak_power start_peak_power";
    assert_eq!(keys(fuel), expected.split(' ').collect::<Vec<_>>());
    let expected: Vec<&str> = "speed_rpm volumetric_efficiency lambda spark_deg_btdc \
         best_torque_spark_deg_btdc knock_limited ca50_deg_atdc knock_integral octane_index \
         octane_requirement octane_margin knock_margin_index spark_margin_deg knock_probability \
         imep_net_bar fmep_bar pmep_bar bmep_bar peak_pressure_bar efficiency_brake bsfc_g_per_kwh \
         air_flow_kg_per_s fuel_flow_kg_per_s crank_torque_nm crank_power_kw wheel_power_kw"
        .split(' ')
        .collect();
    assert_eq!(keys(&fuel["curve"][0])[..expected.len()], expected);
    let added: Vec<&str> = keys(&fuel["curve"][0])[expected.len()..].to_vec();
    let last = [
        "start_knock_probability",
        "start_octane_margin_band",
        "start_crank_torque_nm",
        "start_wheel_power_kw",
        "octane_per_deg",
    ];
    assert!(added.contains(&"cautious_spark_deg_btdc") && added.ends_with(&last), "{added:?}");
    assert_eq!(keys(&fuel["start_peak_power"]), keys(&fuel["peak_power"]));
    for band in [
        "crank_torque_nm",
        "crank_power_kw",
        "wheel_power_kw",
        "start_crank_torque_nm",
        "start_wheel_power_kw",
    ] {
        assert_eq!(keys(&fuel["curve"][0][band]), ["low", "likely", "high"]);
    }
}

#[test]
fn json_parses_back_to_the_same_numbers() {
    let estimate = fixture::estimate();
    let doc: Value = serde_json::from_str(&rendered(Format::Json, Units::Metric)).unwrap();
    let (fuel, point) = (&doc["fuels"][1], &doc["fuels"][1]["curve"][5]);
    // HAND: (106 + 89) / 2; the rest are inputs of the fixture.
    assert_eq!(fuel["aki"], 97.5);
    assert_eq!((&point["speed_rpm"], &point["bmep_bar"]), (&Value::from(7000.0), &Value::from(11.2)));
    assert_eq!(point["octane_requirement"], 95.1);
    assert_eq!(fuel["peak_power"]["speed_rpm"], 7000.0);
    // HAND: 13.5e5 * 0.0025 / (4 pi), rounded to 0.1.
    assert_eq!(fuel["peak_torque"]["crank_torque_nm"]["likely"], 268.6);
    assert_eq!(fuel["curve"].as_array().unwrap().len(), estimate.fuels[1].curve.len());
}

/// HAND: peak power at the flywheel on the day, times the factors 1 and 1.125 of the fixture, each named.
#[test]
fn text_has_power_by_each_standard() {
    let estimate = fixture::estimate();
    let text = rendered(Format::Text, Units::Metric);
    let peak = &text[text.find("peak crank power, uncorrected").unwrap()..];
    for fuel in &estimate.fuels {
        let row = peak.lines().find(|line| line.trim_start().starts_with(&fuel.name)).unwrap();
        let told: Vec<f64> = row.split_whitespace().filter_map(|cell| cell.parse().ok()).collect();
        let likely = fuel.peak_power.crank.likely;
        for wanted in [likely, 1.125 * likely] {
            assert!(told.iter().any(|kw| (kw - wanted).abs() < 0.51), "{wanted}: {row}");
        }
    }
    assert!(peak.contains("ISO 1585: factor 1.125 for this weather."), "{peak}");
}

/// Every key of a fuel in the JSON is the figure of that name: what the document makes anew by hand, the rest as the estimate has it.
#[test]
fn json_has_every_figure_under_its_own_key() {
    let estimate = fixture::estimate();
    let doc: Value = serde_json::from_str(&rendered(Format::Json, Units::Metric)).unwrap();
    for (told, fuel) in doc["fuels"].as_array().unwrap().iter().zip(&estimate.fuels) {
        let told_peak = |peak: &str, crank: &str, wheel: &str| {
            let peak = &told[peak];
            let band =
                |key: &str| serde_json::from_value::<BTreeMap<String, f64>>(peak[key].clone()).unwrap();
            (peak["speed_rpm"].as_f64().unwrap(), band(crank), band(wheel))
        };
        let wanted = |peak: &Peak| {
            let band = |b: Band| {
                BTreeMap::from(
                    [("low", b.low), ("likely", b.likely), ("high", b.high)].map(|(k, v)| (k.to_owned(), v)),
                )
            };
            (peak.speed_rpm, band(peak.crank), band(peak.wheel))
        };
        assert_eq!(told_peak("peak_torque", "crank_torque_nm", "wheel_torque_nm"), wanted(&fuel.peak_torque));
        assert_eq!(told_peak("peak_power", "crank_power_kw", "wheel_power_kw"), wanted(&fuel.peak_power));
        let start = told_peak("start_peak_power", "crank_power_kw", "wheel_power_kw");
        assert_eq!(start, wanted(fuel.start_peak_power.as_ref().unwrap()));
        for (told, point) in told["curve"].as_array().unwrap().iter().zip(&fuel.curve) {
            assert_eq!(told, &serde_json::to_value(point).unwrap());
        }
        for (key, value) in [
            ("ethanol_vol_frac", fuel.ethanol_vol_frac),
            ("ron", fuel.ron),
            ("mon", fuel.mon),
            ("afr_stoich", fuel.afr_stoich),
            ("lhv_j_per_kg", fuel.lhv_j_per_kg),
            ("hov_j_per_kg", fuel.hov_j_per_kg),
            ("peak_power_lost_frac", fuel.peak_power_lost_frac),
            ("tightest_speed_rpm", fuel.curve[fuel.tightest_index].speed_rpm),
        ] {
            assert_eq!(told[key].as_f64(), Some(value), "{key}");
        }
        // HAND: the fixture has the factors 1 and 1.125.
        for (told, factor) in told["corrected_peak_power"].as_array().unwrap().iter().zip([1.0, 1.125]) {
            let kw = told["crank_power_kw"]["likely"].as_f64().unwrap();
            assert!((kw / fuel.peak_power.crank.likely - factor).abs() < 1e-12, "{told}");
        }
        for (told, rung) in told["ladder"].as_array().unwrap().iter().zip(&fuel.ladder) {
            let bar = &told["mean_effective_pressure_bar"];
            assert_eq!(
                (bar.as_f64(), told["efficiency"].as_f64()),
                (Some(rung.mean_effective_pressure_bar), Some(rung.efficiency))
            );
        }
        for (told, driver) in told["drivers"].as_array().unwrap().iter().zip(&fuel.drivers) {
            for (key, value) in [
                ("power_rank_correlation", driver.power_rank_correlation),
                ("margin_rank_correlation", driver.margin_rank_correlation),
                ("power_swing_kw", driver.power_swing_kw),
                ("margin_swing_octane", driver.margin_swing_octane),
            ] {
                assert_eq!(told[key].as_f64(), Some(value), "{key}");
            }
        }
        for (told, lever) in told["levers"].as_array().unwrap().iter().zip(&fuel.levers) {
            let told = (told["octane_margin_change"].as_f64(), told["torque_change_frac"].as_f64());
            assert_eq!(told, (Some(lever.octane_margin_change), Some(lever.torque_change_frac)));
        }
    }
}

/// Paths of all nulls below a value.
fn nulls(value: &Value, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Null => found.push(path.to_owned()),
        Value::Array(items) => items.iter().for_each(|v| nulls(v, path, found)),
        Value::Object(map) => map.iter().for_each(|(k, v)| nulls(v, &format!("{path}/{k}"), found)),
        _ => {}
    }
}

#[test]
fn only_timings_that_are_not_to_be_had_may_be_null() {
    let mut estimate = fixture::estimate();
    let fuel = &mut estimate.fuels[0];
    fuel.start_peak_power = None;
    let point = &mut fuel.curve[0];
    point.knock_limited_spark_deg_btdc = None;
    point.cautious_spark_deg_btdc = None;
    point.start_knock_probability = None;
    point.start_octane_margin_band = None;
    point.start_crank_torque_nm = None;
    point.start_wheel_power_kw = None;
    let text = render(&estimate, Format::Json, Units::Metric).unwrap();
    let mut found = Vec::new();
    nulls(&serde_json::from_str(&text).unwrap(), "", &mut found);
    let of_point = [
        "knock_limited_spark_deg_btdc",
        "cautious_spark_deg_btdc",
        "start_knock_probability",
        "start_octane_margin_band",
        "start_crank_torque_nm",
        "start_wheel_power_kw",
    ];
    let mut expected: Vec<String> = of_point.iter().map(|key| format!("/fuels/curve/{key}")).collect();
    expected.extend(["/fuels/start_peak_power".to_owned(), "/corrections/outside".to_owned()]);
    assert_eq!(found, expected);
    let csv = render(&estimate, Format::Csv, Units::Metric).unwrap();
    assert!(csv.lines().nth(1).unwrap().contains("12.50,21.50,,,true,"));
    // Knock, then low, likely and high of margin, torque and power.
    assert!(csv.lines().nth(1).unwrap().ends_with(&",".repeat(10)));
    assert!(render(&estimate, Format::Text, Units::Metric).unwrap().contains("none"));
}

/// Checks that a value has exactly the properties and the types its schema states.
fn conforms(value: &Value, schema: &Value, root: &Value) {
    if let Some(link) = schema["$ref"].as_str() {
        let target = root.pointer(link.trim_start_matches('#')).unwrap();
        return conforms(value, target, root);
    }
    if let Some(ways) = schema["anyOf"].as_array() {
        // A thing or null.
        let way = ways.iter().find(|way| (way["type"] == "null") == value.is_null()).unwrap();
        return conforms(value, way, root);
    }
    let types: BTreeSet<&str> = match &schema["type"] {
        Value::String(one) => [one.as_str()].into(),
        Value::Array(several) => several.iter().map(|t| t.as_str().unwrap()).collect(),
        other => panic!("no type in schema: {other} {schema}"),
    };
    let actual = match value {
        Value::Null => "null",
        Value::Bool(_) => "boolean",
        Value::Number(_) if types.contains("integer") => "integer",
        Value::Number(_) => "number",
        Value::String(_) => "string",
        Value::Array(_) => "array",
        Value::Object(_) => "object",
    };
    assert!(types.contains(actual), "{actual} is not in {types:?}");
    if let Value::Object(map) = value {
        let properties = schema["properties"].as_object().unwrap();
        assert_eq!(map.keys().collect::<BTreeSet<_>>(), properties.keys().collect::<BTreeSet<_>>());
        assert_eq!(schema["required"].as_array().unwrap().len(), properties.len());
        map.iter().for_each(|(key, value)| conforms(value, &properties[key], root));
    }
    if let Value::Array(items) = value {
        items.iter().for_each(|item| conforms(item, &schema["items"], root));
    }
}

#[test]
fn the_schema_describes_the_document() {
    let schema: Value = serde_json::from_str(&Estimate::schema()).unwrap();
    let doc: Value = serde_json::from_str(&rendered(Format::Json, Units::Metric)).unwrap();
    conforms(&doc, &schema, &schema);
}

#[test]
fn csv_has_a_row_per_fuel_and_speed_and_reads_back() {
    let text = rendered(Format::Csv, Units::Us);
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|h| h == name).unwrap();
    let rows: Vec<::csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 12);
    let number = |name: &str| rows[8][column(name)].parse::<f64>().unwrap();
    assert_eq!(&rows[8][0], "pump-b");
    assert_eq!(number("speed_rpm"), 4000.0);
    // HAND: 13.3 bar = 192.900 psi; torque 13.3e5 * 0.0025 / (4 pi) = 264.6 N m = 195.16 lb-ft.
    assert!((number("bmep_psi") - 192.900).abs() < 0.001);
    assert!((number("crank_torque_likely_lbf_ft") - 195.16).abs() < 0.01);
}

#[test]
fn numbers_that_are_not_finite_are_refused_by_name() {
    let mut estimate = fixture::estimate();
    estimate.fuels[1].curve[2].octane_margin_band.high = f64::NAN;
    for format in [Format::Text, Format::Json, Format::Csv] {
        let error = render(&estimate, format, Units::Metric).unwrap_err().to_string();
        assert!(error.contains("NaN of fuels[1].curve[2].octane_margin_band.high"), "{error}");
    }
    let mut estimate = fixture::estimate();
    estimate.fuels[0].ladder[1].efficiency = f64::INFINITY;
    let error = render(&estimate, Format::Text, Units::Us).unwrap_err().to_string();
    assert!(error.contains("inf of fuels[0].ladder[1].efficiency"), "{error}");
}

#[test]
fn empty_lists_and_bad_indices_are_refused() {
    let broken: [fn(&mut Estimate); 3] =
        [|e| e.fuels.clear(), |e| e.fuels[0].curve.clear(), |e| e.fuels[0].tightest_index = 6];
    for (i, break_it) in broken.iter().enumerate() {
        let mut estimate = fixture::estimate();
        break_it(&mut estimate);
        let error = render(&estimate, Format::Json, Units::Metric).unwrap_err();
        assert_eq!(matches!(error, ReportError::TightestIndex { index: 6, len: 6, .. }), i == 2, "{error}");
        assert_eq!(matches!(error, ReportError::Empty { .. }), i < 2, "{error}");
    }
}
