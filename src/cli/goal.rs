//! Does what `endgas goal` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::goal_args::GoalArgs;
use super::input;
use super::output::show;
use super::progress::while_shown;
use endgas::goal::goal;

/// Runs `endgas goal`. A goal that the likely case does not reach is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &GoalArgs) -> Result<Outcome, CliError> {
    show(&args.output, None, args.scenario.inputs(), || {
        let wanted_kw = args.wheel_power.ok_or(CliError::NoGoal)?;
        let job = input::asked(&args.scenario, args.sampling)?.job;
        Ok(while_shown("searching", || goal(&job, wanted_kw))?)
    })
}
