//! The ratio to order and what it rests on, as a choice says it.

use super::ignition::Ignition;
use super::limit::LimitState;
use crate::engine::practice::{FuelGrade, PracticeClass};
use crate::engine::volumes::CrankingPressure;
use schemars::JsonSchema;
use serde::Serialize;

/// What ends the best on one side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "by")]
pub enum Bound {
    /// Weighted power falls on this side.
    Power,
    /// The range of ratios asked ends here.
    EndOfRange,
    /// A limit is exceeded on this side.
    Limit(LimitState),
}

/// The ratio to order.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Order {
    /// Compression ratio to order pistons for [-]: the lowest within the limits whose mean weighted power cannot be measured
    /// to be less than the most, to the next tenth.
    pub compression_ratio: f64,
    /// Lowest ratio whose mean weighted power a dynamometer does not tell from the most within the limits [-].
    pub same_from: f64,
    /// Highest such ratio within the limits [-].
    pub same_to: f64,
    /// Ratio of the most mean weighted power within the limits [-].
    pub most_power_ratio: f64,
    /// Difference of power that cannot be measured [-].
    pub measurable_frac: f64,
    /// What ends the most power towards lower ratios.
    pub below: Bound,
    /// What ends it towards higher ratios.
    pub above: Bound,
    /// Change of weighted power per 0.1 of ratio towards higher ratios, as a share [-].
    pub change_per_tenth_frac: f64,
    /// Octane numbers that the engine needs more for each whole ratio more, from the ordered one.
    pub octane_per_ratio: f64,
    /// The piston beside what is common.
    pub piston: PistonCheck,
    /// Most retard on the weakest blend below the rpm from which it is judged, under the service conditions; null where no
    /// rpm of the run lies below.
    pub low_speed: Option<LowSpeed>,
}

/// Retard below the rpm from which it is judged.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LowSpeed {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Retard from MBT timing there, likely case [deg].
    pub retard_deg: f64,
}

/// The piston of a ratio beside what builders and makers run.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PistonCheck {
    /// Class of build in which it is looked up.
    pub class: PracticeClass,
    /// Grade of the weakest fuel.
    pub grade: FuelGrade,
    /// Ratios that are run in that class on that grade [-].
    pub usual_ratio: UsualBand,
    /// Where that comes from.
    pub usual_ratio_source: &'static str,
    /// Ratio from inlet closing [-].
    pub ratio_from_inlet_closing: f64,
    /// Compression pressure at cranking speed; its ratio from the seated valve is what the trade calls dynamic.
    pub cranking: CrankingPressure,
    /// Cranking pressure that is usual on that grade, on the gauge [Pa] (common practice, no source).
    pub usual_cranking_gauge_pa: UsualBand,
    /// Ratio from the seated valve that is usual on that grade [-] (common practice, no source).
    pub usual_ratio_from_seated_valve: UsualBand,
    /// Volume above the flat piston deck that makes the ratio with the other measured volumes, valve reliefs apart
    /// [m3]; a dish is negative; null when no volumes were measured, as all that follows.
    pub dome_m3: Option<f64>,
    /// Dome over chamber volume [-].
    pub dome_share_frac: Option<f64>,
    /// Squish clearance, deck clearance plus gasket [m].
    pub squish_clearance_m: Option<f64>,
    /// How well the measured volumes give a ratio: half of the 10-90 % band [-].
    pub measured_ratio_tolerance: Option<f64>,
}

/// A band that is usual.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UsualBand {
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
}

/// The ratio to order were one thing different.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Variant {
    /// What is different.
    pub kind: VariantKind,
    /// The ratio to order then [-]; null when none down to the lowest asked is within the limits.
    pub compression_ratio: Option<f64>,
    /// Whether every ratio up to the highest asked is then within the limits, so that a wider range might order more.
    pub ends_the_range: bool,
}

/// What is different.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case", tag = "change")]
pub enum VariantKind {
    /// The weather of the scenario in place of the hot day.
    NoHotDay,
    /// An intake that is not soaked with heat.
    NoHeatSoak,
    /// A clean engine.
    NoDeposits,
    /// A tank of the posted octane number.
    NoWeakTank,
    /// The likely ethanol content of the weakest fuel in place of the worst of the range.
    LikelyEthanol,
    /// A tank a grade lower than asked for.
    GradeLower {
        /// Octane numbers less.
        octane: f64,
    },
    /// A hotter day.
    Hotter {
        /// How much hotter [K].
        air_k: f64,
    },
    /// An intake soaked with heat, or towing.
    HeatSoak {
        /// How much hotter the air it draws [K].
        air_k: f64,
    },
    /// Better volumetric efficiency at every rpm.
    BetterFilling {
        /// By which share [-].
        frac: f64,
    },
    /// An inlet valve that closes later at the same volumetric efficiency.
    LaterInletClosing {
        /// By how much [deg].
        deg: f64,
    },
    /// An engine that needs more octane than the model says.
    NeedsMore {
        /// Octane numbers more.
        octane: f64,
    },
    /// An engine that needs less octane than the model says.
    NeedsLess {
        /// Octane numbers less.
        octane: f64,
    },
    /// Known knock points that confirm the model, and leave nothing of its uncertainty.
    KnownKnock,
    /// Another ignition.
    Ignition {
        /// Which.
        ignition: Ignition,
    },
}

/// What an ignition would be worth at its own ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IgnitionWorth {
    /// Which ignition.
    pub ignition: Ignition,
    /// The ratio to order with it [-]; null when none down to the lowest asked is within the limits.
    pub compression_ratio: Option<f64>,
    /// Likely power of each fuel with it at the ordered ratio, in the order of the fuels [kW].
    pub power_kw_here: Vec<f64>,
    /// The same at its own ratio [kW]; empty without one.
    pub power_kw_there: Vec<f64>,
}
