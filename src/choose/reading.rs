//! One blend at one speed and ratio: what the limits look at.

use super::limit::BlendReading;
use super::slopes::SlopedFuel;
use crate::estimate::analysis::{PointAnalysis, PreparedFuel};
use crate::estimate::interpolate::NearestCubic;
use crate::estimate::point::Shifts;
use crate::estimate::sampling::{SampleOutcome, outcomes};
use crate::estimate::start::{knock_free_spark, knock_share};
use crate::estimate::sweep::over_speeds;
use crate::estimate::tuned::Tuned;
use crate::estimate::uncertainty::Sample;
use crate::estimate::{EstimateError, Job};
use statrs::statistics::{Data, OrderStatistics};

impl BlendReading {
    /// A point at the timing it is run with; the share of samples that knock is left at none.
    fn of(job: &Job, tuned: &Tuned<'_>) -> Self {
        let latest = job.spark_range.latest_deg_btdc;
        let Tuned { point, used, .. } = tuned;
        let most_retarded = if used.spark_deg_btdc > latest { &point.at_spark(latest) } else { used };
        Self {
            ethanol_vol_frac: point.fuel().blend.ethanol_vol_frac,
            speed_rpm: point.speed_rpm(),
            best_torque_margin: tuned.mbt_octane_margin(),
            kept_reserve: tuned.octane_margin(most_retarded) - job.reserve_octane,
            retard_deg: tuned.retard_deg(),
            torque_lost_frac: tuned.torque_lost_frac(),
            peak_pressure_bar: used.peak_pressure_bar,
            latest_knock_probability: 0.0,
        }
    }
}

/// The likely case of some fuels at every speed of a job: one row per fuel.
///
/// # Errors
/// [`EstimateError`] when a search fails or the engine makes no torque there.
pub(super) fn likely_rows(
    job: &Job,
    fuels: &[&PreparedFuel],
) -> Result<Vec<Vec<BlendReading>>, EstimateError> {
    let readings = over_speeds(fuels, &job.speeds_rpm, |fuel, speed| {
        Tuned::new(job, job.setting(), fuel.named(), speed, Shifts::NONE).map(|p| BlendReading::of(job, &p))
    })?;
    Ok(readings.chunks(job.speeds_rpm.len()).map(<[BlendReading]>::to_vec).collect())
}

/// A fuel on a day at a ratio, with samples.
pub(super) struct SampledBlend<'a> {
    /// The job on that day at that ratio.
    pub(super) job: &'a Job,
    /// The fuel.
    pub(super) sloped: &'a SlopedFuel,
    /// The samples.
    pub(super) samples: &'a [Sample],
}

/// Readings of a fuel at some speeds [rpm], at the most advanced timing at which no more than a share of the samples knocks.
///
/// # Errors
/// As [`likely_rows`].
pub(super) fn sampled_row(
    blend: &SampledBlend<'_>,
    speeds_rpm: &[f64],
    share: f64,
) -> Result<Vec<BlendReading>, EstimateError> {
    let job = blend.job;
    let analyses = blend.sloped.analyses(job, speeds_rpm)?;
    // Wheel torque does not enter what is kept of the samples here.
    let rows = outcomes(job, &blend.sloped.fuel, &analyses, blend.samples, 1.0, |row| row)?;
    let latest = job.spark_range.latest_deg_btdc;
    let at_speed = |(i, a): (usize, &PointAnalysis<'_>)| {
        let margins: Vec<_> = rows.iter().map(|row| row[i].node_margins).collect();
        let spark = knock_free_spark(job, a, share, &margins).unwrap_or(latest);
        BlendReading {
            latest_knock_probability: knock_share(&a.response.sparks_deg_btdc, &margins, latest),
            ..BlendReading::of(job, &a.likely.at(spark))
        }
    };
    Ok(analyses.iter().enumerate().map(at_speed).collect())
}

/// Octane margin at MBT timing at a speed [rpm] that all but a share of the samples keep [-].
///
/// # Errors
/// As [`likely_rows`].
pub(super) fn start_margin(
    blend: &SampledBlend<'_>,
    speed_rpm: f64,
    share: f64,
) -> Result<f64, EstimateError> {
    let (job, fuel) = (blend.job, &blend.sloped.fuel);
    // It is asked once: slopes of its own cost less than those of three ratios.
    let at = PointAnalysis::new(job, job.setting(), fuel, speed_rpm)?;
    let cubic = NearestCubic::new(&at.response.sparks_deg_btdc, at.likely.mbt.spark_deg_btdc);
    let margin = |outcomes: Vec<SampleOutcome>| cubic.of(|node| outcomes[0].node_margins[node]);
    let margins = outcomes(job, fuel, std::slice::from_ref(&at), blend.samples, 1.0, margin)?;
    Ok(Data::new(margins).quantile(share))
}
