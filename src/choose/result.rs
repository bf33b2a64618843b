//! What a choice of compression says: plain numbers, ready to be shown.

use super::ignition::Ignition;
use super::limit::{LimitKind, LimitState};
pub use super::notices::ChoiceNotice;
pub use super::order::{Bound, IgnitionWorth, LowSpeed, Order, PistonCheck, UsualBand, Variant, VariantKind};
use crate::estimate::Band;
use crate::estimate::analysis::PointAnalysis;
use crate::estimate::start::{StartCurve, StartPoint};
use schemars::JsonSchema;
use serde::Serialize;

/// What one fuel comes to over all rpm on the day, in the likely case.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelAtRatio {
    /// Most retard from MBT timing by knock [deg].
    pub retard_deg: f64,
    /// Most torque lost to it, as a share [-].
    pub torque_lost_frac: f64,
    /// Least octane margin at MBT timing [-].
    pub best_torque_octane_margin: f64,
    /// Highest peak cylinder pressure at the timing used [bar].
    pub peak_pressure_bar: f64,
    /// Share of samples that knock somewhere at the likely limit [-].
    pub knock_probability: f64,
    /// Most retard of the timing to start from, from MBT timing [deg]; null when some rpm has no such timing.
    pub start_retard_deg: Option<f64>,
    /// Share of samples that knock somewhere at the timing to start from, at most one in ten at each rpm [-]; null when
    /// some rpm has no such timing.
    pub start_knock_probability: Option<f64>,
}

impl FuelAtRatio {
    pub(super) fn of(start: &StartCurve<'_>, knock_probability: f64) -> Self {
        let points = start.analyses;
        let start_retard_deg = |(a, start): (&PointAnalysis<'_>, &Option<StartPoint>)| {
            start.as_ref().map(|start| a.likely.mbt.spark_deg_btdc - start.spark_deg_btdc)
        };
        let retards: Option<Vec<f64>> = points.iter().zip(&start.points).map(start_retard_deg).collect();
        let most =
            |of: &dyn Fn(&PointAnalysis<'_>) -> f64| points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        Self {
            retard_deg: most(&|a| a.likely.retard_deg()),
            torque_lost_frac: most(&|a| a.likely.torque_lost_frac()),
            best_torque_octane_margin: -most(&|a| -a.likely.mbt_octane_margin()),
            peak_pressure_bar: most(&|a| a.likely.used.peak_pressure_bar),
            knock_probability,
            start_retard_deg: retards.map(|deg| deg.into_iter().fold(0.0, f64::max)),
            start_knock_probability: start.knock_somewhere(),
        }
    }

    /// Whether knock retards the timing anywhere.
    pub fn knock_limited(&self) -> bool {
        self.retard_deg > 0.0
    }
}

/// What is maximised.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Maximised {
    /// Peak wheel power.
    PeakWheelPower,
    /// Mean wheel power over a band of rpm.
    MeanWheelPower {
        /// Lowest rpm [rpm].
        from_rpm: f64,
        /// Highest rpm [rpm].
        to_rpm: f64,
    },
}

/// A fuel and how much it counts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WeighedFuel {
    /// Name by which it was asked for.
    pub name: String,
    /// Likely ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// Worth of power on it against the others [-].
    pub weight: f64,
    /// How often it is filled against the others [-].
    pub likelihood: f64,
    /// Its share of the objective [-]; the shares add to 1.
    pub share_frac: f64,
}

/// The blends that the engine has to run on, the service conditions and the limits.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StoodRange {
    /// Fuel whose base is blended.
    pub base: String,
    /// Lowest ethanol content by volume [-].
    pub lowest_ethanol_vol_frac: f64,
    /// Highest ethanol content by volume [-].
    pub highest_ethanol_vol_frac: f64,
    /// Whether the weather of the hot day was stated; the usual hot day is taken when not.
    pub worst_weather_stated: bool,
    /// Air temperature of the hot day [K].
    pub air_temperature_k: f64,
    /// Air pressure [Pa].
    pub air_pressure_pa: f64,
    /// Relative humidity [-].
    pub relative_humidity: f64,
    /// How much hotter the intake draws the air when soaked with heat [K].
    pub heat_soak_k: f64,
    /// Octane numbers that a weak tank lies below the posted number [-].
    pub weak_tank_octane: f64,
    /// Octane numbers that deposits take [-].
    pub deposits_octane: f64,
    /// Safety margin in octane numbers [-].
    pub reserve_octane: f64,
    /// Rpm of peak torque, from which retard and torque loss are judged [rpm].
    pub limits_from_rpm: f64,
    /// Limits asked: kind and what is allowed.
    pub limits: Vec<AskedLimit>,
    /// Whether retard and torque loss are limited as production practice has them.
    pub limits_of_practice: bool,
}

/// Ignition as fitted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FittedIgnition {
    /// Which.
    pub ignition: Ignition,
    /// Whether it was stated in the scenario.
    pub stated: bool,
}

/// A limit as asked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AskedLimit {
    /// Which limit.
    pub kind: LimitKind,
    /// What is allowed: octane numbers, degrees, fraction, bar, fraction.
    pub allowed: f64,
}

