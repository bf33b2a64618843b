//! The estimate as JSON with stable keys, and the schema of that JSON.
//!
//! Keys and their order are part of the interface: fields may be added at the end of an object,
//! never renamed or moved. Every number is finite; only `knock_limited_spark_deg_btdc`,
//! `cautious_spark_deg_btdc` and `outside` may be null.

use super::ReportError;
pub use super::corrected::{CorrectedPower, Correction};
pub use super::document::Tool;
use super::document::schema_of;
use crate::estimate::{self, Band, Estimate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An estimate of wheel power and knock margin, per fuel and speed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Document {
    /// The program that made the document.
    pub tool: Tool,
    /// Name of the scenario.
    pub scenario: String,
    /// Standing cautions, for a person to read.
    pub cautions: Vec<String>,
    /// Geometric compression ratio [-].
    pub compression_ratio: f64,
    /// One entry per fuel, in the order asked.
    pub fuels: Vec<Fuel>,
    /// What the reader should know about this result.
    pub notices: Vec<String>,
    /// Whether a limit stated in the scenario is not met; `notices` says which.
    pub limit_missed: bool,
    /// Octane numbers wanted in hand at the knock-limited spark [-].
    pub reserve_octane: f64,
    /// Number of samples behind every band.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Factors of power-correction standards for this day; powers elsewhere are those of the day.
    pub corrections: Vec<Correction>,
    /// Where volumetric efficiency came from, for a person to read.
    pub breathing_source: String,
    /// Where the driveline loss came from, for a person to read.
    pub driveline_source: String,
}

/// Everything said about one fuel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Fuel {
    /// Name by which the fuel was asked for.
    pub name: String,
    /// Likely ethanol content by volume [-], 0 to 1.
    pub ethanol_vol_frac: f64,
    /// Research octane number.
    pub ron: f64,
    /// Motor octane number.
    pub mon: f64,
    /// Anti-knock index: the mean of RON and MON.
    pub aki: f64,
    /// Stoichiometric air-fuel ratio by mass [-].
    pub afr_stoich: f64,
    /// Lower heating value of the liquid [J/kg].
    pub lhv_j_per_kg: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    pub hov_j_per_kg: f64,
    /// Full-load curve, by rising speed.
    pub curve: Vec<Point>,
    /// Highest power.
    pub peak_power: PeakPower,
    /// Highest torque.
    pub peak_torque: PeakTorque,
    /// Peak power given up to knock, as a fraction of that at best-torque spark [-], 0 to 1.
    pub peak_power_lost_frac: f64,
    /// Speed of the tightest octane margin at best-torque spark [rpm].
    pub tightest_speed_rpm: f64,
    /// Losses at the speed of peak power, from the ideal cycle to the wheel.
    pub ladder: Vec<Rung>,
    /// What each change is worth at the tightest speed.
    pub levers: Vec<Lever>,
    /// Uncertain inputs, strongest on power first.
    pub drivers: Vec<Driver>,
    /// Peak power at the crank by each standard of `corrections`.
    pub corrected_peak_power: Vec<CorrectedPower>,
}

/// What is left after one loss.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Rung {
    /// Name of the step.
    pub name: String,
    /// Mean effective pressure that is left [bar].
    pub mean_effective_pressure_bar: f64,
    /// The same as a share of fuel energy [-].
    pub efficiency: f64,
}

/// What one change is worth, the spark held.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lever {
    /// The change.
    pub name: String,
    /// Change of octane margin [-].
    pub octane_margin_change: f64,
    /// Change of torque as a fraction [-].
    pub torque_change_frac: f64,
}

/// One uncertain input.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Driver {
    /// Name of the input.
    pub name: String,
    /// Rank correlation with peak wheel power [-], -1 to 1.
    pub power_rank_correlation: f64,
    /// Rank correlation with the tightest octane margin [-], -1 to 1.
    pub margin_rank_correlation: f64,
    /// Where the width of the input comes from.
    pub source: String,
}

