//! Changes that may be made to a build for more power, each no further than its band credibly goes.

use crate::engine::{Breathing, Build, BuildKind, Figure, Injection, Layout};
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
    /// Rpm of best VE, and with it the highest rpm.
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
/// Factors on rpm, and the largest; the band end of piston speed ends them earlier.
const SPEED_FACTORS: [f64; 5] = [1.05, 1.10, 1.15, 1.20, 1.30];
const LARGEST_SPEED_FACTOR: f64 = 1.5;

/// A change of a build, as a person is told of it; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum BuildChange {
    /// Another compression ratio.
    Ratio {
        /// The ratio then [-].
        ratio: f64,
        /// Against now [-].
        step: f64,
    },
    /// Another fuel.
    Fuel {
        /// Its name.
        name: String,
    },
    /// Better VE.
    Filling {
        /// How far it goes.
        to: FillingEnd,
        /// Best volumetric efficiency over rpm then [-].
        target: f64,
        /// The same now [-].
        now: f64,
    },
    /// A powerband at higher rpm.
    Speed {
        /// How much higher [-].
        by_frac: f64,
        /// Highest rpm then [rpm].
        to_rpm: f64,
    },
    /// Less driveline loss.
    Driveline {
        /// How far it goes.
        to: DrivelineEnd,
        /// Loss at peak power then [-].
        loss: f64,
        /// The same now [-].
        now: f64,
    },
    /// Less friction, the end of its band.
    Friction {
        /// How much lower [-].
        by_frac: f64,
    },
}

/// How far better VE goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillingEnd {
    /// To the end of its own band.
    OwnBand,
    /// To that of another kind of build.
    Kind(BuildKind, Injection),
    /// To the end of race engines.
    Race,
}

/// How far less driveline loss goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrivelineEnd {
    /// To the end of its own band.
    OwnBand,
    /// To that of a manual gearbox.
    Manual,
}

/// What a change does to a build.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Edit {
    Job(JobChange),
    Fuel(usize),
    /// Another kind of build, and a factor on its volumetric efficiency.
    Kind(BuildKind, f64),
    /// A factor on volumetric efficiency.
    VolumetricEfficiency(f64),
    /// A factor on the rpm of the powerband and of the run.
    Speed(f64),
    Friction(f64),
}

