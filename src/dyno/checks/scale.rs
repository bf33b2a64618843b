//! The measured curve as a whole against the estimate: points in the band, one factor on all of them, and what
//! such a factor may be.

use super::{Outcome, percent_words, skip};
use crate::air::CorrectionStandard;
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::Evidence;
use crate::dyno::log::{Correction, Place};
use crate::dyno::unit::Quantity;
use crate::units::{NM_PER_LBF_FT, W_PER_HP, W_PER_PS};

/// Source of limits that are the band of the estimate.
const BAND: &str =
    "10-90 band of the estimate, mean over speed, and twice as far (beyond by chance in about 1 of 100)";
/// Share of points in the band that a curve of one build keeps, unless the build itself is at an end of the band,
/// and the share within twice the band [-] (common practice, no source: the points of one curve move together).
const SHARE_INSIDE: f64 = 0.5;
/// Least distance of a correction factor from 1 that can show [-] (common practice, no source).
const LEAST_CORRECTION: f64 = 0.03;

/// Share of points inside the 10-90 band.
pub(super) fn curve_band(e: &Evidence<'_>) -> Outcome {
    let count = e.points.len() as f64;
    let within = |times: f64| {
        let inside = e.points.iter().filter(|p| {
            let (low, likely, high) =
                (p.estimate_low_torque_nm, p.estimate_likely_torque_nm, p.estimate_high_torque_nm);
            p.torque_nm >= likely - times * (likely - low) && p.torque_nm <= likely + times * (high - likely)
        });
        inside.count() as f64 / count
    };
    let (inside, near) = (within(1.0), within(2.0));
    let worst = e.points.iter().max_by(|a, b| a.deviation_frac.abs().total_cmp(&b.deviation_frac.abs()));
    let (worst_frac, worst_rpm) = worst.map_or((0.0, 0.0), |p| (p.deviation_frac, p.speed_rpm));
    // Where most points lie beyond twice the band, the share within that is the number to tell.
    let (what, share, credible) = if near < SHARE_INSIDE {
        ("points within twice the 10-90 band of the estimate", near, Interval::from(100.0 * SHARE_INSIDE))
    } else {
        ("points inside the 10-90 band of the estimate", inside, Interval::ALL)
    };
    let measure = Measure {
        what,
        value: 100.0 * share,
        unit: "%",
        decimals: 0,
        consistent: Interval::from(100.0 * SHARE_INSIDE),
        credible,
        source: "half of the points in the band, and half of them within twice the band (common practice, no source)",
    };
    let reason = format!(
        "{:.0} of {count:.0} points are in the band, {:.0} within twice its width; the worst is {} likely torque at {worst_rpm:.0} rpm.",
        inside * count,
        near * count,
        percent_words(1.0 + worst_frac)
    );
    let look = "The other checks, which say how the curve differs: all speeds alike, with speed, or at the speed axis.";
    Ok(Check::new(CheckName::CurveBand, measure, reason, look))
}

fn scale_measure(e: &Evidence<'_>) -> Measure {
    let ([low, high], [far_low, far_high]) = (e.limits(1.0), e.limits(2.0));
    Measure {
        what: "measured over likely torque, mean over speed",
        value: e.scale(),
        unit: "-",
        decimals: 2,
        consistent: Interval::between(low, high),
        credible: Interval::between(far_low, far_high),
        source: BAND,
    }
}

/// One factor on all torques.
pub(super) fn uniform(e: &Evidence<'_>) -> Outcome {
    let measure = scale_measure(e);
    let scale = measure.value;
    let mut reason = format!("Torque is {} the likely estimate, all speeds alike.", percent_words(scale));
    if !measure.consistent.holds(scale) {
        match meaning(e, scale) {
            Some(meaning) => {
                reason += &format!(" It may be {meaning}: that undone, the curve is within the band.")
            }
            None => {
                reason += " The inertia set for the rollers, the driveline loss and the filling of the engine each scale torque alike at all speeds: a pull cannot tell them apart.";
            }
        }
    }
    let look = "Units, inertia of the rollers and of what turns with them, load-cell calibration, where the figures were taken; then filling and loss in the scenario.";
    Ok(Check::new(CheckName::UniformScale, measure, reason, look))
}

