//! Limits that no engine passes: the second law, the ideal cycles, burning all at once.

use crate::bench::Bench;
use crate::energy::traced;
use crate::law::{Law, Tally};
use crate::mass::fresh;
use endgas::constants::{GAS_CONSTANT_J_PER_MOL_K as RU, STANDARD_PRESSURE_PA, dry_air};
use endgas::cycle::heat::HeatLaw;
use endgas::cycle::{ClosedCycle, CycleState};
use endgas::gas::UnburnedCharge;
use endgas::gas::otto::{FuelAirOtto, air_standard_efficiency, fuel_air_otto};
use endgas::gas::species::Species;

const STRICT: &str = "strict";

pub const LAWS: [Law; 6] = [
    Law {
        name: "gross efficiency is below the fuel-air Otto cycle, that below the air-standard one",
        reason: "finite burn, heat and early opening only lose; real gases take up heat in capacity and dissociation",
        tolerance: 0.0,
        why_tolerance: STRICT,
        when: "always",
        every: 1,
        holds: below_the_ideal_cycles,
    },
    Law {
        name: "peak pressure is the highest of the states and below that of burning all at once at top centre",
        reason: "constant-volume, adiabatic combustion at the least volume is the limit",
        tolerance: 1e-4,
        why_tolerance: "the peak is a parabola through the highest states",
        when: "spark at best torque or later: a burn that is over before top centre is compressed further",
        every: 1,
        holds: below_constant_volume,
    },
    Law {
        name: "without wall heat the unburned gas stays on its isentrope, and so does the core with it",
        reason: "unburned gas of fixed composition does no more than be compressed",
        tolerance: 5e-5,
        why_tolerance: "the kernel is compressed with the heat capacity at its start, the core with that of the unburned gas",
        when: "always",
        every: 2,
        holds: isentrope,
    },
    Law {
        name: "without wall heat the entropy of all the charge never falls",
        reason: "second law; entropies by the polynomials and the equilibrium solver, mixing included",
        tolerance: 2e-6,
        why_tolerance: "the table is right to 1e-6 of the energy; relative to the entropy of the charge",
        when: "states where the table is; a charge without residual gas, whose composition is known",
        every: 4,
        holds: entropy_never_falls,
    },
    Law {
        name: "temperatures stay where combustion gases are",
        reason: "charge 250 to 620 K at closing, end gas below 1400 K, burned 800 to 3300 K, exhaust 700 to 2200 K",
        tolerance: 0.0,
        why_tolerance: STRICT,
        when: "always; lambda 0.75 to 1.15, spark down to 25 deg late",
        every: 1,
        holds: sane_temperatures,
    },
    Law {
        name: "gas that leaves is colder than at opening, warmer than after an isentropic fall to back pressure",
        reason: "blowdown does flow work, but not all gas falls the whole way",
        tolerance: 0.0,
        why_tolerance: STRICT,
        when: "pressure at opening above back pressure",
        every: 1,
        holds: exhaust_temperature,
    },
];

/// The fuel-air cycle of the trapped charge, brought back to bottom centre.
fn ideal(bench: &Bench) -> FuelAirOtto {
    let build = &bench.random.build;
    let (trapped, crank) = (bench.point().trapped, build.geometry.slider_crank());
    let closing = crank.volume_m3((build.valves.inlet_closes_deg_abdc - 180.0).to_radians());
    let bottom = build.geometry.swept_volume_m3() + build.geometry.clearance_volume_m3();
    let temperature = trapped.charge.isentropic_temperature_k(trapped.temperature_k, closing / bottom);
    let pressure = trapped.mass_kg * trapped.charge.gas_constant_j_per_kg_k * temperature / bottom;
    let ratio = build.geometry.compression_ratio.get();
    fuel_air_otto(&fresh(bench), trapped.residual_frac, temperature, pressure, ratio).unwrap()
}

fn below_the_ideal_cycles(bench: &Bench, tally: &mut Tally) {
    let ratio = bench.random.build.geometry.compression_ratio.get();
    let fuel_pa = bench.point().fuel_energy_j() / bench.random.build.geometry.swept_volume_m3();
    let fuel_air = ideal(bench).imep_pa / fuel_pa;
    tally.less("fuel-air below air-standard", fuel_air, air_standard_efficiency(ratio));
    for spark in [bench.best.spark_deg_btdc, bench.spark] {
        let gross = bench.point().at_spark(spark).imep_gross_bar * 1e5 / fuel_pa;
        tally.less("gross below fuel-air", gross, fuel_air);
    }
}

fn below_constant_volume(bench: &Bench, tally: &mut Tally) {
    let spark = bench.spark.min(bench.best.spark_deg_btdc);
    let (closed, states) = traced(bench, spark);
    let highest = states.iter().map(|s| s.pressure_pa).fold(0.0, f64::max);
    tally.at_most("every state", highest, closed.peak_pressure_pa);
    tally.near("peak and highest state", highest.max(0.985 * closed.peak_pressure_pa), highest, highest);
    tally.less("constant volume", closed.peak_pressure_pa, bench.point().closed_instant().peak_pressure_pa);
}

/// Temperature of the charge after an isentropic change to a pressure [K].
///
/// Solved over the volume ratio v1/v2 = (p2/p1) (T1/T2), which settles quickly.
fn isentropic_at_pressure_k(charge: &UnburnedCharge, from: &CycleState, pressure_pa: f64) -> f64 {
    let start = from.unburned_temperature_k;
    let mut t = start;
    for _ in 0..60 {
        t = charge.isentropic_temperature_k(start, pressure_pa / from.pressure_pa * start / t);
    }
    t
}

