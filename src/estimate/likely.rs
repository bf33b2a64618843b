//! One operating point as likely, at the spark it is run with: no samples, no response grid.

use super::job::{EstimateError, Job};
use super::point::{AtSpark, FuelInUse, Point, Setting, Shifts};
use super::spark::{best_torque_spark, knock_limited_spark};
use crate::knock::sensitivity_weight;
use rayon::prelude::*;

/// A settled point, with the two sparks searched.
#[derive(Clone, Copy, Debug)]
pub struct LikelyPoint<'a> {
    /// The point itself.
    pub point: Point<'a>,
    /// At best-torque spark.
    pub best: AtSpark,
    /// At the spark used: the lesser of best-torque and knock-limited, or the most retarded of the range.
    pub used: AtSpark,
    /// Most advanced spark that keeps the reserve, at most best torque [deg before top dead centre]; none
    /// when no spark of the range does.
    pub knock_limited_spark: Option<f64>,
    /// Octane index of the fuel [-].
    pub octane_index: f64,
}

impl<'a> LikelyPoint<'a> {
    /// Settles the charge and searches both sparks.
    ///
    /// # Arguments
    /// - `name`: of the fuel, for messages
    /// - `shifts`: [`Shifts::NONE`] but for a change that is tried
    ///
    /// # Errors
    /// [`EstimateError::Search`], [`EstimateError::NoTorque`] or [`EstimateError::Octane`].
    pub fn new(
        job: &Job,
        setting: Setting<'a>,
        (name, fuel): (&str, &'a FuelInUse),
        speed_rpm: f64,
        shifts: Shifts,
    ) -> Result<Self, EstimateError> {
        let failed = EstimateError::search(name, speed_rpm);
        let point = Point::new(setting, fuel, speed_rpm, shifts);
        let best = best_torque_spark(&point, job.spark_range).map_err(&failed)?;
        EstimateError::check_torque(name, speed_rpm, best.bmep_bar())?;
        let octane_index = fuel.blend.octane_index(sensitivity_weight(setting.build.injection));
        if !(60.0..=130.0).contains(&octane_index) {
            return Err(EstimateError::Octane { fuel: name.to_owned(), octane_index });
        }
        let best_spark = best.spark_deg_btdc;
        let limited =
            knock_limited_spark(&point, best_spark, octane_index, job.reserve_octane, job.spark_range)
                .map_err(&failed)?;
        let spark = limited.unwrap_or(job.spark_range.latest_deg_btdc);
        let used = if spark >= best_spark { best } else { point.at_spark(spark) };
        Ok(Self { point, best, used, knock_limited_spark: limited, octane_index })
    }

    /// The points of a fuel at every speed of a job, by rising speed.
    ///
    /// # Errors
    /// As [`Self::new`], the first in the order of the speeds.
    pub fn over_speeds(
        job: &Job,
        setting: Setting<'a>,
        named: (&str, &'a FuelInUse),
    ) -> Result<Vec<Self>, EstimateError> {
        // Parallel results are gathered first, so that the error reported does not depend on the threads.
        let found: Vec<_> = job
            .speeds_rpm
            .par_iter()
            .map(|speed| Self::new(job, setting, named, *speed, Shifts::NONE))
            .collect();
        found.into_iter().collect()
    }

    /// Torque at the crank at the spark used [N m].
    pub fn crank_torque_nm(&self) -> f64 {
        self.point.setting().build.geometry.torque_nm(self.used.bmep_bar())
    }

    /// Octane requirement at a run of this point [-].
    pub fn requirement(&self, at: &AtSpark) -> f64 {
        self.point.octane_requirement(at.integral_at_100)
    }

    /// Octane margin at a run of this point [-].
    pub fn octane_margin(&self, at: &AtSpark) -> f64 {
        self.octane_index - self.requirement(at)
    }
}

/// Speed of most torque at MBT timing of some points [rpm]; none without a point.
pub fn peak_torque_speed_rpm(points: &[LikelyPoint<'_>]) -> Option<f64> {
    let torque = |p: &LikelyPoint<'_>| p.best.bmep_bar();
    let peak = points.iter().max_by(|a, b| torque(a).total_cmp(&torque(b)));
    peak.map(|p| p.point.speed_rpm())
}

/// Torque at the crank at peak power of some points [N m], at which the drag torque of the driveline is set; 0 without
/// a point.
pub fn torque_at_peak_power_nm<'a: 'b, 'b>(points: impl IntoIterator<Item = &'b LikelyPoint<'a>>) -> f64 {
    let power = |p: &LikelyPoint<'_>| p.crank_torque_nm() * p.point.speed_rpm();
    let peak = points.into_iter().max_by(|a, b| power(a).total_cmp(&power(b)));
    peak.map_or(0.0, LikelyPoint::crank_torque_nm)
}