/// One speed on one fuel at full load, with the spark that is used there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Point {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air at ambient density, on this fuel [-].
    pub volumetric_efficiency: f64,
    /// Air-fuel equivalence ratio [-]; below 1 is rich.
    pub lambda: f64,
    /// Spark used: the lesser of best-torque and knock-limited [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// Spark of best torque [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether knock, not torque, sets the spark used.
    pub knock_limited: bool,
    /// Crank angle of 50 % burned [deg after top dead centre].
    pub ca50_deg_atdc: f64,
    /// End-gas ignition integral at the spark used [-]; 1 is autoignition.
    pub knock_integral: f64,
    /// Octane index of the fuel in this engine at this point [-].
    pub octane_index: f64,
    /// Octane index at which the integral would be 1, at the spark used [-].
    pub octane_requirement: f64,
    /// Octane index less octane requirement [-].
    pub octane_margin: f64,
    /// Octane index over octane requirement [-]; 1 is the limit.
    pub knock_margin_index: f64,
    /// Degrees between the spark used and the spark at which the margin is zero [deg];
    /// capped at the end of the searched range.
    pub spark_margin_deg: f64,
    /// Share of samples that knock at the spark used [-], 0 to 1.
    pub knock_probability: f64,
    /// Net indicated mean effective pressure [bar].
    pub imep_net_bar: f64,
    /// Friction mean effective pressure [bar].
    pub fmep_bar: f64,
    /// Pumping mean effective pressure, positive when it costs work [bar].
    pub pmep_bar: f64,
    /// Brake mean effective pressure [bar].
    pub bmep_bar: f64,
    /// Peak cylinder pressure [bar].
    pub peak_pressure_bar: f64,
    /// Brake efficiency on lower heating value [-].
    pub efficiency_brake: f64,
    /// Brake specific fuel consumption [g/kWh].
    pub bsfc_g_per_kwh: f64,
    /// Air flow of the engine, dry [kg/s].
    pub air_flow_kg_per_s: f64,
    /// Fuel flow of the engine [kg/s].
    pub fuel_flow_kg_per_s: f64,
    /// Torque at the crank [N m].
    pub crank_torque_nm: Band,
    /// Power at the crank [kW].
    pub crank_power_kw: Band,
    /// Power at the wheels [kW].
    pub wheel_power_kw: Band,
    /// Most advanced spark that keeps the wanted reserve [deg before top dead centre];
    /// null when no spark in the searched range does.
    pub knock_limited_spark_deg_btdc: Option<f64>,
    /// Most advanced spark, at most the spark used, at which nine samples of ten do not knock
    /// [deg before top dead centre]; null when no spark in the searched range is so.
    pub cautious_spark_deg_btdc: Option<f64>,
    /// Octane margin over the samples, spark held at the value used [-].
    pub octane_margin_band: Band,
    /// Octane margin were the best-torque spark used [-].
    pub best_torque_octane_margin: f64,
    /// Torque given up to knock against best-torque spark [-], 0 to 1.
    pub torque_lost_frac: f64,
    /// Crank angle of peak pressure [deg after top dead centre].
    pub peak_pressure_deg_atdc: f64,
    /// Share of fuel energy lost to the cylinder walls [-].
    pub heat_loss_frac: f64,
    /// Residual gas mass fraction [-].
    pub residual_frac: f64,
    /// Mean exhaust gas temperature after blowdown [K].
    pub exhaust_temperature_k: f64,
    /// Mean piston speed [m/s].
    pub mean_piston_speed_m_per_s: f64,
    /// Mechanical efficiency: brake over net indicated work, friction but not pumping [-].
    pub mechanical_efficiency: f64,
}

/// The highest power, as the band of the samples' own peaks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PeakPower {
    /// Speed of the peak in the likely curve [rpm].
    pub speed_rpm: f64,
    /// Power at the crank [kW].
    pub crank_power_kw: Band,
    /// Power at the wheels [kW].
    pub wheel_power_kw: Band,
}

/// The highest torque, as the band of the samples' own peaks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PeakTorque {
    /// Speed of the peak in the likely curve [rpm].
    pub speed_rpm: f64,
    /// Torque at the crank [N m].
    pub crank_torque_nm: Band,
    /// Torque at the wheels, referred to crank speed [N m].
    pub wheel_torque_nm: Band,
}

/// The JSON document, indented, ending in a line feed.
pub(super) fn render(estimate: &Estimate) -> Result<String, ReportError> {
    Ok(serde_json::to_string_pretty(&Document::from(estimate))? + "\n")
}

/// JSON Schema (2020-12) of the JSON form of an estimate, indented, ending in a line feed.
///
/// # Example
/// ```
/// let schema: serde_json::Value = serde_json::from_str(&endgas::report::estimate_schema())?;
/// assert_eq!(schema["properties"]["scenario"]["type"], "string");
/// # Ok::<(), serde_json::Error>(())
/// ```
pub fn estimate_schema() -> String {
    schema_of::<Document>()
}

impl From<&Estimate> for Document {
    fn from(e: &Estimate) -> Self {
        Self {
            tool: Tool::this(),
            scenario: e.scenario.clone(),
            cautions: e.cautions.iter().map(|&c| c.to_owned()).collect(),
            compression_ratio: e.compression_ratio,
            fuels: e.fuels.iter().map(|fuel| Fuel::new(fuel, &e.corrections)).collect(),
            notices: e.notices.clone(),
            limit_missed: e.limit_missed,
            reserve_octane: e.reserve_octane,
            samples: e.samples,
            seed: e.seed,
            corrections: e.corrections.iter().map(Correction::from).collect(),
            breathing_source: e.breathing_source.clone(),
            driveline_source: e.driveline_source.clone(),
        }
    }
}

