//! Cooling, flow, sweep and cautions of a fuel.

use super::rows::LIBRARY;
use approx::assert_relative_eq;
use endgas::fuel::handling::FuelHazard;
use endgas::fuel::{Content, FuelError};
use endgas::gas::mixture::{FreshMixture, FuelVapour};

/// HAND, at best power: E10 410 kJ/kg / (0.8688 * 14.01 * 1.005 + 1.5) = 29.9 K.
/// The gas layer gives the heat capacity of the same mixture by its own polynomials: within 1 %.
#[test]
fn cooling_is_the_enthalpy_balance_of_the_gas_layer() {
    for name in ["premium-91", "e85", "e100", "methanol", "e100-hydrous"] {
        let state = LIBRARY.resolve(name).unwrap().likely_state().unwrap();
        let b = &state.blend;
        let vapour = FuelVapour {
            carbon: b.carbon,
            hydrogen: b.hydrogen,
            oxygen: b.oxygen,
            molar_mass_kg_per_mol: b.molar_mass_kg_per_mol,
            poly: b.vapour,
        };
        let mixture = FreshMixture::new(vapour, state.best_power_lambda, 0.0).with_residual(0.0);
        let per_kg = state.blend.hov_j_per_kg / (1.0 + state.best_power_lambda * state.blend.afr_stoich);
        let cooling = per_kg / mixture.cp_j_per_kg_k(298.15);
        assert_relative_eq!(state.charge_cooling_k, cooling, max_relative = 0.01);
    }
    let premium = LIBRARY.resolve("premium-91").unwrap().likely_state().unwrap();
    assert!((premium.charge_cooling_k - 29.9).abs() < 0.3, "{}", premium.charge_cooling_k);
}

/// HAND: 0.8688 * 41.68 / (0.8613 * 30.95) = 1.358 by mass; times 751.7 / 771.3 = 1.324 by volume.
#[test]
fn fuel_flow_at_equal_power_goes_with_heating_value_and_lambda() {
    let state = |name: &str| LIBRARY.resolve(name).unwrap().likely_state().unwrap();
    let (premium, e85) = (state("premium-91"), state("e85"));
    assert!((e85.mass_flow_ratio(&premium) - 1.358).abs() < 0.002);
    assert!((e85.volume_flow_ratio(&premium) - 1.324).abs() < 0.002);
    assert_relative_eq!(e85.volume_flow_ratio(&e85), 1.0, max_relative = 1e-12);
}

#[test]
fn a_sweep_runs_from_the_base_to_ethanol() {
    let premium = LIBRARY.resolve("premium-91").unwrap();
    let sweep = premium.ethanol_sweep().unwrap();
    assert_eq!(sweep.len(), 21);
    assert!(sweep.iter().all(|s| s.content == Content::Swept));
    assert_eq!(sweep[0].blend.octane, LIBRARY.component("base-premium-91").unwrap().octane.unwrap());
    assert_relative_eq!(
        sweep[20].blend.octane.ron,
        LIBRARY.component("ethanol").unwrap().octane.unwrap().ron
    );
    for pair in sweep.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        assert!(b.charge_cooling_k > a.charge_cooling_k && b.blend.octane.ron > a.blend.octane.ron);
        assert!(b.blend.afr_stoich < a.blend.afr_stoich && b.volume_flow_ratio(a) > 1.0);
    }
    for none in ["e100", "e100-hydrous", "ethanol"] {
        let refused = LIBRARY.resolve(none).unwrap().ethanol_sweep();
        assert!(matches!(refused, Err(FuelError::NoSweep { .. })), "{none}");
    }
}

#[test]
fn states_follow_what_is_known_of_the_content() {
    let contents = |name: &str| -> Vec<f64> {
        let states = LIBRARY.resolve(name).unwrap().states().unwrap();
        states.iter().map(|s| s.blend.ethanol_vol_frac).collect()
    };
    assert_eq!(contents("premium-91").len(), 1);
    let e85 = contents("e85");
    for (found, stated) in e85.iter().zip([0.51, 0.74, 0.83]) {
        assert_relative_eq!(*found, stated, max_relative = 1e-12);
    }
}

#[test]
fn hazards_go_with_what_is_in_the_fuel() {
    use FuelHazard::{Ethanol, Methanol, MuchEthanol, Vapour, Water};
    for (spec, hazards) in [
        ("base-regular", &[Vapour][..]),
        ("premium-91", &[Vapour, Ethanol]),
        ("e85", &[Vapour, Ethanol, MuchEthanol]),
        ("e100-hydrous", &[Vapour, Ethanol, MuchEthanol, Water]),
        ("methanol", &[Vapour, Methanol]),
        ("premium-91 90 % + methanol 10 %", &[Vapour, Ethanol, Methanol]),
    ] {
        assert_eq!(LIBRARY.resolve(spec).unwrap().hazards().collect::<Vec<_>>(), hazards, "{spec}");
    }
}
