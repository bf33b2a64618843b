//! Fuels as a person or another program reads them: text, JSON, CSV and plots of a sweep.

mod columns;
mod json;
mod plot;
mod text;

use super::document::schema_of;
use super::plot::figure::Figure;
use super::{ReportError, Shown, Text, Units};
use crate::fuel::tank::{Fill, TopUp};
use crate::fuel::{FuelError, FuelLibrary, FuelState, PumpFuel};

/// Why the fuels are shown.
#[derive(Clone, Debug, PartialEq)]
pub enum Occasion {
    /// They were asked for by name or recipe.
    Asked,
    /// One base with ethanol from 0 to 100 %.
    Sweep,
    /// They were filled into one tank.
    Mix {
        /// What was in the tank.
        fills: Vec<Fill>,
        /// What is to be added, when a content was wanted.
        top_up: Option<Box<TopUp>>,
    },
}

/// A fuel and its states, one per ethanol content.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelEntry {
    /// The fuel.
    pub fuel: PumpFuel,
    /// Its states by rising content.
    pub states: Vec<FuelState>,
}

/// Fuels to show.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelReport {
    /// Why they are shown.
    pub occasion: Occasion,
    /// The fuels.
    pub fuels: Vec<FuelEntry>,
    /// Name of the fuel against which fuel flow is compared.
    pub reference_name: String,
    /// That fuel.
    pub reference: FuelState,
}

impl FuelReport {
    /// Fuels by name or recipe, their flow compared with the first.
    ///
    /// # Errors
    /// [`FuelError::Empty`] without a fuel, else as [`PumpFuel::states`].
    pub fn asked(fuels: Vec<PumpFuel>) -> Result<Self, FuelError> {
        let Some(first) = fuels.first() else {
            return Err(FuelError::Empty { blend: "nothing".to_owned() });
        };
        let (reference_name, reference) = (first.name.clone(), first.likely_state()?);
        let entries = fuels.into_iter().map(|fuel| Ok(FuelEntry { states: fuel.states()?, fuel }));
        let fuels = entries.collect::<Result<_, FuelError>>()?;
        Ok(Self { occasion: Occasion::Asked, fuels, reference_name, reference })
    }

    /// One fuel's base with ethanol from 0 to 100 %, its flow compared with the fuel as sold.
    ///
    /// # Errors
    /// As [`PumpFuel::ethanol_sweep`].
    pub fn sweep(fuel: PumpFuel) -> Result<Self, FuelError> {
        let (reference_name, reference) = (fuel.name.clone(), fuel.likely_state()?);
        let fuels = vec![FuelEntry { states: fuel.ethanol_sweep()?, fuel }];
        Ok(Self { occasion: Occasion::Sweep, fuels, reference_name, reference })
    }

    /// What a tank holds, its flow compared with the first fuel in it.
    ///
    /// # Errors
    /// As [`crate::fuel::tank::mix`].
    pub fn mix(fills: Vec<Fill>, top_up: Option<TopUp>) -> Result<Self, FuelError> {
        let Some(first) = fills.first() else {
            return Err(FuelError::Empty { blend: "tank".to_owned() });
        };
        let (reference_name, reference) = (first.fuel.name.clone(), first.fuel.likely_state()?);
        let fuel = match &top_up {
            Some(top_up) => top_up.fuel.clone(),
            None => crate::fuel::tank::mix("tank", &fills)?,
        };
        let fuels = vec![FuelEntry { states: fuel.states()?, fuel }];
        Ok(Self {
            occasion: Occasion::Mix { fills, top_up: top_up.map(Box::new) },
            fuels,
            reference_name,
            reference,
        })
    }
}

impl Shown for FuelReport {
    fn text(&self, units: Units) -> Text {
        text::render(self, units).into()
    }

    fn json(&self) -> Result<String, ReportError> {
        check(self)?;
        json::render(self)
    }

    fn csv(&self, units: Units) -> Result<String, ReportError> {
        columns::csv(self, units)
    }

    /// A sweep is drawn; single fuels are a table.
    fn figures(&self, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
        match self.occasion {
            Occasion::Sweep => plot::figures(self, units),
            Occasion::Asked | Occasion::Mix { .. } => Ok(Vec::new()),
        }
    }

    fn schema() -> String {
        schema_of::<json::FuelDocument>()
    }
}

/// Names and titles of all pump fuels and components, for a person.
pub fn fuel_list(library: &FuelLibrary) -> Result<String, FuelError> {
    text::list(library)
}

/// The polynomial of a user's component is the one figure without a range: it shows in the cooling.
fn check(report: &FuelReport) -> Result<(), ReportError> {
    for entry in &report.fuels {
        for state in &entry.states {
            let value = state.charge_cooling_k;
            if !value.is_finite() {
                let owner = format!("fuel {}", entry.fuel.name);
                return Err(ReportError::NotFinite { owner, key: "charge_cooling_k", value });
            }
        }
    }
    Ok(())
}
