//! Every column of every CSV is the figure that the JSON of the same run has under the key of its name, by constants of its own
//! here: a column that shows another figure, end of a band or unit falls. What the keys of the JSON mean, `tests/laws` holds.

use crate::common::cli::run;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Ends of names that are units: dimension, and its size and zero in SI.
const UNITS: [(&str, &str, f64, f64); 27] = [
    ("kg_per_s", "mass flow", 1.0, 0.0),
    ("kg_per_h", "mass flow", 1.0 / 3600.0, 0.0),
    ("l_per_h", "volume flow", 1e-3 / 3600.0, 0.0),
    ("g_per_kwh", "consumption", 1.0, 0.0),
    ("j_per_kg", "by mass", 1.0, 0.0),
    ("kj_per_kg", "by mass", 1e3, 0.0),
    ("mj_per_kg", "by mass", 1e6, 0.0),
    ("j_per_m3", "by volume", 1.0, 0.0),
    ("mj_per_l", "by volume", 1e9, 0.0),
    ("kg_per_mol", "molar", 1.0, 0.0),
    ("g_per_mol", "molar", 1e-3, 0.0),
    ("kg_per_m3", "density", 1.0, 0.0),
    ("m_per_s", "speed", 1.0, 0.0),
    ("kw_per_l", "specific power", 1.0, 0.0),
    ("rpm", "rpm", 1.0, 0.0),
    ("nm", "torque", 1.0, 0.0),
    ("kw", "power", 1.0, 0.0),
    ("bar", "pressure", 1e5, 0.0),
    ("pa", "pressure", 1.0, 0.0),
    ("c", "temperature", 1.0, 273.15),
    ("k", "temperature", 1.0, 0.0),
    ("cc", "volume", 1e-6, 0.0),
    ("m3", "volume", 1.0, 0.0),
    ("mm", "length", 1e-3, 0.0),
    ("m", "length", 1.0, 0.0),
    ("deg", "angle", 1.0, 0.0),
    ("frac", "share", 1.0, 0.0),
];

