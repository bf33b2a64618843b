//! What a catalogue does not say, by the rules of the library, which are the same for every row.

use super::rows::Engine;
use endgas::air::Weather;
use endgas::engine::{Build, Combustion, Cooling, Driveline, Geometry, Layout, PeakSpeeds, Unmeasured};
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;

/// Head of an air-cooled engine at full load [K].
const AIR_COOLED_HEAD_K: f64 = 453.15;

/// Which of its two speeds the model is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// Both where the catalogue has both, else that of peak power.
    All,
    /// That of peak torque alone.
    TorqueSpeed,
    /// That of peak power alone.
    PowerSpeed,
}

impl Engine {
    /// The speeds that the model is told; none when it has not got them.
    pub fn peaks(&self, told: Told) -> Option<PeakSpeeds> {
        match (told, self.torque_rpm) {
            (Told::All, Some(torque_rpm)) => Some(PeakSpeeds::Both { torque_rpm, power_rpm: self.power_rpm }),
            (Told::All, None) | (Told::PowerSpeed, _) => Some(PeakSpeeds::Power(self.power_rpm)),
            (Told::TorqueSpeed, torque_rpm) => torque_rpm.map(PeakSpeeds::Torque),
        }
    }
}

fn build(engine: &Engine, peaks: PeakSpeeds) -> Build {
    let geometry = Geometry {
        cylinders: engine.cylinders,
        bore_m: engine.bore_m,
        stroke_m: engine.stroke_m,
        rod_length_m: Geometry::usual_rod_length_m(engine.stroke_m),
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(engine.compression_ratio).unwrap(),
    };
    let cooling = match engine.is_air_cooled {
        true => Cooling::Air { head_temperature_k: AIR_COOLED_HEAD_K },
        false => Cooling::USUAL,
    };
    let valves = engine.kind.usual_valves(engine.injection, engine.bore_m);
    Build {
        valves,
        injection: engine.injection,
        combustion: Combustion::usual(&valves, cooling),
        driveline: Driveline { layout: Layout::FrontManual, measured_loss: None, measured_loss_spread: None },
        // The bands of the kinds were found with these rules, so that they hold what the rows differ by.
        unmeasured: Unmeasured::default(),
        ..Build::of_kind(engine.kind, geometry, peaks)
    }
}

/// The estimate of a row: the fuel it requires at best-power mixture, the reference day of SAE J1349 and ISO 1585 (25 C, 99 kPa
/// dry), no octane kept in hand: ratings are made with the maker's own knock control or timing.
pub fn job(engine: &Engine, peaks: PeakSpeeds, speeds_rpm: Vec<f64>) -> Job {
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
        assumed: Vec::new(),
        samples: 200,
        seed: 1,
    }
}
