//! A factor on the speed axis: the wrong gear, or a wrong ratio of roller to engine speed.
//!
//! The rollers measure power rightly whatever engine speed is taken for. With a speed that is k times the true one,
//! power stands at the wrong place and torque is a k-th of the true one. The logged power is therefore held against
//! the estimate at speed over k, with a uniform scale beside it that the band of the estimate holds back.

use super::{CheckOutcome, measure};
use crate::dyno::check::{CurveFinding, Finding, Interval, Lack};
use crate::dyno::evidence::{Evidence, mean};
use crate::estimate::uncertainty::Z_90;

/// Factors searched [-] and their step.
const FACTORS: std::ops::RangeInclusive<f64> = 0.6..=1.7;
const STEP: f64 = 0.005;
/// Speeds at which power is compared, and the share that must lie in the estimate's range.
const SPEEDS: usize = 25;
const LEAST_SHARE: f64 = 0.6;
/// Factors that the VE of the engine explains as well, and the most of them [-] (common practice, no source).
const CONSISTENT: Interval = Interval::between(0.92, 1.08);
const CREDIBLE: Interval = Interval::between(0.87, 1.15);
/// Scatter of a true shape about the estimate's [-], and how many of its points are independent
/// (common practice, no source).
const SHAPE: f64 = 0.025;
const INDEPENDENT: f64 = 7.0;
/// Deviation of shape from which another axis is looked for [-], and the share of it that another axis must
/// leave at most (common practice, no source).
const DEVIATES: f64 = 0.02;
const MUST_LEAVE: f64 = 0.6;
/// Deviation of shape up to which the VE of the engine may be the cause [-]: the root mean square of a tilt of
/// 16 % (common practice, no source).
const FILLING: f64 = 0.045;

/// How well a factor fits.
#[derive(Clone, Copy)]
struct AxisFit {
    factor: f64,
    /// Root mean square deviation of the logarithm of power [-].
    deviation: f64,
    /// Deviation with the scale held back by the band of the estimate, as a sum of squares over its spread.
    cost: f64,
}

/// Powers of the log [rpm, N m rpm].
fn powers(e: &Evidence<'_>) -> Vec<(f64, f64)> {
    let (low, high) = e.speed_range_rpm();
    (0..SPEEDS)
        .filter_map(|i| {
            let speed = low + (high - low) * i as f64 / (SPEEDS - 1) as f64;
            Some((speed, e.torque_at(speed)? * speed))
        })
        .filter(|(_, power)| *power > 0.0)
        .collect()
}

fn fit(e: &Evidence<'_>, powers: &[(f64, f64)], factor: f64, scale_spread: Option<f64>) -> Option<AxisFit> {
    let off: Vec<f64> = powers
        .iter()
        .filter_map(|(speed, power)| {
            let at = speed / factor;
            let wanted = e.yardstick.likely_torque_nm(at, e.log.place)? * at;
            Some((power / wanted).ln())
        })
        .collect();
    if (off.len() as f64) < LEAST_SHARE * powers.len() as f64 {
        return None;
    }
    let weight = INDEPENDENT / SHAPE.powi(2);
    let middle = mean(off.iter().copied())?;
    let (scale, held) = match scale_spread {
        Some(spread) => {
            let scale = weight * middle / (weight + spread.powi(-2));
            (scale, (scale / spread).powi(2))
        }
        None => (middle, 0.0),
    };
    let square = mean(off.iter().map(|d| (d - scale).powi(2)))?;
    Some(AxisFit { factor, deviation: square.sqrt(), cost: weight * square + held })
}

/// The factor on the speed axis that fits the estimate best, logged over true speed.
pub(super) fn gear_ratio(e: &Evidence<'_>) -> CheckOutcome {
    let powers = powers(e);
    let as_logged = fit(e, &powers, 1.0, None).ok_or(Lack::Speeds)?.deviation;
    let spread = 0.5 * (e.half_widths[0] + e.half_widths[1]) / Z_90;
    let steps = ((FACTORS.end() / FACTORS.start()).ln() / STEP) as usize;
    let best = (0..=steps)
        .filter_map(|i| fit(e, &powers, FACTORS.start() * (i as f64 * STEP).exp(), Some(spread)))
        .min_by(|a, b| a.cost.total_cmp(&b.cost));
    // Another axis counts only where a uniform scale on the axis as logged leaves a shape that does not fit.
    let other = best.filter(|best| as_logged >= DEVIATES && best.deviation <= MUST_LEAVE * as_logged);
    let credible = if as_logged > FILLING { CREDIBLE } else { Interval::ALL };
    let factor = other.map_or(1.0, |fit| fit.factor);
    let undone = other.map(|fit| fit.deviation);
    measure(factor, CONSISTENT, credible, Finding::Curve(CurveFinding::SpeedAxis { as_logged, undone }))
}
