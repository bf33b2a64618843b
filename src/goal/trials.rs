//! The build and its variants in the likely case, timing tuned anew.

use super::parts::{Fitted, PartSet, TopEnd};
use super::result::BuildReading;
use crate::engine::{Driveline, Figure, LimitPassed};
use crate::estimate::point::{AtSpark, FuelInUse, Shifts};
use crate::estimate::sweep::in_order;
use crate::estimate::tuned::Tuned;
use crate::estimate::{Estimate, EstimateError, Job};
use crate::units::{PA_PER_BAR, power_of_torque_kw};
use std::sync::{Mutex, PoisonError};

/// Lowest rpm run about the peak, over that of peak power [-].
const WINDOW: f64 = 0.8;
/// Most rpm run about the peak.
const MOST_RPM: usize = 6;
/// Rpm at which low-rpm torque is read, over that of peak power as built [-].
const LOW_RPM: f64 = 0.5;

/// One rpm of a variant, before friction and driveline.
#[derive(Clone, Copy, Debug)]
struct Run {
    speed_rpm: f64,
    used: AtSpark,
    volumetric_efficiency: f64,
    fuel_flow_kg_per_s: f64,
    best_torque_octane_margin: f64,
    has_safe_spark: bool,
}

/// A job on which parts are tried.
pub(super) struct PartTrials<'a> {
    pub(super) job: &'a Job,
    pub(super) estimate: &'a Estimate,
    pub(super) fuels: Vec<FuelInUse>,
    pub(super) top_end: TopEnd,
    /// Likely wheel power of the samples over that of the likely case, per fuel [-].
    anchors: Vec<f64>,
    /// The engine as built, per fuel.
    pub(super) as_built: Vec<BuildReading>,
    /// Rpm of peak power as built on the judged fuel [rpm].
    pub(super) peak_power_rpm: f64,
    /// Sets that have been run: searches and the table of ways ask for many of them again.
    known: Mutex<Vec<(PartSet, BuildReading)>>,
}

impl<'a> PartTrials<'a> {
    /// # Errors
    /// As [`Tuned::new`], but for no torque.
    pub(super) fn new(job: &'a Job, estimate: &'a Estimate) -> Result<Self, EstimateError> {
        let fuels =
            job.fuels.iter().map(|choice| choice.in_use(&job.weather)).collect::<Result<Vec<_>, _>>()?;
        let intake = job.build.intake(job.weather.temperature_k);
        let ve = |speed: &f64| job.build.breathing.at(*speed, &intake).likely;
        let peak_ve = job.speeds_rpm.iter().map(ve).fold(0.0, f64::max);
        let peak_power_rpm = estimate.fuels[0].peak_power.speed_rpm;
        let mut trials = Self {
            top_end: TopEnd::new(job, peak_ve, peak_power_rpm),
            anchors: vec![1.0; fuels.len()],
            as_built: Vec::new(),
            job,
            estimate,
            fuels,
            peak_power_rpm,
            known: Mutex::new(Vec::new()),
        };
        let all: Vec<usize> = (0..trials.fuels.len()).collect();
        let read = in_order(&all, |fuel| trials.run_anew(&PartSet::none(*fuel)))?;
        for (fuel, mut reading) in read.into_iter().enumerate() {
            let likely_kw = estimate.fuels[fuel].peak_power.wheel.likely;
            if reading.wheel_power_kw > 0.0 {
                trials.anchors[fuel] = likely_kw / reading.wheel_power_kw;
            }
            reading.wheel_power_kw = likely_kw;
            trials.as_built.push(reading);
        }
        Ok(trials)
    }

    /// Rpm at which low-rpm torque is read [rpm].
    pub(super) fn low_rpm(&self) -> f64 {
        LOW_RPM * self.peak_power_rpm
    }

    /// Highest rpm of a set [rpm]: that of the job moved up with the powerband. A stated limit of piston speed keeps it where no part
    /// is fitted for more rpm.
    pub(super) fn top_rpm(&self, set: &PartSet) -> f64 {
        let last = self.job.speeds_rpm.last().copied().unwrap_or(self.peak_power_rpm);
        let moved = set.shift() * last;
        let per_rpm = self.job.build.geometry.mean_piston_speed_m_per_s(1.0);
        match self.job.build.limits.mean_piston_speed_m_per_s {
            Some(limit) if !set.needs_rpm() => moved.min(((1.0 - 1e-9) * limit / per_rpm).max(last)),
            _ => moved,
        }
    }

    /// Rpm run of a set, rising: about its peak, and a low one.
    fn speeds(&self, set: &PartSet) -> Vec<f64> {
        let top = self.top_rpm(set);
        let about = |rpm: &&f64| **rpm >= WINDOW * self.peak_power_rpm;
        let all: Vec<f64> = self.job.speeds_rpm.iter().filter(about).copied().collect();
        // Every second, third.. where there are many, the last kept.
        let every = all.len().div_ceil(MOST_RPM).max(1);
        let kept = all.iter().rev().step_by(every).rev();
        let mut speeds: Vec<f64> = kept
            .map(|rpm| (rpm * set.shift()).min(top))
            .chain([self.low_rpm(), self.peak_power_rpm])
            .collect();
        speeds.sort_by(f64::total_cmp);
        speeds.dedup();
        speeds
    }

    /// What a set makes. A rpm at which it makes no torque is left out.
    ///
    /// # Errors
    /// As [`Tuned::new`], but for no torque.
    pub(super) fn run(&self, set: &PartSet) -> Result<BuildReading, EstimateError> {
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let found = known().iter().find(|(other, _)| other == set).map(|(_, reading)| reading.clone());
        if let Some(reading) = found {
            return Ok(reading);
        }
        let reading = self.run_anew(set)?;
        known().push((*set, reading.clone()));
        Ok(reading)
    }

