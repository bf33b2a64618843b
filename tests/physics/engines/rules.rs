//! What a catalogue does not say, by rules that are the same for every row. All of them are common practice,
//! no source, unless one is named.

use super::rows::Engine;
use endgas::air::Weather;
use endgas::engine::volumes::SEATED_LATER_DEG;
use endgas::engine::{
    Breathing, Build, BuildKind, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind,
    Injection, Layout, Limits, PeakSpeeds, Valves,
};
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;

/// Head of an air-cooled engine at full load [K].
const AIR_COOLED_HEAD_K: f64 = 453.15;

/// Which of its two speeds the model is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Told {
    /// Both where the catalogue has both, else that of peak power.
    All,
    /// That of peak torque alone.
    TorqueSpeed,
    /// That of peak power alone.
    PowerSpeed,
}

impl Engine {
    /// The speeds that the model is told; none when it has not got them.
    pub(crate) fn peaks(&self, told: Told) -> Option<PeakSpeeds> {
        match (told, self.torque_rpm) {
            (Told::All, Some(torque_rpm)) => Some(PeakSpeeds::Both { torque_rpm, power_rpm: self.power_rpm }),
            (Told::All, None) | (Told::PowerSpeed, _) => Some(PeakSpeeds::Power(self.power_rpm)),
            (Told::TorqueSpeed, torque_rpm) => torque_rpm.map(PeakSpeeds::Torque),
        }
    }
}

/// The usual inlet of the kind, exhaust heads over bore, and events at about 1 mm of lift: inlet closing, exhaust opening,
/// overlap.
fn valves(kind: BuildKind, injection: Injection, bore_m: f64) -> Valves {
    let (count, exhaust) = match kind {
        BuildKind::CarburettedTwoValve | BuildKind::InjectedTwoValve => (1, 0.40),
        BuildKind::PerformanceTwoValve => (1, 0.41),
        _ => (2, 0.33),
    };
    // Head area over piston area, of all inlet valves.
    let (inlet_share, flow) = kind.figures(injection).usual_inlet;
    let closes = kind.figures(injection).usual_inlet_closes_deg_abdc;
    let (opens, overlap) = match kind {
        BuildKind::CarburettedTwoValve | BuildKind::InjectedTwoValve | BuildKind::ProductionFourValve => {
            (45.0, 15.0)
        }
        BuildKind::PerformanceTwoValve => (52.0, 25.0),
        BuildKind::SportFourValve | BuildKind::Motorcycle => (55.0, 45.0),
        BuildKind::Race => (65.0, 70.0),
    };
    Valves {
        inlet_count: count,
        inlet_diameter_m: (inlet_share / f64::from(count)).sqrt() * bore_m,
        exhaust_count: count,
        exhaust_diameter_m: exhaust * bore_m,
        mean_flow_coefficient: flow,
        inlet_closes_deg_abdc: closes,
        exhaust_opens_deg_bbdc: opens,
        overlap_deg: overlap,
        inlet_seats_later_deg: SEATED_LATER_DEG,
    }
}

fn build(engine: &Engine, peaks: PeakSpeeds) -> Build {
    let valves = valves(engine.kind, engine.injection, engine.bore_m);
    let cooling = if engine.is_air_cooled {
        Cooling::Air { head_temperature_k: AIR_COOLED_HEAD_K }
    } else {
        Cooling::USUAL
    };
    let chamber = match (valves.has_several_inlets(), engine.is_air_cooled) {
        (true, _) => Chamber::PentRoof,
        (false, true) => Chamber::Hemispherical,
        (false, false) => Chamber::Wedge,
    };
    Build {
        geometry: Geometry {
            cylinders: engine.cylinders,
            bore_m: engine.bore_m,
            stroke_m: engine.stroke_m,
            rod_length_m: 1.65 * engine.stroke_m,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(engine.compression_ratio).unwrap(),
        },
        valves,
        breathing: Breathing::Band {
            kind: engine.kind,
            peaks,
            closes_deg_abdc: valves.inlet_closes_deg_abdc,
        },
        injection: engine.injection,
        combustion: Combustion {
            chamber,
            burn_speed: 1.0,
            heat_law: HeatLawKind::Woschni,
            heat_factor: 1.0,
            wall_temperature_k: cooling.usual_wall_temperature_k(),
            cooling,
        },
        friction: FrictionLaw::ChenFlynn,
        driveline: Driveline { layout: Layout::FrontManual, measured_loss: None, measured_loss_spread: None },
        limits: Limits::default(),
    }
}

/// The estimate of a row: the fuel it requires at best-power mixture, the reference day of SAE J1349 and ISO 1585 (25 C, 99 kPa
/// dry), no octane kept in hand: ratings are made with the maker's own knock control or timing.
pub(crate) fn job(engine: &Engine, peaks: PeakSpeeds, speeds_rpm: Vec<f64>) -> Job {
    let library = FuelLibrary::shipped().unwrap();
    Job {
        scenario: engine.row.clone(),
        note: String::new(),
        build: build(engine, peaks),
        weather: Weather::new(298.15, 99.0e3, 0.0).unwrap(),
        fuels: vec![FuelChoice { fuel: library.resolve(&engine.fuel).unwrap(), lambda: None }],
        reference_fuel: library.resolve(endgas::scenario::job::REFERENCE_FUEL).unwrap().blend().unwrap(),
        speeds_rpm,
        reserve_octane: 0.0,
        spark_range: SparkRange { earliest_deg_btdc: 60.0, latest_deg_btdc: -15.0 },
        knock: Default::default(),
        samples: 200,
        seed: 1,
    }
}
