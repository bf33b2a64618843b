//! How many octane numbers more a unit of compression ratio asks for.

use super::error::EstimateError;
use super::job::Job;
use super::point::Shifts;
use super::tuned::{Tuned, peak_torque_speed_rpm};
use crate::engine::volumes::OctaneSlope;
use crate::units::CompressionRatio;

/// Least step of ratio over which a slope is taken [-]: MBT timing is searched to some hundredths of a degree, each
/// worth as many hundredths of an octane number.
const LEAST_STEP: f64 = 0.5;

/// Rise of the octane requirement per unit of ratio, MBT timing at either ratio, in the likely case.
///
/// It is taken on the fuel of the job with the least octane index, at the rpm at which the requirement at MBT timing is
/// greatest, of those at or above peak torque. Deposits and what known points have shown of the engine are the same
/// at both ratios and cancel.
///
/// # Arguments
/// - `job`: its own ratio, its samples and its seed play no part
/// - `ratio`: ratio at which the rpm is chosen and from which the slope is taken [-]
/// - `to_ratio`: ratio up or down to which it is taken [-]; a step of less than 0.5 is widened to 0.5 about its middle
///
/// # Errors
/// [`EstimateError`] when a ratio, the fuel or a speed is outside the model, or the job has no fuel or no speed.
///
/// # Example
/// ```
/// use endgas::{estimate::octane_per_ratio, fuel::FuelLibrary, scenario};
/// let demo = scenario::read("demo", scenario::DEMO)?;
/// let slope = octane_per_ratio(&demo.job(&FuelLibrary::shipped()?, 20, 1)?, 11.5, 12.5)?;
/// assert!((3.0..=6.0).contains(&slope.per_ratio));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn octane_per_ratio(job: &Job, ratio: f64, to_ratio: f64) -> Result<OctaneSlope, EstimateError> {
    let failed = |source| EstimateError::Fuel { fuel: "the fuels of the run".to_owned(), source };
    let choice = job.weakest_fuel().map_err(failed)?;
    let fuel = choice.in_use(&job.weather)?;
    let named = (choice.fuel.name.as_str(), &fuel);
    let here = job.at_ratio(ratio)?;
    let speed_rpm =
        worst_rpm(&Tuned::over_speeds(&here, here.setting(), named)?).ok_or_else(|| job.empty())?;
    let requirement = |ratio: f64| {
        let there = job.at_ratio(ratio)?;
        let point = Tuned::new(&there, there.setting(), named, speed_rpm, Shifts::NONE)?;
        Ok::<f64, EstimateError>(point.requirement(&point.mbt))
    };
    let (low, high) = ends(ratio, to_ratio);
    let per_ratio = (requirement(high)? - requirement(low)?) / (high - low);
    Ok(OctaneSlope { per_ratio, speed_rpm, fuel: choice.fuel.name.clone() })
}

/// Speed of the greatest octane requirement at MBT timing, of those at or above peak torque [rpm]; points by rising
/// speed.
fn worst_rpm(points: &[Tuned<'_>]) -> Option<f64> {
    let peak = peak_torque_speed_rpm(points)?;
    let need = |p: &Tuned<'_>| p.requirement(&p.mbt);
    let above = points.iter().filter(|p| p.speed_rpm() >= peak);
    above.max_by(|a, b| need(a).total_cmp(&need(b))).map(Tuned::speed_rpm)
}

/// The ends between which a slope is taken, the lower first: the ratios themselves, or [`LEAST_STEP`] about their
/// middle, within what ratios may be.
fn ends(ratio: f64, to_ratio: f64) -> (f64, f64) {
    let (low, high) = (ratio.min(to_ratio), ratio.max(to_ratio));
    if high - low >= LEAST_STEP {
        return (low, high);
    }
    let (least, most) = (*CompressionRatio::RANGE.start(), *CompressionRatio::RANGE.end());
    let low = (0.5 * (low + high - LEAST_STEP)).clamp(least, most - LEAST_STEP);
    (low, low + LEAST_STEP)
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: half a unit about the middle, moved inside at an end of the range 6 to 18.
    #[test]
    fn a_small_step_is_widened_within_the_range() {
        assert_eq!(ends(10.0, 12.0), (10.0, 12.0));
        assert_eq!(ends(12.0, 10.0), (10.0, 12.0));
        assert_eq!(ends(10.0, 10.0), (9.75, 10.25));
        assert_eq!(ends(6.0, 6.0), (6.0, 6.5));
        assert_eq!(ends(18.0, 17.9), (17.5, 18.0));
    }
}