    fn run_anew(&self, set: &PartSet) -> Result<BuildReading, EstimateError> {
        let fitted = Fitted::new(self.job, &self.top_end, set, self.peak_power_rpm);
        let fuel = (self.job.fuels[set.fuel].fuel.name.as_str(), &self.fuels[set.fuel]);
        let runs = in_order(&self.speeds(set), |speed| {
            let shifts = Shifts { breathing: fitted.ve_factor(self.job, *speed), ..Shifts::NONE };
            match Tuned::new(&fitted.job, fitted.job.setting(), fuel, *speed, shifts) {
                Ok(point) => Ok(Some(Run::of(&point))),
                Err(EstimateError::NoTorque { .. }) => Ok(None),
                Err(error) => Err(error),
            }
        })?;
        let runs: Vec<Run> = runs.into_iter().flatten().collect();
        Ok(self.held(self.reading(set, &runs)))
    }

    /// What a set makes, from its runs.
    fn reading(&self, set: &PartSet, runs: &[Run]) -> BuildReading {
        let build = &self.job.build;
        let (geometry, loss) = (&build.geometry, build.driveline.loss_band().likely);
        let most = |of: &dyn Fn(&Run) -> f64| runs.iter().map(of).fold(0.0, f64::max);
        let bmep = |run: &Run| run.used.bmep_bar();
        // The loss is stated at peak power, as in the estimate: the drag torque is that of this variant.
        let power = |run: &Run| bmep(run) * run.speed_rpm;
        let peak = runs.iter().max_by(|a, b| power(a).total_cmp(&power(b)));
        let reference = peak.map_or(0.0, |run| geometry.torque_nm(bmep(run)));
        let margins = runs.iter().map(|run| run.best_torque_octane_margin);
        let low = runs.iter().find(|run| run.speed_rpm == self.low_rpm());
        let mut reading = BuildReading {
            top_rpm: self.top_rpm(set),
            top_mean_piston_speed_m_per_s: geometry.mean_piston_speed_m_per_s(self.top_rpm(set)),
            peak_bmep_bar: most(&bmep),
            peak_pressure_bar: most(&|run| run.used.peak_pressure_bar),
            // Without a run nothing is left over.
            best_torque_octane_margin: margins.reduce(f64::min).unwrap_or(0.0),
            has_safe_spark: runs.iter().all(|run| run.has_safe_spark),
            low_rpm_torque_nm: low.map_or(0.0, |run| geometry.torque_nm(bmep(run))),
            ..BuildReading::default()
        };
        for run in runs {
            let wheel_torque = Driveline::wheel_torque_nm(geometry.torque_nm(bmep(run)), loss, reference);
            let power = self.anchors[set.fuel] * power_of_torque_kw(wheel_torque, run.speed_rpm);
            if power > reading.wheel_power_kw {
                reading.wheel_power_kw = power;
                reading.speed_rpm = run.speed_rpm;
                reading.mean_piston_speed_m_per_s = geometry.mean_piston_speed_m_per_s(run.speed_rpm);
                reading.bmep_bar = bmep(run);
                reading.volumetric_efficiency = run.volumetric_efficiency;
                reading.fuel_flow_kg_per_s = run.fuel_flow_kg_per_s;
            }
        }
        reading
    }

    /// A reading held to the end of race engines in mean effective pressure and specific power, or to where the engine as built
    /// is already: what the model gives beyond is not believed.
    fn held(&self, mut reading: BuildReading) -> BuildReading {
        let Some(built) = self.as_built.first() else { return reading };
        let specific = |r: &BuildReading| self.specific_power_kw_per_l(r);
        let over = |figure: Figure, now: f64, built: f64| figure.credible_end().max(built) / now;
        let held = over(Figure::Bmep, reading.peak_bmep_bar, built.peak_bmep_bar).min(over(
            Figure::SpecificPower,
            specific(&reading),
            specific(built),
        ));
        if held < 1.0 {
            reading.wheel_power_kw *= held;
            reading.is_held_to_race = true;
        }
        reading
    }

    /// Power at the flywheel over displacement, at peak power [kW/L].
    fn specific_power_kw_per_l(&self, reading: &BuildReading) -> f64 {
        let geometry = &self.job.build.geometry;
        let power_kw = power_of_torque_kw(geometry.torque_nm(reading.bmep_bar), reading.speed_rpm);
        power_kw / (1e3 * geometry.displacement_m3())
    }

    /// Limits stated in the scenario that a reading passes and the engine as built does not.
    pub(super) fn limits_passed(&self, reading: &BuildReading, fuel: usize) -> Vec<LimitPassed> {
        let (limits, now) = (self.job.build.limits, &self.as_built[fuel]);
        let bar = Some(reading.peak_pressure_bar).filter(|bar| *bar > now.peak_pressure_bar);
        let speed = Some(reading.top_mean_piston_speed_m_per_s);
        let speed = speed.filter(|speed| *speed > now.top_mean_piston_speed_m_per_s * (1.0 + 1e-9));
        let pressure = bar.and_then(|bar| limits.passed_by_pressure(bar * PA_PER_BAR));
        pressure.into_iter().chain(speed.and_then(|speed| limits.passed_by_piston_speed(speed))).collect()
    }
}

impl Run {
    fn of(p: &Tuned<'_>) -> Self {
        Self {
            speed_rpm: p.speed_rpm(),
            used: p.used,
            volumetric_efficiency: p.point.trapped.volumetric_efficiency,
            fuel_flow_kg_per_s: p.point.fuel_flow_kg_per_s(),
            best_torque_octane_margin: p.mbt_octane_margin(),
            has_safe_spark: p.keeps_reserve(),
        }
    }
}
