//! Does what `endgas estimate` asks for.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::output::draw;
use super::progress::while_shown;
use clap::Args;
use endgas::estimate::estimate;

/// Arguments of `endgas estimate`.
#[derive(Args, Debug)]
pub(super) struct EstimateArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    #[command(flatten)]
    output: DrawnArgs,

    #[command(flatten)]
    sampling: SamplingArgs,
}

/// Runs `endgas estimate`. A limit of the scenario that is passed is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &EstimateArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), || {
        let job = input::asked(&args.scenario, args.sampling)?.job;
        Ok(while_shown("estimating", || estimate(&job))?)
    })
}
