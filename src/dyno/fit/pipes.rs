//! A build on pipes: the sizes that a pull moves, in place of a free table.
//!
//! VE answers to lengths, valve flow and wave damping along straight lines only near the sizes it was computed for. So the pipes are
//! computed anew where the fit has put them, and fitted again from there.

use super::model::MOST_DEVIATE;
use super::result::FitFault;
use crate::engine::{Breathing, Build, Computed, OnPipes, PipeInput, PipesLevel};
use crate::estimate::Job;
use crate::estimate::computed::ReferenceJob;
use crate::units::stated::{PIPE_DAMPING, PRIMARY_LENGTH, RUNNER_LENGTH, VALVE_FLOW};
use crate::units::{Allowed, Unit};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// How far the shape of VE on pipes may go by itself, over a free one [-]: what one-dimensional flow in pipes leaves (common practice,
/// no source).
const FREEDOM: f64 = 0.25;

/// Where the pipes of a modelled build stand against those of the scenario.
#[derive(Clone, Debug)]
pub(super) struct About {
    /// Deviates of its sizes, by [`PipeInput::ALL`].
    pub(super) deviates: [f64; PipeInput::ALL.len()],
    /// Logarithm of VE over that of the scenario at each modelled speed; empty where it is that of the scenario.
    ln_filling: Vec<f64>,
    /// How far the shape of VE may go by itself, over a free one [-].
    pub(super) freedom: f64,
}

impl About {
    /// Not on pipes, or fitted as if it were not.
    pub(super) const FREE: Self =
        Self { deviates: [0.0; PipeInput::ALL.len()], ln_filling: Vec::new(), freedom: 1.0 };
    /// On the pipes of the scenario.
    pub(super) const STATED: Self =
        Self { deviates: [0.0; PipeInput::ALL.len()], ln_filling: Vec::new(), freedom: FREEDOM };

    /// Logarithm of VE over that of the scenario at a modelled speed.
    pub(super) fn ln_filling(&self, index: usize) -> f64 {
        self.ln_filling.get(index).copied().unwrap_or(0.0)
    }
}

/// Sizes of pipes and valves that a fit moves, as keys of `[breathing.pipes]`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PipeSizes {
    /// Effective length of the runner to the face of the head, what its open end adds beyond the usual included [mm].
    pub runner_length_mm: f64,
    /// Effective length of the primary from the valve, what its end adds beyond the usual included [mm].
    pub primary_length_mm: f64,
    /// Flow through the valves over that of the bench sheet, or as usual [-].
    pub flow_factor: f64,
    /// Friction along the pipes over the usual [-].
    pub damping: f64,
}

/// A number as it is written.
fn kept(allowed: Allowed, value: f64, decimals: i32) -> f64 {
    super::rounded(allowed.clamp(value), decimals)
}

impl PipeSizes {
    /// Those of a build.
    pub fn of(on: &OnPipes) -> Self {
        let pipework = &on.pipework;
        Self {
            runner_length_mm: Unit::Millimetre.written(pipework.runner_length_m - pipework.port_length_m),
            primary_length_mm: Unit::Millimetre.written(pipework.primary_length_m),
            flow_factor: on.flow_factor,
            damping: pipework.damping,
        }
    }

    /// One of them.
    pub fn get(&self, size: PipeInput) -> f64 {
        match size {
            PipeInput::RunnerLength => self.runner_length_mm,
            PipeInput::PrimaryLength => self.primary_length_mm,
            PipeInput::ValveFlow => self.flow_factor,
            PipeInput::WaveDamping => self.damping,
        }
    }

    /// Those of a build with each at a deviate, as they are written.
    pub(super) fn at(on: &OnPipes, deviates: [f64; PipeInput::ALL.len()]) -> Self {
        let of = |size| Self::size_at(on, size, deviates[size as usize]);
        Self {
            runner_length_mm: kept(RUNNER_LENGTH, of(PipeInput::RunnerLength), 1),
            primary_length_mm: kept(PRIMARY_LENGTH, of(PipeInput::PrimaryLength), 1),
            flow_factor: kept(VALVE_FLOW, of(PipeInput::ValveFlow), 3),
            damping: kept(PIPE_DAMPING, of(PipeInput::WaveDamping), 3),
        }
    }

