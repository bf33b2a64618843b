//! Arguments of `endgas report` as typed.

use super::args::{ScenarioArgs, UnitsArg};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `endgas report`.
#[derive(Args, Debug)]
pub(super) struct ReportArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// Units of the page
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    pub(super) units: UnitsArg,

    /// HTML file to write; without it the page goes to standard output
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,

    /// Samples of the uncertain inputs, 50 to 20000
    #[arg(long, value_name = "N", default_value_t = 400, value_parser = clap::value_parser!(u32).range(50..=20_000))]
    pub(super) samples: u32,

    /// Seed of the samples; the same seed gives the same bytes
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
}
