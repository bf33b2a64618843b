//! The closed cycle against its limits: conservation, isentropes, the fuel-air cycle, step size.

use crate::common::tables::{reference_fuels, table};
use approx::assert_relative_eq;
use endgas::cycle::heat::HeatLaw;
use endgas::cycle::{Burn, BurnDurations, ClosedCycle, ClosedResult, CycleState};
use endgas::engine::Geometry;
use endgas::gas::mixture::FreshMixture;
use endgas::gas::{BurnedTable, UnburnedCharge};
use endgas::units::CompressionRatio;
use std::f64::consts::PI;

/// One cylinder with its charge; valve events at bottom dead centre unless moved.
struct Rig {
    geometry: Geometry,
    charge: UnburnedCharge,
    burned: BurnedTable,
    mass_kg: f64,
    temperature_k: f64,
    closes: f64,
    opens: f64,
    heat_factor: f64,
    step_scale: f64,
}

impl Rig {
    fn new(fresh: &FreshMixture, residual: f64, ratio: f64, temperature_k: f64, pressure_pa: f64) -> Self {
        let geometry = Geometry {
            cylinders: 1,
            bore_m: 0.0884,
            stroke_m: 0.0962,
            rod_length_m: 0.1505,
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(ratio).unwrap(),
        };
        let charge = fresh.with_residual(residual);
        let volume = geometry.swept_volume_m3() + geometry.clearance_volume_m3();
        Self {
            geometry,
            charge,
            burned: BurnedTable::new(&fresh.elements()).unwrap(),
            mass_kg: pressure_pa * volume / (charge.gas_constant_j_per_kg_k * temperature_k),
            temperature_k,
            closes: -180.0,
            opens: 180.0,
            heat_factor: 0.0,
            step_scale: 1.0,
        }
    }

    fn cycle(&self) -> ClosedCycle<'_> {
        let speed_rpm = 4000.0;
        ClosedCycle {
            crank: self.geometry.slider_crank(),
            bore_m: self.geometry.bore_m,
            inlet_closes_deg: self.closes,
            exhaust_opens_deg: self.opens,
            speed_rpm,
            charge: self.charge,
            burned: &self.burned,
            mass_kg: self.mass_kg,
            temperature_k: self.temperature_k,
            heat: HeatLaw::woschni(
                self.heat_factor,
                self.geometry.bore_m,
                self.geometry.mean_piston_speed_m_per_s(speed_rpm),
                self.geometry.swept_volume_m3(),
                self.mass_kg * self.charge.gas_constant_j_per_kg_k,
            ),
            wall_temperature_k: 473.0,
            step_scale: self.step_scale,
        }
    }

    fn burn(&self, spark: f64) -> ClosedResult {
        let durations = BurnDurations { early_deg: 18.0, main_deg: 22.0, complete_frac: 1.0 };
        self.cycle().run(&Burn::from_spark(spark, durations), |_| {})
    }

    fn fuel_energy_j(&self) -> f64 {
        self.mass_kg * self.charge.fuel_mass_frac * 43e6
    }
}

fn rig() -> Rig {
    let fresh = FreshMixture::new(reference_fuels()["E0"], 0.88, 0.008);
    Rig { closes: -125.0, opens: 125.0, heat_factor: 1.0, ..Rig::new(&fresh, 0.04, 12.5, 350.0, 0.95e5) }
}

#[test]
fn motoring_without_heat_is_an_isentrope() {
    let rig = Rig { heat_factor: 0.0, ..rig() };
    let mut last = None;
    let result = rig.cycle().run_motored(|s| {
        let volume = rig.geometry.slider_crank().volume_m3(s.crank_angle_deg.to_radians());
        let start = rig.geometry.slider_crank().volume_m3(rig.closes.to_radians());
        let wanted = rig.charge.isentropic_temperature_k(rig.temperature_k, start / volume);
        assert_relative_eq!(s.unburned_temperature_k, wanted, max_relative = 2e-5);
        last = Some(s.crank_angle_deg);
    });
    assert_relative_eq!(last.unwrap(), 125.0, epsilon = 1e-9);
    // Closing and opening are symmetric: the spring gives back what it took.
    assert!(result.work_j.abs() < 1e-4 * rig.fuel_energy_j(), "{}", result.work_j);
    assert_relative_eq!(result.end_temperature_k, rig.temperature_k, max_relative = 2e-5);
}

#[test]
fn energy_is_conserved_with_burn_and_heat() {
    for spark in [5.0, 15.0, 25.0, 40.0] {
        let rig = rig();
        let error = rig.burn(spark).energy_error_j().abs() / rig.fuel_energy_j();
        assert!(error < 1e-5, "spark {spark}: {error:.2e} of the fuel energy");
    }
}

