//! Rows of `tests/data/engines`.

use crate::common::tables::{Row, table};
use endgas::engine::BuildKind;

/// What a catalogue says of an engine.
#[derive(Clone, Debug)]
pub(crate) struct Engine {
    pub(crate) row: String,
    pub(crate) group: &'static str,
    pub(crate) kind: BuildKind,
    pub(crate) cylinders: u32,
    pub(crate) displacement_l: f64,
    /// Bore over stroke; 1 where not stated.
    pub(crate) bore_to_stroke: f64,
    pub(crate) compression_ratio: f64,
    pub(crate) power_rpm: f64,
    /// Compared with, never an input.
    pub(crate) power_kw: f64,
    /// Compared with, never an input.
    pub(crate) torque_nm: Option<f64>,
}

/// Rows that are more than 30 % off, each with its reason; none is at present.
pub(crate) const LARGE_ERRORS: [(&str, &str); 0] = [];

fn number(row: &Row, column: &str) -> Option<f64> {
    row.text(column).parse().ok()
}

/// Two-valve production engines of the model year 1985.
fn imports_85() -> Vec<Engine> {
    let engine = |row: &Row| Engine {
        row: row.text("row").to_owned(),
        group: "1985, two-valve",
        kind: BuildKind::ProductionTwoValve,
        cylinders: row.number("cylinders") as u32,
        displacement_l: row.number("displacement_l"),
        bore_to_stroke: row.number("bore_mm") / row.number("stroke_mm"),
        compression_ratio: row.number("compression_ratio"),
        power_rpm: row.number("power_rpm"),
        power_kw: row.number("power_kw"),
        torque_nm: None,
    };
    table("engines/uci_imports85_na_gasoline.csv").iter().map(engine).collect()
}

/// Engines on sale in 2022: four-valve where four or no number of valves is stated, tuned where peak
/// power stands at 7000 rpm or more.
fn on_sale_2022() -> Vec<Engine> {
    let engine = |row: &Row| {
        let power_rpm = row.number("power_rpm");
        let (kind, group) = match number(row, "valves_per_cylinder") {
            _ if power_rpm >= 7000.0 => (BuildKind::Tuned, "2022, tuned"),
            Some(valves) if valves < 4.0 => (BuildKind::ProductionTwoValve, "2022, two-valve"),
            _ => (BuildKind::ProductionFourValve, "2022, four-valve"),
        };
        let usual_ratio = if kind == BuildKind::ProductionTwoValve { 9.5 } else { 10.5 };
        Engine {
            row: row.text("row").to_owned(),
            group,
            kind,
            cylinders: number(row, "cylinders").map_or(1, |n| n as u32),
            displacement_l: row.number("displacement_l"),
            bore_to_stroke: 1.0,
            compression_ratio: number(row, "compression_ratio").unwrap_or(usual_ratio),
            power_rpm,
            power_kw: row.number("power_kw"),
            torque_nm: number(row, "torque_nm"),
        }
    };
    table("engines/india_2022_na_petrol.csv").iter().map(engine).collect()
}

pub(crate) fn catalogue() -> Vec<Engine> {
    [imports_85(), on_sale_2022()].concat()
}

/// Torque curves [rpm, N m]; the speed of most power is that of the curve itself.
pub(crate) fn curves() -> Vec<(Engine, Vec<(f64, f64)>)> {
    let rows = table("engines/vehicle_lab_wot_curves.csv");
    let curve = |name: &str, kind: BuildKind, cylinders: u32, compression_ratio: f64| {
        let own: Vec<&Row> = rows.iter().filter(|r| r.text("engine") == name).collect();
        let top = own.iter().max_by(|a, b| a.number("power_kw").total_cmp(&b.number("power_kw"))).unwrap();
        let engine = Engine {
            row: name.to_owned(),
            group: "curve",
            kind,
            cylinders,
            displacement_l: top.number("displacement_l"),
            bore_to_stroke: 1.0,
            compression_ratio,
            power_rpm: top.number("rpm"),
            power_kw: top.number("power_kw"),
            torque_nm: None,
        };
        (engine, own.iter().map(|r| (r.number("rpm"), r.number("torque_nm"))).collect())
    };
    vec![
        curve("curve-g1", BuildKind::ProductionTwoValve, 3, 9.5),
        curve("curve-g2", BuildKind::ProductionFourValve, 4, 9.5),
    ]
}
