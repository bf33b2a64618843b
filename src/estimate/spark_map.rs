//! Best-torque and knock-limited spark over speed and load, or over speed and ethanol content.

use super::analysis::fuel_in_use;
use super::job::{EstimateError, FuelChoice, Job};
use super::point::{FuelInUse, Point, Shifts};
use super::spark::{best_torque_spark, knock_limited_spark};
use crate::fuel::pump::best_power_lambda;
use crate::knock::{octane_requirement, sensitivity_weight};
use rayon::prelude::*;
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

/// What is kept in hand between the knock limit and the spark of the map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Reserve {
    /// Octane numbers.
    Octane(f64),
    /// Degrees of spark.
    Degrees(f64),
}

/// One cell of a map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MapCell {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Spark allowed: the lesser of best-torque spark and the likely knock limit less the reserve
    /// [deg before top dead centre]; null when no spark in range keeps the reserve.
    pub spark_deg_btdc: Option<f64>,
    /// Spark of best torque [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether knock, not torque, sets the spark.
    pub knock_limited: bool,
    /// Octane margin at the spark of this cell, or at the most retarded one [-].
    pub octane_margin: f64,
    /// Torque given up against best-torque spark [-].
    pub torque_lost_frac: f64,
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
pub fn spark_maps(job: &Job, axis: MapAxis, reserve: Reserve) -> Result<Vec<SparkMap>, EstimateError> {
    job.fuels.iter().map(|choice| spark_map(job, choice, axis, reserve)).collect()
}

fn spark_map(
    job: &Job,
    choice: &FuelChoice,
    axis: MapAxis,
    reserve: Reserve,
) -> Result<SparkMap, EstimateError> {
    let stated = choice.lambda.map(|l| l.get());
    let pump = &choice.fuel;
    let at = |content: f64, lambda: f64| fuel_in_use(pump, content, lambda, &job.weather);
    let fuels: Vec<FuelInUse> = match axis {
        MapAxis::ManifoldPressure => {
            vec![at(pump.ethanol.likely, stated.unwrap_or(pump.best_power_lambda))?]
        }
        MapAxis::EthanolContent => {
            // A fuel that is all ethanol has one content.
            let contents = if pump.base.is_empty() { &[1.0][..] } else { &CONTENTS[..] };
            let row = |content: &f64| at(*content, stated.unwrap_or_else(|| best_power_lambda(*content)));
            contents.iter().map(row).collect::<Result<_, _>>()?
        }
    };
    let loads = if axis == MapAxis::ManifoldPressure { &LOADS[..] } else { &[1.0][..] };
    // One of the two has a single value: this steps along the other.
    let rows: Vec<(f64, &FuelInUse)> =
        fuels.iter().flat_map(|fuel| loads.iter().map(move |load| (*load, fuel))).collect();
    let setting = job.setting();
    let pairs: Vec<(f64, &FuelInUse, f64)> = rows
        .iter()
        .flat_map(|(load, fuel)| job.speeds_rpm.iter().map(move |speed| (*load, *fuel, *speed)))
        .collect();
    let cells: Vec<MapCell> = pairs
        .par_iter()
        .map(|(load, fuel, speed)| {
            let shifts = Shifts { manifold_ratio: *load, ..Shifts::NONE };
            let point = Point::new(setting, fuel, *speed, shifts);
            cell(job, &point, reserve).map_err(EstimateError::search(&pump.name, *speed))
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let rows = rows
        .iter()
        .zip(cells.chunks(job.speeds_rpm.len()))
        .map(|((load, fuel), cells)| MapRow {
            manifold_pressure_pa: load * job.weather.pressure_pa,
            ethanol_vol_frac: fuel.blend.ethanol_vol_frac,
            cells: cells.to_vec(),
        })
        .collect();
    Ok(SparkMap { scenario: job.scenario.clone(), fuel: pump.name.clone(), axis, reserve, rows })
}

/// One cell, from its settled point.
fn cell(job: &Job, point: &Point<'_>, reserve: Reserve) -> Result<MapCell, argmin::core::Error> {
    let best = best_torque_spark(point, job.spark_range)?;
    let index = point.fuel().blend.octane.index(sensitivity_weight(job.build.injection));
    let (octane, degrees) = match reserve {
        Reserve::Octane(octane) => (octane, 0.0),
        Reserve::Degrees(degrees) => (0.0, degrees),
    };
    // The limit may lie beyond best torque, and beyond the range: search to where a reserve in degrees could count.
    let beyond = best.spark_deg_btdc + degrees;
    let limit = knock_limited_spark(point, beyond, index, octane, job.spark_range)?;
    let latest = job.spark_range.latest_deg_btdc;
    let spark = limit.map(|s| (s - degrees).min(best.spark_deg_btdc)).filter(|s| *s >= latest);
    let used = point.at_spark(spark.unwrap_or(latest));
    let need = octane_requirement(used.integral_at_100, point.setting().fit.octane_exponent);
    Ok(MapCell {
        speed_rpm: point.speed_rpm(),
        spark_deg_btdc: spark,
        best_torque_spark_deg_btdc: best.spark_deg_btdc,
        knock_limited: spark.is_none_or(|s| s < best.spark_deg_btdc - 1e-9),
        octane_margin: index - need,
        torque_lost_frac: (1.0 - used.bmep_bar() / best.bmep_bar()).max(0.0),
    })
}
