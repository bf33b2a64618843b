//! Density, heat, air demand and composition against the rows.

use super::figures::{found, fuel_of};
use super::rows::{LIBRARY, Row, defined_blend, row, rows};
use endgas::fuel::{Blend, Component, OctaneRating};
use endgas::units::celsius_to_k;

/// PUBLISHED and computed rows; 1 % where the row states no tolerance of its own. Rows of gasoline
/// that print the figures from which the shipped base is made (R_GAS_LHV, GAS_RHO15) hold by
/// choice; the others are independent.
#[test]
fn density_heat_and_air_rows_hold() {
    // Stated ends of ranges are held through the ranges R_HCGAS_HOV and R_E50_HOV; the latter is a
    // known miss and has its own test. Water cannot be a fuel by itself.
    let skip = |r: &Row| {
        r.id.starts_with("CALC_")
            || r.fuel == "water"
            || r.id.ends_with("_HOV_LO")
            || r.id.ends_with("_HOV_HI")
    };
    let mut checked = 0;
    let mut misses = Vec::new();
    for row in rows().into_iter().filter(|r| !skip(r) && r.id != "R_E50_HOV") {
        let octane = ["RON", "MON", "AKI"].iter().any(|o| row.quantity.starts_with(o));
        if octane {
            continue;
        }
        let found = found(&row, &fuel_of(&row)).unwrap_or_else(|| panic!("{}: {}", row.id, row.quantity));
        let allowed = row.allowed(0.01);
        checked += 1;
        if !(allowed.low..=allowed.high).contains(&found) {
            misses.push(format!("{}: {found} is outside {} to {}", row.id, allowed.low, allowed.high));
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
    assert!(checked >= 64, "only {checked} rows were checked");
}

/// Mass weighting gives less than the range read for E50 (650 to 700 kJ/kg): the heat of mixing is
/// left out. Known miss, at most 10 % (the error the source states for its own method).
#[test]
fn heat_of_vaporisation_of_e50_is_low_by_less_than_a_tenth() {
    let found = found(&row("R_E50_HOV"), &fuel_of(&row("R_E50_HOV"))).unwrap();
    assert!((0.9 * 700.0..650.0).contains(&found), "{found}");
}

#[test]
fn water_rows_hold_and_water_costs_its_heat_of_vaporisation() {
    let water: &Component = LIBRARY.component("water").unwrap();
    for (id, found) in [
        ("H2O_M", water.molar_mass_kg_per_mol * 1e3),
        ("H2O_RHO15", water.density_15c_kg_per_m3),
        ("H2O_RHO20", water.density_kg_per_m3(celsius_to_k(20.0))),
        ("H2O_HOV25", water.heat_of_vaporisation_j_per_kg * 1e-3),
        ("H2O_HOV", water.heat_of_vaporisation_j_per_kg * 1e-3),
    ] {
        let allowed = row(id).allowed(0.01);
        assert!((allowed.low..=allowed.high).contains(&found), "{id}: {found}");
    }
    assert!((water.lhv_liquid_j_per_kg + 2441.7e3).abs() < 1.0, "{}", water.lhv_liquid_j_per_kg);
    assert!(LIBRARY.resolve("water").unwrap().blend().is_err());
}

/// Worked rows of the blend relations on a defined base, within 0.2 % and the digits printed.
#[test]
fn worked_blend_rows_hold() {
    let octane = OctaneRating { ron: 88.0, mon: 82.0 };
    let mut checked = 0;
    for row in rows().into_iter().filter(|r| r.id.starts_with("CALC_")) {
        let percent: f64 = row.fuel.trim_start_matches('E').parse().unwrap();
        let molar_mass = match row.id.rsplit_once("_M") {
            Some((_, "90")) => 90.0,
            Some((_, "110")) => 110.0,
            _ => 100.0,
        };
        let fuel = defined_blend(molar_mass, octane, percent / 100.0);
        let part = fuel.parts.iter().find(|p| p.name == "ethanol");
        let found = match row.quantity.as_str() {
            "ethanol mass fraction" => part.map_or(0.0, |p| p.mass_frac),
            "ethanol mole fraction" => part.map_or(0.0, |p| p.mole_frac),
            "heat of vaporization (mass weighted)" => fuel.hov_j_per_kg * 1e-3,
            "heat of vaporization per kg stoichiometric mixture" => fuel.hov_j_per_kg_mixture() * 1e-3,
            "LHV per kg stoichiometric air" => fuel.lhv_j_per_kg * 1e-6 / fuel.afr_stoich,
            _ => found(&row, &fuel).unwrap_or_else(|| panic!("{}: {}", row.id, row.quantity)),
        };
        let value = row.middle();
        assert!((found - value).abs() <= 0.002 * value.abs() + 5e-5, "{}: {found} against {value}", row.id);
        checked += 1;
    }
    assert_eq!(checked, 105);
}

#[derive(serde::Deserialize)]
struct ThermoRow {
    fuel: String,
    volfrac_isooctane: f64,
    volfrac_nheptane: f64,
    volfrac_toluene: f64,
    volfrac_ethanol: f64,
    molefrac_isooctane: f64,
    molefrac_nheptane: f64,
    molefrac_toluene: f64,
    molefrac_ethanol: f64,
    afr_stoich_mass: f64,
    lhv_vapour_j_per_kg: f64,
    lhv_liquid_j_per_kg: f64,
}

/// PUBLISHED: surrogates computed with Cantera 3.2.0 from the same polynomials. Their volumes are
/// at 298.15 K with densities of their own, so mole fractions are made equal by stating the volume
/// at 15 C that each mole fraction takes. What is left is the shift of ethanol to its stated heating
/// value and slightly different heats of vaporisation: within 0.1 %.
#[test]
fn surrogate_rows_hold() {
    let text =
        std::fs::read_to_string("tests/data/fuels_thermo.csv").unwrap().replace("_J_per_kg", "_j_per_kg");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<ThermoRow> = reader.deserialize().collect::<Result<_, _>>().unwrap();
    assert_eq!(rows.len(), 5);
    for row in rows {
        let parts = [
            ("isooctane", row.molefrac_isooctane, row.volfrac_isooctane),
            ("n-heptane", row.molefrac_nheptane, row.volfrac_nheptane),
            ("toluene", row.molefrac_toluene, row.volfrac_toluene),
            ("ethanol", row.molefrac_ethanol, row.volfrac_ethanol),
        ]
        .map(|(name, x, v)| (LIBRARY.component(name).unwrap(), x, v));
        let volumes = parts.map(|(c, x, _)| (c, x * c.molar_mass_kg_per_mol / c.density_15c_kg_per_m3));
        let total: f64 = volumes.iter().map(|(_, v)| v).sum();
        let blend = Blend::from_parts(&row.fuel, &row.fuel, &volumes.map(|(c, v)| (c, v / total))).unwrap();
        for (what, found, value) in [
            ("air-fuel ratio", blend.afr_stoich, row.afr_stoich_mass),
            ("vapour heating value", blend.lhv_vapour_j_per_kg, row.lhv_vapour_j_per_kg),
            ("liquid heating value", blend.lhv_j_per_kg, row.lhv_liquid_j_per_kg),
        ] {
            assert!((found / value - 1.0).abs() < 1e-3, "{} {what}: {found} against {value}", row.fuel);
        }
        // The stated volume shares at 298.15 K are near those at 15 C.
        for ((_, v15), (_, _, v25)) in volumes.iter().zip(&parts) {
            assert!((v15 / total - v25).abs() < 2e-3, "{}: {} against {v25}", row.fuel, v15 / total);
        }
    }
}
