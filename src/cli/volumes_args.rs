//! Arguments of `endgas volumes` as typed.

use super::args::{FormatArg, ScenarioArgs, UnitsArg};
use super::help;
use clap::{Args, ValueHint};
use endgas::scenario::typed::ratio;
use endgas::units::CompressionRatio;
use std::path::PathBuf;

/// Arguments of `endgas volumes`.
#[derive(Args, Debug)]
pub(super) struct VolumesArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Ratio that is wanted, 6 to 18: shows what each part must become
    #[arg(long, value_name = "RATIO", value_parser = ratio)]
    pub(super) ratio: Option<CompressionRatio>,

    /// Units of the result
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::VOLUMES_UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = FormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: FormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,
}
