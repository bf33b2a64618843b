//! From arguments and files to a job for the estimate.

use super::common::{SamplingArgs, ScenarioArgs};
use super::error::CliError;
use endgas::estimate::Job;
use endgas::fuel::FuelLibrary;
use endgas::printable::printable_path;
use endgas::scenario::{self, FuelRequest, MOST_FUELS, Scenario, choose_fuels};
use std::fs::File;
use std::io::{Read as _, Write as _};
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
}

/// Reads what the arguments name.
///
/// # Errors
/// [`CliError`] when a file cannot be read or holds mistakes, or a fuel is not known.
pub(super) fn asked(args: &ScenarioArgs, sampling: SamplingArgs) -> Result<AskedRun, CliError> {
    let mut scenario = scenario(args.scenario.as_deref())?;
    scenario.weather = args.weather.over(scenario.weather);
    let library = library(args.folder.path())?;
    let job = job_of(&scenario, &library, args, sampling)?;
    Ok(AskedRun { scenario, library, job })
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
    let failed = |source| CliError::Job { file: scenario.file.clone(), source };
    let fuels = choose_fuels(requests(args, scenario)?, library).map_err(failed)?;
    scenario.job_on(fuels, library, sampling.samples as usize, sampling.seed).map_err(failed)
}

/// A scenario file, or the built-in example.
///
/// # Errors
/// [`CliError`] when the file cannot be read or holds mistakes.
pub(super) fn scenario(path: Option<&Path>) -> Result<Scenario, CliError> {
    scenario_of(&text(path)?)
}

/// Text of a scenario, and what it is called in messages.
pub(super) struct ScenarioText {
    file: String,
    pub(super) text: String,
}

/// The text of a scenario file, or of the built-in example.
///
/// # Errors
/// [`CliError`] when the file cannot be read.
pub(super) fn text(path: Option<&Path>) -> Result<ScenarioText, CliError> {
    Ok(match path {
        Some(path) => ScenarioText { file: printable_path(path), text: read_text(path)? },
        None => ScenarioText { file: DEMO_LABEL.to_owned(), text: scenario::DEMO.to_owned() },
    })
}

/// The scenario of a text.
///
/// # Errors
/// [`CliError::Scenario`] when it holds mistakes.
pub(super) fn scenario_of(text: &ScenarioText) -> Result<Scenario, CliError> {
    let scenario = scenario::read(&text.file, &text.text)
        .map_err(|problems| CliError::Scenario { file: text.file.clone(), problems })?;
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
