//! Does what `endgas fueling` asks for.

use super::args::SamplingArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::fueling_args::FuelingArgs;
use super::input::{self, Asked};
use super::output::show;
use endgas::fueling::fueling;

/// Samples of filling and mixture behind the bands; they cost no cycle.
const SAMPLING: SamplingArgs = SamplingArgs { samples: 1000, seed: 1 };

/// Runs `endgas fueling`. Stated injectors, pump or limits that are not enough are a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelingArgs) -> Result<Outcome, CliError> {
    show(&args.output, args.plot.as_deref(), args.scenario.inputs(), || {
        let Asked { scenario, job, .. } = input::asked(&args.scenario, SAMPLING)?;
        Ok(fueling(&job, &scenario.fueling)?)
    })
}
