//! Rows of `tests/data/engines`, or in its formats: what a catalogue says of an engine, and what kind of build it is taken for.

use crate::common::tables::{Row, table};
use endgas::engine::{BuildKind, Injection};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;
use std::f64::consts::PI;
use std::ops::RangeInclusive;

/// What a catalogue says of an engine.
#[derive(Clone, Debug)]
pub struct Engine {
    pub row: String,
    pub kind: BuildKind,
    pub injection: Injection,
    pub is_air_cooled: bool,
    pub cylinders: u32,
    pub bore_m: f64,
    pub stroke_m: f64,
    pub compression_ratio: f64,
    pub fuel: String,
    pub power_rpm: f64,
    /// Where the catalogue gives it.
    pub torque_rpm: Option<f64>,
    /// Compared with, never an input.
    pub power_kw: f64,
    /// Compared with, never an input.
    pub torque_nm: Option<f64>,
    /// Where the row comes from, for the table.
    pub set: Set,
}

/// Where a row comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// Model year 1985.
    Imports85,
    /// On sale in 2022.
    OnSale2022,
    /// Recalled from memory, first list.
    Recalled,
    /// Recalled from memory, second list.
    RecalledMore,
}

/// The kinds as the table of `src/engine/kind.rs` has them: production four-valve by injection.
pub const CLASSES: [(&str, BuildKind, Option<Injection>); 7] = [
    ("carburetted two-valve", BuildKind::CarburettedTwoValve, None),
    ("injected two-valve", BuildKind::InjectedTwoValve, None),
    ("performance two-valve", BuildKind::PerformanceTwoValve, None),
    ("production four-valve, port", BuildKind::ProductionFourValve, Some(Injection::Port)),
    ("production four-valve, direct", BuildKind::ProductionFourValve, Some(Injection::Direct)),
    ("sport four-valve", BuildKind::SportFourValve, None),
    ("motorcycle", BuildKind::Motorcycle, None),
];

/// Whether an engine is of a class.
pub fn is_of((_, kind, injection): (&str, BuildKind, Option<Injection>), engine: &Engine) -> bool {
    engine.kind == kind && injection.is_none_or(|injection| engine.injection == injection)
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
///
/// # Errors
/// Words naming file, line and column; the ranges are those of a scenario.
fn recalled(row: &Row, kind: BuildKind, is_air_cooled: bool) -> Result<Engine, String> {
    const RPM: RangeInclusive<f64> = 500.0..=15e3;
    let optional = |column: &str, range: RangeInclusive<f64>| match row.read_text(column)? {
        "" => Ok(None),
        _ => row.read_number(column, range).map(Some),
    };
    let cylinders = row.read_number("cylinders", 1.0..=16.0)?;
    if cylinders.fract() != 0.0 {
        return Err(row.wrong("cylinders", "is not a whole number"));
    }
    let fuel = row.read_text("fuel_required")?;
    if FuelLibrary::shipped().unwrap().resolve(fuel).is_err() {
        return Err(row.wrong("fuel_required", "is no fuel of the library"));
    }
    Ok(Engine {
        row: row.read_text("id")?.to_owned(),
        kind,
        injection: match row.read_text("injection")? {
            "direct" => Injection::Direct,
            "port" => Injection::Port,
            _ => return Err(row.wrong("injection", "is neither port nor direct")),
        },
        is_air_cooled,
        cylinders: cylinders as u32,
        bore_m: row.read_number("bore_mm", 40.0..=150.0)? / 1e3,
        stroke_m: row.read_number("stroke_mm", 30.0..=150.0)? / 1e3,
        compression_ratio: row.read_number("compression_ratio", CompressionRatio::RANGE)?,
        fuel: fuel.to_owned(),
        power_rpm: row.read_number("power_rpm", RPM)?,
        torque_rpm: optional("torque_rpm", RPM)?,
        power_kw: row.read_number("power_kw", 1.0..=2000.0)?,
        torque_nm: optional("torque_nm", 1.0..=5000.0)?,
        set: Set::Recalled,
    })
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
        recalled(row, kind, class == "2v air-cooled").unwrap()
    };
    table("engines/recalled_engines.csv").iter().map(engine).collect()
}

/// A row that names its kind, as the second recalled list has them.
///
/// # Errors
/// Words naming file, line and column.
pub fn of_named_kind(row: &Row) -> Result<Engine, String> {
    let key = row.read_text("kind")?;
    let kind = BuildKind::ALL.into_iter().find(|kind| kind.key() == key);
    let kind = kind.ok_or_else(|| row.wrong("kind", "is no kind of build"))?;
    let is_air_cooled = match row.read_text("cooling")? {
        "air" => true,
        "liquid" => false,
        _ => return Err(row.wrong("cooling", "is neither liquid nor air")),
    };
    recalled(row, kind, is_air_cooled)
}

/// The second recalled list.
fn recalled_second() -> Vec<Engine> {
    let engine = |row: &Row| Engine { set: Set::RecalledMore, ..of_named_kind(row).unwrap() };
    table("engines/recalled_more.csv").iter().map(engine).collect()
}

/// All rows; the second recalled list last.
pub fn catalogue() -> Vec<Engine> {
    [imports_85(), on_sale_2022(), recalled_first(), recalled_second()].concat()
}

/// Torque curves [rpm, N m] of the laboratories; the speeds of most torque and power are those of the curve itself.
pub fn curves() -> Vec<(Engine, Vec<(f64, f64)>)> {
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
