//! What a change of cam, valve or pipe is worth, each by a step that a shop would make, all else as it is.

use super::computed::ReferenceJob;
use super::error::EstimateError;
use super::job::Job;
use super::pipe_curve::PipedError;
use super::point::{FuelInUse, Shifts};
use super::sweep::in_order;
use super::tuned::Tuned;
use crate::engine::cam::{EventLift, Lobe};
use crate::engine::pipework::IntakeLayout;
use crate::engine::{Breathing, Cam, Computed, OnPipes, Valves};
use crate::pipes::{FlowCurve, NotSettled};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// Steps that a shop would make (common practice, no source).
const LENGTH_STEP_M: f64 = 0.050;
const RUNNER_DIAMETER_STEP_M: f64 = 0.002;
const PRIMARY_LENGTH_STEP_M: f64 = 0.100;
const PRIMARY_DIAMETER_STEP_M: f64 = 0.003;
const ADVANCE_STEP_DEG: f64 = 4.0;
const DURATION_STEP_DEG: f64 = 8.0;
const LIFT_STEP_M: f64 = 0.001;
const VALVE_STEP_M: f64 = 0.001;
const PLENUM_STEP: f64 = 0.5;
const BACK_PRESSURE_STEP: f64 = -0.5;
/// Shortest and narrowest pipe that a step may leave [m].
const LEAST_LENGTH_M: f64 = 0.05;
const LEAST_DIAMETER_M: f64 = 0.012;
/// Rpm of the low end over that of peak power [-].
const LOW: f64 = 0.5;
/// Rpm, evenly apart, at which a change is run to find where volumetric efficiency is best then, over where it is best now [-].
const ABOUT_BEST: [f64; 5] = [0.84, 0.92, 1.0, 1.08, 1.16];
/// Speeds nearer than this are one [rpm].
const NEAR_RPM: f64 = 20.0;

/// A change of one thing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "change", rename_all = "snake_case")]
pub enum PipeChange {
    /// Longer or shorter runner.
    RunnerLength {
        /// Added to it [m].
        by_m: f64,
    },
    /// Wider or narrower runner where it begins; the port stays.
    RunnerDiameter {
        /// Added to it [m].
        by_m: f64,
    },
    /// Longer or shorter primary.
    PrimaryLength {
        /// Added to it [m].
        by_m: f64,
    },
    /// Wider or narrower primary.
    PrimaryDiameter {
        /// Added to it [m].
        by_m: f64,
    },
    /// Both lobes earlier; negative is later.
    CamAdvance {
        /// By so much [deg crank].
        by_deg: f64,
    },
    /// Inlet lobe open for longer at every lift, its centre as it is.
    InletDuration {
        /// By so much [deg crank].
        by_deg: f64,
    },
    /// The same of the exhaust lobe.
    ExhaustDuration {
        /// By so much [deg crank].
        by_deg: f64,
    },
    /// More lift of both valves with the same durations.
    Lift {
        /// Added to it [m].
        by_m: f64,
    },
    /// Larger inlet valves in a port that flows as well on their heads; runner and port as they are.
    InletValve {
        /// Added to the diameter of the head [m].
        by_m: f64,
    },
    /// Larger plenum.
    Plenum {
        /// By this share [-].
        by_frac: f64,
    },
    /// Pressure behind the collector at peak power.
    BackPressure {
        /// By this share [-]; negative is less.
        by_frac: f64,
    },
}

impl PipeChange {
    /// Every step, in the order in which it is shown.
    const ALL: [Self; 16] = [
        Self::RunnerLength { by_m: LENGTH_STEP_M },
        Self::RunnerLength { by_m: -LENGTH_STEP_M },
        Self::RunnerDiameter { by_m: RUNNER_DIAMETER_STEP_M },
        Self::RunnerDiameter { by_m: -RUNNER_DIAMETER_STEP_M },
        Self::PrimaryLength { by_m: PRIMARY_LENGTH_STEP_M },
        Self::PrimaryLength { by_m: -PRIMARY_LENGTH_STEP_M },
        Self::PrimaryDiameter { by_m: PRIMARY_DIAMETER_STEP_M },
        Self::PrimaryDiameter { by_m: -PRIMARY_DIAMETER_STEP_M },
        Self::CamAdvance { by_deg: ADVANCE_STEP_DEG },
        Self::CamAdvance { by_deg: -ADVANCE_STEP_DEG },
        Self::InletDuration { by_deg: DURATION_STEP_DEG },
        Self::ExhaustDuration { by_deg: DURATION_STEP_DEG },
        Self::Lift { by_m: LIFT_STEP_M },
        Self::InletValve { by_m: VALVE_STEP_M },
        Self::Plenum { by_frac: PLENUM_STEP },
        Self::BackPressure { by_frac: BACK_PRESSURE_STEP },
    ];

