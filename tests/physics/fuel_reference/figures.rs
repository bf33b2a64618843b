//! What a fuel has for the quantity of a row, in the row's unit.

use super::rows::{LIBRARY, Row};
use endgas::constants::atomic_mass;
use endgas::fuel::Blend;
use endgas::units::{celsius_to_k, fahrenheit_to_k};

/// Litres in a US gallon and joules in a Btu (NIST SP 811).
const L_PER_GALLON: f64 = 3.785_411_784;
const J_PER_BTU: f64 = 1_055.055_852_62;
/// Density of water at 60 F, the base of specific gravity [kg/m3] (from memory).
const WATER_60F: f64 = 999.016;

/// The fuel that a row speaks of.
pub fn fuel_of(row: &Row) -> Blend {
    let gasoline = |v: f64| LIBRARY.resolve("regular-87").unwrap().blend_at(v).unwrap();
    match row.fuel.as_str() {
        "gasoline" | "gasoline E0" | "hydrocarbon gasoline" | "hydrocarbon gasolines" => gasoline(0.0),
        "E10" => gasoline(0.10),
        "E50" => gasoline(0.50),
        "E85 83 vol%" => gasoline(0.83),
        "hydrous ethanol 95.6 mass%" => LIBRARY.resolve("e100-hydrous").unwrap().blend().unwrap(),
        "E100" => LIBRARY.resolve("ethanol").unwrap().blend().unwrap(),
        name => LIBRARY.resolve(name).unwrap().blend().unwrap(),
    }
}

/// What the fuel has for the quantity of the row, in its unit; none for quantities of other tests.
pub fn found(row: &Row, fuel: &Blend) -> Option<f64> {
    let density_at = match row.conditions.as_str() {
        c if c.starts_with("20 C") => fuel.density_kg_per_m3(celsius_to_k(20.0)),
        _ => fuel.density_15c_kg_per_m3,
    };
    let mass_percent = |atoms: f64, mass: f64| 100.0 * atoms * mass / fuel.molar_mass_kg_per_mol;
    Some(match row.quantity.as_str() {
        "molar mass" => fuel.molar_mass_kg_per_mol * 1e3,
        "density" | "liquid density" => density_at,
        "specific gravity 60F/60F" => fuel.density_kg_per_m3(fahrenheit_to_k(60.0)) / WATER_60F,
        "heat of vaporization" | "heat of vaporisation" => fuel.hov_j_per_kg * 1e-3,
        "heat of vaporization per kg stoichiometric air" => fuel.hov_j_per_kg * 1e-3 / fuel.afr_stoich,
        "lower heating value" | "lower heating value (liquid)" | "lower heating value (liquid fuel)" => {
            fuel.lhv_j_per_kg * 1e-6
        }
        "lower heating value (vapour fuel)" => fuel.lhv_vapour_j_per_kg * 1e-6,
        "lower heating value by volume" if row.unit == "MJ/L" => fuel.lhv_j_per_m3() * 1e-9,
        "lower heating value by volume" => fuel.lhv_j_per_m3() * 1e-3 * L_PER_GALLON / J_PER_BTU,
        "stoichiometric air-fuel ratio by mass" => fuel.afr_stoich,
        "H/C atom ratio" => fuel.hydrogen / fuel.carbon,
        "O/C atom ratio" => fuel.oxygen / fuel.carbon,
        "carbon" => mass_percent(fuel.carbon, atomic_mass::C),
        "hydrogen" => mass_percent(fuel.hydrogen, atomic_mass::H),
        "oxygen" => mass_percent(fuel.oxygen, atomic_mass::O),
        _ => return None,
    })
}
