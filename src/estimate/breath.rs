//! How a build breathes through its pipes at one speed: gas dynamics between the valve events, the closed cycle between
//! them.

use super::point::{FuelInUse, Point, PointSetting, Shifts};
use crate::cycle::charge::{Incoming, fresh_mixture};
use crate::cycle::{ClosedResult, CycleState, TrappedCharge};
use crate::engine::breathing::interpolate;
use crate::pipes::{
    Airway, AtValves, Beyond, Breath, Breather, Charge, NotSettled, PerfectGas, PipeGas, Released, Trapped,
};

/// Temperature at which the heat capacity of burned gas is taken, about that of an exhaust [K].
const BURNED_K: f64 = 1100.0;

/// Gas behind the muffler [K] (common practice, no source); it matters where it flows back alone.
const TAIL_K: f64 = 700.0;

/// CA50 of the closed cycle [deg after top dead centre], near that of best torque.
const NEAR_MBT_CA50_DEG: f64 = 8.0;

/// How a build breathes at one speed.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildBreath {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air of the day [-].
    pub volumetric_efficiency: f64,
    /// What the pipes say.
    pub breath: Breath,
}

/// Runs a build on its pipes at a speed, on a fuel at full load.
///
/// # Errors
/// [`NotSettled`] when the cycles do not repeat.
pub fn breathe<'a>(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    airway: impl Into<Airway<'a>>,
    speed_rpm: f64,
) -> Result<BuildBreath, NotSettled> {
    let run = Run::new(setting, fuel, airway.into(), speed_rpm);
    let breath = run.breather.settled(speed_rpm, |trapped| run.released(trapped))?;
    Ok(run.build_breath(breath))
}

/// The same with a record of the last cycle at the valves, from exhaust opening on, about every 2 deg.
///
/// # Errors
/// As [`breathe`].
pub fn breathe_traced<'a>(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    airway: impl Into<Airway<'a>>,
    speed_rpm: f64,
) -> Result<(BuildBreath, Vec<AtValves>), NotSettled> {
    let run = Run::new(setting, fuel, airway.into(), speed_rpm);
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

/// A build on its pipes at one speed.
struct Run<'a> {
    point: Point<'a>,
    incoming: Incoming,
    breather: Breather,
}

impl<'a> Run<'a> {
    fn new(setting: PointSetting<'a>, fuel: &'a FuelInUse, airway: Airway<'_>, speed_rpm: f64) -> Self {
        let weather = setting.weather;
        let incoming = Incoming::new(&fuel.blend, fuel.lambda, weather, setting.build.injection);
        let charge = charge(&incoming, fuel, weather.pressure_pa);
        Self {
            point: Point::new(setting, fuel, speed_rpm, Shifts::NONE),
            incoming,
            breather: Breather::of_build(setting.build, airway, &charge),
        }
    }

    fn build_breath(&self, breath: Breath) -> BuildBreath {
        let PointSetting { build, weather, .. } = self.point.setting();
        let fresh_kg = breath.trapped.mass_kg * (1.0 - breath.trapped.burned_frac);
        let of_the_day_kg = weather.dry_air_density_kg_per_m3() * build.geometry.swept_volume_m3();
        BuildBreath {
            speed_rpm: self.point.speed_rpm(),
            volumetric_efficiency: fresh_kg * self.incoming.dry_air_mass_frac / of_the_day_kg,
            breath,
        }
    }

    fn released(&self, trapped: &Trapped) -> Released {
        Released { temperature_k: self.closed(trapped, |_| {}).end_temperature_k }
    }

    /// The closed cycle of a trapped charge, at a burn near MBT.
    fn closed(&self, trapped: &Trapped, observe: impl FnMut(&CycleState)) -> ClosedResult {
        let fuel = self.point.fuel();
        let fresh = fresh_mixture(&fuel.blend, fuel.lambda, self.point.setting().weather);
        let mut point = self.point;
        point.trapped = TrappedCharge {
            mass_kg: trapped.mass_kg,
            temperature_k: trapped.temperature_k,
            charge: fresh.with_residual(trapped.burned_frac),
            residual_frac: trapped.burned_frac,
            ..point.trapped
        };
        point.closed(&point.burn(point.spark_for_ca50(NEAR_MBT_CA50_DEG)), observe)
    }
}

fn charge(incoming: &Incoming, fuel: &FuelInUse, pressure_pa: f64) -> Charge {
    let burned = fuel.burned.at(BURNED_K, pressure_pa.ln());
    let gas_constant = burned.gas_constant.value;
    Charge {
        gas: PipeGas {
            fresh: PerfectGas {
                gas_constant_j_per_kg_k: incoming.gas_constant_j_per_kg_k,
                cv_j_per_kg_k: incoming.cv_j_per_kg_k,
            },
            burned: PerfectGas {
                gas_constant_j_per_kg_k: gas_constant,
                cv_j_per_kg_k: burned.enthalpy.by_temperature - gas_constant,
            },
        },
        incoming: Beyond { pressure_pa, temperature_k: incoming.temperature_k, burned_frac: 0.0 },
        outside: Beyond { pressure_pa, temperature_k: TAIL_K, burned_frac: 1.0 },
    }
}
