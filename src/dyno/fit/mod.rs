//! Fitting a build to a pull: VE over speed, driveline loss and burn speed, each held to what was known before.
//!
//! Torque of the build answers to its parameters through the same response that the estimate samples. Least squares
//! weigh the measured torque by how well the pulls repeat, and every parameter by the 10-90 band that the estimate
//! states (Gauss-Newton; the covariance is that of the linear model at the end). What the pull says nothing of stays
//! as it was known.

mod model;
mod noise;
mod parameters;
mod pipes;
mod posterior;
mod result;
mod summary;
mod thin;
mod written;

pub use noise::Noise;
pub use pipes::PipeSizes;
pub use result::{
    Fit, FitError, FitFault, FitNote, FittedParameter, FittedPoint, Followed, FuelForecast, Parameter,
    TiedPair, Written, WrittenPipes,
};
pub(crate) use written::rounded;

use super::error::JudgeError;
use super::evidence::Evidence;
use super::log::{Log, Place};
use super::yardstick::{JudgeSettings, Yardstick};
use crate::engine::{Breathing, Build, Computed, Driveline};
use crate::estimate::analysis::PreparedFuel;
use crate::estimate::tuned::{Tuned, torque_at_peak_power_nm};
use crate::estimate::uncertainty::Input;
use crate::estimate::{Band, EstimateError, FuelEstimate, Job, estimate};
use crate::units::Lambda;
use model::{MeasuredTorque, Model};
use pipes::About;
use posterior::{Posterior, filling_slopes};
use std::sync::Arc;
use summary::{Summary, band};
use written::{sizes_held, written};

/// Times that pipes are computed anew where the fit has put them, and the change of a deviate below which they are not.
const ROUNDS: usize = 2;
const STILL: f64 = 0.1;
/// Passes that bring VE as written from the linear to the true model.
const PASSES: usize = 2;
/// Error of torque after the fit from which it does not make the pull: times the noise of a speed [-], and at least
/// so much [%] (common practice, no source).
const FAR_OFF: f64 = 3.0;
const FAR_OFF_FRAC: f64 = 0.01;
/// Change of torque per change of VE, both relative: friction does not grow with VE [-].
const TORQUE_PER_FILLING: f64 = 1.15;

/// Fits the build of a job to a log made on its first fuel, and predicts all fuels of the job.
///
/// # Arguments
/// - `job`: the scenario on the day of the pulls
/// - `log`: the pulls
/// - `settings`: as for judging
///
/// # Errors
/// [`FitFault`] when the scenario is fitted already, the model cannot be run, no build makes the pull, or log and scenario share too few speeds.
pub fn fit(job: &Job, log: &Log, settings: &JudgeSettings) -> Result<Fit, FitFault> {
    fit_as(job, log, settings, true)
}

/// The same with VE as a table whatever it came from: a build on pipes leaves them.
///
/// # Errors
/// As [`fit`].
pub fn fit_table(job: &Job, log: &Log, settings: &JudgeSettings) -> Result<Fit, FitFault> {
    fit_as(job, log, settings, false)
}

fn fit_as(job: &Job, log: &Log, settings: &JudgeSettings, keeps_pipes: bool) -> Result<Fit, FitFault> {
    refuse_fitted(&job.build.breathing)?;
    let mut job = job.clone();
    let planned = job.fuels.first().ok_or(JudgeError::NoFuel)?;
    let planned_lambda = planned.lambda_run();
    let logged = log.mean(|p| p.lambda).and_then(|lambda| Lambda::new(lambda).ok());
    if let (Some(first), Some(logged)) = (job.fuels.first_mut(), logged) {
        first.lambda = Some(logged);
    }
    let lambda = logged.map_or(planned_lambda, |l| l.get());
    let yardstick = Yardstick::new(&job, settings)?;
    let evidence = Evidence::new(&yardstick, log)?;
    let mut fit = Fitter { job: &job, evidence: &evidence, keeps_pipes }.fit(lambda)?;
    if (lambda - planned_lambda).abs() > Input::Mixture.half_width() {
        fit.notes.push(FitNote::OtherMixture { logged: lambda, planned: planned_lambda });
    }
    Ok(fit)
}

