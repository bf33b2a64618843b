//! Timing to start from, at the likely limit and of MBT, over rpm and load: one map per fuel and ethanol content.

use super::analysis::PreparedFuel;
use super::error::EstimateError;
use super::job::{FuelChoice, Job};
pub use super::map_load::{Load, LoadReached};
use super::map_start::MapFuel;
use super::point::{Point, Shifts};
use super::search::SearchFault;
pub use super::spark::Reserve;
use super::spark::knock_limited_spark;
use super::sweep::{in_order, over_speeds};
use super::tuned::Tuned;
use super::uncertainty::Sample;
use crate::fuel::pump::{ContentRange, best_power_lambda};
use schemars::JsonSchema;
use serde::Serialize;

/// What is asked of the maps of a job besides its rpm.
#[derive(Clone, Debug, PartialEq)]
pub struct MapAxes {
    /// Loads of the rows, rising.
    pub loads: Vec<Load>,
    /// Ethanol contents by volume [-], rising, one map for each, made with the base of the fuel; none: the fuel as sold.
    pub ethanol_vol_frac: Vec<f64>,
    /// Safety margin.
    pub reserve: Reserve,
}

/// One cell of a map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MapCell {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Where the load of the row is at this rpm.
    #[serde(flatten)]
    pub reached: LoadReached,
    /// Likely limit: the lesser of MBT timing and the likely knock limit less the safety margin
    /// [deg before top dead centre]; null when no timing in range keeps the safety margin.
    pub spark_deg_btdc: Option<f64>,
    /// MBT timing [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether knock, not torque, sets the timing.
    pub knock_limited: bool,
    /// Octane margin at the timing of this cell, or at the most retarded one [-].
    pub octane_margin: f64,
    /// Torque lost to retard at the timing of this cell, against MBT timing [-]; null where the engine makes hardly any
    /// torque at this load.
    pub torque_lost_frac: Option<f64>,
    /// Timing to start from: the most advanced one, at most the likely limit, that is knock-free in 9 cases of 10
    /// [deg before top dead centre]; null when no timing in range is so. Each uncertain input is run by itself for it.
    pub start_spark_deg_btdc: Option<f64>,
    /// Torque lost to retard at the timing to start from, against MBT timing [-]; null without such a timing, and where
    /// the engine makes hardly any torque.
    pub start_torque_lost_frac: Option<f64>,
}

/// One row of a map.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MapRow {
    /// Its load.
    pub load: Load,
    /// One cell per rpm, rising.
    pub cells: Vec<MapCell>,
}

/// The map of one fuel at one ethanol content.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SparkMap {
    /// Name of the scenario.
    pub scenario: String,
    /// Name of the fuel.
    pub fuel: String,
    /// Ethanol content by volume [-], likely.
    pub ethanol_vol_frac: f64,
    /// Safety margin.
    pub reserve: Reserve,
    /// Rows by rising load.
    pub rows: Vec<MapRow>,
}

/// Maps of every fuel of a job: those of the first fuel by its contents, then of the next.
///
/// # Errors
/// [`EstimateError`] when a fuel, mixture, rpm or load is outside the model, or a content is asked of a fuel without
/// gasoline.
///
/// # Example
/// ```
/// use endgas::estimate::spark_map::{Load, MapAxes, Reserve, spark_maps};
/// use endgas::{fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.fuels.truncate(1);
/// job.speeds_rpm = vec![3000.0, 6000.0];
/// let axes = MapAxes {
///     loads: [50e3, 70e3, 90e3].map(Load::ManifoldPressurePa).to_vec(),
///     ethanol_vol_frac: vec![0.10, 0.85],
///     reserve: Reserve::Octane(1.0),
/// };
/// let maps = spark_maps(&job, &axes)?;
/// assert_eq!((maps.len(), maps[0].rows.len(), maps[0].rows[0].cells.len()), (2, 3, 2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn spark_maps(job: &Job, axes: &MapAxes) -> Result<Vec<SparkMap>, EstimateError> {
    let samples = job.draw();
    let mut maps = Vec::new();
    for choice in &job.fuels {
        for fuel in content_fuels(job, choice, &axes.ethanol_vol_frac)? {
            maps.push(spark_map(job, (&choice.fuel.name, &fuel), &samples, axes)?);
        }
    }
    Ok(maps)
}

