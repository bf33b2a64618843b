//! The shape of the curve against that of the estimate.

use super::{CheckOutcome, measure};
use crate::dyno::average::Line;
use crate::dyno::check::{CurveFinding, Finding, Interval, Lack};
use crate::dyno::evidence::{Evidence, mean, top};
use crate::dyno::result::ComparedPoint;

/// Change of torque between the speeds of peak torque and peak power that VE leaves open [%]: VE at peak
/// power is 0.85 to 0.97 of its peak, 7 % either way.
const SHAPE_PERCENT: f64 = 8.0;
/// The same where the engine fills best at another speed than the scenario says [%]: 12 % of speed tilts the honest
/// pulls of `tests/dyno/pulls.rs` by up to 29 %.
const SHAPE_CREDIBLE_PERCENT: f64 = 32.0;
/// Speed of peak power off the estimate's, and twice that [%] (common practice, no source).
const PEAK_PERCENT: f64 = 10.0;
/// Share of peak power whose speeds count as the peak, and share of the highest compared speed from which a peak may lie
/// beyond it [-] (common practice, no source).
const PLATEAU: f64 = 0.985;
const AT_END: f64 = 0.97;
/// Least fall of the estimate's torque that a pull must show [%] (common practice, no source).
const LEAST_FALL_PERCENT: f64 = 5.0;

fn likely(p: &ComparedPoint) -> f64 {
    p.estimate_likely_torque_nm
}

fn measured(p: &ComparedPoint) -> f64 {
    p.torque_nm
}

/// A percentage that is consistent up to one size either way and credible up to another.
fn either_way(value: f64, [consistent, credible]: [f64; 2], finding: CurveFinding) -> CheckOutcome {
    measure(value, Interval::about(0.0, consistent), Interval::about(0.0, credible), Finding::Curve(finding))
}

/// Change of measured over likely torque from the lowest to the highest speed [%], by the slope of its logarithm.
pub(super) fn tilt(e: &Evidence<'_>) -> CheckOutcome {
    let pairs: Vec<(f64, f64)> =
        e.points.iter().map(|p| (p.speed_rpm.ln(), (measured(p) / likely(p)).ln())).collect();
    let range = pairs.last().zip(pairs.first()).map_or(0.0, |(last, first)| last.0 - first.0);
    either_way(
        100.0 * Line::through(&pairs).slope * range,
        [SHAPE_PERCENT, SHAPE_CREDIBLE_PERCENT],
        CurveFinding::Tilt,
    )
}

/// Highest of the compared speeds [rpm].
fn end_rpm(e: &Evidence<'_>) -> f64 {
    e.points.last().map_or(0.0, |p| p.speed_rpm)
}

/// Middle of the speeds at which power is within 1.5 % of its highest [rpm].
fn peak_speed_of(e: &Evidence<'_>, torque: fn(&ComparedPoint) -> f64) -> Result<f64, Lack> {
    let powers: Vec<f64> = e.points.iter().map(|p| torque(p) * p.speed_rpm).collect();
    let highest = powers[top(&powers)];
    let at_peak = e.points.iter().zip(&powers).filter(|(_, p)| **p >= PLATEAU * highest);
    mean(at_peak.map(|(p, _)| p.speed_rpm)).ok_or(Lack::FiniteNumber)
}

/// Speed of peak power off that of the estimate over the same speeds [%].
pub(super) fn peak_speed(e: &Evidence<'_>) -> CheckOutcome {
    let (found_rpm, wanted_rpm) = (peak_speed_of(e, measured)?, peak_speed_of(e, likely)?);
    let at_end = found_rpm.max(wanted_rpm) > AT_END * end_rpm(e);
    let finding = CurveFinding::Peak { found_rpm, wanted_rpm, at_end };
    either_way(100.0 * (found_rpm / wanted_rpm - 1.0), [PEAK_PERCENT, 2.0 * PEAK_PERCENT], finding)
}

/// Fall of torque from its peak to the highest compared speed, less that of the estimate [%].
pub(super) fn torque_fall(e: &Evidence<'_>) -> CheckOutcome {
    let fall_percent = |torque: fn(&ComparedPoint) -> f64| {
        let values: Vec<f64> = e.points.iter().map(torque).collect();
        100.0 * (1.0 - values[values.len() - 1] / values[top(&values)])
    };
    let (found_percent, wanted_percent) = (fall_percent(measured), fall_percent(likely));
    if wanted_percent < LEAST_FALL_PERCENT {
        return Err(Lack::TorqueFall);
    }
    let finding = CurveFinding::Fall { found_percent, wanted_percent, end_rpm: end_rpm(e) };
    either_way(found_percent - wanted_percent, [SHAPE_PERCENT, SHAPE_CREDIBLE_PERCENT], finding)
}
