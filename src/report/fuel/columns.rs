//! The figures of a fuel state with their names and units, for the tables and the CSV alike.

use crate::fuel::{Content, FuelState};
use crate::report::Units;
use crate::report::quantity::fixed;
use crate::units::celsius_to_k;

/// Temperatures at which density is shown [C].
const DENSITY_C: [f64; 3] = [0.0, 15.0, 30.0];

/// What a column shows of a state beside the reference state.
type Value = Box<dyn Fn(&FuelState, &FuelState) -> f64>;

/// One figure: group, head and unit for a person, name for a program, decimals and value.
pub(super) struct Figure {
    pub(super) group: &'static str,
    pub(super) head: String,
    pub(super) unit: &'static str,
    pub(super) key: String,
    pub(super) decimals: usize,
    pub(super) value: Value,
}

impl Figure {
    /// The figure of a state for a person.
    pub(super) fn cell(&self, state: &FuelState, reference: &FuelState) -> String {
        fixed((self.value)(state, reference), self.decimals)
    }

    /// The figure of a state for a program, with two decimals more.
    pub(super) fn fine_cell(&self, state: &FuelState, reference: &FuelState) -> String {
        fixed((self.value)(state, reference), self.decimals + 2)
    }
}

fn figure(
    (group, head, unit): (&'static str, &str, &'static str),
    key: impl Into<String>,
    decimals: usize,
    value: impl Fn(&FuelState, &FuelState) -> f64 + 'static,
) -> Figure {
    Figure { group, head: head.to_owned(), unit, key: key.into(), decimals, value: Box::new(value) }
}

/// Ethanol by volume, the first figure of every table.
pub(super) fn ethanol() -> Figure {
    figure(("", "ethanol", "vol %"), "ethanol_vol_percent", 1, |s, _| 100.0 * s.blend.ethanol_vol_frac)
}

/// A word for the content of a state.
pub(super) fn content_word(content: Content) -> &'static str {
    match content {
        Content::Low => "low",
        Content::Likely => "likely",
        Content::High => "high",
        Content::Swept => "swept",
    }
}

/// Octane with its band, anti-knock index and sensitivity.
pub(super) fn octane() -> Vec<Figure> {
    let ron = |s: &FuelState| s.blend.octane.ron;
    let mon = |s: &FuelState| s.blend.octane.mon;
    let below = |s: &FuelState| s.blend.octane_band.below;
    let above = |s: &FuelState| s.blend.octane_band.above;
    vec![
        figure(("RON", "low", ""), "ron_low", 1, move |s, _| ron(s) - below(s)),
        figure(("RON", "likely", ""), "ron_likely", 1, move |s, _| ron(s)),
        figure(("RON", "high", ""), "ron_high", 1, move |s, _| ron(s) + above(s)),
        figure(("MON", "low", ""), "mon_low", 1, move |s, _| mon(s) - below(s)),
        figure(("MON", "likely", ""), "mon_likely", 1, move |s, _| mon(s)),
        figure(("MON", "high", ""), "mon_high", 1, move |s, _| mon(s) + above(s)),
        figure(("likely", "AKI", ""), "aki_likely", 1, |s, _| s.blend.octane.aki()),
        figure(("likely", "RON-MON", ""), "sensitivity_likely", 1, |s, _| s.blend.octane.sensitivity()),
    ]
}

/// Heating value, heat of vaporisation and stoichiometric air.
pub(super) fn energy(units: Units) -> Vec<Figure> {
    let (mass_unit, mass_key, mass_digits) = units.heat_by_mass_unit();
    let (volume_unit, volume_key, volume_digits) = units.heat_by_volume_unit();
    let (evaporation_unit, evaporation_key) = units.evaporation_unit();
    let lhv = "lower heating value";
    let hov = "heat of vaporisation";
    vec![
        figure((lhv, "by mass", mass_unit), format!("lhv_{mass_key}"), mass_digits, move |s, _| {
            units.heat_by_mass(s.blend.lhv_j_per_kg)
        }),
        figure((lhv, "by volume", volume_unit), format!("lhv_{volume_key}"), volume_digits, move |s, _| {
            units.heat_by_volume(s.blend.lhv_j_per_m3())
        }),
        figure((hov, "of fuel", evaporation_unit), format!("hov_{evaporation_key}"), 0, move |s, _| {
            units.evaporation(s.blend.hov_j_per_kg)
        }),
        figure(
            (hov, "of mixture", evaporation_unit),
            format!("hov_per_mixture_{evaporation_key}"),
            1,
            move |s, _| units.evaporation(s.blend.hov_j_per_kg_mixture()),
        ),
        figure(("air per fuel", "by mass", ""), "afr_stoich", 2, |s, _| s.blend.afr_stoich),
    ]
}

/// What changes on the engine: mixture, cooling, fuel flow.
pub(super) fn running(units: Units) -> Vec<Figure> {
    let (step_unit, step_key) = units.temperature_step_unit();
    let best = "at best power";
    let flow = "fuel flow, equal power";
    vec![
        figure((best, "lambda", ""), "best_power_lambda", 3, |s, _| s.best_power_lambda),
        figure((best, "air per fuel", ""), "best_power_afr", 2, |s, _| {
            s.best_power_lambda * s.blend.afr_stoich
        }),
        figure((best, "cooling", step_unit), format!("charge_cooling_{step_key}"), 1, move |s, _| {
            units.temperature_step(s.charge_cooling_k)
        }),
        figure((flow, "by mass", ""), "mass_flow_ratio", 3, FuelState::mass_flow_ratio),
        figure((flow, "by volume", ""), "volume_flow_ratio", 3, FuelState::volume_flow_ratio),
    ]
}

/// Shares of ethanol, atoms of the mean molecule, and density with temperature.
pub(super) fn substance(units: Units) -> Vec<Figure> {
    let (unit, key, decimals) = units.density_unit();
    let share = |pick: fn(&crate::fuel::Part) -> f64| {
        move |s: &FuelState, _: &FuelState| {
            let own = s.blend.parts.iter().filter(|p| p.name == crate::fuel::component::ETHANOL).map(pick);
            100.0 * own.fold(0.0, |sum, v| sum + v)
        }
    };
    let mut figures = vec![
        figure(("", "ethanol", "mass %"), "ethanol_mass_percent", 1, share(|p| p.mass_frac)),
        figure(("", "ethanol", "mole %"), "ethanol_mole_percent", 1, share(|p| p.mole_frac)),
        figure(("mean molecule", "C", ""), "carbon", 2, |s, _| s.blend.carbon),
        figure(("mean molecule", "H", ""), "hydrogen", 1, |s, _| s.blend.hydrogen),
        figure(("mean molecule", "O", ""), "oxygen", 2, |s, _| s.blend.oxygen),
        figure(("mean molecule", "mass", "g/mol"), "molar_mass_g_per_mol", 1, |s, _| {
            s.blend.molar_mass_kg_per_mol * 1e3
        }),
    ];
    figures.extend(DENSITY_C.map(|celsius| {
        let kelvin = celsius_to_k(celsius);
        let (head, name) = match units {
            Units::Metric => (format!("{celsius:.0} C"), format!("density_{celsius:.0}c_{key}")),
            Units::Us => {
                let f = crate::units::k_to_fahrenheit(kelvin);
                (format!("{f:.0} F"), format!("density_{f:.0}f_{key}"))
            }
        };
        figure(("density at", &head, unit), name, decimals, move |s, _| {
            units.density(s.blend.density_kg_per_m3(kelvin))
        })
    }));
    figures
}