/// A build that was fitted is not fitted again.
fn refuse_fitted(breathing: &Breathing) -> Result<(), FitFault> {
    let (follows, on_pipes) = match breathing {
        Breathing::Table { follows, .. } => (follows, false),
        Breathing::Computed(computed) => (&computed.on.level.follows, true),
        Breathing::Band { .. } | Breathing::PortFlow(_) => return Ok(()),
    };
    if follows.is_empty() { Ok(()) } else { Err(FitFault::Fitted { on_pipes }) }
}

struct Fitter<'a> {
    job: &'a Job,
    evidence: &'a Evidence<'a>,
    /// Whether a build on pipes stays on them.
    keeps_pipes: bool,
}

impl Fitter<'_> {
    fn fit(&self, lambda: f64) -> Result<Fit, FitFault> {
        let job = self.evidence.yardstick.job();
        let fuel = PreparedFuel::new(job, &job.fuels[0].fuel, Some(lambda))?;
        let place = self.evidence.log.place;
        let readings = self.readings();
        let noise = Noise::of(self.evidence);
        let pipes = pipes::stated(job).filter(|_| self.keeps_pipes).map(Arc::as_ref);
        let (moved, about) = self.about(pipes, &fuel, (&readings, &noise))?;
        let model = Model::new(&moved, &fuel, place, &about)?;
        let posterior = Posterior::new(&model, &readings, &noise)?;
        let summary = Summary { model: &model, readings: &readings, posterior: &posterior, pipes };
        let mut written = written(&summary, &job.build, place)?;
        written.thin_follows();
        let before_nm = self.torque_nm(&job.build, &fuel)?;
        let wanted_nm = model.torque_nm(&posterior.mean)?;
        match pipes {
            Some(computed) => self.settle_pipes(&mut written, &summary, computed, (&wanted_nm, &fuel))?,
            None => self.settle(&mut written, &wanted_nm, &fuel)?,
        }
        written.thin();
        let after_nm = self.torque_nm(&written.build(&job.build), &fuel)?;
        let build = written.build(&self.job.build);
        let parameters = summary.parameters();
        let after = error(&model, &readings, &after_nm);
        let far: Vec<Parameter> = parameters.iter().filter(|p| p.is_far()).map(|p| p.what).collect();
        let mut notes = missed(posterior.settled, &after, &noise, pipes.is_some());
        notes.extend(self.notes(&written));
        if !far.is_empty() {
            notes.push(FitNote::FarBeyond(far));
        }
        Ok(Fit {
            parameters,
            alike: summary.alike(),
            noise,
            lambda,
            before: error(&model, &readings, &before_nm),
            after,
            curve: self.curve(&summary, &written, &before_nm, &after_nm),
            fuels: forecasts(self.job, build)?,
            notes,
            written,
        })
    }

    /// The job with its pipes where the pull puts them, and where that is; without pipes as it is.
    fn about(
        &self,
        pipes: Option<&Computed>,
        fuel: &PreparedFuel,
        (readings, noise): (&[MeasuredTorque], &Noise),
    ) -> Result<(Job, About), FitFault> {
        let (job, place) = (self.evidence.yardstick.job(), self.evidence.log.place);
        let Some(computed) = pipes else { return Ok((job.clone(), About::FREE)) };
        let mut found = (job.clone(), About::STATED);
        for _ in 0..ROUNDS {
            let model = Model::new(&found.0, fuel, place, &found.1)?;
            let deviates = sizes_held(&Posterior::new(&model, readings, noise)?, place)?;
            let is_near = |(now, before): (&f64, &f64)| (now - before).abs() < STILL;
            if deviates.iter().zip(&found.1.deviates).all(is_near) {
                break;
            }
            found = pipes::moved(job, computed, deviates)?;
        }
        Ok(found)
    }

    fn readings(&self) -> Vec<MeasuredTorque> {
        let speeds = &self.evidence.yardstick.job().speeds_rpm;
        let index = |speed: f64| speeds.iter().position(|s| *s == speed);
        self.evidence
            .points
            .iter()
            .filter_map(|p| Some(MeasuredTorque { index: index(p.speed_rpm)?, torque_nm: p.torque_nm }))
            .collect()
    }

    /// Torque of a build at the place of the log, at the speeds of the yardstick and the timing planned there [N m].
    fn torque_nm(&self, build: &Build, fuel: &PreparedFuel) -> Result<Vec<f64>, EstimateError> {
        let mut job = self.evidence.yardstick.job().clone();
        job.build = build.clone();
        let named = (fuel.pump.name.as_str(), fuel.likely());
        let points = Tuned::over_speeds(&job, job.setting(), named)?;
        let crank = points.iter().map(Tuned::crank_torque_nm);
        Ok(match self.evidence.log.place {
            Place::Crank => crank.collect(),
            Place::Wheel => {
                let at_peak = torque_at_peak_power_nm(&points);
                let loss = build.driveline.loss_band().likely;
                crank.map(|torque| Driveline::wheel_torque_nm(torque, loss, at_peak)).collect()
            }
        })
    }

    /// Moves VE as written until the true model makes the torque of the fit.
    fn settle(&self, written: &mut Written, wanted_nm: &[f64], fuel: &PreparedFuel) -> Result<(), FitFault> {
        let mut filling = written.volumetric_efficiency.clone();
        written.set_filling(filling.clone())?;
        for _ in 0..PASSES {
            let torque = self.torque_nm(&written.build(&self.job.build), fuel)?;
            for ((value, wanted), found) in filling.iter_mut().zip(wanted_nm).zip(&torque) {
                *value *= (wanted / found).max(0.5).powf(1.0 / TORQUE_PER_FILLING);
            }
            written.set_filling(filling.clone())?;
        }
        Ok(())
    }

    /// Puts the sizes of the fit into the pipes, and moves the level of their VE until the true model makes the torque of the fit in
    /// the mean. What its curve is off then widens the band.
    fn settle_pipes(
        &self,
        written: &mut Written,
        summary: &Summary<'_>,
        computed: &Computed,
        (wanted_nm, fuel): (&[f64], &PreparedFuel),
    ) -> Result<(), FitFault> {
        let job = self.evidence.yardstick.job();
        let sizes = PipeSizes::at(&computed.on, sizes_held(summary.posterior, self.evidence.log.place)?);
        let mut build = job.build.clone();
        build.combustion.burn_speed = written.burn_speed;
        let mut factor = computed.on.level.factor;
        let level = written.pipes_level(factor);
        let (_, found) = pipes::on_sizes(job, &build, computed, (&sizes, level))?;
        let before = PipeSizes::of(&computed.on);
        // The pipes have their flow in a key of their own.
        written.mean_flow_coefficient = None;
        written.pipes = Some(WrittenPipes { sizes, level_percent: 0.0, before, computed: found });
        written.set_level(factor)?;
        let mut left = 0.0;
        for _ in 0..=PASSES {
            let torque = self.torque_nm(&written.build(&job.build), fuel)?;
            let off: Vec<f64> = summary
                .readings
                .iter()
                .map(|r| (wanted_nm[r.index] / torque[r.index]).max(0.5).ln())
                .collect();
            let mean = off.iter().sum::<f64>() / off.len() as f64;
            let square: f64 = off.iter().map(|x| (x - mean).powi(2)).sum();
            left = (square / off.len() as f64).sqrt() / TORQUE_PER_FILLING;
            factor *= (mean / TORQUE_PER_FILLING).exp();
            written.set_level(factor)?;
        }
        written.widen(left);
        written.set_level(factor)?;
        let intake = job.build.intake(job.weather.temperature_k);
        let breathing = written.build(&job.build).breathing;
        written.volumetric_efficiency =
            written.speed_rpm.iter().map(|n| rounded(breathing.at(*n, &intake).likely, 4)).collect();
        Ok(())
    }

    fn curve(
        &self,
        summary: &Summary<'_>,
        written: &Written,
        before_nm: &[f64],
        after_nm: &[f64],
    ) -> Vec<FittedPoint> {
        let Summary { model, readings, posterior, .. } = summary;
        let slopes = filling_slopes(model, &posterior.mean);
        let at = |(index, speed): (usize, &f64)| {
            let ln = model.ln_filling(&posterior.mean, index);
            let stated = model.stated_filling(index);
            let spread = posterior.spread(&slopes.row(index).transpose());
            FittedPoint {
                speed_rpm: *speed,
                measured_torque_nm: readings.iter().find(|r| r.index == index).map(|r| r.torque_nm),
                before_torque_nm: before_nm[index],
                after_torque_nm: after_nm[index],
                before_volumetric_efficiency: stated,
                fitted_volumetric_efficiency: band((ln, spread), |ln| stated * ln.exp()),
                written_volumetric_efficiency: written.filling_at(*speed),
            }
        };
        model.speeds_rpm().iter().enumerate().map(at).collect()
    }

    fn notes(&self, written: &Written) -> Vec<FitNote> {
        let spread_percent = written.spread_percent;
        let held = match written.pipes {
            Some(_) => FitNote::HeldOnPipes { spread_percent },
            None => FitNote::Held { spread_percent },
        };
        let mut notes = vec![held, FitNote::OneDyno, FitNote::TunedTiming];
        if self.evidence.log.place == Place::Crank {
            notes.push(FitNote::AtTheCrank);
        }
        if !self.evidence.weather_is_known() {
            notes.push(FitNote::DayNotKnown);
        }
        let (pulls_rpm, scenario_rpm) =
            (self.evidence.speed_range_rpm(), self.evidence.yardstick.speed_range_rpm());
        let step = self.evidence.yardstick.step_rpm();
        if scenario_rpm.0 < pulls_rpm.0 - step || scenario_rpm.1 > pulls_rpm.1 + step {
            notes.push(FitNote::SpeedsLeftOut { pulls_rpm });
        }
        notes
    }
}