/// One ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RatioRow {
    /// Compression ratio [-].
    pub compression_ratio: f64,
    /// Weighted power over the samples with the ignition as fitted [kW].
    pub fitted_weighted_power_kw: Band,
    /// Power of each fuel over the samples with the ignition as fitted, in the order of the fuels [kW].
    pub fitted_power_kw: Vec<Band>,
    /// Weighted power over the samples, each tuned to its own limit [kW].
    pub weighted_power_kw: Band,
    /// Power of each fuel over the samples, each tuned to its own limit, in the order of the fuels [kW].
    pub power_kw: Vec<Band>,
    /// State of each fuel on the day, in the order of the fuels.
    pub fuels: Vec<FuelAtRatio>,
    /// State of every limit over the blend range.
    pub limits: Vec<LimitState>,
    /// Most retard on any blend of the range at any rpm under the service conditions [deg].
    pub worst_retard_deg: f64,
    /// Whether every limit is kept.
    pub within_limits: bool,
    /// Weighted power over the samples, all run at the timing to start from [kW]; null when some fuel and rpm has no
    /// such timing.
    pub start_weighted_power_kw: Option<Band>,
    /// Power of each fuel over the samples, all run at the timing to start from, in the order of the fuels [kW]; null
    /// when some rpm has no such timing.
    pub start_power_kw: Vec<Option<Band>>,
}

/// What half a ratio is worth on one fuel, from the ordered ratio, with the ignition as fitted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HalfStep {
    /// Name of the fuel.
    pub fuel: String,
    /// Change of its power by 0.5 less of ratio, as a share [-]; none where the range ends before.
    pub less_frac: Option<Band>,
    /// Change of its power by 0.5 more of ratio, as a share [-]; none where the range ends before.
    pub more_frac: Option<Band>,
}

/// A piston that can be bought.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Piston {
    /// Its place among those listed, from 1: those within the limits first, then by weighted power.
    pub place: usize,
    /// What it gives.
    pub row: RatioRow,
    /// Weighted power against the ordered ratio, as a share over the samples [-]; none when no ratio keeps the limits.
    pub against_order_frac: Option<Band>,
}

/// Choosing for one fuel and running each.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Regret {
    /// Fuel the ratio is chosen for; none for the choice over all.
    pub chosen_for: Option<String>,
    /// The ratio to order for it within the limits on it; null when no ratio keeps them.
    pub compression_ratio: Option<f64>,
    /// What that costs on each fuel, in the order of the fuels.
    pub on: Vec<RegretOn>,
}

/// Running one fuel at a ratio chosen for another.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RegretOn {
    /// Mean power lost against the most within the limits on this fuel, as a share [-]; null when no ratio keeps them.
    pub power_lost_frac: Option<f64>,
    /// The limit that it is most over on this fuel; null when within all.
    pub passed: Option<LimitState>,
}

/// Ratios over a limit, and what would fix it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OutOfLimits {
    /// From this ratio [-].
    pub from_ratio: f64,
    /// To this ratio [-].
    pub to_ratio: f64,
    /// Ratio at which the failing limits are stated [-]: half a ratio above what is allowed.
    pub at_ratio: f64,
    /// Limits that it is over there.
    pub failing: Vec<Failing>,
    /// Nearest ratio that keeps every limit, in or below the range asked; none when there is none down to 6.
    pub nearest_ratio: Option<f64>,
}

/// A limit that is exceeded.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Failing {
    /// The limit and its worst blend.
    pub state: LimitState,
    /// Least ethanol content from which the limit is kept at that ratio by volume [-]; none when no content of the
    /// range does.
    pub least_ethanol_vol_frac: Option<f64>,
}

/// Octane margin over ratio and ethanol content under the service conditions, each the worst over rpm. Retard and torque
/// loss are at the knock limit, but without knock control those of the weakest blend at its timing to start from.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MarginMap {
    /// Compression ratios of the columns [-].
    pub compression_ratio: Vec<f64>,
    /// Ethanol contents of the rows by volume [-].
    pub ethanol_vol_frac: Vec<f64>,
    /// Octane margin at MBT timing by row and column [-].
    pub best_torque_octane_margin: Vec<Vec<f64>>,
    /// Retard from MBT timing by row and column [deg].
    pub retard_deg: Vec<Vec<f64>>,
    /// Torque lost to retard by row and column [-].
    pub torque_lost_frac: Vec<Vec<f64>>,
}

/// A whole choice.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Choice {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario.
    pub note: String,
    /// Compression ratio of the scenario [-].
    pub scenario_compression_ratio: f64,
    /// What is maximised, over the samples' mean.
    pub maximised: Maximised,
    /// The fuels and how much each counts.
    pub fuels: Vec<WeighedFuel>,
    /// What the engine has to run on and in.
    pub stood: StoodRange,
    /// Lowest ratio considered [-].
    pub lowest_ratio: f64,
    /// Highest ratio considered [-].
    pub highest_ratio: f64,
    /// Ignition as fitted.
    pub ignition: FittedIgnition,
    /// The ratio to order; null when no ratio of the range keeps the limits.
    pub order: Option<Order>,
    /// The ratio to order were one thing different; empty without an order.
    pub variants: Vec<Variant>,
    /// What each ignition would be worth; empty without an order.
    pub ignitions: Vec<IgnitionWorth>,
    /// The trade-off, by rising ratio; the ordered ratio is among the rows.
    pub curve: Vec<RatioRow>,
    /// What half a ratio from the ordered one is worth; empty without one.
    pub half_steps: Vec<HalfStep>,
    /// Pistons that can be bought, best first.
    pub pistons: Vec<Piston>,
    /// What choosing for one fuel costs on the others.
    pub regret: Vec<Regret>,
    /// Ranges of ratio over a limit.
    pub out_of_limits: Vec<OutOfLimits>,
    /// Margin over ratio and content.
    pub margin_map: MarginMap,
    /// Number of samples.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// Things the builder should know about this result.
    pub notices: Vec<ChoiceNotice>,
}
