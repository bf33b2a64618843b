//! Pipes of a build: runner and port, plenum, primary and collector, with what is usual of a kind of build.
//!
//! All that is usual is common practice, no source, unless one is named.

use super::{BuildKind, Geometry, Injection, Valves};
use crate::constants::plain_air;
use std::f64::consts::PI;

/// How air gets to the runners.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IntakeLayout {
    /// A plenum behind one throttle, runners to every cylinder.
    Plenum,
    /// A carburettor on a manifold whose branches meet under it.
    Carburettor,
    /// A throttle for every cylinder, open to the air.
    Throttles,
}

/// How exhaust gas leaves the head.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExhaustLayout {
    /// A cast manifold with short branches.
    LogManifold,
    /// A header of pipes that end in a collector.
    Header,
}

/// Pipes of one cylinder and what they share with others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pipework {
    /// How air gets to the runners.
    pub intake: IntakeLayout,
    /// From plenum, carburettor or bell to the inlet valve, the port in the head included [m], 0.06 to 1.2.
    pub runner_length_m: f64,
    /// The part of it that is the port in the head, as warm as the coolant [m].
    pub port_length_m: f64,
    /// Diameter of the runner where it begins [m]; of a pipe of the same area where it is not round.
    pub runner_diameter_m: f64,
    /// Diameter of a pipe of the area of all ports of a cylinder at its inlet valves [m].
    pub port_diameter_m: f64,
    /// Volume behind the throttle [m3]; ignored with a throttle for every cylinder.
    pub plenum_volume_m3: f64,
    /// Effective area of the throttle or carburettor that all cylinders share [m2]; with a throttle for every cylinder, of one.
    pub throttle_area_m2: f64,
    /// How exhaust gas leaves the head.
    pub exhaust: ExhaustLayout,
    /// From the exhaust valve to the collector, the port in the head included [m], 0.04 to 2.
    pub primary_length_m: f64,
    /// Diameter of the primary [m].
    pub primary_diameter_m: f64,
    /// Volume in which the primaries end [m3].
    pub collector_volume_m3: f64,
    /// Cylinders whose primaries end in one collector.
    pub collector_cylinders: u32,
    /// Effective area of what lies behind one collector [m2]: pipe and muffler.
    pub tail_area_m2: f64,
    /// Friction along runner and primary over that of usual pipes [-], 0.3 to 3: it damps their waves.
    pub damping: f64,
}

/// Length of port in the head [m].
const HEAD_PORT_M: f64 = 0.09;
/// Area of ports where they end at the valve over that of the valve heads [-].
const PORT_OVER_HEADS: f64 = 0.78;
/// Area of a runner where it begins over that of the ports at the valve [-].
const RUNNER_TAPER: f64 = 1.25;
/// Area of a primary over that of the heads of the exhaust valves of a cylinder [-].
const PRIMARY_OVER_HEADS: f64 = 1.05;
/// Volume from the collector to the first muffler over what its cylinders sweep [-].
const COLLECTOR_OVER_SWEPT: f64 = 3.0;
/// Reference day of what a throttle and a muffler let pass [K, Pa], and exhaust gas there [K].
const DAY_TEMPERATURE_K: f64 = 298.15;
const DAY_PRESSURE_PA: f64 = 99e3;
const TAIL_TEMPERATURE_K: f64 = 900.0;
/// Exhaust gas over air by mass [-].
const EXHAUST_OVER_AIR: f64 = 1.08;
/// Discharge coefficient of a throttle that is wide open [-], and what plate and shaft cover of its bore [-].
const THROTTLE_COEFFICIENT: f64 = 0.92;
const PLATE_AND_SHAFT: f64 = 0.16;

/// What is usual of the pipes of a kind.
struct Usual {
    intake: IntakeLayout,
    runner_length_m: f64,
    plenum_over_displacement: f64,
    throttle_drop_pa: f64,
    exhaust: ExhaustLayout,
    primary_length_m: f64,
    back_pressure_pa: f64,
}

impl Usual {
    /// With another layout of the intake than the kind has: its lengths and losses go with it.
    fn with_intake(mut self, stated: Option<IntakeLayout>) -> Self {
        if let Some(intake) = stated.filter(|intake| *intake != self.intake) {
            let like = match intake {
                IntakeLayout::Plenum => BuildKind::PerformanceTwoValve,
                IntakeLayout::Carburettor => BuildKind::CarburettedTwoValve,
                IntakeLayout::Throttles => BuildKind::Motorcycle,
            };
            let Self { intake, runner_length_m, plenum_over_displacement, throttle_drop_pa, .. } =
                like.usual_pipes();
            self = Self { intake, runner_length_m, plenum_over_displacement, throttle_drop_pa, ..self };
        }
        self
    }

