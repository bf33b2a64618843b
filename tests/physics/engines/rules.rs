//! What a catalogue does not say, by rules that are the same for every row. All of them are common practice,
//! no source, unless one is named.

use super::rows::Engine;
use endgas::air::Weather;
use endgas::engine::{
    Breathing, Build, BuildKind, Chamber, Combustion, Driveline, FrictionLaw, Geometry, HeatLawKind,
    Injection, Layout, Limits, Valves,
};
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;
use std::f64::consts::PI;

/// Groups of rows in the order of the table.
pub(crate) const GROUPS: [&str; 4] =
    ["1985, two-valve", "2022, two-valve", "2022, four-valve", "2022, tuned"];

/// Volumetric efficiency at peak power over its peak: 0.85 to 0.97, likely 0.92.
const AT_PEAK_POWER: f64 = 0.92;
/// Fall of the band above its peak speed, see `src/engine/breathing.rs`.
const HIGH_SPEED_CURVATURE: f64 = 0.9;

/// Speed of best filling [rpm]: that from which the band falls to [`AT_PEAK_POWER`] at peak power, 0.77 of
/// the speed of peak power.
pub(crate) fn peak_torque_speed_rpm(power_rpm: f64) -> f64 {
    power_rpm / (1.0 + ((1.0 - AT_PEAK_POWER) / HIGH_SPEED_CURVATURE).sqrt())
}

fn geometry(engine: &Engine) -> Geometry {
    let cylinder_m3 = engine.displacement_l / 1e3 / f64::from(engine.cylinders);
    let stroke_m = (cylinder_m3 / (0.25 * PI * engine.bore_to_stroke.powi(2))).cbrt();
    Geometry {
        cylinders: engine.cylinders,
        bore_m: engine.bore_to_stroke * stroke_m,
        stroke_m,
        rod_length_m: 1.65 * stroke_m,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(engine.compression_ratio).unwrap(),
    }
}

/// Heads: two valves take 0.46 and 0.39 of the bore, four 0.385 and 0.33.
fn valves(kind: BuildKind, bore_m: f64) -> Valves {
    let (count, inlet, exhaust, flow) = match kind {
        BuildKind::ProductionTwoValve => (1, 0.46, 0.39, 0.36),
        _ => (2, 0.385, 0.33, 0.40),
    };
    let (closes, opens, overlap) =
        if kind == BuildKind::Tuned { (60.0, 55.0, 45.0) } else { (48.0, 45.0, 15.0) };
    Valves {
        inlet_count: count,
        inlet_diameter_m: inlet * bore_m,
        exhaust_count: count,
        exhaust_diameter_m: exhaust * bore_m,
        mean_flow_coefficient: flow,
        inlet_closes_deg_abdc: closes,
        exhaust_opens_deg_bbdc: opens,
        overlap_deg: overlap,
    }
}

fn build(engine: &Engine) -> Build {
    let geometry = geometry(engine);
    let two_valve = engine.kind == BuildKind::ProductionTwoValve;
    Build {
        geometry,
        valves: valves(engine.kind, geometry.bore_m),
        breathing: Breathing::Band {
            kind: engine.kind,
            peak_speed_rpm: peak_torque_speed_rpm(engine.power_rpm),
        },
        injection: Injection::Port,
        combustion: Combustion {
            chamber: if two_valve { Chamber::Wedge } else { Chamber::PentRoof },
            burn_speed: 1.0,
            heat_law: HeatLawKind::Woschni,
            heat_factor: 1.0,
            wall_temperature_k: 473.15,
            coolant_temperature_k: 363.15,
        },
        friction: FrictionLaw::ChenFlynn,
        driveline: Driveline { layout: Layout::FrontManual, measured_loss: None, measured_loss_spread: None },
        limits: Limits::default(),
    }
}

/// The estimate of a row: regular gasoline at best-power mixture, the reference day of SAE J1349 and ISO 1585
/// (25 C, 99 kPa dry), one octane number in hand.
pub(crate) fn job(engine: &Engine, speeds_rpm: Vec<f64>) -> Job {
    let library = FuelLibrary::shipped().unwrap();
    Job {
        scenario: engine.row.clone(),
        note: String::new(),
        build: build(engine),
        weather: Weather::new(298.15, 99.0e3, 0.0).unwrap(),
        fuels: vec![FuelChoice { fuel: library.resolve("regular-87").unwrap(), lambda: None }],
        reference_fuel: library.resolve(endgas::scenario::job::REFERENCE_FUEL).unwrap().blend().unwrap(),
        speeds_rpm,
        reserve_octane: 1.0,
        spark_range: SparkRange { earliest_deg_btdc: 50.0, latest_deg_btdc: -10.0 },
        samples: 200,
        seed: 1,
    }
}
