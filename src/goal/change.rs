//! Changes that may be made to a build for more power, each no further than its band credibly goes.

use crate::engine::{Breathing, Build, BuildKind, Figure, Layout};
use crate::estimate::uncertainty::Input;
use crate::estimate::{Job, JobChange};
use crate::units::CompressionRatio;
use crate::units::stated::ENGINE_SPEED;
use schemars::JsonSchema;
use serde::Serialize;

/// What can be changed, in the order in which combinations are built.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lever {
    /// Compression ratio.
    Ratio,
    /// Another fuel of the list.
    Fuel,
    /// How well the cylinders fill.
    Filling,
    /// Speed of best filling, and with it the highest speed.
    Speed,
    /// Loss between crank and wheel.
    Driveline,
    /// Friction of the engine.
    Friction,
}

/// Number of levers.
pub(super) const LEVERS: usize = 6;

/// Steps of compression ratio, up to [`HIGHEST_RATIO`].
const RATIO_STEPS: [f64; 5] = [-1.0, 0.5, 1.0, 2.0, 3.0];
/// Highest ratio that builders of engines without a blower run, on race fuel or alcohol
/// (common practice, no source).
const HIGHEST_RATIO: f64 = 15.0;
/// Factors on speed, and the largest; the band end of piston speed ends them earlier.
const SPEED_FACTORS: [f64; 5] = [1.05, 1.10, 1.15, 1.20, 1.30];
const LARGEST_SPEED_FACTOR: f64 = 1.5;

/// What a change does to a build.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Edit {
    Job(JobChange),
    Fuel(usize),
    /// Another kind of build, and a factor on its volumetric efficiency.
    Kind(BuildKind, f64),
    /// A factor on volumetric efficiency.
    VolumetricEfficiency(f64),
    /// A factor on the speeds of the powerband and of the run.
    Speed(f64),
    Friction(f64),
}

/// One change.
#[derive(Clone, Debug)]
pub(super) struct LeverChange {
    pub(super) lever: Lever,
    pub(super) title: String,
    edit: Edit,
    /// How far it goes towards the credible end of its lever [-], 0 to 1.
    pub(super) share: f64,
}

/// A job with changes made.
#[derive(Clone, Debug)]
pub(super) struct Changed {
    pub(super) job: Job,
    /// Index of the fuel in the job.
    pub(super) fuel: usize,
    /// Factor on volumetric efficiency [-].
    pub(super) ve_factor: f64,
    /// Factor on speed [-].
    pub(super) speed: f64,
    /// Factor on friction [-].
    pub(super) friction: f64,
}

impl Changed {
    /// The job as it is.
    pub(super) fn as_it_is(job: &Job) -> Self {
        Self { job: job.clone(), fuel: 0, ve_factor: 1.0, speed: 1.0, friction: 1.0 }
    }

    /// The same with one more change.
    pub(super) fn with(mut self, change: &LeverChange) -> Self {
        match change.edit {
            Edit::Job(change) => change.apply(&mut self.job),
            Edit::Fuel(fuel) => self.fuel = fuel,
            Edit::Kind(kind, factor) => {
                JobChange::Kind(kind).apply(&mut self.job);
                self.ve_factor = factor;
            }
            Edit::VolumetricEfficiency(factor) => self.ve_factor = factor,
            Edit::Speed(factor) => {
                JobChange::Powerband(factor).apply(&mut self.job);
                self.speed = factor;
            }
            Edit::Friction(factor) => self.friction = factor,
        }
        self
    }
}

/// Every change of a job, by lever in the order of [`Lever`].
///
/// # Arguments
/// - `peak_ve`: likely volumetric efficiency at its best over the speeds of the job [-]
/// - `high_ratio`: high end of its band over likely [-]
pub(super) fn changes(job: &Job, peak_ve: f64, high_ratio: f64) -> [Vec<LeverChange>; LEVERS] {
    [
        ratios(&job.build),
        fuels(job),
        volumetric_efficiencies(job, peak_ve, high_ratio),
        speeds(job),
        losses(&job.build),
        frictions(),
    ]
}

fn ratios(build: &Build) -> Vec<LeverChange> {
    let now = build.geometry.compression_ratio.get();
    let step = |step: &f64| {
        let ratio = CompressionRatio::new(now + step).ok().filter(|r| r.get() <= HIGHEST_RATIO + 1e-9)?;
        Some(LeverChange {
            lever: Lever::Ratio,
            title: format!("compression ratio {:.1}:1 ({step:+.1})", ratio.get()),
            edit: Edit::Job(JobChange::CompressionRatio(ratio)),
            share: step.abs() / RATIO_STEPS[RATIO_STEPS.len() - 1],
        })
    };
    RATIO_STEPS.iter().filter_map(step).collect()
}

fn fuels(job: &Job) -> Vec<LeverChange> {
    let fuel = |i: usize| LeverChange {
        lever: Lever::Fuel,
        title: format!("fuel {}", job.fuels[i].fuel.name),
        edit: Edit::Fuel(i),
        // What it costs shows in pressure and flow.
        share: 0.0,
    };
    (1..job.fuels.len()).map(fuel).collect()
}

