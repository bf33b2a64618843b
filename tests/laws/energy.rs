//! Laws of energy: the first law of the closed cycle in two ways, and what each loss costs.

use crate::bench::Bench;
use crate::law::{Law, Tally};
use crate::mass::{fresh, is_in_table};
use endgas::constants::REFERENCE_TEMPERATURE_K as T0;
use endgas::cycle::{ClosedResult, CycleState};
use endgas::fuel::products::{CO2, H2O};
use endgas::gas::Elements;
use endgas::gas::species::POLYNOMIALS;
use endgas::units::PA_PER_BAR;

const CYCLE_ERROR: &str = "the table is right to 1e-6 of the energy, a step of the cycle to 1e-5";

pub const LAWS: [Law; 6] = [
    Law {
        name: "work, heat and change of internal energy of the closed cycle add to nothing",
        reason: "first law",
        tolerance: 2e-5,
        why_tolerance: CYCLE_ERROR,
        when: "always; relative to the energy of the fuel",
        every: 1,
        holds: closed_first_law,
    },
    Law {
        name: "heating value of the fuel and sensible energy in; work, heat, sensible and unburned energy out",
        reason: "first law by heating values, products by the equilibrium solver: the balance of a test bench",
        tolerance: 2e-5,
        why_tolerance: CYCLE_ERROR,
        when: "last state where the table is; relative to the energy of the fuel",
        every: 1,
        holds: balance_by_heating_values,
    },
    Law {
        name: "air, fuel and heat of the intake walls in; brake work, friction, wall heat and exhaust gas out",
        reason: "first law of the whole engine, from ambient air and liquid fuel to the gas behind the exhaust valve",
        tolerance: 1e-3,
        why_tolerance: "heat capacity of the fresh gas is taken at one temperature; the residual gas is burned to the end",
        when: "always, the cycle settled at its spark or not; relative to the energy of the fuel",
        every: 1,
        holds: whole_engine,
    },
    Law {
        name: "gross work less pumping is net, less friction is brake",
        reason: "definitions; the heat share is the heat of the closed cycle over the energy of the fuel",
        tolerance: 1e-12,
        why_tolerance: "sums of a few products: rounding alone",
        when: "always",
        every: 1,
        holds: from_gross_to_brake,
    },
    Law {
        name: "no wall heat without a coefficient; more of it takes more heat and leaves less work",
        reason: "heat given to the walls does no work",
        tolerance: 1e-9,
        why_tolerance: "no heat is exactly none",
        when: "spark at best torque or later",
        every: 1,
        holds: heat_costs_work,
    },
    Law {
        name: "blowdown and work after opening lie between nothing and full expansion",
        reason: "gas of the open cylinder can do no more than an expansion at its opening pressure to bottom centre",
        tolerance: 0.0,
        why_tolerance: "strict",
        when: "always",
        every: 1,
        holds: work_after_opening,
    },
];

/// The closed cycle at a spark, with its states.
pub fn traced(bench: &Bench, spark: f64) -> (ClosedResult, Vec<CycleState>) {
    let point = bench.point();
    let mut states = Vec::new();
    let closed = point.closed(&point.burn(spark), |state| states.push(*state));
    (closed, states)
}

fn closed_first_law(bench: &Bench, tally: &mut Tally) {
    let (closed, _) = traced(bench, bench.spark);
    tally.near("sum", closed.energy_error_j(), 0.0, bench.point().fuel_energy_j());
}

/// Enthalpy at 298.15 K of the complete products of some elements [J/kg]; that of oxygen, nitrogen and argon is zero.
fn complete_products_j_per_kg(e: &Elements) -> f64 {
    e.carbon * CO2.enthalpy(T0) + 0.5 * e.hydrogen * H2O.enthalpy(T0)
}

fn balance_by_heating_values(bench: &Bench, tally: &mut Tally) {
    let (closed, states) = traced(bench, bench.spark);
    let (first, last) = (states[0], states[states.len() - 1]);
    if !is_in_table(&last) {
        return;
    }
    let (trapped, blend) = (bench.point().trapped, &bench.gas.blend);
    let (fresh, charge) = (fresh(bench), trapped.charge);
    let complete = complete_products_j_per_kg(&fresh.elements());
    let sensible_u = |t: f64| {
        charge.enthalpy_j_per_kg(t) - charge.enthalpy_j_per_kg(T0) - charge.gas_constant_j_per_kg_k * t
    };
    let fuel_j = trapped.fuel_kg * (blend.lhv_j_per_kg + blend.hov_j_per_kg);
    let residual_j = trapped.residual_frac * (fresh.residual().enthalpy_j_per_kg(T0) - complete);
    let gas =
        fresh.elements().equilibrium_at_pressure(last.burned_temperature_k, last.pressure_pa, None).unwrap();
    let cold_j: f64 = gas.moles.iter().zip(&POLYNOMIALS).map(|(n, poly)| n * poly.enthalpy(T0)).sum();
    let burned_u = gas.internal_energy_j_per_kg() - cold_j;
    let x = last.burn_fraction;
    let left_j = (1.0 - x) * (fuel_j / trapped.mass_kg + residual_j) + x * (cold_j - complete);
    let sensible_out = (1.0 - x) * sensible_u(last.unburned_temperature_k) + x * burned_u;
    let came = fuel_j + trapped.mass_kg * (residual_j + sensible_u(first.unburned_temperature_k));
    let went = closed.work_j + closed.heat_j + trapped.mass_kg * (left_j + sensible_out);
    tally.near("went against came", went, came, fuel_j);
}

