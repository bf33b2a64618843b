//! Arguments of `endgas volumes` as typed.

use super::args::{OutputArgs, ScenarioArgs};
use clap::Args;
use endgas::scenario::typed::ratio;
use endgas::units::CompressionRatio;

/// Arguments of `endgas volumes`.
#[derive(Args, Debug)]
pub(super) struct VolumesArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Ratio that is wanted, 6 to 18: shows what each part must become
    #[arg(long, value_name = "RATIO", value_parser = ratio)]
    pub(super) ratio: Option<CompressionRatio>,

    #[command(flatten)]
    pub(super) output: OutputArgs,
}