    /// Whether a build has what it changes.
    fn has_a_place(&self, on: &OnPipes) -> bool {
        !matches!(self, Self::Plenum { .. }) || on.pipework.intake != IntakeLayout::Throttles
    }

    /// Makes it; none where no such part can be made.
    fn made(&self, on: &OnPipes, valves: &Valves) -> Option<(OnPipes, Valves)> {
        let (mut on, mut valves) = (on.clone(), *valves);
        let pipework = &mut on.pipework;
        match *self {
            Self::RunnerLength { by_m } => {
                add(&mut pipework.runner_length_m, by_m, pipework.port_length_m + LEAST_LENGTH_M)?;
            }
            Self::RunnerDiameter { by_m } => add(&mut pipework.runner_diameter_m, by_m, LEAST_DIAMETER_M)?,
            Self::PrimaryLength { by_m } => add(&mut pipework.primary_length_m, by_m, LEAST_LENGTH_M)?,
            Self::PrimaryDiameter { by_m } => add(&mut pipework.primary_diameter_m, by_m, LEAST_DIAMETER_M)?,
            Self::Plenum { by_frac } => pipework.plenum_volume_m3 *= 1.0 + by_frac,
            // A drop of pressure goes with the square of the flow over the area.
            Self::BackPressure { by_frac } => pipework.tail_area_m2 /= (1.0 + by_frac).sqrt(),
            Self::CamAdvance { by_deg } => {
                let cam = Cam {
                    inlet_centre_deg_atdc: on.cam.inlet_centre_deg_atdc - by_deg,
                    exhaust_centre_deg_btdc: on.cam.exhaust_centre_deg_btdc + by_deg,
                    ..on.cam
                };
                put_cam(cam, &mut on, &mut valves);
            }
            Self::InletDuration { by_deg } => {
                let inlet = on.cam.inlet.reground(by_deg, 0.0).ok()?;
                put_cam(Cam { inlet, ..on.cam }, &mut on, &mut valves);
            }
            Self::ExhaustDuration { by_deg } => {
                let exhaust = on.cam.exhaust.reground(by_deg, 0.0).ok()?;
                put_cam(Cam { exhaust, ..on.cam }, &mut on, &mut valves);
            }
            Self::Lift { by_m } => {
                let [inlet, exhaust] = [on.cam.inlet, on.cam.exhaust].map(|lobe| lobe.reground(0.0, by_m));
                put_cam(Cam { inlet: inlet.ok()?, exhaust: exhaust.ok()?, ..on.cam }, &mut on, &mut valves);
            }
            Self::InletValve { by_m } => {
                let was_m = valves.inlet_diameter_m;
                valves.inlet_diameter_m += by_m;
                keep_flow((&on.cam.inlet, was_m), &on, &mut valves);
                // At a lift a bench sheet lets pass as much more as the rim of the valve is longer.
                on.bench = on.bench.take().map(|sheet| sheet.times(valves.inlet_diameter_m / was_m));
            }
        }
        Some((on, valves))
    }
}

/// Adds to a size, none where less than the least would be left.
fn add(size_m: &mut f64, by_m: f64, least_m: f64) -> Option<()> {
    *size_m += by_m;
    (*size_m >= least_m).then_some(())
}

