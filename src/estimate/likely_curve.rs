//! The full-load curve of the likely case alone: every unknown at its likely value, no samples.
//!
//! It is the curve about which [`super::estimate`] samples, and some ten times quicker: for answers that must
//! follow a hand on a control.

use super::job::{EstimateError, FuelChoice, Job};
use super::likely::{LikelyPoint, torque_at_peak_power_nm};
use crate::engine::Driveline;
use crate::units::power_of_torque_kw;

/// One speed of a likely curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LikelySpeed {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air at ambient density, this fuel [-].
    pub volumetric_efficiency: f64,
    /// Spark used: the lesser of best-torque and knock-limited [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// Spark of best torque [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether a spark in range keeps the wanted reserve.
    pub keeps_reserve: bool,
    /// Octane margin at the spark used [-].
    pub octane_margin: f64,
    /// Octane margin were the best-torque spark used [-].
    pub best_torque_octane_margin: f64,
    /// Torque given up to knock against best-torque spark [-].
    pub torque_lost_frac: f64,
    /// Torque at the crank [N m].
    pub crank_torque_nm: f64,
    /// Power at the wheels [kW].
    pub wheel_power_kw: f64,
}

/// The likely curve of one fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct LikelyCurve {
    /// Air-fuel equivalence ratio [-].
    pub lambda: f64,
    /// Ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// Points by rising speed.
    pub points: Vec<LikelySpeed>,
    /// Peak power given up to knock, as a fraction of that with best-torque spark everywhere [-], 0 to 1.
    pub peak_power_lost_frac: f64,
}

/// The likely curve of one fuel of a job, with its driveline drag set at its own peak power.
///
/// # Arguments
/// - `job`: its samples and seed play no part
/// - `choice`: the fuel and its mixture
///
/// # Errors
/// [`EstimateError`] when the fuel, its mixture or a speed is outside the model, or there is no speed.
pub fn likely_curve(job: &Job, choice: &FuelChoice) -> Result<LikelyCurve, EstimateError> {
    if job.speeds_rpm.is_empty() {
        return Err(EstimateError::Empty { fuels: 1, speeds: 0, samples: job.samples });
    }
    let fuel = choice.in_use(&job.weather)?;
    let setting = job.setting();
    let planned = LikelyPoint::over_speeds(job, setting, (&choice.fuel.name, &fuel))?;
    let peak_torque = torque_at_peak_power_nm(&planned);
    let power = |torque_nm: f64, p: &LikelyPoint<'_>| power_of_torque_kw(torque_nm, p.point.speed_rpm());
    let peak = planned.iter().map(|p| power(p.crank_torque_nm(), p)).fold(0.0, f64::max);
    let best_torque = |p: &LikelyPoint<'_>| job.build.geometry.torque_nm(p.best.bmep_bar());
    let best_peak = planned.iter().map(|p| power(best_torque(p), p)).fold(0.0, f64::max);
    Ok(LikelyCurve {
        lambda: fuel.lambda,
        ethanol_vol_frac: fuel.blend.ethanol_vol_frac,
        points: planned.iter().map(|p| point(job, p, peak_torque)).collect(),
        peak_power_lost_frac: 1.0 - peak / best_peak,
    })
}

/// What is told of a planned point; the drag of the driveline is that at peak power [N m at the crank].
fn point(job: &Job, planned: &LikelyPoint<'_>, peak_power_torque_nm: f64) -> LikelySpeed {
    let LikelyPoint { best, used, knock_limited_spark, .. } = planned;
    let speed_rpm = planned.point.speed_rpm();
    let crank_torque_nm = planned.crank_torque_nm();
    let loss = job.build.driveline.loss_band().likely;
    let wheel_torque_nm = Driveline::wheel_torque_nm(crank_torque_nm, loss, peak_power_torque_nm);
    LikelySpeed {
        speed_rpm,
        volumetric_efficiency: planned.point.trapped.volumetric_efficiency,
        spark_deg_btdc: used.spark_deg_btdc,
        best_torque_spark_deg_btdc: best.spark_deg_btdc,
        keeps_reserve: knock_limited_spark.is_some(),
        octane_margin: planned.octane_margin(used),
        best_torque_octane_margin: planned.octane_margin(best),
        torque_lost_frac: 1.0 - used.bmep_bar() / best.bmep_bar(),
        crank_torque_nm,
        wheel_power_kw: power_of_torque_kw(wheel_torque_nm, speed_rpm),
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
            let quick = likely_curve(&job, choice).unwrap();
            assert_eq!(quick.points.len(), fuel.curve.len());
            assert_eq!(quick.peak_power_lost_frac, fuel.peak_power_lost_frac);
            for (q, f) in quick.points.iter().zip(&fuel.curve) {
                assert_eq!(q.spark_deg_btdc, f.spark_deg_btdc);
                assert_eq!(q.best_torque_spark_deg_btdc, f.best_torque_spark_deg_btdc);
                assert_eq!(q.octane_margin, f.octane_margin);
                assert_eq!(q.best_torque_octane_margin, f.best_torque_octane_margin);
                assert_eq!(q.torque_lost_frac, f.torque_lost_frac);
                assert_eq!(q.crank_torque_nm, job.build.geometry.torque_nm(f.bmep_bar));
                let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 0.02, "{a} {b}");
                near(q.crank_torque_nm, f.crank_torque_nm.likely);
                near(q.wheel_power_kw, f.wheel_power_kw.likely);
            }
        }
    }
}
