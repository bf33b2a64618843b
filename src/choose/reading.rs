//! One blend at one speed and ratio: what the limits look at.

use super::limit::BlendReading;
use super::slopes::{LikelyPoint, SlopedFuel};
use crate::estimate::analysis::PointAnalysis;
use crate::estimate::interpolate::NearestCubic;
use crate::estimate::sampling::node_margins;
use crate::estimate::start::{knock_free_spark, knock_share};
use crate::estimate::tuned::Tuned;
use crate::estimate::uncertainty::Sample;
use crate::estimate::{EstimateError, Job};
use statrs::statistics::{Data, OrderStatistics};

impl BlendReading {
    /// A point at the timing it is run with; the share of samples that knock is left at none.
    pub(super) fn of(job: &Job, likely: &LikelyPoint<'_>) -> Self {
        Self::at(job, likely, &likely.tuned)
    }

    /// The same at the timing that `tuned` is run with.
    fn at(job: &Job, likely: &LikelyPoint<'_>, tuned: &Tuned<'_>) -> Self {
        let latest = job.spark_range.latest_deg_btdc;
        let Tuned { point, used, .. } = tuned;
        let most_retarded = if used.spark_deg_btdc > latest { &likely.at_spark(latest) } else { used };
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

/// A fuel on a day at a ratio, with samples.
pub(super) struct SampledBlend<'a> {
    /// The job on that day at that ratio.
    pub(super) job: &'a Job,
    /// The fuel.
    pub(super) sloped: &'a SlopedFuel,
    /// The samples.
    pub(super) samples: &'a [Sample],
}

/// Readings of a fuel at the most advanced timing at which no more than a share of the samples knocks.
///
/// # Arguments
/// - `likely`: its likely case at some speeds
///
/// # Errors
/// [`EstimateError`] when a sampled content makes no blend.
pub(super) fn sampled_row(
    blend: &SampledBlend<'_>,
    likely: &[LikelyPoint<'_>],
    share: f64,
) -> Result<Vec<BlendReading>, EstimateError> {
    let job = blend.job;
    let analyses = blend.sloped.analyses(job, likely);
    let rows = node_margins(&blend.sloped.fuel, &analyses, blend.samples)?;
    let latest = job.spark_range.latest_deg_btdc;
    let at_speed = |(i, a): (usize, &PointAnalysis<'_>)| {
        let margins: Vec<_> = rows.iter().map(|row| row[i]).collect();
        let spark = knock_free_spark(job, a, share, &margins).unwrap_or(latest);
        let tuned = Tuned { used: likely[i].at_spark(spark), ..a.likely };
        BlendReading {
            latest_knock_probability: knock_share(&a.response.sparks_deg_btdc, &margins, latest),
            ..BlendReading::at(job, &likely[i], &tuned)
        }
    };
    Ok(analyses.iter().enumerate().map(at_speed).collect())
}

/// Octane margin at MBT timing at a speed [rpm] that all but a share of the samples keep [-].
///
/// # Errors
/// As [`Tuned::new`], or as [`sampled_row`].
pub(super) fn start_margin(
    blend: &SampledBlend<'_>,
    speed_rpm: f64,
    share: f64,
) -> Result<f64, EstimateError> {
    let (job, fuel) = (blend.job, &blend.sloped.fuel);
    let at = blend.sloped.analysis(job, &blend.sloped.run(job, speed_rpm)?);
    let cubic = NearestCubic::new(&at.response.sparks_deg_btdc, at.likely.mbt.spark_deg_btdc);
    let rows = node_margins(fuel, std::slice::from_ref(&at), blend.samples)?;
    let margins: Vec<f64> = rows.iter().flatten().map(|margins| cubic.of(|node| margins[node])).collect();
    Ok(Data::new(margins).quantile(share))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::choose::slopes::run_row;
    use crate::estimate::analysis::PreparedFuel;
    use crate::fuel::FuelLibrary;
    use crate::scenario;

    /// HAND: three octane numbers more of reserve leave three fewer at the most retarded timing, which is the same for both.
    #[test]
    fn the_reserve_is_taken_off_what_is_left() {
        let library = FuelLibrary::shipped().unwrap();
        let demo = scenario::read("demo", scenario::DEMO).unwrap().job(&library, 50, 1).unwrap();
        let kept = |reserve_octane: f64| {
            let job = Job { reserve_octane, speeds_rpm: vec![3000.0, 6000.0], ..demo.clone() };
            let ratio = job.build.geometry.compression_ratio;
            let prepared = PreparedFuel::new(&job, &job.fuels[0].fuel, None).unwrap();
            let fuel = SlopedFuel::new(prepared, (ratio, ratio));
            let row = run_row(&job, &fuel).unwrap();
            row.iter().map(|likely| BlendReading::of(&job, likely).kept_reserve).collect::<Vec<f64>>()
        };
        for (little, much) in kept(1.0).into_iter().zip(kept(4.0)) {
            assert!((little - much - 3.0).abs() < 1e-6, "{little} {much}");
        }
    }
}
