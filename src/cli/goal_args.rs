//! Arguments of `endgas goal` as typed.

use super::args::{OutputArgs, SamplingArgs, ScenarioArgs};
use clap::Args;
use endgas::scenario::typed::wheel_power_kw;

/// Arguments of `endgas goal`.
#[derive(Args, Debug)]
pub(super) struct GoalArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Wanted power at the wheels, as "300 hp", "220 kW" or "300 PS" (metric); 2 to 2000 kW
    #[arg(long, value_name = "POWER", value_parser = wheel_power_kw, allow_hyphen_values = true)]
    pub(super) wheel_power: Option<f64>,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}
