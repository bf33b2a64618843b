//! What an estimate says: plain numbers, ready to be shown.

use super::assumed::Assumed;
use super::band::Band;
use super::curve_point::CurvePoint;
use super::notice::Notice;
use super::uncertainty::Input;
use crate::air::OutsideStandard;
use crate::engine::Driveline;
use crate::engine::breathing::BreathingSource;
use schemars::JsonSchema;
use serde::Serialize;

/// The highest point of a curve, as the band of the samples' own peaks.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Peak {
    /// Rpm of the peak in the likely curve [rpm].
    pub speed_rpm: f64,
    /// At the flywheel: [kW] for power, [N m] for torque.
    pub crank: Band,
    /// At the wheels: [kW] for power, [N m] referred to crank speed for torque.
    pub wheel: Band,
}

/// What is left after one loss, at the rpm of peak power.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LadderRung {
    /// Name of the step in the trade's words.
    #[serde(rename = "name")]
    pub rung: Rung,
    /// Mean effective pressure that is left [bar].
    pub mean_effective_pressure_bar: f64,
    /// The same as a share of fuel energy [-].
    pub efficiency: f64,
}

/// A step from the ideal cycle to the wheel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rung {
    /// The air-standard Otto cycle.
    AirStandard,
    /// The fuel-air Otto cycle.
    FuelAir,
    /// The valves close late and open early.
    ValveEvents,
    /// The burn takes time, at its timing.
    Burn,
    /// Heat lost to coolant and oil: gross indicated work.
    WallHeat,
    /// Gas exchange: net indicated work.
    Pumping,
    /// Friction: brake work.
    Friction,
    /// Driveline: work at the wheels.
    Driveline,
}

/// One uncertain input and how much of the spread of peak wheel power it explains.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Driver {
    /// The input.
    pub input: Input,
    /// Rank correlation with peak wheel power [-], -1 to 1.
    pub power_rank_correlation: f64,
    /// Rank correlation with the worst octane margin [-], -1 to 1.
    pub margin_rank_correlation: f64,
    /// Change of peak wheel power from the middle of the input to its 90th percentile, all others held [kW].
    pub power_swing_kw: f64,
    /// The same of the worst octane margin [-].
    pub margin_swing_octane: f64,
}

/// What one change is worth at the worst point, everything else held, the timing too.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct LeverWorth {
    /// The change in the trade's words.
    #[serde(rename = "name")]
    pub change: LeverChange,
    /// Change of octane margin [-].
    pub octane_margin_change: f64,
    /// Change of torque as a fraction [-].
    pub torque_change_frac: f64,
}

/// A change that a builder can make.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeverChange {
    /// A lower compression ratio.
    RatioLower {
        /// By this much [-].
        step: f64,
    },
    /// Later timing.
    TimingLater {
        /// By this much [deg].
        deg: f64,
    },
    /// Cooler intake air.
    AirCooler {
        /// By this much [K].
        by_k: f64,
    },
    /// Cooler coolant, the walls following.
    CoolantCooler {
        /// By this much [K].
        by_k: f64,
    },
    /// A cooler air-cooled head, the walls following.
    HeadCooler {
        /// By this much [K].
        by_k: f64,
    },
    /// Cooler chamber walls and exhaust valve.
    WallsCooler {
        /// By this much [K].
        by_k: f64,
    },
    /// A faster burn.
    BurnFaster {
        /// By this share [-].
        by_frac: f64,
    },
    /// More or less ethanol.
    EthanolContent {
        /// Change of its share by volume [-].
        step_frac: f64,
    },
    /// A fuel of higher RON and MON.
    OctaneHigher {
        /// By this many octane numbers [-].
        by: f64,
    },
}

/// Pressure, temperature and burn over one closed cycle at the rpm of peak torque.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct TracePoint {
    /// Crank angle [deg after firing top dead centre].
    pub crank_angle_deg: f64,
    /// Cylinder pressure [bar].
    pub pressure_bar: f64,
    /// Unburned (end-gas) temperature [K].
    pub unburned_temperature_k: f64,
    /// Burned-gas temperature [K]; 0 before the burn.
    pub burned_temperature_k: f64,
    /// Mass fraction burned [-].
    pub burn_fraction: f64,
}

