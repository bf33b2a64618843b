//! What injectors and pump must give, whether stated ones do, and how far the engine goes mechanically.
//!
//! Every fuel of the job is run at its likely ethanol content and, where that is a range, at its high end.
//! Sizes rest on the high end of the flow: the 90th percentile of the samples of VE and mixture, on the
//! fuel and content that needs most.

mod limits;
mod result;
mod system;

pub use limits::MechanicalLimit;
pub use result::{FuelNeed, Fueling, FuelingPoint, StatedInjectors, StatedPump, WorstCase};
pub use system::{FuelSystem, LB_PER_H_PER_KG_PER_S, Supply};

use crate::estimate::band::band;
use crate::estimate::job::fuel_in_use;
use crate::estimate::point::{FuelInUse, Shifts};
use crate::estimate::sampling::own_ve_factor;
use crate::estimate::sweep::over_speeds;
use crate::estimate::tuned::Tuned;
use crate::estimate::uncertainty::{Input, Sample};
use crate::estimate::{Band, EstimateError, Job};

/// A fuel at one content, ready to run.
struct Entry<'a> {
    name: &'a str,
    is_high_content: bool,
    fuel: FuelInUse,
}

/// Air and fuel flow of a job at each point of its curve, and what they ask of a fuel system.
///
/// # Errors
/// [`EstimateError`] when a fuel, mixture or speed is outside the model.
///
/// # Example
/// ```
/// use endgas::{fuel::FuelLibrary, fueling::fueling, scenario};
/// let demo = scenario::read("demo", scenario::DEMO)?;
/// let result = fueling(&demo.job(&FuelLibrary::shipped()?, 20, 1)?, &demo.fueling)?;
/// assert!(result.needs.iter().all(|need| need.pump_need_l_per_h > 0.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fueling(job: &Job, system: &FuelSystem) -> Result<Fueling, EstimateError> {
    if job.fuels.is_empty() || job.speeds_rpm.is_empty() {
        return Err(job.empty());
    }
    let supply = system.supply(&job.build);
    let entries = entries(job)?;
    let samples = job.draw();
    let points = over_speeds(&entries, &job.speeds_rpm, |entry, speed| {
        Tuned::new(job, job.setting(), (entry.name, &entry.fuel), speed, Shifts::NONE)
    })?;
    let curves: Vec<&[Tuned<'_>]> = points.chunks(job.speeds_rpm.len()).collect();
    let needs: Vec<FuelNeed> =
        entries.iter().zip(&curves).map(|(entry, curve)| need(entry, curve, &supply, &samples)).collect();
    let mechanical = limits::mechanical(job, &entries.iter().map(|e| e.name).zip(curves).collect::<Vec<_>>());
    Ok(result::whole(job, supply, needs, mechanical))
}

/// Every fuel at its likely content, and at the high end where that is another.
fn entries(job: &Job) -> Result<Vec<Entry<'_>>, EstimateError> {
    let mut entries = Vec::new();
    for choice in &job.fuels {
        let content = choice.fuel.ethanol;
        let mut push = |vol_frac: f64, is_high_content: bool| {
            let fuel = fuel_in_use(&choice.fuel, vol_frac, choice.lambda_run(), &job.weather)?;
            entries.push(Entry { name: &choice.fuel.name, is_high_content, fuel });
            Ok::<(), EstimateError>(())
        };
        push(content.likely, false)?;
        if content.high > content.likely + 1e-9 {
            push(content.high, true)?;
        }
    }
    Ok(entries)
}

