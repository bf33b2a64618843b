//! The scenario as loaded, and the job that a setting makes of it.

use super::control::Control;
use super::curves::Curves;
use super::refusal::Refusal;
use super::setting::{FUEL, Setting};
use crate::air::Weather;
use crate::cycle::charge::table_over_stated;
use crate::engine::{Breathing, Follows};
use crate::estimate::{FuelChoice, Job, JobChange};
use crate::fuel::{FuelLibrary, PumpFuel};
use crate::input::without_unit;
use crate::scenario::{FuelRequest, MOST_SPEEDS, Scenario, WeatherInput, speeds_between};
use crate::units::stated::{ENGINE_SPEED, VE_SPREAD, VOLUMETRIC_EFFICIENCY};
use crate::units::{CompressionRatio, Lambda};
use std::ops::RangeInclusive;
use std::sync::{Arc, OnceLock};
use toml_edit::DocumentMut;

pub use crate::estimate::job::{USUAL_SAMPLES as SAMPLES, USUAL_SEED as SEED};

/// How far beyond the loaded top of the run the speed limit can be moved, over that top (common practice, no source).
const TOP_SPEED_OVER: f64 = 1.4;

/// Step of a run of one point alone [rpm].
const USUAL_STEP_RPM: f64 = 500.0;

/// A scenario as loaded, and what it takes to move its inputs.
#[derive(Clone, Debug)]
pub struct Base {
    pub(super) scenario: Scenario,
    pub(super) document: DocumentMut,
    pub(super) library: FuelLibrary,
    /// Fuels asked for, then those of the library with another name; each by what was typed.
    pub(super) fuels: Vec<FuelRequest>,
    /// What stands in for keys that are not moved: the options of the command line.
    preset: Setting,
    /// The estimate as stated, with samples and as likely, each once it was asked for.
    stated: [OnceLock<Curves>; 2],
    pub(super) from_rpm: f64,
    pub(super) step_rpm: f64,
}

/// What is kept in a place, made where nothing is kept yet.
fn made_once(
    kept: &OnceLock<Curves>,
    make: impl FnOnce() -> Result<Curves, Refusal>,
) -> Result<&Curves, Refusal> {
    if let Some(known) = kept.get() {
        return Ok(known);
    }
    let made = make()?;
    Ok(kept.get_or_init(|| made))
}

impl Base {
    /// A scenario that was read from a text.
    ///
    /// # Errors
    /// [`Refusal`] when the text is not that of the scenario, or one of its fuels cannot be used.
    pub fn new(mut scenario: Scenario, text: &str, library: FuelLibrary) -> Result<Self, Refusal> {
        let document = text.parse::<DocumentMut>().map_err(Refusal::whole)?;
        let (from_rpm, step_rpm) = run_of(&document, &scenario.speeds_rpm);
        let fuels = scenario.fuel_requests();
        // What was heard was heard on the build as it stands in the file, whatever is moved later.
        let job = scenario.job_on(Vec::new(), &library, SAMPLES, SEED);
        let job = job.map_err(Refusal::whole)?;
        if let Breathing::Computed(computed) = &job.build.breathing {
            scenario.computed = Some(Arc::clone(computed));
        }
        scenario.learned = job.knock.learned;
        let base = Self {
            scenario,
            document,
            library,
            fuels: Vec::new(),
            preset: Setting::default(),
            stated: Default::default(),
            from_rpm,
            step_rpm,
        };
        base.with_fuels(fuels)
    }

    /// This base on other fuels, the first of them burned until another is chosen.
    ///
    /// # Errors
    /// [`Refusal`] when a fuel cannot be used.
    pub fn with_fuels(mut self, requests: Vec<FuelRequest>) -> Result<Self, Refusal> {
        self.stated = Default::default();
        let mut names = Vec::new();
        for request in &requests {
            names.push(self.resolved(&request.spec)?.name);
        }
        let first = requests.first().map(|request| request.spec.clone());
        self.preset.fuel = first.filter(|spec| self.scenario.fuels.first().is_none_or(|f| f.spec != *spec));
        self.fuels = requests;
        for name in self.library.names() {
            if !names.iter().any(|known| known == name) {
                let lambda = self.scenario.lambda_for(name);
                self.fuels.push(FuelRequest { place: String::new(), spec: name.to_owned(), lambda });
            }
        }
        Ok(self)
    }

