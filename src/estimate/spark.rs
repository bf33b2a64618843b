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
