//! Does what `endgas dyno` asks for.

use super::args::ScenarioArgs;
use super::dyno_args::DynoArgs;
use super::error::CliError;
use super::exit::Outcome;
use super::input;
use super::output::{Delivery, Rendered, Targets};
use endgas::dyno::{JudgeSettings, LIMIT_KIB, Log, LoggedWeather, Verdict, judge, read};
use endgas::report::{judgement_plots, judgement_schema, render_judgement};
use endgas::scenario::WeatherInput;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

/// Runs `endgas dyno`. A check that is not credible is a limit that is not met.
///
/// # Errors
/// [`CliError`]; then nothing has been written, unless writing itself failed.
pub(super) fn run(args: &DynoArgs) -> Result<Outcome, CliError> {
    let targets = Targets { out: args.out.as_deref(), plot: args.plot.as_deref() };
    let Some(format) = args.format.rendered() else {
        if args.plot.is_some() {
            return Err(CliError::PlotOfSchema);
        }
        targets.check()?;
        let schema = Rendered { document: judgement_schema(), plots: Vec::new() };
        return targets.deliver(&schema).map(|_| Outcome::Done);
    };
    let (Some(scenario), Some(pull)) = (&args.scenario, &args.pull) else { return Err(CliError::NoPull) };
    let log = log(args, pull)?;
    let logged = log.weather();
    let asked = ScenarioArgs {
        scenario: Some(scenario.clone()),
        fuel: args.fuel.iter().cloned().collect(),
        fuel_folder: args.fuel_folder.clone(),
        weather: args.weather,
    };
    let day = |day| args.weather.over(of_log(&logged, day));
    let job = input::job_on(&asked, args.sampling.samples as usize, args.sampling.seed, day)?;
    targets.check()?;
    let (temperature, pressure) = args.weather.states();
    let weather_stated =
        (temperature || logged.temperature_k.is_some()) && (pressure || logged.pressure_pa.is_some());
    let judgement = judge(&job, &log, &JudgeSettings { standard: args.standard, weather_stated })?;
    let units = args.units.into();
    let rendered = Rendered {
        document: render_judgement(&judgement, format, units)?,
        plots: if args.plot.is_some() { judgement_plots(&judgement, units)? } else { Vec::new() },
    };
    Ok(match targets.deliver(&rendered)? {
        Delivery::Whole if judgement.verdict == Verdict::NotCredible => Outcome::LimitNotMet,
        Delivery::Whole | Delivery::ReaderGone => Outcome::Done,
    })
}

fn log(args: &DynoArgs, path: &Path) -> Result<Log, CliError> {
    let failed = |source| CliError::Read { path: path.to_owned(), source };
    // One byte more than is read tells a file that is too large.
    let limit = LIMIT_KIB as u64 * 1024 + 1;
    let mut bytes = Vec::new();
    File::open(path).map_err(failed)?.take(limit).read_to_end(&mut bytes).map_err(failed)?;
    Ok(read(&path.display().to_string(), &bytes, &args.reading.mapping())?)
}

/// The day with what the log holds put in.
fn of_log(logged: &LoggedWeather, day: WeatherInput) -> WeatherInput {
    WeatherInput {
        temperature_k: logged.temperature_k.unwrap_or(day.temperature_k),
        pressure_pa: logged.pressure_pa.unwrap_or(day.pressure_pa),
        relative_humidity: logged.relative_humidity.unwrap_or(day.relative_humidity),
    }
}
