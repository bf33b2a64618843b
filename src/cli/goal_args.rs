//! Arguments of `endgas goal` as typed.

use super::args::{SamplingArgs, ScenarioArgs, UnitsArg};
use super::help;
use clap::{Args, ValueEnum, ValueHint};
use endgas::scenario::typed::wheel_power_kw;
use std::path::PathBuf;

/// Arguments of `endgas goal`.
#[derive(Args, Debug)]
pub(super) struct GoalArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Wanted power at the wheels, as "300 hp", "220 kW" or "300 PS" (metric); 2 to 2000 kW
    #[arg(long, value_name = "POWER", value_parser = wheel_power_kw, allow_hyphen_values = true)]
    pub(super) wheel_power: Option<f64>,

    /// Units of the text
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = GoalFormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: GoalFormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// Form of a goal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum GoalFormatArg {
    /// Tables for a person, at most 100 columns wide
    Text,
    /// One document with stable keys
    Json,
    /// The JSON schema of the json form
    Schema,
}
