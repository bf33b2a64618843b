//! Arguments of `endgas fuel` as typed.

use super::args::OutputArgs;
use super::help;
use clap::builder::{OsStringValueParser, TypedValueParser as _};
use clap::{Args, Subcommand, ValueHint};
use std::path::PathBuf;

/// Arguments of `endgas fuel`.
#[derive(Args, Debug)]
#[command(args_conflicts_with_subcommands = true, disable_help_subcommand = true)]
pub(super) struct FuelArgs {
    #[command(subcommand)]
    pub(super) command: Option<FuelCommand>,

    /// Fuel name or recipe by volume; several are shown side by side
    #[arg(value_name = "FUEL")]
    pub(super) fuels: Vec<String>,

    /// List the names of all fuels and components
    #[arg(long, conflicts_with_all = ["fuels", "sweep", "plot", "units", "format"])]
    pub(super) list: bool,

    /// Show the base of one fuel with ethanol from 0 to 100 %
    #[arg(long)]
    pub(super) sweep: bool,

    /// Also write plots of the sweep (SVG and PNG) into a folder
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath, requires = "sweep")]
    pub(super) plot: Option<PathBuf>,

    #[command(flatten)]
    pub(super) asked: FuelOutput,
}

/// What all forms of `endgas fuel` take.
#[derive(Args, Debug)]
pub(super) struct FuelOutput {
    /// Folder of your own fuel files (*.toml)
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, env = "ENDGAS_FUELS", hide_env_values = true,
        long_help = help::FOLDER, value_parser = OsStringValueParser::new().map(PathBuf::from))]
    pub(super) fuel_folder: Option<PathBuf>,

    #[command(flatten)]
    pub(super) output: OutputArgs,
}

/// What to do besides showing fuels.
#[derive(Debug, Subcommand)]
pub(super) enum FuelCommand {
    /// Show what a tank holds, or how much to add for an ethanol content
    #[command(long_about = help::MIX)]
    Mix(MixArgs),
}

/// Arguments of `endgas fuel mix`.
#[derive(Args, Debug)]
pub(super) struct MixArgs {
    /// What is in the tank: "20 L e85", "5 gal e85" or, measured, "20 L e85 at 71 %"
    #[arg(value_name = "VOLUME")]
    pub(super) fills: Vec<String>,

    /// Ethanol content wanted by volume, such as "50 %"
    #[arg(long, value_name = "CONTENT", requires = "add")]
    pub(super) to: Option<String>,

    /// Fuel to add for it, such as e85 or "e85 at 71 %"
    #[arg(long, value_name = "FUEL", requires = "to")]
    pub(super) add: Option<String>,

    /// Volume that the tank holds, such as "60 L"; more is not added
    #[arg(long, value_name = "VOLUME", requires = "to")]
    pub(super) tank: Option<String>,

    #[command(flatten)]
    pub(super) asked: FuelOutput,
}
