//! Laws that hold for every blend.

use super::rows::LIBRARY;
use crate::common::cases::cases;
use approx::assert_relative_eq;
use endgas::constants::{GAS_CONSTANT_J_PER_MOL_K, REFERENCE_TEMPERATURE_K};
use endgas::fuel::{Blend, Component, FuelError};
use proptest::prelude::*;

const NAMES: [&str; 12] = [
    "base-euro-95",
    "base-euro-98",
    "base-premium-91",
    "base-premium-93",
    "base-regular",
    "ethanol",
    "isooctane",
    "methanol",
    "n-heptane",
    "natural-gasoline",
    "toluene",
    "water",
];

fn component(name: &str) -> &'static Component {
    LIBRARY.component(name).unwrap()
}

/// Shares of all components, water at most a tenth, adding to one.
fn shares() -> impl Strategy<Value = Vec<(&'static Component, f64)>> {
    prop::collection::vec(0.0..1.0_f64, NAMES.len()).prop_filter_map("all zero", |raw| {
        let weights: Vec<f64> =
            raw.iter().zip(NAMES).map(|(w, n)| if n == "water" { w * 0.1 } else { *w }).collect();
        let total: f64 = weights.iter().sum();
        (total > 0.5).then(|| NAMES.iter().zip(weights).map(|(n, w)| (component(n), w / total)).collect())
    })
}

fn between(value: f64, of: impl Iterator<Item = f64>) -> bool {
    let (low, high) = of.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    (low - 1e-9 * low.abs()..=high + 1e-9 * high.abs()).contains(&value)
}

proptest! {
    #![proptest_config(cases(256, 1))]

    #[test]
    fn fractions_add_to_one_and_turn_back_into_volumes(parts in shares()) {
        let blend = Blend::from_parts("x", "x", &parts).unwrap();
        let sum = |of: fn(&endgas::fuel::Part) -> f64| blend.parts.iter().map(of).sum::<f64>();
        assert_relative_eq!(sum(|p| p.vol_frac), 1.0, max_relative = 1e-12);
        assert_relative_eq!(sum(|p| p.mass_frac), 1.0, max_relative = 1e-12);
        assert_relative_eq!(sum(|p| p.mole_frac), 1.0, max_relative = 1e-12);
        let volume = |p: &endgas::fuel::Part| {
            let c = component(&p.name);
            p.mole_frac * c.molar_mass_kg_per_mol / c.density_15c_kg_per_m3
        };
        let total: f64 = blend.parts.iter().map(volume).sum();
        for part in &blend.parts {
            assert_relative_eq!(volume(part) / total, part.vol_frac, max_relative = 1e-10);
        }
    }

    #[test]
    fn a_blend_lies_between_its_parts(parts in shares()) {
        let blend = Blend::from_parts("x", "x", &parts).unwrap();
        let used: Vec<&Component> = parts.iter().filter(|(_, v)| *v > 0.0).map(|(c, _)| *c).collect();
        let of = |value: f64, f: fn(&Component) -> f64| between(value, used.iter().map(|c| f(c)));
        prop_assert!(of(blend.density_15c_kg_per_m3, |c| c.density_15c_kg_per_m3));
        prop_assert!(of(blend.lhv_j_per_kg, |c| c.lhv_liquid_j_per_kg));
        prop_assert!(of(blend.hov_j_per_kg, |c| c.heat_of_vaporisation_j_per_kg));
        prop_assert!(of(blend.molar_mass_kg_per_mol, |c| c.molar_mass_kg_per_mol));
        let octanes = || used.iter().filter_map(|c| c.octane);
        prop_assert!(between(blend.octane_at_z(0.0).ron, octanes().map(|o| o.ron)));
        prop_assert!(between(blend.octane.mon, octanes().map(|o| o.mon)));
        let air = |c: &Component| Blend::from_parts("x", "x", &[(c, 1.0)]).map_or(0.0, |b| b.afr_stoich);
        prop_assert!(between(blend.afr_stoich, used.iter().map(|c| air(c))));
    }

    /// The polynomial of the blend carries the heating value of the vapour.
    #[test]
    fn vapour_polynomial_agrees_with_the_heating_value(parts in shares()) {
        let blend = Blend::from_parts("x", "x", &parts).unwrap();
        let own = blend.atoms().lower_heating_value_j_per_mol(&blend.vapour) / blend.molar_mass_kg_per_mol;
        assert_relative_eq!(own, blend.lhv_vapour_j_per_kg, max_relative = 1e-9);
    }

    /// A recipe of a fuel and ethanol is that fuel at the content it works out to.
    #[test]
    fn recipe_with_ethanol_is_the_same_base_at_another_content(percent in 0.0..99.9_f64) {
        let recipe = format!("premium-91 {}%+ethanol {percent} %", 100.0 - percent);
        let mixed = LIBRARY.resolve(&recipe).unwrap();
        let content = 0.10 * (1.0 - percent / 100.0) + percent / 100.0;
        assert_relative_eq!(mixed.ethanol.likely, content, max_relative = 1e-9);
        let direct = LIBRARY.resolve("premium-91").unwrap().blend_at(content).unwrap();
        let blend = mixed.blend().unwrap();
        assert_relative_eq!(blend.octane.ron, direct.octane.ron, max_relative = 1e-9);
        assert_relative_eq!(blend.afr_stoich, direct.afr_stoich, max_relative = 1e-9);
        assert_relative_eq!(blend.density_15c_kg_per_m3, direct.density_15c_kg_per_m3, max_relative = 1e-9);
    }

    #[test]
    fn no_recipe_text_makes_it_panic(text in "\\PC{0,40}") {
        let _ = LIBRARY.resolve(&text);
    }
}