    /// The same of the exhaust.
    fn with_exhaust(mut self, stated: Option<ExhaustLayout>) -> Self {
        if let Some(exhaust) = stated.filter(|exhaust| *exhaust != self.exhaust) {
            let like = match exhaust {
                ExhaustLayout::LogManifold => BuildKind::ProductionFourValve,
                ExhaustLayout::Header => BuildKind::PerformanceTwoValve,
            };
            let Self { exhaust, primary_length_m, back_pressure_pa, .. } = like.usual_pipes();
            self = Self { exhaust, primary_length_m, back_pressure_pa, ..self };
        }
        self
    }
}

impl BuildKind {
    fn usual_pipes(self) -> Usual {
        use {ExhaustLayout as Out, IntakeLayout as In};
        let usual =
            |intake, runner_length_m, throttle_drop_pa, exhaust, primary_length_m, back_pressure_pa| {
                let plenum_over_displacement = if intake == In::Carburettor { 0.4 } else { 0.9 };
                Usual {
                    intake,
                    runner_length_m,
                    plenum_over_displacement,
                    throttle_drop_pa,
                    exhaust,
                    primary_length_m,
                    back_pressure_pa,
                }
            };
        match self {
            Self::CarburettedTwoValve => usual(In::Carburettor, 0.38, 7e3, Out::LogManifold, 0.25, 25e3),
            Self::InjectedTwoValve => usual(In::Plenum, 0.55, 4e3, Out::LogManifold, 0.25, 25e3),
            Self::PerformanceTwoValve => usual(In::Plenum, 0.45, 3e3, Out::Header, 0.50, 18e3),
            Self::ProductionFourValve => usual(In::Plenum, 0.62, 4e3, Out::LogManifold, 0.25, 25e3),
            Self::SportFourValve => usual(In::Plenum, 0.38, 2e3, Out::Header, 0.55, 18e3),
            Self::Motorcycle => usual(In::Throttles, 0.28, 1e3, Out::Header, 0.65, 18e3),
            Self::Race => usual(In::Throttles, 0.28, 1e3, Out::Header, 0.70, 5e3),
        }
    }
}

/// Effective area of what lets gas pass at a drop of pressure [m2]: incompressible flow at the density behind it, within 1 % for
/// drops below a tenth, within 3 % below a quarter.
fn area_m2(flow_kg_per_s: f64, (temperature_k, behind_pa): (f64, f64), drop_pa: f64) -> f64 {
    let density = behind_pa / (plain_air::GAS_CONSTANT_J_PER_KG_K * temperature_k);
    flow_kg_per_s / (2.0 * density * drop_pa).sqrt()
}

/// Density of the air of the reference day [kg/m3].
fn day_kg_per_m3() -> f64 {
    DAY_PRESSURE_PA / (plain_air::GAS_CONSTANT_J_PER_KG_K * DAY_TEMPERATURE_K)
}

/// Effective area of a throttle or carburettor through which some air of the reference day flows at a depression [m2].
fn intake_area_m2(flow_kg_per_s: f64, depression_pa: f64) -> f64 {
    area_m2(flow_kg_per_s, (DAY_TEMPERATURE_K, DAY_PRESSURE_PA - depression_pa), depression_pa)
}

/// Effective area of a carburettor [m2].
///
/// # Arguments
/// - `flow_m3_per_s`: rated flow of all its barrels, as volume of air before it
/// - `depression_pa`: at which it is rated [Pa], 1000 to 25 000; 1.5 in of mercury (5080 Pa) for four barrels, 3.0 in (10 160 Pa) for one
///   or two (common practice, no source)
pub fn carburettor_area_m2(flow_m3_per_s: f64, depression_pa: f64) -> f64 {
    intake_area_m2(day_kg_per_m3() * flow_m3_per_s, depression_pa)
}

/// Effective area of a throttle that is wide open [m2], of a bore [m].
pub fn throttle_area_m2(bore_m: f64) -> f64 {
    THROTTLE_COEFFICIENT * (1.0 - PLATE_AND_SHAFT) * 0.25 * PI * bore_m * bore_m
}

/// Cylinders whose primaries usually end in one collector: those of a bank.
fn usual_collector_cylinders(cylinders: u32) -> u32 {
    match cylinders {
        n @ 6.. if n.is_multiple_of(2) => n / 2,
        n => n,
    }
}

/// Rpm at which a kind of build usually makes peak power.
pub fn usual_peak_power_rpm(kind: BuildKind, injection: Injection, stroke_m: f64) -> f64 {
    30.0 * kind.figures(injection).piston_speed_m_per_s / stroke_m
}

/// Air of the reference day that one cylinder takes with a VE of 1 [kg/s].
fn cylinder_kg_per_s(geometry: &Geometry, speed_rpm: f64) -> f64 {
    day_kg_per_m3() * geometry.swept_volume_m3() * speed_rpm / 120.0
}

/// Effective area behind one collector [m2] with which the muffler costs a back pressure at full load.
///
/// # Arguments
/// - `collector_cylinders`: cylinders of one collector
/// - `back_pressure_pa`: above that of the day, behind the collector [Pa], 500 to 80 000
/// - `speed_rpm`: rpm at which it counts: [`usual_peak_power_rpm`] where it is not stated
pub fn tail_area_m2(
    geometry: &Geometry,
    collector_cylinders: u32,
    back_pressure_pa: f64,
    speed_rpm: f64,
) -> f64 {
    let collected_kg_per_s = f64::from(collector_cylinders) * cylinder_kg_per_s(geometry, speed_rpm);
    let behind = (TAIL_TEMPERATURE_K, DAY_PRESSURE_PA);
    area_m2(EXHAUST_OVER_AIR * collected_kg_per_s, behind, back_pressure_pa)
}