/// Whether the build as fitted fails to make the pull, and whether the search for it ended without coming to rest.
fn missed(settled: bool, after: &FitError, noise: &Noise, on_pipes: bool) -> Vec<FitNote> {
    let is_far = after.rms_frac > f64::max(FAR_OFF * noise.row_frac, FAR_OFF_FRAC);
    let rms_percent = 100.0 * after.rms_frac;
    let far = is_far.then_some(match on_pipes {
        true => FitNote::PipesDoNotMakeThePull { rms_percent },
        false => FitNote::DoesNotMakeThePull { rms_percent },
    });
    far.into_iter().chain((!settled).then_some(FitNote::Restless)).collect()
}

/// Modelled less measured torque.
fn error(model: &Model<'_>, readings: &[MeasuredTorque], torque_nm: &[f64]) -> FitError {
    let mut error = FitError::default();
    let mut square = 0.0;
    for reading in readings {
        let off = torque_nm[reading.index] / reading.torque_nm - 1.0;
        square += off * off;
        if off.abs() > error.worst_frac.abs() {
            error.worst_frac = off;
            error.worst_speed_rpm = model.speeds_rpm()[reading.index];
        }
    }
    error.rms_frac = (square / readings.len() as f64).sqrt();
    error
}

/// Every fuel of a job from its own build and from the fitted one.
fn forecasts(job: &Job, fitted: Build) -> Result<Vec<FuelForecast>, EstimateError> {
    let after_job = Job { build: fitted, ..job.clone() };
    let (before, after) = (estimate(job)?, estimate(&after_job)?);
    let margin = |fuel: &FuelEstimate| fuel.curve[fuel.tightest_index].best_torque_octane_margin;
    let half = |band: Band| 0.5 * (band.high - band.low);
    Ok(before
        .fuels
        .iter()
        .zip(&after.fuels)
        .enumerate()
        .map(|(i, (before, after))| FuelForecast {
            fuel: after.name.clone(),
            pulled: i == 0,
            before_wheel_power_kw: before.peak_power.wheel,
            after_wheel_power_kw: after.peak_power.wheel,
            any_dyno_wheel_power_kw: noise::on_any_dyno(after.peak_power.wheel),
            after_speed_rpm: after.peak_power.speed_rpm,
            before_octane_margin: margin(before),
            after_octane_margin: margin(after),
            octane_margin_half_width: half(after.curve[after.tightest_index].octane_margin_band),
        })
        .collect())
}