impl Fuel {
    fn new(f: &estimate::FuelEstimate, corrections: &[estimate::PowerCorrection]) -> Self {
        Self {
            name: f.name.clone(),
            ethanol_vol_frac: f.ethanol_vol_frac,
            ron: f.ron,
            mon: f.mon,
            aki: 0.5 * (f.ron + f.mon),
            afr_stoich: f.afr_stoich,
            lhv_j_per_kg: f.lhv_j_per_kg,
            hov_j_per_kg: f.hov_j_per_kg,
            curve: f.curve.iter().map(Point::from).collect(),
            peak_power: PeakPower {
                speed_rpm: f.peak_power.speed_rpm,
                crank_power_kw: f.peak_power.crank,
                wheel_power_kw: f.peak_power.wheel,
            },
            peak_torque: PeakTorque {
                speed_rpm: f.peak_torque.speed_rpm,
                crank_torque_nm: f.peak_torque.crank,
                wheel_torque_nm: f.peak_torque.wheel,
            },
            peak_power_lost_frac: f.peak_power_lost_frac,
            tightest_speed_rpm: f.curve[f.tightest_index].speed_rpm,
            ladder: f.ladder.iter().map(Rung::from).collect(),
            levers: f.levers.iter().map(Lever::from).collect(),
            drivers: f.drivers.iter().map(Driver::from).collect(),
            corrected_peak_power: corrections
                .iter()
                .map(|c| CorrectedPower::new(c, f.peak_power.crank))
                .collect(),
        }
    }
}

impl From<&estimate::LadderRung> for Rung {
    fn from(r: &estimate::LadderRung) -> Self {
        Self {
            name: r.name.to_owned(),
            mean_effective_pressure_bar: r.mean_effective_pressure_bar,
            efficiency: r.efficiency,
        }
    }
}

impl From<&estimate::Lever> for Lever {
    fn from(l: &estimate::Lever) -> Self {
        Self {
            name: l.name.to_owned(),
            octane_margin_change: l.octane_margin_change,
            torque_change_frac: l.torque_change_frac,
        }
    }
}

impl From<&estimate::Driver> for Driver {
    fn from(d: &estimate::Driver) -> Self {
        Self {
            name: d.name.to_owned(),
            power_rank_correlation: d.power_rank_correlation,
            margin_rank_correlation: d.margin_rank_correlation,
            source: d.source.to_owned(),
        }
    }
}

impl From<&estimate::CurvePoint> for Point {
    fn from(p: &estimate::CurvePoint) -> Self {
        Self {
            speed_rpm: p.speed_rpm,
            volumetric_efficiency: p.volumetric_efficiency,
            lambda: p.lambda,
            spark_deg_btdc: p.spark_deg_btdc,
            best_torque_spark_deg_btdc: p.best_torque_spark_deg_btdc,
            knock_limited: p.knock_limited,
            ca50_deg_atdc: p.ca50_deg_atdc,
            knock_integral: p.knock_integral,
            octane_index: p.octane_index,
            octane_requirement: p.octane_requirement,
            octane_margin: p.octane_margin,
            knock_margin_index: p.knock_margin_index,
            spark_margin_deg: p.spark_margin_deg,
            knock_probability: p.knock_probability,
            imep_net_bar: p.imep_net_bar,
            fmep_bar: p.fmep_bar,
            pmep_bar: p.pmep_bar,
            bmep_bar: p.bmep_bar,
            peak_pressure_bar: p.peak_pressure_bar,
            efficiency_brake: p.efficiency_brake,
            bsfc_g_per_kwh: p.bsfc_g_per_kwh,
            air_flow_kg_per_s: p.air_flow_kg_per_s,
            fuel_flow_kg_per_s: p.fuel_flow_kg_per_s,
            crank_torque_nm: p.crank_torque_nm,
            crank_power_kw: p.crank_power_kw,
            wheel_power_kw: p.wheel_power_kw,
            knock_limited_spark_deg_btdc: p.knock_limited_spark_deg_btdc,
            cautious_spark_deg_btdc: p.cautious_spark_deg_btdc,
            octane_margin_band: p.octane_margin_band,
            best_torque_octane_margin: p.best_torque_octane_margin,
            torque_lost_frac: p.torque_lost_frac,
            peak_pressure_deg_atdc: p.peak_pressure_deg_atdc,
            heat_loss_frac: p.heat_loss_frac,
            residual_frac: p.residual_frac,
            exhaust_temperature_k: p.exhaust_temperature_k,
            mean_piston_speed_m_per_s: p.mean_piston_speed_m_per_s,
            mechanical_efficiency: p.mechanical_efficiency(),
        }
    }
}