/// Best volumetric efficiency of another kind of build with the powerband of the job, as likely and high [-]; at the usual speeds of that
/// kind where the job states none.
fn ve_of(job: &Job, kind: BuildKind) -> (f64, f64) {
    let Breathing::Band { peaks, .. } = job.build.breathing else {
        let (_, likely, high) = kind.figures(job.build.injection).best_filling();
        return (likely, high);
    };
    let (other, intake) = (Breathing::Band { kind, peaks }, job.build.intake(job.weather.temperature_k));
    let all = job.speeds_rpm.iter().map(|speed| other.at(*speed, &intake));
    all.map(|at| (at.likely, at.likely * at.high_ratio))
        .fold((0.0, 0.0), |best, at| if at.0 > best.0 { at } else { best })
}

/// The high end of its own band, then the kinds of build with more volumetric efficiency, the last at its high end.
fn volumetric_efficiencies(job: &Job, nominal: f64, high_ratio: f64) -> Vec<LeverChange> {
    let build = &job.build;
    let end = Figure::VolumetricEfficiency.credible_end();
    let change = |words: &str, edit: Edit, target: f64| LeverChange {
        lever: Lever::Filling,
        title: format!("filling {words}, VE {target:.2} ({nominal:.2})"),
        edit,
        share: (target - nominal) / (end - nominal),
    };
    let is_band = matches!(build.breathing, Breathing::Band { .. });
    let own_high = nominal * high_ratio;
    let mut found = Vec::new();
    if own_high <= end + 1e-9 {
        found.push(change("at the end of its band", Edit::VolumetricEfficiency(high_ratio), own_high));
    }
    let sport = if build.valves.has_several_inlets() {
        BuildKind::SportFourValve
    } else {
        BuildKind::PerformanceTwoValve
    };
    for kind in [sport, BuildKind::Race] {
        let (likely, high) = ve_of(job, kind);
        let mut push = |words: &str, target: f64| {
            let edit = if is_band {
                Edit::Kind(kind, target / likely)
            } else {
                Edit::VolumetricEfficiency(target / nominal)
            };
            found.push(change(words, edit, target));
        };
        if likely > own_high * 1.005 && likely <= end {
            push(&format!("of {}", kind.figures(build.injection).words), likely);
        }
        if kind == BuildKind::Race && high > own_high * 1.005 {
            push("at the end of race", high.min(end));
        }
    }
    found
}

fn speeds(job: &Job) -> Vec<LeverChange> {
    let Some(limit) = job.speeds_rpm.last().copied() else { return Vec::new() };
    let piston = job.build.geometry.mean_piston_speed_m_per_s(limit);
    let end = (Figure::MeanPistonSpeed.credible_end() / piston)
        .min(LARGEST_SPEED_FACTOR)
        .min(ENGINE_SPEED.high / limit);
    // To a whole per cent, inside the end.
    let end = (100.0 * end).floor() / 100.0;
    let mut factors: Vec<f64> = SPEED_FACTORS.into_iter().filter(|f| *f < end - 0.02).collect();
    if end > 1.02 {
        factors.push(end);
    }
    let change = |factor: f64| LeverChange {
        lever: Lever::Speed,
        title: format!(
            "fills best and revs {:.0} % higher (to {:.0} rpm)",
            100.0 * (factor - 1.0),
            limit * factor
        ),
        edit: Edit::Speed(factor),
        share: (factor - 1.0) / (end - 1.0),
    };
    factors.into_iter().map(change).collect()
}

fn losses(build: &Build) -> Vec<LeverChange> {
    let driveline = build.driveline;
    let band = driveline.loss_band();
    let change = |words: &str, loss: f64| LeverChange {
        lever: Lever::Driveline,
        title: format!("driveline {words}, loss {:.0} % ({:.0})", 100.0 * loss, 100.0 * band.likely),
        edit: Edit::Job(JobChange::DrivelineLoss(loss)),
        share: 1.0,
    };
    let mut found = vec![change("at the end of its band", band.low)];
    let manual = match driveline.layout {
        Layout::FrontAutomatic => Some(Layout::FrontManual),
        Layout::RearAutomatic => Some(Layout::RearManual),
        Layout::FrontManual | Layout::RearManual | Layout::AllWheel => None,
    };
    if let Some(loss) = manual.map(|layout| layout.loss_band().likely).filter(|loss| *loss < band.low) {
        found.push(change("with a manual gearbox", loss));
    }
    found
}

fn frictions() -> Vec<LeverChange> {
    let lower = Input::Friction.half_width();
    vec![LeverChange {
        lever: Lever::Friction,
        title: format!("friction {:.0} % lower, the end of its band", 100.0 * lower),
        edit: Edit::Friction(1.0 - lower),
        share: 1.0,
    }]
}