/// A name without its unit, and the unit; the longest unit counts.
fn split(name: &str) -> (String, (&'static str, f64, f64)) {
    let of = |unit: &&(&'static str, &'static str, f64, f64)| name.ends_with(&format!("_{}", unit.0));
    match UNITS.iter().filter(of).max_by_key(|unit| unit.0.len()) {
        Some((unit, dimension, size, zero)) => {
            (name[..name.len() - unit.len() - 1].to_owned(), (*dimension, *size, *zero))
        }
        None => (name.to_owned(), ("", 1.0, 0.0)),
    }
}

/// Figures by name and dimension, in SI; words and flags as they stand.
type Figures = BTreeMap<(String, &'static str), Value>;

/// Keeps the figures of an object: a band as name, low, likely and high, in the order of the columns.
fn learn(figures: &mut Figures, object: &Map<String, Value>) {
    for (key, value) in object {
        let (name, (dimension, size, zero)) = split(key);
        let name = name.strip_suffix("_band").unwrap_or(&name).to_owned();
        let si = |value: &Value| value.as_f64().map_or(value.clone(), |v| Value::from(v * size + zero));
        match value {
            Value::Object(band) if band.contains_key("likely") => {
                for (end, value) in band {
                    figures.insert((format!("{name}_{end}"), dimension), si(value));
                }
            }
            Value::Object(_) | Value::Array(_) => {}
            other => {
                figures.insert((name, dimension), si(other));
            }
        }
    }
}

fn array(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().unwrap().iter()
}

/// A figure that the JSON calls otherwise, or that follows from others, by the name of its column.
type Named = Vec<(String, Value)>;

fn named<const N: usize>(names: [(&str, Value); N]) -> Named {
    names.map(|(name, value)| (name.to_owned(), value)).to_vec()
}

/// What the JSON says of a row: the objects that hold it, the innermost last, and what is named by itself.
fn row(objects: &[&Value], named: Named) -> Figures {
    let mut figures = Figures::new();
    for object in objects {
        learn(&mut figures, object.as_object().unwrap());
    }
    learn(&mut figures, &named.into_iter().collect());
    figures
}

type Cells = BTreeMap<String, String>;

fn both(arguments: &[&str]) -> (Vec<Cells>, Value) {
    let told = |format: &str| run(&[arguments, &["--format", format]].concat()).stdout;
    let (csv, json) = (told("csv"), told("json"));
    let mut reader = csv::Reader::from_reader(csv.as_slice());
    let heads = reader.headers().unwrap().clone();
    let cells = |row: &csv::StringRecord| -> Cells {
        heads.iter().zip(row).map(|(head, cell)| (head.to_owned(), cell.to_owned())).collect()
    };
    (reader.records().map(|row| cells(&row.unwrap())).collect(), serde_json::from_slice(&json).unwrap())
}

/// Demands that each cell is what the JSON says, as it is rounded.
fn agree(arguments: &[&str], rows: impl Fn(&Value) -> Vec<Figures>) {
    let (csv, json) = both(arguments);
    let wanted = rows(&json);
    assert!(!csv.is_empty() && csv.len() == wanted.len(), "{arguments:?}: {} {}", csv.len(), wanted.len());
    for (told, wanted) in csv.iter().zip(&wanted) {
        for (column, cell) in told {
            let (name, (dimension, size, zero)) = split(column);
            let place = format!("{arguments:?} {column} = {cell}: {told:?}");
            match wanted.get(&(name, dimension)).unwrap_or_else(|| panic!("not in the JSON: {place}")) {
                Value::Null => assert_eq!(cell, "", "{place}"),
                Value::Number(number) => {
                    let digits = cell.split_once('.').map_or(0, |(_, digits)| digits.len());
                    let wanted = (number.as_f64().unwrap() - zero) / size;
                    let off = cell.parse::<f64>().unwrap() - wanted;
                    assert!(off.abs() <= 0.5001 * 10f64.powi(-(digits as i32)), "{wanted}, not {place}");
                }
                Value::Bool(flag) => assert_eq!(cell, &flag.to_string(), "{place}"),
                word => assert_eq!(cell, word.as_str().unwrap(), "{place}"),
            }
        }
    }
}

const STREET: &str = "scenarios/street-2000.toml";

#[test]
fn curves_of_estimate_fueling_and_pipes() {
    agree(&["estimate", "--samples", "50", "--fuel", "premium-91", "--fuel", "e85"], |json| {
        let of = |fuel: &Value| -> Vec<Figures> {
            array(&fuel["curve"]).map(|p| row(&[p], named([("fuel", fuel["name"].clone())]))).collect()
        };
        array(&json["fuels"]).flat_map(of).collect()
    });
    agree(&["fueling", "--fuel", "premium-91", "--fuel", "e85"], |json| {
        array(&json["needs"])
            .flat_map(|need| array(&need["curve"]).map(move |point| row(&[need, point], named([]))))
            .collect()
    });
    agree(&["breathing", "tests/data/on_pipes.toml"], |json| {
        array(&json["curve"]).map(|point| row(&[point], named([]))).collect()
    });
}

#[test]
fn builds_side_by_side() {
    agree(
        &["estimate", STREET, "scenarios/circuit-2400.toml", "--samples", "50", "--fuel", "premium-91"],
        |json| {
            let of = |fuel: &Value, build: &Value, point: &Value| {
                let difference = &point["power_difference_kw"];
                let band = |end: &str| difference["band"][end].clone();
                let own = [
                    ("fuel", fuel["name"].clone()),
                    ("build", build["build"].clone()),
                    ("wheel_power_difference_low_kw", band("low")),
                    ("wheel_power_difference_likely_kw", band("likely")),
                    ("wheel_power_difference_high_kw", band("high")),
                    ("more_frac", difference["more_frac"].clone()),
                ];
                row(&[point], named(own))
            };
            let of_build = |fuel: &Value, build: &Value| -> Vec<Figures> {
                array(&build["curve"]).map(|point| of(fuel, build, point)).collect()
            };
            array(&json["fuels"])
                .flat_map(|fuel| array(&fuel["builds"]).flat_map(move |build| of_build(fuel, build)))
                .collect()
        },
    );
}

#[test]
fn goal_and_choice() {
    agree(&["goal", "--wheel-power", "165 kW", "--samples", "50", "--fuel", "premium-91"], |json| {
        let classes = ["bmep", "volumetric_efficiency", "mean_piston_speed", "specific_power"];
        array(&json["demand"])
            .map(|point| {
                let mut own = named([
                    ("fuel", json["fuel"].clone()),
                    ("target_wheel_power_kw", json["wheel_power_kw"].clone()),
                ]);
                own.extend(
                    classes.map(|of| (format!("{of}_class"), point[format!("{of}_standing")].clone())),
                );
                row(&[point], own)
            })
            .collect()
    });
    agree(&["choose", "--samples", "50", "--fuel", "premium-91", "--fuel", "e85"], |json| {
        let order = &json["order"]["compression_ratio"];
        let what = |row: &Value| if row["compression_ratio"] == *order { "order" } else { "curve" };
        let of_curve = array(&json["curve"]).map(|row| (what(row), row));
        let of_pistons = array(&json["pistons"]).map(|piston| ("piston", &piston["row"]));
        let names: Vec<&Value> = array(&json["fuels"]).map(|fuel| &fuel["name"]).collect();
        of_curve.chain(of_pistons).flat_map(|(what, ratio)| ratio_rows(what, ratio, &names)).collect()
    });
}

/// The rows of one ratio: all fuels weighted, then each by itself.
fn ratio_rows(what: &str, ratio: &Value, fuels: &[&Value]) -> Vec<Figures> {
    const OF_A_FUEL: [&str; 6] = [
        "retard_deg",
        "torque_lost_frac",
        "best_torque_octane_margin",
        "knock_probability",
        "start_retard_deg",
        "start_knock_probability",
    ];
    let mut rows = Vec::new();
    for fuel in std::iter::once(None).chain((0..fuels.len()).map(Some)) {
        let band = |kind: &str| match fuel {
            None => ratio[format!("{kind}weighted_power_kw")].clone(),
            Some(i) => ratio[format!("{kind}power_kw")][i].clone(),
        };
        let mut own = named([
            ("what", what.into()),
            ("fuel", fuel.map_or("weighted".into(), |i| fuels[i].clone())),
            ("fitted_wheel_power_kw", band("fitted_")),
            ("wheel_power_kw", band("")),
            ("start_wheel_power_kw", band("start_")),
            ("worst_blend_retard_deg", ratio["worst_retard_deg"].clone()),
        ]);
        own.extend(
            OF_A_FUEL
                .map(|key| (key.to_owned(), fuel.map_or(Value::Null, |i| ratio["fuels"][i][key].clone()))),
        );
        rows.push(row(&[ratio], own));
    }
    rows
}

#[test]
fn fuels_by_themselves() {
    agree(&["fuel", "e85", "premium-91"], |json| {
        let of = |fuel: &Value, state: &Value| {
            let number = |key: &str| state[key].as_f64().unwrap();
            let ethanol = array(&state["parts"]).find(|part| part["name"] == "ethanol").unwrap();
            // Density falls as the volume grows in proportion to the temperature.
            let density = |celsius: f64| {
                number("density_15c_kg_per_m3") / (1.0 + number("thermal_expansion_per_k") * (celsius - 15.0))
            };
            let own = [
                ("fuel", fuel["name"].clone()),
                ("aki_likely", state["aki"].clone()),
                ("sensitivity_likely", state["sensitivity"].clone()),
                ("hov_per_mixture_j_per_kg", state["hov_j_per_kg_mixture"].clone()),
                ("best_power_afr", (number("best_power_lambda") * number("afr_stoich")).into()),
                ("ethanol_mass_frac", ethanol["mass_frac"].clone()),
                ("ethanol_mole_frac", ethanol["mole_frac"].clone()),
                ("density_0c_kg_per_m3", density(0.0).into()),
                ("density_30c_kg_per_m3", density(30.0).into()),
            ];
            row(&[state], named(own))
        };
        array(&json["fuels"])
            .flat_map(|fuel| array(&fuel["states"]).map(move |state| of(fuel, state)))
            .collect()
    });
}

#[test]
fn a_pull_beside_the_estimate() {
    agree(&["dyno", STREET, "scenarios/pulls/street-2000-pull-good.csv", "--samples", "50"], |json| {
        let of = |point: &Value| {
            let key = |key: &str| point[key].clone();
            let own = [
                ("measured_wheel_torque_nm", key("torque_nm")),
                ("measured_wheel_power_kw", key("power_kw")),
                ("corrected_wheel_power_kw", key("corrected_power_kw")),
                ("estimate_low_wheel_torque_nm", key("estimate_low_torque_nm")),
                ("estimate_likely_wheel_torque_nm", key("estimate_likely_torque_nm")),
                ("estimate_high_wheel_torque_nm", key("estimate_high_torque_nm")),
            ];
            row(&[point], named(own))
        };
        array(&json["curve"]).map(of).collect()
    });
}

#[test]
fn measured_volumes() {
    agree(&["volumes", STREET, "--wanted", "10.5"], |json| {
        let cranking = |of: &Value| {
            let end = |end: &str| of["cranking"][format!("{end}_gauge_pa")].clone();
            named([
                ("cranking_gauge_low_pa", end("low")),
                ("cranking_gauge_likely_pa", end("likely")),
                ("cranking_gauge_high_pa", end("high")),
            ])
        };
        let wanted = |kind: &str, key: &str| {
            let way = array(&json["wanted"]["ways"]).find(|way| way["kind"] == kind).unwrap();
            // A way that cannot be gone has no cell.
            if way["impossible"].is_null() { way[key].clone() } else { Value::Null }
        };
        let ways = [
            ("wanted_dome_m3", wanted("dome", "volume_m3")),
            ("wanted_gasket_m", wanted("gasket", "length_m")),
            ("wanted_deck_cut_m", wanted("deck_cut", "length_m")),
            ("wanted_head_cut_m", wanted("head_cut", "length_m")),
            ("wanted_chamber_m3", wanted("chamber", "volume_m3")),
        ];
        let mut mean = named(ways.clone());
        mean.extend(named([
            ("cylinder", "mean".into()),
            ("to_mean_m3", 0.0.into()),
            ("to_wanted_m3", json["wanted"]["clearance_change_m3"].clone()),
        ]));
        mean.extend(cranking(json));
        let each = array(&json["by_cylinder"]).map(|one| {
            let mut own = named(ways.clone().map(|(name, _)| (name, Value::Null)));
            own.extend(cranking(one));
            row(&[one], own)
        });
        std::iter::once(row(&[json, &json["measured"]], mean)).chain(each).collect()
    });
}

#[test]
fn tables_of_timing() {
    agree(&["spark", "--fuel", "premium-91", "--load", "60,100 %"], |json| {
        const TABLES: [&str; 8] = [
            "start_spark_deg_btdc",
            "spark_deg_btdc",
            "best_torque_spark_deg_btdc",
            "knock_limited",
            "octane_margin",
            "start_torque_lost_frac",
            "torque_lost_frac",
            "beyond_full_load",
        ];
        let map = &json["maps"][0];
        let of = |table: &str, load: &Value| {
            let mut own = named([
                ("table", table.into()),
                ("fuel", map["fuel"].clone()),
                ("load_frac", load["load"]["full_load_frac"].clone()),
            ]);
            let cells = array(&load["cells"]);
            own.extend(
                cells.map(|cell| (cell["speed_rpm"].as_f64().unwrap().to_string(), cell[table].clone())),
            );
            row(&[map], own)
        };
        TABLES.iter().flat_map(|table| array(&map["rows"]).map(move |load| of(table, load))).collect()
    });
}
