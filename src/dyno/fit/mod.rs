//! Fitting a build to a pull: filling over speed, driveline loss and burn speed, each held to what was known before.
//!
//! Torque of the build answers to its parameters through the same response that the estimate samples. Least squares
//! weigh the measured torque by how well the pulls repeat, and every parameter by the 10-90 band that the estimate
//! states (Gauss-Newton; the covariance is that of the linear model at the end). What the pull says nothing of stays
//! as it was known.

mod model;
mod noise;
mod parameters;
mod posterior;
mod result;
mod summary;
mod written;

pub use noise::Noise;
pub use result::{
    Alike, Fit, FitError, FitFault, FittedParameter, FittedPoint, Followed, FuelForecast, Written,
};

use super::check::Verdict;
use super::evidence::Evidence;
use super::judge::{JudgeError, JudgeSettings};
use super::log::{Log, Place};
use super::result::Judgement;
use super::yardstick::Yardstick;
use crate::engine::{Breathing, Build, Driveline};
use crate::estimate::analysis::PreparedFuel;
use crate::estimate::likely::{LikelyPoint, torque_at_peak_power_nm};
use crate::estimate::uncertainty::Input;
use crate::estimate::{Band, EstimateError, FuelEstimate, Job, estimate};
use crate::units::Lambda;
use model::{Model, Reading};
use nalgebra::DVector;
use parameters::COUNT;
use posterior::{Posterior, filling_slopes};
use summary::Summary;
use written::written;

/// Passes that bring filling as written from the linear to the true model.
const PASSES: usize = 2;
/// Half widths of the band before, beyond which a parameter counts as far out: 5 in 100 lie there by chance.
const FAR: f64 = 1.5;
/// Error of torque after the fit from which it does not make the pull: times the noise of a speed [-], and at least
/// so much [%] (common practice, no source).
const FAR_OFF: f64 = 3.0;
const FAR_OFF_PERCENT: f64 = 1.0;
/// Change of torque per change of filling, both relative: friction does not grow with filling [-].
const TORQUE_PER_FILLING: f64 = 1.15;

/// Why a judged log should not be fitted; none when it may be.
pub fn not_fitted(judgement: &Judgement) -> Option<String> {
    let failed: Vec<&str> = judgement
        .checks
        .iter()
        .filter(|check| check.verdict == Verdict::NotCredible)
        .map(|check| check.name.title())
        .collect();
    (!failed.is_empty()).then(|| {
        format!(
            "Not fitted: the pull is not credible by {}. --fit-anyway fits it all the same.",
            failed.join(", ")
        )
    })
}

/// Fits the build of a job to a log made on its first fuel, and predicts all fuels of the job.
///
/// # Arguments
/// - `job`: the scenario on the day of the pulls
/// - `log`: the pulls
/// - `judgement`: what was said of them; what is not consistent is noted
/// - `settings`: as for judging
///
/// # Errors
/// [`FitFault`] when the scenario is fitted already, the model cannot be run, no build makes the pull, or log and scenario share too few speeds.
pub fn fit(job: &Job, log: &Log, judgement: &Judgement, settings: &JudgeSettings) -> Result<Fit, FitFault> {
    if matches!(&job.build.breathing, Breathing::Table { follows, .. } if !follows.is_empty()) {
        return Err(FitFault::Fitted);
    }
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
    let fitter = Fitter { job: &job, yardstick: &yardstick, evidence: &evidence, place: log.place };
    let mut fit = fitter.fit(lambda)?;
    if judgement.verdict > Verdict::Consistent {
        fit.notes.insert(0, format!("{} Fitted all the same.", judgement.summary));
    }
    if (lambda - planned_lambda).abs() > Input::Mixture.half_width() {
        fit.notes.push(format!(
            "The log holds lambda {lambda:.3}, the scenario {planned_lambda:.3}: the fit uses the logged one, the new scenario keeps its own. An estimate of it is for that."
        ));
    }
    Ok(fit)
}

struct Fitter<'a> {
    job: &'a Job,
    yardstick: &'a Yardstick,
    evidence: &'a Evidence<'a>,
    place: Place,
}

