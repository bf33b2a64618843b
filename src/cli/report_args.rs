//! Arguments of `endgas report` as typed.

use super::args::{SamplingArgs, ScenarioArgs, UnitsArg};
use clap::{Args, ValueHint};
use endgas::scenario::typed::POWER;
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
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,

    #[arg(long, value_name = "POWER", value_parser = |typed: &str| POWER.read(typed), allow_hyphen_values = true,
        help = format!("Also judge a wanted power at the wheels, {}", POWER.help()))]
    pub(super) wheel_power: Option<f64>,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}
