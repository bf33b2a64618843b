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
    /// From plenum, carburettor or bell to the inlet valve, the port in the head included [m], 0.08 to 1.2.
    pub runner_length_m: f64,
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
    /// From the exhaust valve to the collector, the port in the head included [m], 0.05 to 2.
    pub primary_length_m: f64,
    /// Diameter of the primary [m].
    pub primary_diameter_m: f64,
    /// Volume in which the primaries end [m3].
    pub collector_volume_m3: f64,
    /// Cylinders whose primaries end in one collector.
    pub collector_cylinders: u32,
    /// Effective area of what lies behind one collector [m2]: pipe and muffler.
    pub tail_area_m2: f64,
}

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

/// Effective area through which air of the reference day, or gas as warm as at a tail, flows at a drop [m2]: incompressible
/// flow, good within 3 % for drops below a tenth.
fn area_m2(flow_kg_per_s: f64, temperature_k: f64, drop_pa: f64) -> f64 {
    let density = DAY_PRESSURE_PA / (plain_air::GAS_CONSTANT_J_PER_KG_K * temperature_k);
    flow_kg_per_s / (2.0 * density * drop_pa).sqrt()
}

impl Pipework {
    /// What is usual of a kind of build, sized for the piston speed at which the kind makes peak power.
    pub fn usual(kind: BuildKind, injection: Injection, geometry: &Geometry, valves: &Valves) -> Self {
        let usual = kind.usual_pipes();
        let diameter = |area_m2: f64| (4.0 * area_m2 / PI).sqrt();
        let port_m2 = PORT_OVER_HEADS * valves.inlet_area_m2();
        let per_s = kind.figures(injection).piston_speed_m_per_s / (4.0 * geometry.stroke_m);
        let density = DAY_PRESSURE_PA / (plain_air::GAS_CONSTANT_J_PER_KG_K * DAY_TEMPERATURE_K);
        let cylinder_kg_per_s = density * geometry.swept_volume_m3() * per_s;
        let cylinders = f64::from(geometry.cylinders);
        let throttled = if usual.intake == IntakeLayout::Throttles { 1.0 } else { cylinders };
        // A cylinder breathes in during a third of a cycle.
        let peaky = if usual.intake == IntakeLayout::Throttles { 3.0 } else { 1.0 };
        let collector_cylinders = match geometry.cylinders {
            n @ 6.. if n.is_multiple_of(2) => n / 2,
            n => n,
        };
        let collected = f64::from(collector_cylinders);
        let primary_m2 = PRIMARY_OVER_HEADS * valves.exhaust_area_m2();
        Self {
            intake: usual.intake,
            runner_length_m: usual.runner_length_m,
            runner_diameter_m: diameter(RUNNER_TAPER * port_m2),
            port_diameter_m: diameter(port_m2),
            plenum_volume_m3: usual.plenum_over_displacement * geometry.displacement_m3(),
            throttle_area_m2: area_m2(
                peaky * throttled * cylinder_kg_per_s,
                DAY_TEMPERATURE_K,
                usual.throttle_drop_pa,
            ),
            exhaust: usual.exhaust,
            primary_length_m: usual.primary_length_m,
            primary_diameter_m: diameter(primary_m2),
            collector_volume_m3: COLLECTOR_OVER_SWEPT * collected * geometry.swept_volume_m3(),
            collector_cylinders,
            tail_area_m2: area_m2(
                EXHAUST_OVER_AIR * collected * cylinder_kg_per_s,
                TAIL_TEMPERATURE_K,
                usual.back_pressure_pa,
            ),
        }
    }
}
