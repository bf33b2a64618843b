//! Laws of mass: what is trapped, what fills the cylinder, what the gases are made of.

use crate::bench::Bench;
use crate::law::{Law, Tally};
use endgas::constants::{GAS_CONSTANT_J_PER_MOL_K as RU, WATER_MOLAR_MASS_KG_PER_MOL, dry_air};
use endgas::cycle::CycleState;
use endgas::cycle::charge::fresh_mixture;
use endgas::gas::FreshMixture;
use endgas::gas::species::{ATOMS, MOLAR_MASSES_KG_PER_MOL};

const ROUNDING: &str = "sums of a few products: rounding alone";

pub const LAWS: [Law; 6] = [
    Law {
        name: "trapped mass is dry air, its vapour, fuel and residual gas",
        reason: "nothing else gets into a cylinder",
        tolerance: 1e-12,
        why_tolerance: ROUNDING,
        when: "always",
        every: 1,
        holds: trapped_mass,
    },
    Law {
        name: "air over fuel is lambda times the stoichiometric ratio",
        reason: "definition of lambda; the ratio by atoms of the fuel and the oxygen of dry air",
        tolerance: 1e-12,
        why_tolerance: ROUNDING,
        when: "always",
        every: 1,
        holds: air_over_fuel,
    },
    Law {
        name: "air trapped is volumetric efficiency times ambient dry density times swept volume",
        reason: "definition of volumetric efficiency, density by the gas law of dry air",
        tolerance: 1e-12,
        why_tolerance: ROUNDING,
        when: "always",
        every: 1,
        holds: air_by_filling,
    },
    Law {
        name: "both zones fill the cylinder, the burned one by the equilibrium solver",
        reason: "one pressure, mass kept; the solver is asked where the cycle used its table",
        tolerance: 1e-4,
        why_tolerance: "the table is right to 1e-6, a step of the cycle to 1e-5",
        when: "states between 700 and 3500 K and below 270 bar, where the table is",
        every: 1,
        holds: zones_fill_the_cylinder,
    },
    Law {
        name: "elements of fuel, air and humidity are those of the products, whose mass is one kilogram",
        reason: "no element is made or lost; atoms are counted here from fuel, air and water",
        tolerance: 1e-9,
        why_tolerance: "the equilibrium solver stops at 1e-12 of its unknowns",
        when: "always",
        every: 1,
        holds: elements_stay,
    },
    Law {
        name: "residual gas has the moles of its elements",
        reason: "carbon as CO2 or CO, hydrogen as H2O or H2: a mole each, however the oxygen is shared",
        tolerance: 1e-12,
        why_tolerance: ROUNDING,
        when: "always",
        every: 1,
        holds: residual_moles,
    },
];

/// The fresh mixture of a bench.
pub fn fresh(bench: &Bench) -> FreshMixture {
    fresh_mixture(&bench.gas.blend, bench.gas.lambda, &bench.random.weather)
}

fn trapped_mass(bench: &Bench, tally: &mut Tally) {
    let trapped = bench.point().trapped;
    let vapour_kg = trapped.dry_air_kg * bench.random.weather.humidity_ratio();
    let parts = trapped.dry_air_kg + vapour_kg + trapped.fuel_kg + trapped.residual_frac * trapped.mass_kg;
    tally.equal("parts and whole", parts, trapped.mass_kg);
    tally.equal("fuel of the charge", trapped.charge.fuel_mass_frac * trapped.mass_kg, trapped.fuel_kg);
    let fresh = fresh(bench);
    let fractions =
        fresh.fuel_mass_frac() + fresh.dry_air_mass_frac() * (1.0 + bench.random.weather.humidity_ratio());
    tally.equal("mass fractions of the fresh mixture", fractions, 1.0);
}

fn air_over_fuel(bench: &Bench, tally: &mut Tally) {
    let (trapped, blend) = (bench.point().trapped, &bench.gas.blend);
    tally.equal("lambda", trapped.dry_air_kg / trapped.fuel_kg, bench.random.lambda * blend.afr_stoich);
    let oxygen = blend.carbon + 0.25 * blend.hydrogen - 0.5 * blend.oxygen;
    let by_atoms = oxygen / dry_air::O2 * dry_air::MOLAR_MASS_KG_PER_MOL / blend.molar_mass_kg_per_mol;
    tally.equal("stoichiometric ratio", blend.afr_stoich, by_atoms);
}