fn need(entry: &Entry<'_>, curve: &[Tuned<'_>], supply: &Supply, samples: &[Sample]) -> FuelNeed {
    let blend = &entry.fuel.blend;
    let density = blend.density_15c_kg_per_m3;
    let points: Vec<FuelingPoint> = curve
        .iter()
        .map(|p| {
            let (air, fuel) = flow_bands(p, samples);
            let volume = fuel.times(3.6e6 / density);
            FuelingPoint {
                speed_rpm: p.point.speed_rpm(),
                volumetric_efficiency: p.point.trapped.volumetric_efficiency,
                air_flow_kg_per_s: air,
                fuel_flow_kg_per_s: fuel,
                fuel_flow_l_per_h: volume,
                injector_duty_frac: supply.duty(fuel, density),
            }
        })
        .collect();
    let top = points.iter().max_by(|a, b| a.fuel_flow_kg_per_s.high.total_cmp(&b.fuel_flow_kg_per_s.high));
    let peak = top.map(|p| (p.speed_rpm, p.fuel_flow_kg_per_s)).unwrap_or_default();
    let rated = supply.rated_need_m3_per_s(peak.1.high, density);
    FuelNeed {
        fuel: entry.name.to_owned(),
        ethanol_vol_frac: blend.ethanol_vol_frac,
        is_high_content: entry.is_high_content,
        lambda: entry.fuel.lambda,
        density_15c_kg_per_l: density / 1e3,
        peak_speed_rpm: peak.0,
        peak_fuel_flow_kg_per_s: peak.1,
        peak_fuel_flow_l_per_h: peak.1.times(3.6e6 / density),
        injector_need_cc_per_min: rated * 6e7,
        injector_need_lb_per_h: rated * supply.rated_density_kg_per_l * 1e3 * LB_PER_H_PER_KG_PER_S,
        pump_need_l_per_h: peak.1.high * 3.6e6 / density * (1.0 + supply.pump_reserve_frac),
        curve: points,
    }
}

/// Bands of air and fuel over the samples of VE and mixture, at the content of the fuel [kg/s].
///
/// Air goes with VE; fuel with air over lambda. What the mixture does to VE is left out (below 0.2 %).
fn flow_bands(point: &Tuned<'_>, samples: &[Sample]) -> (Band, Band) {
    let breathing = point.point.breathing();
    let lambda = point.point.fuel().lambda;
    let filling = |s: &Sample| own_ve_factor(&point.point, &breathing, s);
    let mixture = |s: &Sample| s.about(Input::Mixture, lambda);
    let air = point.point.air_flow_kg_per_s();
    let fuel = point.point.fuel_flow_kg_per_s();
    (
        band(samples.iter().map(|s| air * filling(s))),
        band(samples.iter().map(|s| fuel * filling(s) * lambda / mixture(s))),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;
    use crate::estimate::uncertainty::INPUTS;
    use crate::fuel::FuelLibrary;
    use crate::scenario;
    use approx::assert_relative_eq;

    /// HAND: a mixture at its lean end, lambda 0.02 over 0.88, takes 0.88 / 0.90 of the fuel for the same air; at its rich end,
    /// 0.02 below, 0.88 / 0.86.
    #[test]
    fn a_leaner_mixture_takes_less_fuel() {
        let library = FuelLibrary::shipped().unwrap();
        let job = scenario::read("demo", scenario::DEMO).unwrap().job(&library, 50, 1).unwrap();
        let fuel = job.fuels[0].in_use(&job.weather).unwrap();
        assert_eq!(fuel.lambda, 0.88);
        let tuned = Tuned::new(&job, job.setting(), ("demo", &fuel), 5000.0, Shifts::NONE).unwrap();
        let flows = |deviate: f64| {
            let sample = Sample::of([0.0; INPUTS]).with_deviate(Input::Mixture, deviate);
            let (air, fuel) = flow_bands(&tuned, &[sample]);
            (air.likely, fuel.likely)
        };
        let ((air, likely), (lean_air, lean), (_, rich)) = (flows(0.0), flows(1.0), flows(-1.0));
        assert_eq!(air, lean_air);
        assert_relative_eq!(likely, tuned.point.fuel_flow_kg_per_s(), max_relative = 1e-9);
        assert_relative_eq!(lean / likely, 0.88 / 0.90, max_relative = 1e-9);
        assert_relative_eq!(rich / likely, 0.88 / 0.86, max_relative = 1e-9);
    }
}
