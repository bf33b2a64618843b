//! The breather of a build and its pipes.

use super::breather::Breather;
use super::duct::Pipe;
use super::end::Beyond;
use super::gas::PipeGas;
use super::room::{Room, Volume};
use super::valve::{FlowCurve, ValveGear};
use crate::engine::cam::{Advertised, CamFault, CardLift, DurationAt, Lobe, LobeCard};
use crate::engine::pipework::{ExhaustLayout, IntakeLayout};
use crate::engine::port_flow::BenchSheet;
use crate::engine::{Build, Cam, Pipework, Valves};

/// Lash that stands for all followers where there is no card [m]; it only sets how the last degrees close (common practice, no
/// source).
const USUAL_LASH_M: f64 = 0.2e-3;
/// Greatest lift over head diameter of a cam that is open for [`USUAL_OPEN_DEG`] at 1 mm, and its growth with that period
/// [-, per deg]: 0.25 of production cams to 0.35 of race cams (common practice, no source).
const USUAL_LIFT: f64 = 0.25;
const USUAL_OPEN_DEG: f64 = 235.0;
const LIFT_PER_DEG: f64 = 0.002;
const LIFT_ENDS: (f64, f64) = (0.18, 0.40);
/// Period that a mean flow coefficient is referred to [deg crank], as in `engine/port_flow.rs`.
const REFERRED_DEG: f64 = 260.0;
/// Darcy friction factor of runners, and of primaries with their bends and scale [-] (common practice, no source).
const RUNNER_FRICTION: f64 = 0.03;
const PRIMARY_FRICTION: f64 = 0.04;
/// Length that an open end adds to a pipe, over its radius [-] (Levine and Schwinger 1948: 0.61 for a pipe without flange;
/// `from memory`).
const END_CORRECTION: f64 = 0.61;
/// What a bell and a branch of a plenum let pass of their area [-] (common practice, no source).
const BELL_OPEN: f64 = 0.97;
const BRANCH_OPEN: f64 = 0.90;
/// The runner before the port is as warm as the air under a bonnet [K] (common practice, no source).
const MANIFOLD_WALL_K: f64 = 318.0;
/// Walls of primaries at full load [K] (common practice, no source).
const CAST_WALL_K: f64 = 800.0;
const PIPE_WALL_K: f64 = 700.0;
/// Length of cells [m].
const CELL_M: f64 = 0.03;

/// Lobes of a build without a cam card, from its effective events.
fn lobe(open_deg: f64, seats_later_deg: f64, diameter_m: f64) -> Result<Lobe, CamFault> {
    let share = (USUAL_LIFT + LIFT_PER_DEG * (open_deg - USUAL_OPEN_DEG)).clamp(LIFT_ENDS.0, LIFT_ENDS.1);
    Lobe::new(&LobeCard {
        duration_deg: open_deg,
        counted: DurationAt::Valve1Mm,
        advertised: Some(Advertised {
            duration_deg: open_deg + 2.0 * seats_later_deg,
            lift_m: Some(USUAL_LASH_M),
        }),
        lift: CardLift::Valve(share * diameter_m),
        rocker_ratio: 1.0,
        lash_m: Some(USUAL_LASH_M),
    })
}

/// The cam that has the effective events of some valves, lobes as usual for their length; half of the overlap on either side
/// of top dead centre. Overlap counts from half way between the seat and 1 mm of lift, where a valve begins to let gas through.
///
/// # Errors
/// [`CamFault`] where no lobe is so short.
pub fn usual_cam(valves: &Valves) -> Result<Cam, CamFault> {
    let half = 0.5 * (valves.overlap_deg - valves.inlet_seats_later_deg);
    let inlet_deg = half + 180.0 + valves.inlet_closes_deg_abdc;
    let exhaust_deg = half + 180.0 + valves.exhaust_opens_deg_bbdc;
    Ok(Cam {
        inlet: lobe(inlet_deg, valves.inlet_seats_later_deg, valves.inlet_diameter_m)?,
        exhaust: lobe(exhaust_deg, valves.inlet_seats_later_deg, valves.exhaust_diameter_m)?,
        inlet_centre_deg_atdc: 0.5 * inlet_deg - half,
        exhaust_centre_deg_btdc: 0.5 * exhaust_deg - half,
    })
}

/// What a breather needs besides build and pipes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charge {
    /// Gas of the pipes.
    pub gas: PipeGas,
    /// Fresh charge before the throttle.
    pub incoming: Beyond,
    /// Gas behind the muffler.
    pub outside: Beyond,
}