impl Pipework {
    /// What is usual of a kind of build, sized for the piston speed at which the kind makes peak power.
    pub fn usual(kind: BuildKind, injection: Injection, geometry: &Geometry, valves: &Valves) -> Self {
        Self::usual_with((None, None), (kind, injection), geometry, valves)
    }

    /// The same with the layouts of intake and exhaust that are stated, where they are.
    pub fn usual_with(
        (intake, exhaust): (Option<IntakeLayout>, Option<ExhaustLayout>),
        (kind, injection): (BuildKind, Injection),
        geometry: &Geometry,
        valves: &Valves,
    ) -> Self {
        let usual = kind.usual_pipes().with_intake(intake).with_exhaust(exhaust);
        let diameter = |area_m2: f64| (4.0 * area_m2 / PI).sqrt();
        let port_m2 = PORT_OVER_HEADS * valves.inlet_area_m2();
        let peak_rpm = usual_peak_power_rpm(kind, injection, geometry.stroke_m);
        // A cylinder breathes in during a third of a cycle.
        let throttled = match usual.intake {
            IntakeLayout::Throttles => 3.0,
            IntakeLayout::Plenum | IntakeLayout::Carburettor => f64::from(geometry.cylinders),
        };
        let collector_cylinders = usual_collector_cylinders(geometry.cylinders);
        let collected = f64::from(collector_cylinders);
        let primary_m2 = PRIMARY_OVER_HEADS * valves.exhaust_area_m2();
        Self {
            intake: usual.intake,
            runner_length_m: usual.runner_length_m,
            port_length_m: HEAD_PORT_M,
            runner_diameter_m: diameter(RUNNER_TAPER * port_m2),
            port_diameter_m: diameter(port_m2),
            plenum_volume_m3: usual.plenum_over_displacement * geometry.displacement_m3(),
            throttle_area_m2: intake_area_m2(
                throttled * cylinder_kg_per_s(geometry, peak_rpm),
                usual.throttle_drop_pa,
            ),
            exhaust: usual.exhaust,
            primary_length_m: usual.primary_length_m,
            primary_diameter_m: diameter(primary_m2),
            collector_volume_m3: COLLECTOR_OVER_SWEPT * collected * geometry.swept_volume_m3(),
            collector_cylinders,
            tail_area_m2: tail_area_m2(geometry, collector_cylinders, usual.back_pressure_pa, peak_rpm),
            damping: 1.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::CompressionRatio;
    use approx::assert_relative_eq;

    // HAND: air of the day 99000 / (287.05 298.15) = 1.1568 kg/m3; behind 5080 Pa 1.0974 kg/m3. 0.28 m3/s are 0.32389 kg/s;
    // sqrt(2 1.0974 5080) = 105.59 kg/(m2 s); 0.32389 / 105.59 = 3.0674e-3 m2.
    #[test]
    fn area_of_a_carburettor_by_hand() {
        assert_relative_eq!(carburettor_area_m2(0.28, 5080.0), 3.0674e-3, max_relative = 3e-4);
    }

    // HAND: a bore of 60 mm is 2.8274e-3 m2; plate and shaft leave 0.84, of which 0.92 flows: 2.1850e-3 m2.
    #[test]
    fn area_of_a_throttle_by_hand() {
        assert_relative_eq!(throttle_area_m2(0.060), 2.1850e-3, max_relative = 1e-4);
    }

    // HAND: 0.5 l at 6000 rpm: 1.1568 0.5e-3 50 = 0.028920 kg/s of air; four cylinders 0.12493 kg/s of exhaust gas; gas of 900 K at
    // 99 kPa 0.38321 kg/m3; sqrt(2 0.38321 20e3) = 123.81 kg/(m2 s); 1.0091e-3 m2. At half the rpm half of it.
    #[test]
    fn area_behind_a_collector_by_hand() {
        let bore_m = (4.0 * 0.5e-3 / (PI * 0.086)).sqrt();
        let geometry = Geometry {
            cylinders: 4,
            bore_m,
            stroke_m: 0.086,
            rod_length_m: 0.145,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(10.0).unwrap(),
        };
        assert_relative_eq!(tail_area_m2(&geometry, 4, 20e3, 6000.0), 1.0091e-3, max_relative = 3e-4);
        assert_relative_eq!(tail_area_m2(&geometry, 4, 20e3, 3000.0), 0.50455e-3, max_relative = 3e-4);
    }

    #[test]
    fn banks_have_collectors_of_their_own() {
        assert_eq!([1, 3, 4, 5, 6, 8].map(usual_collector_cylinders), [1, 3, 4, 5, 3, 4]);
    }
}
