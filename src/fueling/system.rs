//! Injectors and pump as stated, and what they give.

use crate::engine::{Build, Injection};
use crate::estimate::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// Pressure across a port injector at which it is rated, and at which it is run, where nothing is stated
/// [Pa] (common practice, no source).
const PORT_PRESSURE_PA: f64 = 300e3;
/// The same for direct injection, rated and run (common practice, no source).
const DIRECT_RATED_PRESSURE_PA: f64 = 10e6;
const DIRECT_PRESSURE_PA: f64 = 15e6;
/// Share of the cycle that a port injector may be open (0.80 to 0.85; common practice, no source).
const PORT_DUTY: f64 = 0.85;
/// Share of the cycle that a direct injector may be open: a stroke of four (common practice, no source).
const DIRECT_DUTY: f64 = 0.25;
/// Density of the fluid with which injectors are rated [kg/m3]: with it 1 lb/h is 10.50 cc/min
/// (453.592 / 60 / 0.72, computed; common practice, no source).
const RATED_DENSITY_KG_PER_M3: f64 = 720.0;
/// What a pump is to give beyond the need: wear, hot fuel, low voltage [-] (common practice, no source).
const PUMP_RESERVE: f64 = 0.20;
/// Pounds per hour in a kilogram per second: 3600 / 0.453 592 37 (NIST SP 811).
pub const LB_PER_H_PER_KG_PER_S: f64 = 3600.0 / 0.453_592_37;

/// A fuel system as stated; what is left out takes the usual value of the injection kind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FuelSystem {
    /// Injectors of the engine, 1 to 32; one a cylinder without it.
    pub injector_count: Option<u32>,
    /// Flow of one injector held open, at the rated pressure [m3/s].
    pub injector_flow_m3_per_s: Option<f64>,
    /// Pressure across the injector at which it is rated [Pa].
    pub rated_pressure_pa: Option<f64>,
    /// Density of the fluid it is rated with [kg/m3].
    pub rated_density_kg_per_m3: Option<f64>,
    /// Pressure across the injector in use: rail over manifold for port injection [Pa].
    pub fuel_pressure_pa: Option<f64>,
    /// Share of the cycle that it may be open [-].
    pub duty_limit: Option<f64>,
    /// What the pump gives at the fuel pressure [m3/s].
    pub pump_flow_m3_per_s: Option<f64>,
    /// What it is to give beyond the need [-].
    pub pump_reserve: Option<f64>,
}

/// A fuel system with every value settled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Supply {
    /// Whether fuel is injected straight into the cylinder.
    pub is_direct: bool,
    /// Injectors of the engine.
    pub injector_count: u32,
    /// Flow of one stated injector held open, at the rated pressure [cc/min]; null when none is stated.
    pub injector_flow_cc_per_min: Option<f64>,
    /// Pressure across the injector at which it is rated [kPa].
    pub rated_pressure_kpa: f64,
    /// Density of the fluid it is rated with [kg/L].
    pub rated_density_kg_per_l: f64,
    /// Pressure across the injector in use [kPa].
    pub fuel_pressure_kpa: f64,
    /// Share of the cycle that it may be open [-].
    pub duty_limit_frac: f64,
    /// What the stated pump gives at the fuel pressure [L/h]; null when none is stated.
    pub pump_flow_l_per_h: Option<f64>,
    /// What a pump is to give beyond the need [-].
    pub pump_reserve_frac: f64,
}

impl FuelSystem {
    /// The system with the usual values of the injection kind where nothing is stated.
    pub fn supply(&self, build: &Build) -> Supply {
        let is_direct = build.injection == Injection::Direct;
        let (rated, used, duty) = if is_direct {
            (DIRECT_RATED_PRESSURE_PA, DIRECT_PRESSURE_PA, DIRECT_DUTY)
        } else {
            (PORT_PRESSURE_PA, PORT_PRESSURE_PA, PORT_DUTY)
        };
        Supply {
            is_direct,
            injector_count: self.injector_count.unwrap_or(build.geometry.cylinders),
            injector_flow_cc_per_min: self.injector_flow_m3_per_s.map(|flow| flow * 6e7),
            rated_pressure_kpa: self.rated_pressure_pa.unwrap_or(rated) / 1e3,
            rated_density_kg_per_l: self.rated_density_kg_per_m3.unwrap_or(RATED_DENSITY_KG_PER_M3) / 1e3,
            fuel_pressure_kpa: self.fuel_pressure_pa.unwrap_or(used) / 1e3,
            duty_limit_frac: self.duty_limit.unwrap_or(duty),
            pump_flow_l_per_h: self.pump_flow_m3_per_s.map(|flow| flow * 3.6e6),
            pump_reserve_frac: self.pump_reserve.unwrap_or(PUMP_RESERVE),
        }
    }
}

