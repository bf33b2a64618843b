//! Best-torque spark by search, and the most advanced spark that knock allows.

use super::point::{AtSpark, Point};
use crate::knock::octane_requirement;
use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::brent::{BrentOpt, BrentRoot};

/// Window of CA50 that holds the best-torque spark [deg after top dead centre].
const EARLIEST_CA50_DEG: f64 = -6.0;
const WINDOW_DEG: f64 = 30.0;
/// How closely sparks are searched [deg].
const SPARK_TOLERANCE_DEG: f64 = 0.02;
const MAX_ITERATIONS: u64 = 60;

/// Range in which spark may be set [deg before top dead centre].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparkRange {
    /// Most advanced.
    pub earliest_deg_btdc: f64,
    /// Most retarded; negative is after top dead centre.
    pub latest_deg_btdc: f64,
}

/// Brake mean effective pressure, negated for the minimiser.
struct Torque<'a>(&'a Point<'a>);

impl CostFunction for Torque<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, spark: &f64) -> Result<f64, Error> {
        Ok(-self.0.at_spark(*spark).bmep_bar())
    }
}

/// Octane margin less the wanted reserve: falls as spark is advanced.
struct Margin<'a> {
    point: &'a Point<'a>,
    octane_index: f64,
    reserve: f64,
}

impl Margin<'_> {
    fn value(&self, spark: f64) -> f64 {
        let exponent = self.point.setting().fit.octane_exponent;
        let requirement = octane_requirement(self.point.at_spark(spark).integral_at_100, exponent);
        self.octane_index - requirement - self.reserve
    }
}

impl CostFunction for Margin<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, spark: &f64) -> Result<f64, Error> {
        Ok(self.value(*spark))
    }
}

/// Spark of best brake torque within the range, by Brent's minimiser.
///
/// # Errors
/// The minimiser's own error, which is not expected on a finite torque.
pub fn best_torque_spark(point: &Point<'_>, range: SparkRange) -> Result<AtSpark, Error> {
    let most = point.spark_for_ca50(EARLIEST_CA50_DEG);
    let low = (most - WINDOW_DEG).clamp(range.latest_deg_btdc, range.earliest_deg_btdc - 1.0);
    let high = most.clamp(low + 1.0, range.earliest_deg_btdc);
    let solver = BrentOpt::new(low, high).set_tolerance(1e-5, SPARK_TOLERANCE_DEG);
    let result = Executor::new(Torque(point), solver).configure(|s| s.max_iters(MAX_ITERATIONS)).run()?;
    let spark = result.state().get_best_param().copied().unwrap_or(0.5 * (low + high));
    Ok(point.at_spark(spark))
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
    let margin = Margin { point, octane_index, reserve };
    let bounds = [range.latest_deg_btdc, most_deg_btdc];
    if margin.value(bounds[0]) < 0.0 {
        return Ok(None);
    }
    if margin.value(bounds[1]) >= 0.0 {
        return Ok(Some(bounds[1]));
    }
    let solver = BrentRoot::new(bounds[0], bounds[1], SPARK_TOLERANCE_DEG);
    let result = Executor::new(margin, solver).configure(|s| s.max_iters(MAX_ITERATIONS)).run()?;
    Ok(result.state().get_best_param().copied())
}