fn isentrope(bench: &Bench, tally: &mut Tally) {
    let other = bench.random.edit(|r| r.build.combustion.heat_factor = 0.0);
    let run = |random| {
        bench.with(random, |point| {
            let mut states: Vec<CycleState> = Vec::new();
            point.closed(&point.burn(bench.spark), |state| states.push(*state));
            (point.trapped.charge, states)
        })
    };
    for ((charge, states), with_heat) in [(run(&other), false), (run(&bench.random), true)] {
        let first = states[0];
        for state in states.iter().step_by(states.len() / 6) {
            let wanted = isentropic_at_pressure_k(&charge, &first, state.pressure_pa);
            tally.equal("core", state.core_temperature_k, wanted);
            if !with_heat {
                tally.equal("unburned", state.unburned_temperature_k, wanted);
            }
        }
    }
}

/// Entropy of the fresh charge without residual gas [J/(kg K)].
fn fresh_entropy_j_per_kg_k(bench: &Bench, temperature_k: f64, pressure_pa: f64) -> f64 {
    let (blend, fresh) = (&bench.gas.blend, fresh(bench));
    let fuel = fresh.fuel_mass_frac() / blend.molar_mass_kg_per_mol;
    let air = fresh.dry_air_mass_frac() / dry_air::MOLAR_MASS_KG_PER_MOL;
    let water = fresh.dry_air_mass_frac() * bench.random.weather.humidity_ratio()
        / Species::H2o.molar_mass_kg_per_mol();
    let parts = [
        (&blend.vapour, fuel),
        (Species::N2.poly(), air * dry_air::N2),
        (Species::O2.poly(), air * dry_air::O2),
        (Species::Ar.poly(), air * dry_air::AR),
        (Species::Co2.poly(), air * dry_air::CO2),
        (Species::H2o.poly(), water),
    ];
    let all: f64 = parts.iter().map(|(_, n)| n).sum();
    parts
        .iter()
        .filter(|(_, n)| *n > 0.0)
        .map(|(poly, n)| {
            let partial_pa = n / all * pressure_pa;
            n * (poly.entropy(temperature_k) - RU * (partial_pa / STANDARD_PRESSURE_PA).ln())
        })
        .sum()
}

fn entropy_never_falls(bench: &Bench, tally: &mut Tally) {
    let (point, build) = (bench.point(), &bench.random.build);
    let elements = fresh(bench).elements();
    let cycle = ClosedCycle {
        crank: build.geometry.slider_crank(),
        bore_m: build.geometry.bore_m,
        inlet_closes_deg: build.valves.inlet_closes_deg_abdc - 180.0,
        exhaust_opens_deg: 180.0 - build.valves.exhaust_opens_deg_bbdc,
        speed_rpm: bench.random.speed_rpm,
        charge: fresh(bench).with_residual(0.0),
        burned: &bench.gas.burned,
        mass_kg: point.trapped.mass_kg,
        temperature_k: point.trapped.temperature_k,
        heat: HeatLaw::hohenberg(0.0, 10.0),
        wall_temperature_k: 450.0,
        step_scale: 1.0,
    };
    let mut last: Option<f64> = None;
    cycle.run(&point.burn(bench.spark), |state| {
        let (x, p) = (state.burn_fraction, state.pressure_pa);
        let in_table = (700.0..3500.0).contains(&state.burned_temperature_k) && p < 270e5;
        if x > 0.0 && !in_table {
            return;
        }
        let burned = if x > 0.0 {
            let gas = elements.equilibrium_at_pressure(state.burned_temperature_k, p, None).unwrap();
            gas.entropy_j_per_kg_k()
        } else {
            0.0
        };
        let entropy =
            (1.0 - x) * fresh_entropy_j_per_kg_k(bench, state.unburned_temperature_k, p) + x * burned;
        if let Some(last) = last {
            tally.at_most(&format!("entropy at {:.1} deg", state.crank_angle_deg), last, entropy);
        }
        last = Some(entropy);
    });
}

fn sane_temperatures(bench: &Bench, tally: &mut Tally) {
    let (_, states) = traced(bench, bench.spark);
    let mut within = |what: &str, value: f64, low: f64, high: f64| {
        tally.less(what, low, value);
        tally.less(what, value, high);
    };
    within("charge at closing", states[0].unburned_temperature_k, 250.0, 620.0);
    for state in &states {
        within("end gas", state.core_temperature_k, 250.0, 1400.0);
        if state.burn_fraction > 0.0 {
            within("burned", state.burned_temperature_k, 800.0, 3300.0);
        }
    }
    within("exhaust", bench.point().at_spark(bench.spark).exhaust_temperature_k, 700.0, 2200.0);
}

fn exhaust_temperature(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    let (closed, _) = traced(bench, bench.spark);
    let fall = point.exchange.back_pressure_pa / closed.end_pressure_pa;
    if fall >= 1.0 {
        return;
    }
    let k = closed.end_gas_constant_j_per_kg_k / closed.end_cp_j_per_kg_k;
    let leaving = point.at_spark(bench.spark).exhaust_temperature_k;
    tally.less("colder than at opening", leaving, closed.end_temperature_k);
    tally.less("warmer than all fallen", closed.end_temperature_k * fall.powf(k), leaving);
    let left = point.exchange.residual_temperature_k(&closed);
    tally.less("residual colder than at opening", left, closed.end_temperature_k);
}
