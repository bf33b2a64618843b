//! What an estimate is asked.

use super::assumed::Assumed;
use super::error::EstimateError;
use super::learned::Learned;
use super::point::{FuelInUse, PointSetting};
use super::spark::SparkRange;
pub use super::uncertainty::LEAST_SAMPLES;
use super::uncertainty::{Sample, latin_hypercube};
use crate::air::Weather;
use crate::engine::Build;
use crate::fuel::pump::best_power_lambda;
use crate::fuel::{Blend, FuelError, PumpFuel};
use crate::knock::{Deposits, KnockFit, OwnNeed, sensitivity_weight};
use crate::units::Lambda;
use std::sync::Arc;

/// One fuel to run.
#[derive(Clone, Debug)]
pub struct FuelChoice {
    /// The fuel as sold or mixed.
    pub fuel: PumpFuel,
    /// Mixture to run; the fuel's best-power mixture where none is given.
    pub lambda: Option<Lambda>,
}

impl FuelChoice {
    /// Lambda that is run [-]: the one stated, or that of best power.
    pub fn lambda_run(&self) -> f64 {
        self.lambda.map_or(self.fuel.best_power_lambda, |lambda| lambda.get())
    }

    /// The fuel at its likely content and the mixture that is run, with its burned gas on a day.
    ///
    /// # Errors
    /// [`EstimateError::Fuel`] or [`EstimateError::Gas`].
    pub fn in_use(&self, weather: &Weather) -> Result<FuelInUse, EstimateError> {
        fuel_in_use(&self.fuel, self.fuel.ethanol.likely, self.lambda_run(), weather)
    }
}

/// A pump fuel at an ethanol content and a mixture, with its burned gas on a day.
///
/// # Errors
/// [`EstimateError::Fuel`] when the content makes no blend, [`EstimateError::Gas`] when the mixture is outside
/// the solver's range.
pub(crate) fn fuel_in_use(
    pump: &PumpFuel,
    ethanol_vol_frac: f64,
    lambda: f64,
    weather: &Weather,
) -> Result<FuelInUse, EstimateError> {
    let fuel = || pump.name.clone();
    let blend =
        pump.blend_at(ethanol_vol_frac).map_err(|source| EstimateError::Fuel { fuel: fuel(), source })?;
    FuelInUse::new(blend, lambda, weather).map_err(|source| EstimateError::Gas {
        fuel: fuel(),
        lambda,
        source,
    })
}

/// What is known of knock in one engine besides the model.
#[derive(Clone, Debug, Default)]
pub struct OwnKnock {
    /// Deposits that its decisions allow for.
    pub deposits: Deposits,
    /// Octane numbers that its tank lies below what was asked for [-]; 0 but where a weak tank is tried.
    pub weak_tank_octane: f64,
    /// What known points have shown; none without any.
    pub learned: Option<Arc<Learned>>,
}

impl OwnKnock {
    /// Octane numbers that the engine needs beyond the model.
    pub fn need(&self) -> OwnNeed {
        let (shown, shown_per_ln_speed) =
            self.learned.as_ref().map_or((0.0, 0.0), |learned| (learned.octane, learned.octane_per_ln_speed));
        OwnNeed { allowed: self.deposits.octane() + self.weak_tank_octane, shown, shown_per_ln_speed }
    }
}

/// A whole estimate to be made.
#[derive(Clone, Debug)]
pub struct Job {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario.
    pub note: String,
    /// The engine.
    pub build: Build,
    /// The day.
    pub weather: Weather,
    /// Fuels in the order to be shown; at least one.
    pub fuels: Vec<FuelChoice>,
    /// Gasoline for which volumetric efficiency is stated.
    pub reference_fuel: Blend,
    /// Speeds [rpm], rising; at least one.
    pub speeds_rpm: Vec<f64>,
    /// Safety margin at the knock-limited timing, octane numbers [-], 0 to 10.
    pub reserve_octane: f64,
    /// Range in which timing may be set.
    pub spark_range: SparkRange,
    /// What is known of knock in this engine.
    pub knock: OwnKnock,
    /// What of it was not stated.
    pub assumed: Vec<Assumed>,
    /// Number of samples, 20 or more.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
}

/// Safety margin in octane numbers where nothing is stated [-]: half a grade of pump fuel (common practice, no source).
pub const USUAL_RESERVE_OCTANE: f64 = 1.0;
/// Samples behind every band, where nothing is stated.
pub const USUAL_SAMPLES: usize = 400;
/// Their seed, where none is stated.
pub const USUAL_SEED: u64 = 1;

impl Job {
    /// An estimate of a build on a day, each fuel at its best-power mixture, all else as where nothing is stated.
    /// Volumetric efficiency is that on the first of the fuels.
    ///
    /// # Errors
    /// [`FuelError`] when there is no fuel or the first cannot be blended.
    pub fn new(
        build: Build,
        weather: Weather,
        fuels: Vec<PumpFuel>,
        speeds_rpm: Vec<f64>,
    ) -> Result<Self, FuelError> {
        let first = fuels.first().ok_or(FuelError::Empty { blend: "nothing".to_owned() })?;
        Ok(Self {
            scenario: String::new(),
            note: String::new(),
            build,
            weather,
            reference_fuel: first.blend()?,
            fuels: fuels.into_iter().map(|fuel| FuelChoice { fuel, lambda: None }).collect(),
            speeds_rpm,
            reserve_octane: USUAL_RESERVE_OCTANE,
            spark_range: SparkRange::USUAL,
            knock: OwnKnock::default(),
            assumed: Vec::new(),
            samples: USUAL_SAMPLES,
            seed: USUAL_SEED,
        })
    }

    /// What stays the same over every point of this job.
    pub fn setting(&self) -> PointSetting<'_> {
        let lambda = best_power_lambda(self.reference_fuel.ethanol_vol_frac);
        PointSetting {
            build: &self.build,
            weather: &self.weather,
            reference: (&self.reference_fuel, lambda),
            fit: KnockFit::SHIPPED,
            need: self.knock.need(),
        }
    }

    /// The samples of this job: as known points have left them, or all that the inputs allow.
    pub fn draw(&self) -> Vec<Sample> {
        match &self.knock.learned {
            Some(learned) => learned.samples.iter().cycle().take(self.samples).copied().collect(),
            None => latin_hypercube(self.samples, self.seed),
        }
    }

    /// What is wrong with a job without fuel, speed or samples enough.
    pub(crate) fn empty(&self) -> EstimateError {
        let (fuels, speeds, samples) = (self.fuels.len(), self.speeds_rpm.len(), self.samples);
        EstimateError::Empty { fuels, speeds, samples }
    }

    /// The fuel with the least octane index of those that hold more than ethanol; of ethanol alone where there is no
    /// other.
    ///
    /// # Errors
    /// [`FuelError`] when a fuel cannot be blended or there is none.
    pub fn weakest_fuel(&self) -> Result<&FuelChoice, FuelError> {
        let weight = sensitivity_weight(self.build.injection);
        let mut found: Option<(f64, &FuelChoice)> = None;
        for choice in &self.fuels {
            let index = choice.fuel.blend()?.octane_index(weight);
            let is_weaker = found.is_none_or(|(least, other)| {
                (choice.fuel.base.is_empty(), index) < (other.fuel.base.is_empty(), least)
            });
            if is_weaker {
                found = Some((index, choice));
            }
        }
        found.map(|(_, choice)| choice).ok_or(FuelError::Empty { blend: "nothing".to_owned() })
    }
}
