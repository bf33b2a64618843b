//! What cam, ports and pipes make of the filling, rpm by rpm: for a builder who looks at them, not for the estimate.
//!
//! Everything here is on the day and the fuel for which volumetric efficiency is stated, but torque and power, which are those of the
//! estimate on the first fuel.

use super::band::{Band, band};
use super::breath::BuildBreath;
use super::computed::{ReferenceFault, ReferenceJob};
use super::error::EstimateError;
use super::job::Job;
use super::pipe_worth::{PipeWorths, worths};
use super::sampling::own_ve_factor;
use super::sweep::{over_speeds, top_index};
use super::tuned::Tuned;
use crate::engine::cam::EventLift;
use crate::engine::{Breathing, Build, Computed, ComputedPoint, OnPipes, Pipework};
use crate::pipes::{AtValves, NotSettled};
use crate::units::PA_PER_BAR;
use schemars::JsonSchema;
use serde::Serialize;

/// Why pipes cannot be shown.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PipedError {
    /// The volumetric efficiency of the build does not come from pipes.
    #[error("the volumetric efficiency of this build is not computed from its pipes")]
    NotOnPipes,
    /// The cycles of the build do not repeat.
    #[error("{0}; check lengths and diameters")]
    NotSettled(#[from] NotSettled),
    /// The build cannot be put on the day and fuel for which volumetric efficiency is stated.
    #[error(transparent)]
    Reference(#[from] ReferenceFault),
    /// Torque and power cannot be estimated.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
}

/// How much of it is computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extent {
    /// What a change of each is worth.
    pub worths: bool,
    /// Volumetric efficiency with pipes taken away.
    pub parts: bool,
}

/// The greatest value of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TopOfCurve {
    /// Where [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency there [-].
    pub volumetric_efficiency: f64,
    /// Whether it lies at an end of what was computed, so that there may be more beyond.
    pub is_at_end: bool,
}

/// One rpm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipedPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency [-].
    pub volumetric_efficiency: Band,
    /// Burned gas of the cycle before over the charge [-].
    pub residual_frac: f64,
    /// Pumping mean effective pressure, positive where it costs work [bar].
    pub pmep_bar: f64,
    /// Fresh gas that leaves by the exhaust valve over that which comes in [-].
    pub short_circuit_frac: f64,
    /// The charge as the inlet valve seats [K].
    pub closing_temperature_k: f64,
}

/// Volumetric efficiency at an rpm with pipes taken away but for the ports in the head [-].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipedParts {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// As built.
    pub volumetric_efficiency: f64,
    /// Without the runner: the port draws from the plenum or the air.
    pub without_runner: f64,
    /// Without the primary: a port of the same length opens into the collector.
    pub without_primary: f64,
    /// Without both.
    pub without_either: f64,
}

/// What is at the valves of one cylinder at a crank angle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ValveTrace {
    /// Crank angle [deg after the top dead centre of gas exchange].
    pub crank_angle_deg: f64,
    /// Pressure in the runner before the inlet valve [bar].
    pub inlet_pressure_bar: f64,
    /// Pressure in the primary behind the exhaust valve [bar].
    pub exhaust_pressure_bar: f64,
    /// Pressure in the cylinder [bar]; null where it is not known.
    pub cylinder_pressure_bar: Option<f64>,
    /// Flow into the cylinder [kg/s].
    pub inlet_flow_kg_per_s: f64,
    /// Flow out of the cylinder [kg/s].
    pub exhaust_flow_kg_per_s: f64,
}

/// One cycle at the valves.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ValveCycle {
    /// Engine speed [rpm]: that of peak power.
    pub speed_rpm: f64,
    /// Inlet opens and closes at 1 mm [deg after the top dead centre of gas exchange].
    pub inlet_open_deg: (f64, f64),
    /// Exhaust opens and closes at 1 mm [deg after the same].
    pub exhaust_open_deg: (f64, f64),
    /// From exhaust opening on, one cycle.
    pub trace: Vec<ValveTrace>,
}

/// Sizes of the pipes as they are run, stated or usual.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipeSizes {
    /// From plenum, carburettor or bell to the inlet valve [m].
    pub runner_length_m: f64,
    /// Whether its length was stated.
    pub is_runner_stated: bool,
    /// Diameter of the runner where it begins [m].
    pub runner_diameter_m: f64,
    /// From the exhaust valve to the collector [m].
    pub primary_length_m: f64,
    /// Whether its length was stated.
    pub is_primary_stated: bool,
    /// Diameter of the primary [m].
    pub primary_diameter_m: f64,
    /// Greatest lift of the inlet valve [m].
    pub inlet_lift_m: f64,
    /// Diameter of the head of an inlet valve [m].
    pub inlet_diameter_m: f64,
}

