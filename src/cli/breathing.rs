//! Does what `endgas breathing` asks for.

use super::common::{DrawnArgs, FormatArg, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::output::draw;
use super::progress::while_shown;
use super::view::ShowArgs;
use clap::Args;
use endgas::estimate::{Extent, PipedBreathing, breathing_on_pipes};
use endgas::report::{ALL, TAKEN_AWAY, WORTHS};

/// Samples of what moves VE behind its band; they cost no cycle.
const SAMPLING: SamplingArgs = SamplingArgs { samples: 1000, seed: 1 };

/// Arguments of `endgas breathing`.
#[derive(Args, Debug)]
pub(super) struct BreathingArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    #[command(flatten)]
    show: ShowArgs<PipedBreathing>,

    #[command(flatten)]
    output: DrawnArgs,
}

/// Runs `endgas breathing`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &BreathingArgs) -> Result<Outcome, CliError> {
    draw(&args.output, args.scenario.inputs(), args.show.view(), || {
        let scenario = input::scenario_on_pipes(&args.scenario)?;
        let library = input::library(args.scenario.folder.path())?;
        let extent = extent(args);
        while_shown("computing the gas dynamics", || {
            let job = input::job_of(&scenario, &library, &args.scenario, SAMPLING)?;
            let line = scenario.pipes.as_ref().map_or(0, |pipes| pipes.line);
            let place = format!("{}:{line}: [breathing.pipes]", scenario.file);
            breathing_on_pipes(&job, extent).map_err(|source| CliError::Piped { place, source })
        })
    })
}

/// What is shown is computed, and no more: JSON holds everything, the plots hold the parts.
fn extent(args: &BreathingArgs) -> Extent {
    let is_json = args.output.written.format == FormatArg::Json;
    let shows = |part: &str| args.show.parts().iter().any(|shown| shown == part || shown == ALL);
    Extent {
        worths: is_json || shows(WORTHS),
        parts: is_json || shows(TAKEN_AWAY) || args.output.plot.is_some(),
    }
}
