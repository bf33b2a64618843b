//! As meant: `[breathing.pipes]`, the pipes from which volumetric efficiency is computed. All of it may be left out: then it is as
//! usual of the kind of build.

use super::Scenario;
use super::breathing::{SHEET_KEYS, follows_of_pipes, mean_flow_fault, sheet_of};
use super::job::JobError;
use crate::engine::pipework::{
    ExhaustLayout, IntakeLayout, carburettor_area_m2, tail_area_m2, throttle_area_m2, usual_peak_power_rpm,
};
use crate::engine::port_flow::{BenchSheet, InletCam};
use crate::engine::{
    Breathing, BuildKind, Cam, Computed, Geometry, Injection, OnPipes, PipesLevel, Pipework, Valves,
};
use crate::estimate::Job;
use crate::estimate::computed::{ReferenceFault, ReferenceJob, until_computed};
use crate::input::{KeyWay, Section};
use crate::pipes::{NotSettled, usual_cam};
use crate::units::stated::{PIPE_DAMPING, PIPES_LEVEL, PRIMARY_LENGTH, RUNNER_LENGTH, VALVE_FLOW, VE_SPREAD};
use crate::units::{Allowed, Unit};
use std::sync::Arc;

/// Lengths and diameters of pipes that an engine can have.
const PORT_LENGTH: Allowed = Unit::Millimetre.of(40.0..=200.0);
const INTAKE_DIAMETER: Allowed = Unit::Millimetre.of(12.0..=90.0);
const PRIMARY_DIAMETER: Allowed = Unit::Millimetre.of(12.0..=90.0);
const THROTTLE_DIAMETER: Allowed = Unit::Millimetre.of(15.0..=150.0);
const COLLECTOR_CYLINDERS: std::ops::RangeInclusive<u32> = 1..=8;
/// Volumes behind the throttle and behind the primaries.
const PLENUM: Allowed = Unit::CubicCentimetre.of(100.0..=30_000.0);
const COLLECTOR: Allowed = Unit::CubicCentimetre.of(200.0..=60_000.0);
/// Rated flow of a carburettor and the depression of its rating: 1.5 in of mercury for four barrels, 3 for two (common practice, no
/// source).
const CARBURETTOR_FLOW: Allowed = Unit::CubicFootPerMinute.of(50.0..=2500.0);
const RATED_DEPRESSION: Allowed = Unit::KilopascalAcross.of(1.0..=25.0);
const USUAL_RATED_DEPRESSION_KPA: f64 = 5.08;
/// Pressure above that of the air behind the collector at the rpm of peak power.
const BACK_PRESSURE: Allowed = Unit::KilopascalAcross.of(0.5..=80.0);

/// Volumetric efficiency that pipes may come to: beyond, a size is wrong.
const FILLING: Allowed = Unit::Fraction.of(0.2..=1.5);
/// Speeds over which it is computed at least, over the usual rpm of peak power of the kind [-].
const BELOW: f64 = 0.25;
const BEYOND: f64 = 1.15;

/// What air must pass before the plenum, as stated.
#[derive(Clone, Copy, Debug)]
enum Opening {
    Throttle { diameter_m: f64 },
    Carburettor { flow_m3_per_s: f64, depression_pa: f64 },
}

impl Opening {
    fn area_m2(self) -> f64 {
        match self {
            Self::Throttle { diameter_m } => throttle_area_m2(diameter_m),
            Self::Carburettor { flow_m3_per_s, depression_pa } => {
                carburettor_area_m2(flow_m3_per_s, depression_pa)
            }
        }
    }
}

/// `[breathing.pipes]` as stated.
#[derive(Clone, Debug)]
pub(super) struct StatedPipes {
    intake: Option<IntakeLayout>,
    runner_length_m: Option<f64>,
    port_length_m: Option<f64>,
    runner_diameter_m: Option<f64>,
    port_diameter_m: Option<f64>,
    plenum_m3: Option<f64>,
    opening: Option<Opening>,
    exhaust: Option<ExhaustLayout>,
    primary_length_m: Option<f64>,
    primary_diameter_m: Option<f64>,
    collector_m3: Option<f64>,
    collector_cylinders: Option<u32>,
    back_pressure_pa: Option<f64>,
    damping: f64,
    bench: Option<BenchSheet>,
    flow_factor: f64,
    level: PipesLevel,
    line: usize,
}

