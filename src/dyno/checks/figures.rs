//! Do the logged figures agree with each other?

use super::{Outcome, median, skip};
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::Evidence;
use crate::units::{NM_PER_LBF_FT, W_PER_HP, W_PER_PS, rpm_to_rad_per_s};

/// Deviation of power from torque times speed that rounding explains, and beyond which the figures are not of
/// one pull [-]. Rounding to 0.1 of 50 is 0.1 %; separate smoothing 1 to 3 % (common practice, no source).
const AGREES: f64 = 0.01;
const CREDIBLE: f64 = 0.03;
/// How closely a ratio must meet that of two units to be named [-].
const NAMED_WITHIN: f64 = 0.01;

/// A mix-up of units: how it is told, the ratio of power to torque times speed it gives, and the factor on the
/// figure that is wrong (torque where `is_torque`).
struct MixUp {
    words: &'static str,
    ratio: f64,
    is_torque: bool,
}

const MIX_UPS: [MixUp; 8] = [
    MixUp { words: "torque in lb ft is labelled N m", ratio: NM_PER_LBF_FT, is_torque: true },
    MixUp { words: "torque in N m is labelled lb ft", ratio: 1.0 / NM_PER_LBF_FT, is_torque: true },
    MixUp { words: "power in hp is labelled kW", ratio: 1e3 / W_PER_HP, is_torque: false },
    MixUp { words: "power in kW is labelled hp", ratio: W_PER_HP / 1e3, is_torque: false },
    MixUp { words: "power in PS is labelled kW", ratio: 1e3 / W_PER_PS, is_torque: false },
    MixUp { words: "power in kW is labelled PS", ratio: W_PER_PS / 1e3, is_torque: false },
    MixUp { words: "power in PS is labelled hp", ratio: W_PER_HP / W_PER_PS, is_torque: false },
    MixUp { words: "power in hp is labelled PS", ratio: W_PER_PS / W_PER_HP, is_torque: false },
];
/// Share of power in torque times speed below which torque is taken for that of the axle [-].
const AXLE: f64 = 0.5;

/// P = T w, row by row.
pub(super) fn torque_times_speed(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::TorqueTimesSpeed;
    let ratios: Vec<f64> = e
        .log
        .points()
        .filter_map(|p| Some(p.power_beside_torque_w? / (p.torque_nm * rpm_to_rad_per_s(p.speed_rpm))))
        .collect();
    let Some(ratio) = median(ratios.clone()) else {
        return skip(name, "torque and power are not both logged");
    };
    let off = median(ratios.iter().map(|r| (r / ratio - 1.0).abs()).collect()).unwrap_or_default();
    let measure = Measure {
        what: "power over torque times speed, median of the rows",
        value: ratio,
        unit: "-",
        decimals: 3,
        consistent: Interval::between(1.0 - AGREES, 1.0 + AGREES),
        credible: Interval::between(1.0 - CREDIBLE, 1.0 + CREDIBLE),
        source: "power is torque times angular speed; limits for rounding and smoothing (common practice, no source)",
    };
    let reason = if (ratio - 1.0).abs() <= AGREES {
        "Logged power is logged torque times speed.".to_owned()
    } else if let Some(mix_up) = named(e, ratio) {
        format!("Power is {ratio:.3} times torque times speed: {mix_up}.")
    } else if ratio < AXLE && off < 0.02 {
        format!(
            "Torque times speed is {:.2} times power at every speed: torque may be that of the axle, not referred to crank speed (overall gearing {:.2}).",
            1.0 / ratio,
            1.0 / ratio
        )
    } else {
        format!(
            "Power is {ratio:.3} times torque times speed, and half of the rows are more than {:.1} % off that ratio: they may come from different channels or smoothing.",
            100.0 * off
        )
    };
    let look = "Units of the torque and power columns, and whether both belong to one channel; torque is used in all other checks.";
    Ok(Check::new(name, measure, reason, look))
}

/// The mix-up that gives a ratio, of those the one that also brings the wrong figure nearer to the estimate.
fn named(e: &Evidence<'_>, ratio: f64) -> Option<&'static str> {
    let ln_torque = e.ln_scale;
    let ln_power = e.ln_scale + ratio.ln();
    let torque_is_wrong = ln_torque.abs() > ln_power.abs();
    let near = || MIX_UPS.iter().filter(|m| (ratio / m.ratio - 1.0).abs() < NAMED_WITHIN);
    let nearest = |wanted: bool| {
        near()
            .filter(|m| m.is_torque == wanted)
            .min_by(|a, b| (a.ratio / ratio).ln().abs().total_cmp(&(b.ratio / ratio).ln().abs()))
    };
    nearest(torque_is_wrong).or_else(|| nearest(!torque_is_wrong)).map(|m| m.words)
}