impl Fitter<'_> {
    fn fit(&self, lambda: f64) -> Result<Fit, FitFault> {
        let job = self.yardstick.job();
        let fuel = PreparedFuel::new(job, &job.fuels[0].fuel, Some(lambda))?;
        let model = Model::new(job, &fuel, self.place)?;
        let readings = self.readings();
        let noise = Noise::of(self.evidence);
        let posterior = Posterior::new(&model, &readings, &noise)?;
        let summary = Summary { model: &model, readings: &readings, posterior: &posterior };
        let mut written = written(&summary, &job.build, self.place)?;
        let before_nm = self.torque_nm(&job.build, &fuel)?;
        let after_nm = self.settle(&mut written, &model.torque_nm(&posterior.mean)?, &fuel)?;
        let build = written.build(&self.job.build);
        let parameters = summary.parameters();
        let after = error(&model, &readings, &after_nm);
        let mut notes = missed(posterior.settled, &after, &noise);
        notes.extend(self.notes(&written));
        notes.extend(beyond_their_bands(&parameters));
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

    fn readings(&self) -> Vec<Reading> {
        let speeds = &self.yardstick.job().speeds_rpm;
        let index = |speed: f64| speeds.iter().position(|s| *s == speed);
        self.evidence
            .points
            .iter()
            .filter_map(|p| Some(Reading { index: index(p.speed_rpm)?, torque_nm: p.torque_nm }))
            .collect()
    }

    /// Torque of a build at the place of the log, at the speeds of the yardstick and the spark planned there [N m].
    fn torque_nm(&self, build: &Build, fuel: &PreparedFuel) -> Result<Vec<f64>, EstimateError> {
        let mut job = self.yardstick.job().clone();
        job.build = build.clone();
        let named = (fuel.pump.name.as_str(), fuel.likely());
        let points = LikelyPoint::over_speeds(&job, job.setting(), named)?;
        let crank = points.iter().map(LikelyPoint::crank_torque_nm);
        Ok(match self.place {
            Place::Crank => crank.collect(),
            Place::Wheel => {
                let at_peak = torque_at_peak_power_nm(&points);
                let loss = build.driveline.loss_band().likely;
                crank.map(|torque| Driveline::wheel_torque_nm(torque, loss, at_peak)).collect()
            }
        })
    }

    /// Moves filling as written until the true model makes the torque of the fit; gives that torque [N m].
    fn settle(
        &self,
        written: &mut Written,
        wanted_nm: &[f64],
        fuel: &PreparedFuel,
    ) -> Result<Vec<f64>, FitFault> {
        let mut filling = written.volumetric_efficiency.clone();
        written.set_filling(filling.clone())?;
        let mut torque = self.torque_nm(&written.build(&self.job.build), fuel)?;
        for _ in 0..PASSES {
            for ((value, wanted), found) in filling.iter_mut().zip(wanted_nm).zip(&torque) {
                *value *= (wanted / found).max(0.5).powf(1.0 / TORQUE_PER_FILLING);
            }
            written.set_filling(filling.clone())?;
            torque = self.torque_nm(&written.build(&self.job.build), fuel)?;
        }
        Ok(torque)
    }

    fn curve(
        &self,
        summary: &Summary<'_>,
        written: &Written,
        before_nm: &[f64],
        after_nm: &[f64],
    ) -> Vec<FittedPoint> {
        let Summary { model, readings, posterior, .. } = summary;
        let prior_slopes = filling_slopes(model, &DVector::zeros(COUNT));
        let slopes = filling_slopes(model, &posterior.mean);
        let at = |(index, speed): (usize, &f64)| {
            let known = posterior.known(
                (0.0, &prior_slopes.row(index).transpose()),
                (model.ln_filling(&posterior.mean, index), &slopes.row(index).transpose()),
            );
            let stated = model.stated_filling(index);
            let (_, fitted) = known.bands(|ln| stated * ln.exp());
            FittedPoint {
                speed_rpm: *speed,
                measured_torque_nm: readings.iter().find(|r| r.index == index).map(|r| r.torque_nm),
                before_torque_nm: before_nm[index],
                after_torque_nm: after_nm[index],
                before_volumetric_efficiency: stated,
                fitted_volumetric_efficiency: fitted,
                written_volumetric_efficiency: written.volumetric_efficiency[index],
            }
        };
        model.speeds_rpm().iter().enumerate().map(at).collect()
    }

    fn notes(&self, written: &Written) -> Vec<String> {
        let mut notes = vec![
            format!(
                "The file holds filling, driveline loss and burn speed. Friction, wall heat and the rest have no reading of their own and stay at their likely values, so filling is written as it must be beside them, +/-{:.1} % with all of them held. [breathing.follows] says how filling goes with each: samples of both move together, and the power that was measured stays measured. Bands taken one by one would add up to more than is known.",
                written.spread_percent
            ),
            "The power is that of this dyno: chassis dynos differ by 5 to 8 % among themselves (common practice, no source), and a fit takes over what its reading is off.".to_owned(),
            "The model sets the spark as a tuner would: best torque, or what knock allows. A pull on less spark or on another mixture is fitted as lost filling.".to_owned(),
        ];
        if self.place == Place::Crank {
            notes.push("The pull was taken at the crank and says nothing of the driveline: its loss is left as it was.".to_owned());
        }
        if !self.evidence.weather_is_known() {
            notes.push("The day of the pull is not known: what the air was off is fitted as filling. State it with --air-temp, --pressure and --humidity.".to_owned());
        }
        let (low, high) = self.evidence.speed_range_rpm();
        let speeds = &self.yardstick.job().speeds_rpm;
        let step = self.yardstick.step_rpm();
        if speeds.first().is_some_and(|s| *s < low - step) || speeds.last().is_some_and(|s| *s > high + step)
        {
            notes.push(format!(
                "The pulls cover {low:.0} to {high:.0} rpm. Beyond, filling keeps the shape of the scenario and is less sure than the band written."
            ));
        }
        notes
    }
}

