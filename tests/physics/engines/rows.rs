//! Rows of `tests/data/engines`: what a catalogue says of an engine, and what kind of build it is taken for.

use crate::common::tables::{Row, table};
use endgas::engine::{BuildKind, Injection};
use std::f64::consts::PI;

/// What a catalogue says of an engine.
#[derive(Clone, Debug)]
pub(crate) struct Engine {
    pub(crate) row: String,
    pub(crate) kind: BuildKind,
    pub(crate) injection: Injection,
    pub(crate) is_air_cooled: bool,
    pub(crate) cylinders: u32,
    pub(crate) bore_m: f64,
    pub(crate) stroke_m: f64,
    pub(crate) compression_ratio: f64,
    pub(crate) fuel: String,
    pub(crate) power_rpm: f64,
    /// Where the catalogue gives it.
    pub(crate) torque_rpm: Option<f64>,
    /// Compared with, never an input.
    pub(crate) power_kw: f64,
    /// Compared with, never an input.
    pub(crate) torque_nm: Option<f64>,
    /// Where the row comes from, for the table.
    pub(crate) set: Set,
}

/// Where a row comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Set {
    /// Model year 1985.
    Imports85,
    /// On sale in 2022.
    OnSale2022,
    /// Recalled from memory, first list.
    Recalled,
    /// Recalled from memory, second list.
    RecalledMore,
}

/// Rated speed from which a four-valve engine counts as sport [rpm].
const SPORT_RPM: f64 = 7000.0;

fn number(row: &Row, column: &str) -> Option<f64> {
    row.text(column).parse().ok()
}

fn mm(row: &Row, column: &str) -> f64 {
    row.number(column) / 1e3
}

/// Bore and stroke of a row that states neither [m]: equal.
fn square_m(row: &Row, cylinders: u32) -> f64 {
    let cylinder_m3 = row.number("displacement_l") / 1e3 / f64::from(cylinders);
    (cylinder_m3 / (0.25 * PI)).cbrt()
}

/// Two-valve engines of the model year 1985; no torque, and the fuel was regular.
fn imports_85() -> Vec<Engine> {
    let engine = |row: &Row| {
        let is_carburetted = row.text("fuel_system").ends_with("bbl");
        Engine {
            row: row.text("row").to_owned(),
            kind: if is_carburetted { BuildKind::CarburettedTwoValve } else { BuildKind::InjectedTwoValve },
            injection: Injection::Port,
            is_air_cooled: false,
            cylinders: row.number("cylinders") as u32,
            bore_m: mm(row, "bore_mm"),
            stroke_m: mm(row, "stroke_mm"),
            compression_ratio: row.number("compression_ratio"),
            fuel: "regular-87".to_owned(),
            power_rpm: row.number("power_rpm"),
            torque_rpm: None,
            power_kw: row.number("power_kw"),
            torque_nm: None,
            set: Set::Imports85,
        }
    };
    table("engines/uci_imports85_na_gasoline.csv").iter().map(engine).collect()
}

/// Engines on sale in 2022: bore and stroke are taken as equal, a ratio that is not stated as 10.5 (9.5 with two valves), the fuel
/// as 98 RON where power peaks at 7000 rpm or the ratio is above 11, else as regular (common practice, no source).
fn on_sale_2022() -> Vec<Engine> {
    let engine = |row: &Row| {
        let power_rpm = row.number("power_rpm");
        let kind = match number(row, "valves_per_cylinder") {
            _ if power_rpm >= SPORT_RPM => BuildKind::SportFourValve,
            Some(valves) if valves < 4.0 => BuildKind::InjectedTwoValve,
            _ => BuildKind::ProductionFourValve,
        };
        let usual_ratio = if kind == BuildKind::InjectedTwoValve { 9.5 } else { 10.5 };
        let compression_ratio = number(row, "compression_ratio").unwrap_or(usual_ratio);
        let cylinders = number(row, "cylinders").map_or(1, |n| n as u32);
        let square_m = square_m(row, cylinders);
        let needs_premium = kind == BuildKind::SportFourValve || compression_ratio > 11.0;
        let torque_rpm = number(row, "torque_rpm_low").zip(number(row, "torque_rpm_high"));
        Engine {
            row: row.text("row").to_owned(),
            kind,
            injection: Injection::Port,
            is_air_cooled: false,
            cylinders,
            bore_m: square_m,
            stroke_m: square_m,
            compression_ratio,
            fuel: if needs_premium { "euro-98" } else { "regular-87" }.to_owned(),
            power_rpm,
            torque_rpm: torque_rpm.map(|(low, high)| 0.5 * (low + high)),
            power_kw: row.number("power_kw"),
            torque_nm: number(row, "torque_nm"),
            set: Set::OnSale2022,
        }
    };
    table("engines/india_2022_na_petrol.csv").iter().map(engine).collect()
}

