//! Where what fails in a run was asked for.

use super::Scenario;
use super::job::FuelRequest;
use crate::choose::ChooseError;
use crate::dyno::{FitFault, JudgeError};
use crate::estimate::EstimateError;
use crate::fuel::FuelLibrary;
use crate::goal::GoalError;
use crate::input::Places;

/// Where the inputs of a job stand, so that what only shows once it is run is told with file, line and key.
#[derive(Clone, Debug)]
pub struct Origin {
    places: Places,
    /// Name of each fuel in the library, and where it was asked for.
    fuels: Vec<(String, String)>,
    /// Rpm in the middle of the run [rpm].
    mid_rpm: f64,
}

/// An error of which the place in a scenario can be told.
pub trait Placed {
    /// File, line, key and value of what to change, as messages have them; none where no key is to blame, or where the error
    /// says the place itself.
    fn place(&self, origin: &Origin) -> Option<String>;
}

impl Origin {
    /// That of a job on some fuels.
    pub fn new(scenario: &Scenario, requests: &[FuelRequest], library: &FuelLibrary) -> Self {
        let named = |request: &FuelRequest| {
            let fuel = library.burnable(&request.spec).ok()?;
            Some((fuel.name, format!("{} = {:?}", request.place, request.spec)))
        };
        let speeds = &scenario.speeds_rpm;
        let ends = speeds.first().zip(speeds.last());
        Self {
            places: scenario.places.clone(),
            fuels: requests.iter().filter_map(named).collect(),
            mid_rpm: ends.map_or(0.0, |(low, high)| 0.5 * (low + high)),
        }
    }

    fn fuel(&self, name: &str) -> Option<String> {
        self.fuels.iter().find(|(known, _)| known == name).map(|(_, place)| place.clone())
    }

    /// The end of the run that lies nearer.
    fn speed(&self, speed_rpm: f64) -> String {
        let end = if speed_rpm < self.mid_rpm { "speed.from_rpm" } else { "speed.to_rpm" };
        self.places
            .said(end)
            .unwrap_or_else(|| format!("{}: [speed] is left out", self.places.first_said(&[])))
    }
}

impl Placed for EstimateError {
    fn place(&self, origin: &Origin) -> Option<String> {
        match self {
            Self::NoTorque { speed_rpm, .. } => Some(origin.speed(*speed_rpm)),
            Self::Fuel { fuel, .. }
            | Self::Gas { fuel, .. }
            | Self::Octane { fuel, .. }
            | Self::Search { fuel, .. } => origin.fuel(fuel),
            Self::Ratio(_) => Some(origin.places.first_said(&["engine.compression_ratio", "engine.volumes"])),
            // The options say it themselves, and so does what is of another.
            Self::Load { .. } | Self::NoBase { .. } | Self::Of { .. } => None,
            Self::Empty { .. } | Self::Builds { .. } => None,
        }
    }
}

impl Placed for ChooseError {
    fn place(&self, origin: &Origin) -> Option<String> {
        let keys: &[&str] = match self {
            Self::Estimate(source) | Self::AtRatio { source, .. } => return source.place(origin),
            Self::Ratio(_) | Self::Span { .. } => &["choose.lowest_ratio", "choose.highest_ratio"],
            Self::Weights { .. } => &["choose.weights", "choose.likelihoods"],
            Self::Piston { .. } => &["choose.pistons"],
            Self::Band { .. } => &["choose.from_rpm", "choose.to_rpm"],
            Self::Range { .. } => &["choose.blends.from_percent", "choose.blends.to_percent"],
            Self::Soak { .. } => &["choose.service.heat_soak_c"],
            Self::Search(_) => return None,
        };
        keys.iter().find_map(|key| origin.places.said(key))
    }
}

impl Placed for GoalError {
    fn place(&self, origin: &Origin) -> Option<String> {
        match self {
            Self::Estimate(source) => source.place(origin),
            Self::Power { .. } => None,
        }
    }
}

impl Placed for JudgeError {
    fn place(&self, origin: &Origin) -> Option<String> {
        match self {
            Self::Estimate(source) => source.place(origin),
            Self::Overlap { .. } => Some(origin.places.first_said(&["speed"])),
            Self::NoFuel => None,
        }
    }
}

impl Placed for FitFault {
    fn place(&self, origin: &Origin) -> Option<String> {
        match self {
            Self::Judge(source) => source.place(origin),
            Self::Estimate(source) => source.place(origin),
            Self::Fitted { on_pipes } => {
                origin.places.said(if *on_pipes { "breathing.pipes.follows" } else { "breathing.follows" })
            }
            Self::Level { .. } | Self::Filling { .. } | Self::NotSettled(_) | Self::Reference(_) => {
                origin.places.said("breathing")
            }
            Self::Solver(_) => None,
        }
    }
}