/// Puts another cam in: the valve events move as it moves them, and the ports flow as before at every lift.
fn put_cam(cam: Cam, on: &mut OnPipes, valves: &mut Valves) {
    let was = std::mem::replace(&mut on.cam, cam);
    let (before, now) = (was.events(EventLift::Valve1Mm), cam.events(EventLift::Valve1Mm));
    valves.inlet_closes_deg_abdc += now.inlet_closes_deg_abdc - before.inlet_closes_deg_abdc;
    valves.exhaust_opens_deg_bbdc += now.exhaust_opens_deg_bbdc - before.exhaust_opens_deg_bbdc;
    valves.overlap_deg = (valves.overlap_deg + now.overlap_deg() - before.overlap_deg()).max(0.0);
    keep_flow((&was.inlet, valves.inlet_diameter_m), on, valves);
}

/// Moves the mean flow coefficient so that the coefficient at a lift over diameter stays with another lobe or valve.
fn keep_flow((lobe, diameter_m): (&Lobe, f64), on: &OnPipes, valves: &mut Valves) {
    let before = greatest(lobe, diameter_m);
    valves.mean_flow_coefficient *= before / greatest(&on.cam.inlet, valves.inlet_diameter_m);
}

/// Greatest coefficient of the usual curve over its sum [1/deg].
fn greatest(lobe: &Lobe, diameter_m: f64) -> f64 {
    match FlowCurve::usual(1.0, lobe, diameter_m) {
        FlowCurve::Usual { greatest } => greatest,
        FlowCurve::Bench(_) => 1.0,
    }
}

/// What a change is worth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipeWorth {
    /// The change.
    #[serde(flatten)]
    pub change: PipeChange,
    /// Change of volumetric efficiency at the low rpm, relative [-].
    pub ve_change_low_frac: f64,
    /// The same at the rpm of peak torque [-].
    pub ve_change_torque_frac: f64,
    /// The same at the rpm of peak power [-].
    pub ve_change_power_frac: f64,
    /// Change of torque at the flywheel at the rpm of peak torque, timing tuned anew [N m].
    pub torque_change_nm: f64,
    /// Change of power at the flywheel at the rpm of peak power, timing tuned anew [kW].
    pub power_change_kw: f64,
    /// By how much the rpm of best volumetric efficiency moves [rpm]; null where it goes farther than was run.
    pub best_speed_change_rpm: Option<f64>,
}

/// What changes are worth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipeWorths {
    /// The low rpm: half of that of peak power [rpm].
    pub low_speed_rpm: f64,
    /// Every change that could be made.
    pub changes: Vec<PipeWorth>,
    /// Changes that leave no such part, or with which the cycles do not repeat.
    pub left_out: Vec<PipeChange>,
}

/// A build on its pipes at some speeds, with what the estimate makes of it.
struct Ran {
    computed: Computed,
    torque_nm: f64,
    power_kw: f64,
}

/// What is held against each other.
struct Trial<'a> {
    job: &'a Job,
    reference: &'a ReferenceJob,
    named: (&'a str, &'a FuelInUse),
    torque_rpm: f64,
    power_rpm: f64,
    speeds_rpm: Vec<f64>,
}

impl Trial<'_> {
    /// Runs a build; none where its cycles do not repeat.
    fn run(&self, on: &OnPipes, valves: &Valves) -> Result<Result<Ran, NotSettled>, EstimateError> {
        let reference = self.reference.with_valves(*valves);
        let computed = match reference.computed_as_likely(on, &self.speeds_rpm) {
            Ok(computed) => computed,
            Err(fault) => return Ok(Err(fault)),
        };
        let mut job = self.job.clone();
        job.build.valves = *valves;
        job.build.breathing = Breathing::Computed(Arc::new(computed.clone()));
        let torque_nm = |speed_rpm: f64| {
            let tuned = Tuned::new(&job, job.setting(), self.named, speed_rpm, Shifts::NONE)?;
            Ok::<_, EstimateError>((tuned.point.crank_torque_nm(&tuned.used), tuned.point))
        };
        let (torque_nm, (at_power_nm, point)) = (torque_nm(self.torque_rpm)?.0, torque_nm(self.power_rpm)?);
        let power_kw = point.power_kw(at_power_nm);
        Ok(Ok(Ran { computed, torque_nm, power_kw }))
    }
}

