//! From arguments and files to a job for the estimate.

use super::args::EstimateArgs;
use super::error::{CliError, FuelFault, FuelProblem};
use endgas::air::Weather;
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use endgas::scenario::{self, MOST_FUELS, Scenario};
use endgas::units::Lambda;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

/// Gasoline for which the volumetric efficiency of a scenario is stated.
const REFERENCE_FUEL: &str = "premium-91";
/// What the built-in scenario is called in messages.
const DEMO_LABEL: &str = "built-in example";
/// Largest scenario file read [KiB].
const LIMIT_KIB: u64 = 1024;

/// A fuel as asked for.
struct Wanted {
    /// Where: a line and key of the scenario, or an option.
    place: String,
    spec: String,
    lambda: Option<Lambda>,
}

/// The job that the arguments ask for, every part of it checked.
///
/// # Errors
/// [`CliError`] when a file cannot be read or holds mistakes, or a fuel is not known.
pub(super) fn job(args: &EstimateArgs) -> Result<Job, CliError> {
    let (file, text) = match &args.scenario {
        Some(path) => (path.display().to_string(), read_text(path)?),
        None => (DEMO_LABEL.to_owned(), scenario::DEMO.to_owned()),
    };
    let scenario = scenario::read(&file, &text)
        .map_err(|problems| CliError::Scenario { file: file.clone(), problems })?;
    let shipped = FuelLibrary::shipped()?;
    let reference_fuel = shipped.resolve(REFERENCE_FUEL)?.blend()?;
    let library = match &args.fuel_folder {
        Some(folder) if !folder.as_os_str().is_empty() => shipped.with_user_folder(folder)?,
        _ => shipped,
    };
    let fuels = fuel_choices(wanted(args, &scenario)?, &library)?;
    let day = scenario.weather;
    let weather = Weather::new(day.temperature_k, day.pressure_pa, day.relative_humidity)
        .map_err(|source| CliError::Weather { file, source })?;
    Ok(Job {
        scenario: scenario.name,
        note: scenario.note,
        build: scenario.build,
        weather,
        fuels,
        reference_fuel,
        speeds_rpm: scenario.speeds_rpm,
        reserve_octane: scenario.spark.reserve_octane,
        spark_range: SparkRange {
            earliest_deg_btdc: scenario.spark.earliest_deg_btdc,
            latest_deg_btdc: scenario.spark.latest_deg_btdc,
        },
        samples: args.samples as usize,
        seed: args.seed,
    })
}

fn read_text(path: &Path) -> Result<String, CliError> {
    let failed = |source| CliError::Read { path: path.to_owned(), source };
    let limit = LIMIT_KIB * 1024;
    let mut text = String::new();
    let read = File::open(path).map_err(failed)?.take(limit + 1).read_to_string(&mut text).map_err(failed)?;
    if read as u64 > limit {
        return Err(CliError::TooLarge { path: path.to_owned(), limit_kib: LIMIT_KIB });
    }
    Ok(text)
}

/// The fuels of the options, or else those of the scenario.
fn wanted(args: &EstimateArgs, scenario: &Scenario) -> Result<Vec<Wanted>, CliError> {
    if args.fuel.len() > MOST_FUELS {
        return Err(CliError::TooManyFuels { found: args.fuel.len(), most: MOST_FUELS });
    }
    if args.fuel.is_empty() {
        let uses = scenario.fuels.iter().map(|fuel| Wanted {
            place: format!("{}:{}: fuels.run", scenario.file, fuel.line),
            spec: fuel.spec.clone(),
            lambda: fuel.lambda,
        });
        return Ok(uses.collect());
    }
    // A fuel that the scenario knows keeps its mixture.
    let lambda = |spec: &str| {
        let own = scenario.fuels.iter().find(|fuel| fuel.spec == spec.trim());
        own.map_or(scenario.lambda_for_all, |fuel| fuel.lambda)
    };
    let given = args.fuel.iter().map(|spec| Wanted {
        place: "--fuel".to_owned(),
        spec: spec.clone(),
        lambda: lambda(spec),
    });
    Ok(given.collect())
}

/// Looks up every fuel; reports all that cannot be used.
fn fuel_choices(wanted: Vec<Wanted>, library: &FuelLibrary) -> Result<Vec<FuelChoice>, CliError> {
    let mut choices: Vec<FuelChoice> = Vec::new();
    let mut problems = Vec::new();
    for Wanted { place, spec, lambda } in wanted {
        // The blend is made to see that it can be: pure water is a name, but no fuel.
        let fault = match library.resolve(&spec).and_then(|fuel| fuel.blend().map(|_| fuel)) {
            Ok(fuel) if choices.iter().any(|earlier| earlier.fuel.name == fuel.name) => {
                FuelFault::Twice { name: fuel.name }
            }
            Ok(fuel) => {
                choices.push(FuelChoice { fuel, lambda });
                continue;
            }
            Err(source) => {
                let known = library.names().into_iter().map(str::to_owned).collect();
                FuelFault::Refused { source, known }
            }
        };
        problems.push(FuelProblem { place, spec, fault });
    }
    if problems.is_empty() { Ok(choices) } else { Err(CliError::Fuels(problems)) }
}
