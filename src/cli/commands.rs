//! The commands: what can be typed, and where each is done.

use super::breathing::{self, BreathingArgs};
use super::choose::{self, ChooseArgs};
use super::dyno;
use super::dyno_args::DynoArgs;
use super::error::CliError;
use super::estimate::{self, EstimateArgs};
use super::exit::Outcome;
use super::fuel::{self, FuelArgs};
use super::fueling::{self, FuelingArgs};
use super::goal::{self, GoalArgs};
use super::help;
use super::interrupt;
use super::live::{self, LiveArgs};
use super::new::{self, NewArgs};
use super::output::to_stdout;
use super::report::{self, ReportArgs};
use super::schema::{self, SchemaArgs};
use super::shell::{self, CompletionsArgs, ManArgs};
use super::spark::{self, SparkArgs};
use super::volumes::{self, VolumesArgs};
use clap::{CommandFactory as _, Parser, Subcommand};
use std::ffi::OsString;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = help::NAME, version, about = help::ABOUT, after_long_help = help::TERMS)]
pub(super) struct CommandLine {
    #[command(subcommand)]
    pub(super) command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Estimate power, timing and knock margin of one build on its fuels
    #[command(long_about = help::ESTIMATE, after_long_help = help::TERMS)]
    Estimate(EstimateArgs),
    /// Choose the compression ratio for the fuels the engine may see
    #[command(long_about = help::CHOOSE, after_long_help = help::CHOOSE_TERMS)]
    Choose(ChooseArgs),
    /// Timing tables over rpm and load on your own breakpoints, one per fuel and ethanol content
    #[command(long_about = help::SPARK, after_long_help = help::TERMS)]
    Spark(SparkArgs),
    /// Judge a dyno pull: can its figures be believed, and what do they imply
    #[command(long_about = help::DYNO, after_long_help = help::DYNO_NOTES)]
    Dyno(DynoArgs),
    /// Judge a target wheel power: what you need for it, its chance, and what would reach it
    #[command(long_about = help::GOAL, after_long_help = help::TERMS)]
    Goal(GoalArgs),
    /// Size injectors and pump, check stated ones, and show mechanical limits
    #[command(long_about = help::FUELING, after_long_help = help::TERMS)]
    Fueling(FuelingArgs),
    /// Show what cam, ports and pipes make of the VE, and what a change of each is worth
    #[command(long_about = help::BREATHING, after_long_help = help::TERMS)]
    Breathing(BreathingArgs),
    /// Show the properties of fuels and of mixtures in a tank
    #[command(long_about = help::FUELS, after_long_help = help::FUEL_EXAMPLES)]
    Fuel(FuelArgs),
    /// Show what measured volumes make of the compression ratio, and what another ratio takes
    #[command(long_about = help::VOLUMES, after_long_help = help::VOLUMES_TERMS)]
    Volumes(VolumesArgs),
    /// Write one HTML page on a build, to show and to print
    #[command(long_about = help::REPORT, after_long_help = help::REPORT_TERMS)]
    Report(ReportArgs),
    /// Move ratio, fuel, weather and more on a page in a browser and see the curves follow
    #[command(long_about = help::LIVE, after_long_help = help::LIVE_EXAMPLES)]
    Live(LiveArgs),
    /// Write a commented starter scenario to begin from
    #[command(long_about = help::NEW)]
    New(NewArgs),
    /// Print the JSON schema of a scenario or fuel file, by which an editor checks and completes
    #[command(long_about = help::SCHEMA)]
    Schema(SchemaArgs),
    /// Print the script by which a shell completes commands, options and files
    #[command(long_about = help::COMPLETIONS)]
    Completions(CompletionsArgs),
    /// Write manual pages, one for each command
    #[command(long_about = help::MAN)]
    Man(ManArgs),
}

impl Command {
    fn run(&self) -> Result<Outcome, CliError> {
        match self {
            Self::Estimate(args) => estimate::run(args),
            Self::Choose(args) => choose::run(args),
            Self::Spark(args) => spark::run(args),
            Self::Dyno(args) => dyno::run(args),
            Self::Goal(args) => goal::run(args),
            Self::Fueling(args) => fueling::run(args),
            Self::Breathing(args) => breathing::run(args),
            Self::Fuel(args) => fuel::run(args),
            Self::Volumes(args) => volumes::run(args),
            Self::Report(args) => report::run(args),
            Self::Live(args) => live::run(args),
            Self::New(args) => new::run(args),
            Self::Schema(args) => schema::run(args),
            Self::Completions(args) => shell::completions(args, CommandLine::command()),
            Self::Man(args) => shell::man(args, CommandLine::command()),
        }
    }
}

/// Runs a command line, the name of the program first.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(crate) fn run(arguments: impl IntoIterator<Item = OsString>) -> Result<Outcome, CliError> {
    interrupt::watch();
    match CommandLine::try_parse_from(arguments) {
        Ok(line) => line.command.run(),
        Err(error) if error.use_stderr() => Err(CliError::Usage(error)),
        // Help or version was asked for.
        Err(error) => to_stdout(&error.render().to_string()).map(|_| Outcome::Done),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arguments_are_consistent() {
        CommandLine::command().debug_assert();
    }

    #[test]
    fn every_help_fits_100_columns() {
        let mut root = CommandLine::command();
        root.build();
        check_width(&mut root);
    }

    fn check_width(command: &mut clap::Command) {
        for text in [command.render_help().to_string(), command.render_long_help().to_string()] {
            let widest = text.lines().max_by_key(|line| line.chars().count()).unwrap();
            assert!(widest.chars().count() <= 100, "{}: {widest}", command.get_name());
        }
        command.get_subcommands_mut().filter(|sub| sub.get_name() != "help").for_each(check_width);
    }
}