impl Supply {
    /// Rated flow of an injector by mass of the rating fluid [lb/h], from [cc/min].
    pub fn rated_lb_per_h(&self, flow_cc_per_min: f64) -> f64 {
        flow_cc_per_min / 6e7 * self.rated_density_kg_per_l * 1e3 * LB_PER_H_PER_KG_PER_S
    }

    /// Mass that an injector passes held open, over the volume it is rated at [kg/m3].
    ///
    /// A fixed orifice passes m = C A sqrt(2 density dp) (Bernoulli), so m / Q_rated =
    /// sqrt(density density_rated) sqrt(dp / dp_rated).
    fn mass_per_rated_volume_kg_per_m3(&self, density_kg_per_m3: f64) -> f64 {
        (density_kg_per_m3 * self.rated_density_kg_per_l * 1e3).sqrt()
            * (self.fuel_pressure_kpa / self.rated_pressure_kpa).sqrt()
    }

    /// Rated flow that each injector must have [m3/s] for a fuel flow of the engine [kg/s] at the duty limit.
    pub fn rated_need_m3_per_s(&self, fuel_flow_kg_per_s: f64, density_kg_per_m3: f64) -> f64 {
        fuel_flow_kg_per_s
            / (f64::from(self.injector_count) * self.duty_limit_frac)
            / self.mass_per_rated_volume_kg_per_m3(density_kg_per_m3)
    }

    /// Share of the cycle that the stated injectors are open [-]; none when none are stated.
    pub(super) fn duty(&self, fuel_flow_kg_per_s: Band, density_kg_per_m3: f64) -> Option<Band> {
        let rated_m3_per_s = self.injector_flow_cc_per_min? / 6e7;
        let full = f64::from(self.injector_count)
            * rated_m3_per_s
            * self.mass_per_rated_volume_kg_per_m3(density_kg_per_m3);
        Some(fuel_flow_kg_per_s.times(1.0 / full))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn supply() -> Supply {
        Supply {
            is_direct: false,
            injector_count: 4,
            injector_flow_cc_per_min: Some(500.0),
            rated_pressure_kpa: 300.0,
            rated_density_kg_per_l: 0.72,
            fuel_pressure_kpa: 300.0,
            duty_limit_frac: 0.85,
            pump_flow_l_per_h: None,
            pump_reserve_frac: 0.2,
        }
    }

    // HAND: 50 kg/h of 0.72 kg/L through four at 85 %: 50 / 3600 / 3.4 = 4.0850e-3 kg/s each, 5.6736e-6 m3/s,
    // 340.4 cc/min; as 453.592 / 60 / 0.72 = 10.500 cc/min are 1 lb/h: 32.42 lb/h.
    #[test]
    fn an_injector_by_hand() {
        let rated = supply().rated_need_m3_per_s(50.0 / 3600.0, 720.0);
        assert_relative_eq!(rated * 6e7, 340.4, max_relative = 1e-4);
        assert_relative_eq!(rated * 720.0 * LB_PER_H_PER_KG_PER_S, 32.42, max_relative = 1e-4);
        let cc_per_lb = 6e7 / (720.0 * LB_PER_H_PER_KG_PER_S);
        assert_relative_eq!(cc_per_lb, 10.50, epsilon = 0.001);
        // 340.4 of 500 cc/min at 85 %.
        let band = Band { low: 0.0, likely: 0.0, high: 50.0 / 3600.0 };
        let duty = supply().duty(band, 720.0).unwrap().high;
        assert_relative_eq!(duty, 0.85 * 340.4 / 500.0, max_relative = 1e-4);
    }

    // HAND: flow goes with the root of pressure: 400 over 300 kPa is 1.1547. Mass through the same hole goes
    // with the root of density: 0.781 over 0.72 is 1.0415.
    #[test]
    fn flow_goes_with_the_roots_of_pressure_and_density() {
        let higher = Supply { fuel_pressure_kpa: 400.0, ..supply() };
        let need = |s: &Supply, density: f64| s.rated_need_m3_per_s(0.01, density);
        assert_relative_eq!(need(&supply(), 720.0) / need(&higher, 720.0), 1.1547, max_relative = 1e-4);
        assert_relative_eq!(need(&supply(), 720.0) / need(&supply(), 781.0), 1.0415, max_relative = 1e-4);
    }
}
