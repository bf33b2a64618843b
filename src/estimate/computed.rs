//! Breathing computed from cam, ports and pipes: the gas dynamics run once at some speeds, on the reference fuel and day, and kept.

use super::breath::{BuildBreath, breathe, breathe_traced};
use super::job::Job;
use super::point::{FuelInUse, Point, PointSetting, Shifts};
use super::sweep::in_order;
use crate::air::{CorrectionStandard, ReferenceState, Weather};
use crate::engine::pipework::usual_peak_power_rpm;
use crate::engine::{
    Breathing, Build, BuildKind, Computed, ComputedPoint, ExchangeOnPipes, Geometry, Injection, OnPipes,
    PeakSpeeds, PipeInput, PipesLevel, Unmeasured, UnmeasuredPart, Valves, interpolate,
};
use crate::gas::EquilibriumError;
use crate::pipes::{Airway, AtValves, NotSettled, usual_cam};
use crate::units::{OutOfRange, PA_PER_BAR};
use std::sync::Arc;

/// Speeds at which VE is computed; every third of them for what moves it.
const SPEEDS: usize = 13;
const EVERY: usize = 3;
/// Warming with which the answer of the charge temperature is found [K].
const TRIED_K: f64 = 10.0;

/// What is run: the build as it is, or with one thing at its 90th percentile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Variant {
    AsBuilt,
    Size(PipeInput),
    Events,
}

/// A build on its pipes, with one thing moved.
struct Moved {
    build: Build,
    on: OnPipes,
}

impl Moved {
    fn new(build: &Build, on: &OnPipes, variant: Variant) -> Self {
        let mut moved = Self { build: build.clone(), on: on.clone() };
        match variant {
            Variant::AsBuilt => {}
            Variant::Size(size) => moved.put(size),
            Variant::Events => {
                if let Some(later) = build.with_unmeasured(UnmeasuredPart::ValveEvents, 1.0) {
                    moved.on.cam = usual_cam(&later.valves).unwrap_or(on.cam);
                    moved.build = later;
                }
            }
        }
        moved
    }

    fn put(&mut self, size: PipeInput) {
        let factor = self.on.high_factor(size);
        let pipework = &mut self.on.pipework;
        match size {
            PipeInput::RunnerLength => pipework.runner_length_m *= factor,
            PipeInput::PrimaryLength => pipework.primary_length_m *= factor,
            PipeInput::WaveDamping => pipework.damping *= factor,
            PipeInput::ValveFlow => {
                self.on.flow_times(&mut self.build.valves, factor);
            }
        }
    }
}

/// The band of a kind with its usual peak of power, which stands for what is not yet computed.
pub fn until_computed(
    (kind, injection): (BuildKind, Injection),
    geometry: &Geometry,
    valves: &Valves,
) -> Breathing {
    let power_rpm = usual_peak_power_rpm(kind, injection, geometry.stroke_m);
    let peaks = PeakSpeeds::Power(power_rpm);
    Breathing::Band { kind, peaks, closes_deg_abdc: valves.inlet_closes_deg_abdc }
}

