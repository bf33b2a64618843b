//! Gas properties and fuel-air cycles against Cantera 3.2.0 (see `data/thermo/README.md`).
//! PUBLISHED here means computed by that independent library from the same polynomials.

use crate::common::otto;
use crate::common::tables::{Row, reference_fuels, relative, table};
use endgas::gas::mixture::FreshMixture;
use endgas::gas::species::Species;
use endgas::gas::table::BurnedTable;
use std::collections::HashMap;

fn fresh(row: &Row) -> FreshMixture {
    let fuels = reference_fuels();
    FreshMixture::new(fuels[row.text("fuel")], 1.0 / row.number("phi"), 0.0)
}

/// Largest value and where it was.
#[derive(Default)]
struct Worst(HashMap<&'static str, (f64, String)>);

impl Worst {
    fn note(&mut self, what: &'static str, error: f64, place: String) {
        assert!(error.is_finite(), "{what} at {place}");
        let entry = self.0.entry(what).or_insert((0.0, String::new()));
        if error >= entry.0 {
            *entry = (error, place);
        }
    }

    fn within(&self, what: &str, bound: f64) {
        let (error, place) = &self.0[what];
        println!("{what}: worst {error:.2e} at {place}");
        assert!(*error <= bound, "{what}: {error:.3e} over {bound:.1e} at {place}");
    }
}

#[test]
fn unburned_charge_matches() {
    let mut worst = Worst::default();
    for row in table("thermo/A_unburned_frozen.csv") {
        let charge = fresh(&row).with_residual(row.number("residual_mass_frac"));
        let t = row.number("T_K");
        let place = format!("{} phi {} T {t}", row.text("fuel"), row.number("phi"));
        // Differences between states, not absolute values, do the work: scale 1 MJ/kg.
        let scale = 1.0e6;
        worst.note(
            "h",
            (charge.enthalpy_j_per_kg(t) - row.number("h_J_per_kg")).abs() / scale,
            place.clone(),
        );
        worst.note(
            "u",
            (charge.internal_energy_j_per_kg(t) - row.number("u_J_per_kg")).abs() / scale,
            place.clone(),
        );
        worst.note("cp", relative(charge.cp_j_per_kg_k(t), row.number("cp_J_per_kgK")), place.clone());
        worst.note("gamma", relative(charge.gamma(t), row.number("gamma")), place.clone());
        worst.note("R", relative(charge.gas_constant_j_per_kg_k, row.number("R_J_per_kgK")), place.clone());
        worst.note("fuel", relative(charge.fuel_mass_frac, row.number("fuel_mass_frac")), place);
    }
    for (what, bound) in
        [("h", 1e-5), ("u", 1e-5), ("cp", 1e-5), ("gamma", 1e-5), ("R", 1e-6), ("fuel", 1e-6)]
    {
        worst.within(what, bound);
    }
}

#[test]
fn burned_equilibrium_matches() {
    let mut worst = Worst::default();
    for row in table("thermo/B_burned_equilibrium.csv") {
        let elements = fresh(&row).elements();
        let (t, p) = (row.number("T_K"), row.number("p_bar") * 1e5);
        let place = format!("{} phi {} T {t} p {p}", row.text("fuel"), row.number("phi"));
        let at = |t: f64, p: f64| elements.equilibrium_at_pressure(t, p, None).unwrap();
        let state = at(t, p);
        let scale = 2.8e6; // combustion energy of a kilogram of mixture
        worst.note("h", (state.enthalpy_j_per_kg - row.number("h_J_per_kg")).abs() / scale, place.clone());
        worst.note(
            "u",
            (state.internal_energy_j_per_kg() - row.number("u_J_per_kg")).abs() / scale,
            place.clone(),
        );
        worst.note("R", relative(state.gas_constant_j_per_kg_k, row.number("R_J_per_kgK")), place.clone());
        worst.note("s", relative(state.entropy_j_per_kg_k(), row.number("s_J_per_kgK")), place.clone());
        let d = 0.5;
        let cp = (at(t + d, p).enthalpy_j_per_kg - at(t - d, p).enthalpy_j_per_kg) / (2.0 * d);
        worst.note("cp_eq", relative(cp, row.number("cp_eq_J_per_kgK")), place.clone());
        for (column, species) in [
            ("x_CO2", Species::Co2),
            ("x_H2O", Species::H2o),
            ("x_CO", Species::Co),
            ("x_H2", Species::H2),
            ("x_O2", Species::O2),
            ("x_OH", Species::Oh),
            ("x_O", Species::O),
            ("x_H", Species::H),
            ("x_N2", Species::N2),
            ("x_NO", Species::No),
            ("x_Ar", Species::Ar),
        ] {
            if row.number(column) > 1e-4 {
                worst.note("x", relative(state.mole_frac(species), row.number(column)), place.clone());
            }
        }
    }
    for (what, bound) in [("h", 5e-6), ("u", 5e-6), ("R", 1e-6), ("s", 1e-5), ("cp_eq", 1e-4), ("x", 1e-4)] {
        worst.within(what, bound);
    }
}

#[test]
fn adiabatic_flames_match() {
    let mut worst = Worst::default();
    for row in table("thermo/C_adiabatic_flame.csv") {
        let mixture = fresh(&row);
        let (charge, elements) = (mixture.with_residual(0.0), mixture.elements());
        let (t0, p0) = (row.number("T0_K"), row.number("p0_bar") * 1e5);
        let place = format!("{} phi {} T0 {t0}", row.text("fuel"), row.number("phi"));
        let hp = elements.equilibrium_at_enthalpy(charge.enthalpy_j_per_kg(t0), p0, 2400.0).unwrap();
        worst.note("HP [K]", (hp.temperature_k - row.number("T_ad_HP_K")).abs(), place.clone());
        let v = charge.gas_constant_j_per_kg_k * t0 / p0;
        let uv = elements.equilibrium_at_energy(charge.internal_energy_j_per_kg(t0), v, 2700.0).unwrap();
        worst.note("UV [K]", (uv.temperature_k - row.number("T_ad_UV_K")).abs(), place.clone());
        worst.note("UV p", relative(uv.pressure_pa, row.number("p_ad_UV_bar") * 1e5), place);
    }
    for (what, bound) in [("HP [K]", 0.05), ("UV [K]", 0.05), ("UV p", 2e-5)] {
        worst.within(what, bound);
    }
}

#[test]
fn fuel_air_otto_cycles_match() {
    let mut worst = Worst::default();
    let fuels = reference_fuels();
    for row in table("thermo/D_fuel_air_otto.csv") {
        let place = ["case", "fuel", "phi", "cr"].map(|column| row.text(column)).join(" ");
        for ((what, _), error) in otto::BOUNDS.into_iter().zip(otto::errors(&row, &fuels).unwrap()) {
            worst.note(what, error, place.clone());
        }
    }
    for (what, bound) in otto::BOUNDS {
        worst.within(what, bound);
    }
}

#[test]
fn fast_table_keeps_its_bound() {
    let mut worst = Worst::default();
    for (name, vapour) in reference_fuels() {
        for phi in [0.8, 1.0, 1.15, 1.3] {
            let elements = FreshMixture::new(vapour, 1.0 / phi, 0.0).elements();
            let fast = BurnedTable::new(&elements).unwrap();
            // Off the nodes on purpose.
            for i in 0..40 {
                let t = 1013.0 + 57.3 * f64::from(i);
                for p in [0.9e5, 4.3e5, 17.0e5, 61.0e5, 143.0e5] {
                    let state = elements.equilibrium_at_pressure(t, p, None).unwrap();
                    let found = fast.at(t, p.ln());
                    let place = format!("{name} phi {phi} T {t} p {p}");
                    let u = found.enthalpy.value - found.gas_constant.value * t;
                    worst.note("u", (u - state.internal_energy_j_per_kg()).abs() / 2.8e6, place.clone());
                    worst.note("R", relative(found.gas_constant.value, state.gas_constant_j_per_kg_k), place);
                }
            }
        }
    }
    worst.within("u", 5e-4);
    worst.within("R", 1e-4);
}
