//! Does what `endgas dyno` asks for.

use super::build_args::BuildArgs;
use super::common::ScenarioArgs;
use super::dyno_args::DynoArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::interrupt;
use super::output::{Delivery, Rendered, Targets, same, tell_written};
use super::progress::while_shown;
use endgas::dyno::{
    Fit, JudgeSettings, Judgement, LIMIT_KIB, Log, LoggedWeather, Verdict, fit, fit_table, join, judge, read,
};
use endgas::estimate::Job;
use endgas::printable::printable_path;
use endgas::report::{Fitting, JudgedPull, Shown as _, plots, write_new};
use endgas::scenario::{Origin, WeatherInput, fitted_text, with_known_points};
use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Runs `endgas dyno`. A check that is not credible is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &DynoArgs) -> Result<Outcome, CliError> {
    let inputs = args.scenario.iter().chain(&args.pull).map(PathBuf::as_path).collect();
    let targets =
        Targets { out: args.output.written.out.as_deref(), plot: args.output.plot.as_deref(), inputs };
    let Some(format) = args.output.written.format.rendered() else {
        if args.fit.is_some() {
            return Err(CliError::FitOfSchema);
        }
        return targets.deliver_schema(JudgedPull::schema());
    };
    let Some(scenario) = args.scenario.as_ref().filter(|_| !args.pull.is_empty()) else {
        return Err(CliError::NoPull);
    };
    input::reads_once(args.pull.iter().chain([scenario]).map(PathBuf::as_path))?;
    let log = join(args.pull.iter().map(|pull| log(args, pull)).collect::<Result<_, _>>()?)
        .map_err(CliError::Join)?;
    let logged = log.weather();
    let asked = ScenarioArgs {
        scenario: Some(scenario.clone()),
        fuel: args.fuel.iter().cloned().collect(),
        folder: args.folder.clone(),
        weather: args.weather,
        build: BuildArgs::default(),
    };
    let day = |day| args.weather.over(of_log(&logged, day));
    let (job, text, origin) = job(&asked, args, day)?;
    targets.check()?;
    check_fit(args)?;
    let (temperature, pressure) = args.weather.states();
    let weather_stated =
        (temperature || logged.temperature_k.is_some()) && (pressure || logged.pressure_pa.is_some());
    let settings =
        JudgeSettings { standard: args.standard, weather_stated, fuel_stated: args.fuel.is_some() };
    let judgement = judge(&job, &log, &settings).map_err(CliError::at(&origin))?;
    let is_credible = judgement.verdict != Verdict::NotCredible;
    let fit = match &args.fit {
        Some(_) if judgement.bars_fit().is_empty() || args.fit_anyway => {
            let fit = if args.free_table { fit_table } else { fit };
            Some(while_shown("fitting", || fit(&job, &log, &settings)).map_err(CliError::at(&origin))?)
        }
        _ => None,
    };
    let refitted = fit.as_ref().map(|fit| refit(&text, &judgement, fit)).transpose()?;
    let knock_points = refitted.as_ref().map_or(0, |(_, points)| *points);
    let fitting = match (&args.fit, &fit) {
        (Some(file), Some(fit)) => Fitting::Done { fit, file: printable_path(file), knock_points },
        (Some(_), None) => Fitting::Refused,
        (None, _) => Fitting::NotAsked,
    };
    let is_refused = matches!(fitting, Fitting::Refused);
    let units = args.output.written.units.into();
    let pull = JudgedPull { judgement: &judgement, fitting };
    let rendered = Rendered {
        document: targets.document(&pull, &args.output.written, format, args.show.view())?,
        plots: if args.output.plot.is_some() { plots(&pull, units)? } else { Vec::new() },
    };
    if let Some(file) = args.fit.as_ref().filter(|file| targets.draws_over(&rendered, file)) {
        return Err(CliError::Target { path: file.clone(), reason: "a plot takes that name" });
    }
    let new = args.fit.as_ref().zip(refitted);
    let delivery = targets.deliver(&rendered)?;
    // Last, so that a run that fails leaves no fit behind that the next would have to spare.
    if let Some((file, (text, _))) = new {
        write_fitted(file, &text)?;
    }
    Ok(match delivery {
        Delivery::Whole if !is_credible || is_refused => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}

/// The job on the fuel of the pull; with a fit, the other fuels of the scenario follow it. And the scenario's text, and
/// where it was asked for.
fn job(
    asked: &ScenarioArgs,
    args: &DynoArgs,
    day: impl FnOnce(WeatherInput) -> WeatherInput,
) -> Result<(Job, String, Origin), CliError> {
    let text = input::text(asked)?;
    let mut scenario = input::scenario_of(&text)?;
    scenario.weather = day(scenario.weather);
    let library = input::library(asked.folder.path())?;
    let mut job = input::job_of(&scenario, &library, asked, args.sampling)?;
    if args.fit.is_some() && args.fuel.is_some() {
        let all = ScenarioArgs { fuel: Vec::new(), ..asked.clone() };
        let others = input::fuels_of(&scenario, &library, &all)?;
        let pulled = job.fuels.first().map(|choice| choice.fuel.name.clone());
        job.fuels.extend(others.into_iter().filter(|o| Some(&o.fuel.name) != pulled.as_ref()));
    }
    let origin = input::origin(&scenario, &library, asked)?;
    Ok((job, text.text, origin))
}

/// Refuses a fit that would be written over a file, or where the result goes.
fn check_fit(args: &DynoArgs) -> Result<(), CliError> {
    let Some(file) = &args.fit else { return Ok(()) };
    if args.output.written.out.iter().chain(&args.output.plot).any(|other| same(other, file)) {
        let reason = "--out or --plot names it too";
        return Err(CliError::Target { path: file.clone(), reason });
    }
    if file.symlink_metadata().is_ok() {
        let reason = "it exists, and a fit is never written over a file";
        return Err(CliError::Target { path: file.clone(), reason });
    }
    Targets { out: Some(file), plot: None, inputs: Vec::new() }.check()
}

/// Text of the new scenario, made from that of the old one, and how many knock points of the log it holds besides.
fn refit(old: &str, judgement: &Judgement, fit: &Fit) -> Result<(String, usize), CliError> {
    let told = format!(
        "Fitted by endgas dyno to {} on {}: as this dyno read it, an estimate and no calibration.",
        judgement.log, judgement.fuel
    );
    let text = fitted_text(old, &fit.written, &told)?;
    let known = judgement.knock.as_ref().and_then(|knock| Some((knock.fuel.as_ref()?, &knock.points)));
    Ok(match known {
        Some((fuel, points)) => with_known_points(&text, fuel, points)?,
        None => (text, 0),
    })
}

fn write_fitted(file: &Path, text: &str) -> Result<(), CliError> {
    let writing = interrupt::writing();
    write_new(file, text.as_bytes())?;
    drop(writing);
    tell_written(&printable_path(file));
    Ok(())
}

fn log(args: &DynoArgs, path: &Path) -> Result<Log, CliError> {
    let failed = |source| CliError::Read { path: path.to_owned(), source };
    // One byte more than is read tells a file that is too large.
    let limit = LIMIT_KIB as u64 * 1024 + 1;
    let mut bytes = Vec::new();
    let is_standard_input = path == Path::new(input::STANDARD_INPUT);
    let named = if is_standard_input { "standard input".to_owned() } else { path.display().to_string() };
    let found = match is_standard_input {
        true => std::io::stdin().lock().take(limit).read_to_end(&mut bytes),
        false => File::open(path).and_then(|file| file.take(limit).read_to_end(&mut bytes)),
    };
    found.map_err(failed)?;
    read(&named, &bytes, &args.reading.mapping()).map_err(CliError::Pull)
}

/// The day with what the log holds put in.
fn of_log(logged: &LoggedWeather, day: WeatherInput) -> WeatherInput {
    WeatherInput {
        temperature_k: logged.temperature_k.unwrap_or(day.temperature_k),
        pressure_pa: logged.pressure_pa.unwrap_or(day.pressure_pa),
        relative_humidity: logged.relative_humidity.unwrap_or(day.relative_humidity),
    }
}
