//! Burned gas over random fuels, mixtures and states: conservation, least Gibbs energy, and the
//! table against the solver. `PROPTEST_CASES` sets the number of cases.

use crate::common::cases::cases;
use crate::common::random_fuel;
use endgas::constants::{GAS_CONSTANT_J_PER_MOL_K as RU, STANDARD_PRESSURE_PA};
use endgas::gas::species::{ATOMS, COUNT, MOLAR_MASSES_KG_PER_MOL, POLYNOMIALS};
use endgas::gas::{BurnedTable, Elements, EquilibriumError, EquilibriumState, FreshMixture};
use proptest::prelude::*;
use random_fuel::{Named, any_fuel, worst_over};

/// A mixture and what it was made of.
#[derive(Clone, Debug)]
struct Mixture {
    fuel: Named,
    phi: f64,
    humidity: f64,
}

impl Mixture {
    fn elements(&self) -> Elements {
        FreshMixture::new(self.fuel.vapour, 1.0 / self.phi, self.humidity).elements()
    }
}

/// Mixtures of any fuel; one in five exactly stoichiometric, where the trace gases are hardest to find.
fn any_mixture(phi: std::ops::Range<f64>) -> impl Strategy<Value = Mixture> {
    let phi = prop_oneof![4 => phi, 1 => Just(1.0)];
    (any_fuel(), phi, 0.0..0.03).prop_map(|(fuel, phi, humidity)| Mixture { fuel, phi, humidity })
}

/// Temperature [K] and pressure [Pa]; one state in four cold, the pressure even in its logarithm.
fn any_state() -> impl Strategy<Value = (f64, f64)> {
    let temperature = prop_oneof![3 => 500.0..3500.0, 1 => 500.0..900.0];
    (temperature, 0.1f64.ln()..200f64.ln()).prop_map(|(t, ln_bar)| (t, 1e5 * ln_bar.exp()))
}

fn relative(found: f64, wanted: f64) -> f64 {
    (found - wanted).abs() / wanted.abs()
}

/// Largest relative error of the five element balances and of the mass.
fn balance_error(elements: &Elements, moles: &[f64; COUNT]) -> f64 {
    let wanted = [elements.carbon, elements.hydrogen, elements.oxygen(), elements.nitrogen, elements.argon];
    let found = |k: usize| -> f64 { ATOMS.iter().zip(moles).map(|(atoms, n)| atoms[k] * n).sum() };
    let mass: f64 = MOLAR_MASSES_KG_PER_MOL.iter().zip(moles).map(|(m, n)| m * n).sum();
    wanted.iter().enumerate().map(|(k, w)| relative(found(k), *w)).fold(relative(mass, 1.0), f64::max)
}

/// The seven formation reactions from CO, H2, O2 and N2, in the order of `Species`.
const REACTIONS: [[f64; COUNT]; COUNT - 5] = [
    [1.0, 0.0, -1.0, 0.0, -0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 1.0, 0.0, -1.0, -0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, -0.5, -0.5, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 0.0, -0.5, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, -0.5, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 0.0, -0.5, 0.0, 0.0, 0.0, -0.5, 1.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -0.5, 0.0, 1.0, 0.0],
];

/// A small change of composition that keeps the elements: a random mixture of the reactions, each
/// scaled by the rarest gas that takes part, so that no amount changes by more than a few `size`.
fn change(state: &EquilibriumState, weights: &[f64], size: f64) -> [f64; COUNT] {
    let mut change = [0.0; COUNT];
    for (reaction, weight) in REACTIONS.iter().zip(weights) {
        let taking_part = reaction.iter().zip(&state.moles).filter(|(nu, _)| **nu != 0.0);
        let rarest = taking_part.map(|(_, n)| *n).fold(f64::INFINITY, f64::min);
        for (sum, nu) in change.iter_mut().zip(reaction) {
            *sum += size * weight * rarest * nu;
        }
    }
    change
}

/// Change of Gibbs energy over R T [mol/kg] with a change of moles at fixed temperature and pressure.
///
/// G / R T = sum n (g / R T + ln(n p / (N p0))); the difference is written with ln(1 + x), for
/// it is far smaller than either sum rounds to.
fn gibbs_change(state: &EquilibriumState, change: &[f64; COUNT]) -> f64 {
    let t = state.temperature_k;
    let total: f64 = state.moles.iter().sum();
    let total_change: f64 = change.iter().sum();
    let ln_pressure = (state.pressure_pa / STANDARD_PRESSURE_PA / total).ln();
    let mut sum = -(total + total_change) * (total_change / total).ln_1p();
    for ((n, d), poly) in state.moles.iter().zip(change).zip(&POLYNOMIALS) {
        let potential = poly.enthalpy(t) / (RU * t) - poly.entropy(t) / RU + n.ln() + ln_pressure;
        sum += d * potential + (n + d) * (d / n).ln_1p();
    }
    sum
}

