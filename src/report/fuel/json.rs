//! Fuels as JSON with stable keys, and the schema of that JSON. Units are those the keys name.

use super::columns::content_word;
use super::{FuelEntry, FuelReport, Occasion};
use crate::estimate::Band;
use crate::fuel::handling::LambdaSource;
use crate::fuel::tank::Fill;
use crate::fuel::{ContentRange, FuelState, OctaneConcern, Part};
use crate::report::ReportError;
use crate::report::document::Tool;
use crate::report::words::cautions::handling;
use schemars::JsonSchema;
use serde::Serialize;

/// Fuels with their properties at each ethanol content.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FuelDocument {
    /// The program that made the document.
    tool: Tool,
    /// Name of the fuel against which fuel flow is compared.
    flow_reference: String,
    /// What is in the tank, and last what is to be added; null when no tank was asked about.
    tank: Option<Tank>,
    /// The fuels in the order asked; the one in the tank; or the one whose base is swept.
    fuels: Vec<FuelDocumentEntry>,
}

/// A tank.
#[derive(Debug, Serialize, JsonSchema)]
struct Tank {
    /// What is in it.
    filled: Vec<Filled>,
    /// What is to be added for the target content; null when none was asked for.
    add: Option<Filled>,
    /// Volume in the end [L].
    volume_l: f64,
}

/// A volume of one fuel.
#[derive(Debug, Serialize, JsonSchema)]
struct Filled {
    /// Name or recipe of the fuel.
    fuel: String,
    /// Volume [L].
    volume_l: f64,
    /// Ethanol by volume [-].
    ethanol_vol_frac: ContentRange,
}

/// One fuel.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Fuel")]
struct FuelDocumentEntry {
    /// Name or recipe.
    name: String,
    /// Name for people.
    title: String,
    /// Ethanol by volume [-].
    ethanol_vol_frac: ContentRange,
    /// One entry per ethanol content, by rising content.
    states: Vec<State>,
    /// Why the best-power lambda is what it is.
    best_power_lambda_source: LambdaSource,
    /// Cautions on handling.
    cautions: Vec<&'static str>,
    /// Where the figures come from.
    sources: Vec<String>,
}

/// A fuel at one ethanol content.
#[derive(Debug, Serialize, JsonSchema)]
struct State {
    /// "low", "likely", "high", or "swept".
    content: String,
    /// Ethanol by volume [-].
    ethanol_vol_frac: f64,
    /// Research octane number, 10-90 % band.
    ron: Band,
    /// Motor octane number, 10-90 % band.
    mon: Band,
    /// Anti-knock index: the mean of RON and MON.
    aki: f64,
    /// RON less MON.
    sensitivity: f64,
    /// Lower heating value of the liquid [J/kg].
    lhv_j_per_kg: f64,
    /// Lower heating value by volume at 15 C [J/m3].
    lhv_j_per_m3: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    hov_j_per_kg: f64,
    /// Heat of vaporisation per stoichiometric mixture [J/kg].
    hov_j_per_kg_mixture: f64,
    /// Stoichiometric air-fuel ratio by mass [-].
    afr_stoich: f64,
    /// Lambda of best power [-].
    best_power_lambda: f64,
    /// Cooling of the charge when all fuel evaporates at that lambda [K].
    charge_cooling_k: f64,
    /// Fuel flow by mass over that of the reference at equal power [-].
    mass_flow_ratio: f64,
    /// Fuel flow by volume over that of the reference at equal power [-].
    volume_flow_ratio: f64,
    /// Carbon atoms per mean molecule [-].
    carbon: f64,
    /// Hydrogen atoms per mean molecule [-].
    hydrogen: f64,
    /// Oxygen atoms per mean molecule [-].
    oxygen: f64,
    /// Molar mass of the mean molecule [kg/mol].
    molar_mass_kg_per_mol: f64,
    /// Liquid density at 15 C [kg/m3].
    density_15c_kg_per_m3: f64,
    /// Thermal expansion near 15 C [1/K]: density falls by 1/(1 + expansion x warming).
    thermal_expansion_per_k: f64,
    /// The components.
    parts: Vec<Part>,
    /// Why octane is less certain than its band says.
    octane_concerns: Vec<OctaneConcern>,
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
        ethanol_vol_frac: fill.fuel.ethanol,
    }
}

fn fuel(entry: &FuelEntry, reference: &FuelState) -> FuelDocumentEntry {
    let fuel = &entry.fuel;
    FuelDocumentEntry {
        name: fuel.name.clone(),
        title: fuel.title.clone(),
        ethanol_vol_frac: fuel.ethanol,
        states: entry.states.iter().map(|s| state(s, reference)).collect(),
        best_power_lambda_source: fuel.best_power_lambda_source(),
        cautions: handling(fuel).collect(),
        sources: fuel.sources.iter().cloned().chain(fuel.component_sources()).collect(),
    }
}

fn state(s: &FuelState, reference: &FuelState) -> State {
    let b = &s.blend;
    let band =
        |likely: f64| Band { low: likely - b.octane_band.below, likely, high: likely + b.octane_band.above };
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
        parts: b.parts.clone(),
        octane_concerns: b.octane_concerns(),
    }
}