fn whole_engine(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    let (at, trapped, blend) = (point.at_spark(bench.spark), point.trapped, &bench.gas.blend);
    let fresh_kg = trapped.mass_kg * (1.0 - trapped.residual_frac);
    let ambient = fresh(bench).with_residual(0.0).enthalpy_j_per_kg(bench.random.weather.temperature_k);
    let came = fresh_kg * ambient - trapped.fuel_kg * blend.hov_j_per_kg + trapped.intake_heat_j;
    let t = at.exhaust_temperature_k;
    let burned =
        fresh(bench).elements().equilibrium_at_pressure(t, point.exchange.back_pressure_pa, None).unwrap();
    let x = point.unburned_frac();
    let exhaust = (1.0 - x) * burned.enthalpy_j_per_kg + x * trapped.charge.enthalpy_j_per_kg(t);
    let swept = bench.random.build.geometry.swept_volume_m3();
    let work = (at.bmep_bar() + at.fmep_bar) * PA_PER_BAR * swept;
    let went = work + at.heat_loss_frac * point.fuel_energy_j() + fresh_kg * exhaust;
    tally.near("went against came", went, came, point.fuel_energy_j());
}

fn from_gross_to_brake(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    let (at, (closed, _)) = (point.at_spark(bench.spark), traced(bench, bench.spark));
    tally.equal("net", at.imep_net_bar, at.imep_gross_bar - at.pmep_bar);
    tally.equal("brake", at.bmep_bar(), at.imep_gross_bar - at.pmep_bar - at.fmep_bar);
    tally.equal("heat share", at.heat_loss_frac * point.fuel_energy_j(), closed.heat_j);
    tally.equal("gross", at.imep_gross_bar, point.imep_gross_bar(&closed));
    tally.equal("peak pressure", at.peak_pressure_bar, closed.peak_pressure_pa / PA_PER_BAR);
    let swept = bench.random.build.geometry.swept_volume_m3();
    tally.equal("fuel", point.fuel_energy_j() / swept, trapped_fuel_pa(bench));
}

fn trapped_fuel_pa(bench: &Bench) -> f64 {
    let geometry = &bench.random.build.geometry;
    let trapped = bench.point().trapped;
    trapped.dry_air_kg / (bench.random.lambda * bench.gas.blend.afr_stoich)
        * bench.gas.blend.lhv_j_per_kg
        * f64::from(geometry.cylinders)
        / geometry.displacement_m3()
}

fn heat_costs_work(bench: &Bench, tally: &mut Tally) {
    let spark = bench.best.spark_deg_btdc.min(bench.spark);
    let run = |factor: f64| {
        let other = bench.random.edit(|r| r.build.combustion.heat_factor = factor);
        bench.with(&other, |point| point.closed(&point.burn(spark), |_| {}))
    };
    let [none, some, more] = [0.0, 0.8, 1.0].map(run);
    tally.near("heat without a coefficient", none.heat_j, 0.0, bench.point().fuel_energy_j());
    tally.less("heat", some.heat_j, more.heat_j);
    tally.less("work", more.work_j, some.work_j);
}

fn work_after_opening(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    let (build, (closed, _)) = (&bench.random.build, traced(bench, bench.spark));
    let crank = build.geometry.slider_crank();
    let bottom = crank.volume_m3(std::f64::consts::PI);
    let opening = crank.volume_m3((180.0 - build.valves.exhaust_opens_deg_bbdc).to_radians());
    let gross = point.exchange.gross_work_j(&crank, &build.valves, &closed);
    let closing = crank.volume_m3((build.valves.inlet_closes_deg_abdc - 180.0).to_radians());
    // From bottom centre the charge is compressed from intake pressure at least, to that at closing at most.
    let (low_pa, high_pa) = {
        let (a, b) = (point.exchange.intake_pressure_pa, closed.start_pressure_pa);
        (a.min(b), a.max(b))
    };
    let least = closed.work_j
        + point.exchange.exhaust_pressure_pa.min(closed.end_pressure_pa) * (bottom - opening)
        - high_pa * (bottom - closing);
    let most = closed.work_j
        + closed.end_pressure_pa.max(point.exchange.exhaust_pressure_pa) * (bottom - opening)
        - low_pa * (bottom - closing);
    tally.at_most("least", least, gross);
    tally.at_most("most", gross, most);
}
