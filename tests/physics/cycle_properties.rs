//! The closed cycle over random engines, fuels, mixtures, speeds and sparks: the zones fill the
//! cylinder, and energy is kept. `PROPTEST_CASES` sets the number of cases.

use crate::common::cases::cases;
use crate::common::random_fuel;
use endgas::cycle::heat::HeatLaw;
use endgas::cycle::{Begun, Burn, BurnDurations, ClosedCycle, Compression, CycleState};
use endgas::engine::Geometry;
use endgas::gas::{BurnedTable, FreshMixture, UnburnedCharge};
use endgas::knock::{BlendDelay, EndGas, KnockFit, KnockIntegral};
use endgas::units::CompressionRatio;
use proptest::prelude::*;
use random_fuel::{Named, any_fuel, worst_over};

/// An engine: bore and stroke [m], rod over stroke, pin offset [m], ratio, inlet closing and exhaust
/// opening [deg after top dead centre].
type Engine = (f64, f64, f64, f64, f64, f64, f64);
/// Its charge: fuel, lambda, residual share, temperature [K], pressure at bottom dead centre [Pa].
type Filling = (Named, f64, f64, f64, f64);
/// How it runs: speed [rpm], spark [deg before top dead centre], 0-10 and 10-90 % durations [deg],
/// heat factor, share that burns at all.
type Running = (f64, f64, f64, f64, f64, f64);

fn any_engine() -> impl Strategy<Value = Engine> {
    (0.06..0.12, 0.05..0.11, 1.4..2.2, -0.002..0.002, 7.0..16.0, -150.0..-100.0, 95.0..150.0)
}

fn any_filling() -> impl Strategy<Value = Filling> {
    (any_fuel(), 0.75..1.1, 0.01..0.15, 300.0..420.0, 0.4e5..1.2e5)
}

fn any_running() -> impl Strategy<Value = Running> {
    (800.0..9000.0, -12.0..55.0, 9.0..30.0, 12.0..45.0, 0.0..1.5, 0.9..1.0)
}

/// One cylinder and its charge, made of random numbers.
struct Rig {
    geometry: Geometry,
    charge: UnburnedCharge,
    burned: BurnedTable,
    mass_kg: f64,
    fuel_energy_j: f64,
    engine: Engine,
    filling: Filling,
    running: Running,
}

impl Rig {
    fn new(engine: Engine, filling: Filling, running: Running) -> Self {
        let (bore_m, stroke_m, rod, pin_offset_m, ratio, ..) = engine;
        let geometry = Geometry {
            cylinders: 1,
            bore_m,
            stroke_m,
            rod_length_m: rod * stroke_m,
            pin_offset_m,
            compression_ratio: CompressionRatio::new(ratio).unwrap(),
        };
        let (fuel, lambda, residual, temperature_k, pressure_pa) = &filling;
        let fresh = FreshMixture::new(fuel.vapour, *lambda, 0.008);
        let charge = fresh.with_residual(*residual);
        let volume = geometry.swept_volume_m3() + geometry.clearance_volume_m3();
        let mass_kg = pressure_pa * volume / (charge.gas_constant_j_per_kg_k * temperature_k);
        Self {
            geometry,
            charge,
            burned: BurnedTable::new(&fresh.elements()).unwrap(),
            mass_kg,
            fuel_energy_j: mass_kg * charge.fuel_mass_frac * fuel.lhv_j_per_kg(),
            engine,
            filling,
            running,
        }
    }

    fn cycle(&self, heat: HeatLaw) -> ClosedCycle<'_> {
        ClosedCycle {
            crank: self.geometry.slider_crank(),
            bore_m: self.geometry.bore_m,
            inlet_closes_deg: self.engine.5,
            exhaust_opens_deg: self.engine.6,
            speed_rpm: self.running.0,
            charge: self.charge,
            burned: &self.burned,
            mass_kg: self.mass_kg,
            temperature_k: self.filling.3,
            heat,
            wall_temperature_k: 473.0,
            step_scale: 1.0,
        }
    }

    fn woschni(&self) -> HeatLaw {
        let geometry = &self.geometry;
        let speed = geometry.mean_piston_speed_m_per_s(self.running.0);
        let gas = self.mass_kg * self.charge.gas_constant_j_per_kg_k;
        HeatLaw::woschni(self.running.4, geometry.bore_m, speed, geometry.swept_volume_m3(), gas)
    }

    fn hohenberg(&self) -> HeatLaw {
        HeatLaw::hohenberg(self.running.4, self.geometry.mean_piston_speed_m_per_s(self.running.0))
    }

    fn burn(&self) -> Burn {
        let (_, spark, early_deg, main_deg, _, complete_frac) = self.running;
        Burn::from_spark(spark, BurnDurations { early_deg, main_deg, complete_frac })
    }

    /// Volume of both zones over that of the cylinder, less 1.
    fn volume_error(&self, state: &CycleState) -> f64 {
        let x = state.burn_fraction;
        let unburned = (1.0 - x) * self.charge.gas_constant_j_per_kg_k * state.unburned_temperature_k;
        let burned = if x > 0.0 {
            let t = state.burned_temperature_k;
            x * t * self.burned.at(t, state.pressure_pa.ln()).gas_constant.value
        } else {
            0.0
        };
        let cylinder = self.geometry.slider_crank().volume_m3(state.crank_angle_deg.to_radians());
        (self.mass_kg * (unburned + burned) / state.pressure_pa / cylinder - 1.0).abs()
    }

    /// Worst volume error and the energy error over the fuel energy of one cycle.
    fn errors(&self, heat: HeatLaw) -> Result<[f64; 2], TestCaseError> {
        let mut volume = 0.0f64;
        let result =
            self.cycle(heat).run(&self.burn(), |state| volume = volume.max(self.volume_error(state)));
        let energy = result.energy_error_j().abs() / self.fuel_energy_j;
        prop_assert!(volume < 1e-4, "zones miss the cylinder volume by {volume:.1e}");
        prop_assert!(energy < 1e-4, "energy is off by {energy:.1e} of the fuel energy");
        Ok([volume, energy])
    }
}

