//! Exhaust and intake strokes as mean pressures: pumping, blowdown and residual gas.

use super::outcome::ClosedResult;
use crate::engine::geometry::SliderCrank;
use crate::engine::{Geometry, Valves};
use std::f64::consts::PI;

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
/// Blowdown falls to exhaust pressure as a parabola over this crank angle, and longer by the inlet Mach index times the
/// second value [deg] (common practice, no source: some 50 deg at low, 80 at high speed).
const BLOWDOWN_DEG: f64 = 40.0;
const BLOWDOWN_DEG_PER_MACH_INDEX: f64 = 80.0;
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
        let lift =
            LIFT_OVER_DIAMETER * valves.inlet_diameter_m * (PI * 0.5 * half / CAM_DURATION_DEG).sin().powi(2);
        let area = f64::from(valves.inlet_count) * PI * valves.inlet_diameter_m * lift;
        let drop = (self.back_pressure_pa - self.intake_pressure_pa).max(0.0);
        let flow = 0.6 * area * (2.0 * density * drop).sqrt();
        clearance + flow * valves.overlap_deg / (6.0 * speed_rpm)
    }

    /// Gross indicated work of one cylinder [J]: the closed cycle, the blowdown to bottom centre
    /// and the early compression from bottom centre to inlet closing.
    ///
    /// Before inlet closing the pressure rises from intake pressure to that of the trapped charge
    /// (common practice, no source).
    pub fn gross_work_j(&self, crank: &SliderCrank, valves: &Valves, closed: &ClosedResult) -> f64 {
        let blowdown = self.blowdown_work_j(crank, valves, closed, (-valves.exhaust_opens_deg_bbdc, 0.0));
        let to_bottom = self.exhaust_pressure_pa
            * (crank.volume_m3(PI) - crank.volume_m3((180.0 - valves.exhaust_opens_deg_bbdc).to_radians()));
        let closing = crank.volume_m3((valves.inlet_closes_deg_abdc - 180.0).to_radians());
        let early =
            0.5 * (self.intake_pressure_pa + closed.start_pressure_pa) * (closing - crank.volume_m3(PI));
        closed.work_j + blowdown + to_bottom + early
    }

    /// Work of one cylinder that the piston spends on blowdown that outlasts bottom centre [J]; late
    /// exhaust opening and high speed cost it.
    pub fn late_blowdown_work_j(&self, crank: &SliderCrank, valves: &Valves, closed: &ClosedResult) -> f64 {
        let end = self.blowdown_deg() - valves.exhaust_opens_deg_bbdc;
        if end > 0.0 { -self.blowdown_work_j(crank, valves, closed, (0.0, end)) } else { 0.0 }
    }

    /// Crank angle over which blowdown falls to exhaust pressure [deg]: longer as the valves choke.
    fn blowdown_deg(&self) -> f64 {
        BLOWDOWN_DEG + BLOWDOWN_DEG_PER_MACH_INDEX * self.mach_index
    }

    /// Work of the pressure above exhaust pressure between two angles after bottom centre [J].
    fn blowdown_work_j(
        &self,
        crank: &SliderCrank,
        valves: &Valves,
        closed: &ClosedResult,
        (from, to): (f64, f64),
    ) -> f64 {
        const STEPS: u32 = 8;
        let excess = closed.end_pressure_pa - self.exhaust_pressure_pa;
        let left = |deg: f64| {
            let along = (deg + valves.exhaust_opens_deg_bbdc) / self.blowdown_deg();
            (1.0 - along).max(0.0).powi(2)
        };
        let width = (to - from) / f64::from(STEPS);
        let volume = |deg: f64| crank.volume_m3((180.0 + deg).to_radians());
        (0..STEPS)
            .map(|i| from + f64::from(i) * width)
            .map(|deg| excess * left(deg + 0.5 * width) * (volume(deg + width) - volume(deg)))
            .sum()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::CompressionRatio;

    fn parts(opens_deg_bbdc: f64) -> (Geometry, Valves) {
        let geometry = Geometry {
            cylinders: 4,
            bore_m: 0.092,
            stroke_m: 0.094,
            rod_length_m: 0.150,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(11.0).unwrap(),
        };
        let valves = Valves {
            inlet_count: 2,
            inlet_diameter_m: 0.036,
            exhaust_count: 2,
            exhaust_diameter_m: 0.031,
            mean_flow_coefficient: 0.40,
            inlet_closes_deg_abdc: 55.0,
            exhaust_opens_deg_bbdc: opens_deg_bbdc,
            overlap_deg: 30.0,
        };
        (geometry, valves)
    }

    /// A closed cycle that ends at a pressure which falls as the valve opens later.
    fn closed(geometry: &Geometry, opens_deg_bbdc: f64) -> ClosedResult {
        let crank = geometry.slider_crank();
        let volume = crank.volume_m3((180.0 - opens_deg_bbdc).to_radians());
        ClosedResult {
            work_j: 0.0,
            heat_j: 0.0,
            energy_change_j: 0.0,
            start_pressure_pa: 1.2e5,
            end_pressure_pa: 5.0e5 * (crank.volume_m3(PI) / volume).powf(1.27),
            end_temperature_k: 1700.0,
            end_gas_constant_j_per_kg_k: 290.0,
            end_cp_j_per_kg_k: 1400.0,
            peak_pressure_pa: 8e6,
            peak_pressure_deg: 14.0,
        }
    }

    /// Work after opening less what late blowdown costs, plus the expansion still made before opening [J].
    fn worth(opens_deg_bbdc: f64, speed_rpm: f64) -> f64 {
        let (geometry, valves) = parts(opens_deg_bbdc);
        let exchange = GasExchange::new(&geometry, &valves, 1e5, 1.0, 298.0, speed_rpm);
        let (crank, end) = (geometry.slider_crank(), closed(&geometry, opens_deg_bbdc));
        let early = closed(&geometry, 100.0);
        let (v0, v1) =
            (crank.volume_m3(80f64.to_radians()), crank.volume_m3((180.0 - opens_deg_bbdc).to_radians()));
        let expansion = (early.end_pressure_pa * v0 - end.end_pressure_pa * v1) / 0.27;
        expansion + exchange.gross_work_j(&crank, &valves, &end)
            - exchange.late_blowdown_work_j(&crank, &valves, &end)
    }

    // HAND: from 4 to 1 bar of back pressure the leaving gas keeps 1700 (1 - 290 / 1400 x 0.75) = 1435.9 K, what stays
    // falls to 1700 x 0.25^((g - 1) / g); no fall, no cooling.
    #[test]
    fn blowdown_cools_by_its_flow_work() {
        let (geometry, valves) = parts(60.0);
        let exchange = GasExchange {
            back_pressure_pa: 1e5,
            ..GasExchange::new(&geometry, &valves, 1e5, 1.0, 298.0, 3000.0)
        };
        let end = ClosedResult { end_pressure_pa: 4e5, ..closed(&geometry, 60.0) };
        assert!((exchange.exhaust_temperature_k(&end) - 1435.9).abs() < 0.1);
        let stays = 1700.0 * 0.25f64.powf(1.0 - 1.0 / EXHAUST_GAMMA);
        assert!((exchange.residual_temperature_k(&end) - stays).abs() < 0.1);
        let level = ClosedResult { end_pressure_pa: 1e5, ..end };
        assert!((exchange.exhaust_temperature_k(&level) - 1700.0).abs() < 1e-9);
    }

    #[test]
    fn exhaust_opening_has_a_best_angle_that_comes_earlier_with_speed() {
        let best = |speed: f64| {
            (1..20)
                .map(|i| 5.0 * f64::from(i))
                .max_by(|a, b| worth(*a, speed).total_cmp(&worth(*b, speed)))
                .unwrap()
        };
        let (slow, fast) = (best(2500.0), best(7500.0));
        assert!((15.0..=60.0).contains(&slow), "{slow}");
        assert!((25.0..=80.0).contains(&fast) && fast > slow, "{slow} {fast}");
    }

    #[test]
    fn pumping_and_residual_grow_with_speed_and_overlap() {
        let (geometry, valves) = parts(55.0);
        let at = |speed: f64| GasExchange::new(&geometry, &valves, 1e5, 1.0, 298.0, speed);
        assert!(at(2000.0).pmep_pa() > 0.0 && at(6000.0).pmep_pa() > 2.0 * at(2000.0).pmep_pa());
        // At rated speed some 0.2 to 0.8 bar (0.5 to 3 % of fuel energy; common practice, no source).
        assert!((0.2e5..0.8e5).contains(&at(6000.0).pmep_pa()), "{}", at(6000.0).pmep_pa());
        let residual = |overlap_deg: f64| {
            at(3000.0).residual_mass_kg(&geometry, &Valves { overlap_deg, ..valves }, 3000.0, 1100.0)
        };
        assert!(residual(60.0) > residual(10.0));
    }
}
