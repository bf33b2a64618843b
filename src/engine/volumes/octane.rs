//! What more ratio asks of octane, as the estimate of the engine has it.

use schemars::JsonSchema;
use serde::Serialize;

/// Published slopes of the octane requirement over ratio [octane numbers per unit of ratio], least and most, against
/// which the model's is held.
///
/// Source: 4 from ratio 9 to 12 in a table of the Gasoline FAQ v1.12 (B. Hamilton, 1996), carburetted engines at full
/// load; 3 to 6 of modern engines: Stone, Introduction to Internal Combustion Engines, and Leone et al., Environ. Sci.
/// Technol. 49 (2015) 10778 (both from memory).
pub const PUBLISHED_OCTANE_PER_RATIO: (f64, f64) = (3.0, 6.0);

/// Slope of the octane requirement of an engine over its ratio, MBT timing at either ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OctaneSlope {
    /// Octane numbers more per unit of ratio.
    pub per_ratio: f64,
    /// Engine speed for which it holds [rpm]: that of the greatest requirement at or above peak torque.
    pub speed_rpm: f64,
    /// Name of the fuel for which it holds.
    pub fuel: String,
}

/// Change of the octane requirement, MBT timing at either ratio.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OctaneChange {
    /// In the likely case [octane numbers]; positive asks for more.
    pub likely: f64,
    /// The slope behind it [octane numbers per unit of ratio].
    pub per_ratio: f64,
}

impl OctaneChange {
    /// What a change of ratio [-] asks at a slope [octane numbers per unit of ratio].
    pub(super) fn of_ratio(ratio_change: f64, per_ratio: f64) -> Self {
        Self { likely: per_ratio * ratio_change, per_ratio }
    }
}
