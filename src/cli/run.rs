//! Does what was asked.

use super::args::{Command, CommandLine, EstimateArgs};
use super::choose;
use super::dyno;
use super::error::CliError;
use super::exit::Outcome;
use super::fuel;
use super::fueling;
use super::goal;
use super::input;
use super::interrupt;
use super::live;
use super::new;
use super::output::{show, to_stdout};
use super::progress::while_shown;
use super::report;
use super::schema;
use super::shell;
use super::spark;
use super::volumes;
use clap::Parser as _;
use endgas::estimate::estimate;
use std::ffi::OsString;

/// Runs a command line, the name of the program first.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(crate) fn run(arguments: impl IntoIterator<Item = OsString>) -> Result<Outcome, CliError> {
    interrupt::watch();
    match CommandLine::try_parse_from(arguments) {
        Ok(CommandLine { command: Command::Estimate(args) }) => run_estimate(&args),
        Ok(CommandLine { command: Command::Choose(args) }) => choose::run(&args),
        Ok(CommandLine { command: Command::Spark(args) }) => spark::run(&args),
        Ok(CommandLine { command: Command::Dyno(args) }) => dyno::run(&args),
        Ok(CommandLine { command: Command::Goal(args) }) => goal::run(&args),
        Ok(CommandLine { command: Command::Fueling(args) }) => fueling::run(&args),
        Ok(CommandLine { command: Command::Fuel(args) }) => fuel::run(&args),
        Ok(CommandLine { command: Command::Volumes(args) }) => volumes::run(&args),
        Ok(CommandLine { command: Command::Report(args) }) => report::run(&args),
        Ok(CommandLine { command: Command::Live(args) }) => live::run(&args),
        Ok(CommandLine { command: Command::New(args) }) => new::run(&args),
        Ok(CommandLine { command: Command::Schema(args) }) => schema::run(&args),
        Ok(CommandLine { command: Command::Completions(args) }) => shell::completions(&args),
        Ok(CommandLine { command: Command::Man(args) }) => shell::man(&args),
        Err(error) if error.use_stderr() => Err(CliError::Usage(error)),
        // Help or version was asked for.
        Err(error) => to_stdout(&error.render().to_string()).map(|_| Outcome::Done),
    }
}

fn run_estimate(args: &EstimateArgs) -> Result<Outcome, CliError> {
    show(&args.output, args.plot.as_deref(), args.scenario.inputs(), || {
        let job = input::asked(&args.scenario, args.sampling)?.job;
        Ok(while_shown("estimating", || estimate(&job))?)
    })
}
