//! Fuels as JSON with stable keys, and the schema of that JSON. Units are those the keys name.

use super::columns::content_word;
use super::{FuelEntry, FuelReport, Occasion};
use crate::fuel::tank::Fill;
use crate::fuel::{ContentRange, FuelState};
use crate::report::ReportError;
use crate::report::document::{Tool, schema_of};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Fuels with their properties at each ethanol content.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FuelDocument {
    /// The program that made the document.
    pub tool: Tool,
    /// Name of the fuel against which fuel flow is compared.
    pub flow_reference: String,
    /// What is in the tank, and last what is to be added; null when no tank was asked about.
    pub tank: Option<Tank>,
    /// The fuels in the order asked; the one in the tank; or the one whose base is swept.
    pub fuels: Vec<Fuel>,
}

/// A tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tank {
    /// What is in it.
    pub filled: Vec<Filled>,
    /// What is to be added for the wanted content; null when none was wanted.
    pub add: Option<Filled>,
    /// Volume in the end [L].
    pub volume_l: f64,
}

/// A volume of one fuel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Filled {
    /// Name or recipe of the fuel.
    pub fuel: String,
    /// Volume [L].
    pub volume_l: f64,
    /// Ethanol by volume [-].
    pub ethanol_vol_frac: Range,
}

/// Low, likely and high value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Range {
    /// Low value.
    pub low: f64,
    /// Likely value.
    pub likely: f64,
    /// High value.
    pub high: f64,
}

/// One fuel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Fuel {
    /// Name or recipe.
    pub name: String,
    /// Name for people.
    pub title: String,
    /// Ethanol by volume [-].
    pub ethanol_vol_frac: Range,
    /// One entry per ethanol content, by rising content.
    pub states: Vec<State>,
    /// Why the best-power lambda is what it is.
    pub best_power_lambda_source: String,
    /// Cautions on handling.
    pub cautions: Vec<String>,
    /// Where the figures come from.
    pub sources: Vec<String>,
}

/// A fuel at one ethanol content.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct State {
    /// "low", "likely", "high", or "swept".
    pub content: String,
    /// Ethanol by volume [-].
    pub ethanol_vol_frac: f64,
    /// Research octane number, 10-90 % band.
    pub ron: Range,
    /// Motor octane number, 10-90 % band.
    pub mon: Range,
    /// Anti-knock index: the mean of RON and MON.
    pub aki: f64,
    /// RON less MON.
    pub sensitivity: f64,
    /// Lower heating value of the liquid [J/kg].
    pub lhv_j_per_kg: f64,
    /// Lower heating value by volume at 15 C [J/m3].
    pub lhv_j_per_m3: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    pub hov_j_per_kg: f64,
    /// Heat of vaporisation per stoichiometric mixture [J/kg].
    pub hov_j_per_kg_mixture: f64,
    /// Stoichiometric air-fuel ratio by mass [-].
    pub afr_stoich: f64,
    /// Lambda of best power [-].
    pub best_power_lambda: f64,
    /// Cooling of the charge when all fuel evaporates at that lambda [K].
    pub charge_cooling_k: f64,
    /// Fuel flow by mass over that of the reference at equal power [-].
    pub mass_flow_ratio: f64,
    /// Fuel flow by volume over that of the reference at equal power [-].
    pub volume_flow_ratio: f64,
    /// Carbon atoms per mean molecule [-].
    pub carbon: f64,
    /// Hydrogen atoms per mean molecule [-].
    pub hydrogen: f64,
    /// Oxygen atoms per mean molecule [-].
    pub oxygen: f64,
    /// Molar mass of the mean molecule [kg/mol].
    pub molar_mass_kg_per_mol: f64,
    /// Liquid density at 15 C [kg/m3].
    pub density_15c_kg_per_m3: f64,
    /// Thermal expansion near 15 C [1/K]: density falls by 1/(1 + expansion x warming).
    pub thermal_expansion_per_k: f64,
    /// The components.
    pub parts: Vec<Part>,
    /// Why octane is less certain than its band says.
    pub octane_concerns: Vec<String>,
}

