//! The loss ladder: from the ideal cycle to the wheel, one named loss at a time.

use super::point::{AtSpark, Point};
use super::result::{LadderRung, Rung};
use crate::cycle::charge::fresh_mixture;
use crate::gas::EquilibriumError;
use crate::gas::otto::{air_standard_efficiency, fuel_air_otto};
use crate::units::PA_PER_BAR;

/// Losses of a point at the timing used, down to `wheel_share` of brake work.
///
/// # Errors
/// [`EquilibriumError`] when the fuel-air cycle leaves the solver's range.
pub fn loss_ladder(
    point: &Point<'_>,
    used: &AtSpark,
    wheel_share: f64,
) -> Result<Vec<LadderRung>, EquilibriumError> {
    let setting = point.setting();
    let geometry = &setting.build.geometry;
    let ratio = geometry.compression_ratio.get();
    let fuel_bar = point.fuel_energy_j() / geometry.swept_volume_m3() / PA_PER_BAR;
    let instant = point.closed_instant();
    let otto_bar = fuel_air_bar(point, instant.start_pressure_pa)?;
    let adiabatic = point.imep_gross_bar(&point.closed_without_heat(&point.burn(used.spark_deg_btdc)));
    let brake = used.bmep_bar();
    let steps = [
        (Rung::AirStandard, fuel_bar * air_standard_efficiency(ratio)),
        (Rung::FuelAir, otto_bar),
        (Rung::ValveEvents, point.imep_gross_bar(&instant)),
        (Rung::Burn, adiabatic),
        (Rung::WallHeat, used.imep_gross_bar),
        (Rung::Pumping, used.imep_net_bar),
        (Rung::Friction, brake),
        (Rung::Driveline, brake * wheel_share),
    ];
    Ok(steps
        .into_iter()
        .map(|(rung, mep)| LadderRung { rung, mean_effective_pressure_bar: mep, efficiency: mep / fuel_bar })
        .collect())
}

/// Mean effective pressure of the fuel-air Otto cycle of the trapped charge, from bottom centre [bar].
///
/// Where the inlet rams after bottom centre, the air that comes in does part of the compression: work that no later rung can
/// lose, so it counts here.
///
/// # Arguments
/// - `closing_pressure_pa`: of the trapped charge at inlet closing [Pa]
fn fuel_air_bar(point: &Point<'_>, closing_pressure_pa: f64) -> Result<f64, EquilibriumError> {
    let setting = point.setting();
    let geometry = &setting.build.geometry;
    let (trapped, crank) = (&point.trapped, geometry.slider_crank());
    let closing = crank.volume_m3((setting.build.valves.inlet_closes_deg_abdc - 180.0).to_radians());
    let bottom = geometry.swept_volume_m3() + geometry.clearance_volume_m3();
    let temperature = trapped.charge.isentropic_temperature_k(trapped.temperature_k, closing / bottom);
    let pressure = trapped.mass_kg * trapped.charge.gas_constant_j_per_kg_k * temperature / bottom;
    let fuel = point.fuel();
    let fresh = fresh_mixture(&fuel.blend, fuel.lambda, setting.weather);
    let otto = fuel_air_otto(
        &fresh,
        trapped.residual_frac,
        temperature,
        pressure,
        geometry.compression_ratio.get(),
    )?;
    let energy = |t: f64| trapped.charge.internal_energy_j_per_kg(t);
    let isentropic_j = trapped.mass_kg * (energy(trapped.temperature_k) - energy(temperature));
    let rammed_j = (isentropic_j - point.exchange.early_compression_j(closing_pressure_pa)).max(0.0);
    Ok((otto.imep_pa + rammed_j / geometry.swept_volume_m3()) / PA_PER_BAR)
}
