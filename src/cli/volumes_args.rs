//! Arguments of `endgas volumes` as typed.

use super::args::{OutputArgs, ScenarioArgs};
use clap::Args;
use endgas::scenario::typed::ratio;
use endgas::units::CompressionRatio;
use endgas::units::stated::COMPRESSION_RATIO;

/// Arguments of `endgas volumes`.
#[derive(Args, Debug)]
pub(super) struct VolumesArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[arg(long, value_name = "RATIO", value_parser = ratio,
        help = format!("Ratio that is wanted, {}: shows what each part must become", COMPRESSION_RATIO.ends()))]
    pub(super) ratio: Option<CompressionRatio>,

    #[command(flatten)]
    pub(super) output: OutputArgs,
}
