//! Does what `endgas fuel` asks for.

use super::error::CliError;
use super::exit::Outcome;
use super::fuel_args::{FuelArgs, FuelCommand, FuelOutput, MixArgs};
use super::input::library;
use super::output::{Rendered, Targets, show};
use endgas::fuel::fill::{read_percent, read_volume_m3};
use endgas::fuel::tank::{Fill, top_up};
use endgas::fuel::{FuelError, FuelLibrary, PumpFuel};
use endgas::report::{FuelReport, fuel_list};
use endgas::scenario::{FuelFault, FuelProblem, JobError};

/// Runs `endgas fuel`.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &FuelArgs) -> Result<Outcome, CliError> {
    if let Some(FuelCommand::Mix(mix)) = &args.command {
        return show(&mix.asked.output, None, Vec::new(), || {
            mixed(mix, &library(mix.asked.fuel_folder.as_deref())?)
        });
    }
    let FuelOutput { output, fuel_folder } = &args.asked;
    if args.list {
        let targets = Targets { out: output.out.as_deref(), plot: None, inputs: Vec::new() };
        targets.check()?;
        let document = fuel_list(&library(fuel_folder.as_deref())?)?;
        return targets.deliver(&Rendered { document, plots: Vec::new() }).map(|_| Outcome::Done);
    }
    show(output, args.plot.as_deref(), Vec::new(), || asked(args, &library(fuel_folder.as_deref())?))
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
