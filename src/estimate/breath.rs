//! How a build breathes through its pipes at one speed: gas dynamics between the valve events, the closed cycle between
//! them.

use super::point::{FuelInUse, Point, PointSetting, Shifts};
use crate::cycle::charge::{Incoming, fresh_mixture};
use crate::cycle::{ClosedResult, CycleState, TrappedCharge};
use crate::engine::cam::EventLift;
use crate::engine::{Build, Cam, interpolate};
use crate::gas::{FreshMixture, newton};
use crate::pipes::{
    Airway, AtValves, Beyond, Breath, Breather, Charge, NotSettled, PerfectGas, PipeGas, Released, Trapped,
};

/// Gas behind the muffler [K] (common practice, no source); it matters where it flows back alone.
const TAIL_K: f64 = 700.0;

/// How a build breathes at one speed.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildBreath {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air of the day [-].
    pub volumetric_efficiency: f64,
    /// What the pipes say.
    pub breath: Breath,
    /// Temperature at inlet closing with the heat capacities of the real gases [K]: that with which the closed cycle begins.
    pub trapped_temperature_k: f64,
    /// Energy of the whole cycle.
    pub energy: CycleEnergy,
}

impl BuildBreath {
    /// Temperature of the charge at the effective inlet closing that the closed cycle of the estimate starts from, by the isentrope from
    /// where the valve seats [K].
    ///
    /// # Arguments
    /// - `point`: the same build and speed by the closed formulas
    pub fn closing_temperature_k(&self, point: &Point<'_>) -> f64 {
        let Build { geometry, valves, .. } = point.setting().build;
        let crank = geometry.slider_crank();
        let volume = |closes_deg_abdc: f64| crank.volume_m3((closes_deg_abdc - 180.0).to_radians());
        let effective_deg = valves.inlet_closes_deg_abdc;
        let seated_deg = effective_deg + valves.inlet_seats_later_deg;
        let gamma = point.trapped.charge.gamma(self.trapped_temperature_k);
        self.trapped_temperature_k * (volume(seated_deg) / volume(effective_deg)).powf(gamma - 1.0)
    }
}

/// Energy of one cylinder over a whole cycle, by the heat capacities of the real gases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleEnergy {
    /// Lower heating value of the fuel that was trapped [J].
    pub fuel_j: f64,
    /// Work on the piston, all four strokes [J].
    pub indicated_work_j: f64,
    /// Heat to the walls of the cylinder [J].
    pub wall_heat_j: f64,
    /// What is missing of the first law: enthalpy in less enthalpy out, work and heat, over the energy of the fuel [-].
    pub missing_frac: f64,
}

/// Runs a build on its pipes at a speed, on a fuel at full load.
///
/// # Errors
/// [`NotSettled`] when the cycles do not repeat.
pub fn breathe(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    airway: Airway<'_>,
    speed_rpm: f64,
) -> Result<BuildBreath, NotSettled> {
    let build = seat_to_seat(setting.build, airway.cam);
    let run = Run::new(PointSetting { build: &build, ..setting }, fuel, airway, speed_rpm);
    let breath = run.breather.settled(speed_rpm, |trapped| run.released(trapped))?;
    Ok(run.build_breath(breath))
}

/// The same with a record of the last cycle at the valves, from exhaust opening on, about every 2 deg.
///
/// # Errors
/// As [`breathe`].
pub fn breathe_traced(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    airway: Airway<'_>,
    speed_rpm: f64,
) -> Result<(BuildBreath, Vec<AtValves>), NotSettled> {
    let build = seat_to_seat(setting.build, airway.cam);
    let run = Run::new(PointSetting { build: &build, ..setting }, fuel, airway, speed_rpm);
    let (breath, mut trace) = run.breather.settled_traced(speed_rpm, |trapped| run.released(trapped))?;
    let (mut angles, mut pressures) = (Vec::new(), Vec::new());
    run.closed(&breath.trapped, |state| {
        angles.push(state.crank_angle_deg + 360.0);
        pressures.push(state.pressure_pa);
    });
    for at in &mut trace {
        at.cylinder_pressure_pa.get_or_insert_with(|| interpolate(&angles, &pressures, at.crank_angle_deg));
    }
    Ok((run.build_breath(breath), trace))
}

