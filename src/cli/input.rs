//! From arguments and files to a job for the estimate.

use super::build_args::by_option;
use super::common::{SamplingArgs, ScenarioArgs};
use super::error::CliError;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::FuelLibrary;
use endgas::input::utf8;
use endgas::printable::printable_path;
use endgas::scenario::{self, FuelRequest, MOST_FUELS, Origin, Scenario, choose_fuels};
use std::fs::File;
use std::io::{ErrorKind, Read, Write as _};
use std::path::Path;

/// What the built-in scenario is called in messages.
const DEMO_LABEL: &str = "built-in example";
/// Largest scenario file read [KiB].
const LIMIT_KIB: u64 = 1024;

/// What the arguments ask for, every part of it checked.
pub(super) struct AskedRun {
    /// The scenario on the day of the options.
    pub(super) scenario: Scenario,
    /// The fuels that are known.
    pub(super) library: FuelLibrary,
    /// The estimate on the fuels of the options, or else of the scenario.
    pub(super) job: Job,
    /// Where it was asked for.
    pub(super) origin: Origin,
}

/// Reads what the arguments name.
///
/// # Errors
/// [`CliError`] when a file cannot be read or holds mistakes, or a fuel is not known.
pub(super) fn asked(args: &ScenarioArgs, sampling: SamplingArgs) -> Result<AskedRun, CliError> {
    let mut scenario = scenario_of(&text(args)?)?;
    scenario.weather = args.weather.over(scenario.weather);
    let library = library(args.folder.path())?;
    let job = job_of(&scenario, &library, args, sampling)?;
    let origin = origin(&scenario, &library, args)?;
    Ok(AskedRun { scenario, library, job, origin })
}

/// The scenario that the arguments name, on the day of the options, its VE computed from pipes.
///
/// # Errors
/// [`CliError`] when it cannot be read, holds mistakes, or its VE comes from elsewhere.
pub(super) fn scenario_on_pipes(args: &ScenarioArgs) -> Result<Scenario, CliError> {
    let mut scenario = scenario_of(&text(args)?)?;
    if scenario.pipes.is_none() {
        return Err(CliError::NoPipes { file: scenario.file });
    }
    scenario.weather = args.weather.over(scenario.weather);
    Ok(scenario)
}

/// Where what the arguments ask for stands.
///
/// # Errors
/// [`CliError::TooManyFuels`].
pub(super) fn origin(
    scenario: &Scenario,
    library: &FuelLibrary,
    args: &ScenarioArgs,
) -> Result<Origin, CliError> {
    Ok(Origin::new(scenario, &requests(args, scenario)?, library))
}

/// The job of a scenario on the fuels of the arguments.
///
/// # Errors
/// [`CliError`] when a fuel is not known.
pub(super) fn job_of(
    scenario: &Scenario,
    library: &FuelLibrary,
    args: &ScenarioArgs,
    sampling: SamplingArgs,
) -> Result<Job, CliError> {
    job_on(scenario, fuels_of(scenario, library, args)?, library, sampling)
}

/// The fuels of the arguments, or else of the scenario.
///
/// # Errors
/// [`CliError`] when a fuel is not known.
pub(super) fn fuels_of(
    scenario: &Scenario,
    library: &FuelLibrary,
    args: &ScenarioArgs,
) -> Result<Vec<FuelChoice>, CliError> {
    let failed = |source| CliError::Job { file: scenario.file.clone(), source };
    choose_fuels(requests(args, scenario)?, library).map_err(failed)
}

/// The job of a scenario on some fuels.
///
/// # Errors
/// [`CliError::Job`] when its known points or the weather cannot be used.
pub(super) fn job_on(
    scenario: &Scenario,
    fuels: Vec<FuelChoice>,
    library: &FuelLibrary,
    sampling: SamplingArgs,
) -> Result<Job, CliError> {
    let failed = |source| CliError::Job { file: scenario.file.clone(), source };
    scenario.job_on(fuels, library, sampling.samples as usize, sampling.seed).map_err(failed)
}

/// Text of a scenario, and what it is called in messages.
pub(super) struct ScenarioText {
    file: String,
    pub(super) text: String,
    /// Whether it was made of options.
    is_of_options: bool,
}

