//! Why an estimate could not be made.

use super::compare::MOST_BUILDS;
use super::tuned::LEAST_BMEP_BAR;
use super::uncertainty::LEAST_SAMPLES;
use crate::fuel::FuelError;
use crate::gas::EquilibriumError;
use crate::units::OutOfRange;

/// An estimate could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EstimateError {
    /// No fuel or no speed was asked for, or too few samples.
    #[error("an estimate needs at least one fuel, one rpm and {least} samples; found {fuels}, {speeds} and {samples}", least = LEAST_SAMPLES)]
    Empty {
        /// Fuels found.
        fuels: usize,
        /// Speeds found.
        speeds: usize,
        /// Samples found.
        samples: usize,
    },
    /// A comparison of too few or too many builds.
    #[error("2 to {most} builds go side by side; found {found}", most = MOST_BUILDS)]
    Builds {
        /// Builds found.
        found: usize,
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
    /// A timing search failed.
    #[error("{fuel} at {speed_rpm:.0} rpm: timing search failed: {reason}")]
    Search {
        /// Name of the fuel.
        fuel: String,
        /// Engine speed [rpm].
        speed_rpm: f64,
        /// The searcher's words.
        reason: String,
    },
    /// A load of a timing map lies below what the model is asked.
    #[error(
        "a load of the map is {found_percent:.0} % of full-load air at {speed_rpm:.0} rpm; the model goes down to {least_percent:.0} %, so leave out lower loads"
    )]
    Load {
        /// Engine speed [rpm].
        speed_rpm: f64,
        /// Air at that load over air at full load [%].
        found_percent: f64,
        /// Least that is asked [%].
        least_percent: f64,
    },
    /// Another ethanol content is asked of a fuel that is all ethanol.
    #[error(
        "{fuel} holds no gasoline, so no other ethanol content can be made of it; name another fuel for --ethanol"
    )]
    NoBase {
        /// Name of the fuel.
        fuel: String,
    },
    /// The build does not run at this point: no positive torque, or a result that is not a number.
    #[error(
        "{fuel} at {speed_rpm:.0} rpm: the engine makes hardly any torque there ({bmep_bar:.2} bar brake, {LEAST_BMEP_BAR} or more is needed); check breathing, mixture and rpm range"
    )]
    NoTorque {
        /// Name of the fuel.
        fuel: String,
        /// Engine speed [rpm].
        speed_rpm: f64,
        /// Brake mean effective pressure found [bar].
        bmep_bar: f64,
    },
    /// An estimate of one of several failed.
    #[error("{whose}: {source}")]
    Of {
        /// A build by its name, or a known point by file, line and key.
        whose: String,
        /// What is wrong.
        source: Box<Self>,
    },
}

impl EstimateError {
    /// What is wrong with one of several.
    pub(crate) fn of(whose: &str) -> impl Fn(Self) -> Self {
        move |source| Self::Of { whose: whose.to_owned(), source: Box::new(source) }
    }

    /// A failed timing search of a fuel at a speed, from the searcher's own error.
    pub(crate) fn search<E: std::fmt::Display>(fuel: &str, speed_rpm: f64) -> impl Fn(E) -> Self {
        move |error| Self::Search { fuel: fuel.to_owned(), speed_rpm, reason: error.to_string() }
    }
}
