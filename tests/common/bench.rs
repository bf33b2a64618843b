//! An invented four-cylinder engine on which published sensitivities are tried.

use endgas::air::Weather;
use endgas::engine::volumes::SEATED_LATER_DEG;
use endgas::engine::{
    Breathing, Build, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind, Injection,
    Layout, Limits, Valves,
};
use endgas::estimate::point::{AtSpark, FuelInUse, Point, PointSetting, Shifts};
use endgas::estimate::spark::{SparkRange, best_torque_spark};
use endgas::fuel::Blend;
use endgas::fuel::library::FuelLibrary;
use endgas::knock::{KnockFit, octane_requirement};
use endgas::units::CompressionRatio;

pub const RANGE: SparkRange = SparkRange { earliest_deg_btdc: 60.0, latest_deg_btdc: -15.0 };

pub fn blend(name: &str) -> Blend {
    FuelLibrary::shipped().unwrap().resolve(name).unwrap().blend().unwrap()
}

pub fn weather() -> Weather {
    Weather::new(298.15, 100_000.0, 0.30).unwrap()
}

/// 2.5 litre four, pent roof, port injection, volumetric efficiency the same at all speeds.
pub fn build(ratio: f64, volumetric_efficiency: f64) -> Build {
    Build {
        geometry: Geometry {
            cylinders: 4,
            bore_m: 0.092,
            stroke_m: 0.094,
            rod_length_m: 0.150,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(ratio).unwrap(),
        },
        valves: Valves {
            inlet_count: 2,
            inlet_diameter_m: 0.036,
            exhaust_count: 2,
            exhaust_diameter_m: 0.031,
            mean_flow_coefficient: 0.40,
            inlet_closes_deg_abdc: 50.0,
            exhaust_opens_deg_bbdc: 50.0,
            overlap_deg: 25.0,
            inlet_seats_later_deg: SEATED_LATER_DEG,
        },
        breathing: Breathing::Table {
            speed_rpm: vec![1000.0, 8000.0],
            volumetric_efficiency: vec![volumetric_efficiency; 2],
            spread: 0.02,
            follows: Default::default(),
        },
        injection: Injection::Port,
        combustion: Combustion {
            chamber: Chamber::PentRoof,
            burn_speed: 1.0,
            heat_law: HeatLawKind::Woschni,
            heat_factor: 1.0,
            wall_temperature_k: 473.15,
            cooling: Cooling::USUAL,
        },
        friction: FrictionLaw::ChenFlynn,
        driveline: Driveline { layout: Layout::RearManual, measured_loss: None, measured_loss_spread: None },
        limits: Limits::default(),
        unmeasured: Default::default(),
    }
}

/// One trial of the bench engine; change what the check is about.
#[derive(Clone, Debug)]
pub struct Trial {
    pub build: Build,
    pub weather: Weather,
    pub fuel: Blend,
    pub lambda: f64,
    pub speed_rpm: f64,
    pub shifts: Shifts,
    pub fit: KnockFit,
}

impl Trial {
    pub fn new(ratio: f64, speed_rpm: f64) -> Self {
        Self {
            build: build(ratio, 0.92),
            weather: weather(),
            fuel: blend("premium-91"),
            lambda: 0.87,
            speed_rpm,
            shifts: Shifts::NONE,
            fit: KnockFit::SHIPPED,
        }
    }

    /// An engine of a shipped scenario on the bench day, on premium of 91 AKI at lambda 0.90.
    pub fn of_scenario(name: &str) -> Self {
        let path = format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let job = crate::common::job::from_text(&std::fs::read_to_string(path).unwrap());
        Self { build: job.build, lambda: 0.90, ..Self::new(10.0, 3000.0) }
    }

    pub fn ratio(&self, ratio: f64) -> Self {
        self.edit(|t| t.build.geometry.compression_ratio = CompressionRatio::new(ratio).unwrap())
    }

    pub fn with<R>(&self, run: impl Fn(&Point<'_>) -> R) -> R {
        let fuel = FuelInUse::new(self.fuel.clone(), self.lambda, &self.weather).unwrap();
        let reference = blend("premium-91");
        let setting = PointSetting {
            build: &self.build,
            weather: &self.weather,
            reference: (&reference, 0.87),
            fit: self.fit,
            need: Default::default(),
        };
        run(&Point::new(setting, &fuel, self.speed_rpm, self.shifts))
    }

    pub fn best(&self) -> AtSpark {
        self.with(|point| best_torque_spark(point, RANGE).unwrap())
    }

    pub fn at(&self, spark: f64) -> AtSpark {
        self.with(|point| point.at_spark(spark))
    }

    pub fn requirement(&self, at: &AtSpark) -> f64 {
        octane_requirement(at.integral_at_100, self.fit.octane_exponent)
    }

    /// Octane requirement at best-torque spark.
    pub fn best_requirement(&self) -> f64 {
        self.requirement(&self.best())
    }

    pub fn edit(&self, change: impl Fn(&mut Self)) -> Self {
        let mut other = self.clone();
        change(&mut other);
        other
    }
}