/// What cam, ports and pipes make of the filling.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipedBreathing {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario.
    pub note: String,
    /// The kind of build that says what is usual.
    pub kind: String,
    /// Whether the cam is that of a card; else the usual lobe of the kind has the valve events.
    pub has_cam_card: bool,
    /// Sizes of the pipes.
    pub sizes: PipeSizes,
    /// The first fuel, on which torque and power are estimated.
    pub fuel: String,
    /// Rpm of peak torque by the estimate [rpm].
    pub torque_speed_rpm: f64,
    /// Rpm of peak power by the estimate [rpm].
    pub power_speed_rpm: f64,
    /// Where volumetric efficiency is best.
    pub best: TopOfCurve,
    /// Where volumetric efficiency times rpm is greatest: where the engine takes most air.
    pub most_air: TopOfCurve,
    /// By rpm.
    pub curve: Vec<PipedPoint>,
    /// One cycle at the rpm of peak power.
    pub cycle: ValveCycle,
    /// By rpm, with pipes taken away; null when not asked.
    pub parts: Option<Vec<PipedParts>>,
    /// What a change of each is worth; null when not asked.
    pub worths: Option<PipeWorths>,
}

/// What cam, ports and pipes of a job make of its filling.
///
/// # Arguments
/// - `job`: its volumetric efficiency computed from pipes
///
/// # Errors
/// [`PipedError`].
///
/// # Example
/// ```
/// use endgas::estimate::{Extent, breathing_on_pipes};
/// use endgas::{fuel::FuelLibrary, scenario};
/// let text = "[engine]\ncylinders = 4\nbore_mm = 86\nstroke_mm = 86\ncompression_ratio = 10.5\n[breathing]\nkind = \"sport-four-valve\"\n[breathing.pipes]\n[fuels]\nrun = [\"premium-91\"]\n";
/// let on_pipes = scenario::read("example", text)?;
/// let mut job = on_pipes.job(&FuelLibrary::shipped()?, 50, 1)?;
/// job.speeds_rpm = vec![3000.0, 7000.0];
/// let result = breathing_on_pipes(&job, Extent::default())?;
/// assert!(result.best.volumetric_efficiency > 0.7);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn breathing_on_pipes(job: &Job, extent: Extent) -> Result<PipedBreathing, PipedError> {
    let Breathing::Computed(computed) = &job.build.breathing else { return Err(PipedError::NotOnPipes) };
    let choice = job.fuels.first().ok_or_else(|| job.empty())?;
    if job.speeds_rpm.is_empty() {
        return Err(job.empty().into());
    }
    let in_use = choice.in_use(&job.weather)?;
    let named = (choice.fuel.name.as_str(), &in_use);
    let tuned = Tuned::over_speeds(job, job.setting(), named)?;
    let torque = top_index(&tuned, |t| t.used.bmep_bar());
    let power = top_index(&tuned, |t| t.used.bmep_bar() * t.speed_rpm());
    let (torque_speed_rpm, power_speed_rpm) = (tuned[torque].speed_rpm(), tuned[power].speed_rpm());
    let on = &computed.on;
    let reference = &ReferenceJob::of(job, on.kind)?;
    let filled = |of: fn(f64, f64) -> f64| -> Vec<(f64, f64)> {
        let value = |speed_rpm: f64, ve: f64| (speed_rpm, of(speed_rpm, ve));
        computed.points.iter().map(|p| value(p.speed_rpm, p.volumetric_efficiency)).collect()
    };
    let at = |(speed_rpm, is_at_end): (f64, bool)| TopOfCurve {
        speed_rpm,
        volumetric_efficiency: reference.point(&job.build, speed_rpm).breathing().likely,
        is_at_end,
    };
    let best = at(top(&filled(|_, ve| ve)));
    let worths = match extent.worths {
        true => Some(worths(
            (job, computed),
            reference,
            named,
            (torque_speed_rpm, power_speed_rpm, best.speed_rpm),
        )?),
        false => None,
    };
    Ok(PipedBreathing {
        scenario: job.scenario.clone(),
        note: job.note.clone(),
        kind: on.kind.key().to_owned(),
        has_cam_card: on.has_card,
        sizes: sizes(on, &job.build),
        fuel: choice.fuel.name.clone(),
        torque_speed_rpm,
        power_speed_rpm,
        best,
        most_air: at(top(&filled(|rpm, ve| rpm * ve))),
        curve: curve(job, computed, reference)?,
        cycle: cycle(on, reference, power_speed_rpm)?,
        parts: if extent.parts { Some(parts(job, computed, reference)?) } else { None },
        worths,
    })
}

/// Where a curve is greatest [its x], by the parabola through the greatest value and its neighbours, and whether that is an end of it.
fn top(curve: &[(f64, f64)]) -> (f64, bool) {
    let i = top_index(curve, |point| point.1);
    if i == 0 || i + 1 == curve.len() {
        return (curve[i].0, true);
    }
    let [(x0, y0), (x, y), (x1, y1)] = [curve[i - 1], curve[i], curve[i + 1]];
    let (rise, fall) = ((y - y0) / (x - x0), (y1 - y) / (x1 - x));
    let bend = (fall - rise) / (x1 - x0);
    // The slope of the parabola is `rise` half way to the point before.
    let vertex = 0.5 * (x0 + x) - 0.5 * rise / bend;
    (if bend < 0.0 { vertex } else { x }, false)
}