fn check(errors: impl Fn(&Rig) -> Result<[f64; 2], TestCaseError>) -> [f64; 2] {
    worst_over(cases(150, 20), &(any_engine(), any_filling(), any_running()), |(engine, filling, running)| {
        errors(&Rig::new(engine, filling, running))
    })
}

#[test]
fn zones_fill_the_cylinder_and_energy_is_kept_with_woschni() {
    let [volume, energy] = check(|rig| rig.errors(rig.woschni()));
    println!("worst volume error {volume:.1e}, energy error {energy:.1e} of the fuel energy");
}

#[test]
fn zones_fill_the_cylinder_and_energy_is_kept_with_hohenberg() {
    let [volume, energy] = check(|rig| rig.errors(rig.hohenberg()));
    println!("worst volume error {volume:.1e}, energy error {energy:.1e} of the fuel energy");
}

/// The most that cycles run side by side differ from those run alone, as shares: work, peak pressure, ignition integral.
fn beside(rig: &Rig) -> Result<[f64; 3], TestCaseError> {
    let (_, spark, early_deg, main_deg, _, complete_frac) = rig.running;
    let durations = BurnDurations { early_deg, main_deg, complete_frac };
    let gas = EndGas { lambda: 0.9, residual_frac: 0.05, water_mole_frac: 0.01, ethanol_mole_frac: 0.2 };
    let empty = KnockIntegral::new(BlendDelay::new(&KnockFit::SHIPPED, &gas, rig.running.0));
    let (first, other) = (rig.cycle(rig.woschni()), rig.cycle(rig.hohenberg()));
    let later =
        ClosedCycle { temperature_k: 1.05 * first.temperature_k, speed_rpm: 0.7 * first.speed_rpm, ..first };
    // Six of three cycles: a full set and a part of one, in which no two last equally long.
    let jobs = [(first, 0.0), (first, 9.0), (other, 2.0), (later, 4.0), (other, -3.0), (later, 14.0)];
    let burns = jobs.map(|(_, earlier)| Burn::from_spark(spark - earlier, durations));
    let ready: Vec<_> = jobs
        .iter()
        .zip(&burns)
        .map(|((cycle, _), burn)| cycle.compressed(&mut Compression::new(empty), burn))
        .collect();
    let mut most = [0.0_f64; 3];
    for (((cycle, _), burn), (found, integral)) in jobs.iter().zip(&burns).zip(Begun::finish(&ready)) {
        let mut watch = empty;
        let alone = cycle.run(burn, |state| watch.add(state));
        let off = [
            (found.work_j - alone.work_j).abs() / rig.fuel_energy_j,
            (found.peak_pressure_pa / alone.peak_pressure_pa - 1.0).abs(),
            (integral.value() / watch.value().max(1e-9) - 1.0).abs() * f64::from(watch.value() > 1e-6),
        ];
        prop_assert!(off.iter().all(|off| *off < 1e-9), "{off:?}");
        most = std::array::from_fn(|i| most[i].max(off[i]));
    }
    Ok(most)
}

#[test]
fn cycles_side_by_side_are_those_run_alone() {
    let ranges = (any_engine(), any_filling(), any_running());
    let most = worst_over(cases(100, 20), &ranges, |(engine, filling, running)| {
        beside(&Rig::new(engine, filling, running))
    });
    println!(
        "most off side by side, as shares: work {:.0e}, peak pressure {:.0e}, integral {:.0e}",
        most[0], most[1], most[2]
    );
}
