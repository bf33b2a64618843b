//! What is said about a goal. Keys of the JSON form are the names of the fields; units are in the names.

use super::change::{BuildChange, Lever};
use crate::engine::breathing::BreathingSource;
use crate::engine::{Driveline, LimitPassed, Standing};
use crate::estimate::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// Chance from which a goal counts as already reached [-]: nine samples of ten.
pub const REACHED_SHARE: f64 = 0.90;
/// Chance from which it is possible [-].
pub const POSSIBLE_SHARE: f64 = 0.10;

/// What is said of a goal in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GoalVerdict {
    /// Below 10 %, and no combination of credible changes reaches it in the likely case.
    NotCredible,
    /// Below 10 % for the engine as built.
    Unlikely,
    /// From 10 %, but not reached in the likely case.
    Possible,
    /// Reached in the likely case.
    Likely,
    /// Nine samples of ten reach it.
    AlreadyReached,
}

/// How likely the engine as built reaches the goal on one fuel.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelChance {
    /// Name of the fuel.
    pub fuel: String,
    /// Peak wheel power as the estimate gives it [kW].
    pub wheel_power_kw: Band,
    /// Rpm of peak power [rpm].
    pub speed_rpm: f64,
    /// Share of the samples whose own peak wheel power is at or above the goal [-].
    pub chance_frac: f64,
    /// Binomial standard error of that share [-].
    pub chance_standard_error_frac: f64,
    /// What the chance amounts to; "unlikely" here leaves open whether changes could do it.
    pub verdict: GoalVerdict,
}

/// What the goal asks at one rpm on the judged fuel.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DemandPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Crank power needed for the low, likely and high driveline loss [kW].
    pub crank_power_kw: Band,
    /// Brake mean effective pressure needed for the same [bar].
    pub bmep_bar: Band,
    /// What this build gives at that rpm as built, likely [bar].
    pub build_bmep_bar: f64,
    /// Whether some VE gives it on the judged fuel; otherwise knock leaves no timing for so much VE,
    /// or it is more than 1.8 times that of the build, and VE and flows are in proportion to the build's.
    pub fuel_allows_it: bool,
    /// Volumetric efficiency that gives the likely one, at the timing that knock then allows [-].
    pub volumetric_efficiency: f64,
    /// Dry air for it [kg/s].
    pub air_flow_kg_per_s: f64,
    /// Fuel for it [kg/s].
    pub fuel_flow_kg_per_s: f64,
    /// Mean piston speed [m/s].
    pub mean_piston_speed_m_per_s: f64,
    /// Crank power over displacement, likely loss [kW/L].
    pub specific_power_kw_per_l: f64,
    /// Where the likely mean effective pressure stands.
    pub bmep_standing: Standing,
    /// Where the volumetric efficiency stands.
    pub volumetric_efficiency_standing: Standing,
    /// Where the mean piston speed stands.
    pub mean_piston_speed_standing: Standing,
    /// Where the specific power stands.
    pub specific_power_standing: Standing,
}

/// A build, as built or changed, in its likely case with the timing tuned anew.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct BuildReading {
    /// Peak wheel power [kW].
    pub wheel_power_kw: f64,
    /// Rpm of peak power [rpm].
    pub speed_rpm: f64,
    /// Mean piston speed at peak power [m/s].
    pub mean_piston_speed_m_per_s: f64,
    /// Mean piston speed at the highest rpm run [m/s].
    pub top_mean_piston_speed_m_per_s: f64,
    /// Brake mean effective pressure at peak power [bar].
    pub bmep_bar: f64,
    /// Highest brake mean effective pressure over rpm [bar].
    pub peak_bmep_bar: f64,
    /// Volumetric efficiency at peak power [-].
    pub volumetric_efficiency: f64,
    /// Highest cylinder pressure over rpm [bar].
    pub peak_pressure_bar: f64,
    /// Fuel flow at peak power [kg/s].
    pub fuel_flow_kg_per_s: f64,
    /// Worst octane margin over rpm at MBT timing [-]; below 0 knock retards the timing.
    pub best_torque_octane_margin: f64,
    /// Whether some timing keeps the safety margin at every rpm.
    pub has_safe_spark: bool,
}

/// One change alone.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangeWorth {
    /// What is changed.
    pub lever: Lever,
    /// The change in words.
    #[serde(rename = "title")]
    pub change: BuildChange,
    /// What the build makes with it.
    pub reading: BuildReading,
    /// Wheel power gained [kW].
    pub wheel_power_gain_kw: f64,
    /// Whether the figures stay within the race bands.
    pub is_credible: bool,
}

/// A combination of changes that reaches the goal.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangePlan {
    /// The changes, in words; taking any of them away misses the goal.
    pub changes: Vec<BuildChange>,
    /// The changes made, in the same order.
    pub levers: Vec<Lever>,
    /// What the build makes with them.
    pub reading: BuildReading,
    /// Chance of reaching the goal with them: the samples of the engine as built, scaled by the change of
    /// the likely power [-].
    pub chance_frac: f64,
    /// What it costs [-]: how far each change goes towards the end of its band, the relative rise of peak
    /// pressure and fuel flow, and a tenth of each octane number of margin.
    pub cost: f64,
    /// Limits of the scenario that it passes, in words; only when no combination keeps them.
    pub limits_passed: Vec<LimitPassed>,
}

/// The most that credible changes make together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Most {
    /// The changes, in words.
    pub changes: Vec<BuildChange>,
    /// What the build makes with them.
    pub reading: BuildReading,
}

/// Everything said about a goal.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Goal {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario.
    pub note: String,
    /// The fuel that is judged: the first of the list.
    pub fuel: String,
    /// Target wheel power [kW].
    pub wheel_power_kw: f64,
    /// What is said of the goal in one word.
    pub verdict: GoalVerdict,
    /// Whether the likely case of the engine as built reaches it on the judged fuel.
    pub reached_in_likely_case: bool,
    /// Number of samples behind the chances.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Chance on every fuel, the judged one first.
    pub chances: Vec<FuelChance>,
    /// Displacement [m3].
    pub displacement_m3: f64,
    /// Where volumetric efficiency came from, for a person to read.
    pub breathing_source: BreathingSource,
    /// Where the driveline loss came from, for a person to read.
    pub driveline_source: Driveline,
    /// What the goal asks at the build's own peak-power rpm.
    pub own_peak: DemandPoint,
    /// What it asks at other rpm.
    pub demand: Vec<DemandPoint>,
    /// Whether production bands are those of engines with more than one inlet valve a cylinder.
    pub has_several_inlets: bool,
    /// The engine as built, in its likely case.
    pub as_it_is: BuildReading,
    /// What each change is worth alone.
    pub changes: Vec<ChangeWorth>,
    /// Fewest changes that reach the goal in the likely case; null when it is reached as built, or none do.
    pub plan: Option<ChangePlan>,
    /// One or two changes more that cost clearly less; null when there are none.
    pub gentler: Option<ChangePlan>,
    /// The most that credible changes make together; null unless no combination reaches the goal.
    pub most: Option<Most>,
}
