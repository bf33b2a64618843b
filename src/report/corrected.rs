//! Corrected power in the JSON form.

use crate::estimate::{self, Band};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Factor that brings a power of this day to the reference day of a standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Correction {
    /// Name of the standard.
    pub standard: String,
    /// Corrected power = power of the day times this [-].
    pub factor: f64,
    /// What of the day lies outside the range of the standard; null when it applies.
    pub outside: Option<String>,
}

/// Peak power at the crank, brought to the reference day of a standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CorrectedPower {
    /// Name of the standard, as in `corrections`.
    pub standard: String,
    /// Corrected peak power at the crank [kW].
    pub crank_power_kw: Band,
}

impl From<&estimate::PowerCorrection> for Correction {
    fn from(c: &estimate::PowerCorrection) -> Self {
        Self { standard: c.standard.to_owned(), factor: c.factor, outside: c.outside.clone() }
    }
}

impl CorrectedPower {
    /// Peak power at the crank by one standard.
    pub(super) fn new(correction: &estimate::PowerCorrection, crank: Band) -> Self {
        let crank_power_kw = crank.times(correction.factor);
        Self { standard: correction.standard.to_owned(), crank_power_kw }
    }
}