/// Pure hydrocarbons keep their polynomial; the shift of ethanol to its stated heating value is small.
#[test]
fn shifts_are_none_or_small() {
    // PUBLISHED: NASA TM-4513 formation enthalpies that the polynomials carry [J/mol]:
    // isooctane -224.0 kJ/mol, ethanol -234.95 kJ/mol, toluene 50.2 kJ/mol (values from memory).
    for (name, value, tolerance) in
        [("isooctane", -224.0e3, 200.0), ("ethanol", -234.95e3, 700.0), ("toluene", 50.2e3, 300.0)]
    {
        let found = component(name).vapour.enthalpy(REFERENCE_TEMPERATURE_K);
        assert!((found - value).abs() < tolerance, "{name}: {found}");
    }
}

/// A gasoline base has the heat capacity per mass of its surrogate, mole fractions 0.464 isooctane,
/// 0.143 n-heptane, 0.393 toluene, at every temperature.
#[test]
fn gasoline_vapour_has_the_heat_capacity_of_its_surrogate() {
    let base = component("base-regular");
    let surrogate =
        [("isooctane", 0.464), ("n-heptane", 0.143), ("toluene", 0.393)].map(|(n, x)| (component(n), x));
    let molar_mass: f64 = surrogate.iter().map(|(c, x)| x * c.molar_mass_kg_per_mol).sum();
    for t in [300.0, 700.0, 1500.0] {
        let cp: f64 = surrogate.iter().map(|(c, x)| x * c.vapour.cp(t)).sum();
        assert_relative_eq!(
            base.vapour.cp(t) / base.molar_mass_kg_per_mol,
            cp / molar_mass,
            max_relative = 1e-12
        );
    }
}

/// HAND: an equimolar pair has R ln 2 more entropy than the mean of the two.
#[test]
fn entropy_of_mixing_is_in_the_polynomial() {
    let (a, b) = (component("isooctane"), component("ethanol"));
    let volume = |c: &Component| c.molar_mass_kg_per_mol / c.density_15c_kg_per_m3;
    let total = volume(a) + volume(b);
    let blend = Blend::from_parts("x", "x", &[(a, volume(a) / total), (b, volume(b) / total)]).unwrap();
    let mean = 0.5 * (a.vapour.entropy(500.0) + b.vapour.entropy(500.0));
    let mixing = blend.vapour.entropy(500.0) - mean;
    assert_relative_eq!(mixing, GAS_CONSTANT_J_PER_MOL_K * 2.0_f64.ln(), max_relative = 1e-9);
}

#[test]
fn wrong_shares_are_refused() {
    let (a, b) = (component("isooctane"), component("ethanol"));
    let made = |parts: &[(&Component, f64)]| Blend::from_parts("x", "x", parts);
    assert!(matches!(made(&[]), Err(FuelError::Empty { .. })));
    assert!(matches!(made(&[(a, 0.0)]), Err(FuelError::Empty { .. })));
    assert!(matches!(made(&[(a, 0.5), (b, 0.4)]), Err(FuelError::Sum { .. })));
    assert!(matches!(made(&[(a, 1.5), (b, -0.5)]), Err(FuelError::Share { .. })));
    assert!(matches!(made(&[(a, f64::NAN), (b, 1.0)]), Err(FuelError::Share { .. })));
    let water = component("water");
    assert!(matches!(made(&[(water, 1.0)]), Err(FuelError::NotPositive { .. })));
    // HAND: C2H6O10 holds 10 atoms of oxygen, and 2 + 6/4 molecules would be all it needs.
    let airless = Component { oxygen: 10.0, ..b.clone() };
    assert!(matches!(made(&[(&airless, 1.0)]), Err(FuelError::NotPositive { what: "air per fuel", .. })));
    let rounded = made(&[(a, 0.3333), (b, 0.6664)]).unwrap();
    assert_relative_eq!(rounded.parts[0].vol_frac, 0.3333 / 0.9997, max_relative = 1e-12);
}
