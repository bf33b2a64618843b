//! What an estimate is asked.

use super::analysis::fuel_in_use;
use super::known::Learned;
use super::point::{FuelInUse, Setting};
use super::spark::SparkRange;
use super::uncertainty::{Sample, latin_hypercube};
use crate::air::Weather;
use crate::engine::Build;
use crate::fuel::pump::best_power_lambda;
use crate::fuel::{Blend, FuelError, PumpFuel};
use crate::gas::EquilibriumError;
use crate::knock::{Deposits, Fit, OwnNeed, sensitivity_weight};
use crate::units::{CompressionRatio, Lambda, OutOfRange};
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
    /// Octane numbers to be kept in hand at the knock-limited spark [-], 0 to 10.
    pub reserve_octane: f64,
    /// Range in which spark may be set.
    pub spark_range: SparkRange,
    /// What is known of knock in this engine.
    pub knock: OwnKnock,
    /// Number of samples, 20 or more.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
}

impl Job {
    /// What stays the same over every point of this job.
    pub fn setting(&self) -> Setting<'_> {
        let lambda = best_power_lambda(self.reference_fuel.ethanol_vol_frac);
        Setting {
            build: &self.build,
            weather: &self.weather,
            reference: (&self.reference_fuel, lambda),
            fit: Fit::SHIPPED,
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

    /// This job with its build at another ratio [-].
    ///
    /// # Errors
    /// [`OutOfRange`] when the ratio is outside the model.
    pub fn at_ratio(&self, ratio: f64) -> Result<Self, OutOfRange> {
        let mut changed = self.clone();
        changed.build.geometry.compression_ratio = CompressionRatio::new(ratio)?;
        Ok(changed)
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

/// An estimate could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EstimateError {
    /// No fuel or no speed was asked for, or too few samples.
    #[error("an estimate needs at least one fuel, one speed and {least} samples; found {fuels}, {speeds} and {samples}", least = LEAST_SAMPLES)]
    Empty {
        /// Fuels found.
        fuels: usize,
        /// Speeds found.
        speeds: usize,
        /// Samples found.
        samples: usize,
    },
    /// A ratio lies outside the model.
    #[error(transparent)]
    Ratio(#[from] OutOfRange),
    /// A blend could not be made.
    #[error("{fuel}: {source}")]
    Fuel {
        /// Name of the fuel.
        fuel: String,
        /// What is wrong.
        source: FuelError,
    },
    /// The burned gas of a fuel and mixture lies outside the equilibrium solver.
    #[error("{fuel} at lambda {lambda:.2}: {source}")]
    Gas {
        /// Name of the fuel.
        fuel: String,
        /// Mixture.
        lambda: f64,
        /// What is wrong.
        source: EquilibriumError,
    },
    /// The octane of a fuel lies outside the knock model.
    #[error(
        "{fuel}: octane index {octane_index:.0} lies outside 60 to 130, where the knock model may be asked"
    )]
    Octane {
        /// Name of the fuel.
        fuel: String,
        /// Octane index found [-].
        octane_index: f64,
    },
    /// A spark search failed.
    #[error("{fuel} at {speed_rpm:.0} rpm: spark search failed: {reason}")]
    Search {
        /// Name of the fuel.
        fuel: String,
        /// Engine speed [rpm].
        speed_rpm: f64,
        /// The searcher's words.
        reason: String,
    },
    /// The build does not run at this point: no positive torque, or a result that is not a number.
    #[error(
        "{fuel} at {speed_rpm:.0} rpm: the engine makes hardly any torque there ({bmep_bar:.2} bar brake); check breathing, mixture and speed range"
    )]
    NoTorque {
        /// Name of the fuel.
        fuel: String,
        /// Engine speed [rpm].
        speed_rpm: f64,
        /// Brake mean effective pressure found [bar].
        bmep_bar: f64,
    },
}

impl EstimateError {
    /// Refuses a brake mean effective pressure [bar] at best-torque spark that is hardly any, or not a number.
    pub(crate) fn check_torque(fuel: &str, speed_rpm: f64, bmep_bar: f64) -> Result<(), Self> {
        if bmep_bar.is_nan() || bmep_bar < LEAST_BMEP_BAR {
            return Err(Self::NoTorque { fuel: fuel.to_owned(), speed_rpm, bmep_bar });
        }
        Ok(())
    }

    /// A failed spark search of a fuel at a speed, from the searcher's own error.
    pub(crate) fn search(fuel: &str, speed_rpm: f64) -> impl Fn(argmin::core::Error) -> Self {
        move |error| Self::Search { fuel: fuel.to_owned(), speed_rpm, reason: error.to_string() }
    }
}

/// Brake mean effective pressure below which a point is not run [bar].
const LEAST_BMEP_BAR: f64 = 0.5;

/// Fewest samples from which percentiles are read.
pub const LEAST_SAMPLES: usize = 20;
