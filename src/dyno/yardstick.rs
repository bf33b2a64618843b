//! The estimate that a pull is held against: one fuel, its curve with bands, and the model turned round.

use super::error::JudgeError;
use super::log::Place;
use crate::air::CorrectionStandard;
use crate::engine::Driveline;
use crate::engine::driveline::LossBand;
use crate::estimate::point::{FuelInUse, Point, Shifts};
use crate::estimate::search::root;
use crate::estimate::{Band, CurvePoint, EstimateError, FuelEstimate, Job, estimate};
use crate::units::rpm_to_rad_per_s;

/// How to judge.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgeSettings {
    /// Standard to which measured power is brought for comparison with other days.
    pub standard: CorrectionStandard,
    /// Whether the weather of the job was stated for this pull, rather than being the usual day of a scenario.
    pub weather_stated: bool,
    /// Whether the fuel of the job was stated for this pull, rather than being the first of a scenario.
    pub fuel_stated: bool,
}

impl Default for JudgeSettings {
    fn default() -> Self {
        Self { standard: CorrectionStandard::SaeJ1349, weather_stated: false, fuel_stated: false }
    }
}

/// Steps of speed over the range of the scenario, and the steps allowed [rpm].
const STEPS: f64 = 20.0;
const STEP_RPM: std::ops::RangeInclusive<f64> = 100.0..=500.0;
/// Volumetric efficiencies over the likely one within which a torque is searched [-].
const BREATHING: [f64; 2] = [0.25, 2.5];
const TOLERANCE: f64 = 1e-4;

/// The estimate of a build on one fuel, ready to be held against logs.
#[derive(Clone, Debug)]
pub struct Yardstick {
    job: Job,
    settings: JudgeSettings,
    fuel: FuelInUse,
    estimate: FuelEstimate,
    step_rpm: f64,
    /// Fuels of the job that was given.
    fuels_offered: usize,
}

impl Yardstick {
    /// Estimates the first fuel of a job over the speeds of the job, in steps of its own.
    ///
    /// # Errors
    /// [`JudgeError::Estimate`] when the job has no fuel or speed, or lies outside the model.
    pub fn new(job: &Job, settings: &JudgeSettings) -> Result<Self, JudgeError> {
        let mut job = job.clone();
        let fuels_offered = job.fuels.len();
        job.fuels.truncate(1);
        let mut step_rpm = *STEP_RPM.start();
        if let (Some(first), Some(last)) = (job.speeds_rpm.first(), job.speeds_rpm.last()) {
            let (first, last) = (*first, *last);
            step_rpm = ((last - first) / STEPS).clamp(*STEP_RPM.start(), *STEP_RPM.end());
            let steps = ((last - first) / step_rpm).floor() as usize;
            job.speeds_rpm = (0..=steps).map(|i| first + i as f64 * step_rpm).collect();
            if job.speeds_rpm.last().is_some_and(|top| last - top > 0.2 * step_rpm) {
                job.speeds_rpm.push(last);
            }
        }
        let mut found = estimate(&job)?;
        match (job.fuels.first(), found.fuels.pop()) {
            (Some(choice), Some(estimate)) => {
                let fuel = choice.in_use(&job.weather)?;
                Ok(Self { job, settings: settings.clone(), fuel, estimate, step_rpm, fuels_offered })
            }
            _ => Err(JudgeError::NoFuel),
        }
    }

    /// The job that was estimated: one fuel, the speeds of the yardstick.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// How the judging is set.
    pub fn settings(&self) -> &JudgeSettings {
        &self.settings
    }

    /// The fuel in use.
    pub fn fuel(&self) -> &FuelInUse {
        &self.fuel
    }

    /// The estimate.
    pub fn estimate(&self) -> &FuelEstimate {
        &self.estimate
    }

    /// Number of fuels of the job that was given; the first is used.
    pub fn fuels_offered(&self) -> usize {
        self.fuels_offered
    }

    /// Lowest and highest speed of the job [rpm].
    pub fn speed_range_rpm(&self) -> (f64, f64) {
        let speeds = &self.job.speeds_rpm;
        (speeds.first().copied().unwrap_or_default(), speeds.last().copied().unwrap_or_default())
    }

    /// Step of speed of the curve [rpm].
    pub fn step_rpm(&self) -> f64 {
        self.step_rpm
    }

    /// Torque of a point of the curve at a place [N m].
    pub fn torque_nm(&self, point: &CurvePoint, place: Place) -> Band {
        match place {
            Place::Crank => point.crank_torque_nm,
            Place::Wheel => point.wheel_power_kw.times(1e3 / rpm_to_rad_per_s(point.speed_rpm)),
        }
    }

    /// Likely torque at a place and any speed [N m], between the points; none outside the curve.
    pub fn likely_torque_nm(&self, speed_rpm: f64, place: Place) -> Option<f64> {
        let curve = &self.estimate.curve;
        let above = curve.partition_point(|p| p.speed_rpm < speed_rpm);
        let high = curve.get(above)?;
        let at = |p: &CurvePoint| self.torque_nm(p, place).likely;
        match above.checked_sub(1).and_then(|i| curve.get(i)) {
            Some(low) => {
                let share = (speed_rpm - low.speed_rpm) / (high.speed_rpm - low.speed_rpm);
                Some(at(low) + share * (at(high) - at(low)))
            }
            None => (speed_rpm == high.speed_rpm).then(|| at(high)),
        }
    }

    /// Loss of the driveline at peak power [-].
    pub fn loss_band(&self) -> LossBand {
        self.job.build.driveline.loss_band()
    }

    /// Torque at the flywheel [N m] of a torque at a place.
    ///
    /// # Arguments
    /// - `torque_nm`: torque at the place
    /// - `loss`: driveline loss at peak power [-]
    /// - `at_peak_power_nm`: torque at the place at peak power
    pub fn crank_torque_nm(&self, place: Place, torque_nm: f64, loss: f64, at_peak_power_nm: f64) -> f64 {
        match place {
            Place::Crank => torque_nm,
            Place::Wheel => Driveline::crank_torque_nm(torque_nm, loss, at_peak_power_nm),
        }
    }

    /// Brake mean effective pressure of a crank torque [bar].
    pub fn bmep_bar(&self, crank_torque_nm: f64) -> f64 {
        self.job.build.geometry.bmep_bar(crank_torque_nm)
    }

    /// Volumetric efficiency over the likely one with which the model gives a crank torque at the timing that
    /// the estimate uses there [-]; none when no efficiency of 0.25 to 2.5 times the likely does.
    ///
    /// # Errors
    /// [`EstimateError::Search`] when the search does not converge.
    pub fn breathing_for(
        &self,
        point: &CurvePoint,
        crank_torque_nm: f64,
    ) -> Result<Option<f64>, EstimateError> {
        let wanted_bar = self.bmep_bar(crank_torque_nm);
        let excess_bar = |breathing: f64| {
            let shifts = Shifts { breathing, ..Shifts::NONE };
            let run = Point::new(self.job.setting(), &self.fuel, point.speed_rpm, shifts);
            run.at_spark(point.spark_deg_btdc).bmep_bar() - wanted_bar
        };
        let [low, high] = BREATHING;
        if excess_bar(low) > 0.0 || excess_bar(high) < 0.0 {
            return Ok(None);
        }
        let failed = EstimateError::search(&self.estimate.name, point.speed_rpm);
        root(|breathing| Ok(excess_bar(breathing)), (low, high), TOLERANCE).map(Some).map_err(failed)
    }
}