/// Whether the build as fitted fails to make the pull, and whether the search for it ended without coming to rest.
fn missed(settled: bool, after: &FitError, noise: &Noise) -> Vec<String> {
    let most = f64::max(FAR_OFF * noise.row_percent, FAR_OFF_PERCENT);
    let far = (after.rms_percent > most).then(|| {
        format!(
            "The build as fitted does not make this pull: its torque is {:.1} % off (rms). Do not trust it.",
            after.rms_percent
        )
    });
    let restless = (!settled).then(|| {
        "The search for the build did not come to rest; the best that was found is written.".to_owned()
    });
    far.into_iter().chain(restless).collect()
}

/// What the fit had to move further than it was known to go.
fn beyond_their_bands(parameters: &[FittedParameter]) -> Option<String> {
    let is_far = |p: &&FittedParameter| {
        let Band { low, likely, high } = p.before;
        let half = if p.after.likely < likely { likely - low } else { high - likely };
        (p.after.likely - likely).abs() > FAR * half
    };
    let far: Vec<&str> = parameters.iter().filter(is_far).map(|p| p.name.as_str()).collect();
    (!far.is_empty()).then(|| {
        format!(
            "Moved far beyond the band that was known: {}. Look for the cause in the pull or in the scenario before the fit is believed.",
            far.join(", ")
        )
    })
}

/// Modelled less measured torque.
fn error(model: &Model<'_>, readings: &[Reading], torque_nm: &[f64]) -> FitError {
    let mut error = FitError::default();
    let mut square = 0.0;
    for reading in readings {
        let off = 100.0 * (torque_nm[reading.index] / reading.torque_nm - 1.0);
        square += off * off;
        if off.abs() > error.worst_percent.abs() {
            error.worst_percent = off;
            error.worst_speed_rpm = model.speeds_rpm()[reading.index];
        }
    }
    error.rms_percent = (square / readings.len() as f64).sqrt();
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
            after_speed_rpm: after.peak_power.speed_rpm,
            before_octane_margin: margin(before),
            after_octane_margin: margin(after),
            octane_margin_half_width: half(after.curve[after.tightest_index].octane_margin_band),
        })
        .collect())
}
