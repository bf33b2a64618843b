//! One blend at one speed and ratio: what the limits look at.

use super::limit::BlendReading;
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::interpolate::NearestCubic;
use crate::estimate::job::{EstimateError, Job};
use crate::estimate::likely::LikelyPoint;
use crate::estimate::point::{AtSpark, Shifts};
use crate::estimate::sampling::{Outcome, outcomes};
use crate::estimate::start::{knock_free_spark, knock_share};
use crate::estimate::uncertainty::Sample;
use rayon::prelude::*;
use statrs::statistics::{Data, OrderStatistics};

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
    fn analyses(&self, speeds_rpm: &[f64]) -> Result<Vec<PointAnalysis<'_>>, EstimateError> {
        let setting = self.job.setting();
        let found: Vec<_> = speeds_rpm
            .par_iter()
            .map(|speed| PointAnalysis::new(self.job, setting, self.fuel, *speed))
            .collect();
        found.into_iter().collect()
    }
}

/// Readings of a fuel at some speeds [rpm], at the most advanced timing at which no more than a share of the samples knocks.
///
/// # Errors
/// As [`reading`].
pub(super) fn sampled_row(
    bench: &Bench<'_>,
    speeds_rpm: &[f64],
    share: f64,
) -> Result<Vec<BlendReading>, EstimateError> {
    let job = bench.job;
    let analyses = bench.analyses(speeds_rpm)?;
    // Wheel torque does not enter what is kept of the samples here.
    let rows = outcomes(job, bench.fuel, &analyses, bench.samples, 1.0, |row| row)?;
    let latest = job.spark_range.latest_deg_btdc;
    let at_speed = |(i, a): (usize, &PointAnalysis<'_>)| {
        let margins: Vec<_> = rows.iter().map(|row| row[i].node_margins).collect();
        let spark = knock_free_spark(job, a, share, &margins).unwrap_or(latest);
        BlendReading {
            latest_knock_probability: knock_share(&a.response.sparks_deg_btdc, &margins, latest),
            ..read(job, &a.likely, &a.likely.point.at_spark(spark))
        }
    };
    Ok(analyses.iter().enumerate().map(at_speed).collect())
}

/// Octane margin at MBT timing at a speed [rpm] that all but a share of the samples keep [-].
///
/// # Errors
/// As [`reading`].
pub(super) fn start_margin(bench: &Bench<'_>, speed_rpm: f64, share: f64) -> Result<f64, EstimateError> {
    let analyses = bench.analyses(&[speed_rpm])?;
    let at = &analyses[0];
    let cubic = NearestCubic::new(&at.response.sparks_deg_btdc, at.likely.best.spark_deg_btdc);
    let margin = |outcomes: Vec<Outcome>| cubic.of(|node| outcomes[0].node_margins[node]);
    let margins = outcomes(bench.job, bench.fuel, &analyses, bench.samples, 1.0, margin)?;
    Ok(Data::new(margins).quantile(share))
}
