//! Corrected power in the JSON form.

use crate::estimate::{Band, PowerCorrection};
use schemars::JsonSchema;
use serde::Serialize;

/// Peak power at the crank, brought to the reference day of a standard.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CorrectedPower {
    /// Name of the standard, as in `corrections`.
    pub standard: String,
    /// Corrected peak power at the crank [kW].
    pub crank_power_kw: Band,
}

impl CorrectedPower {
    /// Peak power at the crank by one standard.
    pub(super) fn new(correction: &PowerCorrection, crank: Band) -> Self {
        let crank_power_kw = crank.times(correction.factor);
        Self { standard: correction.standard.to_owned(), crank_power_kw }
    }
}
