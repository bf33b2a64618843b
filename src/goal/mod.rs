//! What a wanted wheel power asks of a build, how likely the build reaches it, and the cheapest
//! parts that would.
//!
//! [`goal`] turns the wanted power into what the crank, the VE and the fuel
//! system must give at each speed, tries what a shop would propose alone and together, and finds the cheapest that
//! reaches it on each fuel.

mod costs;
mod demand;
mod outcome;
mod parts;
mod result;
mod trials;
mod verdict;
mod ways;

pub use costs::Costs;
pub use parts::{Lever, Part};
pub use result::{BuildReading, DemandPoint, FuelChance, Goal, Idle, Way};
pub use verdict::{BuildDepth, DOUBTFUL_SHARE, GoalVerdict, REACHED_SHARE};

use crate::estimate::sweep::in_order;
use crate::estimate::{Estimate, EstimateError, FuelEstimate, Job};
use crate::units::stated::WHEEL_POWER;
use trials::PartTrials;
use ways::{Found, Ways};

/// A goal could not be judged.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GoalError {
    /// The wanted power is outside [`WHEEL_POWER`].
    #[error("a wheel power of {value} kW is outside {}", WHEEL_POWER.ends())]
    Power {
        /// The power found [kW].
        value: f64,
    },
    /// The estimate failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
}

/// Judges a wanted wheel power on every fuel of the job; the first is the one that headline and table are about.
///
/// # Arguments
/// - `estimate`: of this job
/// - `costs`: what parts cost
/// - `wheel_power_kw`: wanted [kW], within [`WHEEL_POWER`]
///
/// # Errors
/// [`GoalError`] when the power is outside [`WHEEL_POWER`] or the build is outside the model.
///
/// # Example
/// ```
/// use endgas::goal::{Costs, GoalVerdict, goal};
/// use endgas::{estimate::estimate, fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.speeds_rpm = vec![6500.0, 7500.0];
/// assert_eq!(goal(&job, &estimate(&job)?, &Costs::USUAL, 90.0)?.verdict, GoalVerdict::AlreadyReached);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn goal(job: &Job, estimate: &Estimate, costs: &Costs, wheel_power_kw: f64) -> Result<Goal, GoalError> {
    if !WHEEL_POWER.range().contains(&wheel_power_kw) {
        return Err(GoalError::Power { value: wheel_power_kw });
    }
    Ok(judged(job, estimate, costs, wheel_power_kw)?)
}

fn judged(job: &Job, estimate: &Estimate, costs: &Costs, wheel_power_kw: f64) -> Result<Goal, EstimateError> {
    let trials = PartTrials::new(job, estimate)?;
    let fuels: Vec<usize> = (0..estimate.fuels.len()).collect();
    let chances = in_order(&fuels, |fuel| {
        let ways = Ways::new(&trials, costs, wheel_power_kw, *fuel);
        fuel_chance(&estimate.fuels[*fuel], &ways, wheel_power_kw)
    })?;
    let demand = demand::Demand::new(&trials, wheel_power_kw).points()?;
    Ok(Goal {
        scenario: job.scenario.clone(),
        note: job.note.clone(),
        fuel: estimate.fuels[0].name.clone(),
        wheel_power_kw,
        verdict: chances[0].verdict,
        reached_in_likely_case: chances[0].verdict >= GoalVerdict::Likely,
        samples: estimate.samples,
        seed: estimate.seed,
        chances,
        displacement_m3: estimate.displacement_m3,
        low_rpm: trials.low_rpm(),
        costs_are_stated: costs.is_stated,
        breathing_source: estimate.breathing_source,
        driveline_source: estimate.driveline_source,
        own_peak: demand.own_peak,
        demand: demand.others,
        has_several_inlets: job.build.valves.has_several_inlets(),
        as_it_is: trials.as_built[0].clone(),
        ways: Ways::new(&trials, costs, wheel_power_kw, 0).table()?,
    })
}

/// Chance of one fuel: the share of the samples whose own peak wheel power is at or above the goal; and where the likely one is not,
/// the parts that reach it.
fn fuel_chance(
    fuel: &FuelEstimate,
    ways: &Ways<'_>,
    wheel_power_kw: f64,
) -> Result<FuelChance, EstimateError> {
    let peaks = &fuel.sample_peak_wheel_kw;
    let chance = share_at_or_above(peaks, wheel_power_kw);
    let wheel = fuel.peak_power.wheel;
    let is_reached = wheel.likely >= wheel_power_kw;
    let Found { way, most } = if is_reached { Found::default() } else { ways.search()? };
    Ok(FuelChance {
        fuel: fuel.name.clone(),
        wheel_power_kw: wheel,
        speed_rpm: fuel.peak_power.speed_rpm,
        chance_frac: chance,
        chance_standard_error_frac: (chance * (1.0 - chance) / peaks.len() as f64).sqrt(),
        verdict: verdict::verdict(chance, is_reached, way.as_ref(), most.as_ref()),
        way,
        most,
    })
}

/// Share of values that are at or above a limit [-].
fn share_at_or_above(values: &[f64], limit: f64) -> f64 {
    values.iter().filter(|value| **value >= limit).count() as f64 / values.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_share_counts_values_at_the_limit() {
        assert_eq!(share_at_or_above(&[1.0, 2.0, 3.0, 4.0], 3.0), 0.5);
        assert_eq!(share_at_or_above(&[1.0, 2.0], 2.5), 0.0);
    }
}
