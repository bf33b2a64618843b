//! Best-torque spark by search, and the most advanced spark that knock allows.

use super::point::{AtSpark, Point};
use super::search::{minimum, root};
use crate::knock::octane_requirement;
use argmin::core::Error;

/// Window of CA50 that holds the best-torque spark [deg after top dead centre].
const EARLIEST_CA50_DEG: f64 = -6.0;
const WINDOW_DEG: f64 = 30.0;
/// How closely sparks are searched [deg].
const SPARK_TOLERANCE_DEG: f64 = 0.02;

/// Range in which spark may be set [deg before top dead centre].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparkRange {
    /// Most advanced.
    pub earliest_deg_btdc: f64,
    /// Most retarded; negative is after top dead centre.
    pub latest_deg_btdc: f64,
}

/// Spark of best brake torque within the range, by Brent's minimiser.
///
/// # Errors
/// The minimiser's own error, which is not expected on a finite torque.
pub fn best_torque_spark(point: &Point<'_>, range: SparkRange) -> Result<AtSpark, Error> {
    let most = point.spark_for_ca50(EARLIEST_CA50_DEG);
    let low = (most - WINDOW_DEG).clamp(range.latest_deg_btdc, range.earliest_deg_btdc - 1.0);
    let high = most.clamp(low + 1.0, range.earliest_deg_btdc);
    let lost = |spark| Ok(-point.at_spark(spark).bmep_bar());
    Ok(point.at_spark(minimum(lost, (low, high), 1e-5, SPARK_TOLERANCE_DEG)?))
}

/// Most advanced spark, at most `most_deg_btdc`, at which the octane margin keeps the reserve; none when
/// the most retarded spark of the range does not. Brent's root finder; the margin is monotone in spark.
///
/// # Errors
/// The root finder's own error, which is not expected on a bracketed root.
pub fn knock_limited_spark(
    point: &Point<'_>,
    most_deg_btdc: f64,
    octane_index: f64,
    reserve: f64,
    range: SparkRange,
) -> Result<Option<f64>, Error> {
    let margin = |spark| {
        let integral = point.at_spark(spark).integral_at_100;
        octane_index - octane_requirement(integral, point.setting().fit.octane_exponent) - reserve
    };
    let (latest, most) = (range.latest_deg_btdc, most_deg_btdc);
    if margin(latest) < 0.0 {
        return Ok(None);
    }
    if margin(most) >= 0.0 {
        return Ok(Some(most));
    }
    root(|spark| Ok(margin(spark)), (latest, most), SPARK_TOLERANCE_DEG).map(Some)
}

/// The sparks of one point.
#[derive(Clone, Copy, Debug)]
pub struct PlannedSpark {
    /// At best-torque spark.
    pub best: AtSpark,
    /// At the spark used: the lesser of best-torque and knock-limited, the most retarded of the range when no
    /// spark keeps the reserve.
    pub used: AtSpark,
    /// Most advanced spark that keeps the reserve, at most best torque [deg before top dead centre].
    pub knock_limited_deg_btdc: Option<f64>,
}

/// Searches both sparks of a point on a fuel of the given octane index.
///
/// # Errors
/// As [`best_torque_spark`] and [`knock_limited_spark`].
pub fn planned_spark(
    point: &Point<'_>,
    octane_index: f64,
    reserve: f64,
    range: SparkRange,
) -> Result<PlannedSpark, Error> {
    let best = best_torque_spark(point, range)?;
    let limited = knock_limited_spark(point, best.spark_deg_btdc, octane_index, reserve, range)?;
    let spark = limited.unwrap_or(range.latest_deg_btdc);
    let used = if spark >= best.spark_deg_btdc { best } else { point.at_spark(spark) };
    Ok(PlannedSpark { best, used, knock_limited_deg_btdc: limited })
}