/// What keeps a build from the day and fuel for which volumetric efficiency is stated.
#[derive(Debug, thiserror::Error)]
pub enum ReferenceFault {
    /// The day lies outside the model.
    #[error(transparent)]
    Day(#[from] OutOfRange),
    /// The fuel does not burn in the solver's range.
    #[error(transparent)]
    Gas(#[from] EquilibriumError),
}

/// A build on the day and the fuel for which volumetric efficiency is stated, ready to be computed on its pipes.
#[derive(Clone, Debug)]
pub struct ReferenceJob {
    job: Job,
    fuel: FuelInUse,
}

impl ReferenceJob {
    /// The build of a job, whatever its breathing.
    ///
    /// # Errors
    /// [`ReferenceFault`].
    pub fn of(job: &Job, kind: BuildKind) -> Result<Self, ReferenceFault> {
        let ReferenceState { temperature_k, pressure_pa, .. } = CorrectionStandard::SaeJ1349.reference();
        let weather = Weather::new(temperature_k, pressure_pa, 0.0)?;
        let mut job = Job { weather, ..job.clone() };
        let build = &mut job.build;
        build.breathing = until_computed((kind, build.injection), &build.geometry, &build.valves);
        let lambda = job.setting().reference.1;
        let fuel = FuelInUse::new(job.reference_fuel.clone(), lambda, &job.weather)?;
        Ok(Self { job, fuel })
    }

    /// Computes how the build breathes through pipes. Where a pull has shown how well its VE is known, the sizes are not moved: what
    /// they do is in that band.
    ///
    /// # Arguments
    /// - `on`: cam, ports and pipes
    /// - `span_rpm`: lowest and highest speed
    ///
    /// # Errors
    /// [`NotSettled`] when the cycles at a speed do not repeat.
    pub fn computed(&self, on: &OnPipes, (from_rpm, to_rpm): (f64, f64)) -> Result<Computed, NotSettled> {
        let speeds: Vec<f64> =
            (0..SPEEDS).map(|i| from_rpm + (to_rpm - from_rpm) * i as f64 / (SPEEDS - 1) as f64).collect();
        let Unmeasured { valve_events, .. } = self.job.build.unmeasured;
        let sizes: &[PipeInput] = if on.level.half_width.is_some() { &[] } else { &PipeInput::ALL };
        let moves = sizes.iter().copied().map(Variant::Size).chain(valve_events.then_some(Variant::Events));
        self.kept(on, &speeds, &moves.collect::<Vec<_>>())
    }

    /// The same at some speeds, rising, two or more, without what moves it: for a build beside another.
    ///
    /// # Errors
    /// As [`Self::computed`].
    pub(super) fn computed_as_likely(
        &self,
        on: &OnPipes,
        speeds_rpm: &[f64],
    ) -> Result<Computed, NotSettled> {
        self.kept(on, speeds_rpm, &[])
    }

    /// Runs a build at some speeds, and at every third of them with each of some moves.
    fn kept(&self, on: &OnPipes, speeds: &[f64], moves: &[Variant]) -> Result<Computed, NotSettled> {
        let (reference, fuel) = (&self.job, &self.fuel);
        let mut runs: Vec<(Variant, f64)> = speeds.iter().map(|speed| (Variant::AsBuilt, *speed)).collect();
        let coarse: Vec<f64> = speeds.iter().copied().step_by(EVERY).collect();
        runs.extend(moves.iter().flat_map(|variant| coarse.iter().map(move |speed| (*variant, *speed))));
        let run = |(variant, speed): &(Variant, f64)| {
            let Moved { build, on } = Moved::new(&reference.build, on, *variant);
            let setting = PointSetting { build: &build, ..reference.setting() };
            breathe(setting, fuel, airway(&on), *speed)
        };
        let found = in_order(&runs, run)?;
        Ok(Kept { reference, fuel, on, speeds, runs: &runs, found: &found }.computed())
    }

    /// What gas dynamics say of the build at rising speeds, two or more, as they say it: without the level of real engines of the kind,
    /// and with nothing that moves it.
    ///
    /// # Errors
    /// [`NotSettled`] when the cycles at a speed do not repeat.
    pub fn without_level(
        &self,
        on: &OnPipes,
        speeds_rpm: &[f64],
    ) -> Result<(Vec<BuildBreath>, Computed), NotSettled> {
        let breaths = in_order(speeds_rpm, |speed| self.breath(on, *speed))?;
        let computed = without_level(&self.job, &self.fuel, on, &breaths);
        Ok((breaths, computed))
    }

    /// The same build with other valves.
    pub(super) fn with_valves(&self, valves: Valves) -> Self {
        let mut other = self.clone();
        other.job.build.valves = valves;
        other
    }

    /// How the build breathes through pipes at a speed [rpm].
    ///
    /// # Errors
    /// [`NotSettled`] when the cycles do not repeat.
    pub fn breath(&self, on: &OnPipes, speed_rpm: f64) -> Result<BuildBreath, NotSettled> {
        breathe(self.job.setting(), &self.fuel, airway(on), speed_rpm)
    }

    /// The same with a record of the last cycle at the valves.
    ///
    /// # Errors
    /// As [`Self::breath`].
    pub(super) fn traced(&self, on: &OnPipes, speed_rpm: f64) -> Result<Vec<AtValves>, NotSettled> {
        breathe_traced(self.job.setting(), &self.fuel, airway(on), speed_rpm).map(|(_, trace)| trace)
    }

    /// A build in place of this one, settled at a speed [rpm] on the day and the fuel.
    pub fn point<'a>(&'a self, build: &'a Build, speed_rpm: f64) -> Point<'a> {
        let setting = PointSetting { build, ..self.job.setting() };
        Point::new(setting, &self.fuel, speed_rpm, Shifts::NONE)
    }
}

/// What a build on its pipes breathes through.
fn airway(on: &OnPipes) -> Airway<'_> {
    Airway { pipework: &on.pipework, cam: &on.cam, inlet_bench: on.bench.as_ref() }
}

/// All runs, on their way to what is kept of them.
struct Kept<'a> {
    reference: &'a Job,
    fuel: &'a FuelInUse,
    on: &'a OnPipes,
    speeds: &'a [f64],
    runs: &'a [(Variant, f64)],
    found: &'a [BuildBreath],
}

