//! Does what `endgas estimate` asks for.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs, fuel_spec};
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::input;
use super::output::draw;
use super::progress::while_shown;
use super::view::ShowArgs;
use clap::Args;
use endgas::estimate::{Estimate, estimate};
use endgas::report::ShownFuels;

/// Arguments of `endgas estimate`.
#[derive(Args, Debug)]
pub(super) struct EstimateArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    #[command(flatten)]
    show: ShowArgs<Estimate>,

    /// Fuel on which the parts of --show are shown; default: the one that limits; repeatable
    #[arg(long, value_name = "FUEL", requires = "show", value_parser = fuel_spec, long_help = help::SHOW_FUEL)]
    show_fuel: Vec<String>,

    #[command(flatten)]
    output: DrawnArgs,

    #[command(flatten)]
    sampling: SamplingArgs,
}

/// Runs `endgas estimate`. An engine over a limit of the scenario is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &EstimateArgs) -> Result<Outcome, CliError> {
    let fuels = match (args.show_fuel.is_empty(), args.scenario.fuel.is_empty()) {
        (false, _) => ShownFuels::Named(args.show_fuel.clone()),
        (true, true) => ShownFuels::Limiting,
        (true, false) => ShownFuels::All,
    };
    draw(&args.output, args.scenario.inputs(), args.show.on(fuels), || {
        let job = input::asked(&args.scenario, args.sampling)?.job;
        let known: Vec<String> = job.fuels.iter().map(|choice| choice.fuel.name.clone()).collect();
        if let Some(spec) = args.show_fuel.iter().find(|spec| !known.contains(spec)) {
            return Err(CliError::NotInRun { spec: spec.clone(), known });
        }
        Ok(while_shown("estimating", || estimate(&job))?)
    })
}