    /// This base on another day.
    ///
    /// # Errors
    /// [`Refusal`] when the day is outside the range of a scenario.
    pub fn with_day(mut self, day: WeatherInput) -> Result<Self, Refusal> {
        self.stated = Default::default();
        let loaded = self.scenario.weather;
        // A millionth of a unit is rounding of the conversion there and back.
        let rounded = |value: f64| (value * 1.0e6).round() / 1.0e6;
        for (control, was, is) in [
            (Control::AirTemperature, loaded.temperature_k, day.temperature_k),
            (Control::Pressure, loaded.pressure_pa, day.pressure_pa),
            (Control::Humidity, loaded.relative_humidity, day.relative_humidity),
        ] {
            if was != is {
                self.preset = self.preset.with(control, rounded(control.facts().allowed.unit.of_si(is)))?;
            }
        }
        Ok(self)
    }

    /// The estimate before anything is moved, made once.
    ///
    /// # Errors
    /// [`Refusal`] when the scenario as loaded cannot be run.
    pub(super) fn stated(&self) -> Result<&Curves, Refusal> {
        made_once(&self.stated[0], || self.sampled(&Setting::default()))
    }

    /// Its likely case, made once.
    ///
    /// # Errors
    /// As [`Self::stated`].
    pub(super) fn stated_likely(&self) -> Result<&Curves, Refusal> {
        made_once(&self.stated[1], || self.likely(&Setting::default()))
    }

    /// Allowed values of a control for the scenario that is loaded.
    pub fn limits(&self, control: Control) -> RangeInclusive<f64> {
        if control != Control::TopSpeed {
            return control.facts().allowed.range();
        }
        let loaded = self.scenario.speeds_rpm.last().copied().unwrap_or(self.from_rpm);
        let most = (TOP_SPEED_OVER * loaded / 100.0).ceil() * 100.0;
        let by_points = self.from_rpm + (MOST_SPEEDS - 1) as f64 * self.step_rpm;
        self.from_rpm..=most.min(by_points).min(ENGINE_SPEED.high)
    }

    /// What is run when a setting is made: its own keys, then those of the command line.
    pub(super) fn effective(&self, setting: &Setting) -> Setting {
        setting.over(&self.preset)
    }

    /// The fuel that a setting burns: its name or recipe, and its mixture.
    pub(super) fn fuel(&self, effective: &Setting) -> Result<(String, Option<Lambda>), Refusal> {
        let wanted = effective.fuel.as_deref();
        let chosen = match wanted {
            None => self.fuels.first(),
            Some(wanted) => self.fuels.iter().find(|request| request.spec == wanted),
        };
        let chosen = chosen.ok_or_else(|| {
            let known: Vec<&str> = self.fuels.iter().map(|request| request.spec.as_str()).collect();
            Refusal::new(FUEL, wanted.unwrap_or_default(), format!("it takes one of {}", known.join(", ")))
        })?;
        let lambda = match effective.get(Control::Lambda) {
            None => chosen.lambda,
            Some(typed) => Some(Lambda::new(typed).map_err(Refusal::whole)?),
        };
        let spec = match effective.get(Control::Ethanol) {
            None => chosen.spec.clone(),
            Some(percent) => self.recipe(&chosen.spec, percent)?,
        };
        Ok((spec, lambda))
    }

    fn resolved(&self, spec: &str) -> Result<PumpFuel, Refusal> {
        self.library.resolve(spec).map_err(|error| Refusal::new(FUEL, spec, error.to_string()))
    }

    /// The base of a fuel with a known ethanol content [vol %], as a recipe.
    fn recipe(&self, spec: &str, percent: f64) -> Result<String, Refusal> {
        let fuel = self.resolved(spec)?;
        if fuel.base.is_empty() && percent < 100.0 {
            let allowed = format!("it takes 100 alone, for {spec} has no base besides ethanol");
            return Err(Refusal::new(Control::Ethanol.key(), &percent.to_string(), allowed));
        }
        let term = |name: &str, percent: f64| {
            (percent > 0.0).then(|| format!("{name} {} %", (percent * 1.0e6).round() / 1.0e6))
        };
        let base = fuel.base.iter().filter_map(|s| term(&s.component.name, s.vol_frac * (100.0 - percent)));
        let terms: Vec<String> = base.chain(term(crate::fuel::component::ETHANOL, percent)).collect();
        Ok(terms.join(" + "))
    }

    /// The job that a setting makes, on one fuel.
    ///
    /// # Errors
    /// [`Refusal`] when the setting is outside what the scenario allows.
    pub fn job(&self, setting: &Setting) -> Result<Job, Refusal> {
        let effective = self.effective(setting);
        let (spec, lambda) = self.fuel(&effective)?;
        let fuel = self.resolved(&spec)?;
        let job = self.scenario.job_on(vec![FuelChoice { fuel, lambda }], &self.library, SAMPLES, SEED);
        let mut job = job.map_err(Refusal::whole)?;
        self.move_job(&effective, &mut job)?;
        Ok(job)
    }