/// A fuel at every content asked for, or as it is.
fn content_fuels(
    job: &Job,
    choice: &FuelChoice,
    contents: &[f64],
) -> Result<Vec<PreparedFuel>, EstimateError> {
    let stated = choice.lambda.map(|l| l.get());
    let pump = &choice.fuel;
    if contents.is_empty() {
        return Ok(vec![PreparedFuel::new(job, pump, stated)?]);
    }
    if pump.base.is_empty() {
        return Err(EstimateError::NoBase { fuel: pump.name.clone() });
    }
    in_order(contents, |content| {
        let mut known = pump.clone();
        known.ethanol = ContentRange::known(*content);
        PreparedFuel::new(job, &known, Some(stated.unwrap_or_else(|| best_power_lambda(*content))))
    })
}

fn spark_map(
    job: &Job,
    (name, prepared): (&str, &PreparedFuel),
    samples: &[Sample],
    axes: &MapAxes,
) -> Result<SparkMap, EstimateError> {
    let fuel = MapFuel::new(prepared, samples)?;
    let cells = over_speeds(&axes.loads, &job.speeds_rpm, |load, speed| {
        let full = Point::new(job.setting(), fuel.likely(), speed, Shifts::NONE);
        let reached = load.reached(&full)?;
        let shifts = Shifts { manifold_ratio: reached.full_load_frac, ..Shifts::NONE };
        let point = Point::new(job.setting(), fuel.likely(), speed, shifts);
        cell(job, &fuel, (&Tuned::searched(job, name, point, axes.reserve)?, shifts), reached)
            .map_err(EstimateError::search(name, speed))
    })?;
    let rows = axes.loads.iter().zip(cells.chunks(job.speeds_rpm.len()));
    Ok(SparkMap {
        scenario: job.scenario.clone(),
        fuel: name.to_owned(),
        ethanol_vol_frac: fuel.likely().blend.ethanol_vol_frac,
        reserve: axes.reserve,
        rows: rows.map(|(load, cells)| MapRow { load: *load, cells: cells.to_vec() }).collect(),
    })
}

/// One cell, from its point and the shifts that made it.
fn cell(
    job: &Job,
    fuel: &MapFuel<'_>,
    (tuned, shifts): (&Tuned<'_>, Shifts),
    reached: LoadReached,
) -> Result<MapCell, SearchFault> {
    let Tuned { point, mbt, used, limit_deg_btdc, octane_index } = tuned;
    let (spark, octane_margin) = (used.spark_deg_btdc, tuned.octane_margin(used));
    let shortfall = fuel.octane_shortfall((point, shifts), spark, octane_margin);
    let start = if octane_margin >= shortfall {
        Some(*tuned)
    } else {
        let found = knock_limited_spark(point, spark, *octane_index, shortfall, job.spark_range)?;
        found.map(|spark| tuned.at(spark))
    };
    let lost = |at: &Tuned<'_>| tuned.makes_torque().then(|| at.torque_lost_frac());
    Ok(MapCell {
        speed_rpm: point.speed_rpm(),
        reached,
        spark_deg_btdc: *limit_deg_btdc,
        best_torque_spark_deg_btdc: mbt.spark_deg_btdc,
        knock_limited: tuned.is_knock_limited(),
        octane_margin,
        torque_lost_frac: lost(tuned),
        start_spark_deg_btdc: start.map(|at| at.used.spark_deg_btdc),
        start_torque_lost_frac: start.as_ref().and_then(lost),
    })
}
