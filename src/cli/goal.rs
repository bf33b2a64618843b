//! Does what `endgas goal` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::goal_args::{GoalArgs, GoalFormatArg};
use super::input;
use super::output::{Delivery, Rendered, Targets};
use super::progress::while_shown;
use endgas::goal::goal;
use endgas::report::{Format, goal_schema, render_goal};

/// Runs `endgas goal`. A goal that the likely case does not reach is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &GoalArgs) -> Result<Outcome, CliError> {
    let targets = Targets { out: args.out.as_deref(), plot: None, inputs: args.scenario.inputs() };
    let format = match args.format {
        GoalFormatArg::Text => Format::Text,
        GoalFormatArg::Json => Format::Json,
        GoalFormatArg::Schema => {
            return targets.deliver_schema(goal_schema());
        }
    };
    let wanted_kw = args.wheel_power.ok_or(CliError::NoGoal)?;
    let job = input::asked(&args.scenario, args.sampling)?.job;
    targets.check()?;
    let goal = while_shown("searching", || goal(&job, wanted_kw))?;
    let rendered = Rendered { document: render_goal(&goal, format, args.units.into())?, plots: Vec::new() };
    Ok(match targets.deliver(&rendered)? {
        Delivery::Whole if !goal.reached_in_likely_case => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}
