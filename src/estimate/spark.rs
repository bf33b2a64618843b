//! MBT timing by search, and the most advanced timing that knock allows.

use super::point::{AtSpark, Point};
use super::search::{minimum, root};
use argmin::core::Error;
use schemars::JsonSchema;
use serde::Serialize;

/// Window of CA50 that holds MBT timing [deg after top dead centre].
const EARLIEST_CA50_DEG: f64 = -6.0;
const WINDOW_DEG: f64 = 30.0;
/// How closely timings are searched [deg].
const SPARK_TOLERANCE_DEG: f64 = 0.02;
/// Distance from an end of the search within which the end itself is tried [deg].
const END_DEG: f64 = 3.0 * SPARK_TOLERANCE_DEG;

/// Safety margin between the knock limit and the timing of the map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Reserve {
    /// Octane numbers.
    Octane(f64),
    /// Degrees of timing.
    Degrees(f64),
}

/// Range in which timing may be set [deg before top dead centre].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparkRange {
    /// Most advanced.
    pub earliest_deg_btdc: f64,
    /// Most retarded; negative is after top dead centre.
    pub latest_deg_btdc: f64,
}

impl SparkRange {
    /// The range taken where none is stated (common practice, no source).
    pub const USUAL: Self = Self { earliest_deg_btdc: 50.0, latest_deg_btdc: -10.0 };
}

/// Timing of best brake torque within the range, by Brent's minimiser.
///
/// Torque has one maximum over timing, and it lies in the usual window of CA50: where that window and the range meet, it is
/// searched there; where they do not, at the end of the range next to the window.
///
/// # Arguments
/// - `range`: latest after earliest, however narrow
///
/// # Errors
/// [`super::search::SearchFault`], which is not expected on a finite torque.
pub fn best_torque_spark(point: &Point<'_>, range: SparkRange) -> Result<AtSpark, Error> {
    let (earliest, latest) = (range.earliest_deg_btdc, range.latest_deg_btdc);
    let inside = |spark: f64| spark.min(earliest).max(latest);
    let most = point.spark_for_ca50(EARLIEST_CA50_DEG);
    let (low, high) = (inside(most - WINDOW_DEG), inside(most));
    // Some width is left to search where window and range hardly meet.
    let (low, high) = (inside(low.min(high - 1.0)), inside(high.max(low + 1.0)));
    let lost = |spark| Ok(-point.at_spark(spark).bmep_bar());
    let found = point.at_spark(minimum(lost, (low, high), 1e-5, SPARK_TOLERANCE_DEG)?);
    // The minimiser never reaches the ends themselves.
    let ends = [low, high].into_iter().filter(|end| (end - found.spark_deg_btdc).abs() < END_DEG);
    let more = |a: &AtSpark, b: &AtSpark| a.bmep_bar().total_cmp(&b.bmep_bar());
    Ok(ends
        .map(|end| point.at_spark(end))
        .max_by(more)
        .filter(|at| at.bmep_bar() > found.bmep_bar())
        .unwrap_or(found))
}

/// Most advanced timing, at most `most_deg_btdc`, at which the octane margin keeps the safety margin; none when
/// the most retarded timing of the range does not. Brent's root finder; the margin is monotone in timing.
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
        octane_index - point.octane_requirement(integral) - reserve
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
