//! Exhaust and intake strokes as mean pressures: pumping, blowdown and residual gas.

use super::outcome::ClosedResult;
use crate::engine::geometry::SliderCrank;
use crate::engine::{Geometry, Valves};

/// Ratio of heat capacities of intake air [-].
const AIR_GAMMA: f64 = 1.4;
/// Ratio of heat capacities of exhaust gas, for the fall to exhaust pressure [-] (common practice, no source).
const EXHAUST_GAMMA: f64 = 1.27;
/// Gas constant of air and of exhaust, near enough for mean pressures [J/(kg K)].
const GAS_CONSTANT: f64 = 287.0;
/// Exhaust gas temperature for the exhaust valve's pressure drop [K] (common practice, no source).
const EXHAUST_TEMPERATURE_K: f64 = 1150.0;
/// Exhaust back pressure at [`BACK_PRESSURE_PISTON_SPEED`], growing with its square [Pa]
/// (common practice, no source).
const BACK_PRESSURE_PA: f64 = 0.10e5;
const BACK_PRESSURE_PISTON_SPEED: f64 = 18.0;
/// Residual gas kept beyond the clearance volume, because the exhaust valve closes after top
/// centre [-]; with it the residual at ratio 10 is 4 to 5 % (3 to 8 %, Heywood 1988; `from memory`).
const LATE_CLOSING_FACTOR: f64 = 1.3;
/// Valve lift over valve diameter at full lift, and cam duration, for the overlap area
/// (common practice, no source).
const LIFT_OVER_DIAMETER: f64 = 0.27;
const CAM_DURATION_DEG: f64 = 270.0;

/// Mean inlet Mach index per rpm [-/rpm]: Z = (Ap / (Ai Ci)) Sp / c.
///
/// Taylor, The Internal-Combustion Engine in Theory and Practice (`from memory`).
pub fn mach_index_per_rpm(geometry: &Geometry, valves: &Valves, air_temperature_k: f64) -> f64 {
    let sound = (AIR_GAMMA * GAS_CONSTANT * air_temperature_k).sqrt();
    let inlet = valves.inlet_area_m2() * valves.mean_flow_coefficient;
    geometry.piston_area_m2() / inlet * geometry.mean_piston_speed_m_per_s(1.0) / sound
}

/// Mean pressures of the gas exchange at one speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GasExchange {
    /// Mean inlet Mach index [-].
    pub mach_index: f64,
    /// Mean cylinder pressure over the intake stroke [Pa].
    pub intake_pressure_pa: f64,
    /// Mean cylinder pressure over the exhaust stroke [Pa].
    pub exhaust_pressure_pa: f64,
    /// Pressure behind the exhaust valve [Pa].
    pub back_pressure_pa: f64,
}

impl GasExchange {
    /// Mean pressures at a manifold pressure of `manifold_ratio` times ambient, 1 at full throttle.
    ///
    /// Each valve costs one velocity head at its mean Mach number, dp / p = (gamma / 2) M^2
    /// (small-Mach form of isentropic flow); the exhaust system adds a back pressure.
    pub fn new(
        geometry: &Geometry,
        valves: &Valves,
        ambient_pressure_pa: f64,
        manifold_ratio: f64,
        air_temperature_k: f64,
        speed_rpm: f64,
    ) -> Self {
        let mach = mach_index_per_rpm(geometry, valves, air_temperature_k) * speed_rpm;
        let head = |mach_squared: f64, gamma: f64| (0.5 * gamma * mach_squared).min(0.6);
        let area_ratio = valves.inlet_area_m2() / valves.exhaust_area_m2();
        let exhaust_mach_squared = mach * mach * area_ratio * area_ratio * AIR_GAMMA * air_temperature_k
            / (EXHAUST_GAMMA * EXHAUST_TEMPERATURE_K);
        let speed = geometry.mean_piston_speed_m_per_s(speed_rpm) / BACK_PRESSURE_PISTON_SPEED;
        let back_pressure_pa = ambient_pressure_pa + BACK_PRESSURE_PA * (speed * manifold_ratio).powi(2);
        Self {
            mach_index: mach,
            intake_pressure_pa: manifold_ratio * ambient_pressure_pa * (1.0 - head(mach * mach, AIR_GAMMA)),
            exhaust_pressure_pa: back_pressure_pa * (1.0 + head(exhaust_mach_squared, EXHAUST_GAMMA)),
            back_pressure_pa,
        }
    }

