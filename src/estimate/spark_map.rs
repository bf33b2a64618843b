//! Timing to start from, at the likely limit and of best torque, over speed and load or over speed and ethanol content.

use super::analysis::PreparedFuel;
use super::error::EstimateError;
use super::job::{FuelChoice, Job};
use super::map_start::MapFuel;
use super::point::{Point, Shifts};
pub use super::spark::Reserve;
use super::spark::knock_limited_spark;
use super::sweep::{in_order, over_speeds};
use super::tuned::Tuned;
use super::uncertainty::Sample;
use crate::fuel::pump::{ContentRange, best_power_lambda};
use schemars::JsonSchema;
use serde::Serialize;

/// What the rows of a map step through.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MapAxis {
    /// Manifold pressure, 60 to 100 % of ambient.
    ManifoldPressure,
    /// Ethanol content of the fuel's base, full throttle.
    EthanolContent,
}

/// One cell of a map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MapCell {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Likely limit: the lesser of MBT timing and the likely knock limit less the reserve
    /// [deg before top dead centre]; null when no timing in range keeps the reserve.
    pub spark_deg_btdc: Option<f64>,
    /// Spark of best torque [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether knock, not torque, sets the spark.
    pub knock_limited: bool,
    /// Octane margin at the spark of this cell, or at the most retarded one [-].
    pub octane_margin: f64,
    /// Torque lost to retard at the timing of this cell, against MBT timing [-].
    pub torque_lost_frac: f64,
    /// Timing to start from: the most advanced one, at most the likely limit, that is knock-free in 9 cases of 10
    /// [deg before top dead centre]; null when no timing in range is so. Each uncertain input is run by itself for it.
    pub start_spark_deg_btdc: Option<f64>,
    /// Torque lost to retard at the timing to start from, against MBT timing [-]; null without such a timing.
    pub start_torque_lost_frac: Option<f64>,
}

/// One row of a map.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MapRow {
    /// Manifold pressure [Pa], absolute.
    pub manifold_pressure_pa: f64,
    /// Ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// One cell per speed, rising.
    pub cells: Vec<MapCell>,
}

/// The map of one fuel.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SparkMap {
    /// Name of the scenario.
    pub scenario: String,
    /// Name of the fuel.
    pub fuel: String,
    /// What the rows step through.
    pub axis: MapAxis,
    /// What is kept in hand.
    pub reserve: Reserve,
    /// Rows, rising along the axis.
    pub rows: Vec<MapRow>,
}

/// Manifold over ambient pressure of the rows. Below them a model of full load says little of best-torque
/// spark.
const LOADS: [f64; 5] = [0.6, 0.7, 0.8, 0.9, 1.0];
/// Ethanol contents of the rows [-].
const CONTENTS: [f64; 8] = [0.0, 0.10, 0.20, 0.30, 0.40, 0.50, 0.70, 0.85];

/// Maps of every fuel of a job.
///
/// # Errors
/// [`EstimateError`] when a fuel, mixture or speed is outside the model; a fuel that is all ethanol has
/// one row over content.
///
/// # Example
/// ```
/// use endgas::estimate::spark_map::{MapAxis, Reserve, spark_maps};
/// use endgas::{fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.fuels.truncate(1);
/// job.speeds_rpm = vec![3000.0, 6000.0];
/// let maps = spark_maps(&job, MapAxis::ManifoldPressure, Reserve::Octane(1.0))?;
/// assert_eq!((maps[0].rows.len(), maps[0].rows[0].cells.len()), (5, 2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn spark_maps(job: &Job, axis: MapAxis, reserve: Reserve) -> Result<Vec<SparkMap>, EstimateError> {
    let samples = job.draw();
    job.fuels.iter().map(|choice| spark_map(job, choice, &samples, (axis, reserve))).collect()
}

/// The fuels of the rows of a map.
fn row_fuels(job: &Job, choice: &FuelChoice, axis: MapAxis) -> Result<Vec<PreparedFuel>, EstimateError> {
    let stated = choice.lambda.map(|l| l.get());
    let pump = &choice.fuel;
    if axis == MapAxis::ManifoldPressure {
        return Ok(vec![PreparedFuel::new(job, pump, stated)?]);
    }
    // A fuel that is all ethanol has one content.
    let contents = if pump.base.is_empty() { &[1.0][..] } else { &CONTENTS[..] };
    let row = |content: &f64| {
        let mut known = pump.clone();
        known.ethanol = ContentRange::known(*content);
        PreparedFuel::new(job, &known, Some(stated.unwrap_or_else(|| best_power_lambda(*content))))
    };
    in_order(contents, row)
}

fn spark_map(
    job: &Job,
    choice: &FuelChoice,
    samples: &[Sample],
    (axis, reserve): (MapAxis, Reserve),
) -> Result<SparkMap, EstimateError> {
    let pump = &choice.fuel;
    let prepared = row_fuels(job, choice, axis)?;
    let fuels: Vec<MapFuel<'_>> =
        prepared.iter().map(|fuel| MapFuel::new(fuel, samples)).collect::<Result<_, _>>()?;
    let loads = if axis == MapAxis::ManifoldPressure { &LOADS[..] } else { &[1.0][..] };
    // One of the two has a single value: this steps along the other.
    let rows: Vec<(f64, &MapFuel<'_>)> =
        fuels.iter().flat_map(|fuel| loads.iter().map(move |load| (*load, fuel))).collect();
    let cells = over_speeds(&rows, &job.speeds_rpm, |(load, fuel), speed| {
        let shifts = Shifts { manifold_ratio: *load, ..Shifts::NONE };
        let point = Point::new(job.setting(), fuel.likely(), speed, shifts);
        cell(job, fuel, &Tuned::searched(job, &pump.name, point, reserve)?, shifts)
            .map_err(EstimateError::search(&pump.name, speed))
    })?;
    let rows = rows
        .iter()
        .zip(cells.chunks(job.speeds_rpm.len()))
        .map(|((load, fuel), cells)| MapRow {
            manifold_pressure_pa: load * job.weather.pressure_pa,
            ethanol_vol_frac: fuel.likely().blend.ethanol_vol_frac,
            cells: cells.to_vec(),
        })
        .collect();
    Ok(SparkMap { scenario: job.scenario.clone(), fuel: pump.name.clone(), axis, reserve, rows })
}

/// One cell, from its point and the shifts that made it.
fn cell(
    job: &Job,
    fuel: &MapFuel<'_>,
    tuned: &Tuned<'_>,
    shifts: Shifts,
) -> Result<MapCell, argmin::core::Error> {
    let Tuned { point, mbt, used, limit_deg_btdc, octane_index } = tuned;
    let (spark, octane_margin) = (used.spark_deg_btdc, tuned.octane_margin(used));
    let shortfall = fuel.octane_shortfall((point, shifts), spark, octane_margin);
    let start = if octane_margin >= shortfall {
        Some(*tuned)
    } else {
        let found = knock_limited_spark(point, spark, *octane_index, shortfall, job.spark_range)?;
        found.map(|spark| tuned.at(spark))
    };
    Ok(MapCell {
        speed_rpm: point.speed_rpm(),
        spark_deg_btdc: *limit_deg_btdc,
        best_torque_spark_deg_btdc: mbt.spark_deg_btdc,
        knock_limited: tuned.is_knock_limited(),
        octane_margin,
        torque_lost_frac: tuned.torque_lost_frac(),
        start_spark_deg_btdc: start.map(|at| at.used.spark_deg_btdc),
        start_torque_lost_frac: start.map(|at| at.torque_lost_frac()),
    })
}
