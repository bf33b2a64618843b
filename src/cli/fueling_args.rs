//! Arguments of `endgas fueling` as typed.

use super::args::{OutputArgs, ScenarioArgs};
use clap::Args;

/// Arguments of `endgas fueling`.
#[derive(Args, Debug)]
pub(super) struct FuelingArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[command(flatten)]
    pub(super) output: OutputArgs,
}
