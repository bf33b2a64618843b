//! How a build breathes through its pipes at one speed: gas dynamics between the valve events, the closed cycle between
//! them.

use super::point::{FuelInUse, Point, PointSetting, Shifts};
use crate::cycle::charge::Incoming;
use crate::engine::{Cam, Pipework};
use crate::pipes::{Beyond, Breath, Breather, Charge, NotSettled, PerfectGas, PipeGas, Released};

/// Temperature at which the heat capacity of burned gas is taken, about that of an exhaust [K].
const BURNED_K: f64 = 1100.0;

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
}

/// Runs a build on its pipes at a speed, on a fuel at full load.
///
/// # Errors
/// [`NotSettled`] when the cycles do not repeat.
pub fn breathe(
    setting: PointSetting<'_>,
    fuel: &FuelInUse,
    (pipework, cam): (&Pipework, &Cam),
    speed_rpm: f64,
) -> Result<BuildBreath, NotSettled> {
    let weather = setting.weather;
    let incoming = Incoming::new(&fuel.blend, fuel.lambda, weather, setting.build.injection);
    let charge = charge(&incoming, fuel, weather.pressure_pa);
    let breather = Breather::of_build(setting.build, pipework, cam, &charge);
    let point = Point::new(setting, fuel, speed_rpm, Shifts::NONE);
    let breath = breather.settled(speed_rpm, |trapped| Released {
        temperature_k: point.released_k(trapped.mass_kg, trapped.temperature_k, trapped.burned_frac),
    })?;
    let fresh_kg = breath.trapped.mass_kg * (1.0 - breath.trapped.burned_frac);
    let of_the_day_kg = weather.dry_air_density_kg_per_m3() * setting.build.geometry.swept_volume_m3();
    Ok(BuildBreath {
        speed_rpm,
        volumetric_efficiency: fresh_kg * incoming.dry_air_mass_frac / of_the_day_kg,
        breath,
    })
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
