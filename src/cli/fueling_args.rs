//! Arguments of `endgas fueling` as typed.

use super::args::{FormatArg, ScenarioArgs, UnitsArg};
use super::help;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `endgas fueling`.
#[derive(Args, Debug)]
pub(super) struct FuelingArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Units of the result
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = FormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: FormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
}