#[test]
fn reactions_keep_the_elements() {
    for reaction in &REACTIONS {
        for k in 0..5 {
            let atoms: f64 = reaction.iter().zip(&ATOMS).map(|(nu, atoms)| nu * atoms[k]).sum();
            assert_eq!(atoms, 0.0);
        }
    }
}

proptest! {
    #![proptest_config(cases(2000, 1))]

    #[test]
    fn equilibrium_conserves_and_agrees(
        mixture in any_mixture(0.5..1.6),
        (t, p) in any_state(),
        (other_t, other_p) in any_state(),
    ) {
        let elements = mixture.elements();
        let cold = elements.equilibrium_at_pressure(t, p, None).unwrap();
        prop_assert!(cold.moles.iter().all(|n| *n > 0.0));
        prop_assert!(balance_error(&elements, &cold.moles) < 1e-10);
        // The pressure of the state is the sum of the partial pressures that were found.
        prop_assert!(relative(cold.pressure_pa, p) < 1e-10);
        let total: f64 = cold.moles.iter().sum();
        prop_assert!(relative(cold.gas_constant_j_per_kg_k, RU * total) < 1e-12);
        // The same state from its volume, and from a start far away.
        let volume = cold.specific_volume_m3_per_kg();
        let far = elements.equilibrium_at_pressure(other_t, other_p, None).unwrap().guess();
        for same in [
            elements.equilibrium_at_volume(t, volume, None).unwrap(),
            elements.equilibrium_at_volume(t, volume, Some(far)).unwrap(),
            elements.equilibrium_at_pressure(t, p, Some(far)).unwrap(),
        ] {
            prop_assert!(balance_error(&elements, &same.moles) < 1e-10);
            prop_assert!(relative(same.pressure_pa, p) < 1e-10);
            for (n, m) in same.moles.iter().zip(&cold.moles) {
                prop_assert!(relative(*n, *m) < 1e-7, "{n:e} {m:e}");
            }
        }
    }

    #[test]
    fn gibbs_energy_is_least(
        mixture in any_mixture(0.5..1.6),
        (t, p) in any_state(),
        weights in prop::array::uniform7(-1.0..1.0f64),
        alone in 0usize..7,
    ) {
        let state = mixture.elements().equilibrium_at_pressure(t, p, None).unwrap();
        let mut one = [0.0; 7];
        one[alone] = 1.0;
        for weights in [weights, one] {
            for size in [-1e-2, -1e-4, 1e-4, 1e-2] {
                let rise = gibbs_change(&state, &change(&state, &weights, size));
                prop_assert!(rise > 0.0, "{rise:e} at {size}");
            }
        }
    }

    /// Far outside the range of an engine a state is found, sound, or the typed error comes back:
    /// always beyond the temperatures of the solver, else only where soot would form (very rich
    /// and cold), which the twelve gases do not describe.
    #[test]
    fn far_states_end_in_a_sound_state_or_the_typed_error(
        mixture in any_mixture(0.1..2.4),
        t in prop_oneof![4 => 0.0..6000.0, 1 => 390.0..460.0, 1 => prop::num::f64::ANY],
        ln_bar in -30.0..20.0f64,
    ) {
        let p = 1e5 * ln_bar.exp();
        let elements = mixture.elements();
        match elements.equilibrium_at_pressure(t, p, None) {
            Ok(state) => {
                prop_assert!((400.0..=4500.0).contains(&t));
                prop_assert!(state.enthalpy_j_per_kg.is_finite() && relative(state.pressure_pa, p) < 1e-9);
                prop_assert!(balance_error(&elements, &state.moles) < 1e-9);
            }
            Err(EquilibriumError::OutOfRange { .. }) => prop_assert!(!(400.0..=4500.0).contains(&t)),
            Err(error) => prop_assert!(t < 450.0 && mixture.phi > 1.55, "{error}"),
        }
    }
}

/// Combustion energy of a kilogram of mixture, the scale of errors of energy [J/kg].
const ENERGY_SCALE_J_PER_KG: f64 = 2.8e6;

