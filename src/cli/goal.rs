//! Does what `endgas goal` asks for.

use super::common::{OutputArgs, SamplingArgs, ScenarioArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::input::{self, AskedRun};
use super::output::show;
use super::progress::while_shown;
use super::view::ShowArgs;
use clap::Args;
use endgas::estimate::estimate;
use endgas::goal::{Goal, goal};
use endgas::scenario::typed::POWER;

/// Arguments of `endgas goal`.
#[derive(Args, Debug)]
pub(super) struct GoalArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[arg(long, value_name = "POWER", value_parser = |typed: &str| POWER.read(typed), allow_hyphen_values = true,
        help = format!("Target power at the wheels, {}", POWER.help()))]
    pub(super) wheel_power: Option<f64>,

    #[command(flatten)]
    pub(super) show: ShowArgs<Goal>,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// Runs `endgas goal`. A goal that the likely case does not reach is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &GoalArgs) -> Result<Outcome, CliError> {
    show(&args.output, None, args.scenario.inputs(), args.show.view(), || {
        let wanted_kw = args.wheel_power.ok_or(CliError::NoGoal)?;
        let AskedRun { scenario, job, origin, .. } = input::asked(&args.scenario, args.sampling)?;
        while_shown("searching", || goal(&job, &estimate(&job)?, &scenario.costs, wanted_kw))
            .map_err(CliError::at(&origin))
    })
}
