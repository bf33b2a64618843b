//! How the timing is set when the fuel changes.

use crate::engine::Injection;
use schemars::JsonSchema;
use serde::Serialize;

/// Ignition as fitted: which timing each tank is run at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Ignition {
    /// Knock sensors that bring every tank to its own knock limit, from a map at MBT timing.
    KnockControl,
    /// No knock control, but a map for each fuel, chosen by a fuel-composition sensor or a switch: each fuel runs at its
    /// timing to start from.
    MapPerFuel,
    /// No knock control and one curve for all fuels, a distributor or a single map: every tank runs at the timing to start
    /// from of the weakest fuel.
    OneMap,
}

impl Ignition {
    /// All of them, from the one that makes most of a fuel to the one that makes least.
    pub const ALL: [Self; 3] = [Self::KnockControl, Self::MapPerFuel, Self::OneMap];

    /// What is taken when none is stated: engines with direct injection have knock control; any other engine may be
    /// filled with anything and told of nothing (common practice, no source; a judgement on the careful side).
    pub fn usual(injection: Injection) -> Self {
        match injection {
            Injection::Direct => Self::KnockControl,
            Injection::Port => Self::OneMap,
        }
    }

    /// Whether every tank finds its own knock limit.
    pub fn has_knock_control(self) -> bool {
        self == Self::KnockControl
    }
}