fn sizes(on: &OnPipes, build: &Build) -> PipeSizes {
    let Pipework { runner_length_m, runner_diameter_m, primary_length_m, primary_diameter_m, .. } =
        on.pipework;
    PipeSizes {
        runner_length_m,
        is_runner_stated: on.has_lengths.0,
        runner_diameter_m,
        primary_length_m,
        is_primary_stated: on.has_lengths.1,
        primary_diameter_m,
        inlet_lift_m: on.cam.inlet.greatest_valve_lift_m(),
        inlet_diameter_m: build.valves.inlet_diameter_m,
    }
}

fn curve(job: &Job, computed: &Computed, reference: &ReferenceJob) -> Result<Vec<PipedPoint>, NotSettled> {
    let samples = job.draw();
    over_speeds(&[()], &job.speeds_rpm, |(), speed_rpm| {
        let BuildBreath { breath, trapped_temperature_k, .. } = reference.breath(&computed.on, speed_rpm)?;
        let point = reference.point(&job.build, speed_rpm);
        let breathing = point.breathing();
        let factors = samples.iter().map(|sample| own_ve_factor(&point, &breathing, sample));
        Ok(PipedPoint {
            speed_rpm,
            volumetric_efficiency: Band { likely: breathing.likely, ..band(factors).times(breathing.likely) },
            residual_frac: breath.trapped.burned_frac,
            pmep_bar: (breath.exhaust_stroke_pa - breath.intake_stroke_pa) / PA_PER_BAR,
            short_circuit_frac: breath.short_circuit_frac,
            closing_temperature_k: trapped_temperature_k,
        })
    })
}

fn cycle(on: &OnPipes, reference: &ReferenceJob, speed_rpm: f64) -> Result<ValveCycle, NotSettled> {
    let trace = reference.traced(on, speed_rpm)?;
    let events = on.cam.events(EventLift::Valve1Mm);
    let valve = |at: &AtValves| ValveTrace {
        crank_angle_deg: at.crank_angle_deg,
        inlet_pressure_bar: at.inlet_pressure_pa / PA_PER_BAR,
        exhaust_pressure_bar: at.exhaust_pressure_pa / PA_PER_BAR,
        cylinder_pressure_bar: at.cylinder_pressure_pa.map(|pa| pa / PA_PER_BAR),
        inlet_flow_kg_per_s: at.inlet_kg_per_s,
        exhaust_flow_kg_per_s: at.exhaust_kg_per_s,
    };
    Ok(ValveCycle {
        speed_rpm,
        inlet_open_deg: (-events.inlet_opens_deg_btdc, 180.0 + events.inlet_closes_deg_abdc),
        exhaust_open_deg: (-180.0 - events.exhaust_opens_deg_bbdc, events.exhaust_closes_deg_atdc),
        trace: trace.iter().map(valve).collect(),
    })
}

fn parts(job: &Job, computed: &Computed, reference: &ReferenceJob) -> Result<Vec<PipedParts>, NotSettled> {
    let without = |runner: bool, primary: bool| {
        let mut on = computed.on.clone();
        let pipework = &mut on.pipework;
        if runner {
            pipework.runner_length_m = pipework.port_length_m;
        }
        if primary {
            pipework.primary_length_m = pipework.port_length_m;
        }
        on
    };
    let cases = [without(false, false), without(true, false), without(false, true), without(true, true)];
    let speeds_rpm: Vec<f64> = computed.points.iter().map(|p| p.speed_rpm).collect();
    let found = over_speeds(&cases, &speeds_rpm, |on, speed| {
        reference.breath(on, speed).map(|found| found.volumetric_efficiency)
    })?;
    let of_point = |(i, point): (usize, &ComputedPoint)| {
        let volumetric_efficiency = reference.point(&job.build, point.speed_rpm).breathing().likely;
        // Each case at the level of the build.
        let ve = |case: usize| volumetric_efficiency * found[case * speeds_rpm.len() + i] / found[i];
        PipedParts {
            speed_rpm: point.speed_rpm,
            volumetric_efficiency,
            without_runner: ve(1),
            without_primary: ve(2),
            without_either: ve(3),
        }
    };
    Ok(computed.points.iter().enumerate().map(of_point).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 9 - (x - 3)^2 at 1, 2.5 and 4.5 has its top at 3; a rising line has it at its end.
    #[test]
    fn the_top_of_a_parabola_is_its_vertex() {
        let curve = [1.0, 2.5, 4.5].map(|x: f64| (x, 9.0 - (x - 3.0) * (x - 3.0)));
        let (x, is_at_end) = top(&curve);
        assert_relative_eq!(x, 3.0, epsilon = 1e-12);
        assert!(!is_at_end && top(&[(1.0, 1.0), (2.0, 2.0)]) == (2.0, true));
    }
}