/// The build with its closed cycle from where the inlet valve seats to where the exhaust valve leaves its seat: between them the pipes
/// have it.
fn seat_to_seat(build: &Build, cam: &Cam) -> Build {
    let at = cam.events(EventLift::Seat);
    let mut seated = build.clone();
    seated.valves.inlet_closes_deg_abdc = at.inlet_closes_deg_abdc;
    seated.valves.exhaust_opens_deg_bbdc = at.exhaust_opens_deg_bbdc;
    seated.valves.inlet_seats_later_deg = 0.0;
    seated
}

/// A build on its pipes at one speed.
struct Run<'a> {
    point: Point<'a>,
    incoming: Incoming,
    gases: Gases,
    breather: Breather,
}

impl<'a> Run<'a> {
    fn new(setting: PointSetting<'a>, fuel: &'a FuelInUse, airway: Airway<'_>, speed_rpm: f64) -> Self {
        let weather = setting.weather;
        let incoming = Incoming::new(&fuel.blend, fuel.lambda, weather, setting.build.injection);
        let point = Point::new(setting, fuel, speed_rpm, Shifts::NONE);
        let gases = Gases::new(&incoming, &point);
        let charge = charge(gases.pipes, &incoming, weather.pressure_pa);
        Self { point, incoming, gases, breather: Breather::of_build(setting.build, airway, &charge) }
    }

    fn build_breath(&self, breath: Breath) -> BuildBreath {
        let PointSetting { build, weather, .. } = self.point.setting();
        let fresh_kg = breath.trapped.mass_kg * (1.0 - breath.trapped.burned_frac);
        let of_the_day_kg = weather.dry_air_density_kg_per_m3() * build.geometry.swept_volume_m3();
        BuildBreath {
            speed_rpm: self.point.speed_rpm(),
            volumetric_efficiency: fresh_kg * self.incoming.dry_air_mass_frac / of_the_day_kg,
            trapped_temperature_k: self.trapped_k(&breath.trapped),
            energy: self.energy(&breath),
            breath,
        }
    }

    fn energy(&self, breath: &Breath) -> CycleEnergy {
        let Breath { trapped, ledger, .. } = breath;
        let fresh = self.fresh();
        let closed = self.closed(trapped, |_| {});
        let Gases { fresh_j_per_kg, burned_j_per_kg, .. } = self.gases;
        // What is pushed back into the runner comes in again: the net flow is fresh.
        let came_j = ledger.inlet.energy_j + ledger.inlet.mass_kg * fresh_j_per_kg;
        let fresh_out_kg = ledger.inlet.mass_kg * breath.short_circuit_frac;
        let burned_out_kg = ledger.exhaust.mass_kg - fresh_out_kg;
        let left_j =
            ledger.exhaust.energy_j + fresh_out_kg * fresh_j_per_kg + burned_out_kg * burned_j_per_kg;
        let fuel_kg = trapped.mass_kg * (1.0 - trapped.burned_frac) * fresh.fuel_mass_frac();
        let fuel_j = fuel_kg * self.point.fuel().blend.lhv_j_per_kg;
        let indicated_work_j = closed.work_j + ledger.exchange_work_j;
        let wall_heat_j = closed.heat_j - ledger.cylinder_heat_j;
        let missing_j = came_j - left_j - indicated_work_j - wall_heat_j;
        CycleEnergy { fuel_j, indicated_work_j, wall_heat_j, missing_frac: missing_j / fuel_j }
    }

    fn fresh(&self) -> FreshMixture {
        let fuel = self.point.fuel();
        fresh_mixture(&fuel.blend, fuel.lambda, self.point.setting().weather)
    }

    /// Temperature of a trapped charge as a real gas [K].
    fn trapped_k(&self, trapped: &Trapped) -> f64 {
        let charge = self.fresh().with_residual(trapped.burned_frac);
        let energy_j_per_kg = self.gases.real_j_per_kg(trapped);
        newton::temperature_k(trapped.temperature_k, |t| {
            let cv = charge.cp_j_per_kg_k(t) - charge.gas_constant_j_per_kg_k;
            (charge.internal_energy_j_per_kg(t) - energy_j_per_kg, cv)
        })
    }