/// `[breathing.pipes]`.
///
/// # Arguments
/// - `line`: of the section, from 1
pub(super) fn pipes(s: &mut Section<'_, '_>, line: usize) -> Option<StatedPipes> {
    let intakes = [
        ("plenum", IntakeLayout::Plenum),
        ("carburettor", IntakeLayout::Carburettor),
        ("throttles", IntakeLayout::Throttles),
    ];
    let exhausts = [("log-manifold", ExhaustLayout::LogManifold), ("header", ExhaustLayout::Header)];
    let has_bench = SHEET_KEYS.iter().any(|key| s.has(key));
    let way = KeyWay { words: "a bench sheet (bench_lift_mm)", keys: &SHEET_KEYS, read: &|s| sheet_of(s) };
    let bench = s.one_of(None, &[way]);
    let damping = s.number_or("damping", PIPE_DAMPING, 1.0);
    let flow_factor = s.number_or("flow_factor", VALVE_FLOW, 1.0);
    let level = level(s);
    let stated = StatedPipes {
        intake: s.optional_word("intake", &intakes),
        runner_length_m: s.optional_si("runner_length_mm", RUNNER_LENGTH),
        port_length_m: s.optional_si("port_length_mm", PORT_LENGTH),
        runner_diameter_m: s.optional_si("runner_diameter_mm", INTAKE_DIAMETER),
        port_diameter_m: s.optional_si("port_diameter_mm", INTAKE_DIAMETER),
        plenum_m3: s.optional_si("plenum_cc", PLENUM),
        opening: opening(s),
        exhaust: s.optional_word("exhaust", &exhausts),
        primary_length_m: s.optional_si("primary_length_mm", PRIMARY_LENGTH),
        primary_diameter_m: s.optional_si("primary_diameter_mm", PRIMARY_DIAMETER),
        collector_m3: s.optional_si("collector_cc", COLLECTOR),
        collector_cylinders: s.optional_count("collector_cylinders", COLLECTOR_CYLINDERS),
        back_pressure_pa: s.optional_si("back_pressure_kpa", BACK_PRESSURE),
        damping: damping?,
        bench,
        flow_factor: flow_factor?,
        level: level?,
        line,
    };
    if stated.intake == Some(IntakeLayout::Throttles) {
        s.contradiction("plenum_cc", "with a throttle for every cylinder there is no plenum", None);
    }
    (stated.bench.is_some() || !has_bench).then_some(stated)
}

/// Where VE lies against what the pipes give, as a fit to a pull writes it.
fn level(s: &mut Section<'_, '_>) -> Option<PipesLevel> {
    let level_percent = s.number_or("level_percent", PIPES_LEVEL, 0.0);
    let half_width = s.optional_si("spread_percent", VE_SPREAD);
    let (follows_rpm, follows) = s.sub("follows", false, follows_of_pipes);
    Some(PipesLevel { factor: 1.0 + level_percent? / 100.0, half_width, follows_rpm, follows })
}

fn opening(s: &mut Section<'_, '_>) -> Option<Opening> {
    const THROTTLE: &str = "throttle_diameter_mm";
    const FLOW: &str = "carburettor_flow_cfm";
    const DEPRESSION: &str = "carburettor_depression_kpa";
    let depression_pa = s.si_or(DEPRESSION, RATED_DEPRESSION, USUAL_RATED_DEPRESSION_KPA);
    s.goes_with(DEPRESSION, FLOW, "no rated flow of a carburettor is given");
    s.one_of(
        None,
        &[
            KeyWay {
                words: THROTTLE,
                keys: &[THROTTLE],
                read: &|s| {
                    s.si(THROTTLE, THROTTLE_DIAMETER).map(|diameter_m| Opening::Throttle { diameter_m })
                },
            },
            KeyWay {
                words: FLOW,
                keys: &[FLOW],
                read: &|s| {
                    let flow_m3_per_s = s.si(FLOW, CARBURETTOR_FLOW)?;
                    Some(Opening::Carburettor { flow_m3_per_s, depression_pa: depression_pa? })
                },
            },
        ],
    )
}

/// The build that [`StatedPipes`] are on.
#[derive(Clone, Copy, Debug)]
pub(super) struct PipedBuild<'a> {
    pub kind: BuildKind,
    pub injection: Injection,
    pub geometry: &'a Geometry,
    pub valves: &'a Valves,
    pub cam: Option<Cam>,
}

impl PipedBuild<'_> {
    /// The band of the kind with its usual peak of power, in place of what is not yet computed.
    pub(super) fn until_computed(&self) -> Breathing {
        until_computed((self.kind, self.injection), self.geometry, self.valves)
    }
}

/// The pipes of a scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Pipes {
    /// Cam, ports and pipes, with what is usual of the kind for what is not stated.
    pub on: OnPipes,
    /// Line of `[breathing.pipes]`, from 1.
    pub line: usize,
    /// Mean flow coefficient of the inlet valves, by the bench sheet where there is one [-].
    pub(super) mean_flow_coefficient: f64,
}