    /// Moves everything but the fuel.
    fn move_job(&self, effective: &Setting, job: &mut Job) -> Result<(), Refusal> {
        if let Some(typed) = effective.get(Control::CompressionRatio) {
            JobChange::CompressionRatio(CompressionRatio::new(typed).map_err(Refusal::whole)?).apply(job);
        }
        let day = Weather::new(
            effective.si(Control::AirTemperature).unwrap_or(job.weather.temperature_k),
            effective.si(Control::Pressure).unwrap_or(job.weather.pressure_pa),
            effective.si(Control::Humidity).unwrap_or(job.weather.relative_humidity),
        );
        JobChange::Weather(day.map_err(Refusal::whole)?).apply(job);
        if let Some(loss) = effective.si(Control::Loss) {
            JobChange::DrivelineLoss(loss).apply(job);
        }
        job.reserve_octane = effective.si(Control::Reserve).unwrap_or(job.reserve_octane);
        if let Some(to_rpm) = effective.get(Control::TopSpeed) {
            let limits = self.limits(Control::TopSpeed);
            if !limits.contains(&to_rpm) {
                return Err(Refusal::out_of(Control::TopSpeed, &to_rpm.to_string(), &limits));
            }
            job.speeds_rpm = speeds_between(self.from_rpm, to_rpm, self.step_rpm);
        }
        if let Some(position) = effective.get(Control::Filling).filter(|position| *position != 0.0) {
            job.build.breathing = moved_breathing(job, position)?;
        }
        Ok(())
    }
}

/// Where the run begins and its step [rpm]: as stated, or else of the usual points, without those put in at its peaks.
fn run_of(document: &DocumentMut, usual_rpm: &[f64]) -> (f64, f64) {
    let number = |key: &str| {
        let section = document.get("speed")?.as_table_like()?;
        let value = section.get(key).or_else(|| section.get(without_unit(key)?))?;
        let typed = || value.as_str().and_then(|text| ENGINE_SPEED.typed(text).ok());
        value.as_float().or(value.as_integer().map(|whole| whole as f64)).or_else(typed)
    };
    let widest = usual_rpm.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    let from = number("from_rpm").or(usual_rpm.first().copied()).unwrap_or(ENGINE_SPEED.low);
    (from, number("step_rpm").unwrap_or(if widest > 0.0 { widest } else { USUAL_STEP_RPM }))
}

/// Volumetric efficiency as a table, moved within its 10-90 % band: -1 is the lower end, 1 the upper. The table
/// has the relative width of the band where it is widest, which says how far the engine may be from where it was put.
fn moved_breathing(job: &Job, position: f64) -> Result<Breathing, Refusal> {
    let build = &job.build;
    let reference = job.setting().reference;
    let intake = build.intake(job.weather.temperature_k);
    let speed_rpm = match &build.breathing {
        Breathing::Table { speed_rpm, .. } => speed_rpm.clone(),
        _ => table_speeds(&job.speeds_rpm),
    };
    let mut half_width = 0.0_f64;
    let mut volumetric_efficiency = Vec::with_capacity(speed_rpm.len());
    for rpm in &speed_rpm {
        let at = build.breathing.at(*rpm, &intake);
        let (low, high) = at.whole_ratios();
        let ratio = 1.0 + position * if position < 0.0 { 1.0 - low } else { high - 1.0 };
        half_width = half_width.max(0.5 * (high - low));
        let on_own_walls = table_over_stated(build, reference, &job.weather, *rpm);
        let moved = (at.likely * on_own_walls * ratio * 1.0e4).round() / 1.0e4;
        if !VOLUMETRIC_EFFICIENCY.range().contains(&moved) {
            let allowed = VOLUMETRIC_EFFICIENCY.ends();
            let why =
                format!("it puts volumetric efficiency at {rpm} rpm to {moved:.2}; {allowed} is allowed");
            return Err(Refusal::new(Control::Filling.key(), &position.to_string(), why));
        }
        volumetric_efficiency.push(moved);
    }
    let (spread, follows) = match &build.breathing {
        Breathing::Table { spread, follows, .. } => (*spread, follows.clone()),
        _ => {
            let percent = VE_SPREAD.clamp((half_width * 1.0e3).round() / 10.0);
            (percent / 100.0, Follows::default())
        }
    };
    Ok(Breathing::Table { speed_rpm, volumetric_efficiency, spread, follows })
}

/// The speeds of the run, and another one where there is only one: a table has two or more.
fn table_speeds(run_rpm: &[f64]) -> Vec<f64> {
    const BESIDE_RPM: f64 = 100.0;
    match run_rpm {
        [only] if only + BESIDE_RPM > ENGINE_SPEED.high => vec![only - BESIDE_RPM, *only],
        [only] => vec![*only, only + BESIDE_RPM],
        _ => run_rpm.to_vec(),
    }
}
