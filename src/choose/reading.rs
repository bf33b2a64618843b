//! One blend at one speed and ratio: what the limits look at.

use super::kept::Worst;
use super::limit::BlendReading;
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::job::{EstimateError, Job};
use crate::estimate::likely::LikelyPoint;
use crate::estimate::point::{AtSpark, Shifts};
use crate::estimate::sampling::{Outcome, outcomes};
use crate::estimate::start::{knock_free_spark, knock_share};
use crate::estimate::uncertainty::Sample;
use rayon::prelude::*;

/// A reading with the spark that is planned.
fn read(job: &Job, likely: &LikelyPoint<'_>, used: &AtSpark) -> BlendReading {
    let latest = job.spark_range.latest_deg_btdc;
    let LikelyPoint { point, best, .. } = likely;
    let kept = |at: &AtSpark| likely.octane_margin(at) - job.reserve_octane;
    BlendReading {
        ethanol_vol_frac: point.fuel().blend.ethanol_vol_frac,
        speed_rpm: point.speed_rpm(),
        best_torque_margin: likely.octane_margin(best),
        kept_reserve: if used.spark_deg_btdc > latest { kept(&point.at_spark(latest)) } else { kept(used) },
        retard_deg: (best.spark_deg_btdc - used.spark_deg_btdc).max(0.0),
        torque_lost_frac: (1.0 - used.bmep_bar() / best.bmep_bar()).max(0.0),
        peak_pressure_bar: used.peak_pressure_bar,
        latest_knock_probability: 0.0,
    }
}

/// The likely case of a fuel at a speed.
///
/// # Errors
/// [`EstimateError`] when a search fails or the engine makes no torque there.
pub(super) fn reading(job: &Job, fuel: &PreparedFuel, speed_rpm: f64) -> Result<BlendReading, EstimateError> {
    let named = (fuel.pump.name.as_str(), fuel.likely());
    let likely = LikelyPoint::new(job, job.setting(), named, speed_rpm, Shifts::NONE)?;
    Ok(read(job, &likely, &likely.used))
}

/// A fuel on a day at a ratio, with samples.
pub(super) struct Bench<'a> {
    /// The job on that day at that ratio.
    pub(super) job: &'a Job,
    /// The fuel.
    pub(super) fuel: &'a PreparedFuel,
    /// The samples.
    pub(super) samples: &'a [Sample],
}

impl Bench<'_> {
    fn analyses(&self) -> Result<Vec<PointAnalysis<'_>>, EstimateError> {
        let setting = self.job.setting();
        let found: Vec<_> = self
            .job
            .speeds_rpm
            .par_iter()
            .map(|speed| PointAnalysis::new(self.job, setting, self.fuel, *speed))
            .collect();
        found.into_iter().collect()
    }

    /// Outcomes of the samples; wheel torque does not enter what is kept of them here.
    fn outcomes<T: Send>(
        &self,
        analyses: &[PointAnalysis<'_>],
        keep: impl Fn(Vec<Outcome>) -> T + Sync,
    ) -> Result<Vec<T>, EstimateError> {
        outcomes(self.job, self.fuel, analyses, self.samples, 1.0, keep)
    }
}

/// Readings of a fuel at every speed, spark held back until no more than a share of the samples knocks.
///
/// # Errors
/// As [`reading`].
pub(super) fn sampled_row(bench: &Bench<'_>, share: f64) -> Result<Vec<BlendReading>, EstimateError> {
    let analyses = bench.analyses()?;
    let rows = bench.outcomes(&analyses, |row| row)?;
    let latest = bench.job.spark_range.latest_deg_btdc;
    let at_speed = |(i, a): (usize, &PointAnalysis<'_>)| {
        let margins: Vec<_> = rows.iter().map(|row| row[i].node_margins).collect();
        let spark = knock_free_spark(bench.job, a, share, &margins).unwrap_or(latest);
        BlendReading {
            latest_knock_probability: knock_share(&a.response.sparks_deg_btdc, &margins, latest),
            ..read(bench.job, &a.likely, &a.likely.point.at_spark(spark))
        }
    };
    Ok(analyses.iter().enumerate().map(at_speed).collect())
}

/// Spark held back [deg] and torque lost [-] of each sample, the most over speed.
///
/// # Errors
/// As [`reading`].
pub(super) fn worst_over_speed(bench: &Bench<'_>) -> Result<Vec<Worst>, EstimateError> {
    let analyses = bench.analyses()?;
    bench.outcomes(&analyses, |row| {
        let most = |of: fn(&Outcome) -> f64| row.iter().map(of).fold(0.0, f64::max);
        (most(|o| o.retard_deg), most(|o| o.torque_lost_frac))
    })
}
