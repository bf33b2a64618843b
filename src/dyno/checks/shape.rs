//! The shape of the curve against that of the estimate.

use super::{CheckOutcome, measure};
use crate::dyno::average::Line;
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::{Evidence, mean, top};
use crate::dyno::finding::{CurveFinding, Finding};
use crate::dyno::result::ComparedPoint;

/// Change of torque between the speeds of peak torque and peak power that VE leaves open [%]: VE at peak
/// power is 0.85 to 0.97 of its peak, 7 % either way.
const SHAPE_PERCENT: f64 = 8.0;
/// The same where VE is that of a kind of build, its powerband fitted out: a straight tilt of 4 % at either end as a 10-90
/// band, at two standard deviations.
const KIND_PERCENT: f64 = 12.0;
/// The most that can happen to a shape [%] (common practice, no source).
const SHAPE_CREDIBLE_PERCENT: f64 = 32.0;
/// Speed of peak power off the estimate's, and twice that [%] (common practice, no source).
const PEAK_PERCENT: f64 = 10.0;
/// The same where the scenario states the peaks of a kind of build: two standard deviations (common practice, no source).
const STATED_PEAK_PERCENT: f64 = 15.0;
/// Share of peak power whose speeds count as the peak: waves of intake and exhaust move it by 1.5 %; and share of the highest compared speed from which a peak may lie
/// beyond it [-] (common practice, no source).
const PLATEAU: f64 = 0.97;
const AT_END: f64 = 0.97;
/// Least fall of the estimate's torque that a pull must show [%] (common practice, no source).
const LEAST_FALL_PERCENT: f64 = 5.0;

/// Measured and expected torque of every point.
fn torques(e: &Evidence<'_>) -> [Vec<f64>; 2] {
    [e.points.iter().map(|p| p.torque_nm).collect(), e.expected_nm.clone()]
}

/// A change of torque over rpm that is consistent as far as the shape of VE is known.
fn of_shape(e: &Evidence<'_>, value: f64, finding: CurveFinding) -> CheckOutcome {
    let consistent = if e.powerband.is_some() { KIND_PERCENT } else { SHAPE_PERCENT };
    let credible = SHAPE_CREDIBLE_PERCENT;
    measure(value, Interval::about(0.0, consistent), Interval::about(0.0, credible), Finding::Curve(finding))
}

/// Change of measured over likely torque from the lowest to the highest speed [%], by the slope of its logarithm.
pub(super) fn tilt(e: &Evidence<'_>) -> CheckOutcome {
    let pairs: Vec<(f64, f64)> =
        e.expected().map(|(p, expected)| (p.speed_rpm.ln(), (p.torque_nm / expected).ln())).collect();
    let range = pairs.last().zip(pairs.first()).map_or(0.0, |(last, first)| last.0 - first.0);
    of_shape(e, 100.0 * Line::through(&pairs).slope * range, CurveFinding::Tilt)
}

/// Highest of the compared speeds [rpm].
fn end_rpm(e: &Evidence<'_>) -> f64 {
    e.points.last().map_or(0.0, |p| p.speed_rpm)
}

/// Middle of the speeds at which power is within 3 % of its highest [rpm].
fn peak_speed_of(e: &Evidence<'_>, torque_nm: impl Fn(&ComparedPoint) -> f64) -> Result<f64, Lack> {
    let powers: Vec<f64> = e.points.iter().map(|p| torque_nm(p) * p.speed_rpm).collect();
    let highest = powers[top(&powers)];
    let at_peak = e.points.iter().zip(&powers).filter(|(_, p)| **p >= PLATEAU * highest);
    mean(at_peak.map(|(p, _)| p.speed_rpm)).ok_or(Lack::FiniteNumber)
}

/// Speed of peak power off that of the estimate over the same speeds [%].
pub(super) fn peak_speed(e: &Evidence<'_>) -> CheckOutcome {
    let found_rpm = peak_speed_of(e, |p| p.torque_nm)?;
    let wanted_rpm = peak_speed_of(e, |p| p.estimate_likely_torque_nm)?;
    let at_end = found_rpm.max(wanted_rpm) > AT_END * end_rpm(e);
    let finding = Finding::Curve(CurveFinding::Peak { found_rpm, wanted_rpm, at_end });
    // Where the peaks are known from a catalogue, the scenario is the first to be doubted.
    let (consistent, credible) = match e.powerband {
        Some(_) => (STATED_PEAK_PERCENT, Interval::ALL),
        None => (PEAK_PERCENT, Interval::about(0.0, 2.0 * PEAK_PERCENT)),
    };
    measure(100.0 * (found_rpm / wanted_rpm - 1.0), Interval::about(0.0, consistent), credible, finding)
}

/// Fall of torque from its peak to the highest compared speed, less that expected [%].
pub(super) fn torque_fall(e: &Evidence<'_>) -> CheckOutcome {
    let fall_percent = |values: Vec<f64>| 100.0 * (1.0 - values[values.len() - 1] / values[top(&values)]);
    let [found_percent, wanted_percent] = torques(e).map(fall_percent);
    if wanted_percent < LEAST_FALL_PERCENT {
        return Err(Lack::TorqueFall);
    }
    let finding = CurveFinding::Fall { found_percent, wanted_percent, end_rpm: end_rpm(e) };
    of_shape(e, found_percent - wanted_percent, finding)
}