/// Everything said about one fuel.
#[derive(Clone, Debug, Serialize)]
pub struct FuelEstimate {
    /// Name by which the fuel was asked for.
    pub name: String,
    /// One-line title for a person.
    pub title: String,
    /// Likely ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// Research octane number.
    pub ron: f64,
    /// Motor octane number.
    pub mon: f64,
    /// Stoichiometric air-fuel ratio by mass [-].
    pub afr_stoich: f64,
    /// Lower heating value of the liquid [J/kg].
    pub lhv_j_per_kg: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    pub hov_j_per_kg: f64,
    /// Full-load curve, by rising rpm.
    pub curve: Vec<CurvePoint>,
    /// Highest power, every sample tuned to its own limit.
    pub peak_power: Peak,
    /// Highest power, every sample run at the timing to start from; none when some rpm has no such timing.
    pub start_peak_power: Option<Peak>,
    /// Highest torque, every sample tuned to its own limit.
    pub peak_torque: Peak,
    /// Index into `curve` of the point with the worst octane margin at MBT timing.
    pub tightest_index: usize,
    /// Peak power lost to retard, as a fraction of that with MBT timing everywhere [-], 0 to 1.
    pub peak_power_lost_frac: f64,
    /// Losses at the rpm of peak power.
    pub ladder: Vec<LadderRung>,
    /// Uncertain inputs, strongest on power first.
    pub drivers: Vec<Driver>,
    /// What each change is worth at the point of `tightest_index`.
    pub levers: Vec<LeverWorth>,
    /// One cycle at the rpm of peak torque.
    pub trace: Vec<TracePoint>,
    /// Rpm of that cycle [rpm].
    pub trace_speed_rpm: f64,
    /// Peak wheel power of every sample [kW], in the order of the samples: the share of them at or above a
    /// power is the chance of reaching it. Not part of the JSON form.
    pub sample_peak_wheel_kw: Vec<f64>,
    /// What else a comparison of builds takes of every sample. Not part of the JSON form.
    #[serde(skip)]
    pub samples: FuelSamples,
}

/// Figures of every sample on one fuel, in the order of the samples.
#[derive(Clone, Debug, Default)]
pub struct FuelSamples {
    /// Power at the wheels at each speed of the curve, tuned to the own limit [kW].
    pub wheel_power_kw: Vec<Vec<f64>>,
    /// Peak torque at the wheels referred to crank speed, tuned to the own limit [N m].
    pub peak_wheel_torque_nm: Vec<f64>,
    /// Octane margin at MBT timing of the likely case, at the speed with the tightest one [-].
    pub worst_mbt_margin: Vec<f64>,
}

/// Factor that brings a power of this day to the reference day of a standard.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PowerCorrection {
    /// Name of the standard, as a dyno sheet prints it.
    pub standard: &'static str,
    /// Corrected power = uncorrected power times this [-].
    pub factor: f64,
    /// What of the weather lies outside the range of the standard, in words; absent (null in JSON) when it applies.
    pub outside: Option<OutsideStandard>,
}

/// A whole estimate.
#[derive(Clone, Debug, Serialize)]
pub struct Estimate {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario (says when the build is invented).
    pub note: String,
    /// Geometric compression ratio [-].
    pub compression_ratio: f64,
    /// Effective ratio: volume at inlet valve closing over clearance volume [-].
    pub effective_compression_ratio: f64,
    /// Displacement [m3].
    pub displacement_m3: f64,
    /// Where volumetric efficiency came from, in words.
    pub breathing_source: BreathingSource,
    /// Where the driveline loss came from, in words.
    pub driveline_source: Driveline,
    /// Ambient temperature [K].
    pub air_temperature_k: f64,
    /// Ambient pressure [Pa].
    pub air_pressure_pa: f64,
    /// Relative humidity [-].
    pub relative_humidity: f64,
    /// Safety margin in octane numbers [-].
    pub reserve_octane: f64,
    /// Number of samples.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// One entry per fuel, in the order asked.
    pub fuels: Vec<FuelEstimate>,
    /// Things the builder should know about this result (limits exceeded, ranges left).
    pub notices: Vec<Notice>,
    /// True when a limit stated in the scenario is not met.
    pub limit_missed: bool,
    /// Power-correction factors for this weather.
    pub corrections: Vec<PowerCorrection>,
    /// What was not stated, with what stands in for it.
    pub assumed: Vec<Assumed>,
}