/// A mistake that gives a scale; none when no known one does.
fn meaning(e: &Evidence<'_>, scale: f64) -> Option<&'static str> {
    let middle = &e.estimated[e.peak_power];
    let wheel = e.yardstick.torque_nm(middle, Place::Wheel).likely / middle.crank_torque_nm.likely;
    let place = match e.log.place {
        Place::Wheel => ("crank figures read as wheel figures", 1.0 / wheel),
        Place::Crank => ("wheel figures read as crank figures", wheel),
    };
    let unit = |quantity| e.log.columns.iter().find(|c| c.quantity == quantity).map(|c| c.unit);
    let units = match (unit(Quantity::Torque), unit(Quantity::Power)) {
        // Where torque and power are both logged, torque times speed tells a wrong unit.
        (Some(_), Some(_)) => None,
        (Some("N m"), None) => Some(("torque in lb ft labelled N m", 1.0 / NM_PER_LBF_FT)),
        (Some("lbf ft"), None) => Some(("torque in N m labelled lb ft", NM_PER_LBF_FT)),
        (None, Some("kW")) => Some(("power in hp or PS labelled kW", 2e3 / (W_PER_HP + W_PER_PS))),
        (None, Some("hp" | "PS")) => {
            Some(("power in kW labelled hp or PS", 0.5 * (W_PER_HP + W_PER_PS) / 1e3))
        }
        _ => None,
    };
    // With the mistake undone the curve must be one that the estimate expects.
    let [low, high] = e.limits(1.0);
    [place]
        .into_iter()
        .chain(units)
        .filter(|(_, factor)| (low..=high).contains(&(scale / factor)))
        .min_by(|a, b| (scale / a.1).ln().abs().total_cmp(&(scale / b.1).ln().abs()))
        .map(|(words, _)| words)
}

/// A uniform excess that is the factor of a standard.
pub(super) fn over_correction(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::OverCorrection;
    if !e.weather_is_known() {
        return skip(name, "air temperature and pressure of the pull are not known");
    }
    let weather = &e.yardstick.job().weather;
    let factors = CorrectionStandard::ALL.into_iter().map(|standard| standard.factor(weather).factor);
    let factors: Vec<f64> = factors.filter(|factor| (factor - 1.0).abs() >= LEAST_CORRECTION).collect();
    let mut measure = scale_measure(e);
    let scale = measure.value;
    let ends = factors.iter().copied();
    let (Some(least), Some(most)) = (ends.clone().min_by(f64::total_cmp), ends.max_by(f64::total_cmp)) else {
        return skip(
            name,
            "every standard corrects this day by less than 3 %, so that a correction too many cannot be seen",
        );
    };
    let already = match e.log.correction {
        Correction::None => "already corrected, though stated to be as measured",
        Correction::By(_) => "corrected twice",
    };
    // Divided by a factor of these the curve must be one that the estimate expects.
    let [low, high] = e.limits(1.0);
    let is_near = scale >= least * low && scale <= most * high;
    let both = format!(
        "Torque is {scale:.2} times the likely estimate at all speeds, and published standards correct this day by {least:.2} to {most:.2}"
    );
    let reason = if is_near && !measure.consistent.holds(scale) {
        format!("{both}: the figures may be {already}.")
    } else if is_near {
        format!("{both}; but the excess is within the band and need not be a correction.")
    } else {
        measure.consistent = Interval::ALL;
        format!("{both}: the one is not the other.")
    };
    let look = "Whether the dyno corrects before it shows and again when it exports; compare with figures as measured.";
    Ok(Check::new(name, measure, reason, look))
}
