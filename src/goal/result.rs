//! What is said about a goal. Keys of the JSON form are the names of the fields; units are in the names.

use super::parts::{Lever, Part};
use super::verdict::{BuildDepth, GoalVerdict};
use crate::engine::breathing::BreathingSource;
use crate::engine::{Driveline, LimitPassed, Standing};
use crate::estimate::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// How likely the engine as built reaches the goal on one fuel, and what would.
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
    /// The verdict on the goal on this fuel.
    pub verdict: GoalVerdict,
    /// The cheapest parts that reach it in the likely case on this fuel; null when it is reached as built, or none do.
    pub way: Option<Way>,
    /// The most that parts make on this fuel; null when it is reached as built.
    pub most: Option<Way>,
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
    /// Highest rpm [rpm].
    pub top_rpm: f64,
    /// Mean piston speed at the highest rpm [m/s].
    pub top_mean_piston_speed_m_per_s: f64,
    /// Brake mean effective pressure at peak power [bar].
    pub bmep_bar: f64,
    /// Highest brake mean effective pressure of the rpm run [bar].
    pub peak_bmep_bar: f64,
    /// Volumetric efficiency at peak power [-].
    pub volumetric_efficiency: f64,
    /// Highest cylinder pressure of the rpm run [bar].
    pub peak_pressure_bar: f64,
    /// Fuel flow at peak power [kg/s].
    pub fuel_flow_kg_per_s: f64,
    /// Worst octane margin of the rpm run at MBT timing [-]; below 0 knock retards the timing.
    pub best_torque_octane_margin: f64,
    /// Whether some timing keeps the safety margin at every rpm run.
    pub has_safe_spark: bool,
    /// Torque at the flywheel at half the rpm of peak power as built [N m].
    pub low_rpm_torque_nm: f64,
    /// Whether the power is held to the end of race engines in mean effective pressure or specific power.
    pub is_held_to_race: bool,
}

/// How the engine idles with some parts (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Idle {
    /// As it does now.
    AsBuilt,
    /// Rougher, with a longer cam.
    Rougher,
    /// No smooth idle: a race cam.
    Race,
}

impl Idle {
    /// With some parts.
    pub(super) fn of(levers: &[Lever]) -> Self {
        let of = |lever: &Lever| match lever {
            Lever::RaceTopEnd => 2,
            Lever::Cam | Lever::Rpm => 1,
            Lever::Head | Lever::IntakeExhaust | Lever::Ratio | Lever::Fuel => 0,
        };
        match levers.iter().map(of).max() {
            None | Some(0) => Self::AsBuilt,
            Some(1) => Self::Rougher,
            Some(_) => Self::Race,
        }
    }
}

/// Parts fitted together, and what they do against the engine as built on the same fuel.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Way {
    /// The parts, in words, in the order of a shop.
    pub parts: Vec<Part>,
    /// The same for a program.
    pub levers: Vec<Lever>,
    /// How deep they go into the engine.
    pub depth: BuildDepth,
    /// What they cost, in the unit of `[costs]`; against cam and springs where that is not stated.
    pub cost: f64,
    /// Wheel power won: likely, and half and one and a half times as much [kW].
    pub wheel_power_gain_kw: Band,
    /// Wheel power with them: the likely case, and the 10th and 90th percentile of the samples with the gain in its range [kW].
    pub wheel_power_kw: Band,
    /// Chance of reaching the goal with them: the share of those samples [-].
    pub chance_frac: f64,
    /// Change of the worst octane margin at MBT timing [octane numbers].
    pub octane_margin_change: f64,
    /// Change of torque at low rpm [-].
    pub low_rpm_torque_change_frac: f64,
    /// Rise of the inertia load on rods, bolts and valve gear at the highest rpm, which goes with its square [-].
    pub rod_load_rise_frac: f64,
    /// How it idles.
    pub idle: Idle,
    /// Limits of the scenario that it passes, in words.
    pub limits_passed: Vec<LimitPassed>,
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
    /// The verdict on the judged fuel.
    pub verdict: GoalVerdict,
    /// Whether the likely case of the engine as built reaches it on the judged fuel.
    pub reached_in_likely_case: bool,
    /// Number of samples behind the chances.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Chance, verdict and the cheapest way on every fuel, the judged one first.
    pub chances: Vec<FuelChance>,
    /// Displacement [m3].
    pub displacement_m3: f64,
    /// Rpm at which low-rpm torque is compared [rpm]: half that of peak power as built.
    pub low_rpm: f64,
    /// Whether costs are those of `[costs]`, not the usual ones against cam and springs.
    pub costs_are_stated: bool,
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
    /// What each part is worth alone on the judged fuel, then top-end work, full build and the least race build.
    pub ways: Vec<Way>,
}