/// What each change is worth, all of them run side by side.
///
/// # Arguments
/// - `speeds_rpm`: of peak torque, of peak power, of best volumetric efficiency
pub(super) fn worths(
    (job, computed): (&Job, &Computed),
    reference: &ReferenceJob,
    named: (&str, &FuelInUse),
    (torque_rpm, power_rpm, best_rpm): (f64, f64, f64),
) -> Result<PipeWorths, PipedError> {
    let on = &computed.on;
    let low_rpm = LOW * power_rpm;
    let mut speeds_rpm: Vec<f64> = vec![low_rpm, torque_rpm, power_rpm];
    for speed in ABOUT_BEST.map(|factor| factor * best_rpm) {
        if speeds_rpm.iter().all(|other| (other - speed).abs() > NEAR_RPM) {
            speeds_rpm.push(speed);
        }
    }
    speeds_rpm.sort_by(f64::total_cmp);
    speeds_rpm.dedup();
    let trial = Trial { job, reference, named, torque_rpm, power_rpm, speeds_rpm };
    let valves = &job.build.valves;
    let now = trial.run(on, valves)??;
    let changes: Vec<PipeChange> =
        PipeChange::ALL.into_iter().filter(|change| change.has_a_place(on)).collect();
    let run = |change: &PipeChange| -> Result<Option<Ran>, EstimateError> {
        match change.made(on, valves) {
            Some((on, valves)) => Ok(trial.run(&on, &valves)?.ok()),
            None => Ok(None),
        }
    };
    let ran = in_order(&changes, run)?;
    let hump = |ran: &Ran| hump_rpm(&ran.computed, best_rpm);
    let (mut worths, mut left_out) = (Vec::new(), Vec::new());
    for (change, ran) in changes.into_iter().zip(ran) {
        let Some(ran) = ran else {
            left_out.push(change);
            continue;
        };
        let ve = |speed: f64| {
            let of = |ran: &Ran| ran.computed.at(speed).volumetric_efficiency;
            of(&ran) / of(&now) - 1.0
        };
        worths.push(PipeWorth {
            change,
            ve_change_low_frac: ve(low_rpm),
            ve_change_torque_frac: ve(torque_rpm),
            ve_change_power_frac: ve(power_rpm),
            torque_change_nm: ran.torque_nm - now.torque_nm,
            power_change_kw: ran.power_kw - now.power_kw,
            best_speed_change_rpm: hump(&ran).zip(hump(&now)).map(|(is, was)| is - was),
        });
    }
    Ok(PipeWorths { low_speed_rpm: low_rpm, changes: worths, left_out })
}

/// Where volumetric efficiency is best about an rpm, by the parabola of least squares through [`ABOUT_BEST`], which waves hardly move;
/// none where that has no top there.
fn hump_rpm(computed: &Computed, about_rpm: f64) -> Option<f64> {
    let offset = vertex(ABOUT_BEST.map(|factor| computed.at(factor * about_rpm).volumetric_efficiency))?;
    Some(about_rpm * (ABOUT_BEST[2] + offset * (ABOUT_BEST[3] - ABOUT_BEST[2])))
}

/// Top of the parabola of least squares through five values one step apart, in steps from the middle one; none beyond them.
fn vertex([y0, y1, y2, y3, y4]: [f64; 5]) -> Option<f64> {
    let bend = (2.0 * (y0 + y4) - y1 - 2.0 * y2 - y3) / 14.0;
    let slope = (2.0 * (y4 - y0) + y3 - y1) / 10.0;
    let top = -0.5 * slope / bend;
    (bend < 0.0 && top.abs() <= 2.0).then_some(top)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 5 - (x - 0.5)^2 at -2 to 2 has its top at 0.5; a line and a hollow have none.
    #[test]
    fn the_top_of_five_values() {
        let xs = [-2.0, -1.0, 0.0, 1.0, 2.0_f64];
        assert_relative_eq!(vertex(xs.map(|x| 5.0 - (x - 0.5) * (x - 0.5))).unwrap(), 0.5, epsilon = 1e-12);
        assert_eq!([vertex(xs), vertex(xs.map(|x| x * x))], [None, None]);
        assert_eq!(vertex(xs.map(|x| 5.0 - (x - 3.0) * (x - 3.0))), None);
    }
}
