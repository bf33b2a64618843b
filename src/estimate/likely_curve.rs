//! The full-load curve of the likely case alone: every unknown at its likely value, no samples.
//!
//! It is the curve about which [`super::estimate`] samples, and some ten times quicker: for answers that must
//! follow a hand on a control.

use super::error::EstimateError;
use super::job::Job;
use super::point::FuelInUse;
use super::tuned::{Tuned, peak_power_lost_frac, torque_at_peak_power_nm};
use crate::engine::Driveline;

/// The likely curve of one fuel.
#[derive(Clone, Debug)]
pub struct LikelyCurve<'a> {
    /// Points by rising speed; at least one.
    pub points: Vec<Tuned<'a>>,
    /// Torque at the flywheel at peak power [N m], at which the drag of the driveline is set.
    pub peak_power_torque_nm: f64,
}

/// The likely curve of one fuel of a job, with its driveline drag set at its own peak power.
///
/// # Arguments
/// - `job`: its samples and seed play no part
/// - `named`: name of the fuel, for messages, and the fuel in use
///
/// # Errors
/// [`EstimateError`] when the fuel, its mixture or a speed is outside the model, or there is no speed.
pub fn likely_curve<'a>(
    job: &'a Job,
    named: (&str, &'a FuelInUse),
) -> Result<LikelyCurve<'a>, EstimateError> {
    if job.speeds_rpm.is_empty() {
        return Err(job.empty());
    }
    let points = Tuned::over_speeds(job, job.setting(), named)?;
    let peak_power_torque_nm = torque_at_peak_power_nm(&points);
    Ok(LikelyCurve { points, peak_power_torque_nm })
}

impl LikelyCurve<'_> {
    /// Power at the wheels at one of its points [kW].
    pub fn wheel_power_kw(&self, at: &Tuned<'_>) -> f64 {
        let loss = at.point.setting().build.driveline.loss_band().likely;
        at.point.power_kw(Driveline::wheel_torque_nm(at.crank_torque_nm(), loss, self.peak_power_torque_nm))
    }

    /// Peak power lost to retard, as a share of that at MBT timing everywhere [-], 0 to 1.
    pub fn peak_power_lost_frac(&self) -> f64 {
        peak_power_lost_frac(&self.points)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::estimate;
    use crate::fuel::FuelLibrary;
    use crate::scenario;

    /// The quick curve is the one the estimate samples about: what is not sampled is equal, the rest near its
    /// median (skew of the inputs moves it by less than 2 %).
    #[test]
    fn it_is_the_likely_case_of_the_estimate() {
        let demo = scenario::read("demo", scenario::DEMO).unwrap();
        let job = demo.job(&FuelLibrary::shipped().unwrap(), 200, 1).unwrap();
        let full = estimate(&job).unwrap();
        for (choice, fuel) in job.fuels.iter().zip(&full.fuels) {
            let in_use = choice.in_use(&job.weather).unwrap();
            let quick = likely_curve(&job, (&choice.fuel.name, &in_use)).unwrap();
            assert_eq!(quick.points.len(), fuel.curve.len());
            assert_eq!(quick.peak_power_lost_frac(), fuel.peak_power_lost_frac);
            for (q, f) in quick.points.iter().zip(&fuel.curve) {
                assert_eq!(q.used.spark_deg_btdc, f.spark_deg_btdc);
                assert_eq!(q.mbt.spark_deg_btdc, f.best_torque_spark_deg_btdc);
                assert_eq!(q.octane_margin(&q.used), f.octane_margin);
                assert_eq!(q.mbt_octane_margin(), f.best_torque_octane_margin);
                assert_eq!(q.torque_lost_frac(), f.torque_lost_frac);
                assert_eq!(q.crank_torque_nm(), job.build.geometry.torque_nm(f.bmep_bar));
                let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 0.02, "{a} {b}");
                near(q.crank_torque_nm(), f.crank_torque_nm.likely);
                near(quick.wheel_power_kw(q), f.wheel_power_kw.likely);
            }
        }
    }
}