    fn released(&self, trapped: &Trapped) -> Released {
        Released { temperature_k: self.gases.released_k(trapped, &self.closed(trapped, |_| {})) }
    }

    /// The closed cycle of a trapped charge, at a burn near MBT.
    fn closed(&self, trapped: &Trapped, observe: impl FnMut(&CycleState)) -> ClosedResult {
        let mut point = self.point;
        point.trapped = TrappedCharge {
            mass_kg: trapped.mass_kg,
            temperature_k: self.trapped_k(trapped),
            charge: self.fresh().with_residual(trapped.burned_frac),
            residual_frac: trapped.burned_frac,
            ..point.trapped
        };
        point.closed(&point.burn(point.near_mbt_spark()), observe)
    }
}

/// The perfect gases of the pipes beside the real ones of the closed cycle.
///
/// Their energies differ by an amount for each kind of gas, which no flow or mixing changes; with it the energy is handed over at inlet
/// closing and at exhaust opening. Temperatures are the same as the gas comes in and as the exhaust opens; in between those of the
/// perfect gases are off by up to some 25 K in an exhaust.
#[derive(Clone, Copy, Debug)]
struct Gases {
    pipes: PipeGas,
    /// Energy of the real gas from its own datum less that of the perfect gas from 0 K [J/kg].
    fresh_j_per_kg: f64,
    burned_j_per_kg: f64,
}

impl Gases {
    /// Burned gas has the mean heat capacity, composition frozen, of its way from exhaust opening into the next charge.
    fn new(incoming: &Incoming, point: &Point<'_>) -> Self {
        let fuel = point.fuel();
        let mixture = fresh_mixture(&fuel.blend, fuel.lambda, point.setting().weather);
        let (charge, residual) = (mixture.with_residual(0.0), mixture.residual());
        let trapped = &point.trapped;
        let closed = point.closed(&point.burn(point.near_mbt_spark()), |_| {});
        let (hot_k, cold_k) = (closed.end_temperature_k, trapped.temperature_k);
        let fallen_j_per_kg =
            residual.internal_energy_j_per_kg(hot_k) - residual.internal_energy_j_per_kg(cold_k);
        let fresh = PerfectGas {
            gas_constant_j_per_kg_k: incoming.gas_constant_j_per_kg_k,
            cv_j_per_kg_k: incoming.cv_j_per_kg_k,
        };
        let burned = PerfectGas {
            gas_constant_j_per_kg_k: residual.gas_constant_j_per_kg_k,
            cv_j_per_kg_k: fallen_j_per_kg / (hot_k - cold_k),
        };
        let fresh_cp = fresh.cv_j_per_kg_k + fresh.gas_constant_j_per_kg_k;
        let released_j_per_kg =
            trapped.charge.internal_energy_j_per_kg(cold_k) + closed.energy_change_j / trapped.mass_kg;
        Self {
            pipes: PipeGas { fresh, burned },
            fresh_j_per_kg: charge.enthalpy_j_per_kg(incoming.temperature_k)
                - fresh_cp * incoming.temperature_k
                - incoming.later_cooling_j_per_kg,
            burned_j_per_kg: released_j_per_kg - burned.cv_j_per_kg_k * hot_k,
        }
    }

    /// Energy of a trapped charge as a real gas [J/kg].
    fn real_j_per_kg(&self, trapped: &Trapped) -> f64 {
        let x = trapped.burned_frac;
        self.pipes.cv(x) * trapped.temperature_k + (1.0 - x) * self.fresh_j_per_kg + x * self.burned_j_per_kg
    }

    /// Temperature in the pipes of gas that a closed cycle has left of a charge [K].
    fn released_k(&self, trapped: &Trapped, closed: &ClosedResult) -> f64 {
        let energy_j_per_kg = self.real_j_per_kg(trapped) + closed.energy_change_j / trapped.mass_kg;
        (energy_j_per_kg - self.burned_j_per_kg) / self.pipes.cv(1.0)
    }
}

fn charge(gas: PipeGas, incoming: &Incoming, pressure_pa: f64) -> Charge {
    Charge {
        gas,
        incoming: Beyond { pressure_pa, temperature_k: incoming.temperature_k, burned_frac: 0.0 },
        outside: Beyond { pressure_pa, temperature_k: TAIL_K, burned_frac: 1.0 },
    }
}
