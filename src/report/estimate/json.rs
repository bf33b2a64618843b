//! The estimate as JSON with stable keys, and the schema of that JSON.
//!
//! Keys and their order are part of the interface: fields may be added at the end of an object,
//! never renamed or moved. Every number is finite; only `knock_limited_spark_deg_btdc`,
//! `cautious_spark_deg_btdc`, `outside` and the keys that begin with `start_` may be null.

use crate::engine::Driveline;
use crate::engine::breathing::BreathingSource;
use crate::estimate::{
    Assumed, Band, CurvePoint, Estimate, FuelEstimate, LadderRung, LeverWorth, Notice, Peak, PowerCorrection,
};
use crate::report::document::Tool;
use crate::report::words::{cautions, input_source};
use crate::report::{ReportError, Units};
use schemars::JsonSchema;
use serde::Serialize;

/// An estimate of wheel power and knock margin, per fuel and rpm.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Document")]
pub(super) struct EstimateDocument<'a> {
    /// The program that made the document.
    tool: Tool,
    /// Name of the scenario.
    scenario: &'a str,
    /// Standing cautions, for a person to read.
    cautions: &'static [&'static str],
    /// Geometric compression ratio [-].
    compression_ratio: f64,
    /// One entry per fuel, in the order asked.
    fuels: Vec<Fuel<'a>>,
    /// What the reader should know about this result.
    notices: &'a [Notice],
    /// Whether a limit stated in the scenario is not met; `notices` says which.
    limit_missed: bool,
    /// Safety margin at the knock-limited timing, octane numbers [-].
    reserve_octane: f64,
    /// Number of samples behind every band.
    samples: usize,
    /// Seed of the samples.
    seed: u64,
    /// Factors of power-correction standards for this day; powers elsewhere are uncorrected.
    corrections: &'a [PowerCorrection],
    /// Where volumetric efficiency came from, for a person to read.
    breathing_source: BreathingSource,
    /// Where the driveline loss came from, for a person to read.
    driveline_source: Driveline,
    /// What the scenario leaves out, with what stands in for it.
    assumed: Vec<AssumedEntry<'a>>,
}

/// Something that was not stated.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Assumed")]
struct AssumedEntry<'a> {
    /// What it is.
    name: &'static str,
    /// The value taken for it, for a person to read.
    taken: &'a Assumed,
    /// How to measure it; null where it is a choice and not a measurement.
    how_to_measure: Option<&'static str>,
}

impl<'a> From<&'a Assumed> for AssumedEntry<'a> {
    fn from(taken: &'a Assumed) -> Self {
        Self { name: taken.title(), taken, how_to_measure: taken.how_to_measure() }
    }
}

/// Everything said about one fuel.
#[derive(Debug, Serialize, JsonSchema)]
struct Fuel<'a> {
    /// Name by which the fuel was asked for.
    name: &'a str,
    /// Likely ethanol content by volume [-], 0 to 1.
    ethanol_vol_frac: f64,
    /// Research octane number.
    ron: f64,
    /// Motor octane number.
    mon: f64,
    /// Anti-knock index: the mean of RON and MON.
    aki: f64,
    /// Stoichiometric air-fuel ratio by mass [-].
    afr_stoich: f64,
    /// Lower heating value of the liquid [J/kg].
    lhv_j_per_kg: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    hov_j_per_kg: f64,
    /// Full-load curve, by rising rpm.
    curve: &'a [CurvePoint],
    /// Highest power, every sample tuned to its own limit.
    peak_power: PeakPower,
    /// Highest torque, every sample tuned to its own limit.
    peak_torque: PeakTorque,
    /// Peak power lost to retard, as a fraction of that at MBT timing [-], 0 to 1.
    peak_power_lost_frac: f64,
    /// Rpm of the worst octane margin at MBT timing [rpm].
    tightest_speed_rpm: f64,
    /// Losses at the rpm of peak power, from the ideal cycle to the wheel.
    ladder: &'a [LadderRung],
    /// What each change is worth at the worst rpm.
    levers: &'a [LeverWorth],
    /// Uncertain inputs, strongest on power first.
    drivers: Vec<DriverEntry>,
    /// Peak power at the flywheel by each standard of `corrections`.
    corrected_peak_power: Vec<CorrectedPower>,
    /// Highest power, every sample run at the timing to start from; null when some rpm has no such timing.
    start_peak_power: Option<PeakPower>,
}

