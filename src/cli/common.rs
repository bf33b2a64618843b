//! Arguments that several commands share, as typed.

use super::build_args::BuildArgs;
use super::help;
use super::weather::WeatherArgs;
use clap::builder::{OsStringValueParser, TypedValueParser as _};
use clap::{Args, ColorChoice, ValueEnum, ValueHint};
use endgas::report::{Format, Units};
use std::path::{Path, PathBuf};

/// What to run: a scenario and its fuels.
#[derive(Args, Clone, Debug)]
pub(super) struct ScenarioArgs {
    /// Scenario file (TOML); without it the built-in example is run
    #[arg(value_hint = ValueHint::FilePath)]
    pub(super) scenario: Option<PathBuf>,

    /// Fuel name or recipe by volume, in place of the scenario's; repeatable
    #[arg(long, value_name = "FUEL", value_parser = fuel_spec, long_help = help::FUEL)]
    pub(super) fuel: Vec<String>,

    #[command(flatten)]
    pub(super) folder: FolderArgs,

    #[command(flatten)]
    pub(super) weather: WeatherArgs,

    #[command(flatten)]
    pub(super) build: BuildArgs,
}

impl ScenarioArgs {
    /// Files that are read and must not be written over.
    pub(super) fn inputs(&self) -> Vec<&Path> {
        self.scenario.iter().map(PathBuf::as_path).collect()
    }
}

/// Where fuels of your own are.
#[derive(Args, Clone, Debug)]
pub(super) struct FolderArgs {
    /// Folder of your own fuel files (*.toml)
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, env = "ENDGAS_FUELS", hide_env_values = true,
        long_help = help::FOLDER, value_parser = OsStringValueParser::new().map(PathBuf::from))]
    fuel_folder: Option<PathBuf>,
}

impl FolderArgs {
    /// The folder, where there is one.
    pub(super) fn path(&self) -> Option<&Path> {
        self.fuel_folder.as_deref()
    }
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

    /// Colour of the text on standard output; a file never has any
    #[arg(long, value_enum, value_name = "WHEN", default_value_t = ColorChoice::Auto, long_help = help::COLOR)]
    pub(super) color: ColorChoice,

    /// Write the result to a file instead of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(super) out: Option<PathBuf>,
}

/// How a result that can be drawn is given.
#[derive(Args, Debug)]
pub(super) struct DrawnArgs {
    #[command(flatten)]
    pub(super) written: OutputArgs,

    /// Also write plots (SVG and PNG) into a folder, which is made if missing
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(super) plot: Option<PathBuf>,
}

/// Samples of the uncertain inputs.
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
    /// hp, lb-ft, psi, F, lb/(hp h), gal, lb/gal, Btu, in
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