/// One component.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Part {
    /// Name.
    pub name: String,
    /// Share by volume [-].
    pub vol_frac: f64,
    /// Share by mass [-].
    pub mass_frac: f64,
    /// Share by moles [-].
    pub mole_frac: f64,
}

/// JSON Schema (2020-12) of the JSON form of fuels, indented, ending in a line feed.
pub fn fuel_schema() -> String {
    schema_of::<FuelDocument>()
}

/// The whole JSON document.
pub(super) fn render(report: &FuelReport) -> Result<String, ReportError> {
    Ok(serde_json::to_string_pretty(&document(report))? + "\n")
}

fn document(report: &FuelReport) -> FuelDocument {
    let tank = match &report.occasion {
        Occasion::Mix { fills, top_up } => {
            let add = top_up.as_ref().map(|t| filled(&t.added));
            let filled: Vec<Filled> = fills.iter().map(filled).collect();
            let volume_l = filled.iter().chain(&add).map(|f| f.volume_l).sum();
            Some(Tank { filled, add, volume_l })
        }
        Occasion::Asked | Occasion::Sweep => None,
    };
    FuelDocument {
        tool: Tool::this(),
        flow_reference: report.reference_name.clone(),
        tank,
        fuels: report.fuels.iter().map(|entry| fuel(entry, &report.reference)).collect(),
    }
}

fn filled(fill: &Fill) -> Filled {
    Filled {
        fuel: fill.fuel.name.clone(),
        volume_l: fill.volume_m3 * 1e3,
        ethanol_vol_frac: fill.fuel.ethanol.into(),
    }
}

impl From<ContentRange> for Range {
    fn from(range: ContentRange) -> Self {
        Self { low: range.low, likely: range.likely, high: range.high }
    }
}

fn fuel(entry: &FuelEntry, reference: &FuelState) -> Fuel {
    let fuel = &entry.fuel;
    Fuel {
        name: fuel.name.clone(),
        title: fuel.title.clone(),
        ethanol_vol_frac: fuel.ethanol.into(),
        states: entry.states.iter().map(|s| state(s, reference)).collect(),
        best_power_lambda_source: fuel.best_power_lambda_source(),
        cautions: fuel.cautions().into_iter().map(str::to_owned).collect(),
        sources: fuel.sources.iter().cloned().chain(fuel.component_sources()).collect(),
    }
}

fn state(s: &FuelState, reference: &FuelState) -> State {
    let b = &s.blend;
    let band =
        |likely: f64| Range { low: likely - b.octane_band.below, likely, high: likely + b.octane_band.above };
    State {
        content: content_word(s.content).to_owned(),
        ethanol_vol_frac: b.ethanol_vol_frac,
        ron: band(b.octane.ron),
        mon: band(b.octane.mon),
        aki: b.octane.aki(),
        sensitivity: b.octane.sensitivity(),
        lhv_j_per_kg: b.lhv_j_per_kg,
        lhv_j_per_m3: b.lhv_j_per_m3(),
        hov_j_per_kg: b.hov_j_per_kg,
        hov_j_per_kg_mixture: b.hov_j_per_kg_mixture(),
        afr_stoich: b.afr_stoich,
        best_power_lambda: s.best_power_lambda,
        charge_cooling_k: s.charge_cooling_k,
        mass_flow_ratio: s.mass_flow_ratio(reference),
        volume_flow_ratio: s.volume_flow_ratio(reference),
        carbon: b.carbon,
        hydrogen: b.hydrogen,
        oxygen: b.oxygen,
        molar_mass_kg_per_mol: b.molar_mass_kg_per_mol,
        density_15c_kg_per_m3: b.density_15c_kg_per_m3,
        thermal_expansion_per_k: b.thermal_expansion_per_k,
        parts: b
            .parts
            .iter()
            .map(|p| Part {
                name: p.name.clone(),
                vol_frac: p.vol_frac,
                mass_frac: p.mass_frac,
                mole_frac: p.mole_frac,
            })
            .collect(),
        octane_concerns: b.octane_concerns().iter().map(ToString::to_string).collect(),
    }
}