/// One uncertain input and how much of the spread of peak wheel power it explains.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Driver")]
struct DriverEntry {
    /// Name of the input.
    name: &'static str,
    /// Rank correlation with peak wheel power [-], -1 to 1.
    power_rank_correlation: f64,
    /// Rank correlation with the worst octane margin [-], -1 to 1.
    margin_rank_correlation: f64,
    /// Where the width of the input comes from.
    source: String,
    /// Change of peak wheel power from the middle of the input to its 90th percentile, all others held [kW].
    power_swing_kw: f64,
    /// The same of the worst octane margin [-].
    margin_swing_octane: f64,
}

impl From<&crate::estimate::Driver> for DriverEntry {
    fn from(d: &crate::estimate::Driver) -> Self {
        Self {
            name: d.input.title(),
            power_rank_correlation: d.power_rank_correlation,
            margin_rank_correlation: d.margin_rank_correlation,
            source: input_source(d.input, Units::Metric),
            power_swing_kw: d.power_swing_kw,
            margin_swing_octane: d.margin_swing_octane,
        }
    }
}

/// The highest power, as the band of the samples' own peaks.
#[derive(Debug, Serialize, JsonSchema)]
struct PeakPower {
    /// Rpm of the peak in the likely curve [rpm].
    speed_rpm: f64,
    /// Power at the flywheel [kW].
    crank_power_kw: Band,
    /// Power at the wheels [kW].
    wheel_power_kw: Band,
}

impl From<Peak> for PeakPower {
    fn from(peak: Peak) -> Self {
        Self { speed_rpm: peak.speed_rpm, crank_power_kw: peak.crank, wheel_power_kw: peak.wheel }
    }
}

/// The highest torque, as the band of the samples' own peaks.
#[derive(Debug, Serialize, JsonSchema)]
struct PeakTorque {
    /// Rpm of the peak in the likely curve [rpm].
    speed_rpm: f64,
    /// Torque at the flywheel [N m].
    crank_torque_nm: Band,
    /// Torque at the wheels, referred to crank speed [N m].
    wheel_torque_nm: Band,
}

/// The JSON document, indented, ending in a line feed.
pub(super) fn render(estimate: &Estimate) -> Result<String, ReportError> {
    Ok(serde_json::to_string_pretty(&EstimateDocument::from(estimate))? + "\n")
}

impl<'a> From<&'a Estimate> for EstimateDocument<'a> {
    fn from(e: &'a Estimate) -> Self {
        Self {
            tool: Tool::this(),
            scenario: &e.scenario,
            cautions: cautions::ESTIMATE,
            compression_ratio: e.compression_ratio,
            fuels: e.fuels.iter().map(|fuel| Fuel::new(fuel, &e.corrections)).collect(),
            notices: &e.notices,
            limit_missed: e.limit_missed,
            reserve_octane: e.reserve_octane,
            samples: e.samples,
            seed: e.seed,
            corrections: &e.corrections,
            breathing_source: e.breathing_source,
            driveline_source: e.driveline_source,
            assumed: e.assumed.iter().map(AssumedEntry::from).collect(),
        }
    }
}

impl<'a> Fuel<'a> {
    fn new(f: &'a FuelEstimate, corrections: &[PowerCorrection]) -> Self {
        Self {
            name: &f.name,
            ethanol_vol_frac: f.ethanol_vol_frac,
            ron: f.ron,
            mon: f.mon,
            aki: 0.5 * (f.ron + f.mon),
            afr_stoich: f.afr_stoich,
            lhv_j_per_kg: f.lhv_j_per_kg,
            hov_j_per_kg: f.hov_j_per_kg,
            curve: &f.curve,
            peak_power: PeakPower::from(f.peak_power),
            peak_torque: PeakTorque {
                speed_rpm: f.peak_torque.speed_rpm,
                crank_torque_nm: f.peak_torque.crank,
                wheel_torque_nm: f.peak_torque.wheel,
            },
            peak_power_lost_frac: f.peak_power_lost_frac,
            tightest_speed_rpm: f.curve[f.tightest_index].speed_rpm,
            ladder: &f.ladder,
            levers: &f.levers,
            drivers: f.drivers.iter().map(DriverEntry::from).collect(),
            corrected_peak_power: corrections
                .iter()
                .map(|c| CorrectedPower::new(c, f.peak_power.crank))
                .collect(),
            start_peak_power: f.start_peak_power.map(PeakPower::from),
        }
    }
}

/// Peak power at the flywheel, corrected to a standard.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
struct CorrectedPower {
    /// Name of the standard, as in `corrections`.
    standard: String,
    /// Corrected peak power at the flywheel [kW].
    crank_power_kw: Band,
}

impl CorrectedPower {
    /// Peak power at the flywheel by one standard.
    fn new(correction: &PowerCorrection, crank: Band) -> Self {
        let crank_power_kw = crank.times(correction.factor);
        Self { standard: correction.standard.to_owned(), crank_power_kw }
    }
}
