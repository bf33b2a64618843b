//! Arguments of `endgas goal` as typed.

use super::args::{OutputArgs, SamplingArgs, ScenarioArgs};
use clap::Args;
use endgas::scenario::typed::POWER;

/// Arguments of `endgas goal`.
#[derive(Args, Debug)]
pub(super) struct GoalArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[arg(long, value_name = "POWER", value_parser = |typed: &str| POWER.read(typed), allow_hyphen_values = true,
        help = format!("Wanted power at the wheels, {}", POWER.help()))]
    pub(super) wheel_power: Option<f64>,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}
