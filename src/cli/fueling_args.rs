//! Arguments of `endgas fueling` as typed.

use super::args::{OutputArgs, ScenarioArgs};
use clap::{Args, ValueHint};
use std::path::PathBuf;

/// Arguments of `endgas fueling`.
#[derive(Args, Debug)]
pub(super) struct FuelingArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    /// Also write a plot (SVG and PNG) into a folder, which is made if missing
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(super) plot: Option<PathBuf>,
}
