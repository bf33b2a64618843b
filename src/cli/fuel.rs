//! Does what `endgas fuel` asks for.

use super::common::{FolderArgs, OutputArgs};
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::input::library;
use super::output::{Rendered, Targets, show};
use clap::{Args, Subcommand, ValueHint};
use endgas::fuel::fill::{read_percent, read_volume_m3};
use endgas::fuel::tank::{Fill, top_up};
use endgas::fuel::{FuelError, FuelLibrary, PumpFuel};
use endgas::report::{FuelReport, View, fuel_list};
use endgas::scenario::{FuelFault, FuelProblem, JobError};
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
    #[command(flatten)]
    pub(super) folder: FolderArgs,

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

    /// Target ethanol content by volume, such as "50 %"
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

/// Runs `endgas fuel`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelArgs) -> Result<Outcome, CliError> {
    if let Some(FuelCommand::Mix(mix)) = &args.command {
        return show(&mix.asked.output, None, Vec::new(), View::screen(), || {
            mixed(mix, &library(mix.asked.folder.path())?)
        });
    }
    let FuelOutput { output, folder } = &args.asked;
    if args.list {
        let targets = Targets { out: output.out.as_deref(), plot: None, inputs: Vec::new() };
        targets.check()?;
        let document = fuel_list(&library(folder.path())?)?;
        return targets.deliver(&Rendered { document, plots: Vec::new() }).map(|_| Outcome::Done);
    }
    show(output, args.plot.as_deref(), Vec::new(), View::screen(), || asked(args, &library(folder.path())?))
}

/// The fuels by name, or the sweep of one.
fn asked(args: &FuelArgs, library: &FuelLibrary) -> Result<FuelReport, CliError> {
    let asked = match args.fuels.len() {
        0 => return Err(CliError::NoFuel),
        found if args.sweep && found > 1 => return Err(CliError::SweepOfMany { found }),
        _ => &args.fuels,
    };
    let mut fuels = each("fuel", asked, library, FuelLibrary::burnable)?;
    no_twins(asked, &fuels)?;
    Ok(match (args.sweep, fuels.pop()) {
        (true, Some(fuel)) => FuelReport::sweep(fuel)?,
        (_, last) => {
            fuels.extend(last);
            FuelReport::asked(fuels)?
        }
    })
}

/// The tank as filled, and topped up when a content is wanted.
fn mixed(args: &MixArgs, library: &FuelLibrary) -> Result<FuelReport, CliError> {
    if args.fills.is_empty() {
        return Err(CliError::NoFill);
    }
    let fills: Vec<Fill> = each("tank", &args.fills, library, FuelLibrary::fill)?;
    let (Some(to), Some(add)) = (&args.to, &args.add) else {
        return Ok(FuelReport::mix(fills, None)?);
    };
    let wanted = read_percent(to).ok_or_else(|| CliError::Content { typed: to.clone() })?;
    let added = each("--add", std::slice::from_ref(add), library, FuelLibrary::measured)?;
    let size = args.tank.as_deref().map(read_volume_m3).transpose()?;
    let top = match added.first() {
        Some(fuel) => Some(top_up(&fills, fuel, wanted, size)?),
        None => None,
    };
    Ok(FuelReport::mix(fills, top)?)
}

/// Each fuel is shown once.
fn no_twins(asked: &[String], fuels: &[PumpFuel]) -> Result<(), CliError> {
    let problems: Vec<FuelProblem> = asked
        .iter()
        .zip(fuels)
        .enumerate()
        .filter(|(i, (_, fuel))| fuels[..*i].iter().any(|earlier| earlier.name == fuel.name))
        .map(|(_, (spec, fuel))| FuelProblem {
            place: "fuel".to_owned(),
            spec: spec.clone(),
            fault: FuelFault::Twice { name: fuel.name.clone() },
        })
        .collect();
    if problems.is_empty() { Ok(()) } else { Err(CliError::Fuels(JobError::Fuels(problems))) }
}

/// Looks up every text; reports all that cannot be used.
fn each<T>(
    place: &str,
    typed: &[String],
    library: &FuelLibrary,
    look_up: impl Fn(&FuelLibrary, &str) -> Result<T, FuelError>,
) -> Result<Vec<T>, CliError> {
    let mut found = Vec::new();
    let mut problems = Vec::new();
    for spec in typed {
        match look_up(library, spec) {
            Ok(fuel) => found.push(fuel),
            Err(source) => problems.push(FuelProblem::refused(place.to_owned(), spec, source, library)),
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(CliError::Fuels(JobError::Fuels(problems))) }
}
