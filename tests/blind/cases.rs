//! A folder of cases, in the formats of `tests/data` and of the program.

use crate::common::engines::rows::{Engine, of_named_kind};
use crate::common::tables::{Row, read_table, reference_fuel, reference_fuels};
use endgas::dyno::{Log, Mapping};
use endgas::estimate::Job;
use endgas::fuel::FuelLibrary;
use endgas::gas::mixture::FuelVapour;
use endgas::scenario::{self, WeatherInput};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// Samples of an estimate, and the seed.
const SAMPLES: (usize, u64) = (200, 1);

/// What is held against the program.
#[derive(Default)]
pub struct Cases {
    /// Ratings: `engines.csv`.
    pub engines: Vec<Engine>,
    /// A pull with the scenario it is of: `pulls/NAME.csv` and `pulls/NAME.toml`.
    pub pulls: Vec<(Job, Log)>,
    /// Fuel-air cycles: `cycles.csv`.
    pub cycles: Vec<Row>,
    /// Their fuels: those of `tests/data/thermo`, and of `fuels.csv`.
    pub fuels: HashMap<String, FuelVapour>,
}

impl Cases {
    /// Reads a folder.
    ///
    /// # Errors
    /// Words for the first thing that is wrong, naming file, line and column or key.
    pub fn read(folder: &Path) -> Result<Self, String> {
        let mut cases = Self { fuels: reference_fuels(), ..Self::default() };
        for path in entries(folder)? {
            match path.file_name().and_then(|name| name.to_str()) {
                Some("engines.csv") => {
                    cases.engines = read_table(&path)?.iter().map(of_named_kind).collect::<Result<_, _>>()?;
                }
                Some("fuels.csv") => {
                    for row in read_table(&path)? {
                        cases.fuels.extend([reference_fuel(&row)?]);
                    }
                }
                Some("cycles.csv") => cases.cycles = read_table(&path)?,
                Some("pulls") => cases.pulls = pulls(&path)?,
                Some("README.md") => {}
                _ => return Err(format!("{}: a folder of cases holds {HOLDS}", path.display())),
            }
        }
        if cases.engines.is_empty() && cases.pulls.is_empty() && cases.cycles.is_empty() {
            return Err(format!("{}: there are no cases; a folder of them holds {HOLDS}", folder.display()));
        }
        Ok(cases)
    }
}

const HOLDS: &str = "engines.csv, cycles.csv with fuels.csv, pulls/ and README.md, each where there is one";

/// What lies in a folder, by name.
fn entries(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let failed = |error: std::io::Error| format!("{}: {error}", folder.display());
    let entries = std::fs::read_dir(folder).and_then(|entries| entries.collect::<std::io::Result<Vec<_>>>());
    let mut paths: Vec<PathBuf> = entries.map_err(failed)?.iter().map(std::fs::DirEntry::path).collect();
    paths.sort();
    Ok(paths)
}

/// The weather of a pull: as logged, else as its scenario has it.
fn weather_of(log: &Log, stated: WeatherInput) -> WeatherInput {
    let logged = log.weather();
    WeatherInput {
        temperature_k: logged.temperature_k.unwrap_or(stated.temperature_k),
        pressure_pa: logged.pressure_pa.unwrap_or(stated.pressure_pa),
        relative_humidity: logged.relative_humidity.unwrap_or(stated.relative_humidity),
    }
}

/// Every log with its scenario.
fn pulls(folder: &Path) -> Result<Vec<(Job, Log)>, String> {
    let library = FuelLibrary::shipped().map_err(|error| error.to_string())?;
    let mut pulls = Vec::new();
    for path in entries(folder)? {
        let file = path.display().to_string();
        let beside = |extension| path.with_extension(extension);
        match path.extension().and_then(|extension| extension.to_str()) {
            Some("toml") if beside("csv").exists() => {}
            Some("csv") => {
                let scenario = beside("toml");
                let label = scenario.display().to_string();
                let text = std::fs::read_to_string(&scenario).map_err(|error| format!("{label}: {error}"))?;
                let mut build = scenario::read(&label, &text).map_err(|problems| problems.to_string())?;
                let bytes = std::fs::read(&path).map_err(|error| format!("{file}: {error}"))?;
                let log = endgas::dyno::read(&file, &bytes, &Mapping::default());
                let log = log.map_err(|errors| errors.to_string())?;
                build.weather = weather_of(&log, build.weather);
                let job = build.job(&library, SAMPLES.0, SAMPLES.1).map_err(|e| format!("{label}: {e}"))?;
                pulls.push((job, log));
            }
            _ => return Err(format!("{file}: a pull is a log NAME.csv with its scenario NAME.toml")),
        }
    }
    Ok(pulls)
}