impl StatedPipes {
    /// Cam, ports and pipes; none where they do not go together, which is noted.
    pub(super) fn pipes(self, root: &mut Section<'_, '_>, of: PipedBuild<'_>) -> Option<Pipes> {
        let layouts = (self.intake, self.exhaust);
        let usual = Pipework::usual_with(layouts, (of.kind, of.injection), of.geometry, of.valves);
        let port_length_m = self.port_length_m.unwrap_or(usual.port_length_m);
        let runner_length_m =
            self.runner_length_m.map_or(usual.runner_length_m, |manifold_m| manifold_m + port_length_m);
        let collector_cylinders = self.collector_cylinders.unwrap_or(usual.collector_cylinders);
        let peak_rpm = usual_peak_power_rpm(of.kind, of.injection, of.geometry.stroke_m);
        let tail_area_m2 = self
            .back_pressure_pa
            .map(|back_pa| tail_area_m2(of.geometry, collector_cylinders, back_pa, peak_rpm));
        let pipework = Pipework {
            port_length_m,
            runner_length_m,
            runner_diameter_m: self.runner_diameter_m.unwrap_or(usual.runner_diameter_m),
            port_diameter_m: self.port_diameter_m.unwrap_or(usual.port_diameter_m),
            plenum_volume_m3: self.plenum_m3.unwrap_or(usual.plenum_volume_m3),
            throttle_area_m2: self.opening.map_or(usual.throttle_area_m2, |opening| opening.area_m2()),
            primary_length_m: self.primary_length_m.unwrap_or(usual.primary_length_m),
            primary_diameter_m: self.primary_diameter_m.unwrap_or(usual.primary_diameter_m),
            collector_volume_m3: self.collector_m3.unwrap_or(usual.collector_volume_m3),
            collector_cylinders,
            tail_area_m2: tail_area_m2.unwrap_or(usual.tail_area_m2),
            damping: self.damping,
            ..usual
        };
        let Some(cam) = of.cam.or_else(|| usual_cam(of.valves).ok()) else {
            let why = "no usual cam has these valve events; give the cam card in [valves.cam]";
            root.contradiction("breathing", why, None);
            return None;
        };
        let bench = self.bench.map(|sheet| sheet.times(self.flow_factor));
        let mean = bench.as_ref().map_or(self.flow_factor * of.valves.mean_flow_coefficient, |sheet| {
            sheet.mean_flow_coefficient(InletCam::Lobe(cam.inlet), of.valves.inlet_area_m2())
        });
        if let Some(why) = mean_flow_fault(mean) {
            root.contradiction("breathing", &why, None);
            return None;
        }
        let has_lengths = (self.runner_length_m.is_some(), self.primary_length_m.is_some());
        let has_card = of.cam.is_some();
        let level = self.level;
        let flow_factor = self.flow_factor;
        let on = OnPipes { kind: of.kind, pipework, cam, bench, flow_factor, has_card, has_lengths, level };
        Some(Pipes { on, line: self.line, mean_flow_coefficient: mean })
    }
}

/// What is wrong with pipes.
#[derive(Debug, thiserror::Error)]
pub enum PipesFault {
    /// The build cannot be put on the reference day and fuel.
    #[error(transparent)]
    Reference(#[from] ReferenceFault),
    /// The cycles do not repeat.
    #[error("{0}; check lengths and diameters")]
    NotSettled(#[from] NotSettled),
    /// The engine would breathe as none does.
    #[error(
        "these pipes give a volumetric efficiency of {filling:.2} at {speed_rpm:.0} rpm; {} is allowed: check lengths, diameters and \
         valve events",
        FILLING.ends()
    )]
    Filling {
        /// Volumetric efficiency [-].
        filling: f64,
        /// Where [rpm].
        speed_rpm: f64,
    },
}

impl Scenario {
    /// What the pipes of the scenario breathe; none where volumetric efficiency comes from elsewhere.
    ///
    /// # Arguments
    /// - `job`: the scenario's own, its breathing not yet computed
    pub(super) fn breathed(&self, job: &Job) -> Result<Option<Arc<Computed>>, JobError> {
        let (Some(pipes), None) = (&self.pipes, &self.computed) else { return Ok(self.computed.clone()) };
        let place = || format!("{}:{}: [breathing.pipes]", self.file, pipes.line);
        let failed = |fault: PipesFault| JobError::Pipes { place: place(), fault };
        let reference = ReferenceJob::of(job, pipes.on.kind).map_err(|fault| failed(fault.into()))?;
        let power_rpm = usual_peak_power_rpm(pipes.on.kind, job.build.injection, job.build.geometry.stroke_m);
        let ends = (job.speeds_rpm.iter()).fold((f64::INFINITY, 0.0_f64), |(a, b), n| (a.min(*n), b.max(*n)));
        let span = (ends.0.min(BELOW * power_rpm), ends.1.max(BEYOND * power_rpm));
        let computed = reference.computed(&pipes.on, span).map_err(|fault| failed(fault.into()))?;
        let odd = computed.points.iter().find(|p| !FILLING.range().contains(&p.volumetric_efficiency));
        if let Some(point) = odd {
            let (filling, speed_rpm) = (point.volumetric_efficiency, point.speed_rpm);
            return Err(failed(PipesFault::Filling { filling, speed_rpm }));
        }
        Ok(Some(Arc::new(computed)))
    }
}