/// One change.
#[derive(Clone, Debug)]
pub(super) struct TriedChange {
    pub(super) lever: Lever,
    pub(super) what: BuildChange,
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
    /// Factor on rpm [-].
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
    pub(super) fn with(mut self, change: &TriedChange) -> Self {
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
/// - `peak_ve`: likely volumetric efficiency at its best over the rpm of the job [-]
/// - `high_ratio`: high end of its band over likely [-]
pub(super) fn changes(job: &Job, peak_ve: f64, high_ratio: f64) -> [Vec<TriedChange>; LEVERS] {
    [
        ratios(&job.build),
        fuels(job),
        volumetric_efficiencies(job, peak_ve, high_ratio),
        speeds(job),
        losses(&job.build),
        frictions(),
    ]
}

fn ratios(build: &Build) -> Vec<TriedChange> {
    let now = build.geometry.compression_ratio.get();
    let step = |step: &f64| {
        let ratio = CompressionRatio::new(now + step).ok().filter(|r| r.get() <= HIGHEST_RATIO + 1e-9)?;
        Some(TriedChange {
            lever: Lever::Ratio,
            what: BuildChange::Ratio { ratio: ratio.get(), step: *step },
            edit: Edit::Job(JobChange::CompressionRatio(ratio)),
            share: step.abs() / RATIO_STEPS[RATIO_STEPS.len() - 1],
        })
    };
    RATIO_STEPS.iter().filter_map(step).collect()
}

fn fuels(job: &Job) -> Vec<TriedChange> {
    let fuel = |i: usize| TriedChange {
        lever: Lever::Fuel,
        what: BuildChange::Fuel { name: job.fuels[i].fuel.name.clone() },
        edit: Edit::Fuel(i),
        // What it costs shows in pressure and flow.
        share: 0.0,
    };
    (1..job.fuels.len()).map(fuel).collect()
}

/// Best volumetric efficiency of another kind of build with the powerband of the job, as likely and high [-]; at the usual rpm of that
/// kind where the job states none.
fn ve_of(job: &Job, kind: BuildKind) -> (f64, f64) {
    let Breathing::Band { peaks, closes_deg_abdc, .. } = job.build.breathing else {
        let (_, likely, high) = kind.figures(job.build.injection).best_filling();
        return (likely, high);
    };
    let other = Breathing::Band { kind, peaks, closes_deg_abdc };
    let intake = job.build.intake(job.weather.temperature_k);
    let all = job.speeds_rpm.iter().map(|speed| other.at(*speed, &intake));
    all.map(|at| (at.likely, at.likely * at.high_ratio))
        .fold((0.0, 0.0), |best, at| if at.0 > best.0 { at } else { best })
}

/// The high end of its own band, then the kinds of build with more volumetric efficiency, the last at its high end.
fn volumetric_efficiencies(job: &Job, nominal: f64, high_ratio: f64) -> Vec<TriedChange> {
    let build = &job.build;
    let end = Figure::VolumetricEfficiency.credible_end();
    let change = |to: FillingEnd, edit: Edit, target: f64| TriedChange {
        lever: Lever::Filling,
        what: BuildChange::Filling { to, target, now: nominal },
        edit,
        share: (target - nominal) / (end - nominal),
    };
    let is_band = matches!(build.breathing, Breathing::Band { .. });
    let own_high = nominal * high_ratio;
    let mut found = Vec::new();
    if own_high <= end + 1e-9 {
        found.push(change(FillingEnd::OwnBand, Edit::VolumetricEfficiency(high_ratio), own_high));
    }
    let sport = if build.valves.has_several_inlets() {
        BuildKind::SportFourValve
    } else {
        BuildKind::PerformanceTwoValve
    };
    for kind in [sport, BuildKind::Race] {
        let (likely, high) = ve_of(job, kind);
        let mut push = |to: FillingEnd, target: f64| {
            let edit = if is_band {
                Edit::Kind(kind, target / likely)
            } else {
                Edit::VolumetricEfficiency(target / nominal)
            };
            found.push(change(to, edit, target));
        };
        if likely > own_high * 1.005 && likely <= end {
            push(FillingEnd::Kind(kind, build.injection), likely);
        }
        if kind == BuildKind::Race && high > own_high * 1.005 {
            push(FillingEnd::Race, high.min(end));
        }
    }
    found
}

fn speeds(job: &Job) -> Vec<TriedChange> {
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
    let change = |factor: f64| TriedChange {
        lever: Lever::Speed,
        what: BuildChange::Speed { by_frac: factor - 1.0, to_rpm: limit * factor },
        edit: Edit::Speed(factor),
        share: (factor - 1.0) / (end - 1.0),
    };
    factors.into_iter().map(change).collect()
}

fn losses(build: &Build) -> Vec<TriedChange> {
    let driveline = build.driveline;
    let band = driveline.loss_band();
    let change = |to: DrivelineEnd, loss: f64| TriedChange {
        lever: Lever::Driveline,
        what: BuildChange::Driveline { to, loss, now: band.likely },
        edit: Edit::Job(JobChange::DrivelineLoss(loss)),
        share: 1.0,
    };
    let mut found = vec![change(DrivelineEnd::OwnBand, band.low)];
    let manual = match driveline.layout {
        Layout::FrontAutomatic => Some(Layout::FrontManual),
        Layout::RearAutomatic => Some(Layout::RearManual),
        Layout::FrontManual | Layout::RearManual | Layout::AllWheel | Layout::Unstated => None,
    };
    if let Some(loss) = manual.map(|layout| layout.loss_band().likely).filter(|loss| *loss < band.low) {
        found.push(change(DrivelineEnd::Manual, loss));
    }
    found
}

fn frictions() -> Vec<TriedChange> {
    let lower = Input::Friction.half_width();
    vec![TriedChange {
        lever: Lever::Friction,
        what: BuildChange::Friction { by_frac: lower },
        edit: Edit::Friction(1.0 - lower),
        share: 1.0,
    }]
}