fn air_by_filling(bench: &Bench, tally: &mut Tally) {
    let (trapped, day, geometry) =
        (bench.point().trapped, &bench.random.weather, &bench.random.build.geometry);
    let swept = 0.25 * std::f64::consts::PI * geometry.bore_m.powi(2) * geometry.stroke_m;
    let dry_pa = day.pressure_pa - day.vapour_pressure_pa();
    let density = dry_pa * dry_air::MOLAR_MASS_KG_PER_MOL / (RU * day.temperature_k);
    tally.equal("air", trapped.dry_air_kg, trapped.volumetric_efficiency * density * swept);
}

/// Whether a state lies where the burned-gas table is.
pub fn is_in_table(state: &CycleState) -> bool {
    state.burn_fraction > 0.0
        && (700.0..3500.0).contains(&state.burned_temperature_k)
        && state.pressure_pa < 270e5
}

fn zones_fill_the_cylinder(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    let (trapped, crank) = (point.trapped, bench.random.build.geometry.slider_crank());
    let mut states = Vec::new();
    point.closed(&point.burn(bench.spark), |state| states.push(*state));
    let elements = fresh(bench).elements();
    // Eight states along the burn and the expansion, the last among them.
    let burned: Vec<&CycleState> = states.iter().filter(|s| is_in_table(s)).collect();
    for state in burned.iter().rev().step_by(burned.len() / 8 + 1) {
        let gas =
            elements.equilibrium_at_pressure(state.burned_temperature_k, state.pressure_pa, None).unwrap();
        let x = state.burn_fraction;
        let volume = trapped.mass_kg / state.pressure_pa
            * ((1.0 - x) * trapped.charge.gas_constant_j_per_kg_k * state.unburned_temperature_k
                + x * gas.gas_constant_j_per_kg_k * state.burned_temperature_k);
        let cylinder = crank.volume_m3(state.crank_angle_deg.to_radians());
        tally.equal(&format!("volume at {:.1} deg", state.crank_angle_deg), volume, cylinder);
    }
}

fn elements_stay(bench: &Bench, tally: &mut Tally) {
    let (blend, fresh) = (&bench.gas.blend, fresh(bench));
    let fuel = fresh.fuel_mass_frac() / blend.molar_mass_kg_per_mol;
    let air = fresh.dry_air_mass_frac() / dry_air::MOLAR_MASS_KG_PER_MOL;
    let water =
        fresh.dry_air_mass_frac() * bench.random.weather.humidity_ratio() / WATER_MOLAR_MASS_KG_PER_MOL;
    let counted = [
        fuel * blend.carbon + air * dry_air::CO2,
        fuel * blend.hydrogen + 2.0 * water,
        fuel * blend.oxygen + 2.0 * air * (dry_air::O2 + dry_air::CO2) + water,
        2.0 * air * dry_air::N2,
        air * dry_air::AR,
    ];
    let temperature_k = 1000.0 + 2000.0 * bench.any;
    let burned = fresh.elements().equilibrium_at_pressure(temperature_k, 30e5, None).unwrap();
    for (k, name) in ["carbon", "hydrogen", "oxygen", "nitrogen", "argon"].into_iter().enumerate() {
        let found: f64 = burned.moles.iter().zip(&ATOMS).map(|(n, atoms)| n * atoms[k]).sum();
        tally.equal(name, found, counted[k]);
    }
    let mass: f64 = burned.moles.iter().zip(&MOLAR_MASSES_KG_PER_MOL).map(|(n, m)| n * m).sum();
    tally.equal("mass of the products", mass, 1.0);
}

fn residual_moles(bench: &Bench, tally: &mut Tally) {
    let (fresh, e) = (fresh(bench), fresh(bench).elements());
    let moles = e.carbon + 0.5 * (e.hydrogen + e.nitrogen) + e.argon + 0.5 * e.oxygen_excess.max(0.0);
    tally.equal("gas constant of the residual", fresh.residual().gas_constant_j_per_kg_k, RU * moles);
    // Mixed by mass.
    let trapped = bench.point().trapped;
    let f = trapped.residual_frac;
    let mixed = (1.0 - f) * fresh.with_residual(0.0).gas_constant_j_per_kg_k + f * RU * moles;
    tally.equal("gas constant of the charge", trapped.charge.gas_constant_j_per_kg_k, mixed);
}
