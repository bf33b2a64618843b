//! Do the logged figures agree with each other?

use super::{CheckOutcome, measure};
use crate::dyno::check::{Interval, Lack};
use crate::dyno::evidence::Evidence;
use crate::dyno::finding::{Finding, PowerRatio};
use crate::dyno::loess::median;
use crate::dyno::log::PullPoint;
use crate::units::{NM_PER_LBF_FT, W_PER_HP, W_PER_PS, rpm_to_rad_per_s};

/// Deviation of power from torque times speed that rounding explains, and beyond which the figures are not of
/// one pull [-]. Rounding to 0.1 of 50 is 0.1 %; separate smoothing 1 to 3 % (common practice, no source).
const AGREES: f64 = 0.01;
const CREDIBLE: f64 = 0.03;
/// How closely a ratio must meet that of two units to be named [-].
const NAMED_WITHIN: f64 = 0.01;

/// Units that are mixed up: what the numbers are, what the heading says, and power over torque times speed that it gives.
pub(in crate::dyno) const MIX_UPS: [(&str, &str, f64); 8] = [
    ("lb-ft", "N m", NM_PER_LBF_FT),
    ("N m", "lb-ft", 1.0 / NM_PER_LBF_FT),
    ("hp", "kW", 1e3 / W_PER_HP),
    ("kW", "hp", W_PER_HP / 1e3),
    ("PS", "kW", 1e3 / W_PER_PS),
    ("kW", "PS", W_PER_PS / 1e3),
    ("PS", "hp", W_PER_HP / W_PER_PS),
    ("hp", "PS", W_PER_PS / W_PER_HP),
];
/// Share of power in torque times speed below which torque is taken for that of the axle, and scatter of that share up
/// to which it is [-] (common practice, no source).
const AXLE: f64 = 0.5;
const AXLE_STEADY: f64 = 0.02;

/// Power over torque times speed, row by row.
fn ratios(e: &Evidence<'_>) -> Vec<f64> {
    let of = |p: &PullPoint| Some(p.power_beside_torque_w? / (p.torque_nm * rpm_to_rad_per_s(p.speed_rpm)));
    e.log.points().filter_map(of).collect()
}

/// Power over torque times speed, median of the rows [-]; none where one of them is not logged.
pub(in crate::dyno) fn power_ratio(e: &Evidence<'_>) -> Option<f64> {
    median(ratios(e))
}

/// P = T w, row by row: power over torque times speed, median of the rows.
pub(super) fn torque_times_speed(e: &Evidence<'_>) -> CheckOutcome {
    let ratios = ratios(e);
    let ratio = median(ratios.clone()).ok_or(Lack::TorqueAndPower)?;
    let off = median(ratios.iter().map(|r| (r / ratio - 1.0).abs()).collect()).unwrap_or_default();
    let consistent = Interval::about(1.0, AGREES);
    let found = if consistent.holds(ratio) {
        PowerRatio::Agrees
    } else if let Some((is, labelled)) = mixed_up(e, ratio) {
        PowerRatio::MixedUp { is, labelled }
    } else if ratio < AXLE && off < AXLE_STEADY {
        PowerRatio::Axle
    } else {
        PowerRatio::Unknown(off)
    };
    measure(ratio, consistent, Interval::about(1.0, CREDIBLE), Finding::TorqueTimesSpeed(found))
}

/// The mix-up that gives a ratio, of those the one that also brings the wrong figure nearer to the estimate.
fn mixed_up(e: &Evidence<'_>, ratio: f64) -> Option<(&'static str, &'static str)> {
    let torque_is_wrong = e.ln_scale.abs() > (e.ln_scale + ratio.ln()).abs();
    let rank = |(is, _, gives): &(&str, &str, f64)| {
        let is_of_torque = matches!(*is, "N m" | "lb-ft");
        (is_of_torque != torque_is_wrong, (gives / ratio).ln().abs())
    };
    MIX_UPS
        .into_iter()
        .filter(|(.., gives)| (ratio / gives - 1.0).abs() < NAMED_WITHIN)
        .min_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal))
        .map(|(is, labelled, _)| (is, labelled))
}