/// A row of a recalled list, with its kind and cooling.
fn recalled(row: &Row, kind: BuildKind, is_air_cooled: bool) -> Engine {
    Engine {
        row: row.text("id").to_owned(),
        kind,
        injection: if row.text("injection") == "direct" { Injection::Direct } else { Injection::Port },
        is_air_cooled,
        cylinders: row.number("cylinders") as u32,
        bore_m: mm(row, "bore_mm"),
        stroke_m: mm(row, "stroke_mm"),
        compression_ratio: row.number("compression_ratio"),
        fuel: row.text("fuel_required").to_owned(),
        power_rpm: row.number("power_rpm"),
        torque_rpm: number(row, "torque_rpm"),
        power_kw: row.number("power_kw"),
        torque_nm: number(row, "torque_nm"),
        set: Set::Recalled,
    }
}

/// The first recalled list, by classes of its own. Its air-cooled engines are of two sorts: those that peak below 5000 rpm
/// are taken for carburetted production engines, the others for performance engines.
fn recalled_first() -> Vec<Engine> {
    let engine = |row: &Row| {
        let class = row.text("class");
        let kind = match class {
            "4v DI" | "4v PFI <7000" => BuildKind::ProductionFourValve,
            "4v >=7000" => BuildKind::SportFourValve,
            "motorcycle 4v" => BuildKind::Motorcycle,
            "2v modern pushrod" | "2v crate carb V8" => BuildKind::PerformanceTwoValve,
            "2v older injected" => BuildKind::InjectedTwoValve,
            "2v air-cooled" if row.number("power_rpm") < 5000.0 => BuildKind::CarburettedTwoValve,
            "2v air-cooled" => BuildKind::PerformanceTwoValve,
            other => panic!("{other} is no class"),
        };
        recalled(row, kind, class == "2v air-cooled")
    };
    table("engines/recalled_engines.csv").iter().map(engine).collect()
}

/// The second recalled list, which names its kinds.
fn recalled_second() -> Vec<Engine> {
    let engine = |row: &Row| {
        let kind = BuildKind::ALL.into_iter().find(|kind| kind.key() == row.text("kind")).unwrap();
        Engine { set: Set::RecalledMore, ..recalled(row, kind, row.text("cooling") == "air") }
    };
    table("engines/recalled_more.csv").iter().map(engine).collect()
}

/// All rows; the second recalled list last.
pub(crate) fn catalogue() -> Vec<Engine> {
    [imports_85(), on_sale_2022(), recalled_first(), recalled_second()].concat()
}

/// Torque curves [rpm, N m] of the laboratories; the speeds of most torque and power are those of the curve itself.
pub(crate) fn curves() -> Vec<(Engine, Vec<(f64, f64)>)> {
    let rows = table("engines/vehicle_lab_wot_curves.csv");
    let curve = |name: &str, kind: BuildKind, cylinders: u32, compression_ratio: f64| {
        let own: Vec<&Row> = rows.iter().filter(|r| r.text("engine") == name).collect();
        let top = |column: &str| {
            own.iter().max_by(|a, b| a.number(column).total_cmp(&b.number(column))).copied().unwrap()
        };
        let (power, torque) = (top("power_kw"), top("torque_nm"));
        let square_m = square_m(power, cylinders);
        let engine = Engine {
            row: name.to_owned(),
            kind,
            injection: Injection::Port,
            is_air_cooled: false,
            cylinders,
            bore_m: square_m,
            stroke_m: square_m,
            compression_ratio,
            fuel: "regular-87".to_owned(),
            power_rpm: power.number("rpm"),
            torque_rpm: Some(torque.number("rpm")),
            power_kw: power.number("power_kw"),
            torque_nm: Some(torque.number("torque_nm")),
            set: Set::OnSale2022,
        };
        (engine, own.iter().map(|r| (r.number("rpm"), r.number("torque_nm"))).collect())
    };
    vec![
        curve("curve-g1", BuildKind::InjectedTwoValve, 3, 9.5),
        curve("curve-g2", BuildKind::ProductionFourValve, 4, 9.5),
    ]
}