    /// One of them at a deviate, as far as it may go.
    pub(super) fn size_at(on: &OnPipes, size: PipeInput, deviate: f64) -> f64 {
        let deviate = deviate.clamp(-MOST_DEVIATE, MOST_DEVIATE);
        let factor = on.high_factor(size).powf(deviate);
        // The port belongs to the length that rings, and not to the key.
        let port_mm = match size {
            PipeInput::RunnerLength => Unit::Millimetre.written(on.pipework.port_length_m),
            PipeInput::PrimaryLength | PipeInput::ValveFlow | PipeInput::WaveDamping => 0.0,
        };
        (Self::of(on).get(size) + port_mm) * factor - port_mm
    }

    /// A build and its pipes with these sizes.
    pub(super) fn put(&self, build: &Build, on: &OnPipes) -> (Build, OnPipes) {
        let (mut build, mut on) = (build.clone(), on.clone());
        let flow = self.flow_factor / on.flow_factor;
        on.flow_times(&mut build.valves, flow);
        on.flow_factor = self.flow_factor;
        let pipework = &mut on.pipework;
        pipework.runner_length_m = Unit::Millimetre.to_si(self.runner_length_mm) + pipework.port_length_m;
        pipework.primary_length_m = Unit::Millimetre.to_si(self.primary_length_mm);
        pipework.damping = self.damping;
        (build, on)
    }
}

/// The pipes of a job, where it is on pipes.
pub(super) fn stated(job: &Job) -> Option<&Arc<Computed>> {
    match &job.build.breathing {
        Breathing::Computed(computed) => Some(computed),
        Breathing::Table { .. } | Breathing::Band { .. } | Breathing::PortFlow(_) => None,
    }
}

/// A build on pipes of other sizes, computed over the speeds of before.
///
/// # Arguments
/// - `build`: with all but its breathing as it is to be
/// - `computed`: how it breathes before
pub(super) fn on_sizes(
    job: &Job,
    build: &Build,
    computed: &Computed,
    (sizes, level): (&PipeSizes, PipesLevel),
) -> Result<(Build, Arc<Computed>), FitFault> {
    let (mut build, mut on) = sizes.put(build, &computed.on);
    on.level = level;
    let job = Job { build: build.clone(), ..job.clone() };
    let found = Arc::new(ReferenceJob::of(&job, on.kind)?.computed(&on, computed.span_rpm())?);
    build.breathing = Breathing::Computed(Arc::clone(&found));
    Ok((build, found))
}

/// A job with the sizes of its pipes at deviates, and where they stand then.
pub(super) fn moved(
    job: &Job,
    computed: &Computed,
    deviates: [f64; PipeInput::ALL.len()],
) -> Result<(Job, About), FitFault> {
    let sizes = PipeSizes::at(&computed.on, deviates);
    // VE answers to a further move as it did before: that is not computed anew.
    let held = PipesLevel { half_width: Some(0.0), ..computed.on.level.clone() };
    let (mut build, mut found) = on_sizes(job, &job.build, computed, (&sizes, held))?;
    let now = Arc::make_mut(&mut found);
    now.on.level = computed.on.level.clone();
    for (point, before) in now.points.iter_mut().zip(&computed.points) {
        point.changes = before.changes;
    }
    build.breathing = Breathing::Computed(found);
    let intake = build.intake(job.weather.temperature_k);
    let ve = |of: &Build, speed: f64| of.breathing.at(speed, &intake).likely;
    let ln_filling = job.speeds_rpm.iter().map(|n| (ve(&build, *n) / ve(&job.build, *n)).ln()).collect();
    Ok((Job { build, ..job.clone() }, About { deviates, ln_filling, freedom: FREEDOM }))
}

/// Deviates of the sizes as far as they may go.
pub(super) fn within(deviates: [f64; PipeInput::ALL.len()]) -> [f64; PipeInput::ALL.len()] {
    deviates.map(|deviate| deviate.clamp(-MOST_DEVIATE, MOST_DEVIATE))
}