/// The text of a scenario file, of standard input, of the options, or of the built-in example.
///
/// # Errors
/// [`CliError`] when the file cannot be read.
pub(super) fn text(args: &ScenarioArgs) -> Result<ScenarioText, CliError> {
    let (file, text, is_of_options) = match (args.scenario.as_deref(), args.build.short(&args.fuel)) {
        (Some(path), Some(_)) => return Err(CliError::FileAndOptions { path: path.to_owned() }),
        (Some(path), None) if path == Path::new(STANDARD_INPUT) => {
            ("standard input".to_owned(), limited(std::io::stdin().lock(), path)?, false)
        }
        (Some(path), None) => (printable_path(path), read_text(path)?, false),
        (None, Some(short)) => ("options".to_owned(), short.text(), true),
        (None, None) => (DEMO_LABEL.to_owned(), scenario::DEMO.to_owned(), false),
    };
    Ok(ScenarioText { file, text, is_of_options })
}

/// What stands for standard input in place of a file.
pub(super) const STANDARD_INPUT: &str = "-";

/// Refuses standard input in more than one of some places: it can be read once.
///
/// # Errors
/// [`CliError::StandardInputTwice`].
pub(super) fn reads_once<'a>(files: impl IntoIterator<Item = &'a Path>) -> Result<(), CliError> {
    match files.into_iter().filter(|file| *file == Path::new(STANDARD_INPUT)).count() {
        0 | 1 => Ok(()),
        _ => Err(CliError::StandardInputTwice),
    }
}

/// The scenario of a text.
///
/// # Errors
/// [`CliError::Scenario`] or [`CliError::Options`] when it holds mistakes.
pub(super) fn scenario_of(text: &ScenarioText) -> Result<Scenario, CliError> {
    let scenario = scenario::read(&text.file, &text.text).map_err(|problems| match text.is_of_options {
        true => CliError::Options(by_option(problems)),
        false => CliError::Scenario { file: text.file.clone(), problems },
    })?;
    for remark in &scenario.remarks {
        // A closed standard error is no reason to stop.
        let _ = writeln!(std::io::stderr(), "note: {remark}");
    }
    Ok(scenario)
}

/// The shipped fuels, and those of the user's folder where one is named; an empty name means none.
pub(super) fn library(folder: Option<&Path>) -> Result<FuelLibrary, CliError> {
    let shipped = FuelLibrary::shipped()?;
    Ok(match folder {
        Some(folder) if !folder.as_os_str().is_empty() => shipped.with_user_folder(folder)?,
        _ => shipped,
    })
}

fn read_text(path: &Path) -> Result<String, CliError> {
    let file = File::open(path).map_err(|source| match source.kind() {
        ErrorKind::NotFound => CliError::NoScenario { path: path.to_owned() },
        _ => CliError::Read { path: path.to_owned(), source },
    })?;
    limited(file, path)
}

/// All that a reader has, unless it is far more than any scenario.
fn limited(from: impl Read, path: &Path) -> Result<String, CliError> {
    let limit = LIMIT_KIB * 1024;
    let mut bytes = Vec::new();
    let failed = |source| CliError::Read { path: path.to_owned(), source };
    let read = from.take(limit + 1).read_to_end(&mut bytes).map_err(failed)?;
    if read as u64 > limit {
        return Err(CliError::TooLarge { path: path.to_owned(), limit_kib: LIMIT_KIB });
    }
    utf8(bytes).map_err(failed)
}

/// The fuels of the options, or else those of the scenario.
pub(super) fn requests(args: &ScenarioArgs, scenario: &Scenario) -> Result<Vec<FuelRequest>, CliError> {
    if args.fuel.len() > MOST_FUELS {
        return Err(CliError::TooManyFuels { found: args.fuel.len(), most: MOST_FUELS });
    }
    if args.fuel.is_empty() {
        return Ok(scenario.fuel_requests());
    }
    let request = |spec: &String| FuelRequest {
        place: "--fuel".to_owned(),
        spec: spec.clone(),
        // A fuel that the scenario knows keeps its mixture.
        lambda: scenario.lambda_for(spec),
    };
    Ok(args.fuel.iter().map(request).collect())
}