    /// Pumping mean effective pressure, positive when it costs work [Pa].
    pub fn pmep_pa(&self) -> f64 {
        self.exhaust_pressure_pa - self.intake_pressure_pa
    }

    /// Residual gas in one cylinder [kg].
    ///
    /// Gas of the clearance volume at exhaust back pressure, and backflow through the overlap by
    /// the orifice formula where exhaust pressure is above intake pressure.
    ///
    /// # Arguments
    /// - `residual_temperature_k`: temperature of the gas left behind [K]
    pub fn residual_mass_kg(
        &self,
        geometry: &Geometry,
        valves: &Valves,
        speed_rpm: f64,
        residual_temperature_k: f64,
    ) -> f64 {
        let density = self.back_pressure_pa / (GAS_CONSTANT * residual_temperature_k);
        let clearance = LATE_CLOSING_FACTOR * density * geometry.clearance_volume_m3();
        // Mean lift over the overlap for a sine-squared lift: both valves are near closing.
        let half = 0.5 * valves.overlap_deg;
        let lift = LIFT_OVER_DIAMETER
            * valves.inlet_diameter_m
            * (std::f64::consts::PI * 0.5 * half / CAM_DURATION_DEG).sin().powi(2);
        let area = f64::from(valves.inlet_count) * std::f64::consts::PI * valves.inlet_diameter_m * lift;
        let drop = (self.back_pressure_pa - self.intake_pressure_pa).max(0.0);
        let flow = 0.6 * area * (2.0 * density * drop).sqrt();
        clearance + flow * valves.overlap_deg / (6.0 * speed_rpm)
    }

    /// Gross indicated work of one cylinder [J]: the closed cycle, the blowdown to bottom centre
    /// and the early compression from bottom centre to inlet closing.
    ///
    /// During blowdown the pressure falls to exhaust pressure as a parabola in crank angle; before
    /// inlet closing it rises from intake pressure to the pressure of the trapped charge (common
    /// practice, no source).
    pub fn gross_work_j(&self, crank: &SliderCrank, valves: &Valves, closed: &ClosedResult) -> f64 {
        const STEPS: u32 = 8;
        let opens = 180.0 - valves.exhaust_opens_deg_bbdc;
        let width = valves.exhaust_opens_deg_bbdc / f64::from(STEPS);
        let pressure = |along: f64| {
            self.exhaust_pressure_pa
                + (closed.end_pressure_pa - self.exhaust_pressure_pa) * (1.0 - along).powi(2)
        };
        let mut blowdown = 0.0;
        for i in 0..STEPS {
            let (from, to) = (f64::from(i), f64::from(i + 1));
            let volume = |n: f64| crank.volume_m3((opens + n * width).to_radians());
            let middle = pressure((from + 0.5) / f64::from(STEPS));
            blowdown += middle * (volume(to) - volume(from));
        }
        let bottom = crank.volume_m3(std::f64::consts::PI);
        let closing = crank.volume_m3((valves.inlet_closes_deg_abdc - 180.0).to_radians());
        let early = 0.5 * (self.intake_pressure_pa + closed.start_pressure_pa) * (closing - bottom);
        closed.work_j + blowdown + early
    }

    /// Temperature of the gas left in the cylinder after its isentropic fall to exhaust pressure [K].
    pub fn residual_temperature_k(&self, closed: &ClosedResult) -> f64 {
        let ratio = (self.back_pressure_pa / closed.end_pressure_pa).min(1.0);
        closed.end_temperature_k * ratio.powf((EXHAUST_GAMMA - 1.0) / EXHAUST_GAMMA)
    }

    /// Mean temperature of the gas leaving the cylinder [K]: its enthalpy at exhaust opening less
    /// the flow work lost in blowdown; heat lost in the port is not counted.
    pub fn exhaust_temperature_k(&self, closed: &ClosedResult) -> f64 {
        let r = closed.end_gas_constant_j_per_kg_k;
        let fall = 1.0 - (self.back_pressure_pa / closed.end_pressure_pa).min(1.0);
        closed.end_temperature_k * (1.0 - r / closed.end_cp_j_per_kg_k * fall)
    }
}
