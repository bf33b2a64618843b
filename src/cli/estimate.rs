//! Does what `endgas estimate` asks for: one build, or several side by side.

use super::common::{DrawnArgs, SamplingArgs, ScenarioArgs, fuel_spec};
use super::error::CliError;
use super::exit::Outcome;
use super::help;
use super::input::{self, AskedRun, STANDARD_INPUT};
use super::output::draw;
use super::progress::while_shown;
use super::view::ShowArgs;
use clap::{Args, ValueHint};
use endgas::estimate::compare::{Entrant, MOST_BUILDS};
use endgas::estimate::{Comparison, Estimate, EstimateError, Job, compare, estimate};
use endgas::printable::printable_path;
use endgas::report::{ALL, Shown as _, ShownFuels};
use endgas::scenario::Origin;
use std::path::{Path, PathBuf};

/// Arguments of `endgas estimate`.
#[derive(Args, Debug)]
pub(super) struct EstimateArgs {
    #[command(flatten)]
    scenario: ScenarioArgs,

    /// More scenario files: two to four builds side by side, each against the first
    #[arg(value_name = "SCENARIO", value_hint = ValueHint::FilePath, requires = "scenario", long_help = help::MORE_SCENARIOS)]
    others: Vec<PathBuf>,

    #[command(flatten)]
    show: ShowArgs<Estimate>,

    /// Fuel on which the parts of --show are shown; default: the one that limits; repeatable
    #[arg(long, value_name = "FUEL", requires = "show", value_parser = fuel_spec, long_help = help::SHOW_FUEL)]
    show_fuel: Vec<String>,

    #[command(flatten)]
    output: DrawnArgs,

    #[command(flatten)]
    sampling: SamplingArgs,
}

/// Runs `endgas estimate`. An engine over a limit of the scenario is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &EstimateArgs) -> Result<Outcome, CliError> {
    let fuels = match (args.show_fuel.is_empty(), args.scenario.fuel.is_empty()) {
        (false, _) => ShownFuels::Named(args.show_fuel.clone()),
        (true, true) => ShownFuels::Limiting,
        (true, false) => ShownFuels::All,
    };
    let view = args.show.on(fuels);
    if args.others.is_empty() {
        return draw(&args.output, args.scenario.inputs(), view, || {
            let AskedRun { job, origin, .. } = input::asked(&args.scenario, args.sampling)?;
            fuels_are_run(args, &job)?;
            while_shown("estimating", || estimate(&job)).map_err(CliError::at(&origin))
        });
    }
    let files = files(args)?;
    draw(&args.output, files.clone(), view, || {
        let (entrants, origins) = entrants(args, &files)?;
        fuels_are_run(args, &entrants[0].job)?;
        while_shown("estimating", || compare(&entrants, args.scenario.fuel.is_empty())).map_err(|error| {
            match error {
                EstimateError::Of { whose, source } => {
                    let of = entrants.iter().position(|entrant| entrant.name == whose).unwrap_or_default();
                    CliError::at(&origins[of])(*source)
                }
                error => error.into(),
            }
        })
    })
}

/// Every fuel of `--show-fuel` has to be one of the run.
fn fuels_are_run(args: &EstimateArgs, job: &Job) -> Result<(), CliError> {
    let known: Vec<String> = job.fuels.iter().map(|choice| choice.fuel.name.clone()).collect();
    match args.show_fuel.iter().find(|spec| !known.contains(spec)) {
        Some(spec) => Err(CliError::NotInRun { spec: spec.clone(), known }),
        None => Ok(()),
    }
}

/// The scenario files of builds side by side.
fn files(args: &EstimateArgs) -> Result<Vec<&Path>, CliError> {
    let files: Vec<&Path> = args.scenario.scenario.iter().chain(&args.others).map(PathBuf::as_path).collect();
    if files.len() > MOST_BUILDS {
        return Err(CliError::TooManyBuilds { found: files.len(), most: MOST_BUILDS });
    }
    input::reads_once(files.iter().copied())?;
    let known: Vec<&str> = Comparison::PARTS.iter().map(|part| part.name).collect();
    let strange = args.show.parts().iter().find(|part| *part != ALL && !known.contains(&part.as_str()));
    match strange {
        Some(part) => Err(CliError::NotSideBySide { part: part.clone(), known }),
        None => Ok(files),
    }
}

/// The builds of the files, on the fuels and in the weather of the first, and where each was asked for.
fn entrants(args: &EstimateArgs, files: &[&Path]) -> Result<(Vec<Entrant>, Vec<Origin>), CliError> {
    let AskedRun { scenario: first, library, job, origin } = input::asked(&args.scenario, args.sampling)?;
    let requests = input::requests(&args.scenario, &first)?;
    let fuels = job.fuels.clone();
    let names = names(files);
    let mut entrants = vec![Entrant { name: names[0].clone(), job, is_weather_replaced: false }];
    let mut origins = vec![origin];
    for (file, name) in files.iter().zip(names).skip(1) {
        let asked = ScenarioArgs { scenario: Some(file.to_path_buf()), ..args.scenario.clone() };
        let mut scenario = input::scenario_of(&input::text(&asked)?)?;
        let is_weather_replaced = args.scenario.weather.over(scenario.weather) != first.weather;
        scenario.weather = first.weather;
        let job = input::job_on(&scenario, fuels.clone(), &library, args.sampling)?;
        entrants.push(Entrant { name, job, is_weather_replaced });
        origins.push(Origin::new(&scenario, &requests, &library));
    }
    Ok((entrants, origins))
}

/// What each build is called: its file without folder and ending, numbered where another is called so.
fn names(files: &[&Path]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for file in files {
        let stem = match file.file_stem() {
            _ if *file == Path::new(STANDARD_INPUT) => "standard input".to_owned(),
            Some(stem) => printable_path(Path::new(stem)),
            None => printable_path(file),
        };
        let numbered = (2..).map(|number| format!("{stem} ({number})"));
        let name = std::iter::once(stem.clone()).chain(numbered).find(|name| !names.contains(name));
        names.push(name.unwrap_or(stem));
    }
    names
}