impl Kept<'_> {
    fn computed(&self) -> Computed {
        let by_size = PipeInput::ALL.map(|size| self.changes(Variant::Size(size)));
        let by_events = self.changes(Variant::Events);
        let mut computed =
            without_level(self.reference, self.fuel, self.on, &self.found[..self.speeds.len()]);
        let Build { injection, geometry, .. } = &self.reference.build;
        let kind = self.on.kind;
        let (of_kind, peaks) = (kind.computed_level(*injection), usual_peaks_rpm(kind, *injection, geometry));
        for point in &mut computed.points {
            let (level, half_width) = of_kind.at(point.speed_rpm, peaks);
            point.volumetric_efficiency *= level;
            point.half_width = half_width;
            let at = |(speeds, changes): &(Vec<f64>, Vec<f64>)| interpolate(speeds, changes, point.speed_rpm);
            point.changes = by_size.each_ref().map(at);
            point.by_events = at(&by_events);
        }
        computed
    }

    /// Speeds at which a variant was run, and the change of the logarithm of VE that it makes there; none where it was not.
    fn changes(&self, wanted: Variant) -> (Vec<f64>, Vec<f64>) {
        let of = |variant: Variant, speed: f64| {
            let found = self.runs.iter().zip(self.found).find(|((v, s), _)| *v == variant && *s == speed);
            found.map(|(_, breath)| breath.volumetric_efficiency.ln())
        };
        let speeds = self.speeds.iter();
        speeds.filter_map(|n| Some((*n, of(wanted, *n)? - of(Variant::AsBuilt, *n)?))).unzip()
    }
}

/// Rpm at which a kind of build usually has its peaks of torque and power.
fn usual_peaks_rpm(kind: BuildKind, injection: Injection, geometry: &Geometry) -> (f64, f64) {
    let power_rpm = usual_peak_power_rpm(kind, injection, geometry.stroke_m);
    let per_rpm = geometry.mean_piston_speed_m_per_s(1.0);
    PeakSpeeds::Power(power_rpm).resolved(kind.figures(injection), per_rpm, 0.0)
}

/// What gas dynamics say of a build, as they say it: without the level of real engines of the kind, and with nothing that moves it.
///
/// # Arguments
/// - `breaths`: at rising speeds, two or more
fn without_level(reference: &Job, fuel: &FuelInUse, on: &OnPipes, breaths: &[BuildBreath]) -> Computed {
    let points = breaths.iter().map(|breath| ComputedPoint {
        speed_rpm: breath.speed_rpm,
        volumetric_efficiency: breath.volumetric_efficiency,
        half_width: 0.0,
        changes: [0.0; PipeInput::ALL.len()],
        by_events: 0.0,
        exchange: ExchangeOnPipes::NONE,
    });
    // What the pipes add to the closed formulas is that of the VE that they have, wherever a pull puts its level.
    let plain = OnPipes { level: PipesLevel::AS_COMPUTED, ..on.clone() };
    let mut computed = Computed { on: plain, points: points.collect(), events_deviate: 0.0 };
    let breathing = Breathing::Computed(Arc::new(computed.clone()));
    let build = Build { breathing, ..reference.build.clone() };
    let setting = PointSetting { build: &build, ..reference.setting() };
    let peaks = usual_peaks_rpm(on.kind, build.injection, &build.geometry);
    let of_kind = on.kind.computed_level(build.injection);
    for (point, breath) in computed.points.iter_mut().zip(breaths) {
        let warmer_k = of_kind.warmer_k_at(breath.speed_rpm, peaks);
        point.exchange = exchange(setting, fuel, breath, warmer_k);
    }
    computed.on = on.clone();
    computed
}

/// What the pipes add to the closed formulas at a speed: residual gas first, then the mean pressures, and the temperature of the
/// fresh charge with which both close the inlet valve on a charge as warm, less what all of the kind are warmer by.
fn exchange(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    breath: &BuildBreath,
    warmer_k: f64,
) -> ExchangeOnPipes {
    let said = &breath.breath;
    let residual_kg = said.trapped.mass_kg * said.trapped.burned_frac;
    let plain = Point::new(setting, fuel, breath.speed_rpm, Shifts::NONE);
    let formula_kg = plain.trapped.mass_kg * plain.trapped.residual_frac;
    let run = plain.at_spark(plain.near_mbt_spark());
    let formula_exhaust_pa = plain.exchange.intake_pressure_pa + run.pmep_bar * PA_PER_BAR;
    let mut added = ExchangeOnPipes {
        residual_ratio: residual_kg / formula_kg,
        exhaust_added_pa: said.exhaust_stroke_pa - formula_exhaust_pa,
        intake_added_pa: said.intake_stroke_pa - plain.exchange.intake_pressure_pa,
        fresh_added_k: 0.0,
    };
    let closing_k = |fresh_added_k: f64| {
        let with = with_exchange(setting.build, ExchangeOnPipes { fresh_added_k, ..added });
        let setting = PointSetting { build: &with, ..setting };
        Point::new(setting, fuel, breath.speed_rpm, Shifts::NONE).trapped.temperature_k
    };
    let (cool_k, warm_k) = (closing_k(0.0), closing_k(TRIED_K));
    let wanted_k = breath.closing_temperature_k(&plain) - warmer_k;
    added.fresh_added_k = TRIED_K * (wanted_k - cool_k) / (warm_k - cool_k);
    added
}

/// The build with one exchange at every speed.
fn with_exchange(build: &Build, exchange: ExchangeOnPipes) -> Build {
    let mut with = build.clone();
    if let Breathing::Computed(computed) = &mut with.breathing {
        Arc::make_mut(computed).points.iter_mut().for_each(|point| point.exchange = exchange);
    }
    with
}