/// HAND: of the walls the burned gas covers the square root of what is burned, the unburned the rest. What a kilogram of unburned
/// gas loses over a step is v dp - cp dT.
#[test]
fn the_unburned_zone_loses_heat_by_its_share_of_the_walls() {
    let rig = rig();
    let cycle = rig.cycle();
    let cycle = ClosedCycle {
        heat: HeatLaw::hohenberg(3.0, 12.0),
        wall_temperature_k: 400.0,
        step_scale: 0.25,
        ..cycle
    };
    let durations = BurnDurations { early_deg: 18.0, main_deg: 22.0, complete_frac: 1.0 };
    let mut states: Vec<CycleState> = Vec::new();
    cycle.run(&Burn::from_spark(20.0, durations), |state| states.push(*state));
    let mut compared = 0;
    for pair in states.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let mid = |of: fn(&CycleState) -> f64| 0.5 * (of(&a) + of(&b));
        let x = mid(|s| s.burn_fraction);
        if !(0.2..0.8).contains(&x) {
            continue;
        }
        let (t, p) = (mid(|s| s.unburned_temperature_k), mid(|s| s.pressure_pa));
        let volume = cycle.crank.volume_m3(mid(|s| s.crank_angle_deg).to_radians());
        let ru = rig.charge.gas_constant_j_per_kg_k;
        let rb = rig.burned.at(mid(|s| s.burned_temperature_k), p.ln()).gas_constant.value;
        let mean = p * volume / (rig.mass_kg * ((1.0 - x) * ru + x * rb));
        let coefficient = cycle.heat.coefficient_w_per_m2_k(p, mean, 0.0, volume);
        // A disc of the bore: two crowns and the side.
        let walls = 0.5 * PI * cycle.bore_m.powi(2) + 4.0 * volume / cycle.bore_m;
        let wanted =
            coefficient * walls * (1.0 - x.sqrt()) * (t - cycle.wall_temperature_k) * (b.time_s - a.time_s)
                / (rig.mass_kg * (1.0 - x));
        let specific_volume = ru * t / p;
        let rise = b.unburned_temperature_k - a.unburned_temperature_k;
        let found = specific_volume * (b.pressure_pa - a.pressure_pa) - rig.charge.cp_j_per_kg_k(t) * rise;
        assert_relative_eq!(found, wanted, max_relative = 0.01);
        compared += 1;
    }
    assert!(compared > 20, "{compared}");
}

/// When all is burned the gas at exhaust opening is that of the equilibrium table; when nothing is, that of the charge.
#[test]
fn the_gas_at_exhaust_opening_is_what_has_burned() {
    let rig = rig();
    let end = rig.burn(25.0);
    let burned = rig.burned.at(end.end_temperature_k, end.end_pressure_pa.ln());
    assert_relative_eq!(end.end_cp_j_per_kg_k, burned.enthalpy.by_temperature, max_relative = 1e-4);
    assert_relative_eq!(end.end_gas_constant_j_per_kg_k, burned.gas_constant.value, max_relative = 1e-4);
    let motored = rig.cycle().run_motored(|_| {});
    let cp = rig.charge.cp_j_per_kg_k(motored.end_temperature_k);
    assert_relative_eq!(motored.end_cp_j_per_kg_k, cp, max_relative = 1e-6);
}

/// PUBLISHED: table D (Cantera 3.2.0), through the cycle code itself.
#[test]
fn instant_burn_without_heat_is_the_fuel_air_cycle() {
    let fuels = reference_fuels();
    let mut checked = 0;
    for row in table("thermo/D_fuel_air_otto.csv") {
        let fresh = FreshMixture::new(fuels[row.text("fuel")], 1.0 / row.number("phi"), 0.0);
        let rig = Rig::new(
            &fresh,
            row.number("residual_mass_frac"),
            row.number("cr"),
            row.number("T1_K"),
            row.number("p1_bar") * 1e5,
        );
        let result = rig.cycle().run_instant(0.0, |_| {});
        let work = result.work_j / rig.mass_kg;
        assert_relative_eq!(work, row.number("work_J_per_kg_mix"), max_relative = 1e-4);
        assert_relative_eq!(result.peak_pressure_pa, row.number("p3_bar") * 1e5, max_relative = 2e-4);
        assert_relative_eq!(result.end_temperature_k, row.number("T4_K"), max_relative = 2e-4);
        checked += 1;
    }
    assert!(checked > 100);
}

#[test]
fn a_very_fast_burn_approaches_the_instant_one() {
    let rig = Rig { heat_factor: 0.0, ..rig() };
    let instant = rig.cycle().run_instant(0.0, |_| {}).work_j;
    let work = |main_deg: f64| {
        let burn = Burn::from_spark(
            0.45 * main_deg,
            BurnDurations { early_deg: 0.4 * main_deg, main_deg, complete_frac: 1.0 },
        );
        rig.cycle().run(&burn, |_| {}).work_j
    };
    let (near, far) = ((instant - work(4.0)).abs(), (instant - work(8.0)).abs());
    assert!(near < 0.01 * instant && near < far, "{near} {far} of {instant}");
}

#[test]
fn heat_costs_work() {
    let work = |factor: f64| Rig { heat_factor: factor, ..rig() }.burn(25.0).work_j;
    assert!(work(0.0) > work(0.5) && work(0.5) > work(1.0) && work(1.0) > work(1.5));
}

/// The method is of fourth order; the burned-gas table, continuous in value and slope alone, leaves
/// at least third order of it.
#[test]
fn halving_the_step_shows_the_order() {
    let work = |scale: f64| Rig { step_scale: scale, ..rig() }.burn(25.0).work_j;
    let finest = work(0.0625);
    let (coarse, fine) = ((work(1.0) - finest).abs(), (work(0.5) - finest).abs());
    let order = (coarse / fine).log2();
    println!("order {order:.2}, error at shipped step {:.1e}", coarse / finest);
    assert!(order > 2.8, "order {order:.2}");
    assert!(coarse < 1e-5 * finest);
}

#[test]
fn pin_offset_keeps_energy() {
    let mut rig = rig();
    rig.geometry.pin_offset_m = 0.001;
    assert!(rig.burn(25.0).energy_error_j().abs() < 1e-5 * rig.fuel_energy_j());
}
