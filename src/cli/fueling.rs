//! Does what `endgas fueling` asks for.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, AskedRun};
use super::output::draw;
use clap::Args;
use endgas::fueling::fueling;
use endgas::report::View;

/// Samples of VE and mixture behind the bands; they cost no cycle.
const SAMPLING: SamplingArgs = SamplingArgs { samples: 1000, seed: 1 };

/// Arguments of `endgas fueling`.
#[derive(Args, Debug)]
pub(super) struct FuelingArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[command(flatten)]
    pub(super) output: DrawnArgs,
}

/// Runs `endgas fueling`. Stated injectors, pump or limits that are not enough are a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelingArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), View::screen(), || {
        let AskedRun { scenario, job, origin, .. } = input::asked(&args.scenario, SAMPLING)?;
        fueling(&job, &scenario.fueling).map_err(CliError::at(&origin))
    })
}
