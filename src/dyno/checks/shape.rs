//! The shape of the curve against that of the estimate.

use super::{Outcome, mean, skip};
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::{Evidence, top};
use crate::dyno::result::ComparedPoint;

/// Change of torque between the speeds of peak torque and peak power that filling leaves open [%]: filling at peak
/// power is 0.85 to 0.97 of its peak, 7 % either way.
const SHAPE_PERCENT: f64 = 8.0;
/// The same where the engine fills best at another speed than the scenario says [%]: 12 % of speed tilts the honest
/// pulls of `tests/dyno/pulls.rs` by up to 29 %.
const SHAPE_CREDIBLE_PERCENT: f64 = 32.0;
const SHAPE_SOURCE: &str = "filling at peak power is 0.85 to 0.97 of its peak (common engine data, no source): 8 %; a peak of filling 12 % off the scenario's speed: up to 29 % (computed)";
/// Speed of peak power off the estimate's, and twice that [%] (common practice, no source).
const PEAK_PERCENT: f64 = 10.0;
/// Share of peak power whose speeds count as the peak [-] (common practice, no source).
const PLATEAU: f64 = 0.985;
/// Least fall of the estimate's torque that a pull must show [%] (common practice, no source).
const LEAST_FALL_PERCENT: f64 = 5.0;

fn likely(p: &ComparedPoint) -> f64 {
    p.estimate_likely_torque_nm
}

fn measured(p: &ComparedPoint) -> f64 {
    p.torque_nm
}

/// A percentage that is consistent up to one size either way and credible up to another.
fn percent(
    what: &'static str,
    value: f64,
    [consistent, credible]: [f64; 2],
    source: &'static str,
) -> Measure {
    Measure {
        what,
        value,
        unit: "%",
        decimals: 0,
        consistent: Interval::between(-consistent, consistent),
        credible: Interval::between(-credible, credible),
        source,
    }
}

/// Slope of the ratio of measured to estimated torque over speed.
pub(super) fn tilt(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::Tilt;
    let pairs: Vec<(f64, f64)> =
        e.points.iter().map(|p| (p.speed_rpm.ln(), (measured(p) / likely(p)).ln())).collect();
    let (Some(x), Some(y), Some(first), Some(last)) =
        (mean(pairs.iter().map(|p| p.0)), mean(pairs.iter().map(|p| p.1)), pairs.first(), pairs.last())
    else {
        return skip(name, "no speeds are compared");
    };
    let (xx, xy) =
        pairs.iter().fold((0.0, 0.0), |(xx, xy), p| (xx + (p.0 - x).powi(2), xy + (p.0 - x) * (p.1 - y)));
    let value = 100.0 * (xy / xx) * (last.0 - first.0);
    let measure = percent(
        "change of measured over likely torque from lowest to highest speed",
        value,
        [SHAPE_PERCENT, SHAPE_CREDIBLE_PERCENT],
        SHAPE_SOURCE,
    );
    let way = if value < 0.0 { "falls" } else { "rises" };
    let reason = format!(
        "Measured over likely torque {way} by {:.0} % over the compared speeds. A power or torque added as a constant, or a loss that grows with speed, tilts the curve; so does filling that peaks at another speed than the scenario says.",
        value.abs()
    );
    let reason = if measure.consistent.holds(value) {
        format!("Measured over likely torque {way} by {:.0} % over the compared speeds.", value.abs())
    } else {
        reason
    };
    let look = "Run-down loss added to the figures, windage of the rollers, zero of the load cell, filling of the scenario over speed.";
    Ok(Check::new(name, measure, reason, look))
}

/// Middle of the speeds at which power is within 1.5 % of its highest [rpm].
fn peak_speed_of(e: &Evidence<'_>, torque: fn(&ComparedPoint) -> f64) -> Option<f64> {
    let powers: Vec<f64> = e.points.iter().map(|p| torque(p) * p.speed_rpm).collect();
    let highest = powers.get(top(&powers))?;
    mean(e.points.iter().zip(&powers).filter(|(_, p)| **p >= PLATEAU * highest).map(|(p, _)| p.speed_rpm))
}

/// Speed of peak power against that of the estimate over the same speeds.
pub(super) fn peak_speed(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::PeakSpeed;
    let (Some(found), Some(wanted)) = (peak_speed_of(e, measured), peak_speed_of(e, likely)) else {
        return skip(name, "no speeds are compared");
    };
    let value = 100.0 * (found / wanted - 1.0);
    let measure = percent(
        "speed of peak power against that of the estimate",
        value,
        [PEAK_PERCENT, 2.0 * PEAK_PERCENT],
        "10 % of speed, and twice as far (common practice, no source)",
    );
    let end = e.points.last().map_or(0.0, |p| p.speed_rpm);
    let open = if found > 0.97 * end || wanted > 0.97 * end {
        " One of them is at the end of the compared speeds and may lie beyond."
    } else {
        ""
    };
    let reason =
        format!("Power is highest about {found:.0} rpm, in the estimate about {wanted:.0} rpm.{open}");
    let look = "Speed pick-up and gear, cam timing, where the scenario puts the peak of filling.";
    Ok(Check::new(name, measure, reason, look))
}

/// Fall of torque from its peak to the highest compared speed.
pub(super) fn torque_fall(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::TorqueFall;
    let fall = |torque: fn(&ComparedPoint) -> f64| {
        let values: Vec<f64> = e.points.iter().map(torque).collect();
        let (highest, last) = (values.get(top(&values))?, values.last()?);
        Some(100.0 * (1.0 - last / highest))
    };
    let (Some(found), Some(wanted)) = (fall(measured), fall(likely)) else {
        return skip(name, "no speeds are compared");
    };
    if wanted < LEAST_FALL_PERCENT {
        return skip(name, "the estimate's torque falls by less than 5 % up to the highest compared speed");
    }
    let measure = percent(
        "fall of torque from its peak to the highest compared speed, less that of the estimate",
        found - wanted,
        [SHAPE_PERCENT, SHAPE_CREDIBLE_PERCENT],
        SHAPE_SOURCE,
    );
    let end = e.points.last().map_or(0.0, |p| p.speed_rpm);
    let reason = format!(
        "Torque falls by {found:.0} % from its peak to {end:.0} rpm, in the estimate by {wanted:.0} %."
    );
    let look = "Less fall: speed axis, a loss that was added and grows with speed. More fall: valve float, exhaust, spark pulled back, wheel slip.";
    Ok(Check::new(name, measure, reason, look))
}