/// Errors of the table at one state: u, R, then the slopes of h and R in T and in ln p, all against
/// the scale of the quantity (slopes: its change over 100 K and over a doubling of pressure).
fn table_errors(elements: &Elements, table: &BurnedTable, t: f64, ln_p: f64) -> [f64; 6] {
    let at = |t: f64, ln_p: f64| elements.equilibrium_at_pressure(t, ln_p.exp(), None).unwrap();
    let exact = at(t, ln_p);
    let (h, r) = (table.at(t, ln_p).enthalpy, table.at(t, ln_p).gas_constant);
    let (dt, dp) = (0.2, 1e-3);
    let (hot, cold, high, low) = (at(t + dt, ln_p), at(t - dt, ln_p), at(t, ln_p + dp), at(t, ln_p - dp));
    let slope = |value: fn(&EquilibriumState) -> f64| {
        [(value(&hot) - value(&cold)) / (2.0 * dt), (value(&high) - value(&low)) / (2.0 * dp)]
    };
    let enthalpy = slope(|state| state.enthalpy_j_per_kg);
    let gas_constant = slope(|state| state.gas_constant_j_per_kg_k);
    let (kelvin, doubling) = (100.0, std::f64::consts::LN_2);
    [
        (h.value - r.value * t - exact.internal_energy_j_per_kg()) / ENERGY_SCALE_J_PER_KG,
        r.value / exact.gas_constant_j_per_kg_k - 1.0,
        (h.by_temperature - enthalpy[0]) * kelvin / ENERGY_SCALE_J_PER_KG,
        (h.by_ln_pressure - enthalpy[1]) * doubling / ENERGY_SCALE_J_PER_KG,
        (r.by_temperature - gas_constant[0]) * kelvin / exact.gas_constant_j_per_kg_k,
        (r.by_ln_pressure - gas_constant[1]) * doubling / exact.gas_constant_j_per_kg_k,
    ]
    .map(f64::abs)
}

/// States of burned gas that a full-load cycle meets from the first flame to exhaust opening: above
/// 1000 K, and above 10 bar where hotter than 2800 K.
fn any_cycle_state() -> impl Strategy<Value = (f64, f64)> {
    (1000.0..3300.0f64, 0.0..1.0f64).prop_map(|(t, share)| {
        let lowest_bar = if t > 2800.0 { 10.0f64 } else { 1.0 };
        (t, 1e5f64.ln() + lowest_bar.ln() + share * (200.0 / lowest_bar).ln())
    })
}

/// Worst table errors over random mixtures and states; printed.
fn worst_table_errors(states: impl Strategy<Value = (f64, f64)>) -> [f64; 6] {
    let states = prop::collection::vec(states, 100);
    let worst = worst_over(cases(60, 100), &(any_mixture(0.7..1.4), states), |(mixture, states)| {
        let elements = mixture.elements();
        let table = BurnedTable::new(&elements).unwrap();
        let mut worst = [0.0f64; 6];
        for (t, ln_p) in states {
            let errors = table_errors(&elements, &table, t, ln_p);
            worst = std::array::from_fn(|i| worst[i].max(errors[i]));
        }
        Ok(worst)
    });
    println!("u, R, dh/dT, dh/dlnp, dR/dT, dR/dlnp: worst {}", worst.map(|e| format!("{e:.1e}")).join(" "));
    worst
}

/// Bounds: some five times the worst of a hundred thousand states.
#[test]
fn table_agrees_with_the_solver() {
    let [u, r, slopes @ ..] = worst_table_errors(any_cycle_state());
    assert!(u < 5e-6 && r < 1e-6, "u {u:.1e}, R {r:.1e}");
    assert!(slopes.iter().all(|slope| *slope < 4e-5), "{slopes:?}");
}

/// The border patches are continued: no jump and no nonsense from 600 to 3700 K and 1 to 600 bar.
#[test]
fn table_stays_sane_a_little_beyond_its_border() {
    let states = (600.0..3700.0f64, 1f64.ln()..600f64.ln()).prop_map(|(t, ln_bar)| (t, 1e5f64.ln() + ln_bar));
    let [u, r, slopes @ ..] = worst_table_errors(states);
    assert!(u < 4e-3 && r < 6e-4, "u {u:.1e}, R {r:.1e}");
    assert!(slopes.iter().all(|slope| *slope < 1e-2), "{slopes:?}");
}