/// What a build breathes through, from the throttle to the muffler.
#[derive(Clone, Copy, Debug)]
pub struct Airway<'a> {
    /// Pipes.
    pub pipework: &'a Pipework,
    /// From a card, or [`usual_cam`].
    pub cam: &'a Cam,
    /// How the inlet valves of one cylinder flow over lift; where no bench says, the usual curve with the mean flow coefficient of the
    /// valves.
    pub inlet_bench: Option<&'a BenchSheet>,
}

impl Breather {
    /// The breather of a build.
    pub fn of_build(build: &Build, airway: Airway<'_>, charge: &Charge) -> Self {
        let (geometry, valves) = (&build.geometry, &build.valves);
        let Airway { pipework, cam, inlet_bench } = airway;
        let combustion = &build.combustion;
        // One curve for both: exhaust ports flow about as well on the area of their heads.
        let sum_deg = valves.mean_flow_coefficient * REFERRED_DEG;
        let usual = FlowCurve::usual(sum_deg, &cam.inlet, valves.inlet_diameter_m);
        let inlet = ValveGear {
            count: valves.inlet_count,
            diameter_m: valves.inlet_diameter_m,
            lobe: cam.inlet,
            centre_deg: cam.inlet_centre_deg_atdc,
            flow: inlet_bench.map_or_else(|| usual.clone(), |sheet| FlowCurve::Bench(sheet.clone())),
        };
        let exhaust = ValveGear {
            count: valves.exhaust_count,
            diameter_m: valves.exhaust_diameter_m,
            lobe: cam.exhaust,
            centre_deg: -cam.exhaust_centre_deg_btdc,
            flow: usual,
        };
        Self {
            gas: charge.gas,
            crank: geometry.slider_crank(),
            bore_m: geometry.bore_m,
            stroke_m: geometry.stroke_m,
            inlet,
            exhaust,
            runner: runner(pipework, combustion.cooling.port_temperature_k()),
            primary: primary(pipework),
            plenum: plenum(pipework, geometry.cylinders, charge.incoming),
            collector: Room::Volume(Volume {
                volume_m3: pipework.collector_volume_m3,
                opening_m2: pipework.tail_area_m2,
                beyond: charge.outside,
                sharers: pipework.collector_cylinders,
            }),
            runner_open_frac: match pipework.intake {
                IntakeLayout::Throttles => own_throttle_frac(pipework),
                IntakeLayout::Plenum | IntakeLayout::Carburettor => BRANCH_OPEN,
            },
            wall_temperature_k: combustion.wall_temperature_k,
            heat_factor: combustion.heat_factor,
            cell_m: CELL_M,
        }
    }
}

fn own_throttle_frac(pipework: &Pipework) -> f64 {
    let runner_m2 = 0.25 * std::f64::consts::PI * pipework.runner_diameter_m.powi(2);
    (pipework.throttle_area_m2 / runner_m2).min(BELL_OPEN)
}

fn runner(pipework: &Pipework, port_temperature_k: f64) -> Pipe {
    let in_head = (pipework.port_length_m / pipework.runner_length_m).min(1.0);
    let wall_temperature_k = MANIFOLD_WALL_K + in_head * (port_temperature_k - MANIFOLD_WALL_K);
    let added_m = 0.5 * END_CORRECTION * pipework.runner_diameter_m;
    Pipe {
        length_m: pipework.runner_length_m + added_m,
        first_diameter_m: pipework.runner_diameter_m,
        last_diameter_m: pipework.port_diameter_m,
        wall_temperature_k,
        friction_factor: RUNNER_FRICTION * pipework.damping,
    }
}

fn primary(pipework: &Pipework) -> Pipe {
    let added_m = 0.5 * END_CORRECTION * pipework.primary_diameter_m;
    Pipe {
        length_m: pipework.primary_length_m + added_m,
        first_diameter_m: pipework.primary_diameter_m,
        last_diameter_m: pipework.primary_diameter_m,
        wall_temperature_k: match pipework.exhaust {
            ExhaustLayout::LogManifold => CAST_WALL_K,
            ExhaustLayout::Header => PIPE_WALL_K,
        },
        friction_factor: PRIMARY_FRICTION * pipework.damping,
    }
}

fn plenum(pipework: &Pipework, cylinders: u32, incoming: Beyond) -> Room {
    match pipework.intake {
        IntakeLayout::Throttles => Room::Still(incoming),
        IntakeLayout::Plenum | IntakeLayout::Carburettor => Room::Volume(Volume {
            volume_m3: pipework.plenum_volume_m3,
            opening_m2: pipework.throttle_area_m2,
            beyond: incoming,
            sharers: cylinders,
        }),
    }
}
