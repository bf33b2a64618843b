//! Arguments as typed.

use super::choose_args::ChooseArgs;
use super::dyno_args::DynoArgs;
use super::fuel_args::FuelArgs;
use super::fueling_args::FuelingArgs;
use super::goal_args::GoalArgs;
use super::help;
use super::live::LiveArgs;
use super::new::NewArgs;
use super::report_args::ReportArgs;
use super::schema::SchemaArgs;
use super::shell::{CompletionsArgs, ManArgs};
use super::volumes_args::VolumesArgs;
use super::weather::WeatherArgs;
use clap::builder::{OsStringValueParser, TypedValueParser as _};
use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};
use endgas::estimate::spark_map::Reserve;
use endgas::report::{Format, Units};
use std::path::{Path, PathBuf};

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
    /// Estimate power, spark and knock margin of one build on its fuels
    #[command(long_about = help::ESTIMATE, after_long_help = help::TERMS)]
    Estimate(EstimateArgs),
    /// Choose the compression ratio for the fuels the engine may see
    #[command(long_about = help::CHOOSE, after_long_help = help::CHOOSE_TERMS)]
    Choose(ChooseArgs),
    /// Map the spark that knock allows over speed and load, or over speed and ethanol content
    #[command(long_about = help::SPARK, after_long_help = help::TERMS)]
    Spark(SparkArgs),
    /// Judge a dyno pull: can its figures be believed, and what do they imply
    #[command(long_about = help::DYNO, after_long_help = help::DYNO_NOTES)]
    Dyno(DynoArgs),
    /// Judge a wanted wheel power: what it asks of the build, its chance, and what would reach it
    #[command(long_about = help::GOAL, after_long_help = help::TERMS)]
    Goal(GoalArgs),
    /// Size injectors and pump, check stated ones, and show mechanical limits
    #[command(long_about = help::FUELING, after_long_help = help::TERMS)]
    Fueling(FuelingArgs),
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

/// What to run: a scenario and its fuels.
#[derive(Args, Clone, Debug)]
pub(super) struct ScenarioArgs {
    /// Scenario file (TOML); without it the built-in example is run
    #[arg(value_hint = ValueHint::FilePath)]
    pub(super) scenario: Option<PathBuf>,

    /// Fuel name or recipe by volume, in place of the scenario's; repeatable
    #[arg(long, value_name = "FUEL", value_parser = fuel_spec, long_help = help::FUEL)]
    pub(super) fuel: Vec<String>,

    /// Folder of your own fuel files (*.toml)
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, env = "ENDGAS_FUELS", hide_env_values = true,
        long_help = help::FOLDER, value_parser = OsStringValueParser::new().map(PathBuf::from))]
    pub(super) fuel_folder: Option<PathBuf>,

    #[command(flatten)]
    pub(super) weather: WeatherArgs,
}

impl ScenarioArgs {
    /// Files that are read and must not be written over.
    pub(super) fn inputs(&self) -> Vec<&Path> {
        self.scenario.iter().map(PathBuf::as_path).collect()
    }
}

/// Arguments of `endgas spark`.
#[derive(Args, Debug)]
pub(super) struct SparkArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    /// What the rows of the map step through
    #[arg(long, value_enum, default_value_t = OverArg::Pressure)]
    pub(super) over: OverArg,

    /// What to keep in hand, "2 deg" of spark or "1.5 octane"; the scenario's reserve without it
    #[arg(long, value_name = "RESERVE", value_parser = super::spark::read_reserve)]
    pub(super) reserve: Option<Reserve>,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    /// Also write a plot per fuel (SVG and PNG) into a folder, which is made if missing
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(super) plot: Option<PathBuf>,
}

/// Rows of a spark map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum OverArg {
    /// Manifold pressure, 60 to 100 % of ambient
    Pressure,
    /// Ethanol content of the fuel's base, 0 to 85 % by volume, at full throttle
    Ethanol,
}

/// Arguments of `endgas estimate`.
#[derive(Args, Debug)]
pub(super) struct EstimateArgs {
    #[command(flatten)]
    pub(super) scenario: ScenarioArgs,

    #[command(flatten)]
    pub(super) output: OutputArgs,

    /// Also write plots (SVG and PNG) into a folder, which is made if missing
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(super) plot: Option<PathBuf>,

    #[command(flatten)]
    pub(super) sampling: SamplingArgs,
}

/// How a result is given.
#[derive(Args, Debug)]
pub(super) struct OutputArgs {
    /// Units of the result
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric, long_help = help::UNITS)]
    pub(super) units: UnitsArg,

    /// Form of result
    #[arg(long, value_enum, default_value_t = FormatArg::Text, long_help = help::FORMAT)]
    pub(super) format: FormatArg,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,
}

/// Samples of what is not known.
#[derive(Args, Clone, Copy, Debug)]
pub(super) struct SamplingArgs {
    /// Samples of the uncertain inputs, 50 to 20000
    #[arg(long, value_name = "N", default_value_t = 400, value_parser = clap::value_parser!(u32).range(50..=20_000))]
    pub(super) samples: u32,

    /// Seed of the samples; the same seed gives the same bytes
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
}

/// Units on output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum UnitsArg {
    /// kW, N m, bar, C, g/kWh, L, kg/m3, MJ, mm
    Metric,
    /// hp, lbf ft, psi, F, lb/(hp h), gal, lb/gal, Btu, in
    Us,
}

impl From<UnitsArg> for Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Metric => Self::Metric,
            UnitsArg::Us => Self::Us,
        }
    }
}

/// Form of the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FormatArg {
    /// Tables for a person, at most 100 columns wide
    Text,
    /// One document with stable keys
    Json,
    /// Rows of numbers, units in the header
    Csv,
    /// The JSON schema of the json form
    Schema,
}

impl FormatArg {
    /// The form of a rendered result; none when its schema is asked for.
    pub(super) fn rendered(self) -> Option<Format> {
        match self {
            Self::Text => Some(Format::Text),
            Self::Json => Some(Format::Json),
            Self::Csv => Some(Format::Csv),
            Self::Schema => None,
        }
    }
}

/// A name or recipe, trimmed.
pub(super) fn fuel_spec(typed: &str) -> Result<String, &'static str> {
    let spec = typed.trim();
    if spec.is_empty() || spec.contains(endgas::printable::is_hidden) {
        return Err("a fuel is printable text, not empty");
    }
    Ok(spec.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

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
