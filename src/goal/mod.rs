//! What a wanted wheel power asks of a build, how likely the build reaches it, and the fewest changes
//! that would.
//!
//! [`goal`] runs the estimate, turns the wanted power into what the crank, the VE and the fuel
//! system must give at each speed, tries every change alone, and searches their combinations: fewest
//! changes first, then least cost.

mod change;
mod demand;
mod result;
mod search;
mod trials;

pub use change::{BuildChange, DrivelineEnd, FillingEnd, Lever};
pub use result::{
    BuildReading, ChangePlan, ChangeWorth, DemandPoint, FuelChance, Goal, GoalVerdict, Most, POSSIBLE_SHARE,
    REACHED_SHARE,
};

use crate::estimate::{Estimate, EstimateError, FuelEstimate, Job, estimate};
use crate::units::stated::WHEEL_POWER;
use trials::ChangeTrials;

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

/// Judges a wanted wheel power. The first fuel of the job is the one judged; the others are levers.
///
/// # Errors
/// [`GoalError`] when the power is outside [`WHEEL_POWER`] or the build is outside the model.
///
/// # Example
/// ```
/// use endgas::goal::{GoalVerdict, goal};
/// use endgas::{fuel::FuelLibrary, scenario};
/// let mut job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 20, 1)?;
/// job.speeds_rpm = vec![6500.0, 7500.0];
/// assert_eq!(goal(&job, 90.0)?.verdict, GoalVerdict::AlreadyReached);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn goal(job: &Job, wheel_power_kw: f64) -> Result<Goal, GoalError> {
    if !WHEEL_POWER.range().contains(&wheel_power_kw) {
        return Err(GoalError::Power { value: wheel_power_kw });
    }
    let estimate = estimate(job)?;
    Ok(judged(job, &estimate, wheel_power_kw)?)
}

fn judged(job: &Job, estimate: &Estimate, wheel_power_kw: f64) -> Result<Goal, EstimateError> {
    let trials = ChangeTrials::new(job, estimate)?;
    let chances: Vec<FuelChance> =
        estimate.fuels.iter().map(|fuel| fuel_chance(fuel, wheel_power_kw)).collect();
    let demand = demand::Demand::new(&trials, wheel_power_kw).points()?;
    let reached = estimate.fuels[0].peak_power.wheel.likely >= wheel_power_kw;
    let found = if reached { search::Found::default() } else { search::search(&trials, wheel_power_kw)? };
    let verdict = match chances[0].verdict {
        GoalVerdict::Unlikely if found.plan.is_none() => GoalVerdict::NotCredible,
        verdict => verdict,
    };
    Ok(Goal {
        scenario: job.scenario.clone(),
        note: job.note.clone(),
        fuel: estimate.fuels[0].name.clone(),
        wheel_power_kw,
        verdict,
        reached_in_likely_case: reached,
        samples: estimate.samples,
        seed: estimate.seed,
        chances,
        displacement_m3: estimate.displacement_m3,
        breathing_source: estimate.breathing_source,
        driveline_source: estimate.driveline_source,
        own_peak: demand.own_peak,
        demand: demand.others,
        has_several_inlets: job.build.valves.has_several_inlets(),
        as_it_is: trials.as_it_is.clone(),
        changes: trials.worths()?,
        plan: found.plan,
        gentler: found.gentler,
        most: found.most,
    })
}

/// Chance of one fuel: the share of the samples whose own peak wheel power is at or above the goal.
fn fuel_chance(fuel: &FuelEstimate, wheel_power_kw: f64) -> FuelChance {
    let peaks = &fuel.sample_peak_wheel_kw;
    let chance = share_at_or_above(peaks, wheel_power_kw);
    let wheel = fuel.peak_power.wheel;
    FuelChance {
        fuel: fuel.name.clone(),
        wheel_power_kw: wheel,
        speed_rpm: fuel.peak_power.speed_rpm,
        chance_frac: chance,
        chance_standard_error_frac: (chance * (1.0 - chance) / peaks.len() as f64).sqrt(),
        verdict: if chance >= REACHED_SHARE {
            GoalVerdict::AlreadyReached
        } else if wheel.likely >= wheel_power_kw {
            GoalVerdict::Likely
        } else if chance >= POSSIBLE_SHARE {
            GoalVerdict::Possible
        } else {
            GoalVerdict::Unlikely
        },
    }
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
