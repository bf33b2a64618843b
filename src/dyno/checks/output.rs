//! What the torque implies: mean effective pressure, volumetric efficiency, driveline loss.

use super::{Outcome, mean, skip};
use crate::air::CorrectionStandard;
use crate::dyno::check::{Check, CheckName, Interval, Measure};
use crate::dyno::evidence::{Evidence, top};
use crate::dyno::log::Place;
use crate::engine::{Breathing, Build, Figure};

/// Where the bands of brake mean effective pressure come from.
const BMEP_SOURCE: &str = "at peak torque, nine of ten real engines of the kind (ratings, tests/data/engines; race common practice, no source)";
/// Peak brake mean effective pressure of a kind of build [bar]: low and high; where no kind is stated, from carburetted
/// production to race engines.
fn bmep_band(build: &Build) -> (f64, f64) {
    match build.breathing {
        Breathing::Band { kind, .. } => kind.figures(build.injection).bmep_bar,
        Breathing::Table { .. } | Breathing::PortFlow(_) => {
            let [production, _, race] = Figure::Bmep.bands(false);
            (production.low, race.high)
        }
    }
}

/// Highest of race engines on gasoline [bar] (common engine data, no source).
const HIGHEST_BMEP_BAR: f64 = 15.8;
/// Tired engines and low octane fall below the band: as much is still consistent [-] (common practice, no source).
const BELOW_BAND: f64 = 0.10;
/// Highest volumetric efficiency of race engines with tuned intake and exhaust [-] (common engine data, no source).
const HIGHEST_VE: f64 = 1.28;

/// Peak BMEP, brought to the reference day of SAE J1349, at the likely driveline loss.
pub(super) fn mean_effective_pressure(e: &Evidence<'_>) -> Outcome {
    let build = &e.yardstick.job().build;
    let factor = CorrectionStandard::SaeJ1349.factor(&e.yardstick.job().weather).factor;
    let bmep: Vec<f64> = e.points.iter().map(|p| p.implied_bmep_bar * factor).collect();
    let at = top(&bmep);
    let (point, value) = (&e.points[at], bmep[at]);
    let least_loss = e.yardstick.loss_band().low;
    let least = e.yardstick.bmep_bar(e.yardstick.crank_torque_nm(
        e.log.place,
        point.torque_nm,
        least_loss,
        e.peak_power_torque_nm,
    )) * factor;
    let (low, high) = bmep_band(build);
    let measure = Measure {
        what: "peak BMEP, brought to the reference day of SAE J1349",
        value,
        unit: "bar",
        decimals: 1,
        consistent: Interval::between(low * (1.0 - BELOW_BAND), high),
        // Judged with the least driveline loss of the band.
        credible: Interval::up_to(HIGHEST_BMEP_BAR * value / least),
        source: BMEP_SOURCE,
    };
    let reason = format!(
        "BMEP peaks at {:.0} rpm, with the likely driveline loss added; with the least loss of the band it is {:.0} % lower.",
        point.speed_rpm,
        100.0 * (1.0 - least / value)
    );
    let look = "Displacement of the scenario, units of torque, where the figures were taken, and whether a loss was added to them.";
    Ok(Check::new(CheckName::MeanEffectivePressure, measure, reason, look))
}

/// Volumetric efficiency with which the model gives the torque, over that of the estimate.
pub(super) fn volumetric_efficiency(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::VolumetricEfficiency;
    let found: Vec<(f64, f64, f64)> = e
        .points
        .iter()
        .filter_map(|p| {
            let implied = p.implied_volumetric_efficiency?;
            Some((implied, implied / p.estimate_volumetric_efficiency, p.speed_rpm))
        })
        .collect();
    let (Some(ratio), true) = (mean(found.iter().map(|f| f.1)), 2 * found.len() > e.points.len()) else {
        return skip(
            name,
            "no volumetric efficiency of 0.25 to 2.5 times the likely one gives this torque at most speeds",
        );
    };
    let (highest, _, at_rpm) = found[top(&found.iter().map(|f| f.0).collect::<Vec<_>>())];
    let [low, high] = e.limits(1.0);
    let [far_low, far_high] = e.limits(2.0);
    let measure = Measure {
        what: "implied over estimated volumetric efficiency, mean over speed",
        value: ratio,
        unit: "-",
        decimals: 2,
        consistent: Interval::between(low, high),
        credible: Interval::between(far_low, far_high.min(HIGHEST_VE * ratio / highest)),
        source: "10-90 band of the estimate, and twice as far; at most 1.28 in race engines (common engine data, no source)",
    };
    let reason = format!(
        "To make this torque at the spark of the estimate the engine fills to {highest:.2} at {at_rpm:.0} rpm, {} the likely filling over all speeds; {}.",
        super::percent_words(ratio),
        e.yardstick.job().build.breathing_source()
    );
    let look = "Filling that the head, cam and intake can reach; if they cannot, the torque is wrong by the same share.";
    Ok(Check::new(name, measure, reason, look))
}

/// Loss between the crank of the estimate and the measured wheels.
pub(super) fn driveline_loss(e: &Evidence<'_>) -> Outcome {
    let name = CheckName::DrivelineLoss;
    if e.log.place == Place::Crank {
        return skip(name, "the figures are at the crank");
    }
    let pairs = || e.points.iter().zip(&e.estimated);
    let kept = mean(pairs().map(|(p, e)| p.torque_nm / e.crank_torque_nm.likely));
    let low = mean(e.estimated.iter().map(|p| p.crank_torque_nm.low / p.crank_torque_nm.likely));
    let high = mean(e.estimated.iter().map(|p| p.crank_torque_nm.high / p.crank_torque_nm.likely));
    let (Some(kept), Some(low), Some(high)) = (kept, low, high) else {
        return skip(name, "no speeds are compared");
    };
    let loss = e.yardstick.loss_band();
    let percent = |kept: f64| 100.0 * (1.0 - kept);
    let value = percent(kept);
    let measure = Measure {
        what: "loss from the likely crank torque of the estimate to the measured wheel torque, mean over speed",
        value,
        unit: "%",
        decimals: 1,
        consistent: Interval::between(percent(high * (1.0 - loss.low)), percent(low * (1.0 - loss.high))),
        credible: Interval::between(
            percent((2.0 * high - 1.0) * (1.0 - loss.low)),
            percent((2.0 * low - 1.0) * (1.0 - loss.high)),
        ),
        source: "loss band of the layout (common practice, no source), with the estimate's 10-90 band of crank torque and twice that band",
    };
    let way = if value < 0.0 { "more" } else { "less" };
    let reason = format!(
        "Wheel torque is {:.0} % {way} than the likely crank torque of the estimate; the layout loses {:.0} to {:.0} % at peak power.",
        value.abs(),
        100.0 * loss.low,
        100.0 * loss.high
    );
    let look = "Whether the figures are crank figures, tyre slip and pressure, roller inertia; a loss of less than nothing is no loss.";
    Ok(Check::new(name, measure, reason, look))
}
